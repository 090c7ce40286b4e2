"""Joint dates of a case's condenser, indoor coil and filter, and what doing only one of them leaves.

Of the most likely unit, its fouling and growth; `model.maintenance.joint_cleaning` finds the dates.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from calibration.costs.fouled_unit import FouledUnit
from calibration.costs.indoor_side import RISES, IndoorSide
from calibration.costs.season_case import SeasonCase
from model.arrays import Array
from model.maintenance.growth import growth_steps
from model.maintenance.interval import Cleaning
from model.maintenance.joint_cleaning import (
    PARTS,
    JointCourse,
    JointRunningCost,
    JointUpkeep,
    best_joint_course,
    joint_costs,
)
from model.maintenance.running_cost import DAYS_PER_STEP, running_cost_of
from model.season.year_by_level import year_by_level


@dataclass(frozen=True)
class JointPlan:
    """When to do which job over the years ahead.

    Attributes
    ----------
    side : IndoorSide
        Indoor coil, filter, prices.
    course : JointCourse
        The dates of least cost.
    steps : mapping of str to tuple of int
        Steps ahead of each job, by the names of its `planned`.
    clean_per_year : float
        Running the unit with everything always clean [money/a].
    never_per_year : float
        Doing nothing [money/a].
    only_per_year : mapping of str to float
        Doing one job alone on its own best dates [money/a], by the same names.
    """

    side: IndoorSide
    course: JointCourse
    steps: Mapping[str, tuple[int, ...]]
    clean_per_year: float
    never_per_year: float
    only_per_year: Mapping[str, float]


def joint_plan(inputs: SeasonCase, unit: FouledUnit, years: int) -> JointPlan | None:
    """Joint dates of a unit over the years ahead.

    Parameters
    ----------
    inputs : SeasonCase
        Weather, load, tariff, cleaning.
    unit : FouledUnit
        With its indoor side.
    years : int
        Years that it has left [a].

    Returns
    -------
    JointPlan or None
        None where only the condenser is to be cleaned.
    """
    side = unit.indoor
    if side is None or inputs.cleaning is None:
        return None
    upkeep = _upkeep(inputs, unit, side, years)
    course = best_joint_course(upkeep, side.planned)
    nothing = np.zeros((1, upkeep.length, len(PARTS)), dtype=bool)
    return JointPlan(
        side=side,
        course=course,
        steps={
            name: tuple(np.flatnonzero(course.plan[:, PARTS.index(name)]).tolist()) for name in side.planned
        },
        clean_per_year=_always_clean(upkeep),
        never_per_year=float(joint_costs(upkeep, nothing)[0]),
        only_per_year={name: best_joint_course(upkeep, (name,)).cost_per_year for name in side.planned},
    )


def _upkeep(inputs: SeasonCase, unit: FouledUnit, side: IndoorSide, years: int) -> JointUpkeep:
    """The unit's years ahead."""
    running = joint_running_cost(inputs, unit, side)
    ahead = np.arange(years * running.steps) / running.steps
    cash: Array = (1.0 + inputs.discount_rate) ** -ahead
    growths = (unit.growth, side.coil.growth, side.screen.growth)
    restores = inputs.cleaning.restoration if inputs.cleaning else 1.0
    return JointUpkeep(
        running=running,
        growths=tuple(growth_steps(one, DAYS_PER_STEP) for one in growths),
        jobs=(Cleaning(side.condenser, restores), side.coil.job, side.screen.job),
        call_out=side.call_out,
        levels=(unit.level, side.coil.level, side.screen.level),
        first_step=unit.day // DAYS_PER_STEP,
        energy=(1.0 + inputs.setting.tariff.escalation) ** ahead * cash,
        cash=cash,
    )


def joint_running_cost(inputs: SeasonCase, unit: FouledUnit, side: IndoorSide) -> JointRunningCost:
    """Cost of running by both levels, the heating season with it where the unit heats.

    Parameters
    ----------
    inputs : SeasonCase
        Weather, load, tariff.
    unit : FouledUnit
    side : IndoorSide
        Its indoor coil and filter.

    Returns
    -------
    JointRunningCost
    """
    cooling = year_by_level(side.table, inputs.setting, days_per_step=DAYS_PER_STEP)
    priced = running_cost_of(cooling)
    cost = priced.cost
    if unit.winter is not None:
        cost = cost + unit.winter.by_rise(RISES, inputs.setting, cooling).cost_by_step(priced.level)
    return JointRunningCost(priced.level, RISES, np.moveaxis(cost, 0, 1))


def _always_clean(upkeep: JointUpkeep) -> float:
    """Running cost of a unit with everything always clean, as an even yearly sum [money/a]."""
    step = (upkeep.first_step + np.arange(upkeep.length)) % upkeep.running.steps
    spent = upkeep.running.cost[step, 0, 0] @ upkeep.energy
    return float(spent / (upkeep.cash.sum() / upkeep.running.steps))
