"""Hours of a year in groups: one outdoor temperature and one load are the same to a unit, whenever they come.

A stretch is the part of one step of the year that lies in one month: what belongs to steps (fouling) and what
belongs to months (bills) are both sums over stretches.

Assumptions: hours within `TEMPERATURE_STEP` and `LOAD_STEP` of each other take their mean.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from model.arrays import Array, BoolArray, IntArray
from model.season.fouling_cost import Setting
from model.season.load import CoolingLoad
from model.season.tariff import carbon_by_entry, energy_price, holds
from model.season.weather_year import DAYS_PER_YEAR, MONTHS_PER_YEAR, UNKNOWN, WeatherYear

TEMPERATURE_STEP = 0.1
"""Outdoor temperatures that count as one [K]."""
LOAD_STEP = 0.005
"""Loads that count as one, over the year's largest [-]."""
SHORTEST = 1e-9
"""Time that an entry which does not count has in means [h]."""
COLD = 5.0
"""How far below the balance temperature no draw of the weather brings a load [K]."""


@dataclass(frozen=True)
class Counted:
    """Entries that stand for hours of the year, and how they count in each stretch of it.

    Attributes
    ----------
    year : WeatherYear
        Air of each entry.
    load : CoolingLoad
        Its load.
    wet_bulb : float or ndarray of shape (entries,), optional
        Its indoor wet bulb [K].
    hours, price, carbon : ndarray, shape (entries, stretches)
        Hours [h], hours times price [money h/kWh], hours times carbon dioxide [kg h/kWh].
    """

    year: WeatherYear
    load: CoolingLoad
    wet_bulb: float | Array | None
    hours: Array
    price: Array
    carbon: Array


@dataclass(frozen=True)
class GroupedYear:
    """Groups of a year's entries, and how they count.

    Attributes
    ----------
    setting : Setting
        Weather, load, tariff, controls.
    steps : int
        Steps of the year [-].
    step, month : ndarray of int, shape (stretches,)
        Step and month, 1 to 12, of each stretch.
    stretch, group : ndarray of int, shape (entries,)
        Stretch and group of each entry.
    counted : Counted
        The groups as entries of their own.
    in_months : tuple of tuple of (int, ndarray, ndarray)
        For all hours and for those of each demand rate: every month, its groups, and a stretch in which each
        of them occurs.
    """

    setting: Setting
    steps: int
    step: IntArray
    month: IntArray
    stretch: IntArray
    group: IntArray
    counted: Counted
    in_months: tuple[tuple[tuple[int, IntArray, IntArray], ...], ...]


def grouped_year(setting: Setting, days_per_step: int) -> GroupedYear:
    """Hours of a setting's year in groups that are the same to a unit.

    Parameters
    ----------
    setting : Setting
        Weather, load, tariff.
    days_per_step : int
        Length of a step of the year [d], a divisor of 365.

    Returns
    -------
    GroupedYear

    Raises
    ------
    ValueError
        Where a rate asks for weekdays or hours that temperature bins have not.
    """
    year = setting.year
    steps = DAYS_PER_YEAR // days_per_step
    key = (year.day // days_per_step) * (MONTHS_PER_YEAR + 1) + year.month
    kinds, stretch = np.unique(key, return_inverse=True)
    group = _groups(setting)
    step, month = np.divmod(kinds, MONTHS_PER_YEAR + 1)
    counted = _counted(setting, group, stretch, kinds.size)
    windows = [np.ones(year.entries, dtype=bool)]
    windows += [holds(rate.window, year) for rate in setting.tariff.demand_rates]
    in_months = tuple(_in_months(year.month, group, stretch, window) for window in windows)
    return GroupedYear(setting, steps, step, month, stretch, group, counted, in_months)


def _in_months(
    month: IntArray, group: IntArray, stretch: IntArray, window: BoolArray
) -> tuple[tuple[int, IntArray, IntArray], ...]:
    """Every month with entries in a window, its groups, and the first stretch with each of them."""
    found = []
    for number in np.unique(month[window]).tolist():
        entries = np.flatnonzero(window & (month == number))
        groups, first = np.unique(group[entries], return_index=True)
        found.append((number, groups, stretch[entries[first]]))
    return tuple(found)


def _groups(setting: Setting) -> IntArray:
    """Number of the group of each entry, shape (entries,)."""
    year, load = setting.year, setting.load
    total = load.total
    heat = np.rint(year.temperature / TEMPERATURE_STEP).astype(np.int64)
    amount = np.rint(total / max(float(total.max()), 1.0) / LOAD_STEP).astype(np.int64)
    cold = total <= 0.0
    if load.gain_coefficient > 0.0:
        # A warmer year brings a load to hours just below the balance temperature: they stay apart.
        near = year.temperature[cold].max(initial=0.0) - COLD
        cold &= year.temperature < near
    heat[cold] = 0
    latent = np.rint(load.latent / np.maximum(total, 1.0) / LOAD_STEP).astype(np.int64)
    keys = [heat, amount, latent, (total > 0.0).astype(np.int64)]
    if isinstance(setting.wet_bulb, np.ndarray):
        keys.append(np.rint(setting.wet_bulb / TEMPERATURE_STEP).astype(np.int64))
    number = np.zeros(year.entries, dtype=np.int64)
    for key in keys:
        _, place = np.unique(key, return_inverse=True)
        number = number * (int(place.max()) + 1) + place
        _, number = np.unique(number, return_inverse=True)
    return number


def _counted(setting: Setting, group: IntArray, stretch: IntArray, stretches: int) -> Counted:
    """Groups of entries as entries of their own, each the mean of its hours."""
    year, load = setting.year, setting.load
    hours = np.bincount(group, year.duration).astype(np.float64)
    groups = hours.size
    weight = np.maximum(year.duration, SHORTEST)

    def mean(values: Array) -> Array:
        return np.asarray(np.bincount(group, values * weight) / np.bincount(group, weight))

    def spread(values: Array) -> Array:
        counted = np.bincount(group * stretches + stretch, values * year.duration, groups * stretches)
        return np.asarray(counted.reshape(groups, stretches))

    unknown = np.full(groups, UNKNOWN)
    shared = WeatherYear(
        temperature=mean(year.temperature),
        humidity_ratio=mean(year.humidity_ratio),
        pressure=mean(year.pressure),
        duration=hours,
        month=np.ones(groups, dtype=np.int64),
        day=np.zeros(groups, dtype=np.int64),
        weekday=unknown,
        hour=unknown,
        place=year.place,
    )
    bulb = setting.wet_bulb
    return Counted(
        year=shared,
        load=CoolingLoad(mean(load.sensible), mean(load.latent), load.gain_coefficient),
        wet_bulb=mean(bulb) if isinstance(bulb, np.ndarray) else bulb,
        hours=spread(np.ones(year.entries)),
        price=spread(energy_price(setting.tariff, year)),
        carbon=spread(carbon_by_entry(setting.tariff, year)),
    )
