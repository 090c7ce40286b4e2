"""The crew's plan: which job in which week, so that running, cleaning and travel together cost least.

A mixed-integer program, solved by HiGHS (`scipy.optimize.milp`). Unknown are the week of each job, or none,
and the number of visits to each site in each week. A visit is one crew at one site on one day; its call-out
and way are paid once. The hours of a visit's jobs and its way fit into a day; those of a week into its crews
and days. What a job saves less its price, summed, less all call-outs, is greatest: with the running cost of
leaving everything alone as the zero, that is least cost.

A fleet of more than `MOST_AT_ONCE` units is cut into blocks of whole sites. The same program without whole
numbers, over the whole fleet, bounds what any plan can save and shares each week's hours among the blocks;
what a block leaves goes to the next. The gap to that bound is stated.

Assumption: any crew can do any job. Days are filled afterwards (`calibration.fleet.crew_days`).

References
----------
Huangfu, Q. and Hall, J. A. J., Parallelizing the dual revised simplex method, Mathematical Programming
Computation 10, 2018 (HiGHS; from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, milp

from calibration.fleet.jobs_to_plan import UnitJob

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

GAP = 0.005
"""Gap to the best plan at which the search for it ends [-]."""
TIME_LIMIT = 120.0
"""Time after which the best plan so far is taken, its gap stated [s]."""
MOST_AT_ONCE = 500
"""Units that one program plans."""
NOT_PLANNED = -1
MUST_FIND_TIME = (
    "must be done: what has to be done by its date does not fit into the crews' hours; more crews, longer"
    " days or later dates are expected"
)
"""Why there is no plan."""


@dataclass(frozen=True)
class Crews:
    """Who does the work.

    Attributes
    ----------
    days : ndarray of int, shape (weeks,)
        Crew-days of each week: crews times working days.
    hours_a_day : float
        Of a crew [h].
    travel_hours : float
        Way to a site and back, for each visit [h].
    call_out : float
        Price of each visit [money].
    """

    days: Integers
    hours_a_day: float = 8.0
    travel_hours: float = 0.5
    call_out: float = 60.0

    @property
    def hours_at_site(self) -> float:
        """Hours of jobs that fit into one visit [h]."""
        return self.hours_a_day - self.travel_hours


@dataclass(frozen=True)
class Plan:
    """Weeks of jobs.

    Attributes
    ----------
    weeks : ndarray of int, shape (jobs,)
        Week of each job, from 0; `NOT_PLANNED` where it is not done.
    visits : int
        Visits to sites in all.
    value : float
        What is saved less prices and call-outs [money].
    bound : float
        What no plan can exceed [money].
    """

    weeks: Integers
    visits: int
    value: float
    bound: float

    @property
    def gap(self) -> float:
        """Share of the bound that the plan may lie under the best one [-]."""
        return max(self.bound - self.value, 0.0) / max(abs(self.bound), 1e-9)


def plan_of(
    jobs: Sequence[UnitJob],
    crews: Crews,
    most_at_once: int = MOST_AT_ONCE,
    gap: float = GAP,
    hours: Array | None = None,
) -> Plan:
    """The plan of least cost.

    Parameters
    ----------
    jobs : sequence of UnitJob
    crews : Crews
    most_at_once : int
        Units beyond which the fleet is cut into blocks.
    gap : float
        Gap at which a search ends [-].
    hours : ndarray, shape (weeks,), optional
        Hours of each week, where fewer are to be planned than the crews have [h].

    Returns
    -------
    Plan

    Raises
    ------
    ValueError
        When a job does not fit into a day, or what must be done does not fit into its weeks.
    """
    if not jobs:
        return Plan(np.zeros(0, dtype=np.int64), 0, 0.0, 0.0)
    longest = max(jobs, key=lambda job: job.hours)
    if longest.hours > crews.hours_at_site:
        raise ValueError(
            f"{longest.work} takes {longest.hours:g} h; at most {crews.hours_at_site:g} h are expected, what"
            " a day leaves at a site"
        )
    hours = (crews.days * crews.hours_a_day).astype(float) if hours is None else hours
    if len(jobs) <= most_at_once:
        solved = _solved(jobs, crews, hours, gap)
        return _plan(jobs, crews, solved.weeks, solved.bound)
    return _in_blocks(jobs, crews, hours, most_at_once, gap)


@dataclass(frozen=True)
class _Solved:
    """Weeks of jobs, hours of each week that they take [h], and the bound of the program."""

    weeks: Integers
    hours: Array
    bound: float
    shares: Array


def _solved(jobs: Sequence[UnitJob], crews: Crews, hours: Array, gap: float, whole: bool = True) -> _Solved:
    """Solution of one program; `shares` are the values of its jobs by week."""
    program = _Program(jobs, crews)
    found = milp(
        program.costs,
        integrality=program.integrality if whole else None,
        bounds=Bounds(0.0, program.upper),
        constraints=program.constraints(hours),
        options={"mip_rel_gap": gap, "time_limit": TIME_LIMIT},
    )
    if found.x is None:
        raise ValueError(MUST_FIND_TIME)
    values = np.asarray(found.x)
    shares = np.zeros((len(jobs), crews.days.size))
    shares[program.job, program.week] = values[: program.job.size]
    weeks = np.where(shares.sum(axis=1) > 0.5, shares.argmax(axis=1), NOT_PLANNED)
    used = program.hours_of(values)
    bound = found.mip_dual_bound if whole and found.mip_dual_bound is not None else found.fun
    return _Solved(weeks.astype(np.int64), used, -float(bound), shares)


class _Program:
    """Columns and rows of the program: jobs by week, then visits by site and week."""

    def __init__(self, jobs: Sequence[UnitJob], crews: Crews) -> None:
        self.crews, weeks = crews, crews.days.size
        sites = {site: number for number, site in enumerate(dict.fromkeys(job.site for job in jobs))}
        gains = np.array([job.saving - job.price for job in jobs])
        musts = np.array([-1 if job.must_by is None else job.must_by for job in jobs])
        open_weeks = (musts[:, None] >= np.arange(weeks)) | ((musts[:, None] < 0) & (gains > 0.0))
        self.job, self.week = np.nonzero(open_weeks & (crews.days > 0))
        self.must, self.count = musts >= 0, len(jobs)
        self.length = np.array([job.hours for job in jobs])[self.job]
        self.site = np.array([sites[job.site] for job in jobs])[self.job]
        self.visits = len(sites) * weeks
        self.costs = np.concatenate([-gains[self.job, self.week], np.full(self.visits, crews.call_out)])
        self.integrality = np.ones(self.costs.size, dtype=np.int64)
        self.upper = np.concatenate([np.ones(self.job.size), np.tile(crews.days.astype(float), len(sites))])

    def constraints(self, hours: Array) -> list[LinearConstraint]:
        """Every job at most once, or once; hours of visits and weeks; no job without a visit."""
        jobs, crews, weeks = self.job.size, self.crews, self.crews.days.size
        every = np.arange(jobs)
        at = self.site * weeks + self.week
        columns = jobs + np.arange(self.visits)
        once = _matrix(np.ones(jobs), self.job, every, (self.count, self.costs.size))
        fit = _matrix(
            np.concatenate([self.length, np.full(self.visits, -crews.hours_at_site)]),
            np.concatenate([at, np.arange(self.visits)]),
            np.concatenate([every, columns]),
            (self.visits, self.costs.size),
        )
        week = _matrix(
            np.concatenate([self.length, np.full(self.visits, crews.travel_hours)]),
            np.concatenate([self.week, np.tile(np.arange(weeks), self.visits // weeks)]),
            np.concatenate([every, columns]),
            (weeks, self.costs.size),
        )
        visited = _matrix(
            np.concatenate([np.ones(jobs), -np.ones(jobs)]),
            np.concatenate([every, every]),
            np.concatenate([every, jobs + at]),
            (jobs, self.costs.size),
        )
        return [
            LinearConstraint(once, self.must.astype(float), 1.0),
            LinearConstraint(fit, -np.inf, 0.0),
            LinearConstraint(week, -np.inf, hours),
            LinearConstraint(visited, -np.inf, 0.0),
        ]

    def hours_of(self, values: Array) -> Array:
        """Hours of each week that a solution takes [h]."""
        weeks, jobs = self.crews.days.size, self.job.size
        used = np.bincount(self.week, self.length * values[:jobs], weeks)
        visits = values[jobs:].reshape(-1, weeks).sum(axis=0)
        return np.asarray(used + self.crews.travel_hours * visits)


def _matrix(
    values: Array, rows: NDArray[np.intp], columns: NDArray[np.intp], shape: tuple[int, int]
) -> sparse.csr_array:
    return sparse.csr_array((values, (rows, columns)), shape=shape)


def _in_blocks(jobs: Sequence[UnitJob], crews: Crews, hours: Array, most_at_once: int, gap: float) -> Plan:
    """Plan of a large fleet, block by block, beside the bound of the whole."""
    relaxed = _solved(jobs, crews, hours, gap, whole=False)
    blocks = _blocks(jobs, most_at_once)
    weeks = np.full(len(jobs), NOT_PLANNED, dtype=np.int64)
    left = np.maximum(hours - relaxed.hours, 0.0)
    for block in blocks:
        some = [jobs[place] for place in block]
        taken = _relaxed_hours(some, crews, relaxed.shares[block])
        solved = _solved(some, crews, taken + left, gap)
        weeks[block] = solved.weeks
        left = np.maximum(taken + left - solved.hours, 0.0)
    return _plan(jobs, crews, weeks, relaxed.bound)


def _blocks(jobs: Sequence[UnitJob], most: int) -> list[list[int]]:
    """Places of jobs in blocks of whole sites."""
    sites: dict[str, list[int]] = {}
    for place, job in enumerate(jobs):
        sites.setdefault(job.site, []).append(place)
    blocks: list[list[int]] = [[]]
    for places in sites.values():
        if blocks[-1] and len(blocks[-1]) + len(places) > most:
            blocks.append([])
        blocks[-1] += places
    return blocks


def _relaxed_hours(jobs: Sequence[UnitJob], crews: Crews, shares: Array) -> Array:
    """Hours of each week that the bound gives a block [h], a visit for the share of its most complete job."""
    length = np.array([job.hours for job in jobs])
    sites = np.array([job.site for job in jobs])
    visits = sum(
        (
            np.maximum(
                shares[sites == site].max(axis=0),
                length[sites == site] @ shares[sites == site] / crews.hours_at_site,
            )
            for site in dict.fromkeys(sites)
        ),
        np.zeros(shares.shape[1]),
    )
    return np.asarray(length @ shares + crews.travel_hours * visits)


def _plan(jobs: Sequence[UnitJob], crews: Crews, weeks: Integers, bound: float) -> Plan:
    visits = visits_of(jobs, crews, weeks)
    return Plan(weeks, visits, value_of(jobs, crews, weeks), bound)


def visits_of(jobs: Sequence[UnitJob], crews: Crews, weeks: Integers) -> int:
    """Visits that weeks of jobs take at least.

    Parameters
    ----------
    jobs, crews : sequence of UnitJob, Crews
    weeks : ndarray of int, shape (jobs,)
        Week of each job.

    Returns
    -------
    int
    """
    hours: dict[tuple[str, int], float] = {}
    for job, week in zip(jobs, weeks, strict=True):
        if week != NOT_PLANNED:
            hours[job.site, int(week)] = hours.get((job.site, int(week)), 0.0) + job.hours
    return sum(int(np.ceil(one / crews.hours_at_site - 1e-9)) for one in hours.values())


def value_of(jobs: Sequence[UnitJob], crews: Crews, weeks: Integers) -> float:
    """What weeks of jobs save, less prices and call-outs [money].

    Parameters
    ----------
    jobs, crews, weeks
        As for `visits_of`.

    Returns
    -------
    float
    """
    gains = sum(
        float(job.saving[week]) - job.price
        for job, week in zip(jobs, weeks, strict=True)
        if week != NOT_PLANNED
    )
    return gains - crews.call_out * visits_of(jobs, crews, weeks)
