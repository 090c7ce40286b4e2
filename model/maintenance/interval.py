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

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace

import numpy as np

from model.arrays import Array, IntArray
from model.maintenance.growth import GrowthSteps
from model.maintenance.running_cost import RunningCost, cost_of_step, matched

LONGEST_INTERVAL = 10.0
"""Longest interval looked at [a]."""
INTERVALS_LOOKED_AT = 60
"""Intervals looked at, in equal ratios [-]."""
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

    def sample(self, number: int) -> IntervalCosts:
        """One of the samples, as costs of one sample.

        Parameters
        ----------
        number : int
            Its place, from 0.

        Returns
        -------
        IntervalCosts
        """
        part = slice(number, number + 1)
        shared = ("interval", "whole_years")
        own = [one.name for one in fields(self) if one.name not in shared]
        return replace(self, **{name: getattr(self, name)[part] for name in own})

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
    each = (
        np.full(running.cost.shape[0], cleaning.price),
        np.full(running.cost.shape[0], cleaning.restoration),
    )
    return _interval_costs(running, growth, *each, longest, progress or (lambda done: None))


def interval_costs_of_each(
    units: Sequence[tuple[RunningCost, GrowthSteps, Cleaning]], longest: float = LONGEST_INTERVAL
) -> tuple[IntervalCosts, ...]:
    """As `interval_costs`, for several units of one sample each, together in the time of one.

    Parameters
    ----------
    units : sequence of (RunningCost, GrowthSteps, Cleaning)
        On the same levels and steps.
    longest : float
        Longest interval to look at [a].

    Returns
    -------
    tuple of IntervalCosts
        One for each unit.
    """
    running, growth, cleaning = zip(*units, strict=True)
    together = replace(
        running[0],
        cost=np.concatenate([one.cost for one in running]),
        short_hours=np.concatenate([one.short_hours for one in running]),
    )
    grown = replace(
        growth[0],
        keep=np.concatenate([one.keep for one in growth]),
        gain=np.concatenate([one.gain for one in growth]),
        limit=np.concatenate([one.limit for one in growth]),
    )
    price, restoration = (np.array([getattr(one, n) for one in cleaning]) for n in ("price", "restoration"))
    found = _interval_costs(together, grown, price, restoration, longest, lambda done: None)
    return tuple(found.sample(number) for number in range(len(units)))


def _interval_costs(
    running: RunningCost,
    growth: GrowthSteps,
    price: Array,
    restoration: Array,
    longest: float,
    advance: Callable[[float], None],
) -> IntervalCosts:
    """Long-run costs by interval, each sample with its own cleaning."""
    last = max(round(longest * running.steps), 3)
    coarse = np.unique(np.rint(np.geomspace(2, last, INTERVALS_LOOKED_AT)).astype(np.int64))
    years = np.arange(1, max(int(longest), 1) + 1)
    lengths = np.union1d(coarse, years * running.steps)
    by_date = _cost_rates(running, growth, price, restoration, lengths)
    advance(1.0)
    on_a_day = by_date[:, np.searchsorted(lengths, years * running.steps)]
    looked_at = lengths <= last
    interval, rates = lengths[looked_at] / running.steps, by_date.mean(axis=2)[:, looked_at]
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


def _cost_rates(
    running: RunningCost, growth: GrowthSteps, price: Array, restoration: Array, lengths: IntArray
) -> Array:
    """Cost a year [money/a] of cleaning every so many steps, shape (samples, lengths, steps).

    The last axis is the step of the year of the first cleaning.
    """
    spent = _spent_between(running, growth, restoration, lengths)
    return np.asarray((spent + price[:, None, None]) * (running.steps / lengths)[:, None])


def _spent_between(running: RunningCost, growth: GrowthSteps, restoration: Array, lengths: IntArray) -> Array:
    """Running cost from one cleaning to the next, shape (samples, lengths, steps).

    By the number of steps between them, which rises in `lengths`, and the step of the year of the first. What
    a cleaning leaves depends on both: the cost is followed from a few levels that may be left, and read
    between them by a parabola.
    """
    shape = (growth.keep.shape[0], 1, growth.steps)
    if np.all(restoration == 1.0):
        return _spent_from(running, growth, np.zeros(shape), lengths)[:, 0]
    most = (1.0 - restoration)[:, None, None] * growth.limit[:, None]
    nodes = np.broadcast_to(most * np.array([0.0, 0.5, 1.0])[:, None], (shape[0], 3, shape[2]))
    low, middle, high = np.moveaxis(_spent_from(running, growth, nodes, lengths), 1, 0)
    left = _settled_start(growth, restoration, lengths)
    share = np.divide(left, most, out=np.zeros_like(left), where=most > 0.0)
    rise, bend = high - low, 2.0 * (low - 2.0 * middle + high)
    return np.asarray(low + share * (rise + bend * (share - 1.0)))


def _spent_from(running: RunningCost, growth: GrowthSteps, level: Array, lengths: IntArray) -> Array:
    """Running cost of so many steps from levels at every step of the year, (samples, nodes, lengths, steps).

    `level` has the shape (samples, nodes, steps); every length is a part of the longest.
    """
    samples, _, steps = level.shape
    table, per = running.cost.ravel(), running.level.size
    scale = 0.5 * (per - 1) / running.level[-1]
    row = (np.arange(samples)[:, None] * steps + np.arange(steps)) * per
    keep, gain, rows = (np.concatenate([v, v], axis=1)[:, None] for v in (growth.keep, growth.gain, row))
    limit, spent, found = growth.limit[:, None], np.zeros(level.shape), []
    asked = set(lengths.tolist())
    for elapsed in range(int(lengths[-1])):
        here = slice(elapsed % steps, elapsed % steps + steps)
        after = np.minimum(keep[..., here] * level + gain[..., here], limit)
        place = (level + after) * scale
        index = np.minimum(place.astype(np.int64), per - 2)
        at = rows[..., here] + index
        low = table.take(at)
        spent += low + (place - index) * (table.take(at + 1) - low)
        level = after
        if elapsed + 1 in asked:
            found.append(spent.copy())
    return np.stack(found, axis=2)


def _settled_start(growth: GrowthSteps, restoration: Array, lengths: IntArray) -> Array:
    """Level left by a cleaning after many intervals, shape (samples, lengths, steps of the year)."""
    date = np.arange(growth.steps)
    start = np.zeros((growth.keep.shape[0], lengths.size, growth.steps))
    keep, gain = _maps_over(growth, lengths)
    next_date = (date + lengths[:, None]) % growth.steps
    for _ in range(ROUNDS_TO_SETTLE):
        left = (1.0 - restoration)[:, None, None] * np.minimum(keep * start + gain, growth.limit[:, None])
        steady = np.empty_like(left)
        np.put_along_axis(steady, np.broadcast_to(next_date, left.shape), left, axis=2)
        if np.allclose(steady, start, rtol=1e-9, atol=1e-12):
            return steady
        start = steady
    return start


def _maps_over(growth: GrowthSteps, lengths: IntArray) -> tuple[Array, Array]:
    """Growth over so many steps from each step of the year as one map, (samples, lengths, steps)."""
    keep, gain, steps = np.ones_like(growth.keep), np.zeros_like(growth.gain), growth.steps
    kept, gained = (np.concatenate([v, v], axis=1) for v in (growth.keep, growth.gain))
    keeps, gains, asked = [], [], set(lengths.tolist())
    for elapsed in range(int(lengths[-1])):
        here = slice(elapsed % steps, elapsed % steps + steps)
        keep, gain = keep * kept[:, here], gain * kept[:, here] + gained[:, here]
        if elapsed + 1 in asked:
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
    restoration = np.full(running.cost.shape[0], cleaning.restoration)
    spent = _spent_between(running, growth, restoration, length)[:, 0]
    day = np.arange(running.steps) * running.days_per_step
    return day, (spent + cleaning.price) / years_between
