"""What moves the cost of fouling, and two cases side by side: rows, sentences and JSON."""

from collections.abc import Sequence
from typing import Any

from calibration.case.units import System
from calibration.costs.cleaning_interval import IntervalFindings
from calibration.costs.season_cost import SeasonFindings
from calibration.costs.whole_unit import whole_season
from dashboard.results.costs.season_cost import money_figure, season_columns
from dashboard.results.costs.when_words import interval_words
from dashboard.results.figures import Figure, shown, to_json, with_interval
from dashboard.texts.translate import tr
from model.maintenance.cleaning_decision import Sensitivity

INPUTS = {
    "growth": "the pace of the dirt",
    "trip": "the setting of the high-pressure switch",
    "load": "the cooling load",
    "level": "the fouling found",
    "weather": "the year's weather",
    "change": "what a blocked face does to the unit",
    "fouled at all": "whether it is fouled",
    "unit": "the clean unit",
}
YEARS_COMPARED = ("the clean unit", "added by today's fouling", "added as it grows")
"""Years of the tables that compare two cases."""
SWINGS = {
    "electricity price": "price of electricity",
    "cleaning price": "price of a cleaning",
    "dirt rate": "pace of the dirt",
    "restoration": "share of the dirt removed",
}
SHOWN_INPUTS = 6
"""Inputs that are shown, the widest first."""
COMPARED = (
    "energy",
    "money",
    "electricity_money",
    "unmet_money",
    "carbon",
    "run_hours",
    "short_hours",
    "trip_hours",
)
"""Figures of a year that two cases are compared by."""


def effect_rows(found: SeasonFindings) -> list[tuple[str, Figure, Figure]]:
    """Inputs, with the yearly cost of fouling as it grows at the 5th and the 95th percentile of each."""
    currency = found.inputs.currency
    return [
        (
            tr(INPUTS[one.name]),
            money_figure("low", tr(INPUTS[one.name]), one.low, currency),
            money_figure("high", tr(INPUTS[one.name]), one.high, currency),
        )
        for one in found.effects[:SHOWN_INPUTS]
    ]


def effect_table(found: SeasonFindings) -> tuple[str, list[str], list[list[str]]]:
    """Title, headings and rows of the same."""
    headings = [tr("of what is not known"), tr("at its 5th percentile"), tr("at its 95th percentile")]
    rows = [[words, low.text, high.text] for words, low, high in effect_rows(found)]
    return (
        tr("Cost as fouling grows, in the mean [{currency} a year]", currency=found.inputs.currency),
        headings,
        rows,
    )


def effect_sentence(found: SeasonFindings) -> str:
    """What moves the cost most; empty where there are too few draws."""
    rows = effect_rows(found)
    if not rows:
        return ""
    words, low, high = rows[0]
    ends = sorted((low, high), key=lambda one: float(one.value or 0.0))
    return tr(
        "The cost as fouling grows depends most on {input}: in the mean it is {low} at one end of "
        "its range and {high} at the other.",
        input=words,
        low=ends[0].text,
        high=with_interval(ends[1]),
    )


def swing_table(found: IntervalFindings) -> tuple[list[str], list[list[str]]]:
    """Headings and rows of how the advice moves with each input, the widest swing first."""
    unit = tr("{currency} a year", currency=found.inputs.currency)
    headings = [
        "",
        tr("if lower"),
        tr("if higher"),
        tr("lost if lower [{unit}]", unit=unit),
        tr("lost if higher [{unit}]", unit=unit),
    ]
    return headings, [
        [tr(SWINGS[one.name]), *swing_words(one), shown(one.regret_low), shown(one.regret_high)]
        for one in found.swings
    ]


def swing_words(swing: Sensitivity) -> tuple[str, str]:
    """Best interval at the low and at the high value of an input: "× 2: every year"."""
    low, high = swing_ends(swing)
    return f"{low}: {interval_words(swing.interval_low)}", f"{high}: {interval_words(swing.interval_high)}"


def swing_ends(swing: Sensitivity) -> tuple[str, str]:
    """The two values of an input in words."""
    if swing.name == "restoration":
        return f"{100.0 * swing.low:.0f} %", f"{100.0 * swing.high:.0f} %"
    return f"× {swing.low:g}", f"× {swing.high:g}"


def compared_tables(
    mine: Sequence[SeasonFindings],
    theirs: Sequence[SeasonFindings],
    names: tuple[str, str],
    system: System,
) -> list[tuple[str, list[tuple[str, list[Figure]]]]]:
    """A year of two cases side by side: title, and for each case and their difference heading and figures.

    Parameters
    ----------
    mine, theirs : sequence of SeasonFindings
        Of the circuits of the two cases.
    names : (str, str)
        What they are called.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    list of (str, list of (str, list of Figure))
        The clean unit, what today's fouling adds, what it adds as it grows.
    """
    years = [season_columns(whole_season(circuits), system) for circuits in (mine, theirs)]
    tables = []
    for title, (_, first), (_, second) in zip(YEARS_COMPARED, *years, strict=True):
        shown = [[one for one in figures if one.key in COMPARED] for figures in (first, second)]
        columns = [*zip(names, shown, strict=True), (tr("difference"), _differences(*shown))]
        tables.append((tr("A year: {title}", title=tr(title)), columns))
    return tables


def _differences(first: list[Figure], second: list[Figure]) -> list[Figure]:
    """The second less the first, of the most likely units."""
    return [
        Figure(two.key, two.label, float(two.value or 0.0) - float(one.value or 0.0), two.unit, two.decimals)
        for one, two in zip(first, second, strict=True)
    ]


def compared_json(tables: list[tuple[str, list[tuple[str, list[Figure]]]]]) -> dict[str, Any]:
    """What `compared_tables` gives, for `--json`, by year and figure."""
    by_year: dict[str, Any] = {"names": [name for name, _ in tables[0][1][:2]]}
    for key, (_, columns) in zip(("clean", "today", "coming"), tables, strict=True):
        this, other, difference = (to_json(figures) for _, figures in columns)
        by_year[key] = {"this": this, "other": other, "difference": difference}
    return by_year
