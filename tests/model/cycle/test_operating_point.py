"""Figures of solved points follow from each other: heats, powers and ratios close, states are named."""

import numpy as np
import pytest

from model.cycle.boundary import Conditions
from model.cycle.faults import Faults
from model.cycle.operating_point import CONVERGED, STATE_CODES, STATES
from model.cycle.sizing import nominal_unit
from model.cycle.solve import solve

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
