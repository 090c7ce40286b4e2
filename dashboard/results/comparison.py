"""An as-found visit beside the clean unit as figures, rows and sentences, for every screen and the report."""

from typing import Any

from calibration.case.keys import words_of
from calibration.case.records import Visit
from calibration.case.units import CAPACITY, PERCENT, POWER, System
from calibration.clean_fit.prediction import Prediction
from calibration.diagnosis.comparison import Comparison
from calibration.diagnosis.impact import Span
from dashboard.results.figures import Figure, figure, of_span, percent, possible_ends, to_json
from dashboard.results.performance import performance_figures
from dashboard.results.prediction import CHANGE_WORDS

COMPARED = {
    "evaporating_temperature": "evaporating_temperature",
    "superheat": "superheat",
    "condensing_temperature": "condensing_temperature",
    "approach": "condensing_temperature",
    "subcooling": "subcooling",
    "net_capacity": "net_capacity",
    "gross_capacity": "gross_capacity",
    "sensible_capacity": "sensible_capacity",
    "latent_capacity": "latent_capacity",
    "outdoor_power": "outdoor_power",
    "total_power": "total_power",
    "eer": "eer",
}
"""Measured figures and the predicted ones they are laid beside."""


def expected_figures(prediction: Prediction, visit: Visit, system: System) -> list[Figure]:
    """Predicted counterparts of a visit's measured figures, with 90 % intervals."""
    figures = []
    for key, name in COMPARED.items():
        one = prediction.estimate(name)
        value, ends = one.value, one.interval(0.9)
        if key == "approach":
            value, ends = value - visit.outdoor_db, (ends[0] - visit.outdoor_db, ends[1] - visit.outdoor_db)
        figures.append(figure(key, value, system, interval=possible_ends(key, ends)))
    return figures


def comparison_columns(comparison: Comparison, system: System) -> list[tuple[str, list[Figure]]]:
    """Measured, expected clean and expected with the best fouling, the same figures in each."""
    measured = [one for one in performance_figures(comparison.measured, system) if one.key in COMPARED]
    return [
        ("measured", measured),
        ("clean unit, same weather", expected_figures(comparison.clean, comparison.visit, system)),
        (
            f"{100 * comparison.blocked.value:.0f} % of the face blocked",
            expected_figures(comparison.fouled, comparison.visit, system),
        ),
    ]


def reading_rows(comparison: Comparison, system: System) -> list[tuple[str, Figure, Figure, Figure, float]]:
    """Reading by reading: words, measured, clean, with the fouling, measured less clean [std errors]."""
    pressure = comparison.visit.ambient_pressure
    rows = []
    for one in comparison.rows:
        shown = [
            figure(one.name, value, system, ambient_pressure=pressure)
            for value in (one.measured, one.clean, one.first)
        ]
        rows.append((words_of(one.name, "visit"), shown[0], shown[1], shown[2], one.standardised))
    return rows


def level_figures(comparison: Comparison) -> list[Figure]:
    """Blocked share of the face and airflow lost, in % with 90 % intervals."""
    return [
        _level("condenser_blocked", "Face blocked", comparison.blocked),
        _level("condenser_airflow_lost", "Condenser airflow lost", comparison.airflow_lost),
    ]


def _level(key: str, label: str, level: Span) -> Figure:
    return Figure(key, label, 100 * level.value, "%", 0, 100 * level.low, 100 * level.high)


def loss_figures(comparison: Comparison, system: System) -> list[Figure]:
    """What the fouling takes at this weather, in % and in the units shown."""
    toll = comparison.toll
    changes = {
        "net_capacity": _lost(toll.capacity_share),
        "gross_capacity": _lost(toll.coil_share),
        "outdoor_power": toll.outdoor_power_share,
        "total_power": toll.power_share,
        "eer": _lost(toll.eer_share),
    }
    shown = [
        of_span(f"{name}_change", CHANGE_WORDS[name], one, PERCENT, "SI") for name, one in changes.items()
    ]
    return [
        *shown,
        of_span("net_capacity_taken", "Capacity lost", toll.capacity_lost, CAPACITY, system),
        of_span("total_power_taken", "Power added", toll.power_added, POWER, system),
    ]


def _lost(share: Span) -> Span:
    """A loss as a change."""
    return Span(-share.value, -share.high, -share.low)


def sentences(comparison: Comparison) -> list[str]:
    """What the comparison says, in plain words."""
    blocked, lost = comparison.blocked, comparison.airflow_lost
    told = [
        f"A blocked face explains the readings best at {_percents(blocked)}, "
        f"which loses {_percents(lost)} of the condenser's airflow.",
        f"At this weather that costs {_percents(comparison.toll.eer_share)} of the EER.",
    ]
    if not comparison.proves_fouling:
        told.append("A clean coil explains them about as well as a dirty one: they do not prove any fouling.")
    told.append(misfit_sentence(comparison))
    if not is_explained(comparison):
        told.append("Even with it the readings are not explained: look for another fault or a wrong reading.")
    told.append("Other faults may explain the readings as well: weigh them before anything is done.")
    return told


def misfit_sentence(comparison: Comparison) -> str:
    """How far the readings lie from the clean unit, and from the unit with this fouling."""
    readings = len(comparison.rows)
    clean, fouled = (_apart(misfit, readings) for misfit in _misfits(comparison))
    lie = "The one reading lies" if readings == 1 else f"The {readings} readings lie"
    return (
        f"{lie} {clean} standard errors from the clean unit on average, "
        f"{fouled} with this fouling; about 1 is what meters alone explain."
    )


def is_explained(comparison: Comparison) -> bool:
    """Whether the readings lie no further from the unit with this fouling than their errors let them."""
    usual, spread = len(comparison.rows), (2.0 * len(comparison.rows)) ** 0.5
    return bool(comparison.fouled_misfit <= usual + 3.0 * spread)


def owner_sentences(comparison: Comparison) -> list[str]:
    """The finding for an owner: how much of the coil is blocked, and what that does in words of a bill."""
    told = [
        f"About {_percents(comparison.blocked)} of the outdoor coil's face is blocked.",
        f"In the weather of the visit the unit gave {_percents(comparison.toll.eer_share)} "
        "less cooling for the same electricity than with a clean coil.",
    ]
    if not comparison.proves_fouling:
        told.append("The readings do not prove that it is dirty at all.")
    if not is_explained(comparison):
        told.append("A blocked coil does not explain all readings: something else is wrong, or a reading is.")
    return told


def _percents(one: Span) -> str:
    """A share with its 90 % interval in words."""
    value, low, high = (percent(share) for share in (one.value, one.low, one.high))
    return f"{value} ({low.removesuffix(' %')} to {high})"


def _misfits(comparison: Comparison) -> tuple[float, float]:
    return comparison.clean_misfit, comparison.fouled_misfit


def _apart(misfit: float, readings: int) -> str:
    """Root mean square of the standardised differences, as shown."""
    return f"{(misfit / readings) ** 0.5:.1f}"


def comparison_json(comparison: Comparison, system: System) -> dict[str, Any]:
    """The comparison for `--json`."""
    return {
        "visit": comparison.visit.label,
        "figures": {name: to_json(figures) for name, figures in _named_columns(comparison, system)},
        "readings": {
            measured.key: {
                "measured": measured.value,
                "clean": clean.value,
                "fouled": fouled.value,
                "unit": measured.unit,
                "standard_errors": round(score, 6),
            }
            for _, measured, clean, fouled, score in reading_rows(comparison, system)
        },
        "severity": to_json(level_figures(comparison)),
        "losses": to_json(loss_figures(comparison, system)),
        "proof": round(comparison.proof, 6),
        "misfit": {
            "clean": round(comparison.clean_misfit, 6),
            "fouled": round(comparison.fouled_misfit, 6),
            "readings": len(comparison.rows),
        },
        "sentences": sentences(comparison),
    }


def _named_columns(comparison: Comparison, system: System) -> list[tuple[str, list[Figure]]]:
    columns = comparison_columns(comparison, system)
    return [
        (name, figures) for name, (_, figures) in zip(("measured", "clean", "fouled"), columns, strict=True)
    ]
