"""Running cost since a cleaning, by its day of the year and its age: any course of cleanings is then a sum.

One forward recursion over the age, for all draws and all days of the year at once, from three levels that a
cleaning may leave; between these a parabola is read. A course is priced by one look-up for each of its
stretches, so that thousands of courses cost less than following one.

Assumptions: those of `model.maintenance.policies`. Prices that rise and money that is discounted change by
the same factor from step to step, so that one table serves stretches that begin in any year.

References
----------
Ross, S. M., Applied Probability Models with Optimization Applications, 1970, renewal decisions (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from model.arrays import Array, BoolArray, IntArray
from model.maintenance.policies import Upkeep, weights
from model.maintenance.running_cost import cost_of_step

NODES: Array = np.array([0.0, 0.5, 1.0])
"""Levels left by a cleaning that are followed, over the most that it can leave [-]."""


@dataclass(frozen=True)
class CumulativeCost:
    """Cost and level since today, and since a cleaning.

    Attributes
    ----------
    upkeep : Upkeep
        Running cost, growth, cleaning and outlook.
    first_cost, first_level : ndarray, shape (length + 1, samples)
        Running cost from today until each step without a cleaning [money of today], and the level then [-].
    cost, level : ndarray, shape (length + 1, steps, nodes, samples)
        The same by age, step of the year of the cleaning and level left by it, in money of that step.
    """

    upkeep: Upkeep
    first_cost: Array
    first_level: Array
    cost: np.ndarray
    level: np.ndarray

    @property
    def most_left(self) -> Array:
        """Most that a cleaning can leave [-], shape (samples,)."""
        return (1.0 - self.upkeep.cleaning.restoration) * self.upkeep.limits

    def after(self, age: IntArray, start: IntArray, share: Array) -> tuple[Array, Array]:
        """Cost since cleanings and level, each of shape (courses, samples).

        Parameters
        ----------
        age, start : ndarray of int, shape (courses,)
            Steps since the cleaning, and its step of the year.
        share : ndarray, shape (courses, samples)
            Level left by it over `most_left` [-].

        Returns
        -------
        (ndarray, ndarray)
            In money of the day of the cleaning, and [-].
        """
        pull = _weights(share)
        return tuple(np.einsum("cns,cns->cs", table[age, start], pull) for table in (self.cost, self.level))


def _weights(share: Array) -> Array:
    """Weights of the three nodes of a parabola, shape (courses, 3, samples)."""
    return np.stack(
        [2.0 * (share - 0.5) * (share - 1.0), 4.0 * share * (1.0 - share), 2.0 * share * (share - 0.5)],
        axis=1,
    )


def cumulative_cost(upkeep: Upkeep) -> CumulativeCost:
    """Running cost since a cleaning by its day and age, over the years ahead.

    Parameters
    ----------
    upkeep : Upkeep
        Running cost, growth, cleaning and outlook.

    Returns
    -------
    CumulativeCost
    """
    running, growth, steps = upkeep.running, upkeep.growth, upkeep.running.steps
    energy, _ = weights(upkeep)
    per, samples = running.level.size, upkeep.samples
    scale = 0.5 * (per - 1) / running.level[-1]
    rows = (np.arange(steps)[:, None] + np.arange(samples) * steps) * per
    keep, gain, rows = (np.concatenate([v, v])[:, None] for v in (growth.keep.T, growth.gain.T, rows))
    most = (1.0 - upkeep.cleaning.restoration) * upkeep.limits
    level = np.broadcast_to(NODES[:, None] * most, (steps, NODES.size, samples))
    table, limit, spent = running.cost.ravel(), upkeep.limits, np.zeros(level.shape)
    cost = np.zeros((upkeep.length + 1, *level.shape), dtype=np.float32)
    levels = np.zeros_like(cost)
    levels[0] = level
    for elapsed in range(upkeep.length):
        here = slice(elapsed % steps, elapsed % steps + steps)
        after = np.minimum(keep[here] * level + gain[here], limit)
        place = (level + after) * scale
        index = np.minimum(place.astype(np.int64), per - 2)
        at = rows[here] + index
        low = table.take(at)
        spent += energy[elapsed] * (low + (place - index) * (table.take(at + 1) - low))
        cost[elapsed + 1], levels[elapsed + 1], level = spent, after, after
    return CumulativeCost(upkeep, *_without_cleaning(upkeep, upkeep.levels_today), cost, levels)


def _without_cleaning(upkeep: Upkeep, level: Array) -> tuple[Array, Array]:
    """Cost from levels today, and level, at each step ahead without a cleaning: (length + 1, samples)."""
    running, growth, (energy, _) = upkeep.running, upkeep.growth, weights(upkeep)
    cost, levels, limit = np.zeros((upkeep.length + 1, level.size)), [level], upkeep.limits
    for ahead in range(upkeep.length):
        step = (upkeep.first_step + ahead) % running.steps
        after = np.minimum(growth.keep[:, step] * level + growth.gain[:, step], limit)
        now = cost_of_step(running, step, 0.5 * (level + after)[:, None])[:, 0]
        cost[ahead + 1], level = cost[ahead] + energy[ahead] * now, after
        levels.append(level)
    return cost, np.array(levels)


def course_costs(cumulated: CumulativeCost, plans: BoolArray) -> Array:
    """Cost of courses of cleanings, the mean over the draws.

    Parameters
    ----------
    cumulated : CumulativeCost
        Costs since a cleaning.
    plans : ndarray of bool, shape (courses, length)
        Whether to clean at the beginning of each step ahead.

    Returns
    -------
    ndarray, shape (courses,)
        Running and cleaning [money/a], as by following each course.
    """
    upkeep = cumulated.upkeep
    energy, cash = weights(upkeep)
    length, steps, price = upkeep.length, upkeep.running.steps, upkeep.cleaning.price
    count = plans.sum(axis=1)
    times = np.full((len(plans), int(count.max(initial=0)) + 1), length)
    row, when = np.nonzero(plans)
    times[row, np.arange(row.size) - np.repeat(np.cumsum(count) - count, count)] = when
    total = cumulated.first_cost[times[:, 0]].mean(axis=1) + plans @ cash * price
    level = cumulated.first_level[times[:, 0]]
    for begin, end in zip(times.T[:-1], times.T[1:], strict=True):
        on = np.flatnonzero(begin < length)
        share = _share(cumulated, level[on])
        start = (upkeep.first_step + begin[on]) % steps
        cost, level[on] = cumulated.after(end[on] - begin[on], start, share)
        total[on] += energy[begin[on]] * cost.mean(axis=1)
    return np.asarray(total / (cash.sum() / steps))


def _share(cumulated: CumulativeCost, level: Array) -> Array:
    """Level left by a cleaning of coils of these levels, over the most that it can leave."""
    left, most = (1.0 - cumulated.upkeep.cleaning.restoration) * level, cumulated.most_left
    return np.divide(left, most, out=np.zeros_like(left), where=most > 0.0)


def cheapest_course(cumulated: CumulativeCost, rounds: int = 3) -> BoolArray:
    """Course of least mean cost by dynamic programming over the dates of cleanings.

    What a cleaning leaves is taken as the mean of the course found before, from nothing in the first round.

    Parameters
    ----------
    cumulated : CumulativeCost
        Costs since a cleaning.
    rounds : int
        How often what is left is renewed [-].

    Returns
    -------
    ndarray of bool, shape (length,)
        Whether to clean at the beginning of each step ahead.
    """
    upkeep = cumulated.upkeep
    share = np.zeros(upkeep.samples)
    plan = np.zeros(upkeep.length, dtype=bool)
    for _ in range(rounds if upkeep.cleaning.restoration < 1.0 else 1):
        plan = _course(cumulated, share)
        begin = np.flatnonzero(plan)
        if begin.size < 2:
            break
        start = (upkeep.first_step + begin[:-1]) % upkeep.running.steps
        _, level = cumulated.after(np.diff(begin), start, np.tile(share, (begin.size - 1, 1)))
        share = _share(cumulated, level).mean(axis=0)
    return plan


def _course(cumulated: CumulativeCost, share: Array) -> BoolArray:
    """Course of least mean cost where every cleaning leaves the same share."""
    upkeep = cumulated.upkeep
    energy, cash = weights(upkeep)
    length, price = upkeep.length, upkeep.cleaning.price
    pull = (_weights(share[None])[0] / upkeep.samples).astype(np.float32).ravel()
    mean = (cumulated.cost.reshape(-1, pull.size) @ pull).reshape(length + 1, -1).T.astype(float)
    paid = np.append(price * cash, 0.0)  # the cleaning that ends a stretch; none at the end of the years
    ahead, until = np.zeros(length + 1), np.zeros(length, dtype=np.int64)
    for begin in range(length - 1, -1, -1):
        start = (upkeep.first_step + begin) % upkeep.running.steps
        ways = energy[begin] * mean[start, 1 : length - begin + 1] + paid[begin + 1 :] + ahead[begin + 1 :]
        until[begin] = begin + 1 + int(np.argmin(ways))
        ahead[begin] = ways[until[begin] - begin - 1]
    first = cumulated.first_cost.mean(axis=1) + paid + ahead
    plan, when = np.zeros(length, dtype=bool), int(np.argmin(first))
    while when < length:
        plan[when] = True
        when = int(until[when])
    return plan


def saving_of_cleaning_today(cumulated: CumulativeCost) -> Array:
    """Running cost that one cleaning today saves until the end of each step ahead, the mean over the draws.

    Against leaving the coil alone; in worth of today, as prices rise and money is discounted.

    Parameters
    ----------
    cumulated : CumulativeCost
        Costs since a cleaning.

    Returns
    -------
    ndarray, shape (length,)
        Saving [money].
    """
    upkeep = cumulated.upkeep
    cleaned = (1.0 - upkeep.cleaning.restoration) * upkeep.levels_today
    cost, _ = _without_cleaning(upkeep, cleaned)
    return np.asarray((cumulated.first_cost - cost)[1:].mean(axis=1))
