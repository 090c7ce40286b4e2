"""What running the unit costs in each step of the year, by level: it prices any history of fouling.

A year is simulated once for each level of the unit's performance table; from then on the cost of any
course of fouling, with any cleanings, is read off, and no season is simulated again.

Assumptions: every year has the same weather and load. A month's demand charge is booked on the step of the
month in which the peak falls at that level: exact when level changes little within a month. Between two
levels the cost is a straight line.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, BoolArray, IntArray
from model.maintenance.growth import GrowthSteps
from model.season.fouling_cost import Setting
from model.season.performance_table import PerformanceTable
from model.season.tariff import JOULES_PER_KWH
from model.season.year_by_level import YearByLevel, year_by_level

DAYS_PER_STEP = 5
"""Length of a step of the year [d]; 73 steps fill a year."""


@dataclass(frozen=True)
class RunningCost:
    """What running the unit costs in each step of the year, by level.

    Attributes
    ----------
    level : ndarray, shape (levels,)
        Levels in equal steps from 0 [-].
    cost : ndarray, shape (samples, steps, levels)
        Electricity, demand and the price put on cooling lost [money per step].
    short_hours : ndarray, shape (samples, steps, levels)
        Unmet-load hours [h per step].
    cooling : ndarray of bool, shape (steps,)
        Steps in which there is any cooling to do, so that readings can be taken.
    days_per_step : int
        Length of a step [d].
    """

    level: Array
    cost: Array
    short_hours: Array
    cooling: BoolArray
    days_per_step: int

    @property
    def steps(self) -> int:
        """Steps in a year [-]."""
        return int(self.cost.shape[1])

    def scaled(self, factor: float) -> RunningCost:
        """The same with every price times a factor [-]."""
        return replace(self, cost=self.cost * factor)

    def take(self, samples: IntArray) -> RunningCost:
        """The same with some of its samples.

        Parameters
        ----------
        samples : ndarray of int, shape (n,)
            Which.

        Returns
        -------
        RunningCost
            Of n samples.
        """
        return replace(self, cost=self.cost[samples], short_hours=self.short_hours[samples])

    def sample(self, index: int) -> RunningCost:
        """One of the samples, as a table of one sample.

        Parameters
        ----------
        index : int
            Its place, from 0.

        Returns
        -------
        RunningCost
            Of one sample.
        """
        pick = slice(index, index + 1)
        return replace(self, cost=self.cost[pick], short_hours=self.short_hours[pick])

    def middle(self) -> RunningCost:
        """The mean over the samples, as a table of one sample."""
        return replace(
            self,
            cost=self.cost.mean(axis=0, keepdims=True),
            short_hours=self.short_hours.mean(axis=0, keepdims=True),
        )


def running_cost(
    table: PerformanceTable,
    setting: Setting,
    lost_cooling_price: float | None = None,
    days_per_step: int = DAYS_PER_STEP,
    progress: Callable[[float], None] | None = None,
) -> RunningCost:
    """What running the unit costs in each step of the year, at each level of its table.

    Parameters
    ----------
    table : PerformanceTable
        The unit, one sample or many.
    setting : Setting
        Weather, load, tariff, controls.
    lost_cooling_price : float, optional
        What a kilowatt-hour of cooling that the room goes without is worth [money/kWh]. Left out,
        the tariff's `unmet_cooling_price`.
    days_per_step : int
        Length of a step [d], a divisor of 365.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    RunningCost

    Raises
    ------
    ValueError
        Where `days_per_step` does not divide the year.
    """
    priced = year_by_level(table, setting, days_per_step=days_per_step, progress=progress)
    return running_cost_of(priced, lost_cooling_price)


def running_cost_of(priced: YearByLevel, lost_cooling_price: float | None = None) -> RunningCost:
    """Running cost of units whose year is priced at every level.

    Parameters
    ----------
    priced : YearByLevel
        From `model.season.year_by_level.year_by_level`.
    lost_cooling_price : float, optional
        As for `running_cost` [money/kWh].

    Returns
    -------
    RunningCost
    """
    worth = lost_cooling_price
    if worth is None:
        worth = priced.setting.tariff.unmet_cooling_price
    of_step = np.eye(priced.cooling.size)[priced.step]
    money = priced.amount("energy_money") + priced.amount("demand_money")
    money = money + (worth / JOULES_PER_KWH) * priced.amount("cooling_lost")
    cost, short = ((one @ of_step).swapaxes(1, 2) for one in (money, priced.amount("short_hours")))
    return RunningCost(
        priced.level,
        np.ascontiguousarray(cost),
        np.ascontiguousarray(short),
        priced.cooling,
        priced.days_per_step,
    )


def cost_of_step(running: RunningCost, step: ArrayLike, level: Array) -> Array:
    """Running cost of steps of the year at a level.

    Levels past the table's end take its last slope onwards.

    Parameters
    ----------
    running : RunningCost
        Running cost by step and level.
    step : array_like of int, shape (n,) or ()
        Steps of the year.
    level : ndarray, shape (samples, n)
        Level in each of them [-].

    Returns
    -------
    ndarray, shape (samples, n)
        Cost [money].
    """
    return _read(running.level, running.cost, np.asarray(step), level)


def _read(nodes: Array, table: Array, step: IntArray, level: Array) -> Array:
    """Linear interpolation of a table of shape (samples, steps, nodes) in its last axis."""
    place = level * ((nodes.size - 1) / nodes[-1])
    index = np.minimum(place.astype(np.int64), nodes.size - 2)
    samples, steps, size = table.shape
    flat = (steps * np.arange(samples)[:, None] + step) * size + index
    low = table.take(flat)
    return np.asarray(low + (place - index) * (table.take(flat + 1) - low))


def cost_and_short_hours(running: RunningCost, step: int, level: Array) -> tuple[Array, Array]:
    """Running cost and unmet-load hours of one step of the year at many levels.

    Parameters
    ----------
    running : RunningCost
        Running cost by step and level.
    step : int
        Step of the year.
    level : ndarray, shape (samples, n)
        Levels [-].

    Returns
    -------
    (ndarray, ndarray)
        Cost [money] and hours [h], each of shape (samples, n).
    """
    nodes, (samples, steps, per) = running.level, running.cost.shape
    place = level * ((per - 1) / nodes[-1])
    index = np.minimum(place.astype(np.int64), per - 2)
    at, part = index + (np.arange(samples)[:, None] * steps + step) * per, place - index
    above = at + 1
    found = []
    for table in (running.cost, running.short_hours):
        low = table.take(at)
        found.append(low + part * (table.take(above) - low))
    return found[0], found[1]


def matched(running: RunningCost, growth: GrowthSteps) -> tuple[RunningCost, GrowthSteps]:
    """Both with the same number of samples, one of which may have been one.

    Parameters
    ----------
    running : RunningCost
        Running cost by step and level.
    growth : GrowthSteps
        Growth by step.

    Returns
    -------
    (RunningCost, GrowthSteps)
        Both with as many samples as the larger had.

    Raises
    ------
    ValueError
        Where they do not agree in steps or samples.
    """
    if running.days_per_step != growth.days_per_step:
        raise ValueError(
            f"running cost has steps of {running.days_per_step} days, "
            f"growth of {growth.days_per_step}: use the same"
        )
    have = {running.cost.shape[0], growth.keep.shape[0]}
    samples = max(have)
    if have - {1, samples}:
        raise ValueError(f"running cost and growth must have one sample or as many, got {sorted(have)}")
    return (
        replace(
            running,
            cost=np.broadcast_to(running.cost, (samples, *running.cost.shape[1:])),
            short_hours=np.broadcast_to(running.short_hours, (samples, *running.cost.shape[1:])),
        ),
        replace(
            growth,
            keep=np.broadcast_to(growth.keep, (samples, growth.steps)),
            gain=np.broadcast_to(growth.gain, (samples, growth.steps)),
            limit=np.broadcast_to(growth.limit, (samples, 1)),
        ),
    )
