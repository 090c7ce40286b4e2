"""The dates that cost least over a unit's remaining years, and what following a simpler rule costs over them.

The best course is found by dynamic programming over the dates of cleanings, and polished by moving, dropping
and adding single cleanings until none helps; it is never dearer than any rule on given dates. Where the unit
is known as draws, it is the course whose mean cost over all of them is least; a rule that watches the unit
then may cost less, because it cleans each of them when that one needs it.

Assumptions: those of `model.maintenance.policies`; the unit is gone at the end, so that the best course
spares the last cleanings.

References
----------
Rossi, T. M. and Braun, J. E., Minimizing operating costs of vapor compression equipment with optimal service
scheduling, International Refrigeration and Air Conditioning Conference, Purdue, 1994, paper 233 (abstract
seen; title from memory). Bellman, R., Dynamic Programming, 1957 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, BoolArray
from model.maintenance.cumulative_cost import CumulativeCost, cheapest_course, course_costs, cumulative_cost
from model.maintenance.policies import (
    COMFORT_HOURS,
    Course,
    PolicyResult,
    Upkeep,
    best_yearly_day,
    checked_schedules,
    follow,
    follow_together,
    interval_plan,
    per_year,
    results_of,
    watch,
    yearly_plan,
)

CONDITIONS_LOOKED_AT = 30
"""Levels tried as the condition to watch [-]."""
MOVES = (-24, -12, -6, -3, -2, -1, 1, 2, 3, 6, 12, 24)
"""Steps by which a cleaning is moved while a course is polished [-]."""
MOST_POLISHES = 60
"""Rounds of polishing [-]."""
PUBLISHED_YEARLY_PENALTY = 0.117
"""Cost of cleaning every year over the best, at most [-] (Rossi and Braun 1994, simulated 20-ton unit)."""
PUBLISHED_COMFORT_PENALTY = 0.042
"""Cost of cleaning only for comfort over the best, at most [-] (Rossi and Braun 1994, simulated 20-ton unit).
"""


@dataclass(frozen=True)
class PolicyComparison:
    """Rules side by side on the same unit and years.

    Attributes
    ----------
    best : PolicyResult
        The course of least cost.
    results : tuple of PolicyResult
        Every rule with its `over_best`, the best first.
    watched_level : float
        Level of the condition to watch [-].
    yearly_day : int
        Day of the yearly cleaning, 0 to 364.
    """

    best: PolicyResult
    results: tuple[PolicyResult, ...]
    watched_level: float
    yearly_day: int


def _levels_to_watch(upkeep: Upkeep) -> Array:
    """Levels tried as the condition to watch [-]."""
    top = float(upkeep.limits.max())
    return np.linspace(top / CONDITIONS_LOOKED_AT, top, CONDITIONS_LOOKED_AT)


def _best_watched(upkeep: Upkeep, limits: Array, course: Course) -> tuple[float, PolicyResult]:
    """The level that costs least among those watched, and what it comes to."""
    best = int(np.argmin(per_year(upkeep, course.running + course.cleaning)))
    return float(limits[best]), results_of(upkeep, "when a condition is reached", _one(course, best))[0]


def _one(course: Course, number: int) -> Course:
    """One of the courses that were followed."""
    return Course(*(rows[number : number + 1] for rows in course))


def best_course(
    upkeep: Upkeep, starts: ArrayLike | None = None, cumulated: CumulativeCost | None = None
) -> PolicyResult:
    """The dates that cost least over the years ahead.

    Parameters
    ----------
    upkeep : Upkeep
    starts : array_like of bool, shape (courses, length), optional
        Courses that the result must not be dearer than.
    cumulated : CumulativeCost, optional
        Of the same, where it is there already.

    Returns
    -------
    PolicyResult
    """
    table = cumulated or cumulative_cost(upkeep)
    plans = cheapest_course(table)[None]
    if starts is not None:
        plans = np.concatenate([plans, checked_schedules(upkeep, starts)])
    costs = course_costs(table, plans)
    plans[0], _ = _polished(table, plans[int(np.argmin(costs))])
    plans = np.unique(plans, axis=0)
    course = follow(upkeep, lambda ahead, level, excess: plans[:, ahead], len(plans))
    cheapest = int(np.argmin(per_year(upkeep, course.running + course.cleaning)))
    return results_of(upkeep, "best dates", _one(course, cheapest))[0]


def _polished(cumulated: CumulativeCost, schedule: BoolArray) -> tuple[BoolArray, float]:
    """A course with cleanings moved, dropped and added as long as that helps, and its cost [money/a]."""
    best, cost = schedule, float(course_costs(cumulated, schedule[None])[0])
    for _ in range(MOST_POLISHES):
        neighbours = _neighbours(cumulated.upkeep, best)
        costs = course_costs(cumulated, neighbours)
        k = int(np.argmin(costs))
        if costs[k] >= cost * (1.0 - 1e-12):
            break
        best, cost = neighbours[k], float(costs[k])
    return best, cost


def _neighbours(upkeep: Upkeep, schedule: BoolArray) -> BoolArray:
    """Courses one change away from a course, shape (courses, length)."""
    found = []
    for when in np.flatnonzero(schedule).tolist():
        without = schedule.copy()
        without[when] = False
        found.append(without)
        for move in MOVES:
            if 0 <= when + move < upkeep.length and not schedule[when + move]:
                moved = without.copy()
                moved[when + move] = True
                found.append(moved)
    for when in range(0, upkeep.length, 5):
        if not schedule[when]:
            added = schedule.copy()
            added[when] = True
            found.append(added)
    return np.array(found)


def compare_policies(
    upkeep: Upkeep,
    yearly_day: int | None = None,
    interval: float | None = None,
    comfort_hours: float = COMFORT_HOURS,
    cumulated: CumulativeCost | None = None,
) -> PolicyComparison:
    """Rules side by side: best dates, condition, fixed interval, every year, when comfort is lost, never.

    Parameters
    ----------
    upkeep : Upkeep
    yearly_day : int, optional
        Day of the yearly cleaning, 0 to 364; left out, the day that costs least.
    interval : float, optional
        Fixed interval [a], e.g. the best of `model.maintenance.interval.interval_costs`; left out, that rule
        is not shown.
    comfort_hours : float
        Unmet-load hours in a step from which comfort counts as lost [h].
    cumulated : CumulativeCost, optional
        Of the same, where it is there already.

    Returns
    -------
    PolicyComparison

    References
    ----------
    Rossi and Braun 1994 for the three that their abstract compares: best, every year, for comfort.
    """
    day = best_yearly_day(upkeep) if yearly_day is None else yearly_day
    limits = _levels_to_watch(upkeep)
    plans = {"every year": yearly_plan(upkeep, day), "never": np.zeros(upkeep.length, dtype=bool)}
    if interval is not None:
        plans["fixed interval"] = interval_plan(upkeep, interval)
    fixed = np.array(list(plans.values()))
    rules = follow_together(
        upkeep,
        [
            (watch(upkeep, limits), limits.size),
            (lambda ahead, level, excess: excess >= comfort_hours, 1),
            (lambda ahead, level, excess: fixed[:, ahead], len(fixed)),
        ],
    )
    watched, found = _best_watched(upkeep, limits, rules[0])
    named = {"when comfort is lost": results_of(upkeep, "when comfort is lost", rules[1])[0]}
    for number, name in enumerate(plans):
        named[name] = results_of(upkeep, name, _one(rules[2], number))[0]
    shown = ("fixed interval", "every year", "when comfort is lost", "never")
    others = [found, *(named[name] for name in shown if name in named)]
    best = best_course(upkeep, [_schedule_of(upkeep, rule) for rule in others], cumulated)
    rated = tuple(replace(r, over_best=_over(r.cost_per_year, best.cost_per_year)) for r in (best, *others))
    return PolicyComparison(best, rated, watched, day)


def _over(cost: float, best: float) -> float:
    """Share by which a cost is above the best one; infinite where the best course costs nothing."""
    if cost == best:
        return 0.0
    return cost / best - 1.0 if best > 0.0 else inf


def _schedule_of(upkeep: Upkeep, result: PolicyResult) -> BoolArray:
    """The course behind a result, shape (length,)."""
    schedule = np.zeros(upkeep.length, dtype=bool)
    for years, day in result.dates:
        step = (day // upkeep.running.days_per_step - upkeep.first_step) % upkeep.running.steps
        schedule[years * upkeep.running.steps + step] = True
    return schedule
