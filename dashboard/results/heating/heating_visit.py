"""A visit in heating as figures, rows and sentences: what was measured, and what its readings point to."""

from typing import Any

from calibration.case.keys import find_key
from calibration.case.records import Visit
from calibration.case.units import (
    AIR_MASS_FLOW,
    CAPACITY,
    COEFFICIENT,
    PERCENT,
    POWER,
    TEMPERATURE,
    TEMPERATURE_DIFFERENCE,
    Quantity,
    System,
)
from calibration.heating.heating_match import NO_FAULT, NONE_OF_THESE, SUSPECT, HeatingFinding
from calibration.heating.heating_visit import HeatingMeasured
from dashboard.results.figures import Figure, figure, of_quantity, percent, probability, to_json

ROWS: dict[str, tuple[str, Quantity]] = {
    "evaporating_temperature": ("Evaporating temperature", TEMPERATURE),
    "condensing_temperature": ("Condensing temperature", TEMPERATURE),
    "superheat": ("Superheat", TEMPERATURE_DIFFERENCE),
    "subcooling": ("Subcooling", TEMPERATURE_DIFFERENCE),
    "outdoor_difference": ("Outdoor air over evaporating temperature", TEMPERATURE_DIFFERENCE),
    "air_rise": ("Air temperature rise, return to supply", TEMPERATURE_DIFFERENCE),
    "heating_capacity": ("Heating capacity, blower included", CAPACITY),
    "total_power": ("Total power", POWER),
    "heating_cop": ("COP", COEFFICIENT),
}
"""Words and kind of each measured figure."""
NAMES = {
    NO_FAULT: "no fault",
    "condenser_blocked": "fouled outdoor coil",
    "indoor_airflow_low": "low indoor airflow",
    "undercharge": "undercharge",
    "overcharge": "overcharge",
    NONE_OF_THESE: "none of these",
}
"""What each explanation is called."""
ACTS = {
    "condenser_blocked": "Clean the outdoor coil, with the unit off and locked out.",
    "indoor_airflow_low": "Check filter, blower and registers, with the unit off and locked out.",
    "undercharge": "Let a licensed person find the leak, repair it and charge by weight.",
    "overcharge": "Let a licensed person recover the excess and charge by weight.",
}
"""What to do about each fault (common practice, no source)."""
LEVEL_WORDS = {
    "condenser_blocked": "of the outdoor coil's face blocked",
    "indoor_airflow_low": "of the indoor airflow lost",
    "undercharge": "of the charge missing",
    "overcharge": "of the charge too much",
}
"""What the level of each fault is a share of."""
EXPECTED_HEADINGS = ["", "measured", "expected without a fault", "standard errors"]


def reading_figures(visit: Visit, system: System) -> list[Figure]:
    """Readings of a visit as they were typed."""
    return [
        figure(name, value, system, ambient_pressure=visit.ambient_pressure)
        for name, value in visit.readings().items()
        if (key := find_key(name, "visit")) is not None and key.quantity is not None
    ]


def measured_figures(measured: HeatingMeasured, system: System) -> list[Figure]:
    """Figures of a visit with their 90 % ranges."""
    return [
        of_quantity(name, *(ROWS[name][0], one.value, ROWS[name][1], system), interval=one.ends)
        for name, one in measured.figures.items()
    ]


def measured_sentences(measured: HeatingMeasured) -> list[str]:
    """Cautions, and what readings that were not taken would add."""
    lines = list(measured.cautions)
    for name, needed in measured.missing.items():
        words = [" or ".join(_words(one) for one in group.split(" or ")) for group in needed]
        lines.append(f"{ROWS[name][0]} needs {' and '.join(words)}.")
    return lines


def _words(name: str) -> str:
    if name == "airflow":
        return "indoor airflow"
    key = find_key(name, "visit")
    return key.words.lower() if key is not None else name


def measured_heating_json(measured: HeatingMeasured, system: System) -> dict[str, Any]:
    """The same for `--json`."""
    return {
        "visit": measured.label,
        "figures": to_json(measured_figures(measured, system)),
        "missing": {name: list(needed) for name, needed in measured.missing.items()},
        "cautions": list(measured.cautions),
    }


def probability_rows(found: HeatingFinding) -> list[list[str]]:
    """Explanations with their probabilities, the likeliest first."""
    ordered = sorted(found.probabilities, key=lambda key: -found.probabilities[key])
    return [[NAMES[key], f"{100.0 * found.probabilities[key]:.1f}"] for key in ordered]


def finding_sentences(found: HeatingFinding) -> list[str]:
    """Verdict, level and what to do."""
    top = max(found.probabilities, key=lambda key: found.probabilities[key])
    wrong = [_words(name) for name, one in found.suspects.items() if one >= SUSPECT]
    repeat = [f"Suspect reading: {' and '.join(wrong)}. Repeat it first."] if wrong else []
    share = probability(found.probabilities[top])
    fit = f"Fit of the best explanation: {found.misfit:.1f} per reading; about 1 or less is expected."
    if found.verdict == "fault" and found.level is not None:
        low, high = sorted((abs(found.level.low), abs(found.level.high)))
        level = f"{percent(abs(found.level.value))} ({percent(low)} to {percent(high)})"
        return [
            f"{NAMES[found.claimed].capitalize()}: {share} probable, {level} {LEVEL_WORDS[found.claimed]}.",
            *repeat,
            ACTS[found.claimed],
            fit,
        ]
    lines = {
        NO_FAULT: f"No fault found: the readings fit a clean unit in heating ({share}).",
        NONE_OF_THESE: f"None of these faults explains the readings ({share}): repeat them first.",
        "inconclusive": f"Inconclusive. Most probable: {NAMES[top]} ({share}).",
    }
    return [lines[found.verdict], *repeat, fit]


def expected_rows(found: HeatingFinding, system: System) -> list[list[str]]:
    """Every reading beside what the fitted unit would show without a fault."""
    rows = []
    for name, value in found.measured.items():
        read, expected = (_reading(found, name, one, system) for one in (value, found.expected[name]))
        off = (value - found.expected[name]) / found.errors[name]
        rows.append([read.heading, read.text, expected.text, f"{off:+.1f}"])
    return rows


def _reading(found: HeatingFinding, name: str, value: float, system: System) -> Figure:
    if name == "airflow":
        return of_quantity("airflow", "Indoor airflow, dry air", value, AIR_MASS_FLOW, system)
    return figure(name, value, system, ambient_pressure=found.ambient_pressure)


def finding_json(found: HeatingFinding, system: System) -> dict[str, Any]:
    """The same for `--json`."""
    level = None
    if found.level is not None:
        shown = of_quantity(
            found.likeliest, "", found.level.value, PERCENT, system, interval=found.level.ends
        )
        level = {"fault": found.likeliest, **to_json([shown])[found.likeliest]}
    return {
        "visit": found.label,
        "verdict": found.verdict,
        "claimed": found.claimed or None,
        "probabilities": {
            key: {"probability": round(value, 6)} for key, value in found.probabilities.items()
        },
        "level": level,
        "suspect_readings": {
            key: {
                "probability": round(value, 6),
                "read": _reading(found, key, found.measured[key], system).value,
            }
            for key, value in found.suspects.items()
            if value >= SUSPECT
        },
        "misfit": round(found.misfit, 6),
        "sentences": finding_sentences(found),
    }
