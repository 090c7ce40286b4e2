"""When to clean a case's unit: interval, dates, condition to watch, and whether it is worth it at all.

The running cost of the most likely unit is tabulated once and every question is answered from it; draws of
the unit, its fouling, its load and the weather give the range of the interval's cost and of the best
interval. The horizon of the decision to clean
now or to measure first is twelve months: after that it can be taken again.

Assumptions: where nothing but time says that the coil is dirty, a cleaning changes nothing in half of the
cases: nine field-dirty condensers changed by about zero on average (Mehrabi and Yuill 2018, Purdue IRACC
paper 1884); half is a choice of this package. With an as-found visit the readings speak and no such share is
added. A measurement tells a benefit to a fifth of it: the size of the fit's and of the model's own errors
together; it costs three tenths of a cleaning.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from calibration.case.records import Case
from calibration.case.units import TEMPERATURE
from calibration.clean_fit.baseline import Baseline
from calibration.costs.billed_load import with_billed_load
from calibration.costs.fouled_unit import DRAWS, FouledUnit, fouled_unit
from calibration.costs.joint_plan import JointPlan, joint_plan
from calibration.costs.season_case import SeasonCase, season_case
from calibration.costs.season_cost import drawn_years, on_one_meter
from calibration.heating.winter_cost import with_winter
from model.arrays import Array, IntArray
from model.maintenance.cleaning_decision import (
    BreakEven,
    MeasuringFirst,
    Sensitivity,
    break_even,
    cleaning_benefits,
    measuring_first,
    sensitivities,
)
from model.maintenance.cumulative_cost import cumulative_cost, saving_of_cleaning_today
from model.maintenance.growth import FoulingGrowth, growth_steps
from model.maintenance.interval import Cleaning, IntervalCosts, cost_by_day, interval_costs
from model.maintenance.policies import (
    COMFORT_HOURS,
    YEARS_AHEAD,
    Outlook,
    SavingByDate,
    Upkeep,
    saving_by_date,
)
from model.maintenance.running_cost import DAYS_PER_STEP, RunningCost, matched, running_cost_of
from model.maintenance.schedule import PolicyComparison, compare_policies
from model.season.performance_table import approach_at
from model.season.year_by_level import YearByLevel, year_by_level

INTERVAL_DRAWS = 32
"""Draws that give the dates and the ranges of the interval [-]: the first of all."""
NO_EFFECT = 0.5
"""Probability that a cleaning changes nothing where no reading says that the coil is dirty [-]; a choice."""
MEASURING_PRICE = 0.3
"""Price of a visit that only measures, over that of a cleaning [-]; a choice."""
MEASUREMENT_ERROR = 0.2
"""Standard error of a measured benefit over the benefit [-]; see the module's text."""
WATCHED_OUTDOOR: Array = TEMPERATURE.to_si(np.array([75.0, 80.0, 85.0, 90.0, 95.0, 100.0]), "US")
"""Outdoor temperatures for which the condensing temperature over ambient to watch is given [K]."""


@dataclass(frozen=True)
class IntervalFindings:
    """When to clean, and what it is worth.

    Attributes
    ----------
    inputs : SeasonCase
        Weather, load, tariff, and what was assumed.
    unit : FouledUnit
        The unit, its fouling and its growth.
    cleaning : Cleaning
        Price and effect.
    costs, drawn : IntervalCosts
        Long-run cost by interval: most likely (one sample), and draws.
    policies : PolicyComparison
        Best dates and the rules people follow.
    yearly_days, yearly_costs : ndarray, shape (steps,)
        Days of the year, and the cost of a yearly cleaning on each [money/a].
    saving : SavingByDate
        What one cleaning buys by its date.
    saving_today : ndarray, shape (years × steps,)
        What a cleaning today saves until the end of each step ahead, against leaving the coil alone [money].
    watched_outdoor, watched_approach, clean_approach : ndarray, shape (6,)
        Outdoor temperatures, the approach at which to clean, and that of a clean coil [K].
    worth : BreakEven
        Break-even prices.
    measuring : MeasuringFirst
        Clean now, leave it, or measure first, over twelve months.
    base : IntervalCosts
        Advice that the swings start from.
    swings : tuple of Sensitivity
        How the advice moves, widest first.
    years : int
        Years looked ahead [a].
    joint : JointPlan or None
        Joint dates of condenser, indoor coil and filter; None where the case has only the condenser's price.
    """

    inputs: SeasonCase
    unit: FouledUnit
    cleaning: Cleaning
    costs: IntervalCosts
    drawn: IntervalCosts
    policies: PolicyComparison
    yearly_days: IntArray
    yearly_costs: Array
    saving: SavingByDate
    saving_today: Array
    watched_outdoor: Array
    watched_approach: Array
    clean_approach: Array
    worth: BreakEven
    measuring: MeasuringFirst
    base: IntervalCosts
    swings: tuple[Sensitivity, ...]
    years: int
    joint: JointPlan | None = None


def interval_findings(
    case: Case,
    baseline: Baseline,
    today: dt.date | None = None,
    years: int = YEARS_AHEAD,
    progress: Callable[[float], None] | None = None,
    draws: int = DRAWS,
) -> IntervalFindings:
    """When to clean a case's unit.

    Parameters
    ----------
    case : Case
        With ``cleaning.price``.
    baseline : Baseline
        `calibration.clean_fit.baseline.baseline_of(case)`.
    today : date, optional
        Left out, the date of the last visit.
    years : int
        Years that the unit has left [a].
    progress : callable, optional
        Called with the fraction done.
    draws : int
        Draws of the unit [-], 2 or more.

    Returns
    -------
    IntervalFindings

    Raises
    ------
    ValueError
        Where the case gives no price of a cleaning or its season cannot be simulated.
    """
    tell = progress or (lambda done: None)
    inputs = season_case(case)
    _require_cleaning(inputs)
    unit = fouled_unit(case, baseline, inputs, today, lambda done: tell(0.25 * done), draws)
    inputs, unit = with_billed_load(case, inputs, unit)
    return interval_of_unit(inputs, unit, years, lambda done: tell(0.25 + 0.75 * done))


def _require_cleaning(inputs: SeasonCase) -> Cleaning:
    """Price and effect of a cleaning; without a price nothing can be said."""
    if inputs.cleaning is None:
        raise ValueError("cleaning.price is needed to say when to clean")
    return inputs.cleaning


def interval_of_unit(
    inputs: SeasonCase,
    unit: FouledUnit,
    years: int = YEARS_AHEAD,
    progress: Callable[[float], None] | None = None,
    drawn: YearByLevel | None = None,
) -> IntervalFindings:
    """When to clean a fouled unit, from `calibration.costs.fouled_unit.fouled_unit` with the same inputs.

    Some of its draws, evenly spread, give the ranges of costs by interval; all of them give the value of a
    cleaning and of measuring first.

    Parameters
    ----------
    inputs : SeasonCase
        Weather, load, tariff, cleaning.
    unit : FouledUnit
        Its fouling and growth.
    years : int
        Years looked ahead [a].
    progress : callable, optional
        Called with the fraction done.
    drawn : YearByLevel, optional
        `calibration.costs.season_cost.drawn_years` of the same, where it is there already.

    Returns
    -------
    IntervalFindings
        Best interval, dates and rules, with intervals.

    Raises
    ------
    ValueError
        Where the case gives no price of a cleaning.
    """
    tell = progress or (lambda done: None)
    cleaning = _require_cleaning(inputs)
    years_drawn = drawn or drawn_years(inputs, unit, lambda d: tell(0.3 * d))
    unit, running = _likely_running(inputs, unit, years_drawn)
    growth = growth_steps(unit.growth, DAYS_PER_STEP)
    costs = interval_costs(running, growth, cleaning)
    costs_drawn, benefits = _over_draws(years_drawn, unit, cleaning)
    tell(0.5)
    upkeep = _upkeep(inputs, unit, years_drawn, cleaning, years)
    cumulated = cumulative_cost(upkeep)
    tell(0.7)
    policies = compare_policies(
        upkeep, interval=float(costs.best_interval[0]), comfort_hours=COMFORT_HOURS, cumulated=cumulated
    )
    tell(0.9)
    base, swings = sensitivities(running, unit.growth, cleaning)
    tell(1.0)
    days, by_day = cost_by_day(upkeep.running, upkeep.growth, cleaning)
    return IntervalFindings(
        inputs=inputs,
        unit=unit,
        cleaning=cleaning,
        costs=costs,
        drawn=costs_drawn,
        policies=policies,
        yearly_days=days,
        yearly_costs=by_day.mean(axis=0),
        saving=saving_by_date(upkeep, policies.yearly_day),
        saving_today=saving_of_cleaning_today(cumulated),
        watched_outdoor=WATCHED_OUTDOOR,
        watched_approach=approach_at(unit.table, policies.watched_level, WATCHED_OUTDOOR),
        clean_approach=approach_at(unit.table, 0.0, WATCHED_OUTDOOR),
        worth=break_even(cumulated),
        measuring=_measuring(benefits, cleaning, unit.has_readings),
        base=base,
        swings=swings,
        years=years,
        joint=joint_plan(inputs, unit, years),
    )


def _likely_running(
    inputs: SeasonCase, unit: FouledUnit, drawn: YearByLevel
) -> tuple[FouledUnit, RunningCost]:
    """The unit with both seasons on one meter, and running cost of the most likely one."""
    likely = year_by_level(unit.table, inputs.setting, days_per_step=DAYS_PER_STEP)
    unit = on_one_meter(inputs, unit, drawn, likely)
    return unit, with_winter(running_cost_of(likely), unit.winter)


def _over_draws(drawn: YearByLevel, unit: FouledUnit, cleaning: Cleaning) -> tuple[IntervalCosts, Array]:
    """Costs by interval over some draws, and what a cleaning today saves in a year [money] over all."""
    running, growth = _drawn_running(drawn, unit), growth_steps(unit.growths, DAYS_PER_STEP)
    some = _evenly(drawn.samples)
    costs = interval_costs(running.take(some), growth_steps(_growths(unit, some), DAYS_PER_STEP), cleaning)
    return costs, cleaning_benefits(running, growth, unit.levels, unit.day, cleaning.restoration)


def _upkeep(
    inputs: SeasonCase, unit: FouledUnit, drawn: YearByLevel, cleaning: Cleaning, years: int
) -> Upkeep:
    """The unit's years ahead, as draws."""
    some = _evenly(drawn.samples)
    outlook = Outlook(
        years,
        unit.levels[some],
        unit.day,
        inputs.setting.tariff.escalation,
        inputs.discount_rate,
    )
    growth = growth_steps(_growths(unit, some), DAYS_PER_STEP)
    return Upkeep(*matched(_drawn_running(drawn, unit).take(some), growth), cleaning, outlook)


def _drawn_running(drawn: YearByLevel, unit: FouledUnit) -> RunningCost:
    """Running cost of the draws, both seasons of the year."""
    return with_winter(running_cost_of(drawn), unit.winter, drawn=True)


def _evenly(samples: int) -> IntArray:
    """The first of the draws, which are spread evenly too."""
    return np.arange(min(samples, INTERVAL_DRAWS))


def _growths(unit: FouledUnit, few: IntArray) -> FoulingGrowth:
    """Growth of some of the draws."""
    limit = unit.growths.limit
    return replace(
        unit.growths,
        rate=np.asarray(unit.growths.rate)[few],
        limit=limit if np.ndim(limit) == 0 else np.asarray(limit)[few],
    )


def _measuring(benefits: Array, cleaning: Cleaning, has_readings: bool) -> MeasuringFirst:
    """Clean now, leave it, or measure first."""
    error = MEASUREMENT_ERROR * max(float(np.abs(benefits).mean()), 0.01)
    return measuring_first(
        benefits,
        cleaning.price,
        error,
        measurement_price=MEASURING_PRICE * cleaning.price,
        no_effect=0.0 if has_readings else NO_EFFECT,
    )
