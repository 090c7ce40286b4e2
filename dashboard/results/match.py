"""Which fault the readings match, as figures, rows and sentences, for every screen and the report."""

from math import exp
from typing import Any

from calibration.case.keys import words_of
from calibration.case.units import (
    CAPACITY,
    EFFICIENCY,
    PERCENT,
    POWER,
    PRESSURE_DIFFERENCE,
    TEMPERATURE,
    Quantity,
    System,
)
from calibration.diagnosis.hypotheses import CLEAN, FOULED_CONDENSER, NONE, in_a_sentence
from calibration.diagnosis.impact import RUNNING_HOURS, Explained, FoundLevel, Span, Toll
from calibration.diagnosis.match import Match
from calibration.diagnosis.next_reading import Suggestion
from calibration.diagnosis.reading_rows import ExpectedRow
from dashboard.results.figures import Figure, figure, of_quantity, of_span, percent, signed, to_json
from dashboard.results.next_steps import next_steps
from dashboard.results.trip import spanned_trip_figure

LEAST_SHOWN = 3
"""So many explanations are listed at least."""
WORTH_LISTING = 0.005
"""Others from this probability on [-]."""
LITTLE_WEIGHT = 0.1
"""A reading that moves the odds by less is said to speak for nothing (logarithm of odds)."""

_PART = {
    "condenser_blocked": "{amount} of the condenser's face blocked",
    "condenser_dust": "a dust layer that raises the condenser's air resistance by {amount}",
    "condenser_fan_slow": "{amount} of the outdoor fan's speed lost",
    "evaporator_airflow_lost": "{amount} of the indoor airflow lost",
    "noncondensable": "gas that does not condense at a pressure of {amount}",
    "liquid_restriction": "a restriction that takes {amount} from the liquid line",
    "compressor_leakage": "{amount} of the compressor's flow leaking back",
    "valve_overfeed": "the expansion device open {amount} too far",
}


def probability_rows(match: Match) -> list[tuple[str, str, str]]:
    """Explanations with their probability now and before the readings, in %; the likeliest first."""
    listed = [
        one
        for place, one in enumerate(match.probabilities)
        if place < LEAST_SHOWN or one.probability >= WORTH_LISTING
    ]
    return [(one.name, f"{100 * one.probability:.1f}", f"{100 * one.prior:.1f}") for one in listed]


def verdict_sentences(match: Match) -> list[str]:
    """What the readings say, in plain words."""
    told = {
        "clean": _clean_verdict,
        "cause": _fault_verdict,
        "look-alikes": _group_verdict,
        "none of these": _none_verdict,
        "undecided": _open_verdict,
    }[match.verdict](match)
    told.append(
        f"Squared differences of the {match.readings} reading{'s' if match.readings > 1 else ''}, in standard"
        f" errors, add to {match.clean_chi_square:.0f} for the clean unit and to {match.chi_square:.0f} for"
        f" the best explanation; errors alone make up to about {match.readings}."
    )
    if not match.clean_visits:
        told.append(
            "There is no other clean visit: the clean unit is the nameplate's, known with wide intervals"
            " only."
        )
    return told


def _clean_verdict(match: Match) -> list[str]:
    faults = [one for one in match.probabilities if one.name not in (CLEAN, NONE)]
    share, next_one = match.probability(CLEAN), faults[0]
    return [
        f"The readings match a clean unit: {_percent(share)} probable, nothing found.",
        f"The likeliest fault, {in_a_sentence(next_one.name)}, has {_percent(next_one.probability)}.",
    ]


def _fault_verdict(match: Match) -> list[str]:
    fault = in_a_sentence(match.group[0])
    return [f"The readings match {fault}: {_percent(match.group_probability)} probable."]


def _group_verdict(match: Match) -> list[str]:
    acts = [f"What tells them apart: {act}." for act in match.acts]
    if set(match.group) == set(FOULED_CONDENSER):
        forms = " or ".join(
            f"{in_a_sentence(name)} ({_percent(match.probability(name))})" for name in match.group
        )
        return [
            f"The readings match a fouled condenser coil: {_percent(match.fouled_condenser)} probable.",
            f"Whether it is {forms} they cannot tell; these shares rest mostly on how common each is.",
            *acts,
        ]
    shares = ", ".join(f"{name} {_percent(match.probability(name))}" for name in match.group)
    told = [
        "The readings match one of these, and cannot tell which:"
        f" {' or '.join(in_a_sentence(name) for name in match.group)}; together"
        f" {_percent(match.group_probability)} probable ({shares}; how these share it rests mostly on how"
        " common they are)."
    ]
    if not any(set(one.separates) <= set(match.group) for one in match.suggestions):
        told.append("No reading of the list would tell them apart well.")
    return told + acts


def _none_verdict(match: Match) -> list[str]:
    worst = max(
        (row for row in match.rows if not row.derived), key=lambda row: abs(row.first_standardised or 0.0)
    )
    return [
        f"None of the faults explains these readings ({_percent(match.probability(NONE))} probable): a"
        " reading is wrong, or the fault is not on the list.",
        f"Fitting worst is {words_of(worst.name).lower()}: repeat it first.",
    ]


def _open_verdict(match: Match) -> list[str]:
    likely = ", ".join(
        f"{in_a_sentence(one.name)} ({_percent(one.probability)})" for one in match.probabilities[:3]
    )
    return [f"The readings do not decide between explanations yet; likeliest are {likely}."]


def level_sentence(one: Explained, system: System) -> str:
    """How grave it is and what it takes, with 90 % intervals."""
    amounts = " and ".join(_level_words(part, system) for part in one.levels)
    today, design = one.today, one.design
    outdoor = of_quantity("outdoor_db", "", design.outdoor_temperature, TEMPERATURE, system)
    return (
        f"If it is {in_a_sentence(one.name)}: {amounts}. Today it {_takes(today)}; at {outdoor.text}"
        f" {outdoor.unit} outdoors it {_takes(design)}."
    )


def _takes(toll: Toll) -> str:
    """What a fault takes of capacity and EER, or adds to them, as a little charge too much may."""
    first, second = _taken(toll.capacity_share, "capacity"), _taken(toll.eer_share, "EER")
    verb = first.split()[0]
    return f"{first} and {second.removeprefix(verb).lstrip()}"


def _taken(share: Span, of: str) -> str:
    """One share that is taken of something, or added to it."""
    if percent(share.value)[0] == "-":
        return f"adds {_percents(_turned(share))} to the {of}"
    return f"takes {_percents(share)} of the {of}"


def _turned(share: Span) -> Span:
    """A loss as a gain."""
    return Span(-share.value, -share.high, -share.low)


def _level_words(part: FoundLevel, system: System) -> str:
    if part.field == "charge_change":
        short = part.amount.value < 0
        sign = -1.0 if short else 1.0
        ends = sorted((sign * part.amount.low, sign * part.amount.high))
        amount = _percents(Span(sign * part.amount.value, ends[0], ends[1]))
        return f"{amount} of the charge {'missing' if short else 'too much'}"
    pressures = {"noncondensable": part.amount, "liquid_restriction": part.pressure_drop or part.amount}
    if part.field in pressures:
        amount = _in_words(pressures[part.field], PRESSURE_DIFFERENCE, system)
    else:
        amount = _percents(part.amount)
    told = _PART[part.field].format(amount=amount)
    if part.airflow_lost is not None and part.field != "evaporator_airflow_lost":
        told += f", which loses {_percents(part.airflow_lost)} of its airflow"
    return told


def _in_words(one: Span, quantity: Quantity, system: System) -> str:
    value, low, high = (float(quantity.from_si(end, system)) for end in (one.value, one.low, one.high))
    scale = quantity.scale(system)
    return f"{value:.{scale.decimals}f} {scale.label} ({low:.{scale.decimals}f} to {high:.{scale.decimals}f})"


def level_figures(one: Explained, system: System) -> list[Figure]:
    """Each fault's amount in the units of the case file, and the airflow or pressure that it costs."""
    figures = []
    for part in one.levels:
        quantity = PERCENT if part.field not in ("noncondensable",) else PRESSURE_DIFFERENCE
        figures.append(of_span(part.field, words_of(part.field, "fault"), part.amount, quantity, system))
        if part.airflow_lost is not None:
            figures.append(
                of_span("airflow_lost", "Airflow that it loses", part.airflow_lost, PERCENT, system)
            )
        if part.pressure_drop is not None:
            words = "Pressure that the restriction takes"
            figures.append(
                of_span("restriction_drop", words, part.pressure_drop, PRESSURE_DIFFERENCE, system)
            )
    return figures


def toll_figures(toll: Toll, system: System) -> list[Figure]:
    """What it takes at one weather, with 90 % intervals."""
    rows: list[tuple[str, str, Span, Quantity]] = [
        ("clean_capacity", "Capacity of the clean unit", toll.clean_capacity, CAPACITY),
        ("capacity_lost", "Capacity lost", toll.capacity_lost, CAPACITY),
        ("capacity_share", "Capacity lost, share", toll.capacity_share, PERCENT),
        ("clean_power", "Total power of the clean unit", toll.clean_power, POWER),
        ("power_added", "Power added", toll.power_added, POWER),
        ("clean_eer", "EER of the clean unit", toll.clean_eer, EFFICIENCY),
        ("eer_share", "EER lost, share", toll.eer_share, PERCENT),
        ("same_cooling_power", "Extra power for the same cooling", toll.same_cooling_power, POWER),
    ]
    figures = [of_span(key, words, one, quantity, system) for key, words, one, quantity in rows]
    trip = toll.trip_temperature
    return (
        figures
        if trip is None
        else [*figures, spanned_trip_figure(trip.value, (trip.low, trip.high), system)]
    )


def stakes_sentences(match: Match, currency: str) -> list[str]:
    """What it costs to be wrong about the likeliest fault, either way; nothing for a clean unit."""
    told = match.stakes
    if told is None or match.verdict in ("clean", "none of these"):
        return []
    price = f"{told.price:,.0f} {currency} " if told.price is not None else "the work "
    left = (
        f"Left alone when it is there: {told.left_power.value:,.0f} W more for the same cooling"
        f" ({told.left_power.low:,.0f} to {told.left_power.high:,.0f} W), {told.left_energy.value:,.0f}"
        f" kWh in {RUNNING_HOURS:.0f} hours of running"
    )
    if told.left_cost is not None:
        cost = told.left_cost
        left += f" or {cost.value:,.0f} {currency} ({cost.low:,.0f} to {cost.high:,.0f})"
    return [
        f"Treated when it is not there ({_percent(told.needless)} probable): {price}spent for nothing.",
        f"{left}, and {_missing(told.left_capacity_share)} on a design day.",
    ]


def _missing(share: Span) -> str:
    """How much of the cooling is missing; nothing where the fault adds some."""
    return (
        "no cooling missing"
        if percent(share.value)[0] == "-"
        else f"{_percents(share)} of the cooling missing"
    )


def expected_table(match: Match, system: System) -> tuple[list[str], list[list[str]]]:
    """Headings and rows of every reading beside what clean unit, first and second fault would show.

    An arrow says which way the number lies from the clean unit's.
    """
    faults = [one.name for one in match.explained[:2]]
    headings = ["", "measured", "clean unit", *faults, "measured less clean [standard errors]"]
    headings.append(f"speaks for {faults[0]}" if faults else "")
    rows = []
    for row, shown in expected_figures(match, system):
        measured, clean, *expected = (one.text for one in shown)
        moved = [
            f"{one} {arrow}"
            for one, arrow in zip(expected, (row.first_arrow, row.second_arrow), strict=False)
        ]
        weight = "" if row.weight is None else signed(row.weight, 1)
        cells = [
            shown[0].heading,
            f"{measured} {row.arrow}",
            clean,
            *moved,
            signed(row.standardised, 1),
            weight,
        ]
        rows.append(cells)
    return headings, rows


def expected_figures(match: Match, system: System) -> list[tuple[ExpectedRow, list[Figure]]]:
    """Each row with its figures: measured, clean, first fault, second fault as far as there are any."""
    pressure, told = match.visit.ambient_pressure, []
    for row in match.rows:
        values = [row.measured, row.clean, row.first, row.second]
        shown = [
            figure(row.name, value, system, ambient_pressure=pressure)
            for value in values
            if value is not None
        ]
        told.append((row, shown))
    return told


def weight_sentences(match: Match) -> list[str]:
    """The readings that speak most for the likeliest fault and most against it."""
    rows = [row for row in match.rows if row.weight is not None]
    if not rows or match.verdict == "none of these":
        return []
    first, most = in_a_sentence(match.explained[0].name), max(rows, key=_weight)
    least = min(rows, key=_weight)
    told = []
    if _weight(most) > LITTLE_WEIGHT:
        told.append(
            f"Most for {first}, over {in_a_sentence(match.rival)}, speaks: {words_of(most.name).lower()}"
            f" (odds {_odds(_weight(most))})."
        )
    if _weight(least) < -LITTLE_WEIGHT:
        told.append(f"Most against it: {words_of(least.name).lower()} (odds {_odds(_weight(least))}).")
    else:
        told.append("No reading speaks against it.")
    return told


def _weight(row: ExpectedRow) -> float:
    return row.weight or 0.0


def _odds(weight: float) -> str:
    times = exp(min(abs(weight), 20.0))
    shown = f"{times:,.0f}" if times >= 10 else f"{times:.1f}"
    return f"times {shown}" if weight > 0 else f"divided by {shown}"


def suggestion_rows(match: Match, system: System) -> list[tuple[str, str]]:
    """What to read next and how many % of what is open it would settle on average."""
    return [(suggestion_sentence(one, match, system), f"{100 * one.share:.0f}") for one in match.suggestions]


def suggestion_sentence(one: Suggestion, match: Match, system: System) -> str:
    """One sentence to act on, with what each of the two explanations would make the meter show."""
    shown = [
        figure(one.reading, value, system, ambient_pressure=match.visit.ambient_pressure)
        for value in one.values
    ]
    values = f"about {shown[0].text} against {shown[1].text} {shown[0].unit}".rstrip()
    return f"{one.words}: {values}."


def match_json(match: Match, system: System, currency: str) -> dict[str, Any]:
    """The match for `--json`."""
    return {
        "visit": match.visit.label,
        "verdict": match.verdict,
        "clean_visits": list(match.clean_visits),
        "probabilities": {
            one.name: {
                "probability": _rounded(one.probability),
                "prior": _rounded(one.prior),
                "log_evidence": _rounded(one.evidence),
            }
            for one in match.probabilities
        },
        "fouled_condenser": _rounded(match.fouled_condenser),
        "group": {
            "causes": list(match.group),
            "probability": _rounded(match.group_probability),
            "acts": list(match.acts),
        },
        "explained": [
            {
                "cause": one.name,
                "probability": _rounded(one.probability),
                "severity": to_json(level_figures(one, system)),
                "today": to_json(toll_figures(one.today, system)),
                "design": to_json(toll_figures(one.design, system)),
                "sentence": level_sentence(one, system),
            }
            for one in match.explained
        ],
        "readings": {row.name: _row_json(row, shown) for row, shown in expected_figures(match, system)},
        "rival": match.rival,
        "suggestions": [_suggestion_json(one, match, system) for one in match.suggestions],
        "misfit": {
            "clean": _rounded(match.clean_chi_square),
            "best": _rounded(match.chi_square),
            "readings": match.readings,
        },
        "sentences": all_sentences(match, system, currency),
    }


def _row_json(row: ExpectedRow, shown: list[Figure]) -> dict[str, Any]:
    names = ("measured", "clean", "first", "second")
    return {
        **{name: one.value for name, one in zip(names, shown, strict=False)},
        "unit": shown[0].unit,
        "derived": row.derived,
        "standard_errors": _rounded(row.standardised),
        "first_standard_errors": None if row.first_standardised is None else _rounded(row.first_standardised),
        "arrows": [row.arrow, row.first_arrow, row.second_arrow],
        "weight": None if row.weight is None else _rounded(row.weight),
    }


def _suggestion_json(one: Suggestion, match: Match, system: System) -> dict[str, Any]:
    return {
        "reading": one.reading,
        "again": one.again,
        "information": _rounded(one.information),
        "share": _rounded(one.share),
        "separates": list(one.separates),
        "sentence": suggestion_sentence(one, match, system),
    }


def _rounded(value: float) -> float:
    return round(value, 6)


def all_sentences(match: Match, system: System, currency: str) -> list[str]:
    """Every sentence of the match, in the order of the command line."""
    told = verdict_sentences(match)
    told += [level_sentence(one, system) for one in _worth_telling(match)]
    return told + weight_sentences(match) + stakes_sentences(match, currency) + next_steps(match)


def told_faults(match: Match) -> tuple[Explained, ...]:
    """Faults worked out, with how grave they are; none where none of them explains the readings."""
    return () if match.verdict == "none of these" else match.explained


def _worth_telling(match: Match) -> list[Explained]:
    """Those of them that are in the group, or likely enough for a sentence."""
    return [one for one in told_faults(match) if one.name in match.group or one.probability >= 0.05]


def _percent(share: float) -> str:
    return "over 99 %" if share > 0.995 else "under 1 %" if share < 0.005 else f"{100 * share:.0f} %"


def _percents(one: Span) -> str:
    value, low, high = (percent(share) for share in (one.value, one.low, one.high))
    return f"{value} ({low.removesuffix(' %')} to {high})"
