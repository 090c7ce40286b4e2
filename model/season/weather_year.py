"""A year of outdoor weather as plain arrays: every hour of it, or the temperature bins of a rating standard.

An *entry* is a stretch of time with one state of the air: one hour of an hourly year, or one temperature bin
on one day of the cooling season. Both have a month and a day, so that fouling grows and bills are written the
same way over either; only an hourly year knows the hour of the day and the day of the week.

Assumptions: a year has 365 days. The bins are the same on every day of the cooling season.

Sources: AHRI 210/240, cooling-season bins and fractional hours (seen second-hand in open code, standard's
text not seen).
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, IntArray
from model.properties.moist_air import STANDARD_PRESSURE

DAYS_PER_YEAR = 365
"""Days in the year of this package [d]: typical years have no leap day."""
HOURS_PER_DAY = 24
"""Hours in a day [h]."""
HOURS_PER_YEAR = DAYS_PER_YEAR * HOURS_PER_DAY
"""Hours in the year of this package [h]."""
MONTHS_PER_YEAR = 12
"""Months in a year [-]."""
DAYS_IN_MONTH = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
"""Days of each month [d]."""
MONTH_OF_DAY: IntArray = np.repeat(np.arange(1, MONTHS_PER_YEAR + 1), DAYS_IN_MONTH)
"""Month, 1 to 12, of each day of the year, shape (365,)."""
UNKNOWN = -1
"""Hour or weekday of an entry that has none."""

AHRI_BIN_TEMPERATURE: Array = (np.array([67.0, 72.0, 77.0, 82.0, 87.0, 92.0, 97.0, 102.0]) + 459.67) / 1.8
"""Outdoor temperature of the eight cooling bins [K] (AHRI 210/240: 67 to 102 degF in steps of 5)."""
AHRI_BIN_FRACTION: Array = np.array([0.214, 0.231, 0.216, 0.161, 0.104, 0.052, 0.018, 0.004])
"""Share of the cooling-season hours in each bin [-] (AHRI 210/240)."""
BIN_HUMIDITY_RATIO = 0.010
"""Humidity ratio given to bin entries [kg/kg dry air]: a placeholder, the bins say nothing of moisture."""


@dataclass(frozen=True)
class WeatherYear:
    """Outdoor air and calendar of every entry of a year, in order of the calendar.

    Attributes
    ----------
    temperature : ndarray, shape (entries,)
        Outdoor dry-bulb temperature [K].
    humidity_ratio : ndarray, shape (entries,)
        Outdoor humidity ratio [kg/kg dry air].
    pressure : ndarray, shape (entries,)
        Barometric pressure [Pa].
    duration : ndarray, shape (entries,)
        Time the entry stands for [h].
    month : ndarray of int, shape (entries,)
        1 to 12.
    day : ndarray of int, shape (entries,)
        Day of the year, 0 to 364.
    weekday : ndarray of int, shape (entries,)
        0 Monday to 6 Sunday; -1 unknown.
    hour : ndarray of int, shape (entries,)
        Hour of the day that begins, 0 to 23; -1 unknown.
    place : str
        Where the weather is from.
    """

    temperature: Array
    humidity_ratio: Array
    pressure: Array
    duration: Array
    month: IntArray
    day: IntArray
    weekday: IntArray
    hour: IntArray
    place: str = ""

    @property
    def entries(self) -> int:
        """Number of entries [-]."""
        return int(self.temperature.size)

    @property
    def is_hourly(self) -> bool:
        """Whether this is a whole year hour by hour."""
        return self.entries == HOURS_PER_YEAR and bool(np.all(self.hour >= 0))

    @property
    def has_whole_days(self) -> bool:
        """Whether its entries are whole days hour by hour: a year, or some of its days."""
        first = self.hour[:1]
        clock = (first + np.arange(self.entries)) % HOURS_PER_DAY
        return self.entries % HOURS_PER_DAY == 0 and bool(np.all(first >= 0) and np.all(self.hour == clock))

    def counting(self, days: Array) -> WeatherYear:
        """The same year, some of its days counting more, less or not at all.

        Parameters
        ----------
        days : ndarray, shape (365,)
            How often each day counts [-].

        Returns
        -------
        WeatherYear
            Of as many entries.
        """
        return replace(self, duration=self.duration * days[self.day])

    def take(self, entries: IntArray) -> WeatherYear:
        """Some of its entries, in the order in which they are given.

        Parameters
        ----------
        entries : ndarray of int, shape (n,)
            Which.

        Returns
        -------
        WeatherYear
            Of n entries.
        """
        columns = {one.name: getattr(self, one.name)[entries] for one in fields(self) if one.name != "place"}
        return replace(self, **columns)


def hourly_year(
    temperature: ArrayLike,
    humidity_ratio: ArrayLike = BIN_HUMIDITY_RATIO,
    pressure: ArrayLike = STANDARD_PRESSURE,
    place: str = "",
    first_weekday: int = 0,
) -> WeatherYear:
    """A year of 8,760 hours from midnight on the first of January.

    Parameters
    ----------
    temperature : array_like, shape (8760,)
        Outdoor dry-bulb temperature [K], 180 to 340.
    humidity_ratio, pressure : array_like, shape () or (8760,)
        Outdoor humidity ratio [kg/kg dry air] and barometric pressure [Pa].
    place : str
        Where the weather is from.
    first_weekday : int
        Weekday of the first of January, 0 Monday to 6 Sunday.

    Returns
    -------
    WeatherYear

    Raises
    ------
    ValueError
        With another number of hours, or with air that cannot be.
    """
    air = np.asarray(temperature, dtype=float)
    if air.shape != (HOURS_PER_YEAR,):
        raise ValueError(f"temperature must have {HOURS_PER_YEAR} hours, got shape {air.shape}")
    if first_weekday not in range(7):
        raise ValueError(f"first_weekday must lie in 0..6, got {first_weekday}")
    moisture = np.broadcast_to(np.asarray(humidity_ratio, dtype=float), air.shape)
    barometer = np.broadcast_to(np.asarray(pressure, dtype=float), air.shape)
    _require_air(air, moisture, barometer)
    day = np.repeat(np.arange(DAYS_PER_YEAR), HOURS_PER_DAY)
    return WeatherYear(
        temperature=air,
        humidity_ratio=moisture.copy(),
        pressure=barometer.copy(),
        duration=np.ones(HOURS_PER_YEAR),
        month=MONTH_OF_DAY[day],
        day=day,
        weekday=(day + first_weekday) % 7,
        hour=np.tile(np.arange(HOURS_PER_DAY), DAYS_PER_YEAR),
        place=place,
    )


def _require_air(temperature: Array, humidity_ratio: Array, pressure: Array) -> None:
    """Raise where a year's air lies outside what the Earth has (also for NaN)."""
    limits = {
        "temperature": (temperature, 180.0, 340.0, "K"),
        "humidity_ratio": (humidity_ratio, 0.0, 0.06, "kg/kg"),
        "pressure": (pressure, 4e4, 1.2e5, "Pa"),
    }
    for name, (values, low, high, unit) in limits.items():
        wrong = ~((values >= low) & (values <= high))
        if np.any(wrong):
            hour = int(np.argmax(wrong))
            raise ValueError(
                f"{name} must lie in [{low:g}, {high:g}] {unit}, got {values[hour]:g} in hour {hour}"
            )


def bin_year(
    cooling_hours: float,
    first_day: int = 120,
    last_day: int = 272,
    temperature: ArrayLike = AHRI_BIN_TEMPERATURE,
    fraction: ArrayLike = AHRI_BIN_FRACTION,
) -> WeatherYear:
    """A cooling season made of temperature bins, the same on each of its days.

    Parameters
    ----------
    cooling_hours : float
        Hours of the cooling season in a year [h], > 0, at most 24 for each of its days.
    first_day, last_day : int
        First and last day of the cooling season, 0 to 364, both included (default 1 May to 30 September).
    temperature, fraction : array_like, shape (bins,)
        Outdoor temperature of each bin [K] and its share of the hours [-]; the shares add to one.

    Returns
    -------
    WeatherYear
        One entry for each bin on each day of the season.

    Raises
    ------
    ValueError
        Where the hours do not fit the days or the shares do not add to one.

    References
    ----------
    AHRI 210/240, cooling-season temperature bins.
    """
    bins, share = np.asarray(temperature, dtype=float), np.asarray(fraction, dtype=float)
    if not 0 <= first_day <= last_day < DAYS_PER_YEAR:
        raise ValueError(
            f"first_day and last_day must be in order within 0..364, got {first_day}, {last_day}"
        )
    days = last_day - first_day + 1
    if not 0.0 < cooling_hours <= HOURS_PER_DAY * days:
        raise ValueError(f"cooling_hours must lie in (0, {HOURS_PER_DAY * days}] h, got {cooling_hours:g}")
    if bins.shape != share.shape or np.any(share < 0.0) or abs(share.sum() - 1.0) > 1e-6:
        raise ValueError(f"fraction must be one share for each bin adding to 1, got a sum of {share.sum():g}")
    day = np.repeat(np.arange(first_day, last_day + 1), bins.size)
    unknown = np.full(day.size, UNKNOWN)
    return WeatherYear(
        temperature=np.tile(bins, days),
        humidity_ratio=np.full(day.size, BIN_HUMIDITY_RATIO),
        pressure=np.full(day.size, STANDARD_PRESSURE),
        duration=np.tile(share * cooling_hours / days, days),
        month=MONTH_OF_DAY[day],
        day=day,
        weekday=unknown,
        hour=unknown.copy(),
        place="temperature bins of AHRI 210/240",
    )


def monthly_sum(year: WeatherYear, values: ArrayLike) -> Array:
    """Sum over the entries of each month.

    Parameters
    ----------
    year : WeatherYear
        The calendar.
    values : array_like, shape (..., entries)
        Amount of each entry, in any unit.

    Returns
    -------
    ndarray, shape (..., 12)
        Sum of each month, zero for a month without entries.
    """
    amounts = np.asarray(values, dtype=float)
    total = np.zeros((*amounts.shape[:-1], MONTHS_PER_YEAR))
    present, starts = np.unique(year.month, return_index=True)
    total[..., present - 1] = np.add.reduceat(amounts, starts, axis=-1)
    return total


def monthly_peak(year: WeatherYear, values: ArrayLike) -> Array:
    """Largest value among the entries of each month, zero without entries.

    Parameters
    ----------
    year : WeatherYear
        Entries of the year.
    values : array_like, shape (..., entries)
        Of each entry, any unit.

    Returns
    -------
    ndarray, shape (..., 12)
        In the unit of the values.
    """
    amounts = np.asarray(values, dtype=float)
    peak = np.zeros((*amounts.shape[:-1], MONTHS_PER_YEAR))
    present, starts = np.unique(year.month, return_index=True)
    peak[..., present - 1] = np.maximum.reduceat(amounts, starts, axis=-1)
    return peak
