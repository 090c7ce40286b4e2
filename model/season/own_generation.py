"""Electricity that a household generates itself: when there is more of it than everything else uses.

A kilowatt-hour that the unit draws while the house exports is one that is not exported: it is worth the
export price, and only what it draws beyond the surplus is bought. So the surplus of each hour is all that has
to be known: what is generated less what everything else on the meter uses then.

Assumptions: a month's generation comes alike on all its days, in proportion to the sine of the sun's height
over the horizon at `LATITUDE`, by the sun's own time; what everything else uses is even over the month. The
meter nets an hour's mean powers. No battery.

References
----------
Declination of the sun, Cooper 1969, in Duffie and Beckman, Solar Engineering of Thermal Processes (from
memory).
"""

from __future__ import annotations

import numpy as np

from model.arrays import Array
from model.season.weather_year import DAYS_IN_MONTH, HOURS_PER_DAY, MONTHS_PER_YEAR, WeatherYear

LATITUDE = np.radians(40.0)
"""Latitude of the usual course of a day [rad]: of no place in particular, between 30 and 50 degrees it shifts
an hour's share by a tenth at most."""
SECONDS_PER_DAY = 86_400.0


def day_course() -> Array:
    """Share of a day's generation in each hour of the day, by month.

    Returns
    -------
    ndarray, shape (12, 24)
        [-], each row 1 together.
    """
    ends = np.cumsum(DAYS_IN_MONTH)
    middle = ends - np.array(DAYS_IN_MONTH) / 2.0
    declination = np.radians(23.45) * np.sin(2.0 * np.pi * (284.0 + middle) / 365.0)
    angle = 2.0 * np.pi * (np.arange(HOURS_PER_DAY) + 0.5 - 12.0) / HOURS_PER_DAY
    height = np.sin(declination)[:, None] * np.sin(LATITUDE) + np.outer(
        np.cos(declination) * np.cos(LATITUDE), np.cos(angle)
    )
    height = np.maximum(height, 0.0)
    return np.asarray(height / height.sum(axis=1, keepdims=True))


def surplus_power(generation: tuple[float, ...], other_use: tuple[float, ...], year: WeatherYear) -> Array:
    """What is generated beyond what everything else on the meter uses, in each entry of a year.

    Parameters
    ----------
    generation : tuple of 12 float
        Generated in each month [J].
    other_use : tuple of 12 float
        Used by everything else in each month [J]; empty for nothing.
    year : WeatherYear
        Hourly.

    Returns
    -------
    ndarray, shape (entries,)
        [W], 0 where there is none.

    Raises
    ------
    ValueError
        Where the year has no hours.
    """
    if not year.is_hourly:
        raise ValueError("generation needs an hourly weather file: temperature bins have no hours")
    days = np.array(DAYS_IN_MONTH, dtype=float)
    of_day = np.array(generation) / days
    used = np.array(other_use or (0.0,) * MONTHS_PER_YEAR) / (days * SECONDS_PER_DAY)
    by_hour = of_day[:, None] * day_course() * (HOURS_PER_DAY / SECONDS_PER_DAY)
    return np.asarray(np.maximum(by_hour[year.month - 1, year.hour] - used[year.month - 1], 0.0))
