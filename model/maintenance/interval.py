"""How often to clean: the interval that costs least in the long run.

Two costs pull against each other: cleaning often costs cleanings, cleaning rarely costs electricity. With
steady conditions and linear growth the best interval is the square root of the economic order quantity; with
growth towards a limit there may be none. For a real year the running cost comes from
`model.maintenance.running_cost`.

Assumptions: those of that table. A cleaning takes no time and removes a share of the level. An interval
that is not a whole number of years meets every phase of the year equally often in the long run, so its cost
is the mean over all starting dates. A whole number of years always meets the same day, which can be chosen:
where fouling or heat have a season, that is worth more than the finest choice of an interval.

References
----------
Harris, F. W., How many parts to make at once, Factory, The Magazine of Management 10(2), 1913 (from memory).
Kern, D. Q. and Seaton, R. E., British Chemical Engineering 4(5), 1959 (form from memory). Renewal-reward
theorem: any text on stochastic processes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, IntArray
from model.maintenance.growth import GrowthSteps
from model.maintenance.running_cost import RunningCost, cost_of_step, matched

LONGEST_INTERVAL = 10.0
"""Longest interval looked at [a]."""
INTERVALS_LOOKED_AT = 24
"""Intervals of the first pass, in equal ratios [-]."""
INTERVALS_BETWEEN = 15
"""Intervals of the second pass, around the least of the first, in equal ratios [-]."""
ROUNDS_TO_SETTLE = 60
"""Cleanings simulated before a partly restored coil counts as steady [-]."""


@dataclass(frozen=True)
class Cleaning:
    """One cleaning.

    Attributes
    ----------
    price : float
        What it costs [money], 0 or more.
    restoration : float
        Share of the level that it removes [-], in (0, 1].
    """

    price: float
    restoration: float = 1.0

    def __post_init__(self) -> None:
        """Refuse a price or share out of range."""
        if not (self.price >= 0.0 and np.isfinite(self.price)):
            raise ValueError(f"price must be 0 or more, got {self.price:g}")
        if not 0.0 < self.restoration <= 1.0:
            raise ValueError(f"restoration must lie in (0, 1], got {self.restoration:g}")


@dataclass(frozen=True)
class IntervalCosts:
    """Long-run cost of cleaning at fixed intervals.

    Attributes
    ----------
    interval : ndarray, shape (intervals,)
        Time between cleanings [a].
    cost_per_year : ndarray, shape (samples, intervals)
        Running and cleaning [money/a].
    never_per_year : ndarray, shape (samples,)
        Never cleaning, once the fouling has come to rest [money/a].
    clean_per_year : ndarray, shape (samples,)
        Running an always clean unit, cleanings not counted [money/a].
    best_interval : ndarray, shape (samples,)
        Interval of least cost [a]; inf where never cleaning costs less than any interval looked at.
    best_per_year : ndarray, shape (samples,)
        Its cost [money/a].
    ending : tuple of str, one for each sample
        How the search ended: "least cost found", "never cleaning costs least", or "shortest interval costs
        least".
    whole_years : ndarray of int, shape (choices,)
        Whole years between cleanings that are looked at on their best day [a].
    whole_per_year : ndarray, shape (samples, choices)
        Running and cleaning on that day [money/a].
    whole_day : ndarray of int, shape (samples, choices)
        That day of the year, 0 to 364.
    """

    interval: Array
    cost_per_year: Array
    never_per_year: Array
    clean_per_year: Array
    best_interval: Array
    best_per_year: Array
    ending: tuple[str, ...]
    whole_years: IntArray
    whole_per_year: Array
    whole_day: IntArray

    @property
    def advised_interval(self) -> Array:
        """Interval of least cost [a], whole years on their best day included, shape (samples,)."""
        years = self.whole_years[np.argmin(self.whole_per_year, axis=1)].astype(np.float64)
        on_a_day = self.whole_per_year.min(axis=1) < self.best_per_year
        advised: Array = np.where(on_a_day, years, self.best_interval)
        return advised

    @property
    def advised_per_year(self) -> Array:
        """Its cost [money/a], shape (samples,)."""
        return np.asarray(np.minimum(self.whole_per_year.min(axis=1), self.best_per_year))

    @property
    def advised_day(self) -> IntArray:
        """Day of the year of the advised cleanings, 0 to 364; -1 for no day of its own, shape (samples,)."""
        choice = np.argmin(self.whole_per_year, axis=1)
        day = self.whole_day[np.arange(choice.size), choice]
        return np.where(self.whole_per_year.min(axis=1) < self.best_per_year, day, -1)

    def cost_at(self, interval: float) -> float:
        """Cost [money/a] of an interval [a] for the first sample.

        Of whole years that are looked at the cost on their best day; of others the mean over all starting
        dates; inf is never.
        """
        if np.isinf(interval):
            return float(self.never_per_year[0])
        whole = np.flatnonzero(self.whole_years == interval)
        if whole.size:
            return float(self.whole_per_year[0, whole[0]])
        return float(np.interp(interval, self.interval, self.cost_per_year[0]))


def linear_interval(price: ArrayLike, cost_growth: ArrayLike) -> Array:
    """Best interval under steady conditions and linear growth, T* = sqrt(2 C / k).

    Parameters
    ----------
    price : array_like
        C, price of a cleaning [money].
    cost_growth : array_like
        k, rise of the running cost by growing fouling [money/a per a], > 0.

    Returns
    -------
    ndarray
        Interval [a], broadcast shape.

    References
    ----------
    Harris 1913 (from memory): the economic order quantity, with the cleaning for the order.
    """
    return np.asarray(np.sqrt(2.0 * np.asarray(price, dtype=float) / np.asarray(cost_growth, dtype=float)))


def asymptotic_interval(price: ArrayLike, largest_cost: ArrayLike, time_constant: ArrayLike) -> Array:
    """Best interval under steady conditions and growth towards a limit.

    The root of L tau [1 - (1 + T/tau) exp(-T/tau)] = C.

    Parameters
    ----------
    price : array_like
        C, price of a cleaning [money].
    largest_cost : array_like
        L, extra running cost at the limit [money/a].
    time_constant : array_like
        tau [a].

    Returns
    -------
    ndarray
        Interval [a], broadcast shape; inf where C >= L tau, when no cleaning ever pays.

    References
    ----------
    Kern and Seaton 1959 for the growth; the condition is that the derivative of (C + extra cost) / T is zero.
    """
    price, largest, tau = (np.asarray(v, dtype=float) for v in (price, largest_cost, time_constant))
    share = np.atleast_1d(price / (largest * tau))
    low, high = np.zeros_like(share), np.full_like(share, 60.0)
    for _ in range(80):
        middle = 0.5 * (low + high)
        below = 1.0 - (1.0 + middle) * np.exp(-middle) < share
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    root = np.where(share >= 1.0, np.inf, high)
    return np.asarray(root.reshape(np.shape(price / (largest * tau))) * tau)


def interval_costs(
    running: RunningCost,
    growth: GrowthSteps,
    cleaning: Cleaning,
    longest: float = LONGEST_INTERVAL,
    progress: Callable[[float], None] | None = None,
) -> IntervalCosts:
    """Long-run cost of cleaning at every fixed interval, and the interval that costs least.

    Parameters
    ----------
    running : RunningCost
    growth : GrowthSteps
        With the steps of `running`; one sample or as many.
    cleaning : Cleaning
    longest : float
        Longest interval to look at [a].
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    IntervalCosts

    Raises
    ------
    ValueError
        Where the steps or the samples of the two do not agree.
    """
    running, growth = matched(running, growth)
    last = max(round(longest * running.steps), 3)
    coarse = np.unique(np.rint(np.geomspace(2, last, INTERVALS_LOOKED_AT)).astype(np.int64))
    years = np.arange(1, max(int(longest), 1) + 1)
    advance = progress or (lambda done: None)
    lengths = np.union1d(coarse, years * running.steps)
    by_date = _cost_rates(running, growth, cleaning, lengths)
    advance(0.7)
    first, on_a_day = by_date.mean(axis=2), by_date[:, np.searchsorted(lengths, years * running.steps)]
    near = np.argmin(first, axis=1)
    ends = lengths[max(near.min() - 1, 0)], lengths[min(near.max() + 1, lengths.size - 1)]
    fine = np.unique(np.rint(np.geomspace(*ends, INTERVALS_BETWEEN)).astype(np.int64))
    fine = np.setdiff1d(fine, lengths)
    rates = np.concatenate([first, _cost_rates(running, growth, cleaning, fine).mean(axis=2)], axis=1)
    advance(1.0)
    lengths = np.concatenate([lengths, fine])
    order = np.flatnonzero(lengths <= last)[np.argsort(lengths[lengths <= last])]
    interval, rates = lengths[order] / running.steps, rates[:, order]
    never = _never_per_year(running, growth)
    best, cost, ending = _best_of(interval, rates, never)
    return IntervalCosts(
        interval=interval,
        cost_per_year=rates,
        never_per_year=never,
        clean_per_year=running.cost[:, :, 0].sum(axis=1),
        best_interval=best,
        best_per_year=cost,
        ending=ending,
        whole_years=years,
        whole_per_year=on_a_day.min(axis=2),
        whole_day=np.argmin(on_a_day, axis=2) * running.days_per_step,
    )


def _cost_rates(running: RunningCost, growth: GrowthSteps, cleaning: Cleaning, lengths: IntArray) -> Array:
    """Cost a year [money/a] of cleaning every so many steps, shape (samples, lengths, steps).

    The last axis is the step of the year of the first cleaning.
    """
    if lengths.size == 0:
        return np.zeros((running.cost.shape[0], 0, running.steps))
    spent = _spent_between(running, growth, cleaning.restoration, lengths)
    return np.asarray((spent + cleaning.price) * (running.steps / lengths)[:, None])


def _spent_between(running: RunningCost, growth: GrowthSteps, restoration: float, lengths: IntArray) -> Array:
    """Running cost from one cleaning to the next, shape (samples, lengths, steps).

    By the number of steps between them, which rises in `lengths`, and the step of the year of the first. All
    lengths are followed together, each dropping out when it has come to its end.
    """
    if restoration == 1.0:
        return _spent_from_clean(running, growth, lengths)
    level = _settled_start(growth, restoration, lengths)
    spent = np.zeros_like(level)
    for elapsed in range(int(lengths[-1])):
        left = slice(int(np.searchsorted(lengths, elapsed, side="right")), None)
        cost, level[:, left] = _one_step(running, growth, level[:, left], elapsed)
        spent[:, left] += cost
    return spent


def _spent_from_clean(running: RunningCost, growth: GrowthSteps, lengths: IntArray) -> Array:
    """As `_spent_between` for a cleaning that restores all: every length is a part of the longest."""
    level = np.zeros((running.cost.shape[0], 1, running.steps))
    spent, found = np.zeros_like(level), []
    for elapsed in range(int(lengths[-1])):
        cost, level = _one_step(running, growth, level, elapsed)
        spent = spent + cost
        if elapsed + 1 in lengths:
            found.append(spent)
    return np.concatenate(found, axis=1)


def _one_step(running: RunningCost, growth: GrowthSteps, level: Array, elapsed: int) -> tuple[Array, Array]:
    """Cost of the step so long after a cleaning, and the level after it, (samples, lengths, steps)."""
    step = (np.arange(running.steps) + elapsed) % running.steps
    grown = growth.keep[:, None, step] * level + growth.gain[:, None, step]
    after = np.minimum(grown, growth.limit[:, None])
    middle = (0.5 * (level + after)).reshape(level.shape[0], -1)
    cost = cost_of_step(running, np.tile(step, level.shape[1]), middle)
    return cost.reshape(level.shape), after


def _settled_start(growth: GrowthSteps, restoration: float, lengths: IntArray) -> Array:
    """Level left by a cleaning after many intervals, shape (samples, lengths, steps of the year)."""
    date = np.arange(growth.steps)
    start = np.zeros((growth.keep.shape[0], lengths.size, growth.steps))
    if restoration == 1.0:
        return start
    keep, gain = _maps_over(growth, lengths)
    next_date = (date + lengths[:, None]) % growth.steps
    for _ in range(ROUNDS_TO_SETTLE):
        left = (1.0 - restoration) * np.minimum(keep * start + gain, growth.limit[:, None])
        steady = np.empty_like(left)
        np.put_along_axis(steady, np.broadcast_to(next_date, left.shape), left, axis=2)
        if np.allclose(steady, start, rtol=1e-9, atol=1e-12):
            return steady
        start = steady
    return start


def _maps_over(growth: GrowthSteps, lengths: IntArray) -> tuple[Array, Array]:
    """Growth over so many steps from each step of the year as one map, (samples, lengths, steps)."""
    keep, gain, date = np.ones_like(growth.keep), np.zeros_like(growth.gain), np.arange(growth.steps)
    keeps, gains = [], []
    for elapsed in range(int(lengths[-1])):
        step = (date + elapsed) % growth.steps
        keep, gain = keep * growth.keep[:, step], gain * growth.keep[:, step] + growth.gain[:, step]
        if elapsed + 1 in lengths:
            keeps.append(keep)
            gains.append(gain)
    return np.stack(keeps, axis=1), np.stack(gains, axis=1)


def _never_per_year(running: RunningCost, growth: GrowthSteps) -> Array:
    """Running cost of a year once the fouling has come to rest [money/a], shape (samples,)."""
    keep, gain = np.ones_like(growth.limit), np.zeros_like(growth.limit)
    for step in range(growth.steps):
        keep, gain = (
            keep * growth.keep[:, [step]],
            gain * growth.keep[:, [step]] + growth.gain[:, [step]],
        )
    # A year maps x to keep x + gain; without any removal (keep = 1) fouling that arrives ends at the limit.
    rest = np.where(gain > 0.0, growth.limit, 0.0)
    np.divide(gain, 1.0 - keep, out=rest, where=1.0 - keep > 1e-12)
    level, total = np.minimum(rest, growth.limit), np.zeros(running.cost.shape[0])
    for step in range(running.steps):
        after = np.minimum(growth.keep[:, [step]] * level + growth.gain[:, [step]], growth.limit)
        total += cost_of_step(running, step, 0.5 * (level + after))[:, 0]
        level = after
    return total


def _best_of(interval: Array, rates: Array, never: Array) -> tuple[Array, Array, tuple[str, ...]]:
    """Interval of least cost, its cost, and how the search ended.

    By a parabola over the logarithm of the interval through the three lowest points: C / T + k T / 2 is even
    in the logarithm about its least, so that a wide spacing does no harm.
    """
    best, cost, ending = [], [], []
    for row, limit in zip(rates, never, strict=True):
        k = int(np.argmin(row))
        if limit <= row[k]:
            best.append(np.inf)
            cost.append(float(limit))
            ending.append("never cleaning costs least")
        elif k in (0, row.size - 1):
            best.append(float(interval[k]))
            cost.append(float(row[k]))
            ending.append("shortest interval costs least" if k == 0 else "longest interval costs least")
        else:
            x, y = np.log(interval[k - 1 : k + 2]), row[k - 1 : k + 2]
            curve = np.polynomial.Polynomial.fit(x, y, 2)
            vertex = float(curve.deriv().roots()[0].real) if curve.coef[2] > 0.0 else float(x[1])
            best.append(float(np.exp(vertex)))
            cost.append(float(min(curve(vertex), y[1])))
            ending.append("least cost found")
    return np.array(best), np.array(cost), tuple(ending)


def cost_by_day(
    running: RunningCost, growth: GrowthSteps, cleaning: Cleaning, years_between: int = 1
) -> tuple[IntArray, Array]:
    """Long-run cost of cleaning on the same day every year, or every so many years, for each day.

    Parameters
    ----------
    running, growth, cleaning
        As for `interval_costs`.
    years_between : int
        Years from one cleaning to the next [a], 1 or more.

    Returns
    -------
    day : ndarray of int, shape (steps,)
        First day of each step of the year, 0 to 364.
    cost_per_year : ndarray, shape (samples, steps)
        Running and cleaning [money/a] where the unit is cleaned at the beginning of that step.

    Raises
    ------
    ValueError
        Where `years_between` is below 1, or running cost and growth do not fit each other.
    """
    if years_between < 1:
        raise ValueError(f"years_between must be 1 or more, got {years_between}")
    running, growth = matched(running, growth)
    length = np.array([years_between * running.steps])
    spent = _spent_between(running, growth, cleaning.restoration, length)[:, 0]
    day = np.arange(running.steps) * running.days_per_step
    return day, (spent + cleaning.price) / years_between
