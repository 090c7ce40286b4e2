"""Plans as people make them without a program: the worst unit first, or site after site along a route.

They show what `calibration.fleet.plan` brings. Both fill the first week that still has hours, begin with what
must be done by a date, and leave out any other job that would not save its price.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import ceil, inf

import numpy as np

from calibration.fleet.jobs_to_plan import UnitJob
from calibration.fleet.plan import NOT_PLANNED, Crews, Plan, value_of, visits_of


def worst_first(jobs: Sequence[UnitJob], crews: Crews) -> Plan:
    """The job that saves most today comes first, wherever it is.

    Parameters
    ----------
    jobs : sequence of UnitJob
    crews : Crews

    Returns
    -------
    Plan
        Its bound is its own value.
    """
    order = sorted(range(len(jobs)), key=lambda place: (_date(jobs[place]), -float(jobs[place].saving[0])))
    return _filled(jobs, crews, order)


def by_route(jobs: Sequence[UnitJob], crews: Crews) -> Plan:
    """Site after site, all jobs of a site together, in the order of the sites' names.

    Parameters
    ----------
    jobs : sequence of UnitJob
    crews : Crews

    Returns
    -------
    Plan
        Its bound is its own value.
    """
    order = sorted(range(len(jobs)), key=lambda place: (_date(jobs[place]), jobs[place].site))
    return _filled(jobs, crews, order)


def _date(job: UnitJob) -> float:
    """Week by which a job must be done; later than all others where it need not be."""
    return inf if job.must_by is None else job.must_by


def _filled(jobs: Sequence[UnitJob], crews: Crews, order: Iterable[int]) -> Plan:
    """Jobs in order, each in the first week that has room for it and its way."""
    weeks = np.full(len(jobs), NOT_PLANNED, dtype=np.int64)
    room = crews.days * crews.hours_a_day
    at_site: dict[tuple[str, int], float] = {}
    for place in order:
        job = jobs[place]
        for week in range(crews.days.size):
            before = at_site.get((job.site, week), 0.0)
            more = _visits(before + job.hours, crews) - _visits(before, crews)
            takes = job.hours + crews.travel_hours * more
            if takes <= room[week] + 1e-9:
                if job.must_by is not None or float(job.saving[week]) > job.price:
                    weeks[place] = week
                    room = room - takes * (np.arange(room.size) == week)
                    at_site[job.site, week] = before + job.hours
                break
    value = value_of(jobs, crews, weeks)
    return Plan(weeks, visits_of(jobs, crews, weeks), value, value)


def _visits(hours: float, crews: Crews) -> int:
    return ceil(hours / crews.hours_at_site - 1e-9)
