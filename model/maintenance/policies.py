"""Rules for when to clean, followed over the years that a unit has left.

A course of cleanings is priced step by step from the table of `model.maintenance.running_cost`. Rules are
those people follow: never, every year on one day, at a fixed interval, when comfort is lost, and when a
condition that can be read on the unit is reached. `model.maintenance.schedule` finds the dates that cost
least.

Assumptions: the weather repeats; a cleaning happens at the beginning of a step and takes no time; readings
can be taken only in steps with cooling to do; nothing is worth anything after the last year.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, BoolArray, IntArray
from model.maintenance.growth import GrowthSteps
from model.maintenance.interval import Cleaning, cost_by_day
from model.maintenance.running_cost import RunningCost, cost_of_step, short_hours_of_step
from model.season.weather_year import DAYS_PER_YEAR

YEARS_AHEAD = 10
"""Years over which rules are compared [a]; common practice for what is left of a unit's life, no source."""
COMFORT_HOURS = 1.0
"""Unmet-load hours in a step, over those of a clean unit, from which comfort counts as lost [h]; a choice of
this package.
"""


@dataclass(frozen=True)
class Outlook:
    """The years ahead of one unit.

    Attributes
    ----------
    years : int
        Years to look ahead [a], 1 or more.
    severity_today : float
        Fouling today [-].
    today : int
        Day of the year, 0 to 364.
    escalation : float
        Rise of the running cost from year to year [-].
    discount_rate : float
        Fall of the worth of money from year to year [-].
    """

    years: int = YEARS_AHEAD
    level_today: float = 0.0
    today: int = 0
    escalation: float = 0.0
    discount_rate: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what cannot be."""
        if self.years < 1:
            raise ValueError(f"years must be 1 or more, got {self.years}")
        if not 0 <= self.today < DAYS_PER_YEAR:
            raise ValueError(f"today must lie in 0..364, got {self.today}")
        if not 0.0 <= self.level_today < np.inf:
            raise ValueError(f"severity_today must be 0 or more, got {self.level_today:g}")
        for name in ("escalation", "discount_rate"):
            if not (getattr(self, name) > -1.0 and np.isfinite(getattr(self, name))):
                raise ValueError(f"{name} must be above -1, got {getattr(self, name):g}")


@dataclass(frozen=True)
class Upkeep:
    """One unit whose cleanings are to be planned.

    Attributes
    ----------
    running : RunningCost
        With one sample (`RunningCost.middle` or `RunningCost.sample`).
    growth : GrowthSteps
        With one sample and the steps of `running`.
    cleaning : Cleaning
    outlook : Outlook
    """

    running: RunningCost
    growth: GrowthSteps
    cleaning: Cleaning
    outlook: Outlook = Outlook()

    def __post_init__(self) -> None:
        """Refuse samples and steps that do not agree."""
        if self.running.cost.shape[0] != 1 or self.growth.keep.shape[0] != 1:
            raise ValueError("a plan is for one unit: give one sample of running cost and growth")
        if self.running.days_per_step != self.growth.days_per_step:
            raise ValueError(
                f"running cost has steps of {self.running.days_per_step} days, "
                f"growth of {self.growth.days_per_step}: use the same"
            )

    @property
    def first_step(self) -> int:
        """Step of the year in which today falls [-]."""
        return self.outlook.today // self.running.days_per_step

    @property
    def length(self) -> int:
        """Steps in the years ahead [-]."""
        return self.outlook.years * self.running.steps


@dataclass(frozen=True)
class PolicyResult:
    """What following one rule comes to over the years ahead.

    Attributes
    ----------
    name : str
        The rule.
    cost_per_year : float
        Running and cleaning [money/a]; with a discount rate, the even yearly sum of the same worth.
    running_per_year, cleaning_per_year : float
        Its two parts [money/a].
    short_hours_per_year : float
        Unmet-load hours [h/a].
    dates : tuple of (int, int)
        Cleanings: full years from today, and day of the year, 0 to 364.
    severity_at_cleaning : float
        Mean level found at the cleanings [-]; 0 with none.
    over_best : float
        Cost over that of the best course [-]; 0 where there is nothing to compare with yet, infinite where
        the best costs nothing.
    """

    name: str
    cost_per_year: float
    running_per_year: float
    cleaning_per_year: float
    short_hours_per_year: float
    dates: tuple[tuple[int, int], ...]
    level_at_cleaning: float
    over_best: float = 0.0


class Course(NamedTuple):
    """Many courses at once, arrays of shape (courses, steps of the years ahead), money already weighted."""

    cleaned: BoolArray
    running: Array
    cleaning: Array
    short_hours: Array
    level_found: Array


Decide = Callable[[int, Array, Array], BoolArray]
"""Rule: (step ahead, level, unmet-load hours in the step before over a clean unit) -> whether to clean."""


def follow(upkeep: Upkeep, decide: Decide, courses: int) -> Course:
    """Run the years ahead under a rule.

    Parameters
    ----------
    upkeep : Upkeep
        Running cost, growth, cleaning and outlook.
    decide : Decide
        Called with the step ahead, the level of each course [-] and its unmet-load hours over a clean
        unit's in the step before [h]; says which courses are cleaned now.
    courses : int
        How many courses run side by side.

    Returns
    -------
    Course
        What each course does and costs, step by step.
    """
    running, growth = upkeep.running, upkeep.growth
    energy, cash = weights(upkeep)
    level = np.full(courses, upkeep.outlook.level_today)
    limit = max(float(growth.limit[0, 0]), upkeep.outlook.level_today)
    shape = (courses, upkeep.length)
    cleaned, found = np.zeros(shape, dtype=bool), np.zeros(shape)
    middle, short = np.zeros(shape), np.zeros(shape)
    excess = np.zeros(courses)
    for ahead in range(upkeep.length):
        step = (upkeep.first_step + ahead) % running.steps
        found[:, ahead] = level
        cleaned[:, ahead] = decide(ahead, level, excess)
        level = np.where(cleaned[:, ahead], (1.0 - upkeep.cleaning.restoration) * level, level)
        after = np.minimum(growth.keep[0, step] * level + growth.gain[0, step], limit)
        middle[:, ahead] = 0.5 * (level + after)
        short[:, ahead] = short_hours_of_step(running, step, middle[None, :, ahead])[0]
        excess = short[:, ahead] - running.short_hours[0, step, 0]
        level = after
    steps = np.tile((upkeep.first_step + np.arange(upkeep.length)) % running.steps, courses)
    cost = cost_of_step(running, steps, middle.reshape(1, -1)).reshape(shape)
    return Course(cleaned, cost * energy, cleaned * (upkeep.cleaning.price * cash), short, found)


def weights(upkeep: Upkeep) -> tuple[Array, Array]:
    """Worth today of one unit of money in each step ahead.

    Parameters
    ----------
    upkeep : Upkeep
        For escalation, discount rate and length.

    Returns
    -------
    (ndarray, ndarray), shape (length,)
        Of running cost, which rises with prices, and of cash [-].
    """
    years = np.arange(upkeep.length) / upkeep.running.steps
    cash = (1.0 + upkeep.outlook.discount_rate) ** -years
    return (1.0 + upkeep.outlook.escalation) ** years * cash, cash


def schedule_costs(upkeep: Upkeep, schedules: ArrayLike) -> Array:
    """Cost [money/a] of given courses.

    Parameters
    ----------
    upkeep : Upkeep
    schedules : array_like of bool, shape (courses, length)
        Whether to clean at the beginning of each step ahead.

    Returns
    -------
    ndarray, shape (courses,)
    """
    plan = checked_schedules(upkeep, schedules)
    course = follow(upkeep, lambda ahead, level, excess: plan[:, ahead], plan.shape[0])
    return per_year(upkeep, course.running + course.cleaning)


def checked_schedules(upkeep: Upkeep, schedules: ArrayLike) -> BoolArray:
    """Schedules as an array of the right length.

    Parameters
    ----------
    upkeep : Upkeep
        For the number of steps ahead.
    schedules : array_like
        Whether the unit is cleaned in each step, shape (length,) or (schedules, length).

    Returns
    -------
    ndarray of bool, shape (schedules, length)
        The same.

    Raises
    ------
    ValueError
        Where the length is another.
    """
    plan = np.atleast_2d(np.asarray(schedules, dtype=bool))
    if plan.shape[1] != upkeep.length:
        raise ValueError(f"schedules must have {upkeep.length} steps, got {plan.shape[1]}")
    return plan


def per_year(upkeep: Upkeep, money: Array) -> Array:
    """Even yearly sum of the same worth as money in each step.

    Parameters
    ----------
    upkeep : Upkeep
        For discount rate and length.
    money : ndarray, shape (courses, length)
        Money of each step, in worth of today [money].

    Returns
    -------
    ndarray, shape (courses,)
        Sum [money/a].
    """
    worth_of_one_a_year = weights(upkeep)[1].sum() / upkeep.running.steps
    return np.asarray(money.sum(axis=1) / worth_of_one_a_year)


def _results(upkeep: Upkeep, name: str, course: Course) -> list[PolicyResult]:
    """Courses in figures."""
    running, cleaning = per_year(upkeep, course.running), per_year(upkeep, course.cleaning)
    results = []
    for k, cleaned in enumerate(course.cleaned):
        when = np.flatnonzero(cleaned)
        step = (upkeep.first_step + when) % upkeep.running.steps
        dates = zip(
            (when // upkeep.running.steps).tolist(),
            (step * upkeep.running.days_per_step).tolist(),
            strict=True,
        )
        results.append(
            PolicyResult(
                name=name,
                cost_per_year=float(running[k] + cleaning[k]),
                running_per_year=float(running[k]),
                cleaning_per_year=float(cleaning[k]),
                short_hours_per_year=float(course.short_hours[k].sum() / upkeep.outlook.years),
                dates=tuple(dates),
                level_at_cleaning=float(course.level_found[k, when].mean()) if when.size else 0.0,
            )
        )
    return results


def follow_schedule(upkeep: Upkeep, schedule: ArrayLike, name: str) -> PolicyResult:
    """What one given course comes to.

    Parameters
    ----------
    upkeep : Upkeep
        Running cost, growth, cleaning and outlook.
    schedule : array_like of bool, shape (length,)
        Whether the unit is cleaned in each step ahead.
    name : str
        Of the rule.

    Returns
    -------
    PolicyResult
        Cost, cleanings and unmet-load hours of the rule.

    Raises
    ------
    ValueError
        Where the schedule has another length.
    """
    plan = checked_schedules(upkeep, schedule)
    return _results(upkeep, name, follow(upkeep, lambda ahead, level, excess: plan[:, ahead], 1))[0]


def never(upkeep: Upkeep) -> PolicyResult:
    """Never cleaning.

    Parameters
    ----------
    upkeep : Upkeep
        Running cost, growth, cleaning and outlook.

    Returns
    -------
    PolicyResult
        Cost, cleanings and unmet-load hours of the rule.
    """
    return follow_schedule(upkeep, np.zeros(upkeep.length, dtype=bool), "never")


def every_year(upkeep: Upkeep, day: int) -> PolicyResult:
    """Cleaning every year on the same day.

    Parameters
    ----------
    upkeep : Upkeep
        Running cost, growth, cleaning and outlook.
    day : int
        Day of the year, 0 to 364.

    Returns
    -------
    PolicyResult
        Cost, cleanings and unmet-load hours of the rule.

    Raises
    ------
    ValueError
        Where there is no such day.
    """
    if not 0 <= day < DAYS_PER_YEAR:
        raise ValueError(f"day must lie in 0..364, got {day}")
    step = (upkeep.first_step + np.arange(upkeep.length)) % upkeep.running.steps
    return follow_schedule(upkeep, step == day // upkeep.running.days_per_step, "every year")


def at_interval(upkeep: Upkeep, interval: float) -> PolicyResult:
    """Cleaning at a fixed interval from today on, the first one interval from now.

    Parameters
    ----------
    upkeep : Upkeep
        Running cost, growth, cleaning and outlook.
    interval : float
        Time between cleanings [a], above 0; inf is never.

    Returns
    -------
    PolicyResult
        Cost, cleanings and unmet-load hours of the rule.

    Raises
    ------
    ValueError
        Where the interval is not above 0.
    """
    if not interval > 0.0:
        raise ValueError(f"interval must be above 0 a, got {interval:g}")
    schedule = np.zeros(upkeep.length, dtype=bool)
    if np.isfinite(interval):
        times = np.arange(1, int(upkeep.outlook.years / interval) + 1) * interval * upkeep.running.steps
        steps = np.rint(times).astype(np.int64)
        schedule[steps[steps < upkeep.length]] = True
    return follow_schedule(upkeep, schedule, "fixed interval")


def when_comfort_is_lost(upkeep: Upkeep, hours: float = COMFORT_HOURS) -> PolicyResult:
    """Cleaning after each step with more unmet-load hours than a clean unit.

    Parameters
    ----------
    upkeep : Upkeep
        Running cost, growth, cleaning and outlook.
    hours : float
        By how much longer [h].

    Returns
    -------
    PolicyResult
        Cost, cleanings and unmet-load hours of the rule.
    """
    course = follow(upkeep, lambda ahead, level, excess: excess >= hours, 1)
    return _results(upkeep, "when comfort is lost", course)[0]


def when_reached(upkeep: Upkeep, level: float) -> PolicyResult:
    """Cleaning whenever a level is reached in a step with cooling to do.

    Parameters
    ----------
    upkeep : Upkeep
        Running cost, growth, cleaning and outlook.
    level : float
        Level to watch for [-].

    Returns
    -------
    PolicyResult
        Cost, cleanings and unmet-load hours of the rule.
    """
    return _results(upkeep, "when a condition is reached", watching(upkeep, np.array([level])))[0]


def watching(upkeep: Upkeep, limits: Array) -> Course:
    """Courses of watching for each of these levels.

    Parameters
    ----------
    upkeep : Upkeep
        Running cost, growth, cleaning and outlook.
    limits : ndarray, shape (courses,)
        Levels to watch for [-].

    Returns
    -------
    Course
        One course for each.
    """

    def decide(ahead: int, level: Array, excess: Array) -> BoolArray:
        readable = upkeep.running.cooling[(upkeep.first_step + ahead) % upkeep.running.steps]
        return np.asarray((level >= limits) & bool(readable))

    return follow(upkeep, decide, limits.size)


def best_yearly_day(upkeep: Upkeep) -> int:
    """Day of the year on which a yearly cleaning costs least in the long run.

    Parameters
    ----------
    upkeep : Upkeep
        Running cost, growth and cleaning.

    Returns
    -------
    int
        Day, 0 to 364.
    """
    day, cost = cost_by_day(upkeep.running, upkeep.growth, upkeep.cleaning)
    return int(day[np.argmin(cost[0])])


@dataclass(frozen=True)
class SavingByDate:
    """What one cleaning buys, by its date.

    Attributes
    ----------
    day : ndarray of int, shape (steps,)
        Days of the year, beginning with today.
    saving : ndarray, shape (steps,)
        Running cost saved from that day until the day on which the unit would be cleaned anyway [money].
    until_day : int
        That day of the year, 0 to 364.
    """

    day: IntArray
    saving: Array
    until_day: int


def saving_by_date(upkeep: Upkeep, until_day: int | None = None) -> SavingByDate:
    """What one cleaning in the coming year buys before the next regular one, by its date.

    Parameters
    ----------
    upkeep : Upkeep
    until_day : int, optional
        Day of the regular cleaning, 0 to 364; left out, the yearly day that costs least.

    Returns
    -------
    SavingByDate
        A cleaning in autumn buys little: the heat is over, and spring's cleaning would have come anyway.
    """
    until = best_yearly_day(upkeep) if until_day is None else until_day
    steps = upkeep.running.steps
    two_years = replace(upkeep, outlook=replace(upkeep.outlook, years=2))
    plan = np.concatenate([np.eye(steps, 2 * steps, dtype=bool), np.zeros((1, 2 * steps), dtype=bool)])
    course = follow(two_years, lambda ahead, level, excess: plan[:, ahead], steps + 1)
    saved = np.cumsum(course.running[-1] - course.running[:-1], axis=1)
    ahead = np.arange(steps)
    step = (upkeep.first_step + ahead) % steps
    wait = (until // upkeep.running.days_per_step - step - 1) % steps + 1
    return SavingByDate(step * upkeep.running.days_per_step, saved[ahead, ahead + wait - 1], until)


def saving_of_cleaning_today(upkeep: Upkeep) -> Array:
    """Running cost that one cleaning today saves until the end of each step ahead.

    Against leaving the coil alone; in worth of today, as prices rise and money is discounted.

    Parameters
    ----------
    upkeep : Upkeep
        Running cost, growth, cleaning and outlook.

    Returns
    -------
    ndarray, shape (length,)
        Saving [money].
    """
    plan = np.zeros((2, upkeep.length), dtype=bool)
    plan[0, 0] = True
    running = follow(upkeep, lambda ahead, level, excess: plan[:, ahead], 2).running
    return np.asarray(np.cumsum(running[1] - running[0]))
