"""How fouling grows: at a steady rate, towards a limit, in bursts of the season, and washed off by rain.

Level x is the field of `model.cycle.faults.Faults` that grows (0 clean; blocked face of a condenser, rise
of the air pressure drop of an evaporator), in that field's unit. It grows at `rate` a year from clean. Linear
growth keeps that rate up to the limit; asymptotic growth (Kern and Seaton 1959) slows down as deposit and
removal come into balance, x = limit (1 - exp(-t / tau)) with tau = limit / rate. A year's growth need not be
spread evenly: a share of it may come in bursts (seed fluff, pollen, harvest dust), and wet days may wash a
fraction off. Each of these is a straight-line map of level from one day to the next, x' = keep x + gain,
so whole years and thousands of samples go through a few array operations.

Defaults for a condenser are inferred, not measured; nobody has published a growth rate of blocked face. The
fast end (95 in 100 units slower) is a loss of 5 % a year, the mean of whole-system losses in Fenaughty and
Parker 2018, if all of it were the condenser; the slow end (5 in 100 slower) is a loss of 7 % over a life of
15 years, the largest change that Mehrabi and Yuill 2018 found when nine field-dirty condensers were cleaned
(their mean was about zero). Losses become blocked face by Breuker and Braun 1998: 56 % blocked lost 17.9 % of
COP (from memory). The middle, 0.05 a year, then needs four years to reach the 6.1 % saving that the New
Jersey technical reference manual deems a condenser cleaning to bring.

References
----------
Kern, D. Q. and Seaton, R. E., A theoretical analysis of thermal surface fouling, British Chemical Engineering
4(5), 1959 (form from memory). Siegel, J., Walker, I. and Sherman, M., LBNL-49757, 2002. Fenaughty, K. and
Parker, D., FSEC-PF-474-18, 2018. Mehrabi, M. and Yuill, D., Purdue IRACC paper 1884, 2018. Breuker, M. S. and
Braun, J. E., 1998.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array
from model.season.weather_year import DAYS_PER_YEAR, MONTH_OF_DAY

_BLOCKED_PER_COP_LOSS = 0.56 / 0.179
"""Blocked face over the share of COP that it costs [-] (Breuker and Braun 1998, from memory)."""
_SERVICE_LIFE = 15.0
"""Years that a condenser serves [a]; common practice, no source."""
CONDENSER_RATE_HIGH = 0.05 * _BLOCKED_PER_COP_LOSS
"""Growth of blocked face that 95 in 100 condensers stay below [1/a]: 0.156 (see the module's text)."""
CONDENSER_RATE_LOW = 0.07 * _BLOCKED_PER_COP_LOSS / _SERVICE_LIFE
"""Growth of blocked face that 5 in 100 condensers stay below [1/a]: 0.0146 (see the module's text)."""
EVAPORATOR_RATE = 1.0 / 7.5
"""Growth of an evaporator's air pressure drop over the clean one [1/a] (Siegel et al. 2002: doubled in 7.5
years).
"""
EVAPORATOR_SPREAD = 2.0
"""Factor either way that holds nine in ten evaporators [-]; a choice of this package, none is published."""
LARGEST_LEVEL = 0.8
"""Level at which growth ends where no limit is given [-]; a choice of this package."""
LARGEST_PRESSURE_RISE = 6.0
"""Rise of an evaporator's air pressure drop at which growth ends [-]; a choice of this package."""
NORMAL_95 = 1.6448536269514722
"""95th percentile of the standard normal distribution [-]."""

Law = Literal["linear", "asymptotic"]


@dataclass(frozen=True)
class Burst:
    """A part of the year's growth that comes within a few weeks.

    Attributes
    ----------
    name : str
        What comes.
    middle_day : int
        Day of the year in its middle, 0 to 364.
    spread_days : float
        Standard deviation around that day [d], > 0.
    share : float
        Share of the year's growth that comes with it [-], in (0, 1].
    """

    name: str
    middle_day: int
    spread_days: float
    share: float

    def __post_init__(self) -> None:
        """Refuse a burst that does not fit a year."""
        if not 0 <= self.middle_day < DAYS_PER_YEAR:
            raise ValueError(f"middle_day must lie in 0..364, got {self.middle_day}")
        if not self.spread_days > 0.0:
            raise ValueError(f"spread_days must be above 0 d, got {self.spread_days:g}")
        if not 0.0 < self.share <= 1.0:
            raise ValueError(f"share must lie in (0, 1], got {self.share:g}")


SEED_FLUFF = Burst("seed fluff", 150, 10.0, 0.4)
"""Cottonwood and poplar seed around the end of May, northern temperate climates; common practice, no source.
"""
POLLEN = Burst("pollen", 115, 20.0, 0.2)
"""Tree and grass pollen around the end of April; common practice, no source."""
HARVEST = Burst("harvest dust", 270, 15.0, 0.3)
"""Field dust around the end of September; common practice, no source."""


@dataclass(frozen=True)
class RainWash:
    """Rain that takes some of the dirt with it.

    Attributes
    ----------
    wet_days : tuple of 12 float
        Days with enough rain in each month [d].
    removed : float
        Share of the level that one such day removes [-], in [0, 1).
    """

    wet_days: tuple[float, ...]
    removed: float

    def __post_init__(self) -> None:
        """Refuse months that do not make a year, or a share out of range."""
        if len(self.wet_days) != 12 or not all(0.0 <= days <= 28.0 for days in self.wet_days):
            raise ValueError(f"wet_days must be 12 numbers of days in [0, 28], got {self.wet_days}")
        if not 0.0 <= self.removed < 1.0:
            raise ValueError(f"removed must lie in [0, 1), got {self.removed:g}")


@dataclass(frozen=True)
class FoulingGrowth:
    """How the level of a fouling grows.

    Attributes
    ----------
    rate : float or ndarray of shape (samples,)
        Growth from clean [1/a], 0 or more.
    limit : float or ndarray of shape (samples,)
        Largest level [-]: where linear growth ends, what asymptotic growth tends to.
    law : "linear" or "asymptotic"
    bursts : tuple of Burst
        Parts of the year's growth that come together; what is left of it is spread evenly.
    wash : RainWash, optional
    """

    rate: float | Array
    limit: float | Array = LARGEST_LEVEL
    law: Law = "linear"
    bursts: tuple[Burst, ...] = ()
    wash: RainWash | None = None

    def __post_init__(self) -> None:
        """Refuse rates, limits and shares out of range."""
        rate, limit = np.asarray(self.rate, dtype=float), np.asarray(self.limit, dtype=float)
        if not (np.all(rate >= 0.0) and np.all(np.isfinite(rate))):
            raise ValueError(f"rate must be 0 or more a year, got {rate.min():g}")
        if not np.all((limit > 0.0) & (limit < np.inf)):
            raise ValueError(f"limit must be above 0, got {limit.min():g}")
        if self.law not in ("linear", "asymptotic"):
            raise ValueError(f"law must be 'linear' or 'asymptotic', got {self.law!r}")
        share = sum(burst.share for burst in self.bursts)
        if share > 1.0 + 1e-9:
            raise ValueError(f"bursts must share at most the whole year's growth, got {share:g}")


@dataclass(frozen=True)
class GrowthSteps:
    """Growth as one straight-line map for each step of the year: level after = keep × before + gain.

    Attributes
    ----------
    keep, gain : ndarray, shape (samples, steps)
        The two numbers of each map [-].
    limit : ndarray, shape (samples, 1)
        Largest level [-].
    days_per_step : int
        Length of a step [d].
    """

    keep: Array
    gain: Array
    limit: Array
    days_per_step: int

    @property
    def steps(self) -> int:
        """Steps in a year [-]."""
        return int(self.keep.shape[1])


def linear_level(years: ArrayLike, rate: ArrayLike) -> Array:
    """Level of linear growth from clean.

    Parameters
    ----------
    years : array_like
        Time since it was clean [a].
    rate : array_like
        Growth [1/a].

    Returns
    -------
    ndarray
        Level [-], shape of the broadcast inputs.
    """
    return np.asarray(np.asarray(years, dtype=float) * np.asarray(rate, dtype=float))


def asymptotic_level(years: ArrayLike, limit: ArrayLike, time_constant: ArrayLike) -> Array:
    """Level of growth from clean towards a limit.

    Parameters
    ----------
    years : array_like
        Time since it was clean [a].
    limit : array_like
        Level that is reached in the end [-].
    time_constant : array_like
        Time to reach 63 % of the limit [a], above 0.

    Returns
    -------
    ndarray
        Level [-], shape of the broadcast inputs.

    References
    ----------
    Kern and Seaton 1959, x = limit (1 - exp(-t / tau)).
    """
    span = np.asarray(years, dtype=float) / np.asarray(time_constant, dtype=float)
    return np.asarray(np.asarray(limit, dtype=float) * -np.expm1(-span))


def daily_share(bursts: tuple[Burst, ...]) -> Array:
    """Share of a year's growth that falls on each day.

    Parameters
    ----------
    bursts : tuple of Burst
        Seasons of seed fluff, pollen or harvest; their shares add to one at most.

    Returns
    -------
    ndarray, shape (365,)
        Shares adding to one [-].
    """
    day = np.arange(DAYS_PER_YEAR)
    even = max(1.0 - sum(burst.share for burst in bursts), 0.0)
    share = np.full(DAYS_PER_YEAR, even / DAYS_PER_YEAR)
    for burst in bursts:
        apart = np.abs(day - burst.middle_day)
        apart = np.minimum(apart, DAYS_PER_YEAR - apart)
        bell = np.exp(-0.5 * (apart / burst.spread_days) ** 2)
        share += burst.share * bell / bell.sum()
    return share


def growth_steps(growth: FoulingGrowth, days_per_step: int = 1) -> GrowthSteps:
    """The growth of a year as maps from step to step.

    Parameters
    ----------
    growth : FoulingGrowth
    days_per_step : int
        Length of a step [d], a divisor of 365: 1, 5, 73 or 365.

    Returns
    -------
    GrowthSteps

    Raises
    ------
    ValueError
        Where the steps do not fill a year.
    """
    if days_per_step < 1 or DAYS_PER_YEAR % days_per_step:
        raise ValueError(f"days_per_step must divide {DAYS_PER_YEAR}, got {days_per_step}")
    rate, limit = (np.atleast_1d(np.asarray(v, dtype=float))[:, None] for v in (growth.rate, growth.limit))
    arriving = rate * daily_share(growth.bursts)
    if growth.law == "asymptotic":
        keep = np.exp(-arriving / limit)
        gain = limit * -np.expm1(-arriving / limit)
    else:
        keep, gain = np.ones_like(arriving), arriving
    if growth.wash is not None:
        left = _left_by_rain(growth.wash)
        keep, gain = keep * left, gain * left
    whole_keep, whole_gain = np.ones_like(keep[:, ::days_per_step]), np.zeros_like(keep[:, ::days_per_step])
    for day in range(days_per_step):
        step_keep, step_gain = keep[:, day::days_per_step], gain[:, day::days_per_step]
        whole_keep, whole_gain = whole_keep * step_keep, whole_gain * step_keep + step_gain
    samples = whole_keep.shape[0]
    return GrowthSteps(whole_keep, whole_gain, np.broadcast_to(limit, (samples, 1)), days_per_step)


def _left_by_rain(wash: RainWash) -> Array:
    """Share of the level left after each day's chance of rain [-], shape (365,)."""
    days_in_month = np.bincount(MONTH_OF_DAY)[1:]
    chance = np.asarray(wash.wet_days, dtype=float) / days_in_month
    return np.asarray((1.0 - wash.removed) ** chance[MONTH_OF_DAY - 1])


def level_path(
    steps: GrowthSteps, start: ArrayLike = 0.0, first_step: int = 0, length: int | None = None
) -> Array:
    """Level at the beginning of each step from a start, without any cleaning.

    Parameters
    ----------
    steps : GrowthSteps
    start : array_like, shape () or (samples,)
        Level at the beginning [-].
    first_step : int
        Step of the year at which to begin.
    length : int, optional
        Number of steps to go; a year where left out.

    Returns
    -------
    ndarray, shape (samples, length + 1)
        The last value is the level after the last step.
    """
    length = steps.steps if length is None else length
    begin = np.atleast_1d(np.asarray(start, dtype=float))[:, None]
    limit = np.maximum(steps.limit, begin)
    level = np.broadcast_to(begin, np.broadcast_shapes(begin.shape, limit.shape))
    path = [level]
    for step in range(first_step, first_step + length):
        column = [step % steps.steps]
        level = np.minimum(steps.keep[:, column] * level + steps.gain[:, column], limit)
        path.append(level)
    return np.concatenate(path, axis=1)


def coming_year(growth: FoulingGrowth, level_today: ArrayLike, today: int) -> Array:
    """Level on each day of the year to come, in the order of the calendar.

    Parameters
    ----------
    growth : FoulingGrowth
    severity_today : array_like, shape () or (samples,)
        Level today [-].
    today : int
        Day of the year, 0 to 364.

    Returns
    -------
    ndarray, shape (samples, 365)
        Days before `today` are those of the next calendar year: what
        `model.season.fouling_cost.season_outcomes` takes.

    Raises
    ------
    ValueError
        Where `today` is no day of the year.
    """
    if not 0 <= today < DAYS_PER_YEAR:
        raise ValueError(f"today must lie in 0..364, got {today}")
    path = level_path(growth_steps(growth), level_today, today)[:, :-1]
    return np.roll(path, today, axis=1)


def rate_at_score(coil: Literal["condenser", "evaporator"], score: ArrayLike) -> Array:
    """Growth rate of a unit of which nothing is known, so many standard deviations from its median.

    Parameters
    ----------
    coil : "condenser" or "evaporator"
        A condenser's level is its blocked share of the face; an evaporator's the rise of its air pressure
        drop over the clean one.
    score : array_like
        Standard normal numbers [-].

    Returns
    -------
    ndarray
        Rates [1/a].

    Raises
    ------
    ValueError
        Where `coil` is neither of the two.
    """
    if coil == "condenser":
        middle = np.sqrt(CONDENSER_RATE_LOW * CONDENSER_RATE_HIGH)
        factor = CONDENSER_RATE_HIGH / middle
    elif coil == "evaporator":
        middle, factor = EVAPORATOR_RATE, EVAPORATOR_SPREAD
    else:
        raise ValueError(f"coil must be 'condenser' or 'evaporator', got {coil!r}")
    spread = np.log(factor) / NORMAL_95
    return np.asarray(middle * np.exp(spread * np.asarray(score, dtype=float)))


def default_growth(coil: Literal["condenser", "evaporator"]) -> FoulingGrowth:
    """Growth at the middle of the published span: linear, spread over the year.

    Parameters
    ----------
    coil : {"condenser", "evaporator"}
        Which coil.

    Returns
    -------
    FoulingGrowth
        Growth of its level.

    Raises
    ------
    ValueError
        Where `coil` is neither of the two.
    """
    if coil == "condenser":
        return FoulingGrowth(float(np.sqrt(CONDENSER_RATE_LOW * CONDENSER_RATE_HIGH)))
    if coil == "evaporator":
        return FoulingGrowth(EVAPORATOR_RATE, limit=LARGEST_PRESSURE_RISE)
    raise ValueError(f"coil must be 'condenser' or 'evaporator', got {coil!r}")
