"""The table of a unit against its cycle solved at the point itself."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from model.cycle.boundary import Conditions
from model.cycle.faults import Faults
from model.cycle.sizing import nominal_unit
from model.cycle.solve import STATES, solve
from model.properties import moist_air
from model.season import cycle_table as making
from model.season.cycle_table import cycle_table, default_levels
from model.season.performance_table import trip_temperature

UNIT = nominal_unit("R410A", 8800.0)
ROOM = Conditions(308.15, 299.8, 0.0112)


@cache
def table():
    return cycle_table(UNIT, ROOM, wet_bulb=[290.15, 292.65, 295.15])


@pytest.mark.parametrize(
    ("outdoor", "blocked", "bulb"), [(308.15, 0.3, 292.65), (301.3, 0.17, 291.2), (311.1, 0.52, 293.9)]
)
def test_between_grid_points_the_cycle_is_met(outdoor, blocked, bulb):
    moisture = moist_air.humidity_ratio_from_wet_bulb(299.8, bulb, 101325.0)
    point = solve(UNIT, Conditions(outdoor, 299.8, moisture), Faults(condenser_blocked=blocked))
    found = table().at(outdoor, blocked, bulb)
    assert found.total_capacity == pytest.approx(float(point.net_capacity), rel=5e-3)
    assert found.sensible_capacity == pytest.approx(float(point.sensible_capacity), rel=5e-3)
    assert found.outdoor_power == pytest.approx(float(point.outdoor_power), rel=5e-3)
    assert found.total_power == pytest.approx(float(point.total_power), rel=5e-3)
    assert found.approach == pytest.approx(float(point.condensing_temperature) - outdoor, abs=0.3)


def test_trip_lies_where_the_cycle_trips():
    blocked = 0.65
    limit = float(trip_temperature(table(), blocked, 292.65)[0])
    moisture = moist_air.humidity_ratio_from_wet_bulb(299.8, 292.65, 101325.0)
    around = Conditions(np.array([limit - 1.5, limit + 1.5]), 299.8, moisture)
    states = solve(UNIT, around, Faults(condenser_blocked=blocked)).state
    assert STATES[states[1]] == "high-pressure trip"
    assert STATES[states[0]] != "high-pressure trip"


def test_more_blockage_trips_sooner():
    limits = [float(trip_temperature(table(), level, 292.65)[0]) for level in table().level]
    assert np.all(np.diff([t for t in limits if np.isfinite(t)]) < 0.0)
    assert np.isinf(limits[0])
    assert np.isfinite(limits[-1])


def test_a_family_of_units_has_its_samples_first():
    capacity = np.array([8000.0, 9500.0]).reshape(2, 1, 1, 1)
    family = cycle_table(nominal_unit("R410A", capacity), ROOM, level=[0.0, 0.3])
    assert family.samples == 2
    alone = cycle_table(nominal_unit("R410A", 9500.0), ROOM, level=[0.0, 0.3])
    assert np.allclose(family.values[1], alone.values[0], rtol=1e-5, atol=1e-3)


def test_other_foulings_have_their_own_range():
    assert default_levels("evaporator_dust")[-1] == 6.0
    assert default_levels("evaporator_airflow_lost")[-1] == 0.6
    starved = cycle_table(UNIT, ROOM, "evaporator_airflow_lost", level=[0.0, 0.25, 0.5])
    capacity = starved.at(308.15, starved.level).total_capacity
    assert np.all(np.diff(capacity) < 0.0)
    with pytest.raises(ValueError, match="field must be one of condenser_blocked"):
        cycle_table(UNIT, ROOM, "charge_change")


def test_points_that_fail_are_bridged_but_not_many():
    outdoor = np.arange(5.0)
    values, failed = np.array([[0.0, 1.0, 9.0, 3.0, 4.0]]), np.array([[False, False, True, False, False]])
    assert np.allclose(making._bridged(values, failed, outdoor), [[0.0, 1.0, 2.0, 3.0, 4.0]])
    with pytest.raises(ValueError, match="a whole line of the table did not converge"):
        making._bridged(values, np.ones((1, 5), dtype=bool), outdoor)


def test_too_many_points_that_fail_are_an_error(monkeypatch):
    def failing(unit, conditions, faults):
        point = solve(unit, conditions, faults)
        state = point.state.copy()
        state.flat[:3] = STATES.index("not converged")
        return replace(point, state=state)

    monkeypatch.setattr(making, "solve", failing)
    cycle_table(UNIT, ROOM, level=[0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8])
    with pytest.raises(ValueError, match=r"5\.9% of the table's points did not converge, 2% may"):
        cycle_table(UNIT, ROOM, level=[0.0, 0.1, 0.2])


def test_in_weather_hotter_than_that_of_the_trip_nothing_has_to_be_solved(monkeypatch):
    def failing(unit, conditions, faults):
        point = solve(unit, conditions, faults)
        state = point.state.copy()
        state[..., -1] = STATES.index("not converged")
        return replace(point, state=state)

    monkeypatch.setattr(making, "solve", failing)
    levels = [0.0, 0.1, 0.2]
    early = replace(UNIT, high_pressure_limit=0.7 * UNIT.high_pressure_limit)
    table = cycle_table(early, ROOM, level=levels)
    assert np.all(table.at(table.outdoor_temperature[-1], np.array(levels)).trip_margin < 0.0)
    with pytest.raises(ValueError, match="of the table's points did not converge, 2% may"):
        cycle_table(replace(UNIT, high_pressure_limit=9e6), ROOM, level=levels)


def test_margin_falls_on_past_the_limit():
    margin = np.array([[30.0, 20.0, 8.0, 0.0, 0.0]])
    tripped = np.array([[False, False, False, True, True]])
    assert np.allclose(making._carried_on(margin, tripped), [[30.0, 20.0, 8.0, -4.0, -16.0]])
    everywhere = making._carried_on(np.zeros((1, 3)), np.ones((1, 3), dtype=bool))
    assert np.all(everywhere < 0.0)
