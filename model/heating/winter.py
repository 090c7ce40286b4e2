"""A heating season of one heat pump at every level of fouling: electricity, backup heat, money, carbon.

Entry by entry of a weather year the heating load is set against what the heat pump gives at that outdoor air
and fouling, frost and defrost taken off. Where it gives more it cycles, and loses some of it on the way;
where it gives less, or is locked out by cold, backup heat makes up the rest, unless that is locked out by
warmth: then heat is unmet. The outdoor temperature below which backup is needed is the balance point.

What depends on a whole month, demand and the blocks of a tariff, is added where the cooling season of the
same meter is known (`model.heating.one_meter`).

Assumptions: the load is a straight line of the outdoor temperature of the same entry, zero from the
temperature of no load on; no storage. Between the points of the table all is a straight line. A point at a
pressure limit gives no heat. The demand meter sees electric backup heat as its mean, the cycling heat pump as
in cooling.

References
----------
AHRI 210/240: part-load factor 1 - Cd (1 - X) with Cd 0.25 in heating; heating load line of the building,
0.77 Q(47) (65 - T) / 60 in region IV (T in degF; both from memory). Natural gas 0.181 kg/kWh, burnt at 80 %
(EPA emission factor, from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, IntArray
from model.properties import moist_air
from model.season.metered_draw import draw_seen
from model.season.tariff import CENTS, Tariff, carbon_by_entry, energy_price, holds, own_surplus
from model.season.weather_year import DAYS_PER_YEAR, MONTHS_PER_YEAR, WeatherYear

HEATING_CYCLING = 0.25
"""Cd of heating, loss of efficiency by cycling at no load [-] (AHRI 210/240)."""
NO_HEATING_ABOVE, AHRI_COLD = 291.483, 258.15
"""Outdoor temperature of no load, 65 degF, and 5 degF, at which the standard's region IV has its load [K]."""
AHRI_LOAD_SHARE = 0.77
"""Load of the standard's region IV at 5 degF over the rated heating capacity [-]."""
BACKUP_CARBON = 0.226
"""Carbon dioxide of a kilowatt-hour of heat from gas [kg/kWh]."""
DRIEST, STEAMIEST = 0.3, 1.0
"""Relative humidities between which a table reads outdoor air [-]."""
SECONDS_PER_HOUR = 3600.0
SAMPLES_AT_ONCE = 16
"""Samples simulated together [-]."""


@dataclass(frozen=True)
class HeatingTable:
    """A heat pump's mean performance on a grid; every axis in equal steps.

    Attributes
    ----------
    outdoor, humidity, level : ndarray
        Outdoor dry bulb [K], relative humidity of outdoor air [-], blocked share of the outdoor coil [-].
    capacity, power : ndarray, shape (samples, levels, humidities, outdoor)
        Heat to the room and electrical power while running, frost and defrost taken off [W].
    """

    outdoor: Array
    humidity: Array
    level: Array
    capacity: Array
    power: Array


@dataclass(frozen=True)
class HeatingRules:
    """Load and controls of a heating season.

    Attributes
    ----------
    no_load, design_outdoor : float
        Outdoor temperature of no load, and that of the design day [K].
    design_load : float
        Load there [W].
    cycling : float
        Cd [-].
    credit : float
        Factor of defrost on demand on the efficiency [-], 1 for none.
    backup_price, backup_carbon : float or None
        Price [money/kWh] and carbon dioxide [kg/kWh] of backup heat; None for electric resistance.
    backup_below : float
        Outdoor temperature from which on backup heat is locked out [K]; inf where never.
    pump_above : float
        Outdoor temperature below which the heat pump is locked out [K]; 0 where never.
    """

    no_load: float
    design_outdoor: float
    design_load: float
    cycling: float = HEATING_CYCLING
    credit: float = 1.0
    backup_price: float | None = None
    backup_carbon: float | None = None
    backup_below: float = np.inf
    pump_above: float = 0.0

    def __post_init__(self) -> None:
        """Refuse a load line that does not fall with the temperature."""
        if not self.design_outdoor < self.no_load:
            raise ValueError(
                f"design_outdoor must be below no_load, got {self.design_outdoor:g} and {self.no_load:g}"
            )
        if not self.design_load > 0.0:
            raise ValueError(f"design_load must be above 0, got {self.design_load:g}")

    def load(self, outdoor: ArrayLike) -> Array:
        """Heating load [W] at outdoor temperatures [K]."""
        share = (self.no_load - np.asarray(outdoor, dtype=float)) / (self.no_load - self.design_outdoor)
        return np.asarray(self.design_load * np.maximum(share, 0.0))


@dataclass(frozen=True)
class WinterAmounts:
    """What a heating season comes to, months along the last axis, or any stretch of time.

    electricity of the heat pump [J], backup_heat [J], heat from both [J], unmet [J], run_hours [h], money
    (all of it), backup_money [money], carbon [kg].
    """

    electricity: Array
    backup_heat: Array
    heat: Array
    unmet: Array
    run_hours: Array
    money: Array
    backup_money: Array
    carbon: Array

    def changed(self, change: Callable[[Array], Array]) -> WinterAmounts:
        """The same with a function of every amount."""
        return WinterAmounts(**{one.name: change(getattr(self, one.name)) for one in fields(self)})


@dataclass(frozen=True)
class WinterByLevel:
    """A heating season of many samples at every level.

    Attributes
    ----------
    level : ndarray, shape (levels,)
        [-], from 0.
    step, month : ndarray of int, shape (stretches,)
        Step of the year and month, 1 to 12, of each stretch.
    amounts : WinterAmounts
        Arrays of shape (samples, levels, stretches).
    days_per_step : int
        Length of a step [d].
    metered : ndarray, shape (samples, levels, stretches)
        What of it is on the electricity meter: all but backup heat of another fuel [J].
    demand : ndarray, shape (samples, levels, rates, 12)
        What the demand meter sees at most in each month, by demand rate of the tariff [W].
    demand_stretch : ndarray of int, of that shape
        Stretch in which it does.
    """

    level: Array
    step: IntArray
    month: IntArray
    amounts: WinterAmounts
    days_per_step: int
    metered: Array
    demand: Array
    demand_stretch: IntArray

    @property
    def samples(self) -> int:
        """Number of samples [-]."""
        return int(self.amounts.money.shape[0])

    def cost_by_step(self, level: Array) -> Array:
        """Money of each step of the year at other levels, shape (samples, steps, len(level)).

        Parameters
        ----------
        level : ndarray, shape (n,)
            [-]; beyond the last level its slope goes on.
        """
        steps = DAYS_PER_YEAR // self.days_per_step
        of_step = np.eye(steps)[self.step]
        by_step = self.amounts.money @ of_step
        return np.ascontiguousarray(np.moveaxis(_along_levels(self.level, by_step, level), 1, 2))

    def year(self, level: ArrayLike) -> WinterAmounts:
        """Months of a year at a course of fouling, shape (samples, 12).

        Parameters
        ----------
        level : array_like, shape (samples, 1) or (samples, steps), or one row for all
            Fouling in each step of the year [-].
        """
        course = np.atleast_2d(np.asarray(level, dtype=float))
        steps = DAYS_PER_YEAR // self.days_per_step
        course = np.broadcast_to(course, (self.samples, steps))[:, self.step]
        of_month = np.eye(MONTHS_PER_YEAR)[self.month - 1]

        def read(values: Array) -> Array:
            low, place = _place(self.level, course)
            sample, column = np.arange(values.shape[0])[:, None], np.arange(values.shape[2])
            first = values[sample, low, column]
            return np.asarray((first + place * (values[sample, low + 1, column] - first)) @ of_month)

        return self.amounts.changed(read)


def _place(nodes: Array, level: Array) -> tuple[IntArray, Array]:
    """Cell of each level and how far in it lies, past the end by the last slope."""
    number = np.clip(np.searchsorted(nodes, level, side="right") - 1, 0, nodes.size - 2)
    return number, (level - nodes[number]) / (nodes[number + 1] - nodes[number])


def _along_levels(nodes: Array, values: Array, level: Array) -> Array:
    """Values (samples, nodes, n) at other levels, shape (samples, levels, n)."""
    low, place = _place(nodes, level)
    first = values[:, low]
    return np.asarray(first + place[:, None] * (values[:, low + 1] - first))


def winter_by_level(
    table: HeatingTable,
    year: WeatherYear,
    rules: HeatingRules,
    tariff: Tariff,
    days_per_step: int = 5,
    load_factor: ArrayLike = 1.0,
) -> WinterByLevel:
    """A heating season of every sample at every level of a table.

    Parameters
    ----------
    table : HeatingTable
        The heat pump.
    year : WeatherYear
        Outdoor air, hour by hour.
    rules : HeatingRules
        Load and controls.
    tariff : Tariff
        What electricity costs.
    days_per_step : int
        Length of a step of the year [d], a divisor of 365.
    load_factor : array_like, shape () or (samples,)
        Load over that of the rules [-].

    Returns
    -------
    WinterByLevel

    Raises
    ------
    ValueError
        Where the year is not hourly.
    """
    if not year.is_hourly:
        raise ValueError("a heating season needs an hourly year, got temperature bins")
    key = (year.day // days_per_step) * MONTHS_PER_YEAR + year.month - 1
    stretches, stretch = np.unique(key, return_inverse=True)
    cold = np.flatnonzero(rules.load(year.temperature) > 0.0)
    air = year.take(cold)
    corners = _corners(table, air)
    prices = _Prices.of(tariff, year, cold)
    of_stretch = np.zeros((cold.size, stretches.size))
    of_stretch[np.arange(cold.size), stretch[cold]] = 1.0
    samples = table.capacity.shape[0]
    factor = np.broadcast_to(np.asarray(load_factor, dtype=float), (samples,))
    parts: dict[str, list[Array]] = {}
    demands = []
    for start in range(0, samples, SAMPLES_AT_ONCE):
        part = slice(start, start + SAMPLES_AT_ONCE)
        load = factor[part, None, None] * rules.load(air.temperature)
        capacity, power = (_read_table(values[part], corners) for values in (table.capacity, table.power))
        found, working = _hours(capacity, power, load, (air.temperature, rules), prices)
        for name, values in found.items():
            parts.setdefault(name, []).append(values @ of_stretch)
        demands.append(_demands(working, tariff, air, stretch[cold]))
    demand, place = (np.concatenate(one) for one in zip(*demands, strict=True))
    whole = {name: np.concatenate(values) for name, values in parts.items()}
    metered = whole.pop("metered")
    return WinterByLevel(
        level=table.level,
        step=(stretches // MONTHS_PER_YEAR).astype(np.int64),
        month=(stretches % MONTHS_PER_YEAR + 1).astype(np.int64),
        amounts=WinterAmounts(**whole),
        days_per_step=days_per_step,
        metered=metered,
        demand=demand,
        demand_stretch=place,
    )


class _Working(NamedTuple):
    """Power of the heat pump at work [W], share of the time that it is [-], electric backup heat [W]."""

    power: Array
    run: Array
    electric: Array


def _demands(
    working: _Working, tariff: Tariff, air: WeatherYear, stretch: IntArray
) -> tuple[Array, IntArray]:
    """What the demand meter sees at most in each month [W], by rate, and the stretch in which it does."""
    shape = (*working.run.shape[:2], len(tariff.demand_rates), MONTHS_PER_YEAR)
    demand, place = np.zeros(shape), np.zeros(shape, dtype=np.int64)
    if not tariff.demand_rates:
        return demand, place
    off = np.zeros_like(working.run)
    draw = draw_seen([off, working.power], working.run[None], tariff.demand_minutes) + working.electric
    for number, rate in enumerate(tariff.demand_rates):
        window = holds(rate.window, air)
        for month in np.unique(air.month[window]):
            entries = np.flatnonzero(window & (air.month == month))
            top = np.argmax(draw[:, :, entries], axis=2)
            demand[:, :, number, month - 1] = draw[:, :, entries].max(axis=2)
            place[:, :, number, month - 1] = stretch[entries][top]
    return demand, place


class _Prices(NamedTuple):
    """Of each hour with a load: price, carbon, what the house exports, and what buying costs over that."""

    price: Array
    carbon: Array
    surplus: Array
    dearer: Array

    @staticmethod
    def of(tariff: Tariff, year: WeatherYear, hours: IntArray) -> _Prices:
        """Of some hours of a year."""
        surplus, dearer = np.zeros(year.entries), np.zeros(year.entries)
        places, exported, over = own_surplus(tariff, year)
        surplus[places], dearer[places] = exported, over
        price, carbon = energy_price(tariff, year), carbon_by_entry(tariff, year)
        return _Prices(*(one[hours] for one in (price, carbon, surplus, dearer)))


def _hours(
    capacity: Array, power: Array, load: Array, at: tuple[Array, HeatingRules], prices: _Prices
) -> tuple[dict[str, Array], _Working]:
    """All of `WinterAmounts` and what is metered for each hour, and what is at work.

    Arrays (samples, levels, hours).
    """
    outdoor, rules = at
    able = np.where(outdoor >= rules.pump_above, np.maximum(capacity, 0.0), 0.0)
    given = np.minimum(load, able)
    fraction = np.divide(given, able, out=np.zeros_like(given), where=able > 0.0)
    run = fraction / (1.0 - rules.cycling * (1.0 - fraction))
    at_work = power / rules.credit
    used = at_work * run
    rest = load - given
    backup = np.where(outdoor < rules.backup_below, rest, 0.0)
    electric = backup if rules.backup_price is None else np.zeros_like(backup)
    on_meter = used + electric
    dearness = prices.price if rules.backup_price is None else rules.backup_price
    dirt = prices.carbon if rules.backup_price is None else rules.backup_carbon or BACKUP_CARBON
    kilowatts, backup_kilowatts = used / 1e3, backup / 1e3
    exported = np.minimum(on_meter, prices.surplus) / 1e3 * prices.dearer
    amounts = {
        "electricity": used * SECONDS_PER_HOUR,
        "backup_heat": backup * SECONDS_PER_HOUR,
        "heat": (given + backup) * SECONDS_PER_HOUR,
        "unmet": (rest - backup) * SECONDS_PER_HOUR,
        "run_hours": run,
        "money": kilowatts * prices.price + backup_kilowatts * dearness - exported,
        "backup_money": backup_kilowatts * dearness,
        "carbon": kilowatts * prices.carbon + backup_kilowatts * dirt,
        "metered": on_meter * SECONDS_PER_HOUR,
    }
    return amounts, _Working(at_work, run, electric)


def _corners(table: HeatingTable, air: WeatherYear) -> tuple[tuple[IntArray, Array], ...]:
    """Flat places of the four grid points about each hour's air, and their weights."""
    share = moist_air.relative_humidity(air.temperature, np.maximum(air.humidity_ratio, 1e-5), air.pressure)
    humid = np.clip(share, table.humidity[0], table.humidity[-1])
    cold = np.clip(air.temperature, table.outdoor[0], table.outdoor[-1])
    row, up = _place(table.humidity, humid)
    column, east = _place(table.outdoor, cold)
    width = table.outdoor.size
    return tuple(
        ((row + r) * width + column + c, (up if r else 1.0 - up) * (east if c else 1.0 - east))
        for r in (0, 1)
        for c in (0, 1)
    )


def _read_table(values: Array, corners: tuple[tuple[IntArray, Array], ...]) -> Array:
    """Values (samples, levels, humidities, outdoor) in each hour, shape (samples, levels, hours)."""
    flat = values.reshape(*values.shape[:2], -1)
    total = np.zeros((*values.shape[:2], corners[0][0].size))
    for place, weight in corners:
        total += weight * flat[:, :, place]
    return total


def balance_point(
    table: HeatingTable, rules: HeatingRules, level: float = 0.0, humidity: float = 0.75
) -> float:
    """Outdoor temperature below which the heat pump alone no longer meets the load.

    Parameters
    ----------
    table : HeatingTable
        Its first sample counts.
    rules : HeatingRules
        Load and controls.
    level : float
        Fouling [-].
    humidity : float
        Of the outdoor air [-].

    Returns
    -------
    float
        [K]; the table's coldest where it meets the load even there.
    """
    fine = np.linspace(table.outdoor[0], min(rules.no_load, table.outdoor[-1]), 600)
    row, up = _place(table.humidity, np.array(humidity))
    number, place = _place(table.level, np.array(level))
    by_humidity = table.capacity[0, :, row] + up * (table.capacity[0, :, row + 1] - table.capacity[0, :, row])
    line = by_humidity[number] + place * (by_humidity[number + 1] - by_humidity[number])
    short = np.interp(fine, table.outdoor, line) < rules.load(fine)
    return float(fine[np.flatnonzero(short)[-1]]) if short.any() else float(fine[0])


def cents(money: Array) -> IntArray:
    """Money in whole cents.

    Parameters
    ----------
    money : ndarray
        [money].

    Returns
    -------
    ndarray of int
        [cents], of the same shape.
    """
    return np.rint(money * CENTS).astype(np.int64)
