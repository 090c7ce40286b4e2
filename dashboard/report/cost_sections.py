"""The cost sections of the printed report: yearly cost of fouling, what to do, and when."""

from collections.abc import Callable, Sequence
from typing import Any

from calibration.case.records import Case
from calibration.case.units import System
from calibration.clean_fit.baseline import Baseline
from calibration.costs.case_costs import Costs, as_of_visit, case_costs
from calibration.costs.fouled_unit import DRAWS
from calibration.costs.season_cost import SeasonFindings
from calibration.diagnosis.finding import Finding
from dashboard.charts import cost_charts
from dashboard.charts.chart import Chart
from dashboard.charts.draw_svg import svg
from dashboard.report.parts import Block, Grid, Paragraph, Picture, Points, Section
from dashboard.results.costs import cleaning_advice, joint_dates, whole_unit
from dashboard.results.costs.season_cost import NO_PRICE, season_columns, season_json, season_sentences
from dashboard.results.costs.season_ground import ground_sentences
from dashboard.results.costs.winter import winter_columns
from dashboard.results.figures import Figure
from dashboard.texts.translate import tr

HALF_WIDTH = (95.0, 62.0)  # of a chart that shares the width of the page with another [mm]
WHOLE_WIDTH = (180.0, 54.0)  # of one that does not [mm]
LOW_HALF_WIDTH = (95.0, 60.0)  # of such a one that needs less height [mm]
LOW_WIDTH = (180.0, 42.0)  # of a wide one that needs little height [mm]
FIRST_REASONS = 2
"""Reasons that stand beside the advice; the others stand with the costs."""
SHOWN = ("money", "unmet_money", "energy", "carbon", "peak_power", "run_hours", "short_hours", "trip_hours")


def costs_of_visit(
    case: Case,
    baseline: Baseline,
    finding: Finding,
    progress: Callable[[float], None] | None = None,
    draws: int = DRAWS,
) -> Costs | str:
    """What the fouling that was found on a visit costs, as of its day.

    Parameters
    ----------
    case : Case
    baseline : Baseline
        The fitted clean unit.
    finding : Finding
        Of the visit, as found.
    progress : callable, optional
        Called with the share done.
    draws : int
        Draws behind the 90 % ranges [-].

    Returns
    -------
    Costs or str
        A sentence without its full stop where the season cannot be calculated.
    """
    visit = finding.visit
    try:
        return case_costs(
            as_of_visit(case, visit), baseline, visit.date, progress, draws, {visit.label: finding}
        )
    except ValueError as problem:
        return str(problem)


def costs_json(cost: Costs | str, system: System) -> dict[str, Any]:
    """The same for `--json`: season, and when to clean."""
    if isinstance(cost, str):
        return {"season": None, "interval": None, "missing": cost}
    lines = None if cost.interval is None else cleaning_advice.interval_json(cost.interval, system)
    missing = NO_PRICE if cost.interval is None else ""
    return {"season": season_json(cost.season, system), "interval": lines, "missing": missing}


def cost_sections(cost: Costs | str, system: System) -> tuple[Section, ...]:
    """Sections about money and date.

    Parameters
    ----------
    cost : Costs or str
        Cost of fouling and when to clean; or why these are unknown; empty for no section.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    tuple of Section
        What to do and when, and what the fouling costs in a year.
    """
    if isinstance(cost, str):
        return (
            (Section(tr("What it costs"), (Paragraph(tr("Not calculated: {reason}.", reason=cost)),)),)
            if cost
            else ()
        )
    if cost.season.unit.if_fouled:  # what to do instead is in the finding
        return (Section(tr("If it were fouling: what it costs in a year"), _year(cost, system)),)
    return (
        Section(tr("What to do, and when"), _recommended(cost)),
        Section(tr("What it costs in a year"), _year(cost, system)),
    )


def _recommended(cost: Costs) -> tuple[Block, ...]:
    """What to do on which date, and the first reasons."""
    if cost.interval is None:
        return (Paragraph(tr(NO_PRICE)),)
    advised = cleaning_advice.advice(cost.interval)
    lines = [*advised.reasons[:FIRST_REASONS], *joint_dates.joint_sentences(cost.interval)]
    if advised.recommended.advice == "measure_first":
        lines.insert(0, advised.measuring)
    return (Paragraph(advised.headline, strong=True), *((Points(tuple(lines)),) if lines else ()))


def _year(cost: Costs, system: System) -> tuple[Block, ...]:
    lines = season_sentences(cost.season, system)[1:]  # the first is on the first page
    charts: list[tuple[Chart | None, tuple[float, float]]] = []
    if cost.interval is not None and not cost.season.unit.if_fouled:
        advised = cleaning_advice.advice(cost.interval)
        lines += [*advised.reasons[FIRST_REASONS:], cleaning_advice.watch_sentence(cost.interval, system)]
        charts = [
            (cost_charts.interval_chart(cost.interval), LOW_HALF_WIDTH),
            (cost_charts.day_chart(cost.interval), LOW_HALF_WIDTH),
        ]
        charts.append((cost_charts.swing_chart(cost.interval).without_texts(), LOW_HALF_WIDTH))
    charts.append((cost_charts.effect_chart(cost.season), LOW_HALF_WIDTH))
    charts.append((cost_charts.year_map(cost.season), LOW_WIDTH))
    pictures = (Picture(svg(one, *size), one.description) for one, size in charts if one is not None)
    return (
        Points(tuple(one for one in lines if one)),
        _table(season_columns(cost.season, system)),
        *_winter(cost.season, system),
        *pictures,
    )


def _winter(season: SeasonFindings, system: System) -> tuple[Block, ...]:
    """The heating season of a heat pump: a heading in words and its table."""
    columns = winter_columns(season, system)
    if not columns:
        return ()
    keys = tuple(one.key for one in columns[1][1])
    return (Paragraph(tr("A winter, while the unit heats"), strong=True), _table(columns, keys))


def circuit_sections(circuits: Sequence[SeasonFindings], system: System) -> tuple[Section, ...]:
    """The year of a unit of several circuits, all of them together; nothing for a unit of one.

    Parameters
    ----------
    circuits : sequence of SeasonFindings
        One for each circuit of a unit with several.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    tuple of Section
    """
    if not circuits:
        return ()
    (_, columns), *_ = whole_unit.season_tables(circuits, system)
    words = tr(
        "The {number} circuits of the unit together. {shares}",
        number=len(circuits),
        shares=tr(whole_unit.SHARES),
    )
    return (Section(tr("What it costs in a year, all circuits"), (Paragraph(words), _table(columns))),)


def _table(columns: list[tuple[str, list[Figure]]], keys: Sequence[str] = SHOWN) -> Grid:
    """A year of the clean unit, and what fouling adds, with 90 % ranges."""
    by_key = [{one.key: one for one in figures} for _, figures in columns]
    headings = ("", *(word for name, _ in columns for word in (name, tr("90 % range"))))
    rows = []
    for key in keys:
        found = [column.get(key) for column in by_key]
        named: Figure = next(one for one in found if one is not None)
        cells = [(one.text, one.interval_text) if one else ("", "") for one in found]
        rows.append((named.heading, *(word for cell in cells for word in cell)))
    # The clean unit has no 90 % ranges: its second column would be empty.
    return Grid((*headings[:2], *headings[3:]), tuple((*row[:2], *row[3:]) for row in rows))


def cost_grounds(cost: Costs, system: System) -> tuple[str, ...]:
    """Basis of cost and date, and what was assumed."""
    lines = ground_sentences(cost.season, system)
    if cost.interval is not None:
        lines += cleaning_advice.ground_sentences(cost.interval)
        lines += joint_dates.joint_grounds(cost.interval)
    return tuple(lines)
