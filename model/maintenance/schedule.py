"""The dates that cost least over a unit's remaining years, and what following a simpler rule costs over them.

The best course is found by dynamic programming backwards over the years and a grid of levels, run forward
exactly, and polished by moving, dropping and adding single cleanings until none helps; it is never dearer
than any rule it is compared with.

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
from model.maintenance.policies import (
    COMFORT_HOURS,
    PolicyResult,
    Upkeep,
    at_interval,
    best_yearly_day,
    checked_schedules,
    every_year,
    follow,
    follow_schedule,
    never,
    per_year,
    schedule_costs,
    watching,
    weights,
    when_comfort_is_lost,
    when_reached,
)
from model.maintenance.running_cost import cost_of_step

CONDITIONS_LOOKED_AT = 60
"""Levels tried as the condition to watch [-]."""
GRID_OF_LEVELS = 161
"""Levels in the dynamic programme [-]."""
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
    watched_severity : float
        Level of the condition to watch [-].
    yearly_day : int
        Day of the yearly cleaning, 0 to 364.
    """

    best: PolicyResult
    results: tuple[PolicyResult, ...]
    watched_level: float
    yearly_day: int


def condition_to_watch(upkeep: Upkeep) -> tuple[float, PolicyResult]:
    """Level at which cleaning costs least, and what watching for it comes to.

    `model.season.performance_table.approach_at` turns the level into an approach at an outdoor
    temperature.

    Parameters
    ----------
    upkeep : Upkeep
        Running cost, growth, cleaning and outlook.

    Returns
    -------
    (float, PolicyResult)
        The level [-] and the course of cleaning whenever it is reached.
    """
    top = max(float(upkeep.growth.limit[0, 0]), upkeep.outlook.level_today)
    limits = np.linspace(top / CONDITIONS_LOOKED_AT, top, CONDITIONS_LOOKED_AT)
    course = watching(upkeep, limits)
    best = int(np.argmin(per_year(upkeep, course.running + course.cleaning)))
    return float(limits[best]), when_reached(upkeep, float(limits[best]))


def best_course(upkeep: Upkeep, starts: ArrayLike | None = None) -> PolicyResult:
    """The dates that cost least over the years ahead.

    Parameters
    ----------
    upkeep : Upkeep
    starts : array_like of bool, shape (courses, length), optional
        Courses that the result must not be dearer than.

    Returns
    -------
    PolicyResult
    """
    best, cost = _polished(upkeep, _planned(upkeep))
    if starts is not None:
        plans = checked_schedules(upkeep, starts)
        costs = schedule_costs(upkeep, plans)
        cheapest = int(np.argmin(costs))
        if costs[cheapest] < cost:
            best, _ = _polished(upkeep, plans[cheapest])
    return follow_schedule(upkeep, best, "best dates")


def _planned(upkeep: Upkeep) -> BoolArray:
    """Course of least cost by dynamic programming backwards over the years, run forward exactly."""
    running, growth = upkeep.running, upkeep.growth
    energy, cash = weights(upkeep)
    limit = max(float(growth.limit[0, 0]), upkeep.outlook.level_today)
    nodes = np.linspace(0.0, limit, GRID_OF_LEVELS)
    left = (1.0 - upkeep.cleaning.restoration) * nodes
    ahead_cost = np.zeros_like(nodes)
    waiting = np.empty((upkeep.length, nodes.size))
    for ahead in range(upkeep.length - 1, -1, -1):
        step = (upkeep.first_step + ahead) % running.steps
        after = np.minimum(growth.keep[0, step] * nodes + growth.gain[0, step], limit)
        now = cost_of_step(running, step, 0.5 * (nodes + after)[None, :])[0] * energy[ahead]
        waiting[ahead] = now + np.interp(after, nodes, ahead_cost)
        cleaning = upkeep.cleaning.price * cash[ahead] + np.interp(left, nodes, waiting[ahead])
        ahead_cost = np.minimum(waiting[ahead], cleaning)

    def decide(ahead: int, level: Array, excess: Array) -> BoolArray:
        value = waiting[ahead]
        restored = (1.0 - upkeep.cleaning.restoration) * level
        cleaning = upkeep.cleaning.price * cash[ahead] + np.interp(restored, nodes, value)
        return np.asarray(cleaning < np.interp(level, nodes, value))

    return np.asarray(follow(upkeep, decide, 1).cleaned[0])


def _polished(upkeep: Upkeep, schedule: BoolArray) -> tuple[BoolArray, float]:
    """A course with cleanings moved, dropped and added as long as that helps, and its cost [money/a]."""
    best, cost = schedule, float(schedule_costs(upkeep, schedule)[0])
    for _ in range(MOST_POLISHES):
        neighbours = _neighbours(upkeep, best)
        costs = schedule_costs(upkeep, neighbours)
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

    Returns
    -------
    PolicyComparison

    References
    ----------
    Rossi and Braun 1994 for the three that their abstract compares: best, every year, for comfort.
    """
    day = best_yearly_day(upkeep) if yearly_day is None else yearly_day
    watched, watch = condition_to_watch(upkeep)
    rules = [watch, every_year(upkeep, day), when_comfort_is_lost(upkeep, comfort_hours), never(upkeep)]
    if interval is not None:
        rules.insert(1, at_interval(upkeep, interval))
    best = best_course(upkeep, [_schedule_of(upkeep, rule) for rule in rules])
    rated = tuple(replace(r, over_best=_over(r.cost_per_year, best.cost_per_year)) for r in (best, *rules))
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
