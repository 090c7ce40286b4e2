"""What today's fouling costs in a season: of a case, most likely and with its 90 % range.

Three years are simulated for the most likely unit: clean, with today's fouling held for the whole year, and
with the fouling growing on from today without a cleaning. Months of money come from it, so that they add up
to the cent. Ranges come from draws of the unit, its fouling, its load and the weather, whose years are priced
at every level at once.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from calibration.case.records import Case
from calibration.clean_fit.baseline import Baseline
from calibration.costs.billed_load import with_billed_load
from calibration.costs.fouled_unit import DRAWS, FouledUnit, fouled_unit
from calibration.costs.input_effects import InputEffect, input_effects
from calibration.costs.season_case import SeasonCase, season_case
from calibration.estimate import Estimate, of_draws, of_many_draws
from calibration.heating.winter_findings import WinterFindings, winter_findings
from model.arrays import Array
from model.maintenance.growth import coming_year
from model.maintenance.running_cost import DAYS_PER_STEP
from model.season.fouling_cost import (
    FoulingCost,
    daily_to_entries,
    extra_power_by_hour,
    fouling_cost,
    season_outcomes,
)
from model.season.performance_table import trip_temperature
from model.season.simulation import hourly_season
from model.season.tariff import CENTS
from model.season.weather_year import DAYS_PER_YEAR
from model.season.year_by_level import YearByLevel, outcome_at, year_by_level


@dataclass(frozen=True)
class SeasonFindings:
    """Cost of fouling of a case.

    Attributes
    ----------
    inputs : SeasonCase
        Weather, load, tariff, and what was assumed.
    unit : FouledUnit
        The unit, its fouling and its growth.
    today, coming : FoulingCost
        Of the most likely unit, one sample: today's fouling held for a year; fouling growing on for a year.
    today_drawn, coming_drawn : FoulingCost
        The same for every draw.
    trip_clean, trip_today : Estimate
        Outdoor temperature at which the unit trips on high pressure, clean and with today's fouling [K]; inf
        above the table.
    extra_today, extra_coming : ndarray, shape (365, 24), or None
        What the fouling adds in each hour of the year [W], as it is today and as it grows on; None for
        temperature bins.
    winter : WinterFindings or None
        The heating season of a heat pump; every other figure is of the cooling season alone.
    effects : tuple of InputEffect
        What moves the yearly money as fouling grows [money], the widest first.
    """

    inputs: SeasonCase
    unit: FouledUnit
    today: FoulingCost
    coming: FoulingCost
    today_drawn: FoulingCost
    coming_drawn: FoulingCost
    trip_clean: Estimate
    trip_today: Estimate
    extra_today: Array | None
    extra_coming: Array | None
    winter: WinterFindings | None = None
    effects: tuple[InputEffect, ...] = ()

    @property
    def year_money(self) -> Estimate:
        """Money that today's fouling adds in a year, both seasons of a heat pump together."""
        likely = int(self.today.year_cents[0]) / CENTS
        if self.winter is not None:
            likely += self.winter.today_money
        return _about(likely, self.year_money_drawn)

    @property
    def year_money_drawn(self) -> Array:
        """The same of every draw, shape (draws,)."""
        drawn = np.asarray(self.today_drawn.year_cents / CENTS)
        return drawn if self.winter is None else drawn + self.winter.today_drawn.money.sum(axis=1)

    @property
    def year_energy(self) -> Estimate:
        """Electricity that it adds [J], both seasons together; backup heat from electricity is in it."""
        likely = float(self.today.energy.sum())
        if self.winter is not None:
            likely += float(self.winter.used(self.winter.today).sum())
        return _about(likely, self.year_energy_drawn)

    @property
    def year_energy_drawn(self) -> Array:
        """The same of every draw [J], shape (draws,)."""
        drawn = np.asarray(self.today_drawn.energy.sum(axis=1))
        return drawn if self.winter is None else drawn + self.winter.used(self.winter.today_drawn).sum(axis=1)

    @property
    def year_energy_share(self) -> Estimate:
        """That over what the clean unit uses in both seasons [-]."""
        clean = float(self.today.clean.totals.energy[0].sum())
        if self.winter is not None:
            clean += float(self.winter.used(self.winter.clean).sum())
        return self.year_energy.times(1.0 / clean) if clean > 0.0 else Estimate(0.0, 0.0, 0.0)


def _about(likely: float, drawn: Array) -> Estimate:
    """The most likely value with the draws' 90 % range, wide enough to hold it."""
    spread = of_many_draws(drawn)
    return Estimate(likely, min(spread.low, likely), max(spread.high, likely))


def season_findings(
    case: Case,
    baseline: Baseline,
    today: dt.date | None = None,
    progress: Callable[[float], None] | None = None,
    draws: int = DRAWS,
) -> SeasonFindings:
    """Cost of a case's fouling.

    Parameters
    ----------
    case : Case
    baseline : Baseline
        `calibration.clean_fit.baseline.baseline_of(case)`.
    today : date, optional
        Left out, the date of the last visit.
    progress : callable, optional
        Called with the fraction done.
    draws : int
        Draws behind the intervals [-], 2 or more.

    Returns
    -------
    SeasonFindings

    Raises
    ------
    ValueError
        Where the case's season cannot be simulated; the message says why.
    """
    tell = progress or (lambda done: None)
    inputs = season_case(case)
    unit = fouled_unit(case, baseline, inputs, today, lambda done: tell(0.4 * done), draws)
    inputs, unit = with_billed_load(case, inputs, unit)
    return season_of_unit(inputs, unit, lambda done: tell(0.4 + 0.6 * done))


def drawn_years(
    inputs: SeasonCase, unit: FouledUnit, progress: Callable[[float], None] | None = None
) -> YearByLevel:
    """A year of every draw of unit, load and weather, at every level of fouling.

    Parameters
    ----------
    inputs : SeasonCase
        Weather, load, tariff.
    unit : FouledUnit
        Its draws.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    YearByLevel
    """
    return year_by_level(unit.tables, inputs.setting, unit.scenarios, DAYS_PER_STEP, progress)


def on_one_meter(
    inputs: SeasonCase, unit: FouledUnit, drawn: YearByLevel, likely: YearByLevel | None = None
) -> FouledUnit:
    """The unit with a winter that pays blocks and demand charges on top of the cooling season.

    Parameters
    ----------
    inputs : SeasonCase
        Weather, load, tariff.
    unit : FouledUnit
    drawn : YearByLevel
        `drawn_years` of the same.
    likely : YearByLevel, optional
        The same of the most likely unit, where it is there already.

    Returns
    -------
    FouledUnit
        As it is where it does not heat, or nothing is charged by the month.
    """
    tariff = inputs.setting.tariff
    if unit.winter is None or not (tariff.blocks or tariff.demand_rates):
        return unit
    cooling = likely or year_by_level(unit.table, inputs.setting, days_per_step=DAYS_PER_STEP)
    return replace(unit, winter=unit.winter.on_one_meter(cooling, drawn))


def season_of_unit(
    inputs: SeasonCase,
    unit: FouledUnit,
    progress: Callable[[float], None] | None = None,
    drawn: YearByLevel | None = None,
) -> SeasonFindings:
    """Cost of fouling of a unit, from `calibration.costs.fouled_unit.fouled_unit` with the same inputs.

    Parameters
    ----------
    inputs : SeasonCase
        Weather, load, tariff.
    unit : FouledUnit
        Its fouling and growth.
    progress : callable, optional
        Called with the fraction done.
    drawn : YearByLevel, optional
        `drawn_years` of the same, where it is there already.

    Returns
    -------
    SeasonFindings
        Cost of today's fouling and of the coming year's, with 90 % ranges.
    """
    tell = progress or (lambda done: None)
    years = drawn or drawn_years(inputs, unit, lambda done: tell(0.8 * done))
    unit = on_one_meter(inputs, unit, years)
    growing = coming_year(unit.growth, unit.level, unit.day)
    growing_drawn = coming_year(unit.growths, unit.levels, unit.day)
    setting, table, tables = inputs.setting, unit.table, unit.tables
    clean = season_outcomes(table, setting)
    clean_drawn, held = outcome_at(years, [[0.0]]), outcome_at(years, unit.levels[:, None])
    by_step = growing_drawn.reshape(len(growing_drawn), -1, DAYS_PER_STEP).mean(axis=2)
    grown = outcome_at(years, by_step)
    money = fouling_cost(clean_drawn, grown).year_cents / CENTS
    tell(1.0)
    return SeasonFindings(
        inputs=inputs,
        unit=unit,
        today=fouling_cost(clean, season_outcomes(table, setting, unit.level)),
        coming=fouling_cost(clean, season_outcomes(table, setting, growing)),
        today_drawn=fouling_cost(clean_drawn, held),
        coming_drawn=fouling_cost(clean_drawn, grown),
        trip_clean=of_draws(trip_temperature(tables, np.zeros(tables.samples))),
        trip_today=of_draws(trip_temperature(tables, unit.levels)),
        extra_today=_extra_power(inputs, unit, np.full(DAYS_PER_YEAR, unit.level)),
        extra_coming=_extra_power(inputs, unit, growing),
        winter=_winter(unit, growing, by_step),
        effects=input_effects(unit.scores, money),
    )


def _winter(unit: FouledUnit, growing: Array, by_step: Array) -> WinterFindings | None:
    """The heating season of the same fouling, that grows day by day and, in draws, step by step."""
    if unit.winter is None:
        return None
    steps = growing.reshape(1, -1, DAYS_PER_STEP).mean(axis=2)
    return winter_findings(unit.winter, unit.level, unit.levels, steps, by_step)


def _extra_power(inputs: SeasonCase, unit: FouledUnit, daily: Array) -> Array | None:
    """Extra power of the most likely unit by day and hour [W]; None without hours."""
    setting = inputs.setting
    if not setting.year.is_hourly:
        return None
    level = daily_to_entries(setting.year, daily)
    clean, fouled = (
        hourly_season(unit.table, setting.year, setting.load, level, setting.wet_bulb, setting.running)
        for level in (0.0, level)
    )
    return extra_power_by_hour(clean, fouled)


def cost_estimates(drawn: FoulingCost) -> dict[str, Estimate]:
    """Median, mean and 90 % range of a year's cost, over its draws.

    Parameters
    ----------
    drawn : FoulingCost
        A year's cost, one sample a draw.

    Returns
    -------
    dict
        ``energy`` [J], ``energy_share`` [-], ``peak_power`` [W] (rise of the year's highest hour), ``money``
        and its parts ``electricity_money`` and ``unmet_money`` [money], ``carbon`` [kg], ``run_hours``,
        ``short_hours``, ``trip_hours`` [h], ``cooling_lost`` [J].
    """
    peak = drawn.fouled.totals.peak_power.max(axis=1) - drawn.clean.totals.peak_power.max(axis=1)
    return {
        "energy": of_many_draws(drawn.energy.sum(axis=1)),
        "energy_share": of_many_draws(drawn.energy_share),
        "peak_power": of_many_draws(peak),
        "money": of_many_draws(drawn.year_cents / CENTS),
        "electricity_money": of_many_draws((drawn.cents - drawn.unmet_cents).sum(axis=1) / CENTS),
        "unmet_money": of_many_draws(drawn.unmet_cents.sum(axis=1) / CENTS),
        "carbon": of_many_draws(drawn.carbon.sum(axis=1)),
        "run_hours": of_many_draws(drawn.run_hours.sum(axis=1)),
        "short_hours": of_many_draws(drawn.short_hours.sum(axis=1)),
        "trip_hours": of_many_draws(drawn.trip_hours.sum(axis=1)),
        "cooling_lost": of_many_draws(drawn.cooling_lost.sum(axis=1)),
    }
