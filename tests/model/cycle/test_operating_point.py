"""Figures of solved points follow from each other: heats, powers and ratios close, states are named."""

import numpy as np
import pytest

from model.cycle.boundary import Conditions
from model.cycle.faults import Faults
from model.cycle.operating_point import CONVERGED, STATE_CODES, STATES, liquid_flash, suction_wetness
from model.cycle.sizing import nominal_unit
from model.cycle.solve import solve
from model.properties.refrigerant import refrigerant

UNIT = nominal_unit("R410A", 10_500.0, 3.5)
POINT = solve(UNIT, Conditions(np.linspace(293.0, 318.0, 6), 299.82, 0.0112))


def test_powers_and_capacities_add_up():
    assert POINT.outdoor_power == pytest.approx(POINT.compressor_power + POINT.outdoor_fan_power)
    assert POINT.total_power == pytest.approx(POINT.outdoor_power + POINT.blower_power)
    assert POINT.net_capacity == pytest.approx(POINT.gross_capacity - POINT.blower_power)
    assert POINT.net_capacity == pytest.approx(POINT.sensible_capacity + POINT.latent_capacity)
    assert POINT.eer == pytest.approx(POINT.net_capacity / POINT.total_power)


def test_first_law_over_the_whole_circuit():
    given = POINT.gross_capacity + POINT.compressor_power + POINT.suction_gain
    assert POINT.heat_rejected + POINT.shell_loss == pytest.approx(given, rel=CONVERGED)


def test_heat_is_flow_times_rise_of_enthalpy():
    assert POINT.evaporator_air_heat == pytest.approx(POINT.gross_capacity, rel=CONVERGED)
    assert POINT.condenser_air_heat == pytest.approx(POINT.heat_rejected, rel=CONVERGED)


def test_states_are_named_and_the_worst_one_wins():
    assert set(POINT.state_names()) == {"ok"}
    blocked = solve(UNIT, Conditions(325.0, 299.82, 0.0112), Faults(condenser_blocked=0.9))
    assert str(blocked.state_names()) == "high-pressure trip"
    starved = solve(UNIT, Conditions(308.15, 299.82, 0.0112), Faults(charge_change=-0.35))
    assert str(starved.state_names()) == "flash gas"
    assert [STATE_CODES[name] for name in STATES] == list(range(len(STATES)))


def test_pipe_temperatures_carry_on_beyond_saturation():
    """Charge into an orifice unit: superheat ends in a corner at zero and subcooling begins in one; with what
    the gas lacks and the liquid has too much both go on evenly, in steps at most three times each other."""
    unit = nominal_unit("R22", 10_500.0, 3.0, expansion="fixed orifice")
    change = np.linspace(-0.35, 0.35, 29)
    point = solve(unit, Conditions(308.15, 299.82, 0.0112), Faults(charge_change=change))
    fluid = refrigerant("R22")
    wetness, flash = suction_wetness(point, fluid), liquid_flash(point, fluid)
    assert np.any(wetness > 3.0) and np.any(flash > 3.0)
    assert np.all((wetness < 1e-9) | (point.superheat < 1e-9))
    for carried in (wetness - point.superheat, point.subcooling - flash):
        assert np.all(np.diff(carried) > 0.1)
