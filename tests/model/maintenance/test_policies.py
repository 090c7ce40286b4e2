"""Rules for cleaning followed over the years, against plain loops."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model.maintenance.cumulative_cost import cumulative_cost, saving_of_cleaning_today
from model.maintenance.growth import LARGEST_LEVEL, SEED_FLUFF, FoulingGrowth, growth_steps
from model.maintenance.interval import Cleaning
from model.maintenance.policies import (
    Outlook,
    Upkeep,
    best_yearly_day,
    follow_schedule,
    never,
    saving_by_date,
)
from model.maintenance.running_cost import running_cost
from tests.model.maintenance.rules import (
    at_interval,
    every_year,
    schedule_costs,
    when_comfort_is_lost,
    when_reached,
)
from tests.model.synthetic_unit import synthetic_setting, synthetic_table

COSTS = running_cost(synthetic_table(), synthetic_setting())
GROWTH = growth_steps(FoulingGrowth(0.15, bursts=(SEED_FLUFF,)), 5)
UPKEEP = Upkeep(COSTS, GROWTH, Cleaning(60.0, 0.8), Outlook(6, 0.2, 120))


@given(
    chance=st.floats(0.0, 0.05),
    state=st.integers(0, 1000),
    escalation=st.floats(-0.02, 0.06),
    discount=st.floats(0.0, 0.08),
)
@settings(derandomize=True, deadline=None, max_examples=15)
def test_a_course_costs_what_a_plain_loop_says(chance, state, escalation, discount):
    outlook = Outlook(4, 0.25, 200, escalation, discount)
    upkeep = replace(UPKEEP, outlook=outlook)
    schedule = np.random.default_rng(state).random(4 * 73) < chance
    level, total, worth = 0.25, 0.0, 0.0
    for ahead in range(4 * 73):
        step, years = (200 // 5 + ahead) % 73, ahead / 73
        if schedule[ahead]:
            level *= 0.2
            total += 60.0 / (1.0 + discount) ** years
        after = min(GROWTH.keep[0, step] * level + GROWTH.gain[0, step], LARGEST_LEVEL)
        cost = np.interp(0.5 * (level + after), COSTS.level, COSTS.cost[0, step])
        total += cost * ((1.0 + escalation) / (1.0 + discount)) ** years
        worth += 1.0 / (1.0 + discount) ** years / 73
        level = after
    assert schedule_costs(upkeep, schedule)[0] == pytest.approx(total / worth, rel=1e-9)
    result = follow_schedule(upkeep, schedule, "by chance")
    assert result.cost_per_year == pytest.approx(total / worth, rel=1e-9)
    assert result.running_per_year + result.cleaning_per_year == pytest.approx(result.cost_per_year)
    assert len(result.dates) == schedule.sum()


def test_many_courses_equal_each_alone():
    plans = np.random.default_rng(8).random((5, UPKEEP.length)) < 0.01
    together = schedule_costs(UPKEEP, plans)
    assert np.allclose(together, [schedule_costs(UPKEEP, plan)[0] for plan in plans])


def test_every_year_falls_on_its_day():
    result = every_year(UPKEEP, 165)
    assert [date[1] for date in result.dates] == [165] * 6
    assert [date[0] for date in result.dates] == list(range(6))
    early = every_year(UPKEEP, 60)  # today is day 120: the first falls in the year to come
    assert early.dates[0] == (0, 60)


def test_fixed_interval_spaces_the_dates():
    result = at_interval(UPKEEP, 1.5)
    assert [years + (day - 120) % 365 / 365 for years, day in result.dates] == pytest.approx(
        [1.5, 3.0, 4.5], abs=0.01
    )
    assert at_interval(UPKEEP, np.inf).cost_per_year == never(UPKEEP).cost_per_year
    assert never(UPKEEP).dates == ()
    assert never(UPKEEP).level_at_cleaning == 0.0


def test_a_condition_is_acted_on_when_it_is_reached_and_can_be_read():
    result = when_reached(UPKEEP, 0.3)
    assert len(result.dates) >= 2
    assert 0.3 <= result.level_at_cleaning < 0.4
    steps = [day // 5 for _, day in result.dates]
    assert all(COSTS.cooling[step] for step in steps)


def test_comfort_is_lost_only_in_the_heat():
    upkeep = replace(UPKEEP, running=running_cost(synthetic_table(), synthetic_setting(design_load=8600.0)))
    result = when_comfort_is_lost(upkeep)
    assert len(result.dates) >= 1
    assert all(150 <= day <= 270 for _, day in result.dates)
    patient = when_comfort_is_lost(upkeep, hours=25.0)
    assert patient.short_hours_per_year > result.short_hours_per_year
    assert len(patient.dates) <= len(result.dates)


def test_october_buys_little():
    """Against the yearly cleaning that comes anyway, a date after the heat saves little."""
    saving = saving_by_date(UPKEEP)
    assert saving.until_day == best_yearly_day(UPKEEP)
    by_day = dict(zip(saving.day.tolist(), saving.saving.tolist(), strict=True))
    assert sorted(by_day) == list(range(0, 365, 5))
    assert saving.day[0] == 120
    assert by_day[280] < 0.4 * by_day[saving.until_day]
    assert by_day[saving.until_day - 10] < 0.2 * by_day[saving.until_day]


def test_saving_by_date_is_the_difference_of_two_courses():
    saving = saving_by_date(UPKEEP, until_day=150)
    upkeep = replace(UPKEEP, cleaning=Cleaning(0.0, 0.8), outlook=Outlook(1, 0.2, 120))
    plan = np.zeros((2, 73), dtype=bool)
    k = 4  # day 140, ten days before the regular one
    plan[0, k] = True
    costs = schedule_costs(upkeep, plan)
    assert saving.day[k] == 140
    assert 0.0 < saving.saving[k] < costs[1] - costs[0]


def test_saving_of_cleaning_today_adds_to_the_difference_of_two_courses():
    saved = saving_of_cleaning_today(cumulative_cost(UPKEEP))
    plan = np.zeros((2, UPKEEP.length), dtype=bool)
    plan[0, 0] = True
    costs = schedule_costs(replace(UPKEEP, cleaning=Cleaning(0.0, 0.8)), plan)
    assert saved.shape == (UPKEEP.length,)
    assert saved[-1] / 6 == pytest.approx(costs[1] - costs[0], rel=1e-9)
    assert np.all(np.diff(saved) >= -1e-9)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: Outlook(0), "years must be 1 or more, got 0"),
        (lambda: Outlook(today=365), "today must lie in 0..364, got 365"),
        (lambda: Outlook(level_today=-0.1), "level_today must be 0 or more, got -0.1"),
        (lambda: Outlook(escalation=-1.0), "escalation must be above -1, got -1"),
        (lambda: Outlook(discount_rate=float("nan")), "discount_rate must be above -1"),
        (lambda: schedule_costs(UPKEEP, np.zeros(10, dtype=bool)), "schedules must have 438 steps, got 10"),
        (lambda: replace(UPKEEP, growth=growth_steps(FoulingGrowth(0.1))), "steps of 5 days, growth of 1"),
        (
            lambda: replace(UPKEEP, growth=growth_steps(FoulingGrowth(np.array([0.1, 0.2])), 5)),
            "must have as many samples",
        ),
    ],
)
def test_plans_that_cannot_be_are_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
