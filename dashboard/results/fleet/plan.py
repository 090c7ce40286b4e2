"""A crew's plan as rows and sentences: what to do where and when, and what the plan brings."""

import csv
import io
from datetime import date, timedelta
from typing import Any, NamedTuple

from calibration.files.spreadsheet_text import harmless_cell
from calibration.fleet.crew_days import WORKING_DAYS, Visit
from calibration.fleet.crew_plan import CrewPlan
from calibration.fleet.jobs_to_plan import UnitJob
from calibration.fleet.plan import NOT_PLANNED
from dashboard.results.figures import shown
from dashboard.results.fleet.units import reading_words
from dashboard.results.wording import NEEDS

COLUMNS = ("week", "site", "unit", "jobs", "hours", "money_saved", "date", "crew", "price", "read")
"""Columns of the plan; the first six are relied on by others."""
WORK = {"clean": "clean the condenser coil", "measure": "take the readings again", "repair": "repair"}
SHOWN = 30
"""Rows that are printed; all are in the file."""
DECIMALS = 2


def plan_rows(made: CrewPlan) -> list[dict[str, Any]]:
    """One row for each job that is planned, in order of time.

    Parameters
    ----------
    made : CrewPlan

    Returns
    -------
    list of dict
        Values by column of `COLUMNS`; weeks count from 1.
    """
    rows = []
    for visit in made.visits:
        for place in visit.jobs:
            job = made.jobs[place]
            rows.append(
                {
                    "week": visit.week + 1,
                    "site": job.site,
                    "unit": job.unit,
                    "jobs": work_words(job),
                    "hours": job.hours,
                    "money_saved": round(float(job.saving[visit.week]), DECIMALS),
                    "date": visit.date.isoformat(),
                    "crew": visit.crew,
                    "price": round(job.price, DECIMALS),
                    "read": reading_words(job.read),
                }
            )
    return rows


def work_words(job: UnitJob) -> str:
    """What is to be done at a unit."""
    if job.work != "repair":
        return WORK[job.work]
    needed = ", ".join(NEEDS.get(one, one) for one in job.treatments.split("; ") if one)
    return f"{WORK['repair']}: {needed}" if needed else WORK["repair"]


def plan_csv(made: CrewPlan) -> bytes:
    """The plan as a CSV file."""
    buffer = io.StringIO()
    writer = csv.DictWriter(buffer, COLUMNS, lineterminator="\n")
    writer.writeheader()
    for row in plan_rows(made):
        writer.writerow({name: harmless_cell(str(value)) for name, value in row.items()})
    return buffer.getvalue().encode("utf-8")


def plan_table(made: CrewPlan) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Headings and rows to print, the first of a long plan."""
    headings: tuple[str, ...] = ("date", "crew", "site", "unit", "what to do", "hours", "saves", "read")
    rows: list[tuple[str, ...]] = [
        (
            row["date"],
            str(row["crew"]),
            row["site"],
            row["unit"],
            row["jobs"],
            f"{row['hours']:g}",
            shown(row["money_saved"]),
            row["read"],
        )
        for row in plan_rows(made)[:SHOWN]
    ]
    return headings, rows


class PlannedVisit(NamedTuple):
    """One visit of a crew as it stands in a calendar: where, who and how long, and a line a job."""

    site: str
    crew: str
    lines: tuple[str, ...]


class PlannedDay(NamedTuple):
    """A day that is worked, with its visits."""

    date: date
    visits: tuple[PlannedVisit, ...]


def calendar_weeks(made: CrewPlan) -> list[list[PlannedDay]]:
    """The plan as a calendar: weeks with a visit, each with all of its five days.

    Parameters
    ----------
    made : CrewPlan

    Returns
    -------
    list of list of PlannedDay
        Monday to Friday, in order of time.
    """
    by_day: dict[date, list[PlannedVisit]] = {}
    for visit in made.visits:
        jobs = [made.jobs[place] for place in visit.jobs]
        hours = sum(job.hours for job in jobs) + made.crews.travel_hours
        lines = tuple(f"{job.unit}: {work_words(job)}" for job in jobs)
        planned = PlannedVisit(visit.site, f"crew {visit.crew}, {hours:g} h", lines)
        by_day.setdefault(visit.date, []).append(planned)
    mondays = sorted({one - timedelta(days=one.weekday()) for one in by_day})
    return [
        [
            PlannedDay(day, tuple(by_day.get(day, ())))
            for day in (monday + timedelta(days=number) for number in range(WORKING_DAYS))
        ]
        for monday in mondays
    ]


def visits_by_week(made: CrewPlan) -> dict[date, list[Visit]]:
    """Visits by the Monday of their week, in order of time."""
    weeks: dict[date, list[Visit]] = {}
    for visit in made.visits:
        weeks.setdefault(visit.date - timedelta(days=visit.date.weekday()), []).append(visit)
    return weeks


def visit_words(visit: Visit) -> str:
    """A visit in a few words: day, hour, crew, site."""
    start = f"{visit.date:%a} {visit.date}, crew {visit.crew}, after {visit.start:g} h"
    return f"{start}, {visit.site or 'no site named'}"


def not_planned_rows(made: CrewPlan) -> list[dict[str, str]]:
    """Jobs that are in no week: unit, site, what was to be done."""
    return [
        {"site": job.site, "unit": job.unit, "jobs": work_words(job)}
        for job, week in zip(made.jobs, made.plan.weeks, strict=True)
        if week == NOT_PLANNED
    ]


NO_JOBS = "There is nothing to plan: no unit is to be cleaned, measured first or repaired."


def plan_sentences(made: CrewPlan) -> list[str]:
    """What the plan brings, how near it is to the best, and what other ways of planning bring.

    Parameters
    ----------
    made : CrewPlan

    Returns
    -------
    list of str
        The sums first.
    """
    plan, money = made.plan, made.currency
    if not made.jobs:
        return [NO_JOBS]
    planned = [job for job, week in zip(made.jobs, plan.weeks, strict=True) if week != NOT_PLANNED]
    weeks = [int(week) for week in plan.weeks if week != NOT_PLANNED]
    if not planned:
        one = len(made.jobs) == 1
        none = "The only job does not save" if one else f"None of the {len(made.jobs)} jobs saves"
        time = "or finds no time" if one else "or finds time"
        return [f"{none} its cost and call-out in these weeks, {time}: nothing is planned."]
    saved = sum(float(job.saving[week]) for job, week in zip(planned, weeks, strict=True))
    prices, ways = sum(job.price for job in planned), made.crews.call_out * plan.visits
    said = [
        f"{len(planned)} of {len(made.jobs)} jobs in {visits_words(plan.visits)} save {shown(saved)} {money};"
        f" they cost {shown(prices)} and the call-outs {shown(ways)}, so {_gained(plan.value, money)}.",
        f"No plan gains more than {shown(plan.bound)} {money}: the gap is at most {100.0 * plan.gap:.1f} %.",
    ]
    said += [
        f"{name} would {_gain(rival.value)} {money} in {visits_words(rival.visits)}."
        for name, rival in (("The worst unit first", made.worst_first), ("Site after site", made.by_route))
    ]
    left = len(made.jobs) - len(planned)
    if left:
        jobs = "1 job that does" if left == 1 else f"{left} jobs that do"
        said.append(f"Not planned: {jobs} not save the cost in these weeks, or find no time.")
    return said


def _gain(value: float) -> str:
    """What another plan would gain, or lose."""
    return f"gain {shown(value)}" if shown(value)[0] != "-" else f"lose {shown(-value)}"


def _gained(value: float, money: str) -> str:
    """What is gained on balance; what must be done may cost more than it saves."""
    if value < 0.0:
        return f"{shown(-value)} {money} more is spent than saved"
    return f"{shown(value)} {money} is gained"


def visits_words(number: int) -> str:
    """So many visits."""
    return "1 visit" if number == 1 else f"{number} visits"


def plan_json(made: CrewPlan, written: str, first_day: date) -> dict[str, Any]:
    """The plan for `--json`."""
    plan = made.plan
    return {
        "written": written,
        "from": first_day.isoformat(),
        "currency": made.currency,
        "jobs": len(made.jobs),
        "planned": int((plan.weeks != NOT_PLANNED).sum()),
        "visits": plan.visits,
        "gained": round(plan.value, DECIMALS),
        "bound": round(plan.bound, DECIMALS),
        "gap": round(plan.gap, 6),
        "others": {
            name: {"gained": round(one.value, DECIMALS), "visits": one.visits}
            for name, one in (("worst_first", made.worst_first), ("by_route", made.by_route))
        },
        "rows": plan_rows(made),
        "not_planned": not_planned_rows(made),
    }
