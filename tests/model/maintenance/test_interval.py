"""The best interval against closed forms, and the way it moves."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from model.maintenance.growth import SEED_FLUFF, FoulingGrowth, growth_steps
from model.maintenance.interval import (
    Cleaning,
    cost_by_day,
    interval_costs,
)
from model.maintenance.running_cost import running_cost
from tests.model.synthetic_unit import steady_running_cost, synthetic_setting, synthetic_table

COSTS = running_cost(synthetic_table(), synthetic_setting())
PROPERTY = settings(derandomize=True, deadline=None, max_examples=8)


def steady(largest_cost, reach=1.0):
    """Running cost of 900 a year plus `largest_cost` a year for each unit of level, up to `reach`."""
    level = np.linspace(0.0, reach, 3)
    return steady_running_cost(level, 900.0 + largest_cost * level)


@pytest.mark.parametrize(
    ("price", "cost_growth"), [(100.0, 50.0), (200.0, 10.0), (30.0, 200.0), (85.0, 21.0)]
)
def test_linear_growth_gives_the_square_root(price, cost_growth):
    """Harris 1913 (from memory): T* = sqrt(2 C / k), and the cost there sqrt(2 C k) over running clean;
    within 0.5 %.
    """
    growth = growth_steps(FoulingGrowth(1.0, limit=50.0), 5)
    found = interval_costs(steady(cost_growth, 20.0), growth, Cleaning(price))
    exact = np.sqrt(2.0 * price / cost_growth)
    assert found.best_interval[0] == pytest.approx(exact, rel=0.005)
    assert found.best_per_year[0] - 900.0 == pytest.approx(np.sqrt(2.0 * price * cost_growth), rel=0.005)
    assert found.ending == ("least cost found",)


@pytest.mark.parametrize(
    ("price", "largest_cost", "tau"), [(100.0, 200.0, 1.0), (100.0, 300.0, 2.0), (20.0, 90.0, 3.0)]
)
def test_growth_towards_a_limit_gives_the_root(price, largest_cost, tau):
    """Root of L tau [1 - (1 + T/tau) exp(-T/tau)] = C, here by scipy; Kern and Seaton 1959; within 0.5 %."""
    root = brentq(lambda u: largest_cost * tau * (1.0 - (1.0 + u) * np.exp(-u)) - price, 1e-9, 50.0) * tau
    growth = growth_steps(FoulingGrowth(1.0 / tau, 1.0, "asymptotic"), 5)
    found = interval_costs(steady(largest_cost), growth, Cleaning(price))
    assert found.best_interval[0] == pytest.approx(root, rel=0.005)


@pytest.mark.parametrize("price", [200.0, 350.0])
def test_no_interval_where_cleaning_costs_as_much_as_the_dirt(price):
    """C >= L tau: the cost falls with every longer interval, towards that of never cleaning."""
    growth = growth_steps(FoulingGrowth(1.0, 1.0, "asymptotic"), 5)
    found = interval_costs(steady(200.0), growth, Cleaning(price))
    assert np.isinf(found.best_interval[0])
    assert found.best_per_year[0] == found.never_per_year[0] == pytest.approx(1100.0)
    assert found.ending == ("never cleaning costs least",)


def moved(price, rate, restoration):
    """Best interval as it is, then with prices, cleaning and dirt doubled one at a time, then both prices
    doubled.
    """

    def interval(electricity=1.0, cleaning=1.0, dirt=1.0):
        growth = growth_steps(FoulingGrowth(rate * dirt, 1.5, bursts=(SEED_FLUFF,)), 5)
        costs, once = COSTS.scaled(electricity), Cleaning(price * cleaning, restoration)
        return interval_costs(costs, growth, once).best_interval[0]

    return interval(), interval(2.0), interval(1.0, 2.0), interval(1.0, 1.0, 2.0), interval(2.0, 2.0)


@given(price=st.floats(10.0, 80.0), rate=st.floats(0.03, 0.12))
@settings(derandomize=True, deadline=None, max_examples=6)
def test_doubling_prices_and_dirt_moves_the_interval_the_right_way(price, rate):
    usual, dear_power, dear_cleaning, more_dirt, both = moved(price, rate, 1.0)
    assert dear_power < usual
    assert dear_cleaning > usual
    assert more_dirt < usual
    assert both == pytest.approx(usual, rel=1e-6)


def test_doubling_moves_a_partial_cleaning_the_same_way():
    usual, dear_power, dear_cleaning, more_dirt, both = moved(40.0, 0.08, 0.6)
    assert dear_power < usual < dear_cleaning
    assert more_dirt < usual
    assert both == pytest.approx(usual, rel=1e-6)


@given(price=st.floats(10.0, 500.0), cost_growth=st.floats(5.0, 300.0))
@PROPERTY
def test_doubled_dirt_shortens_steady_intervals_by_the_root_of_two(price, cost_growth):
    slow = interval_costs(
        steady(cost_growth, 90.0), growth_steps(FoulingGrowth(1.0, 90.0), 5), Cleaning(price), 20.0
    )
    fast = interval_costs(
        steady(cost_growth, 90.0), growth_steps(FoulingGrowth(2.0, 90.0), 5), Cleaning(price), 20.0
    )
    if slow.best_interval[0] < 19.0 and fast.best_interval[0] > 0.1:
        assert slow.best_interval[0] / fast.best_interval[0] == pytest.approx(np.sqrt(2.0), rel=0.01)


def test_partial_cleaning_settles_where_a_long_simulation_does():
    """About two years apart, 60 % removed, against a plain loop over thirty years."""
    growth = growth_steps(FoulingGrowth(0.3, 0.75, "asymptotic", (SEED_FLUFF,)), 5)
    cleaning = Cleaning(70.0, 0.6)
    found = interval_costs(COSTS, growth, cleaning)
    k = int(np.argmin(np.abs(found.interval - 2.2)))  # at whole years a loop would meet one day only
    length = round(found.interval[k] * 73)
    level, spent, steps = 0.0, 0.0, 0
    for step in range(73 * length * 3):  # every phase of the year is met
        if step % length == 0:
            level *= 0.4
        after = min(growth.keep[0, step % 73] * level + growth.gain[0, step % 73], 0.75)
        if step >= 2 * 73 * length:
            middle = 0.5 * (level + after)
            spent += np.interp(middle, COSTS.level, COSTS.cost[0, step % 73])
            spent += cleaning.price if step % length == 0 else 0.0
            steps += 1
        level = after
    # what is left is read from a parabola over three levels: a few tenths of a thousandth off
    assert found.cost_per_year[0, k] == pytest.approx(spent / steps * 73, rel=5e-4)


def test_less_restoration_costs_more_and_wants_more():
    growth = growth_steps(FoulingGrowth(0.12), 5)
    whole, half = (interval_costs(COSTS, growth, Cleaning(60.0, r)) for r in (1.0, 0.5))
    assert half.best_per_year > whole.best_per_year
    assert half.best_interval < whole.best_interval


def test_samples_equal_single_runs():
    rate = np.array([0.05, 0.1, 0.3])
    for restoration in (1.0, 0.7):
        cleaning, done = Cleaning(60.0, restoration), []
        both = interval_costs(COSTS, growth_steps(FoulingGrowth(rate), 5), cleaning, progress=done.append)
        assert done[-1] == pytest.approx(1.0)
        assert done == sorted(done)
        for k in range(3):
            alone = interval_costs(COSTS, growth_steps(FoulingGrowth(float(rate[k])), 5), cleaning)
            assert both.best_interval[k] == pytest.approx(alone.best_interval[0], rel=0.005)
            assert both.never_per_year[k] == pytest.approx(alone.never_per_year[0])
            assert both.clean_per_year[k] == pytest.approx(alone.clean_per_year[0])


def test_a_free_cleaning_is_done_as_often_as_it_is_looked_at():
    found = interval_costs(COSTS, growth_steps(FoulingGrowth(0.1), 5), Cleaning(0.0))
    assert found.ending == ("shortest interval costs least",)
    assert found.best_interval[0] == found.interval[0]


def test_a_short_horizon_ends_at_its_edge():
    growth = growth_steps(FoulingGrowth(0.1), 5)
    found = interval_costs(COSTS, growth, Cleaning(60.0), longest=1.5)
    assert found.ending == ("longest interval costs least",)
    assert found.best_interval[0] == pytest.approx(1.5, abs=0.01)
    assert interval_costs(COSTS, growth, Cleaning(60.0), longest=0.03).interval.size == 2


def test_no_dirt_needs_no_cleaning():
    found = interval_costs(COSTS, growth_steps(FoulingGrowth(0.0), 5), Cleaning(50.0))
    assert np.isinf(found.best_interval[0])
    assert found.never_per_year[0] == pytest.approx(found.clean_per_year[0])


def test_yearly_cleaning_pays_best_before_the_heat():
    growth = growth_steps(FoulingGrowth(0.15, bursts=(SEED_FLUFF,)), 5)
    day, cost = cost_by_day(COSTS, growth, Cleaning(60.0))
    best = day[np.argmin(cost[0])]
    assert SEED_FLUFF.middle_day - 20 <= best <= SEED_FLUFF.middle_day + 25
    october = cost[0, np.searchsorted(day, 280)]
    assert october > cost[0].min() + 5.0
    mean = interval_costs(COSTS, growth, Cleaning(60.0))
    assert cost[0].mean() == pytest.approx(np.interp(1.0, mean.interval, mean.cost_per_year[0]), rel=1e-3)


@pytest.mark.parametrize("restoration", [1.0, 0.7])
def test_whole_years_are_taken_on_their_best_day(restoration):
    """The same as pricing every day of the year one by one; never dearer than the mean over all days."""
    growth, cleaning = growth_steps(FoulingGrowth(0.15, bursts=(SEED_FLUFF,)), 5), Cleaning(60.0, restoration)
    found = interval_costs(COSTS, growth, cleaning, longest=4.0)
    assert found.whole_years.tolist() == [1, 2, 3, 4]
    for k, years in enumerate(found.whole_years):
        day, cost = cost_by_day(COSTS, growth, cleaning, int(years))
        assert found.whole_per_year[0, k] == pytest.approx(cost[0].min(), rel=1e-9)
        assert found.whole_day[0, k] == day[np.argmin(cost[0])]
        assert found.cost_at(float(years)) == found.whole_per_year[0, k]
        assert found.whole_per_year[0, k] < np.interp(years, found.interval, found.cost_per_year[0])
    assert found.advised_interval[0] in (1.0, 2.0, 3.0, 4.0)
    assert found.advised_per_year[0] == found.whole_per_year[0].min() < found.best_per_year[0]
    assert found.advised_day[0] >= 0
    assert found.cost_at(np.inf) == found.never_per_year[0]


def test_without_a_season_a_day_is_worth_nothing():
    growth = growth_steps(FoulingGrowth(1.0, limit=50.0), 5)
    found = interval_costs(steady(21.0, 20.0), growth, Cleaning(85.0))
    whole = np.interp(found.whole_years, found.interval, found.cost_per_year[0])
    assert np.allclose(found.whole_per_year[0], whole, rtol=2e-3)
    assert found.advised_per_year[0] == pytest.approx(found.best_per_year[0], rel=1e-6)
    assert found.cost_at(2.84) == pytest.approx(found.best_per_year[0], rel=1e-3)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: Cleaning(-1.0), "price must be 0 or more, got -1"),
        (lambda: Cleaning(1.0, 0.0), r"restoration must lie in \(0, 1\], got 0"),
        (
            lambda: cost_by_day(COSTS, growth_steps(FoulingGrowth(0.1), 5), Cleaning(1.0), 0),
            "years_between must be",
        ),
    ],
)
def test_upkeep_that_cannot_be_is_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
