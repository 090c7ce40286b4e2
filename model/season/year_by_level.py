"""A year priced at every level of fouling, for many units at once.

Hours of one outdoor temperature and one load are the same to the unit, whenever they come: they are solved
once, as a group, and counted with the hours and the prices of each stretch of the year. A year at any course
of fouling is then read off between the levels. A day in which a unit falls short is simulated hour by hour,
because what it owes is made up later on that day.

Assumptions: those of `model.season.simulation` and `model.season.tariff`. Between two levels every
amount is a straight line. A month's demand charge belongs to the stretch in which its peak falls at that
level, and what its blocks add to all its stretches alike.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, BoolArray, IntArray
from model.season.fouling_cost import SeasonOutcome, Setting
from model.season.grouped_year import Counted, GroupedYear, grouped_year
from model.season.load import CoolingLoad, drawn_load
from model.season.performance_table import PerformanceTable, trip_temperature
from model.season.simulation import (
    MORNING_HOUR,
    SECONDS_PER_HOUR,
    HourlySeason,
    SeasonTotals,
    hourly_season,
)
from model.season.tariff import (
    CENTS,
    JOULES_PER_KWH,
    Bill,
    block_charge,
    carbon_by_entry,
    energy_price,
    holds,
    own_surplus,
    unmet_cooling_cents,
)
from model.season.weather_year import (
    DAYS_PER_YEAR,
    HOURS_PER_DAY,
    MONTHS_PER_YEAR,
    WeatherYear,
    monthly_peak,
)

SAMPLES_AT_ONCE = 128
"""Samples simulated together [-]: few enough to stay in a processor's cache."""
SMALLEST_LOSS = 1.0
"""Unmet cooling of a stretch that counts [J]: below it is rounding."""
ALIKE = 24
"""Samples that are simulated hour by hour together [-]: their days short of capacity are much the same."""
AMOUNTS = (
    "energy",
    "run_hours",
    "short_hours",
    "trip_hours",
    "cooling",
    "cooling_lost",
    "energy_money",
    "carbon",
    "demand_money",
)
"""What is added up: J, h, h, h, J, J, money, kg, money."""


@dataclass(frozen=True)
class Scenarios:
    """What is drawn of load and weather, beside the unit itself; each one number or one for each sample.

    Attributes
    ----------
    load_factor : float or ndarray, shape (samples,)
        Load over that of the setting [-], above 0.
    warmer : float or ndarray, shape (samples,)
        Outdoor air over that of the setting's year [K].
    """

    load_factor: float | Array = 1.0
    warmer: float | Array = 0.0

    @property
    def samples(self) -> int:
        """Number of scenarios [-], 1 where all are the same."""
        return int(np.broadcast(self.load_factor, self.warmer).size)

    def take(self, part: slice | IntArray) -> Scenarios:
        """Some of them; what is the same for all stays."""
        factor, warmer = (np.asarray(v, dtype=float) for v in (self.load_factor, self.warmer))
        return Scenarios(*(v if v.size == 1 else v[part] for v in (factor, warmer)))


AS_IT_IS = Scenarios()
"""Load and weather of the setting."""


@dataclass(frozen=True)
class YearByLevel:
    """Amounts of every stretch of the year at every level.

    Attributes
    ----------
    table : PerformanceTable
        The units.
    setting : Setting
        Weather, load, tariff, controls.
    level : ndarray, shape (levels,)
        Levels in equal steps from 0 [-].
    step, month : ndarray of int, shape (stretches,)
        Step of the year and month, 1 to 12, of each stretch.
    amounts : ndarray, shape (len(AMOUNTS), samples, levels, stretches)
        In the order of `AMOUNTS`.
    peak_power : ndarray, shape (samples, levels, 12)
        Highest mean power of an entry in each month [W].
    demand : ndarray, shape (samples, levels, rates, 12)
        What the demand meter sees at most in each month, by demand rate of the tariff [W].
    worst_shortfall : ndarray, shape (samples, levels)
        Largest shortfall [W].
    cooling : ndarray of bool, shape (steps,)
        Steps in which there is any cooling to do.
    days_per_step : int
        Length of a step [d].
    """

    table: PerformanceTable
    setting: Setting
    level: Array
    step: IntArray
    month: IntArray
    amounts: Array
    peak_power: Array
    demand: Array
    worst_shortfall: Array
    cooling: BoolArray
    days_per_step: int

    @property
    def samples(self) -> int:
        """Number of samples [-]."""
        return int(self.amounts.shape[1])

    def amount(self, name: str) -> Array:
        """One of `AMOUNTS`, shape (samples, levels, stretches)."""
        return np.asarray(self.amounts[AMOUNTS.index(name)])


def year_by_level(
    table: PerformanceTable,
    setting: Setting,
    scenarios: Scenarios = AS_IT_IS,
    days_per_step: int = 5,
    progress: Callable[[float], None] | None = None,
) -> YearByLevel:
    """A year of every sample at every level of the unit's table.

    Parameters
    ----------
    table : PerformanceTable
        One sample or many.
    setting : Setting
        Weather, load, tariff, controls.
    scenarios : Scenarios
        As many as samples of the table, or one.
    days_per_step : int
        Length of a step of the year [d], a divisor of 365.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    YearByLevel

    Raises
    ------
    ValueError
        Where samples do not agree in number, steps do not fill the year, or the table does not reach the
        year's heat.
    """
    if days_per_step < 1 or DAYS_PER_YEAR % days_per_step:
        raise ValueError(f"days_per_step must divide {DAYS_PER_YEAR}, got {days_per_step}")
    have = {table.samples, scenarios.samples}
    samples = max(have)
    if have - {1, samples}:
        raise ValueError(f"table has {table.samples} samples, scenarios {scenarios.samples}: give as many")
    plan = grouped_year(setting, days_per_step)
    parts = []
    for start in range(0, samples, SAMPLES_AT_ONCE):
        part = slice(start, min(start + SAMPLES_AT_ONCE, samples))
        unit = table if table.samples == 1 else table.take(np.arange(part.start, part.stop))
        parts.append(_part(unit, plan, scenarios.take(part), part.stop - part.start))
        if progress is not None:
            progress(part.stop / samples)
    amounts, peaks, demand, shortfalls = (
        np.concatenate(one, axis=axis)
        for one, axis in zip(zip(*parts, strict=True), (1, 0, 0, 0), strict=True)
    )
    cooled = np.bincount(setting.year.day // days_per_step, setting.load.total > 0.0, plan.steps) > 0.0
    return YearByLevel(
        table,
        setting,
        table.level,
        plan.step,
        plan.month,
        amounts,
        peaks,
        demand,
        shortfalls,
        cooled,
        days_per_step,
    )


def _part(
    unit: PerformanceTable, plan: GroupedYear, scenarios: Scenarios, samples: int
) -> tuple[Array, Array, Array, Array]:
    """Amounts, peaks, demands and shortfalls of some samples at every level."""
    levels, tariff = unit.level.size, plan.setting.tariff
    amounts = np.zeros((len(AMOUNTS), samples, levels, plan.step.size))
    peaks, shortfalls = np.zeros((samples, levels, MONTHS_PER_YEAR)), np.zeros((samples, levels))
    demand = np.zeros((samples, levels, len(tariff.demand_rates), MONTHS_PER_YEAR))
    groups = (plan.counted.year, plan.counted.load, plan.counted.wet_bulb)
    places, surplus, dearer = own_surplus(tariff, plan.setting.year)
    for node, level in enumerate(unit.level):
        found = _simulated(unit, plan.setting, groups, float(level), scenarios)
        amounts[:8, :, node] = _added(found, plan.counted)
        shortfalls[:, node] = found.shortfall.max(axis=1)
        peaks[:, node], demand[:, node], amounts[8, :, node] = _peaks(plan, found)
        exported = np.minimum(found.power[:, plan.group[places]], surplus)
        for short, days in _short_days(plan, found.shortfall > 0.0):
            hours, changed, *exact = _by_the_hour(unit, plan, float(level), scenarios, short, days, found)
            amounts[:8, short, node] += changed
            by_hour = found.power[short][:, plan.group]
            by_hour[:, hours] = exact[0]
            exported[short] = np.minimum(by_hour[:, places], surplus)
            peaks[short, node] = monthly_peak(plan.setting.year, by_hour)
            if tariff.demand_rates:
                seen = found.draw[short][:, plan.group]
                seen[:, hours] = exact[1]
                demand[short, node], amounts[8, short, node] = _demand_by_the_hour(plan, seen)
        if places.size:
            worth = exported * (dearer * plan.setting.year.duration[places] / 1e3)
            amounts[6, :, node] -= _by_stretch(worth, plan.stretch[places], plan.step.size)
    lost = amounts[AMOUNTS.index("cooling_lost")]
    lost[np.abs(lost) < SMALLEST_LOSS] = 0.0
    if tariff.blocks:
        amounts[AMOUNTS.index("energy_money")] += _block_money(plan, amounts[AMOUNTS.index("energy")])
    return amounts, peaks, demand, shortfalls


def _block_money(plan: GroupedYear, energy: Array) -> Array:
    """What blocks of the tariff add, by stretch, in proportion to the month's electricity at that level."""
    month = np.eye(MONTHS_PER_YEAR)[plan.month - 1]
    whole = energy @ month
    charge = block_charge(plan.setting.tariff, whole)
    rate = np.divide(charge, whole, out=np.zeros_like(whole), where=whole > 0.0)
    return np.asarray(energy * (rate @ month.T))


def _simulated(
    unit: PerformanceTable,
    setting: Setting,
    entries: tuple[WeatherYear, CoolingLoad, float | Array | None],
    level: float,
    scenarios: Scenarios,
) -> HourlySeason:
    """What the units do in entries of given air, load and indoor wet bulb at one level."""
    year, as_it_is, bulb = entries
    factor, warmer = (np.reshape(v, (-1, 1)) for v in (scenarios.load_factor, scenarios.warmer))
    load = drawn_load(as_it_is, year.temperature, factor, warmer)
    minutes = setting.tariff.demand_minutes
    return hourly_season(unit, year, load, level, bulb, setting.running, warmer, minutes)


def _added(found: HourlySeason, counted: Counted) -> Array:
    """All of `AMOUNTS` but the last, by stretch."""
    columns = np.stack(
        [
            found.power * SECONDS_PER_HOUR,
            found.run_fraction,
            (found.shortfall > 0.0).astype(float),
            found.tripped.astype(float),
            found.served * SECONDS_PER_HOUR,
            found.lost * SECONDS_PER_HOUR,
        ]
    )
    kilowatts = found.power * (SECONDS_PER_HOUR / JOULES_PER_KWH)
    return np.concatenate([columns @ counted.hours, [kilowatts @ counted.price, kilowatts @ counted.carbon]])


def _peaks(plan: GroupedYear, found: HourlySeason) -> tuple[Array, Array, Array]:
    """Each month's highest power and demands [W], and the demand charge by stretch [money], from groups."""
    samples, rates = len(found.power), plan.setting.tariff.demand_rates
    peaks, charge = np.zeros((samples, MONTHS_PER_YEAR)), np.zeros((samples, plan.step.size))
    demand = np.zeros((samples, len(rates), MONTHS_PER_YEAR))
    row = np.arange(samples)
    for month, groups, _ in plan.in_months[0]:
        peaks[:, month - 1] = found.power[:, groups].max(axis=1)
    for number, (rate, months) in enumerate(zip(rates, plan.in_months[1:], strict=True)):
        for month, groups, stretches in months:
            top = np.argmax(found.draw[:, groups], axis=1)
            demand[:, number, month - 1] = found.draw[row, groups[top]]
            charge[row, stretches[top]] += rate.charge(demand[:, number, month - 1])
    return peaks, demand, charge


def _demand_by_the_hour(plan: GroupedYear, draw: Array) -> tuple[Array, Array]:
    """Each month's demands [W] and the demand charge by stretch [money], from every entry of the year."""
    year, row, rates = plan.setting.year, np.arange(len(draw)), plan.setting.tariff.demand_rates
    charge = np.zeros((len(draw), plan.step.size))
    demand = np.zeros((len(draw), len(rates), MONTHS_PER_YEAR))
    for number, rate in enumerate(rates):
        seen = holds(rate.window, year)
        for month in np.unique(year.month[seen]):
            entries = np.flatnonzero(seen & (year.month == month))
            top = entries[np.argmax(draw[:, entries], axis=1)]
            demand[:, number, month - 1] = draw[row, top]
            np.add.at(charge, (row, plan.stretch[top]), rate.charge(draw[row, top]))
    return demand, charge


def _short_days(plan: GroupedYear, short: BoolArray) -> Iterator[tuple[IntArray, IntArray]]:
    """Samples that fall short, a few alike at a time, with their days from one morning to the next."""
    year = plan.setting.year
    if not (plan.setting.running.makes_up and year.is_hourly):
        return
    hours = short @ plan.counted.hours.sum(axis=1)
    order = np.flatnonzero(hours)[np.argsort(hours[hours > 0.0], kind="stable")]
    for start in range(0, order.size, ALIKE):
        some = order[start : start + ALIKE]
        entries = np.flatnonzero(np.asarray(short[some].any(axis=0))[plan.group])
        yield some, np.unique((entries - MORNING_HOUR) % year.entries // HOURS_PER_DAY)


def _by_the_hour(
    unit: PerformanceTable,
    plan: GroupedYear,
    level: float,
    scenarios: Scenarios,
    short: IntArray,
    days: IntArray,
    found: HourlySeason,
) -> tuple[IntArray, Array, Array, Array]:
    """Days simulated hour by hour: their hours in the year, changes of amounts, power and its draw [W]."""
    setting = plan.setting
    entries = (MORNING_HOUR + days[:, None] * HOURS_PER_DAY + np.arange(HOURS_PER_DAY)).ravel()
    entries = entries % setting.year.entries
    year, load = setting.year.take(entries), _taken(setting.load, entries)
    bulb = setting.wet_bulb[entries] if isinstance(setting.wet_bulb, np.ndarray) else setting.wet_bulb
    some = unit if unit.samples == 1 else unit.take(short)
    exact = _simulated(some, setting, (year, load, bulb), level, scenarios.take(short))
    group = plan.group[entries]
    power, run, served, lost = (
        getattr(exact, name) - np.broadcast_to(getattr(found, name), found.power.shape)[short][:, group]
        for name in ("power", "run_fraction", "served", "lost")
    )
    kilowatts = power * (SECONDS_PER_HOUR / JOULES_PER_KWH)
    changes = np.zeros((8, *power.shape))
    changes[[0, 1, 4, 5]] = power * SECONDS_PER_HOUR, run, served * SECONDS_PER_HOUR, lost * SECONDS_PER_HOUR
    changes[6] = kilowatts * energy_price(setting.tariff, setting.year)[entries]
    changes[7] = kilowatts * carbon_by_entry(setting.tariff, setting.year)[entries]
    changes *= year.duration
    return entries, _by_stretch(changes, plan.stretch[entries], plan.step.size), exact.power, exact.draw


def _by_stretch(values: Array, stretch: IntArray, stretches: int) -> Array:
    """Sums of values of entries, their last axis, over the stretches in which they lie."""
    order = np.argsort(stretch, kind="stable")
    present, starts = np.unique(stretch[order], return_index=True)
    total = np.zeros((*values.shape[:-1], stretches))
    total[..., present] = np.add.reduceat(values[..., order], starts, axis=-1)
    return total


def _taken(load: CoolingLoad, entries: IntArray) -> CoolingLoad:
    """Load of some entries."""
    return CoolingLoad(load.sensible[entries], load.latent[entries], load.gain_coefficient)


def amount_at(priced: YearByLevel, name: str, level: ArrayLike) -> Array:
    """One of `AMOUNTS` in every stretch of the year at a course of fouling.

    Parameters
    ----------
    priced : YearByLevel
        The units' year at every level.
    name : str
        Which amount.
    level : array_like, shape (samples, 1) or (samples, steps), or one row for all
        Fouling in each step of the year [-].

    Returns
    -------
    ndarray, shape (samples, stretches)
        In the amount's unit.

    Raises
    ------
    ValueError
        Where the number of samples or steps is another.
    """
    by_stretch = _course(priced, level)[:, priced.step]
    return np.asarray(_between(priced.level, priced.amount(name)[None], by_stretch)[0])


def _course(priced: YearByLevel, level: ArrayLike) -> Array:
    """Fouling of every sample in each step of the year, shape (samples, steps)."""
    course = np.atleast_2d(np.asarray(level, dtype=float))
    steps = DAYS_PER_YEAR // priced.days_per_step
    if course.shape[0] not in (1, priced.samples) or course.shape[1] not in (1, steps):
        raise ValueError(f"level must have shape ({priced.samples}, {steps}), got {course.shape}")
    return np.broadcast_to(course, (priced.samples, steps))


def outcome_at(priced: YearByLevel, level: ArrayLike) -> SeasonOutcome:
    """A year of every sample at a course of fouling, in figures and in money.

    Parameters
    ----------
    priced : YearByLevel
        The units' year at every level.
    level : array_like, shape (samples, 1) or (samples, steps), or one row for all
        Fouling in each step of the year [-].

    Returns
    -------
    SeasonOutcome
        One row for each sample.

    Raises
    ------
    ValueError
        Where the number of samples or steps is another.
    """
    course = _course(priced, level)
    by_stretch = course[:, priced.step]
    month = np.eye(MONTHS_PER_YEAR)[priced.month - 1]
    named = dict(zip(AMOUNTS, _between(priced.level, priced.amounts, by_stretch) @ month, strict=True))
    worst = course.max(axis=1)
    by_month = by_stretch @ month / np.maximum(month.sum(axis=0), 1.0)
    shortfall = _between(priced.level, priced.worst_shortfall[None, ..., None], worst[:, None])[0, :, 0]
    gain = priced.setting.load.gain_coefficient
    totals = SeasonTotals(
        **{name: named[name] for name in AMOUNTS[:6]},
        peak_power=_between(priced.level, priced.peak_power[None], by_month)[0],
        worst_shortfall=shortfall,
        worst_room_rise=shortfall / gain if gain > 0.0 else np.zeros_like(shortfall),
        trip_temperature=np.broadcast_to(trip_temperature(priced.table, worst), shortfall.shape).copy(),
    )
    energy, demand = (
        np.rint(CENTS * named[name]).astype(np.int64) for name in ("energy_money", "demand_money")
    )
    charged = Bill(energy, demand, named["carbon"])
    return SeasonOutcome(totals, charged, unmet_cooling_cents(priced.setting.tariff, totals.cooling_lost))


def _between(nodes: Array, table: Array, level: Array) -> Array:
    """Tables (tables, samples, levels, n) read at levels (samples, n), past the end by the last slope."""
    place = level * ((nodes.size - 1) / nodes[-1])
    index = np.minimum(place.astype(np.int64), nodes.size - 2)
    sample, column = np.arange(table.shape[1])[:, None], np.arange(table.shape[3])
    low = table[:, sample, index, column]
    return np.asarray(low + (place - index) * (table[:, sample, index + 1, column] - low))
