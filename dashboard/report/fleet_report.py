"""The report for the owner of many units: totals and ranking on one page, then a line a unit."""

from collections.abc import Sequence

from calibration.fleet.ranking import Row, mean_of, ranked, total, totals_by_currency
from dashboard.charts import fleet_charts
from dashboard.charts.chart import Chart
from dashboard.charts.draw_svg import svg
from dashboard.report.parts import Block, Cards, Grid, Paragraph, Picture, Points, Report, Section
from dashboard.report.unit_page import unit_section
from dashboard.results.figures import range_words, shown
from dashboard.results.fleet import units as results
from dashboard.results.wording import VERDICTS
from dashboard.texts.translate import language_code, tr, tr_many

FIRST = 10
"""Units on the first page."""
LINE_HEADINGS = ("Unit", "Site", "Verdict", "Mean a year", "What to do", "By", "Last visit")
FIRST_HEADINGS = ("unit", "site", "verdict", "fouling", "mean a year", "90 % range", "advice", "by")
"""Columns of the table there."""
HALF_WIDTH, WHOLE_WIDTH = (95.0, 58.0), (180.0, 58.0)
"""Of charts on paper [mm]."""
BEFORE = (
    "Only licensed and certified people work on a unit; unit off and locked out before anything is opened.",
    "The nameplate's limits and local codes prevail.",
    "These results are calculated from readings. They are no inspection.",
    "Never block a running coil.",
)


def fleet_report(rows: Sequence[Row], author: str, unit_pages: bool = False) -> Report:
    """Report of a fleet.

    Parameters
    ----------
    rows : sequence of mapping
        Of the table of results.
    author : str
        Who made it: the program and its version.
    unit_pages : bool
        Whether every unit has a page of its own at the end.

    Returns
    -------
    Report
    """
    sites = len({row["site"] for row in rows})
    return Report(
        title=tr("Fouling of all units"),
        subtitle=tr_many(
            "{units} units at {number} site", "{units} units at {number} sites", sites, units=len(rows)
        ),
        author=author,
        sections=(
            Section(tr("In short"), (Cards(_cards(rows)), Points(tuple(results.total_sentences(rows))))),
            Section(tr("Which first"), _first_units(rows)),
            Section(tr("Every unit"), (_lines(rows), *_learnt(rows), *_problems(rows)), new_page=True),
            Section(tr("Before anyone goes to a unit"), (Points(tuple(tr(one) for one in BEFORE)),)),
            *(unit_section(row) for row in ranked(rows) if unit_pages),
        ),
        language=language_code(),
    )


def _cards(rows: Sequence[Row]) -> tuple[tuple[str, str, str], ...]:
    """Money of each currency, and units by what to do."""
    cards = [
        (f"{shown(one.value)} {currency}", tr("Cost of fouling in a year"), range_words(one.low, one.high))
        for currency, one in totals_by_currency(rows).items()
    ]
    energy = total(rows, "kwh_year")
    cards.append(
        (
            f"{shown(energy.value)} kWh",
            tr("Electricity added in a year"),
            range_words(energy.low, energy.high),
        )
    )
    now = sum(row["advice"] == "now" for row in rows)
    other = sum(row["verdict"] == "fault" and row["advice"] == "not_a_cleaning_matter" for row in rows)
    return (
        *cards,
        (str(now), tr("Units to clean now"), ""),
        (str(other), tr("Units with another fault"), ""),
    )


def _first_units(rows: Sequence[Row]) -> tuple[Block, ...]:
    """The first units as a table; charts where prices are in one currency."""
    table = Grid(tuple(map(tr, FIRST_HEADINGS)), tuple(map(_first_cells, results.ranking_rows(rows)[:FIRST])))
    counted = fleet_charts.counted_rows(rows)
    currencies = {str(row["currency"]) for row in counted}
    if len(currencies) != 1:
        return (table,)
    (currency,) = currencies
    savings: tuple[Block, ...] = ()
    if fleet_charts.has_savings(counted):
        savings = (_picture(fleet_charts.savings_chart(counted, currency), HALF_WIDTH),)
    return (
        _picture(fleet_charts.ranking_chart(counted, currency, shown=FIRST), WHOLE_WIDTH),
        table,
        _picture(fleet_charts.level_chart(counted, currency), HALF_WIDTH),
        *savings,
    )


def _first_cells(cells: tuple[str, ...]) -> tuple[str, ...]:
    """What the first page has of a unit: columns that fit beside each other, a line a unit."""
    return tuple(cells[results.HEADINGS.index(heading)] for heading in FIRST_HEADINGS)


def _picture(chart: Chart, size: tuple[float, float]) -> Picture:
    return Picture(svg(chart, *size), chart.description)


def _lines(rows: Sequence[Row]) -> Grid:
    """A line a unit, the most expensive first."""
    headings = tuple(map(tr, LINE_HEADINGS))
    return Grid(headings, tuple(_line(row) for row in ranked(rows)))


def _line(row: Row) -> tuple[str, ...]:
    money = mean_of(row, "money_year")
    supposed = tr(" if fouled") if row.get("if_fouled") else ""
    return (
        str(row["unit"]),
        str(row["site"]),
        tr(VERDICTS.get(str(row["verdict"]), "")),
        "" if money is None else f"{shown(money)} {row['currency']}{supposed}",
        results.advice_words(row),
        str(row["clean_by"]),
        str(row["last_visit"]),
    )


def _learnt(rows: Sequence[Row]) -> list[Paragraph]:
    return [Paragraph(one) for one in results.learnt_sentences(rows)]


def _problems(rows: Sequence[Row]) -> list[Paragraph | Points]:
    found = [f"{row['unit']}: {row['problem']}" for row in rows if row["problem"]]
    return [Paragraph(tr("What could not be said:"), strong=True), Points(tuple(found))] if found else []
