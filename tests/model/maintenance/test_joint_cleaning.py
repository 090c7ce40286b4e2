"""Joint dates: against every course of a small case, against one job alone, and what shared visits bring."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from model.maintenance.growth import FoulingGrowth, growth_steps
from model.maintenance.interval import Cleaning
from model.maintenance.joint_cleaning import (
    PARTS,
    JointRunningCost,
    JointUpkeep,
    best_joint_course,
    joint_costs,
)

LEVEL, RISE = np.linspace(0.0, 0.8, 17), np.linspace(0.0, 6.0, 7)


def running(steps, at_level=400.0, at_rise=30.0, together=0.0, bend=1.0):
    """Money of each step, which rises with both levels, and faster than them where `bend` is above 1."""
    level, rise = LEVEL[None, :], RISE[:, None]
    year = 1000.0 + at_level * level**bend + at_rise * rise + together * level * rise
    return JointRunningCost(LEVEL, RISE, np.repeat(year[None], steps, axis=0) / steps)


def upkeep(steps=5, years=1, call_out=40.0, prices=(25.0, 30.0, 8.0), rates=(0.3, 0.6, 1.5), **given):
    growths = tuple(
        growth_steps(FoulingGrowth(rate, limit=limit), 365 // steps)
        for rate, limit in zip(rates, (0.8, 3.0, 3.0), strict=True)
    )
    length = steps * years
    usual = {
        "running": running(steps),
        "growths": growths,
        "jobs": tuple(Cleaning(price, share) for price, share in zip(prices, (0.9, 0.8, 1.0), strict=True)),
        "call_out": call_out,
        "levels": (0.25, 0.5, 0.8),
        "first_step": 0,
        "energy": np.ones(length),
        "cash": np.ones(length),
    }
    return JointUpkeep(**(usual | given))


@pytest.mark.parametrize(
    "case",
    [
        upkeep(),
        upkeep(call_out=0.0),
        upkeep(running=running(5, 900.0, 10.0), first_step=3),
        upkeep(running=running(5, 600.0, 60.0, 80.0, 1.5), prices=(60.0, 20.0, 2.0)),
        upkeep(running=running(5, 20.0, 1.0), prices=(90.0, 90.0, 90.0)),
        upkeep(energy=1.1 ** np.arange(5), cash=0.9 ** np.arange(5)),
    ],
)
def test_the_best_course_of_a_small_case_is_that_of_brute_force(case):
    """Five steps with eight choices each: 32,768 courses, every one followed."""
    choices = np.array(list(product([False, True], repeat=3)))
    every = choices[np.array(list(product(range(8), repeat=5)))]
    costs = np.concatenate([joint_costs(case, part) for part in np.array_split(every, 4)])
    assert best_joint_course(case).cost_per_year == pytest.approx(float(costs.min()), rel=1e-9)


def test_costs_of_a_course_by_hand():
    """Five steps; the level rises by 0.1 in each, a cleaning before the third leaves a tenth of it."""
    case = upkeep(steps=5, levels=(0.25, 0.0, 0.0), rates=(0.5, 0.0, 0.0))
    plan = np.zeros((1, 5, 3), dtype=bool)
    plan[0, 2, 0] = True
    # 0.25 0.35 0.45 cleaned to 0.045 0.145 0.245 0.345, the mean of each step's ends
    means = [0.30, 0.40, 0.095, 0.195, 0.295]
    expected = 1000.0 + 400.0 * np.mean(means) + 25.0 + 40.0
    assert joint_costs(case, plan)[0] == pytest.approx(expected)
    plan[0, 2, 2] = True  # a filter beside it has no call-out of its own
    assert joint_costs(case, plan)[0] == pytest.approx(expected + 8.0)


def test_a_year_of_real_steps_is_followed_as_one_job_alone_would_be():
    """Where nothing but the condenser fouls, the course is the one that exhaustive dates of one job find."""
    from model.maintenance.policies import Outlook, Upkeep
    from model.maintenance.running_cost import RunningCost
    from model.maintenance.schedule import compare_policies

    season = np.sin(np.pi * np.arange(73) / 73) ** 4
    by_level = 900.0 + 900.0 * LEVEL
    cost = season[:, None] / season.sum() * by_level
    joint = JointRunningCost(LEVEL, RISE, np.repeat(cost[:, None, :], RISE.size, axis=1))
    growth = growth_steps(FoulingGrowth(0.25), 5)
    none = growth_steps(FoulingGrowth(0.0), 5)
    length = 73 * 4
    case = upkeep(
        73,
        4,
        running=joint,
        growths=(growth, none, none),
        jobs=(Cleaning(60.0, 0.9), Cleaning(10.0), Cleaning(10.0)),
        call_out=50.0,
        levels=(0.2, 0.0, 0.0),
        energy=np.ones(length),
        cash=np.ones(length),
    )
    found = best_joint_course(case)
    alone = RunningCost(LEVEL, cost[None], np.zeros((1, 73, 17)), np.ones(73, dtype=bool), 5)
    known = compare_policies(Upkeep(alone, growth, Cleaning(110.0, 0.9), Outlook(4, 0.2)), interval=1.0)
    assert not found.plan[:, 1:].any()
    assert found.cost_per_year <= known.best.cost_per_year * (1.0 + 1e-6)
    assert found.cost_per_year == pytest.approx(known.best.cost_per_year, rel=1e-3)


def test_sharing_a_visit_is_worth_its_call_outs():
    """With a dear call-out jobs meet; without one each has its own dates, and costs less in all."""
    dear, free = upkeep(73, 3, call_out=120.0), upkeep(73, 3, call_out=0.0)
    both, apart = best_joint_course(dear), best_joint_course(free)
    assert both.visits < apart.visits
    assert both.plan.sum() / both.visits > apart.plan.sum() / apart.visits
    assert apart.cost_per_year < both.cost_per_year


def test_fewer_jobs_leave_more():
    case = upkeep(73, 3)
    costs = [best_joint_course(case, PARTS[:count]).cost_per_year for count in range(4)]
    assert costs == sorted(costs, reverse=True)
    assert costs[0] == pytest.approx(joint_costs(case, np.zeros((1, case.length, 3), dtype=bool))[0])
    assert not best_joint_course(case, ("filter",)).plan[:, :2].any()


def test_what_cannot_be_is_refused():
    case = upkeep()
    with pytest.raises(ValueError, match="parts must be of condenser"):
        best_joint_course(case, ("roof",))
    with pytest.raises(ValueError, match=r"plans must have shape \(n, 5, 3\)"):
        joint_costs(case, np.zeros((1, 4, 3)))
    with pytest.raises(ValueError, match="call_out must be 0 or more"):
        replace(case, call_out=-1.0)
    with pytest.raises(ValueError, match="growths, jobs and levels"):
        replace(case, levels=(0.0,))
    with pytest.raises(ValueError, match="73 steps"):
        replace(upkeep(73), growths=case.growths)
