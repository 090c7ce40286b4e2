"""Years of several machines added up."""

import numpy as np
import pytest

from model.season.added_years import added_costs, added_outcomes
from model.season.fouling_cost import season_outcomes
from tests.model.synthetic_unit import season_fouling_cost, synthetic_setting, synthetic_table

SETTING = synthetic_setting(design_load=10500.0)
TABLE = synthetic_table((0.9, 1.0))
LEVEL = np.array([[0.3], [0.6]])


def test_two_equal_machines_are_twice_one():
    one = season_fouling_cost(TABLE, SETTING, LEVEL)
    two = added_costs([one, one])
    for name in ("energy", "peak_power", "cents", "unmet_cents", "carbon", "cooling_lost"):
        assert np.allclose(getattr(two, name), 2.0 * getattr(one, name))
    for name in ("run_hours", "short_hours", "trip_hours"):
        assert np.allclose(getattr(two, name), getattr(one, name))
    was, now = one.fouled.totals, two.fouled.totals
    assert np.allclose(now.worst_shortfall, 2.0 * was.worst_shortfall)
    assert np.allclose(now.worst_room_rise, was.worst_room_rise)
    assert np.array_equal(now.trip_temperature, was.trip_temperature)
    assert np.allclose(two.energy_share, one.energy_share)


def test_a_clean_and_a_fouled_machine():
    clean, fouled = season_outcomes(TABLE, SETTING), season_outcomes(TABLE, SETTING, LEVEL)
    both = added_outcomes([clean, fouled])
    assert np.allclose(both.totals.energy, clean.totals.energy + fouled.totals.energy)
    assert np.array_equal(both.month_cents, clean.month_cents + fouled.month_cents)
    assert np.array_equal(both.totals.trip_temperature, fouled.totals.trip_temperature)
    longest = np.maximum(clean.totals.short_hours, fouled.totals.short_hours)
    assert np.array_equal(both.totals.short_hours, longest)


def test_no_machine_is_refused():
    with pytest.raises(ValueError, match="outcomes must hold one machine at least, got none"):
        added_outcomes([])
