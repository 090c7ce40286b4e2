"""The table of running cost against seasons simulated and billed directly."""

from dataclasses import replace

import numpy as np
import pytest

from model.maintenance.growth import FoulingGrowth, growth_steps
from model.maintenance.running_cost import (
    cost_and_short_hours,
    cost_of_step,
    matched,
    running_cost,
)
from model.season.fouling_cost import daily_to_entries, season_outcomes
from model.season.simulation import hourly_season
from model.season.tariff import bill
from tests.model.synthetic_unit import TARIFF, steady_running_cost, synthetic_setting, synthetic_table

TABLE = synthetic_table()
SETTING = synthetic_setting()
COSTS = running_cost(TABLE, SETTING, lost_cooling_price=0.0)


@pytest.mark.parametrize("node", [0, 6, 12])
def test_a_year_at_one_level_costs_what_its_bill_says(node):
    level = float(TABLE.level[node])
    cents = season_outcomes(TABLE, SETTING, level).bill.year_cents[0]
    assert COSTS.cost[0, :, node].sum() * 100 == pytest.approx(cents, abs=12)


def test_a_growing_fouling_is_read_off_within_a_tenth_of_a_percent():
    daily = np.linspace(0.05, 0.42, 365)
    hourly = hourly_season(TABLE, SETTING.year, SETTING.load, daily_to_entries(SETTING.year, daily))
    billed = bill(SETTING.tariff, SETTING.year, hourly.power).year_cents[0] / 100
    middle = daily.reshape(73, 5).mean(axis=1)[None, :]
    assert cost_of_step(COSTS, np.arange(73), middle).sum() == pytest.approx(billed, rel=1e-3)


def test_short_hours_are_those_of_the_season():
    setting = synthetic_setting(design_load=9500.0)
    costs = running_cost(TABLE, setting)
    hours = season_outcomes(TABLE, setting, 0.4).totals.short_hours.sum()
    assert hours > 5.0
    short = [cost_and_short_hours(costs, step, np.array([[0.4]]))[1].item() for step in range(73)]
    assert sum(short) == pytest.approx(hours)


def test_cooling_lost_has_its_price():
    setting = synthetic_setting(design_load=22000.0)
    free, dear = (running_cost(TABLE, setting, price) for price in (0.0, 2.0))
    lost = season_outcomes(TABLE, setting, 0.4).totals.cooling_lost.sum() / 3.6e6
    node = 8
    assert lost > 5.0
    assert (dear.cost - free.cost)[0, :, node].sum() == pytest.approx(2.0 * lost)
    usual = running_cost(TABLE, setting)
    assert (usual.cost - free.cost)[0, :, node].sum() == pytest.approx(5.0 * TARIFF.price_per_kwh * lost)


def test_a_unit_that_trips_is_not_the_cheapest():
    """It draws nothing: only a price on the cooling lost keeps neglect from looking like a saving."""
    table = replace(TABLE, values=TABLE.values.copy())
    table.values[..., -1] -= 24.0  # a limit 24 K lower: trips for weeks when dirty
    assert season_outcomes(table, SETTING, 0.8).totals.trip_hours.sum() > 500
    free, usual = (running_cost(table, SETTING, price).cost[0].sum(axis=0) for price in (0.0, None))
    assert free[-1] < free.max()
    assert usual[-1] == usual.max() > 1.5 * usual[0]


def test_samples_scale_and_middle():
    scale = [0.9, 1.1]
    both = running_cost(synthetic_table(scale), SETTING)
    for k in range(2):
        alone = running_cost(synthetic_table(scale[k : k + 1]), SETTING).cost
        assert np.allclose(both.sample(k).cost, alone, rtol=1e-3, atol=0.02)
    assert np.allclose(both.middle().cost[0], both.cost.mean(axis=0))
    assert np.allclose(both.scaled(2.0).cost, 2.0 * both.cost)


def test_steady_cost_is_the_same_in_every_step():
    steady = steady_running_cost([0.0, 0.5, 1.0], [730.0, 800.0, 1460.0])
    assert np.allclose(steady.cost[0, :, 0], 10.0)
    assert np.allclose(cost_of_step(steady, 7, np.array([[0.75]])), (800.0 + 1460.0) / 2 / 73)
    assert np.allclose(cost_of_step(steady, 7, np.array([[1.25]])), (1460.0 + 330.0) / 73)


def test_samples_and_steps_must_agree():
    growth = growth_steps(FoulingGrowth(np.array([0.1, 0.2])), 5)
    running, same = matched(COSTS, growth)
    assert running.cost.shape[0] == same.keep.shape[0] == 2
    with pytest.raises(ValueError, match="steps of 5 days, growth of 1: use the same"):
        matched(COSTS, growth_steps(FoulingGrowth(0.1)))
    three = running_cost(synthetic_table([0.9, 1.0, 1.1]), SETTING)
    with pytest.raises(ValueError, match=r"one sample or as many, got \[2, 3\]"):
        matched(three, growth)
    with pytest.raises(ValueError, match="days_per_step must divide 365, got 4"):
        running_cost(TABLE, SETTING, days_per_step=4)
