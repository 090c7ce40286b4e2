"""Cleaning rules followed step by step: what the quicker ways of the model are compared with."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array
from model.maintenance.policies import (
    COMFORT_HOURS,
    PolicyResult,
    Upkeep,
    checked_schedules,
    follow,
    follow_schedule,
    interval_plan,
    per_year,
    results_of,
    watch,
    yearly_plan,
)


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
    """
    return follow_schedule(upkeep, yearly_plan(upkeep, day), "every year")


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
    """
    return follow_schedule(upkeep, interval_plan(upkeep, interval), "fixed interval")


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
    return results_of(upkeep, "when comfort is lost", course)[0]


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
    return results_of(
        upkeep, "when a condition is reached", follow(upkeep, watch(upkeep, np.array([level])), 1)
    )[0]
