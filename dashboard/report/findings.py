"""What the printed report says besides the comparison: what to do, a clean visit beside it, money."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from calibration.case.records import Case, Visit
from calibration.case.units import System
from calibration.clean_fit.baseline import Baseline
from calibration.costs.case_costs import Costs
from calibration.costs.season_cost import SeasonFindings
from calibration.diagnosis.comparison import Comparison
from calibration.diagnosis.finding import Finding
from calibration.diagnosis.same_weather import LikeForLike, like_for_like
from dashboard.report.cost_sections import costs_json
from dashboard.report.parts import Block, Grid, Paragraph, Points, Section
from dashboard.results import comparison as compared
from dashboard.results import same_weather as alike
from dashboard.results.costs import whole_unit
from dashboard.results.finding import not_cleaning
from dashboard.results.match import level_sentence, match_json, verdict_sentence
from dashboard.results.next_steps import acts_to_separate, what_to_do
from dashboard.results.suspect_readings import suspect_sentences
from dashboard.texts.translate import tr

MOST_ACTS = 3
"""Acts that tell faults apart, named in a report."""


@dataclass(frozen=True)
class Findings:
    """Findings about one as-found visit.

    Attributes
    ----------
    cost : Costs or str
        What the fouling costs and when to clean; or why that cannot be said; empty to leave it out.
    moved : LikeForLike or None
        The visit beside a clean one, both in the same weather; None where there is no clean visit.
    circuits : tuple of SeasonFindings
        The season of every circuit of a unit with several, as of the visit's day; empty for one.
    """

    cost: Costs | str = ""
    moved: LikeForLike | None = None
    circuits: tuple[SeasonFindings, ...] = ()


def visit_findings(
    case: Case,
    baseline: Baseline,
    comparison: Comparison,
    cost: Costs | str = "",
    known: Mapping[str, Finding] | None = None,
) -> Findings:
    """Findings about a visit.

    Parameters
    ----------
    case : Case
    baseline : Baseline
        The fitted clean unit.
    comparison : Comparison
        The visit, as found, beside the clean unit.
    cost : Costs or str
        `dashboard.report.cost_sections.costs_of_visit`.
    known : mapping of str to Finding, optional
        What is already known of the case's clean visits, by their labels.

    Returns
    -------
    Findings
    """
    beside = _clean_visit(case, comparison.visit)
    if beside is None:
        return Findings(cost)
    found = {**(known or {}), comparison.visit.label: comparison.finding}
    moved = like_for_like(case, comparison.visit, beside, baseline=baseline, findings=found)
    return Findings(cost, moved)


def _clean_visit(case: Case, visit: Visit) -> Visit | None:
    """The first clean visit after this one, the result of a cleaning; else the last one before."""
    others = [one for one in case.clean_visits if one != visit]
    if visit.date is None:
        return others[-1] if others else None
    after = [one for one in others if one.date is not None and one.date >= visit.date]
    before = [one for one in others if one not in after]
    if after:
        return min(after, key=lambda one: one.date or date.max)
    return max(before, key=lambda one: one.date or date.min, default=None)


def headline(comparison: Comparison) -> list[str]:
    """The finding in an owner's words; where the readings point to something else than fouling, to what."""
    if comparison.finding.shows_condenser:
        return compared.owner_sentences(comparison)
    return [not_cleaning(comparison.finding)]


def finding_points(finding: Finding, system: System) -> tuple[str, ...]:
    """What the readings say, which are suspect, how much there is of it, what is lost, and what to do."""
    dirt = finding.shows_condenser
    lines = [verdict_sentence(finding)] if dirt else [_level_or_nearest(finding, system)]
    lines += suspect_sentences(finding, system)
    acts = acts_to_separate(finding)[:MOST_ACTS]
    # When a cleaning pays is said under its own heading.
    steps = [] if finding.claimed == ("clean_condenser",) else what_to_do(finding)
    return tuple(
        one for one in (*lines, *(tr("To separate them: {act}.", act=act) for act in acts), *steps) if one
    )


def _level_or_nearest(finding: Finding, system: System) -> str:
    """Level and loss of the likeliest fault, where one is claimed."""
    return level_sentence(finding.explained[0], system) if finding.verdict == "fault" else ""


def beside_sections(moved: LikeForLike | None, case: Case, system: System) -> tuple[Section, ...]:
    """The visit beside a clean one, both moved to the same weather; nothing without a clean visit."""
    if moved is None or not moved.rows:
        return ()
    first, second = case.visit(moved.first), case.visit(moved.second)
    names = [_heading(first, second, tr("before cleaning")), _heading(second, first, tr("after cleaning"))]
    headings = (
        "",
        *names,
        *(tr("{name}, moved", name=name) for name in names),
        tr("difference left"),
        tr("90 % range"),
    )
    rows = []
    for row in moved.rows:
        shown = alike.row_figures(row, system, moved.common.ambient_pressure)
        cells = [shown[key].text for key in ("first", "second", "first_moved", "second_moved", "remaining")]
        rows.append((shown["first"].heading, *cells, shown["remaining"].interval_text))
    lines = tr(
        "Both are moved by the model to the {weather}: what is left of the difference is not weather.",
        weather=tr(moved.common.words),
    )
    suspects = alike.suspect_sentences(moved)
    blocks: list[Block] = [Paragraph(lines), Grid(headings, tuple(rows))]
    return (Section(tr("Clean and as found, in the same weather"), (*blocks, *_points(suspects))),)


def _points(sentences: list[str]) -> tuple[Block, ...]:
    return (Points(tuple(sentences)),) if sentences else ()


def _heading(visit: Visit, other: Visit, role: str) -> str:
    """How a visit is called beside the other one."""
    if visit.date is None or other.date is None:
        return visit.label
    found, clean = (visit, other) if visit.coil == "as found" else (other, visit)
    if found.date is not None and clean.date is not None and clean.date >= found.date:
        return f"{role}, {visit.date.isoformat()}"
    return f"{tr(visit.coil)}, {visit.date.isoformat()}"


def findings_json(
    findings: Findings, comparison: Comparison, system: System, currency: str
) -> dict[str, Any]:
    """The findings for `--json`."""
    moved = findings.moved
    return {
        **costs_json(findings.cost, system),
        "match": match_json(comparison.finding, system, currency),
        "clean_and_found": None if moved is None else alike.alike_json(moved, system),
        "whole_unit": whole_unit.season_json(findings.circuits, system) if findings.circuits else None,
    }
