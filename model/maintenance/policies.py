"""Rules for when to clean, followed over the years that a unit has left.

A course of cleanings is priced step by step from the table of `model.maintenance.running_cost`. Rules are
those people follow: never, every year on one day, at a fixed interval, when comfort is lost, and when a
condition that can be read on the unit is reached. `model.maintenance.schedule` finds the dates that cost
least.

Assumptions: the weather repeats; a cleaning happens at the beginning of a step and takes no time; readings
can be taken only in steps with cooling to do; nothing is worth anything after the last year.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, BoolArray, IntArray
from model.maintenance.growth import GrowthSteps
from model.maintenance.interval import Cleaning, cost_by_day
from model.maintenance.running_cost import RunningCost, cost_and_short_hours
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
    level_today : float or ndarray, shape (samples,)
        Fouling today [-].
    today : int
        Day of the year, 0 to 364.
    escalation : float
        Rise of the running cost from year to year [-].
    discount_rate : float
        Fall of the worth of money from year to year [-].
    """

    years: int = YEARS_AHEAD
    level_today: float | Array = 0.0
    today: int = 0
    escalation: float = 0.0
    discount_rate: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what cannot be."""
        if self.years < 1:
            raise ValueError(f"years must be 1 or more, got {self.years}")
        if not 0 <= self.today < DAYS_PER_YEAR:
            raise ValueError(f"today must lie in 0..364, got {self.today}")
        level = np.asarray(self.level_today, dtype=float)
        if not np.all((level >= 0.0) & (level < np.inf)):
            raise ValueError(f"level_today must be 0 or more, got {level.min():g}")
        for name in ("escalation", "discount_rate"):
            if not (getattr(self, name) > -1.0 and np.isfinite(getattr(self, name))):
                raise ValueError(f"{name} must be above -1, got {getattr(self, name):g}")


@dataclass(frozen=True)
class Upkeep:
    """One unit whose cleanings are to be planned, or draws of it that are equally likely.

    Every cost that a rule comes to is the mean over the draws.

    Attributes
    ----------
    running : RunningCost
        One sample for each draw.
    growth : GrowthSteps
        With as many samples and the steps of `running`.
    cleaning : Cleaning
    outlook : Outlook
    """

    running: RunningCost
    growth: GrowthSteps
    cleaning: Cleaning
    outlook: Outlook = Outlook()

    def __post_init__(self) -> None:
        """Refuse samples and steps that do not agree."""
        have = [self.running.cost.shape[0], self.growth.keep.shape[0], np.size(self.outlook.level_today)]
        if have[0] != have[1] or have[2] not in (1, have[0]):
            raise ValueError(f"running cost, growth and level must have as many samples, got {have}")
        if self.running.days_per_step != self.growth.days_per_step:
            raise ValueError(
                f"running cost has steps of {self.running.days_per_step} days, "
                f"growth of {self.growth.days_per_step}: use the same"
            )

    @property
    def samples(self) -> int:
        """Draws of the unit [-]."""
        return int(self.running.cost.shape[0])

    @property
    def levels_today(self) -> Array:
        """Fouling of each draw today [-], shape (samples,)."""
        return np.array(np.broadcast_to(self.outlook.level_today, self.samples), dtype=float)

    @property
    def limits(self) -> Array:
        """Level that no draw exceeds [-], shape (samples,)."""
        return np.maximum(self.growth.limit[:, 0], self.levels_today)

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
        Cleanings of at least half of the draws: full years from today, and day of the year, 0 to 364.
    cleanings : float
        How many cleanings, in the mean.
    level_at_cleaning : float
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
    cleanings: float
    level_at_cleaning: float
    over_best: float = 0.0


class Course(NamedTuple):
    """Many courses at once, arrays of shape (courses, steps of the years ahead), money already weighted.

    All are means over the draws; `cleaned` is the share of them that is cleaned, `level_found` the mean level
    of those.
    """

    cleaned: Array
    running: Array
    cleaning: Array
    short_hours: Array
    level_found: Array


Decide = Callable[[int, Array, Array], BoolArray]
"""Rule: (step ahead, levels, unmet-load hours in the step before over a clean unit) -> whether to clean.

Levels and hours have the shape (samples, courses); the answer that or (courses,)."""


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
    level = np.repeat(upkeep.levels_today[:, None], courses, axis=1)
    limit, excess = upkeep.limits[:, None], np.zeros(level.shape)
    cleaned, found, cost, short = (np.zeros((courses, upkeep.length)) for _ in range(4))
    for ahead in range(upkeep.length):
        step = (upkeep.first_step + ahead) % running.steps
        now = np.broadcast_to(decide(ahead, level, excess), level.shape)
        if now.any():
            cleaned[:, ahead] = now.mean(axis=0)
            found[:, ahead] = (level * now).mean(axis=0)
            level = np.where(now, (1.0 - upkeep.cleaning.restoration) * level, level)
        after = np.minimum(growth.keep[:, step, None] * level + growth.gain[:, step, None], limit)
        money, hours = cost_and_short_hours(running, step, 0.5 * (level + after))
        cost[:, ahead], short[:, ahead] = money.mean(axis=0), hours.mean(axis=0)
        excess = hours - running.short_hours[:, step, 0][:, None]
        level = after
    share = np.divide(found, cleaned, out=np.zeros_like(found), where=cleaned > 0.0)
    return Course(cleaned, cost * energy, cleaned * (upkeep.cleaning.price * cash), short, share)


def follow_together(upkeep: Upkeep, rules: Sequence[tuple[Decide, int]]) -> list[Course]:
    """Several rules followed side by side, which takes little longer than one.

    Parameters
    ----------
    upkeep : Upkeep
        Running cost, growth, cleaning and outlook.
    rules : sequence of (Decide, int)
        Each with the number of its courses.

    Returns
    -------
    list of Course
        One for each rule.
    """
    ends = np.cumsum([count for _, count in rules])
    parts = [slice(end - count, end) for end, (_, count) in zip(ends.tolist(), rules, strict=True)]

    def decide(ahead: int, level: Array, excess: Array) -> BoolArray:
        return np.concatenate(
            [
                np.broadcast_to(rule(ahead, level[:, part], excess[:, part]), (len(level), count))
                for (rule, count), part in zip(rules, parts, strict=True)
            ],
            axis=1,
        )

    course = follow(upkeep, decide, int(ends[-1]))
    return [Course(*(rows[part] for rows in course)) for part in parts]


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


def results_of(upkeep: Upkeep, name: str, course: Course) -> list[PolicyResult]:
    """Courses in figures.

    Parameters
    ----------
    upkeep : Upkeep
        For discount rate and length.
    name : str
        Of the rule.
    course : Course
        What was followed.

    Returns
    -------
    list of PolicyResult
        One for each course.
    """
    running, cleaning = per_year(upkeep, course.running), per_year(upkeep, course.cleaning)
    results = []
    for k, cleaned in enumerate(course.cleaned):
        when, number = np.flatnonzero(cleaned >= 0.5), float(cleaned.sum())
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
                cleanings=number,
                level_at_cleaning=float(cleaned @ course.level_found[k]) / number if number else 0.0,
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
    return results_of(upkeep, name, follow(upkeep, lambda ahead, level, excess: plan[:, ahead], 1))[0]


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


def yearly_plan(upkeep: Upkeep, day: int) -> BoolArray:
    """Cleanings every year on the same day.

    Parameters
    ----------
    upkeep : Upkeep
        For the steps ahead.
    day : int
        Day of the year, 0 to 364.

    Returns
    -------
    ndarray of bool, shape (length,)
    """
    step = (upkeep.first_step + np.arange(upkeep.length)) % upkeep.running.steps
    return np.asarray(step == day // upkeep.running.days_per_step)


def interval_plan(upkeep: Upkeep, interval: float) -> BoolArray:
    """Cleanings at a fixed interval from today on, the first one interval from now.

    Parameters
    ----------
    upkeep : Upkeep
        For the steps ahead.
    interval : float
        Time between cleanings [a], above 0; inf is never.

    Returns
    -------
    ndarray of bool, shape (length,)
    """
    schedule = np.zeros(upkeep.length, dtype=bool)
    if np.isfinite(interval):
        times = np.arange(1, int(upkeep.outlook.years / interval) + 1) * interval * upkeep.running.steps
        steps = np.rint(times).astype(np.int64)
        schedule[steps[steps < upkeep.length]] = True
    return schedule


def watch(upkeep: Upkeep, limits: Array) -> Decide:
    """The rule of cleaning at each of these levels in steps with cooling to do.

    Parameters
    ----------
    upkeep : Upkeep
        For the steps with cooling.
    limits : ndarray, shape (courses,)
        Levels to watch for [-].

    Returns
    -------
    Decide
    """

    def decide(ahead: int, level: Array, excess: Array) -> BoolArray:
        readable = upkeep.running.cooling[(upkeep.first_step + ahead) % upkeep.running.steps]
        return np.asarray((level >= limits) & bool(readable))

    return decide


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
    return int(day[np.argmin(cost.mean(axis=0))])


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
