"""When to clean what: condenser, indoor coil and filter, with a call-out that is paid once a visit.

Each of the three fouls at its own pace and has its own price. What they do to the unit they do together:
indoor coil and filter lie in one stream of air, so that their pressure drops add up, and the running cost is
a table over the condenser's level and that sum. Whoever comes for one job can do the others without another
call-out; so the jobs have joint dates, and now and then one of them waits or comes early.

The dates are found by dynamic programming over the years ahead, backwards over a grid of the three levels:
the cost to go of every level by every choice of jobs in every step. The course that it chooses is then
followed exactly and improved, one job moved, added or left out at a time, until nothing improves it.

Assumptions: those of `model.maintenance.policies`, for one unit without draws.

References
----------
Bellman, R., Dynamic Programming, 1957. Goyal, S. K., Determination of optimum packaging frequency of items
jointly replenished, Management Science 21(4), 1974, for orders that share a fixed cost. Both from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import reduce
from itertools import product

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, BoolArray, IntArray
from model.maintenance.growth import GrowthSteps
from model.maintenance.interval import Cleaning

PARTS = ("condenser", "indoor coil", "filter")
"""What fouls: blocked share of the condenser's face; rise of the air pressure drop of indoor coil and of
filter, both over that of the clean indoor coil [-]."""
NODES = (21, 9, 9)
"""Levels of each part in the grid [-]."""
SHIFTS = (-4, -1, 1, 4)
"""Steps by which a job is moved while a course is improved [-]."""
MOST_ROUNDS = 4
"""Rounds of improvement of a course at most [-]."""
SMALLEST_GAIN = 1e-5
"""Share of the cost below which an improvement does not count [-]."""


@dataclass(frozen=True)
class JointRunningCost:
    """What running the unit costs in each step of the year, by both levels.

    Attributes
    ----------
    level : ndarray, shape (levels,)
        Blocked share of the condenser's face, in equal steps from 0 [-].
    rise : ndarray, shape (rises,)
        Rise of the air pressure drop at the indoor coil over the clean coil's, in equal steps from 0 [-].
    cost : ndarray, shape (steps, rises, levels)
        Electricity, demand and the price put on cooling lost [money per step].
    """

    level: Array
    rise: Array
    cost: Array

    @property
    def steps(self) -> int:
        """Steps in a year [-]."""
        return int(self.cost.shape[0])

    def of_step(self, step: int, level: Array, rise: Array) -> Array:
        """Cost of a step of the year at levels and rises that broadcast [money]."""
        table = self.cost[step]
        lower, place = _place(self.level, level)
        below, height = _place(self.rise, rise)
        near = table[below, lower] + place * (table[below, lower + 1] - table[below, lower])
        far = table[below + 1, lower] + place * (table[below + 1, lower + 1] - table[below + 1, lower])
        return np.asarray(near + height * (far - near))


def _place(nodes: Array, value: Array) -> tuple[IntArray, Array]:
    """Lower node of values on a regular grid, and the share of the way to the next; the edge beyond it."""
    place = np.clip(value, 0.0, nodes[-1]) * ((nodes.size - 1) / nodes[-1])
    lower = np.minimum(place.astype(np.int64), nodes.size - 2)
    return lower, place - lower


@dataclass(frozen=True)
class JointUpkeep:
    """A unit whose condenser, indoor coil and filter are to be cleaned over the years ahead.

    Attributes
    ----------
    running : JointRunningCost
    growths : tuple of GrowthSteps
        Of each of `PARTS`, one sample each, with the steps of `running`.
    jobs : tuple of Cleaning
        Price, without the call-out, and effect of each job.
    call_out : float
        Paid once whenever anything is done [money].
    levels : tuple of float
        Level of each part today [-].
    first_step : int
        Step of the year in which today falls.
    energy, cash : ndarray, shape (length,)
        Worth today of one unit of running cost and of cash in each step ahead [-].
    """

    running: JointRunningCost
    growths: tuple[GrowthSteps, ...]
    jobs: tuple[Cleaning, ...]
    call_out: float
    levels: tuple[float, ...]
    first_step: int
    energy: Array
    cash: Array

    def __post_init__(self) -> None:
        """Refuse a call-out, levels or growths that do not fit."""
        if not (self.call_out >= 0.0 and np.isfinite(self.call_out)):
            raise ValueError(f"call_out must be 0 or more, got {self.call_out:g}")
        have = [len(self.growths), len(self.jobs), len(self.levels)]
        if have != [len(PARTS)] * 3:
            raise ValueError(f"growths, jobs and levels must be of {', '.join(PARTS)}, got {have}")
        if any(growth.steps != self.running.steps for growth in self.growths):
            raise ValueError(f"growths must have {self.running.steps} steps a year as the running cost")

    @property
    def length(self) -> int:
        """Steps in the years ahead [-]."""
        return int(self.cash.size)


@dataclass(frozen=True)
class JointCourse:
    """A course of jobs over the years ahead.

    Attributes
    ----------
    plan : ndarray of bool, shape (length, parts)
        Whether each job is done at the beginning of each step ahead.
    cost_per_year : float
        Running and jobs [money/a], the even yearly sum of the same worth.
    """

    plan: BoolArray
    cost_per_year: float

    @property
    def visits(self) -> int:
        """Steps in which anything is done [-]."""
        return int(self.plan.any(axis=1).sum())


def joint_costs(upkeep: JointUpkeep, plans: ArrayLike) -> Array:
    """Cost of given courses, followed step by step.

    Parameters
    ----------
    upkeep : JointUpkeep
    plans : array_like of bool, shape (courses, length, parts)
        Whether each job is done at the beginning of each step ahead.

    Returns
    -------
    ndarray, shape (courses,)
        Running and jobs [money/a].

    Raises
    ------
    ValueError
        Where the length is another.
    """
    plan = np.asarray(plans, dtype=bool)
    if plan.ndim != 3 or plan.shape[1:] != (upkeep.length, len(PARTS)):
        raise ValueError(f"plans must have shape (n, {upkeep.length}, {len(PARTS)}), got {plan.shape}")
    price = np.array([job.price for job in upkeep.jobs])
    paid = (plan @ price + upkeep.call_out * plan.any(axis=2)) @ upkeep.cash
    keep, gain, limit = _maps(upkeep)
    left = np.where(plan, 1.0 - np.array([job.restoration for job in upkeep.jobs]), 1.0)
    level = np.broadcast_to(np.array(upkeep.levels), (plan.shape[0], len(PARTS)))
    limit = np.maximum(limit, np.array(upkeep.levels))
    spent = np.zeros(plan.shape[0])
    for ahead in range(upkeep.length):
        step = (upkeep.first_step + ahead) % upkeep.running.steps
        start = level * left[:, ahead]
        level = np.minimum(start * keep[step] + gain[step], limit)
        middle = 0.5 * (start + level)
        spent += upkeep.energy[ahead] * upkeep.running.of_step(
            step, middle[:, 0], middle[:, 1] + middle[:, 2]
        )
    return np.asarray((spent + paid) / (upkeep.cash.sum() / upkeep.running.steps))


def _maps(upkeep: JointUpkeep) -> tuple[Array, Array, Array]:
    """Growth of each step of the year as keep and gain, shape (steps, parts), and limits, shape (parts,)."""
    return (
        np.stack([growth.keep[0] for growth in upkeep.growths], axis=1),
        np.stack([growth.gain[0] for growth in upkeep.growths], axis=1),
        np.array([growth.limit[0, 0] for growth in upkeep.growths]),
    )


def best_joint_course(upkeep: JointUpkeep, parts: tuple[str, ...] = PARTS) -> JointCourse:
    """Course of least cost among those that do some of the jobs.

    Parameters
    ----------
    upkeep : JointUpkeep
    parts : tuple of str
        Jobs that may be done, of `PARTS`; none leaves everything alone.

    Returns
    -------
    JointCourse

    Raises
    ------
    ValueError
        Where a part is none of `PARTS`.
    """
    if not set(parts) <= set(PARTS):
        raise ValueError(f"parts must be of {', '.join(PARTS)}, got {parts}")
    allowed = np.array([part in parts for part in PARTS])
    never = np.zeros((upkeep.length, len(PARTS)), dtype=bool)
    starts = [never]
    if allowed.any():
        starts.append(_planned(upkeep, _choices(allowed)))
    costs = joint_costs(upkeep, np.array(starts))
    plan, cost = starts[int(np.argmin(costs))], float(costs.min())
    for _ in range(MOST_ROUNDS if allowed.any() else 0):
        near, visit = _neighbours(plan, allowed)
        costs = joint_costs(upkeep, near)
        together = _best_of_each(plan, near, visit, costs - cost)
        costs = np.append(costs, joint_costs(upkeep, together[None]))
        if not costs.min() < cost - SMALLEST_GAIN * abs(cost):
            break
        plan, cost = [*near, together][int(np.argmin(costs))], float(costs.min())
    return JointCourse(plan, cost)


def _best_of_each(plan: BoolArray, near: BoolArray, visit: IntArray, change: Array) -> BoolArray:
    """The course with the best change of each visit that makes it cheaper, all of them at once."""
    other = plan.copy()
    for one in np.unique(visit[change < 0.0]):
        mine = np.flatnonzero(visit == one)
        other ^= near[mine[np.argmin(change[mine])]] ^ plan
    return other


def _choices(allowed: BoolArray) -> BoolArray:
    """Every set of jobs that may be done at once, none first, shape (choices, parts)."""
    every = np.array(list(product([False, True], repeat=len(PARTS))))
    return np.asarray(every[~(every & ~allowed).any(axis=1)])


def _planned(upkeep: JointUpkeep, choices: BoolArray) -> BoolArray:
    """Course that the cost to go on the grid chooses."""
    keep, gain, limit = _maps(upkeep)
    limit = np.maximum(limit, np.maximum(upkeep.levels, 1e-6))
    grid = [np.linspace(0.0, top, count) for top, count in zip(limit, NODES, strict=True)]
    left = np.array([1.0 - job.restoration for job in upkeep.jobs])
    price = np.array([job.price for job in upkeep.jobs])
    paid = choices @ price + upkeep.call_out * choices.any(axis=1)
    after_job = [_reading(nodes, share * nodes) for nodes, share in zip(grid, left, strict=True)]
    to_go = np.zeros([nodes.size for nodes in grid])
    kept: list[Array] = []
    running = _running_on(upkeep, grid, keep, gain, limit)
    for ahead in range(upkeep.length - 1, -1, -1):
        step = (upkeep.first_step + ahead) % upkeep.running.steps
        grown = [
            _reading(nodes, np.minimum(nodes * keep[step, part] + gain[step, part], limit[part]))
            for part, nodes in enumerate(grid)
        ]
        left_alone = upkeep.energy[ahead] * running[step] + _along(to_go, grown)
        kept.append(left_alone)
        ways = [
            cash * upkeep.cash[ahead] + _along(left_alone, after_job, choice)
            for choice, cash in zip(choices, paid, strict=True)
        ]
        to_go = reduce(np.minimum, ways)
    kept.reverse()
    return _forward(upkeep, choices, paid, grid, kept)


def _running_on(
    upkeep: JointUpkeep, grid: list[Array], keep: Array, gain: Array, limit: Array
) -> list[Array]:
    """Running cost of every step of the year from every level of the grid."""
    costs = []
    for step in range(upkeep.running.steps):
        middle = [
            0.5 * (nodes + np.minimum(nodes * keep[step, part] + gain[step, part], limit[part]))
            for part, nodes in enumerate(grid)
        ]
        rise = middle[1][:, None] + middle[2]
        costs.append(upkeep.running.of_step(step, middle[0][:, None, None], rise[None]))
    return costs


def _reading(nodes: Array, at: Array) -> Array:
    """Matrix that reads a table over nodes at other places, shape (places, nodes)."""
    lower, part = _place(nodes, at)
    matrix = np.zeros((at.size, nodes.size))
    row = np.arange(at.size)
    matrix[row, lower] = 1.0 - part
    matrix[row, lower + 1] += part
    return matrix


def _along(table: Array, readings: list[Array], axes: BoolArray | None = None) -> Array:
    """A table over three levels read along all axes, or along some."""
    chosen = np.ones(len(readings), dtype=bool) if axes is None else axes
    if chosen[0]:
        table = np.tensordot(readings[0], table, axes=(1, 0))
    if chosen[1]:
        table = readings[1] @ table
    if chosen[2]:
        table = table @ readings[2].T
    return table


def _forward(
    upkeep: JointUpkeep, choices: BoolArray, paid: Array, grid: list[Array], kept: list[Array]
) -> BoolArray:
    """Jobs along the way from today's levels, by the cost to go after each choice."""
    keep, gain, limit = _maps(upkeep)
    left = np.where(choices, 1.0 - np.array([job.restoration for job in upkeep.jobs]), 1.0)
    level = np.array(upkeep.levels)
    limit = np.maximum(limit, level)
    plan = np.zeros((upkeep.length, len(PARTS)), dtype=bool)
    for ahead in range(upkeep.length):
        after = level * left
        readings = [_reading(nodes, after[:, part]) for part, nodes in enumerate(grid)]
        first = (readings[0] @ kept[ahead].reshape(NODES[0], -1)).reshape(-1, *NODES[1:])
        second = np.matmul(readings[1][:, None, :], first)[:, 0]
        ways = (readings[2] * second).sum(axis=1)
        best = int(np.argmin(ways + paid * upkeep.cash[ahead]))
        plan[ahead] = choices[best]
        step = (upkeep.first_step + ahead) % upkeep.running.steps
        level = np.minimum(after[best] * keep[step] + gain[step], limit)
    return plan


def _neighbours(plan: BoolArray, allowed: BoolArray) -> tuple[BoolArray, IntArray]:
    """Courses that differ by one job or one visit: moved, left out, or another job done with it.

    Beside them is the visit that each of them changes.
    """
    found, visit = [], []

    def change(step: int, columns: BoolArray, to: int | None) -> None:
        other = plan.copy()
        other[step, columns] = False
        if to is not None:
            other[to] |= columns
        found.append(other)
        visit.append(step)

    for step in np.flatnonzero(plan.any(axis=1)).tolist():
        jobs = plan[step]
        parts = [np.eye(len(PARTS), dtype=bool)[part] for part in np.flatnonzero(jobs)]
        for columns in [jobs, *(parts if len(parts) > 1 else [])]:
            change(step, columns, None)
            for shift in SHIFTS:
                if 0 <= step + shift < len(plan):
                    change(step, columns, step + shift)
        for part in np.flatnonzero(allowed & ~jobs):
            other = plan.copy()
            other[step, part] = True
            found.append(other)
            visit.append(step)
    return np.array(found or [plan]), np.array(visit or [0])
