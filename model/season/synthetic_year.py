"""A typical year from what a person can look up: monthly means, daily ranges, two design temperatures.

Each day has a mean and a range. Means of a month's days are spread about the monthly mean like a normal
distribution; how widely, in the warmest and in the coldest month, is what makes the year's design
temperatures come out: the outdoor temperature exceeded in 1 % of the hours and the one exceeded in 99 %.
Between these two months the spread follows the monthly mean. Days follow one another with the persistence of
real weather, and the hours of a day follow the mean daily course of Erbs, Klein and Beckman.

Assumptions: the monthly mean moves on a smooth line through the year; days of a month are spread like normal
scores; every day has the mean course of its month, which is narrower than the mean range of its days by
`COURSE_SHARE`, as highs and lows come at other hours. The moisture is that of a fixed relative humidity at
the day's coldest hour, as dew forms then; it enters only a room whose humidity floats. The first of January
is a Monday. Where hot days are cut off by the sea, as in Miami, degree-hours above 24 degC come out a tenth
high.

References
----------
Erbs, D. G., Klein, S. A. and Beckman, W. A., Estimation of degree-days and ambient temperature bin data from
monthly-average temperatures, ASHRAE Journal 25(6), 1983: daily course of four harmonics. Knight, K. M.,
Klein, S. A. and Duffie, J. A., A methodology for the synthesis of hourly weather data, Solar Energy 46(2),
1991: random days with persistence about a known mean, and the same course. ASHRAE Handbook, Fundamentals,
climatic design information: meaning of the design temperatures. All from memory.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache, partial

import numpy as np
from scipy.special import ndtri

from model.arrays import Array
from model.properties import moist_air
from model.properties.moist_air import STANDARD_PRESSURE
from model.season.weather_year import (
    DAYS_IN_MONTH,
    DAYS_PER_YEAR,
    HOURS_PER_DAY,
    MONTH_OF_DAY,
    MONTHS_PER_YEAR,
    WeatherYear,
    hourly_year,
)

HARMONICS = ((0.4632, 3.805), (0.0984, 0.360), (0.0168, 0.822), (0.0138, 3.513))
"""Amplitude over the daily range [-] and phase [rad] of each harmonic of a day (Erbs, Klein, Beckman
1983)."""
COURSE_SHARE = 0.85
"""Height of the mean daily course over the mean of the days' ranges [-]; of the typical years of Greensboro
and Miami, where it is 0.75 to 0.92 from month to month; derived here."""
PERSISTENCE = 0.6
"""Correlation of the deviations of one day and the next [-]; common practice, no source."""
NIGHT_HUMIDITY = 0.90
"""Relative humidity at a day's coldest hour [-]; common practice, no source."""
RARE, COMMON = 0.01, 0.99
"""Shares of the year's hours that are warmer than the two design temperatures [-]."""
ORDER = 1991
"""State from which the order of days is drawn, the same for every place."""
SPREADS = (0.2, 9.0)
"""Standard deviations of daily means between which those of the extreme months are looked for [K]."""
FARTHEST = 1.0
"""How far a design temperature may be from what any spread gives [K]."""
ROUNDS = 12
"""Turns of the search for the two [-]."""


@dataclass(frozen=True)
class Climate:
    """What is known of a place.

    Attributes
    ----------
    monthly_mean : tuple of 12 float
        Mean outdoor temperature of each month [K].
    daily_range : tuple of 12 float
        Mean difference of a day's highest and lowest temperature in each month [K].
    hot : float
        Temperature exceeded in 1 % of the year's hours [K].
    cold : float
        Temperature exceeded in 99 % of them [K].
    """

    monthly_mean: tuple[float, ...]
    daily_range: tuple[float, ...]
    hot: float
    cold: float

    def __post_init__(self) -> None:
        """Refuse months that do not make a year, and design temperatures inside the mean year."""
        for name in ("monthly_mean", "daily_range"):
            if len(getattr(self, name)) != MONTHS_PER_YEAR:
                raise ValueError(f"{name} must have 12 months, got {len(getattr(self, name))}")
        if not all(0.0 < one < 40.0 for one in self.daily_range):
            raise ValueError(f"daily_range must lie in (0, 40) K, got {min(self.daily_range):g}")
        if not self.hot > max(self.monthly_mean):
            raise ValueError(f"hot must lie above the warmest month, {max(self.monthly_mean):g} K")
        if not self.cold < min(self.monthly_mean):
            raise ValueError(f"cold must lie below the coldest month, {min(self.monthly_mean):g} K")


def synthetic_year(climate: Climate, pressure: float = STANDARD_PRESSURE, place: str = "") -> WeatherYear:
    """A typical year of a climate.

    Parameters
    ----------
    climate : Climate
        Monthly means, daily ranges, design temperatures.
    pressure : float
        Barometric pressure [Pa].
    place : str
        Where it is.

    Returns
    -------
    WeatherYear
        Of 8,760 hours.

    Raises
    ------
    ValueError
        Where no spread of days gives the design temperatures.
    """
    return _year_of(climate, pressure, place)


@lru_cache(maxsize=8)
def _year_of(climate: Climate, pressure: float, place: str) -> WeatherYear:
    usual, course = _smooth_means(climate), _daily_course(climate)
    warm, cold = _spreads(climate, usual, course)
    temperature = _temperature(climate, usual, course, warm, cold)
    night = temperature.reshape(DAYS_PER_YEAR, HOURS_PER_DAY).min(axis=1)
    moisture = moist_air.humidity_ratio_from_relative_humidity(night, NIGHT_HUMIDITY, pressure)
    return hourly_year(temperature, np.repeat(moisture, HOURS_PER_DAY), pressure, place)


def _smooth_means(climate: Climate) -> Array:
    """Usual mean of each day, by straight lines that keep the monthly means [K]."""
    ends = np.cumsum(DAYS_IN_MONTH)
    middle = ends - np.array(DAYS_IN_MONTH) / 2.0 - 0.5
    target, node = np.array(climate.monthly_mean), np.array(climate.monthly_mean)
    day = np.arange(DAYS_PER_YEAR)
    for _ in range(50):
        means = np.interp(day, middle, node, period=DAYS_PER_YEAR)
        node = node + target - np.bincount(MONTH_OF_DAY - 1, means) / np.array(DAYS_IN_MONTH)
    return np.asarray(means)


def _daily_course(climate: Climate) -> Array:
    """Temperature of every hour over its day's mean, shape (365, 24) [K]."""
    clock = 2.0 * np.pi * (np.arange(HOURS_PER_DAY) + 0.5 - 1.0) / HOURS_PER_DAY
    size, phase = np.array(HARMONICS).T[:, :, None]
    waves = np.sum(size * np.cos(np.arange(1, len(HARMONICS) + 1)[:, None] * clock - phase), axis=0)
    course = (waves - waves.mean()) * (COURSE_SHARE / np.ptp(waves))
    return np.asarray(np.array(climate.daily_range)[MONTH_OF_DAY - 1][:, None] * course)


@lru_cache(maxsize=1)
def _scores() -> Array:
    """Normal scores of the days of every month, in an order with persistence, shape (365,)."""
    draw = np.random.default_rng(ORDER)
    walk = np.zeros(DAYS_PER_YEAR)
    for day in range(1, DAYS_PER_YEAR):
        walk[day] = PERSISTENCE * walk[day - 1] + draw.standard_normal()
    scores = np.zeros(DAYS_PER_YEAR)
    for month, days in enumerate(DAYS_IN_MONTH):
        mine = np.flatnonzero(month + 1 == MONTH_OF_DAY)
        scores[mine[np.argsort(walk[mine])]] = ndtri((np.arange(days) + 0.5) / days)
    return scores


def _temperature(climate: Climate, usual: Array, course: Array, warm: float, cold: float) -> Array:
    """Temperature of every hour [K] with spreads of daily means in the warmest and the coldest month [K]."""
    monthly = np.array(climate.monthly_mean)
    share = (monthly - monthly.min()) / max(float(np.ptp(monthly)), 1e-6)
    spread = cold + (warm - cold) * share
    days = usual + spread[MONTH_OF_DAY - 1] * _scores()
    return np.asarray((days[:, None] + course).ravel())


def _spreads(climate: Climate, usual: Array, course: Array) -> tuple[float, float]:
    """Spreads of the warmest and the coldest month that give the design temperatures [K]."""

    def exceeded(warm: float, cold: float, share: float) -> float:
        return _exceeded(_temperature(climate, usual, course, warm, cold), share)

    warm = cold = 3.0
    for _ in range(ROUNDS):
        warm = _bisected(partial(exceeded, cold=cold, share=RARE), climate.hot)
        # A wider spread makes the coldest hours colder.
        cold = _bisected(partial(_colder, partial(exceeded, warm, share=COMMON)), -climate.cold)
    for name, share, asked in (("hot", RARE, climate.hot), ("cold", COMMON, climate.cold)):
        nearest = exceeded(warm, cold, share)
        if abs(nearest - asked) > FARTHEST:
            raise ValueError(
                f"{name} must be near {nearest:.1f} K with these monthly means and daily ranges, "
                f"got {asked:.1f}"
            )
    return warm, cold


def _colder(exceeded: Callable[[float], float], spread: float) -> float:
    """How cold it gets: the negative of a temperature that is exceeded [K]."""
    return -exceeded(spread)


def _exceeded(temperature: Array, share: float) -> float:
    """Temperature that is exceeded in a share of the hours [K]."""
    return float(np.quantile(temperature, 1.0 - share))


def _bisected(value: Callable[[float], float], asked: float) -> float:
    """Spread at which a rising value is what is asked, else the nearest end [K]."""
    low, high = SPREADS
    for _ in range(18):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if value(middle) < asked else (low, middle)
    return 0.5 * (low + high)
