"""What the printed report says besides the comparison: which fault, a clean visit beside it, money."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from calibration.case.records import Case, Visit
from calibration.case.units import System
from calibration.clean_fit.baseline import Baseline
from calibration.diagnosis.comparison import Comparison
from calibration.diagnosis.hypotheses import FOULED_CONDENSER
from calibration.diagnosis.match import Match, match_visit
from calibration.diagnosis.same_weather import LikeForLike, like_for_like
from dashboard.report.cost_sections import costs_json
from dashboard.report.parts import Block, Grid, Paragraph, Points, Section
from dashboard.results import comparison as compared
from dashboard.results import match as matched
from dashboard.results import same_weather as alike
from dashboard.results.next_steps import next_steps
from dashboard.results.season_cost import Costs

MOST_ACTS = 3
"""Acts that tell faults apart, named in a report."""


@dataclass(frozen=True)
class Findings:
    """Findings about one as-found visit.

    Attributes
    ----------
    cost : Costs or str
        What the fouling costs and when to clean; or why that cannot be said; empty to leave it out.
    match : Match or None
        Which fault the readings match; None to leave it out.
    moved : LikeForLike or None
        The visit beside a clean one, both in the same weather; None where there is no clean visit.
    """

    cost: Costs | str = ""
    match: Match | None = None
    moved: LikeForLike | None = None


def visit_findings(case: Case, baseline: Baseline, visit: Visit, cost: Costs | str = "") -> Findings:
    """Findings about a visit.

    Parameters
    ----------
    case : Case
    baseline : Baseline
        The fitted clean unit.
    visit : Visit
        As found.
    cost : Costs or str
        `dashboard.report.cost_sections.costs_of_visit`.

    Returns
    -------
    Findings
    """
    beside = _clean_visit(case, visit)
    moved = None if beside is None else like_for_like(case, visit, beside, baseline=baseline)
    return Findings(cost, match_visit(case, visit, baseline=baseline), moved)


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


def is_dirt(match: Match | None) -> bool:
    """Whether a dirty condenser is among what the readings match; taken for granted without a match."""
    return match is None or (
        match.verdict in ("cause", "look-alikes") and any(fault in FOULED_CONDENSER for fault in match.group)
    )


def headline(comparison: Comparison, findings: Findings) -> list[str]:
    """The finding in an owner's words; where the readings do not match dirt, that comes first."""
    if is_dirt(findings.match) or findings.match is None:
        return compared.owner_sentences(comparison)
    return [
        matched.verdict_sentences(findings.match)[0],
        "What is said here of dirt, money and dates holds only as far as the coil is dirty.",
    ]


def match_points(match: Match | None, system: System) -> tuple[str, ...]:
    """What the readings match, what tells look-alikes apart, and what to do about other faults than dirt."""
    if match is None:
        return ()
    told = matched.verdict_sentences(match)[:1] if is_dirt(match) else _other_than_dirt(match, system)
    acts = () if match.verdict == "clean" else match.acts[:MOST_ACTS]
    return (*told, *(f"What tells them apart: {act}." for act in acts), *next_steps(match))


def _other_than_dirt(match: Match, system: System) -> list[str]:
    """How grave the faults are that the readings match."""
    if match.verdict not in ("cause", "look-alikes"):
        return []
    return [matched.level_sentence(one, system) for one in match.explained if one.name in match.group]


def beside_sections(moved: LikeForLike | None, case: Case, system: System) -> tuple[Section, ...]:
    """The visit beside a clean one, both moved to the same weather; nothing without a clean visit."""
    if moved is None or not moved.rows:
        return ()
    first, second = case.visit(moved.first), case.visit(moved.second)
    names = [_heading(first, second, "before cleaning"), _heading(second, first, "after cleaning")]
    headings = ("", *names, *(f"{name}, moved" for name in names), "difference left", "90 % interval")
    rows = []
    for row in moved.rows:
        shown = alike.row_figures(row, system, moved.common.ambient_pressure)
        cells = [shown[key].text for key in ("first", "second", "first_moved", "second_moved", "remaining")]
        rows.append((shown["first"].heading, *cells, shown["remaining"].interval_text))
    told = (
        f"Both are moved by the model to the {moved.common.words}: what is left of the difference is not "
        "weather."
    )
    doubts = [one for one in alike.sentences(moved, system) if "is doubted" in one]
    blocks: list[Block] = [Paragraph(told), Grid(headings, tuple(rows))]
    return (Section("Clean and as found, in the same weather", (*blocks, *_points(doubts))),)


def _points(sentences: list[str]) -> tuple[Block, ...]:
    return (Points(tuple(sentences)),) if sentences else ()


def _heading(visit: Visit, other: Visit, role: str) -> str:
    """How a visit is called beside the other one."""
    if visit.date is None or other.date is None:
        return visit.label
    found, clean = (visit, other) if visit.coil == "as found" else (other, visit)
    if found.date is not None and clean.date is not None and clean.date >= found.date:
        return f"{role}, {visit.date.isoformat()}"
    return f"{visit.coil}, {visit.date.isoformat()}"


def findings_json(findings: Findings, system: System, currency: str) -> dict[str, Any]:
    """The findings for `--json`."""
    found, moved = findings.match, findings.moved
    return {
        **costs_json(findings.cost, system),
        "match": None if found is None else matched.match_json(found, system, currency),
        "clean_and_found": None if moved is None else alike.alike_json(moved, system),
    }
