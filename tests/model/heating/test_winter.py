"""A heating season against degree hours by hand, the standard's bins, and its own limits."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from model.heating.winter import HeatingRules, HeatingTable, balance_point, winter_by_level
from model.season.tariff import Tariff
from model.season.weather_year import HOURS_PER_YEAR, hourly_year

HOURS = np.arange(HOURS_PER_YEAR)
COLD = 283.0 - 14.0 * np.cos(2.0 * np.pi * HOURS / HOURS_PER_YEAR) - 4.0 * np.cos(2.0 * np.pi * HOURS / 24.0)
YEAR = hourly_year(COLD, 0.002)
RULES = HeatingRules(no_load=291.0, design_outdoor=261.0, design_load=9000.0, cycling=0.0)
TARIFF = Tariff(0.2, carbon_intensity=0.4)
LEVEL = np.array([0.0, 0.4, 0.8])


def table(capacity, power):
    """Capacity and power that depend on the level alone [W], one value a level."""
    outdoor, humidity = np.linspace(245.0, 292.0, 5), np.linspace(0.3, 1.0, 3)
    shape = (1, 3, 3, 5)
    values = [np.broadcast_to(np.reshape(one, (1, 3, 1, 1)), shape) for one in (capacity, power)]
    return HeatingTable(outdoor, humidity, LEVEL, *values)


AMPLE = table([20e3, 20e3, 20e3], [5e3, 6e3, 8e3])
SMALL = table([4e3, 3e3, 2e3], [1.2e3, 1.1e3, 1.0e3])


def degree_hours(base, air=COLD):
    return float(np.maximum(base - air, 0.0).sum())


def test_degree_hours_by_hand():
    """Heat is (9000 W / 30 K) times the degree hours below 291 K; electricity that over the COP of 4."""
    year = winter_by_level(AMPLE, YEAR, RULES, TARIFF).year([[0.0]])
    heat = 300.0 * degree_hours(291.0)
    assert float(year.heat.sum()) / 3600.0 == pytest.approx(heat, rel=1e-9)
    assert float(year.electricity.sum()) / 3600.0 == pytest.approx(heat / 4.0, rel=1e-9)
    assert float(year.money.sum()) == pytest.approx(0.2 * heat / 4.0 / 1e3, rel=1e-9)
    assert float(year.carbon.sum()) == pytest.approx(0.4 * heat / 4.0 / 1e3, rel=1e-9)
    assert float(year.run_hours.sum()) == pytest.approx(heat / 20e3, rel=1e-9)
    assert float(year.backup_heat.sum()) == 0.0
    january = COLD[: 31 * 24]
    assert float(year.heat[0, 0]) / 3600.0 == pytest.approx(300.0 * degree_hours(291.0, january), rel=1e-9)


def test_backup_makes_up_what_lies_below_the_balance_point():
    """4 kW meet the load down to 291 - 4000 / 300 K: below, the degree hours from there are backup heat."""
    year = winter_by_level(SMALL, YEAR, RULES, TARIFF).year([[0.0]])
    balance = 291.0 - 4000.0 / 300.0
    assert balance_point(SMALL, RULES) == pytest.approx(balance, abs=0.1)
    rest = 300.0 * degree_hours(balance)
    assert float(year.backup_heat.sum()) / 3600.0 == pytest.approx(rest, rel=1e-9)
    used = float(year.electricity.sum()) / 3600.0
    assert float(year.money.sum()) == pytest.approx(0.2 * (used + rest) / 1e3, rel=1e-9)
    assert float(year.unmet.sum()) == 0.0


def test_backup_has_its_own_price_and_carbon():
    gas = replace(RULES, backup_price=0.06, backup_carbon=0.25)
    plain, own = (winter_by_level(SMALL, YEAR, one, TARIFF).year([[0.0]]) for one in (RULES, gas))
    backup = float(own.backup_heat.sum()) / 3.6e6
    assert float(own.backup_money.sum()) == pytest.approx(0.06 * backup, rel=1e-9)
    assert float((plain.money - own.money).sum()) == pytest.approx(0.14 * backup, rel=1e-9)
    assert float((plain.carbon - own.carbon).sum()) == pytest.approx(0.15 * backup, rel=1e-9)


def test_lock_outs():
    """Backup only below 268 K: what is short above is unmet. The pump only above 272 K: below, all backup."""
    locked = winter_by_level(SMALL, YEAR, replace(RULES, backup_below=268.0), TARIFF).year([[0.0]])
    short = np.maximum(RULES.load(COLD) - 4000.0, 0.0)
    assert float(locked.unmet.sum()) / 3600.0 == pytest.approx(short[COLD >= 268.0].sum(), rel=1e-9)
    off = winter_by_level(SMALL, YEAR, replace(RULES, pump_above=272.0), TARIFF).year([[0.0]])
    below = RULES.load(COLD)[COLD < 272.0].sum() + short[COLD >= 272.0].sum()
    assert float(off.backup_heat.sum()) / 3600.0 == pytest.approx(below, rel=1e-9)


def test_cycling_costs_what_the_standard_says():
    """At half load the part-load factor is 1 - 0.25 (1 - 0.5) (AHRI 210/240)."""
    year = hourly_year(np.full(HOURS_PER_YEAR, 276.0), 0.002)
    rules = HeatingRules(291.0, 261.0, 20e3, cycling=0.25)
    used = winter_by_level(AMPLE, year, rules, TARIFF).year([[0.0]]).electricity.sum() / 3.6e3
    assert float(used) == pytest.approx(HOURS_PER_YEAR * 5e3 * 0.5 / 0.875, rel=1e-9)


def test_defrost_on_demand_has_its_credit():
    with_credit = winter_by_level(AMPLE, YEAR, replace(RULES, credit=1.03), TARIFF).year([[0.0]])
    without = winter_by_level(AMPLE, YEAR, RULES, TARIFF).year([[0.0]])
    assert float(with_credit.electricity.sum()) == pytest.approx(float(without.electricity.sum()) / 1.03)


def test_levels_are_read_between_and_courses_step_by_step():
    winter = winter_by_level(AMPLE, YEAR, RULES, TARIFF)
    half, nodes = winter.year([[0.2]]).money, [winter.year([[one]]).money for one in (0.0, 0.4)]
    np.testing.assert_allclose(half, 0.5 * (nodes[0] + nodes[1]), rtol=1e-12)
    course = np.where(np.arange(73) < 36, 0.0, 0.4)[None]
    split = winter.year(course)
    assert float(split.money[0, 0]) == pytest.approx(float(nodes[0][0, 0]))
    assert float(split.money[0, 11]) == pytest.approx(float(nodes[1][0, 11]))
    by_step = winter.cost_by_step(np.array([0.0, 0.2, 0.4]))
    assert by_step.shape == (1, 73, 3)
    np.testing.assert_allclose(by_step.sum(axis=1)[0, [0, 2]], [one.sum() for one in nodes], rtol=1e-12)


def test_a_larger_load_of_a_sample():
    several = replace(AMPLE, capacity=np.repeat(AMPLE.capacity, 3, 0), power=np.repeat(AMPLE.power, 3, 0))
    year = winter_by_level(several, YEAR, RULES, TARIFF, load_factor=np.array([0.5, 1.0, 1.2])).year([[0.0]])
    np.testing.assert_allclose(year.heat.sum(axis=1) / year.heat[1].sum(), [0.5, 1.0, 1.2], rtol=1e-12)


def test_guards():
    with pytest.raises(ValueError, match="design_outdoor must be below no_load, got 292 and 291"):
        HeatingRules(291.0, 292.0, 9000.0)
    with pytest.raises(ValueError, match="design_load must be above 0, got 0"):
        HeatingRules(291.0, 261.0, 0.0)
    with pytest.raises(ValueError, match="needs an hourly year"):
        winter_by_level(AMPLE, YEAR.take(HOURS[:100]), RULES, TARIFF)
