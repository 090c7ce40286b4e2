"""What fouling adds to a winter: months add up, ranges hold the values, circuits are summed."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest

from calibration.heating.winter_findings import whole_winter, winter_findings
from tests.calibration.heating.test_winter_cost import DRAWS, winter

LEVELS = np.linspace(0.2, 0.5, DRAWS)


@lru_cache
def found(level=0.35):
    growing = np.linspace(level, level + 0.2, 73)
    return winter_findings(winter(), level, LEVELS, growing[None], np.tile(growing, (DRAWS, 1)))


def test_months_add_up_to_the_cent():
    for money, cents in (
        (found().today_money, found().today_cents),
        (found().coming_money, found().coming_cents),
    ):
        assert round(100 * money) == int(cents.sum())
    assert found().today_money == pytest.approx(float(found().today.money.sum()), abs=0.07)


def test_fouling_costs_more_the_more_there_is_and_a_clean_coil_nothing():
    assert 0.0 < found(0.2).today_money < found(0.35).today_money < found(0.6).today_money
    assert found(0.0).today_money == 0.0
    assert found().coming_money > found().today_money
    assert found().balance_today > found().balance_clean


def test_ranges_hold_the_most_likely_winter():
    money = found().estimates(found().today_drawn)["money"]
    assert money.low < found().today_money < money.high


def test_circuits_are_summed():
    both = whole_winter([found(), found()])
    assert both.today_money == pytest.approx(2.0 * found().today_money)
    np.testing.assert_allclose(both.clean.heat, 2.0 * found().clean.heat)
    assert whole_winter([found(), None]) is None
