"""A crew's plan from a fleet's table of results: jobs, weeks, days, and what other ways of planning bring."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from calibration.fleet.crew_days import Visit, crew_days, working_days
from calibration.fleet.jobs_to_plan import HOURS, UnitJob, jobs_of_rows
from calibration.fleet.plan import MOST_AT_ONCE, MUST_FIND_TIME, Crews, Plan, plan_of
from calibration.fleet.simple_plans import by_route, worst_first

MOST_CREWS, MOST_WEEKS = 500, 52
"""Of a plan."""
LONGEST_DAY, LONGEST_WAY = 24.0, 8.0
"""Hours a day of a crew, and of travel to a site and back, at most [h]."""
SHORTEST_DAY, SHORTEST_JOB = 1.0, 0.1
"""Hours a day, and of a job, at least [h]."""
AIM, TRIES = 0.01, 2
"""Gap of a plan on days from which on a fuller one is looked for [-], and how often."""
DAYS_OF_A_YEAR = 366
"""Days from the day of the results within which a plan begins."""


@dataclass(frozen=True)
class Terms:
    """What a plan is made for.

    Attributes
    ----------
    first_day : date
        Of the first week.
    weeks, crews : int
        How many.
    hours_a_day, travel_hours : float
        Of a crew; the way to a site and back [h].
    call_out : float
        Price of each visit to a site [money].
    hours : mapping of str to float
        How long each sort of job takes [h].
    holidays : collection of date
        Days on which nobody works.
    must : mapping of (str, str) to date
        Site and unit of what has to be done, and by when.
    """

    first_day: dt.date
    weeks: int
    crews: int
    hours_a_day: float = 8.0
    travel_hours: float = 0.5
    call_out: float = 60.0
    hours: Mapping[str, float] = field(default_factory=lambda: HOURS)
    holidays: Collection[dt.date] = ()
    must: Mapping[tuple[str, str], dt.date] = field(default_factory=dict)


@dataclass(frozen=True)
class CrewPlan:
    """A plan with its jobs and days, and the plans that people make without a program.

    Attributes
    ----------
    jobs : tuple of UnitJob
    crews : Crews
    plan : Plan
    visits : tuple of Visit
        In order of time.
    worst_first, by_route : Plan
        Other plans of the same jobs, on days too.
    currency : str
    """

    jobs: tuple[UnitJob, ...]
    crews: Crews
    plan: Plan
    visits: tuple[Visit, ...]
    worst_first: Plan
    by_route: Plan
    currency: str


def crew_plan(rows: Sequence[Mapping[str, Any]], terms: Terms) -> CrewPlan:
    """The plan of least cost for a fleet.

    Parameters
    ----------
    rows : sequence of mapping
        Of the table of results.
    terms : Terms

    Returns
    -------
    CrewPlan

    Raises
    ------
    ValueError
        When prices are in more than one currency, the first day is more than a year from the results, or what
        must be done cannot be.
    """
    currencies = sorted({str(row["currency"]) for row in rows if row.get("currency")})
    if len(currencies) > 1:
        raise ValueError(f"prices are in {', '.join(currencies)}; a plan of one currency is expected")
    _check_first_day(rows, terms.first_day)
    jobs = jobs_of_rows(rows, terms.first_day, terms.weeks, terms.hours, terms.must)
    days = working_days(terms.first_day, terms.weeks, terms.holidays)
    crews = Crews(
        np.array([len(one) for one in days]) * terms.crews,
        terms.hours_a_day,
        terms.travel_hours,
        terms.call_out,
    )
    best, made = _kept_dates(jobs, crews, days, terms.crews)
    worst, route = (
        crew_days(jobs, crews, one, days, terms.crews)
        for one in (worst_first(jobs, crews), by_route(jobs, crews))
    )
    # A rival may keep more of its value on the way into days; it leaves out what must be done.
    ways = [made] if terms.must else [made, worst, route]
    plan, visits = max(ways, key=lambda one: one[0].value)
    return CrewPlan(
        tuple(jobs),
        crews,
        replace(plan, bound=best.bound),
        tuple(visits),
        worst[0],
        route[0],
        currencies[0] if currencies else "",
    )


def _check_first_day(rows: Sequence[Mapping[str, Any]], first_day: dt.date) -> None:
    """Refuse a plan that begins more than a year from the results: savings are known for a year."""
    days = []
    for row in rows:
        with suppress(ValueError):
            days.append(dt.date.fromisoformat(str(row.get("as_of") or "")))
    if days and abs((first_day - max(days)).days) > DAYS_OF_A_YEAR:
        raise ValueError(
            f"first day: is {first_day}; one within a year of {max(days)}, the day of the results, is"
            " expected"
        )


def _kept_dates(
    jobs: Sequence[UnitJob], crews: Crews, days: Sequence[Sequence[dt.date]], count: int
) -> tuple[Plan, tuple[Plan, list[Visit]]]:
    """The best plan, and the same on days, on which every date that must be kept is kept.

    The program knows weeks. What finds no day before its date in its week is asked for a week earlier.
    """
    asked = list(jobs)
    while True:
        best = plan_of(asked, crews)
        plan, visits = crew_days(asked, crews, best, days, count)
        on = {place: visit.date for visit in visits for place in visit.jobs}
        late = [
            place
            for place, job in enumerate(asked)
            if job.must_on is not None and on.get(place, dt.date.max) > job.must_on
        ]
        if not late:
            return best, _fuller(asked, crews, days, count, (best, plan, visits))
        for place in late:
            week = asked[place].must_by
            if not week:
                raise ValueError(MUST_FIND_TIME)
            asked[place] = replace(asked[place], must_by=week - 1)


def _fuller(
    jobs: Sequence[UnitJob],
    crews: Crews,
    days: Sequence[Sequence[dt.date]],
    count: int,
    first: tuple[Plan, Plan, list[Visit]],
) -> tuple[Plan, list[Visit]]:
    """The plan on days, or a better one where days cannot be filled as full as the program supposes.

    Weeks from which visits had to wait are planned with fewer hours, half way to those that were filled.
    """
    best, plan, visits = first
    weeks, found = best.weeks, (plan, visits)
    hours = (crews.days * crews.hours_a_day).astype(float)
    for _ in range(TRIES if len(jobs) <= MOST_AT_ONCE and not any(job.must_on for job in jobs) else 0):
        if found[0].value >= (1.0 - AIM) * best.bound:
            break
        used = np.zeros(hours.size)
        for visit in visits:
            used[visit.week] += sum(jobs[place].hours for place in visit.jobs) + crews.travel_hours
        waited = np.isin(np.arange(hours.size), weeks[weeks != plan.weeks])
        hours = np.where(waited, 0.5 * (hours + used), hours)
        weeks = plan_of(jobs, crews, hours=hours).weeks
        plan, visits = crew_days(jobs, crews, replace(best, weeks=weeks), days, count)
        if plan.value > found[0].value:
            found = plan, visits
    return found
