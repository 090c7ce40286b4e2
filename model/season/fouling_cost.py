"""Cost of fouling in a year, against the same unit with a clean coil in the same weather.

Both years are simulated with the same sample of the unit's uncertain parameters, so that what is common to
both drops out of the difference. Samples (of the unit, of the level, of the growth) come out as samples of
the cost, and as 90 % ranges. Money is the difference of two years' electricity bills and of what their unmet
cooling is counted as, in whole cents, so that the months add up to the year. Unmet cooling has the price that
the time of a cleaning is chosen with: a unit that trips draws less, and would seem to save money.

Assumptions: those of `model.season.simulation` and `model.season.tariff`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, fields
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, IntArray
from model.season.load import CoolingLoad
from model.season.performance_table import PerformanceTable
from model.season.simulation import HourlySeason, Running, SeasonTotals, hourly_season, season_totals
from model.season.tariff import Bill, Tariff, bill, unmet_cooling_cents
from model.season.weather_year import DAYS_PER_YEAR, HOURS_PER_DAY, WeatherYear

Record = TypeVar("Record", SeasonTotals, Bill)

CHUNK = 8
"""Samples simulated together [-]: few enough to stay in a processor's cache."""


@dataclass(frozen=True)
class Setting:
    """Everything about a season that is not the unit or its fouling.

    Attributes
    ----------
    year : WeatherYear
        Outdoor air.
    load : CoolingLoad
        Load of each entry.
    tariff : Tariff
        What electricity costs.
    running : Running
        Cycling, controls, idle power.
    wet_bulb : float or ndarray of shape (entries,), optional
        Indoor wet bulb [K]; None is the middle of the unit's table.
    """

    year: WeatherYear
    load: CoolingLoad
    tariff: Tariff
    running: Running = field(default_factory=Running)
    wet_bulb: float | Array | None = None


@dataclass(frozen=True)
class SeasonOutcome:
    """A year in figures and in money, one row for each sample.

    Attributes
    ----------
    totals : SeasonTotals
    bill : Bill
        Of the electricity.
    unmet_cents : ndarray of int, shape (samples, 12)
        What each month's unmet cooling is counted as [cents].
    """

    totals: SeasonTotals
    bill: Bill
    unmet_cents: IntArray

    @property
    def month_cents(self) -> IntArray:
        """Electricity and unmet cooling of each month [cents], shape (samples, 12)."""
        return np.asarray(self.bill.month_cents + self.unmet_cents)


@dataclass(frozen=True)
class FoulingCost:
    """Cost of fouling in a year; one row for each sample, months along the last axis.

    Attributes
    ----------
    energy : ndarray, shape (samples, 12)
        Electrical energy [J].
    peak_power : ndarray, shape (samples, 12)
        Rise of the month's highest mean power [W].
    cents : ndarray of int, shape (samples, 12)
        Money, electricity and unmet cooling [cents].
    unmet_cents : ndarray of int, shape (samples, 12)
        The part of it that unmet cooling is counted as [cents].
    carbon : ndarray, shape (samples, 12)
        Carbon dioxide [kg].
    run_hours, short_hours, trip_hours : ndarray, shape (samples, 12)
        Added running hours, unmet-load hours and tripped hours [h].
    cooling_lost : ndarray, shape (samples, 12)
        Unmet cooling [J].
    clean, fouled : SeasonOutcome
        The two years.
    """

    energy: Array
    peak_power: Array
    cents: IntArray
    unmet_cents: IntArray
    carbon: Array
    run_hours: Array
    short_hours: Array
    trip_hours: Array
    cooling_lost: Array
    clean: SeasonOutcome
    fouled: SeasonOutcome

    @property
    def year_cents(self) -> IntArray:
        """Money in the year [cents], shape (samples,): the sum of its months."""
        return np.asarray(self.cents.sum(axis=-1))

    @property
    def energy_share(self) -> Array:
        """Energy taken, over what the clean unit uses in the year [-], shape (samples,)."""
        clean = self.clean.totals.energy.sum(axis=-1)
        return np.asarray(
            np.divide(self.energy.sum(axis=-1), clean, out=np.zeros_like(clean), where=clean > 0.0)
        )


def season_outcomes(
    table: PerformanceTable,
    setting: Setting,
    level: ArrayLike = 0.0,
    progress: Callable[[float], None] | None = None,
) -> SeasonOutcome:
    """A year for every sample of the unit and of its fouling, in figures and in money.

    Parameters
    ----------
    table : PerformanceTable
        The unit; its samples, if it has more than one, go with those of `level`.
    setting : Setting
        Weather, load, tariff, controls.
    level : array_like, shape (), (365,), (samples, 1) or (samples, 365)
        Fouling on each day of the year [-].
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    SeasonOutcome
        One row for each sample.

    Raises
    ------
    ValueError
        Where the samples of table and level do not agree in number.
    """
    daily = np.atleast_2d(np.asarray(level, dtype=float))
    samples = max(table.samples, daily.shape[0])
    if {table.samples, daily.shape[0]} - {1, samples}:
        raise ValueError(f"table has {table.samples} samples, level {daily.shape[0]}: give one or as many")
    totals, bills = [], []
    for start in range(0, samples, CHUNK):
        part = slice(start, min(start + CHUNK, samples))
        unit = table if table.samples == 1 else table.take(np.arange(part.start, part.stop))
        fouling = daily_to_entries(setting.year, daily if daily.shape[0] == 1 else daily[part])
        if table.samples > 1 or daily.shape[0] > 1:
            fouling = np.broadcast_to(fouling, (part.stop - part.start, fouling.shape[1]))
        hourly = hourly_season(
            unit,
            setting.year,
            setting.load,
            fouling,
            setting.wet_bulb,
            setting.running,
            demand_minutes=setting.tariff.demand_minutes,
        )
        totals.append(season_totals(hourly, unit, setting.year, setting.load, fouling))
        bills.append(bill(setting.tariff, setting.year, hourly.power, draw=hourly.draw))
        if progress is not None:
            progress(part.stop / samples)
    together = _joined(totals)
    unmet = unmet_cooling_cents(setting.tariff, together.cooling_lost)
    return SeasonOutcome(together, _joined(bills), unmet)


def daily_to_entries(year: WeatherYear, level: ArrayLike) -> Array:
    """Level of each entry of a year.

    Parameters
    ----------
    year : WeatherYear
        Entries of the year.
    level : array_like, shape (..., 365), (..., 1) or ()
        One for each day, or one for all [-].

    Returns
    -------
    ndarray, shape (..., entries)
        Level [-]; one for all stays as it is.

    Raises
    ------
    ValueError
        Where the number of days is another.
    """
    daily = np.asarray(level, dtype=float)
    if daily.ndim == 0 or daily.shape[-1] == 1:
        return daily
    if daily.shape[-1] != DAYS_PER_YEAR:
        raise ValueError(f"level must have 1 or {DAYS_PER_YEAR} days, got shape {daily.shape}")
    return daily[..., year.day]


def _joined(parts: list[Record]) -> Record:
    """One record from the records of consecutive samples."""
    kind = type(parts[0])
    return kind(**{f.name: np.concatenate([getattr(p, f.name) for p in parts]) for f in fields(kind)})


def fouling_cost(clean: SeasonOutcome, fouled: SeasonOutcome) -> FoulingCost:
    """Cost of fouling: the fouled year minus the clean one, sample by sample.

    Parameters
    ----------
    clean : SeasonOutcome
        Year of the clean unit.
    fouled : SeasonOutcome
        Year of the fouled unit, of as many samples.

    Returns
    -------
    FoulingCost
        Differences, sample by sample.
    """
    was, now = clean.totals, fouled.totals
    return FoulingCost(
        energy=now.energy - was.energy,
        peak_power=now.peak_power - was.peak_power,
        cents=fouled.month_cents - clean.month_cents,
        unmet_cents=fouled.unmet_cents - clean.unmet_cents,
        carbon=fouled.bill.carbon - clean.bill.carbon,
        run_hours=now.run_hours - was.run_hours,
        short_hours=now.short_hours - was.short_hours,
        trip_hours=now.trip_hours - was.trip_hours,
        cooling_lost=now.cooling_lost - was.cooling_lost,
        clean=clean,
        fouled=fouled,
    )


def extra_power_by_hour(clean: HourlySeason, fouled: HourlySeason) -> Array:
    """Power added by fouling, by day and hour, mean over the samples.

    Parameters
    ----------
    clean, fouled : HourlySeason
        The two years, hour by hour.

    Returns
    -------
    ndarray, shape (365, 24)
        Power [W].

    Raises
    ------
    ValueError
        Where the year is not hourly.
    """
    extra = np.atleast_2d(fouled.power - clean.power).mean(axis=0)
    if extra.size != DAYS_PER_YEAR * HOURS_PER_DAY:
        raise ValueError(f"a map by day and hour needs an hourly year, got {extra.size} entries")
    return np.asarray(extra.reshape(DAYS_PER_YEAR, HOURS_PER_DAY))
