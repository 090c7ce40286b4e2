"""Courses priced by look-up against the same courses followed step by step, and dates against brute force."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from model.maintenance.cumulative_cost import (
    cheapest_course,
    course_costs,
    cumulative_cost,
    saving_of_cleaning_today,
)
from model.maintenance.growth import FoulingGrowth, growth_steps
from model.maintenance.interval import Cleaning
from model.maintenance.policies import Outlook, Upkeep, follow, weights
from model.maintenance.running_cost import running_cost
from tests.model.maintenance.rules import schedule_costs
from tests.model.synthetic_unit import steady_running_cost, synthetic_setting, synthetic_table

RATES = np.array([0.1, 0.2, 0.35])
RUNNING = running_cost(synthetic_table([0.95, 1.0, 1.05]), synthetic_setting())


def upkeep(restoration=0.9, years=4, **outlook):
    """Three draws of one unit."""
    today = Outlook(years, np.array([0.0, 0.1, 0.25]), 140, **outlook)
    return Upkeep(RUNNING, growth_steps(FoulingGrowth(RATES), 5), Cleaning(60.0, restoration), today)


def random_plans(unit, count=12):
    return np.random.default_rng(4).random((count, unit.length)) < 0.008


@pytest.mark.parametrize("restoration", [1.0, 0.95, 0.7])
@pytest.mark.parametrize("money", [{}, {"escalation": 0.03, "discount_rate": 0.08}])
def test_a_course_costs_what_following_it_costs(restoration, money):
    unit = upkeep(restoration, **money)
    plans = np.concatenate([random_plans(unit), np.zeros((1, unit.length), dtype=bool)])
    assert plans[0].sum() > 0
    found = course_costs(cumulative_cost(unit), plans)
    assert np.allclose(found, schedule_costs(unit, plans), rtol=2e-4)


def test_the_mean_over_draws_is_that_of_the_draws_alone():
    unit = upkeep()
    plans = random_plans(unit)
    alone = [
        schedule_costs(
            Upkeep(
                RUNNING.sample(k),
                growth_steps(FoulingGrowth(RATES[k : k + 1]), 5),
                unit.cleaning,
                replace(unit.outlook, level_today=float(unit.levels_today[k])),
            ),
            plans,
        )
        for k in range(3)
    ]
    assert np.allclose(schedule_costs(unit, plans), np.mean(alone, axis=0), rtol=1e-12)


def test_dates_against_brute_force():
    """Steps of 73 days, three years: every course of up to four cleanings is tried."""
    running = steady_running_cost([0.0, 0.4, 0.8], [800.0, 950.0, 1250.0], days_per_step=73)
    running = replace(running, cost=running.cost * np.array([0.2, 0.8, 2.6, 1.2, 0.2])[None, :, None])
    both = replace(
        running,
        cost=np.repeat(running.cost, 2, axis=0),
        short_hours=np.repeat(running.short_hours, 2, axis=0),
    )
    growth = growth_steps(FoulingGrowth(np.array([0.15, 0.4])), 73)
    unit = Upkeep(both, growth, Cleaning(45.0, 1.0), Outlook(3, 0.2, 80, 0.02, 0.05))
    plans = np.array(
        [
            np.isin(np.arange(unit.length), chosen)
            for count in range(5)
            for chosen in combinations(range(unit.length), count)
        ]
    )
    costs = schedule_costs(unit, plans)
    best = cheapest_course(cumulative_cost(unit))
    assert plans[np.argmin(costs)].sum() in (1, 2, 3)
    assert np.array_equal(best, plans[np.argmin(costs)])


def test_money_that_is_discounted_puts_cleanings_off():
    usual, impatient = (cheapest_course(cumulative_cost(upkeep(discount_rate=rate))) for rate in (0.0, 0.6))
    assert impatient.sum() <= usual.sum()
    worth = weights(upkeep(discount_rate=0.6))[1]
    assert worth[-1] < worth[0] / 6.0


def test_saving_of_a_cleaning_today():
    unit = upkeep(0.8)
    plan = np.zeros((2, unit.length), dtype=bool)
    plan[0, 0] = True
    running = follow(unit, lambda ahead, level, excess: plan[:, ahead], 2).running
    saved = saving_of_cleaning_today(cumulative_cost(unit))
    assert np.allclose(saved, np.cumsum(running[1] - running[0]), rtol=1e-9)


def test_courses_are_looked_up_not_followed(monkeypatch):
    """However many courses, the running cost is walked once."""
    table = cumulative_cost(upkeep())
    monkeypatch.setattr(
        "model.maintenance.cumulative_cost.cost_of_step", lambda *given: pytest.fail("walked")
    )
    assert course_costs(table, random_plans(table.upkeep, 500)).shape == (500,)
