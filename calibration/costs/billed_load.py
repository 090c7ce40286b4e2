"""The load that a bill stands for: what the unit used says how much cooling it gave.

For the most likely unit, and for every draw of the unit and its fouling, the load is turned up or down until
the electricity of the bill's time comes out. A draw with a less efficient unit so gets a smaller load: what a
bill pins down is the electricity, and the cost of fouling follows it.

Assumptions: the load keeps its form over the outdoor temperature and takes a factor. The weather of the
bill's time was that of the setting's year, warmer or colder by so much that the mean outdoor temperature is
the one that the bill gives, else by a draw of `MONTH_SPREAD`, less over several months. What else was on the
meter is known to `OTHER_SPREAD`. From one year to another the building's load moves by `YEAR_SPREAD`. A bill
of days is of the fouling that had grown by its middle since the coil was last known to be clean; a bill of
months, or from before any cleaning that is known of, is of today's fouling.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace

import numpy as np

from calibration.case.records import BillEntry, Case
from calibration.clean_fit.parameters import SPREADS
from calibration.costs.fouled_unit import DRAWN, RANDOM_STATE, FouledUnit, grown
from calibration.costs.growth_fit import day_of_year
from calibration.costs.quasi_draws import evenly_spread, normal_scores
from calibration.costs.season_case import SeasonCase
from calibration.said import said
from model.arrays import Array
from model.season.load import CoolingLoad
from model.season.tariff import JOULES_PER_KWH
from model.season.weather_year import DAYS_PER_YEAR, MONTH_OF_DAY
from model.season.year_by_level import Scenarios, YearByLevel, amount_at, year_by_level

MONTH_SPREAD = 1.4
"""Standard deviation of a month's mean outdoor temperature about the typical year's [K]; judgement, no
source: summer months of temperate climates."""
KNOWN_SPREAD = 0.3
"""Standard error of a mean outdoor temperature that the bill gives [K]; judgement, no source."""
OTHER_SPREAD = 0.15
"""Standard error of what else was on the meter over what it is [-]; judgement, no source."""
YEAR_SPREAD = 0.05
"""Standard deviation of the logarithm of the load from one year to the next, other weather apart [-];
judgement, no source."""
FACTORS: Array = np.geomspace(0.1, 5.0, 18)
"""Factors on the assumed load between which that of the most likely unit is looked for [-]."""
NEAR: Array = np.array([0.7, 1.0, 1.4])
"""Factors about it at which every draw is simulated [-]."""
BOUNDS = (0.3, 3.0)
"""Factors about it between which those of draws are kept [-]."""


@dataclass(frozen=True)
class BilledLoad:
    """What a bill says of the load.

    Attributes
    ----------
    factor : float
        Load over the one that was assumed or given, for the most likely unit [-].
    drawn : ndarray, shape (draws,)
        The same for every draw, from year to year, over `factor` [-].
    """

    factor: float
    drawn: Array


def with_billed_load(case: Case, inputs: SeasonCase, unit: FouledUnit) -> tuple[SeasonCase, FouledUnit]:
    """Season and unit with the load that the case's bill stands for; as they are without a bill.

    Parameters
    ----------
    case : Case
    inputs : SeasonCase
        `calibration.costs.season_case.season_case(case)`.
    unit : FouledUnit
        `calibration.costs.fouled_unit.fouled_unit` with the same.

    Returns
    -------
    (SeasonCase, FouledUnit)

    Raises
    ------
    ValueError
        Where no load explains the bill.
    """
    bill = case.season.bill if case.season is not None else None
    if bill is None:
        return inputs, unit
    found = billed_load(case, bill, inputs, unit)
    assumed = [one for one in inputs.assumptions if not one.startswith("no design load")]
    if bill.other_kwh is None:
        assumed.append(said("nothing else is said to be on the bill: all of it is taken as the unit's own"))
    scenarios = replace(unit.scenarios, load_factor=found.drawn)
    load = np.log(found.drawn)
    spread = float(np.std(load))
    scores = {**unit.scores, "load": (load - load.mean()) / spread}
    return (
        replace(
            inputs,
            setting=replace(inputs.setting, load=_times(inputs.setting.load, found.factor)),
            assumptions=tuple(assumed),
        ),
        replace(unit, scenarios=scenarios, load_spread=spread, billed_factor=found.factor, scores=scores),
    )


def billed_load(case: Case, bill: BillEntry, inputs: SeasonCase, unit: FouledUnit) -> BilledLoad:
    """Load that a bill stands for, over that of the inputs.

    Parameters
    ----------
    case : Case
        For cleanings that it names, and its share of the unit.
    bill : BillEntry
        Electricity and when it was used.
    inputs : SeasonCase
        Weather and load that the factor is on.
    unit : FouledUnit
        Most likely unit and draws, its fouling and growth.

    Returns
    -------
    BilledLoad

    Raises
    ------
    ValueError
        Where no factor between the ends of `FACTORS` explains the bill.
    """
    days = _days_of(bill)
    energy = case.share * (bill.kwh - (bill.other_kwh or 0.0))
    level, levels = _levels_then(case, bill, unit)
    warmer = _mean_difference(bill, inputs, days)
    setting = inputs.setting
    billed = replace(setting, year=setting.year.counting(days))
    factor = _likely_factor(energy, year_by_level(unit.table, billed, Scenarios(FACTORS, warmer)), level)
    near = replace(billed, load=_times(setting.load, factor))
    draws = unit.levels.size
    chance = evenly_spread(len(DRAWN) + SPREADS.size + 3, draws, RANDOM_STATE)[-3:]
    other, weather, yearly = normal_scores(chance)
    energies = energy - case.share * OTHER_SPREAD * (bill.other_kwh or 0.0) * other
    air = warmer + weather * (KNOWN_SPREAD if bill.mean_outdoor is not None else _weather_spread(days))
    used = [_used(year_by_level(unit.tables, near, Scenarios(times, air)), levels) for times in NEAR]
    drawn = _at_energy(np.array(used).T, np.maximum(energies, 0.05 * energy))
    return BilledLoad(factor, drawn * np.exp(YEAR_SPREAD * yearly))


def _days_of(bill: BillEntry) -> Array:
    """How often each day of the year is on the bill, shape (365,)."""
    if bill.months:
        return np.isin(MONTH_OF_DAY, bill.months).astype(float)
    days = np.zeros(DAYS_PER_YEAR)
    if bill.first_day is not None and bill.days is not None:
        first = day_of_year(bill.first_day)
        np.add.at(days, (first + np.arange(min(bill.days, DAYS_PER_YEAR))) % DAYS_PER_YEAR, 1.0)
    return days


def _weather_spread(days: Array) -> float:
    """Standard deviation of the mean outdoor temperature of these days about the typical year's [K]."""
    months = max(float(days.sum()) / (DAYS_PER_YEAR / 12.0), 1.0)
    return MONTH_SPREAD / float(np.sqrt(min(months, 4.0)))


def _mean_difference(bill: BillEntry, inputs: SeasonCase, days: Array) -> float:
    """How much warmer than the setting's year the bill's time was [K]; 0 where nobody says."""
    year = inputs.setting.year
    if bill.mean_outdoor is None:
        return 0.0
    if not year.is_hourly:
        raise ValueError(
            "season.bill.mean_outdoor needs an hourly weather year: temperature bins hold no mean of a day"
        )
    return bill.mean_outdoor - float(np.average(year.temperature, weights=days[year.day]))


def _levels_then(case: Case, bill: BillEntry, unit: FouledUnit) -> tuple[float, Array]:
    """Fouling in the middle of the bill's time: most likely, and of each draw."""
    if bill.first_day is None or bill.days is None:
        return unit.level, unit.levels
    middle = bill.first_day + dt.timedelta(days=bill.days // 2)
    clean = case.clean_dates
    if case.cleaning is not None and case.cleaning.last_cleaned is not None:
        clean.append(case.cleaning.last_cleaned)
    before = [date for date in clean if date <= middle]
    if not before:
        return unit.level, unit.levels
    start, largest = max(before), float(unit.table.level[-1])
    likely, drawn = (
        np.minimum(grown(growth, np.zeros(count), start, (middle - start).days), largest)
        for growth, count in ((unit.growth, 1), (unit.growths, unit.levels.size))
    )
    return float(likely[0]), drawn


def _times(load: CoolingLoad, factor: float) -> CoolingLoad:
    """A load in its form, larger by a factor."""
    return CoolingLoad(load.sensible * factor, load.latent * factor, load.gain_coefficient * factor)


def _likely_factor(energy: float, years: YearByLevel, level: float) -> float:
    """Factor on the load at which the most likely unit uses the bill's electricity."""
    used = _used(years, np.full(FACTORS.size, level))
    if not used[0] < energy < used[-1]:
        low, high = (float(one) / JOULES_PER_KWH for one in (used[0], used[-1]))
        raise ValueError(
            f"season.bill.kwh less other_kwh is {energy / JOULES_PER_KWH:.0f} kWh; the unit can only use "
            f"{low:.0f} to {high:.0f} kWh in that time"
        )
    return float(np.exp(np.interp(np.log(energy), np.log(used), np.log(FACTORS))))


def _used(years: YearByLevel, levels: Array) -> Array:
    """Electricity at given levels [J], shape (samples,)."""
    return np.asarray(amount_at(years, "energy", levels[:, None]).sum(axis=1))


def _at_energy(used: Array, energy: Array) -> Array:
    """Factors at which each draw uses its energy, by a straight line of logarithms, shape (draws,)."""
    place, known = np.log(NEAR), np.log(np.maximum(used, 1.0))
    wanted = np.log(energy)
    upper = (wanted > known[:, 1]).astype(np.int64)
    row = np.arange(len(energy))
    low, high = known[row, upper], known[row, upper + 1]
    slope = (place[upper + 1] - place[upper]) / np.maximum(high - low, 1e-6)
    away = place[upper] + slope * (wanted - low)
    return np.asarray(np.exp(np.clip(away, *np.log(BOUNDS))))
