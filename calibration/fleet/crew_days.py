"""Days and crews of a plan's visits: jobs of a site and week into visits, visits into the days of crews.

What has to be done by a date goes first, then the longest, into the first that has room (first fit
decreasing), for jobs into visits and for visits into days. Where a week's visits do not all fit, though their
hours do, the visit that loses least by it waits for the next week; in the last week its jobs are listed as
not planned.

References
----------
Johnson, D. S., Near-optimal bin packing algorithms, 1973 (first fit decreasing; from memory).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from calibration.fleet.jobs_to_plan import DAYS_A_WEEK, UnitJob
from calibration.fleet.plan import NOT_PLANNED, Crews, Plan, value_of, visits_of

WORKING_DAYS = 5
"""Days of a week that are worked, from Monday on [-]."""
ROUNDING = 1e-9


@dataclass(frozen=True)
class Visit:
    """One crew at one site on one day.

    Attributes
    ----------
    week : int
        From 0.
    date : date
    crew : int
        From 1.
    start : float
        Hours after the crew's day begins [h].
    site : str
    jobs : tuple of int
        Places of its jobs.
    """

    week: int
    date: dt.date
    crew: int
    start: float
    site: str
    jobs: tuple[int, ...]


def working_days(
    first_day: dt.date, weeks: int, holidays: Collection[dt.date] = ()
) -> tuple[tuple[dt.date, ...], ...]:
    """Days of each week that are worked.

    Parameters
    ----------
    first_day : date
        Of the first week.
    weeks : int
        How many weeks.
    holidays : collection of date
        Days on which nobody works.

    Returns
    -------
    tuple of tuple of date
        Monday to Friday of the seven days from the first on, a week each.
    """
    return tuple(
        tuple(
            day
            for number in range(DAYS_A_WEEK)
            if (day := first_day + dt.timedelta(days=week * DAYS_A_WEEK + number)).weekday() < WORKING_DAYS
            and day not in holidays
        )
        for week in range(weeks)
    )


def crew_days(
    jobs: Sequence[UnitJob], crews: Crews, plan: Plan, days: Sequence[Sequence[dt.date]], count: int
) -> tuple[Plan, list[Visit]]:
    """Visits of a plan, day by day.

    Parameters
    ----------
    jobs, crews, plan
        What was planned.
    days : sequence of sequences of date
        Working days of each week.
    count : int
        How many crews there are.

    Returns
    -------
    (Plan, list of Visit)
        The plan with what did not fit moved on or left out, and its visits in order of time.
    """
    weeks, visits = plan.weeks.copy(), []
    for week in range(len(days)):
        places = [int(place) for place in np.flatnonzero(weeks == week)]
        bundles = _bundles(jobs, crews, places)
        while bundles:
            packed = _packed(jobs, crews, bundles, week, (days[week], count))
            if packed is not None:
                visits += packed
                break
            waiting = [_waiting(jobs, crews, one, week, len(days)) for one in bundles]
            least = min(range(len(bundles)), key=lambda number: waiting[number][0])
            weeks[bundles.pop(least)] = waiting[least][1]
    kept = replace(
        plan, weeks=weeks, visits=visits_of(jobs, crews, weeks), value=value_of(jobs, crews, weeks)
    )
    return kept, sorted(visits, key=lambda one: (one.date, one.crew, one.start))


def _bundles(jobs: Sequence[UnitJob], crews: Crews, places: Sequence[int]) -> list[list[int]]:
    """Jobs of one week by visit."""
    bundles: list[list[int]] = []
    for place in sorted(places, key=lambda one: (_last_day(jobs, [one]), -jobs[one].hours, one)):
        for bundle in bundles:
            same = jobs[bundle[0]].site == jobs[place].site
            if same and _hours(jobs, bundle) + jobs[place].hours <= crews.hours_at_site + ROUNDING:
                bundle.append(place)
                break
        else:
            bundles.append([place])
    return bundles


def _waiting(
    jobs: Sequence[UnitJob], crews: Crews, bundle: Sequence[int], week: int, weeks: int
) -> tuple[float, int]:
    """What a visit loses when it is not made this week [money], and the week in which it is made then."""

    def gain(then: int) -> float:
        return sum(float(jobs[place].saving[then]) - jobs[place].price for place in bundle) - crews.call_out

    later = week + 1 if week + 1 < weeks and gain(week + 1) > 0.0 else NOT_PLANNED
    limits = [limit for place in bundle if (limit := jobs[place].must_by) is not None]
    if limits and (min(limits) <= week or later == NOT_PLANNED):
        return np.inf, later
    return gain(week) - (gain(later) if later != NOT_PLANNED else 0.0), later


def _hours(jobs: Sequence[UnitJob], places: Sequence[int]) -> float:
    return sum(jobs[place].hours for place in places)


def _last_day(jobs: Sequence[UnitJob], places: Sequence[int]) -> dt.date:
    """Day by which the first of some jobs has to be done; the last of all days where none has to be."""
    return min((day for place in places if (day := jobs[place].must_on) is not None), default=dt.date.max)


def _packed(
    jobs: Sequence[UnitJob],
    crews: Crews,
    bundles: Sequence[list[int]],
    week: int,
    when: tuple[Sequence[dt.date], int],
) -> list[Visit] | None:
    """Visits of one week in the days of its crews; None where they do not fit."""
    dates, count = when
    taken = {(date, crew): 0.0 for date in dates for crew in range(1, count + 1)}
    visits = []
    for bundle in sorted(bundles, key=lambda one: (_last_day(jobs, one), -_hours(jobs, one), one)):
        length, last = _hours(jobs, bundle) + crews.travel_hours, _last_day(jobs, bundle)
        free = (
            slot
            for slot, hours in taken.items()
            if slot[0] <= last and hours + length <= crews.hours_a_day + ROUNDING
        )
        slot = next(free, None)
        if slot is None:
            return None
        start = taken[slot] + crews.travel_hours / 2.0
        visits.append(Visit(week, slot[0], slot[1], start, jobs[bundle[0]].site, tuple(sorted(bundle))))
        taken[slot] += length
    return visits
