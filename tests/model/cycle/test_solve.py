"""The cycle: first law, array equals scalar, independence of the start, limit states, guards.

Laws that hold over ranges are in `test_cycle_laws`, sweeps without jumps in `test_continuity`, other people's
programs and tests in `test_independent_cycle` and `test_published_faults`.
"""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest

from model.components.compressor import CompressorMap
from model.cycle import batch_newton
from model.cycle import solve as cycle
from model.cycle.boundary import Conditions
from model.cycle.faults import Faults
from model.cycle.sizing import nominal_unit, rating_conditions
from model.properties.refrigerant import refrigerant

SIZE = 10_550.0
"""Rated capacity of the units here [W]: three tons."""
UNITS = {kind: nominal_unit("R410A", SIZE, expansion=kind) for kind in ("TXV", "fixed orifice")}
RATING = rating_conditions()
RATES = ("compressor_speed", "outdoor_fan_speed", "indoor_fan_speed")
VARIED = Faults(
    condenser_blocked=np.array([0.0, 0.5, 0.0, 0.0, 0.2]),
    charge_change=np.array([0.0, 0.0, -0.3, 0.25, 0.1]),
    noncondensable=np.array([0.0, 0.0, 0.0, 2e5, 0.0]),
    evaporator_airflow_lost=np.array([0.0, 0.3, 0.0, 0.0, 0.5]),
)
"""Five different machines, none of them at a pressure limit."""


@pytest.fixture(params=list(UNITS))
def unit(request):
    return UNITS[request.param]


def assert_same_point(found, wanted, rel=1e-7):
    for field in fields(found):
        one, other = getattr(found, field.name), getattr(wanted, field.name)
        if field.name == "residual":
            continue
        scale = max(float(np.abs(other).max()), 1e-3)
        np.testing.assert_allclose(one, other, rtol=rel, atol=rel * scale, err_msg=field.name)


def test_heat_rejected_and_lost_is_heat_taken_in_and_power(unit):
    point = cycle.solve(unit, RATING, VARIED)
    given = point.gross_capacity + point.compressor_power + point.suction_gain
    np.testing.assert_allclose(point.heat_rejected + point.shell_loss, given, rtol=1e-12)
    assert np.all(point.residual < 1e-6)


def test_heat_taken_in_follows_from_reported_enthalpies(unit):
    """Rejected and total heat from the flow and the enthalpies at compressor and liquid port alone."""
    point = cycle.solve(unit, RATING, VARIED)
    rejected = point.refrigerant_flow * (point.discharge_enthalpy - point.liquid_enthalpy)
    taken = point.refrigerant_flow * (point.suction_enthalpy - point.liquid_enthalpy)
    np.testing.assert_allclose(point.heat_rejected, rejected, rtol=1e-12)
    np.testing.assert_allclose(point.gross_capacity + point.suction_gain, taken, rtol=1e-12)


def test_points_solved_in_pieces_are_those_solved_together(unit, monkeypatch):
    together = cycle.solve(unit, RATING, VARIED)
    for size in (2, 3):  # three pieces, and two
        monkeypatch.setattr(cycle, "POINTS_AT_A_TIME", size)
        assert_same_point(cycle.solve(unit, RATING, VARIED), together)


def test_one_start_serves_every_point_and_a_start_of_its_own_each(unit):
    wanted = cycle.solve(unit, RATING, VARIED)
    one = cycle.solve(unit, RATING).unknowns
    assert one.shape == (3,)
    assert_same_point(cycle.solve(unit, RATING, VARIED, one), wanted)
    assert_same_point(cycle.solve(unit, RATING, VARIED, wanted.unknowns), wanted)


def test_air_side_is_refrigerant_side(unit):
    point = cycle.solve(unit, RATING, VARIED)
    np.testing.assert_allclose(point.evaporator_air_heat, point.gross_capacity, rtol=1e-6)
    np.testing.assert_allclose(point.condenser_air_heat, point.heat_rejected, rtol=1e-6)


def test_supply_air_carries_what_the_unit_takes_out(unit):
    """Enthalpy of dry air and water by hand, ASHRAE Handbook Fundamentals 2017, ch. 1: 1.006, 2501, 1.86."""
    point = cycle.solve(unit, RATING, VARIED)

    def enthalpy(temperature, humidity):
        celsius = np.asarray(temperature) - 273.15
        return 1006.0 * celsius + np.asarray(humidity) * (2.501e6 + 1860.0 * celsius)

    taken = enthalpy(RATING.return_temperature, RATING.return_humidity_ratio) - enthalpy(
        point.supply_temperature, point.supply_humidity_ratio
    )
    np.testing.assert_allclose(point.indoor_airflow * taken, point.net_capacity, rtol=2e-3)
    water = point.indoor_airflow * (RATING.return_humidity_ratio - point.supply_humidity_ratio)
    np.testing.assert_allclose(point.latent_capacity, water * 2.501e6, rtol=1e-3)
    assert np.all(water > 0.0)


def test_powers_and_capacities_add_up(unit):
    point = cycle.solve(unit, RATING, VARIED)
    np.testing.assert_allclose(point.net_capacity, point.gross_capacity - point.blower_power, rtol=1e-12)
    np.testing.assert_allclose(
        point.net_capacity, point.sensible_capacity + point.latent_capacity, rtol=1e-12
    )
    np.testing.assert_allclose(
        point.total_power, point.compressor_power + point.outdoor_fan_power + point.blower_power, rtol=1e-12
    )
    np.testing.assert_allclose(point.eer, point.net_capacity / point.total_power, rtol=1e-12)


def test_charge_asked_for_is_the_charge_the_circuit_holds(unit):
    point = cycle.solve(unit, RATING, VARIED)
    healthy = cycle.solve(unit, RATING)
    held = cycle.charge_at(unit, RATING, healthy.unknowns)
    assert held == pytest.approx(float(unit.circuit.charge), rel=1e-8)
    assert np.all(point.residual < 1e-6)


def test_array_equals_scalar(unit):
    whole = cycle.solve(unit, RATING, VARIED)
    for place in range(5):
        single = {f.name: np.asarray(getattr(VARIED, f.name)) for f in fields(VARIED)}
        faults = Faults(**{name: float(v[place]) if v.ndim else float(v) for name, v in single.items()})
        alone = cycle.solve(unit, RATING, faults)
        assert alone.suction_pressure.shape == ()
        picked = type(whole)(**{f.name: getattr(whole, f.name)[..., place] for f in fields(whole)})
        assert_same_point(alone, picked)


def test_many_points_solved_together_equal_the_same_points_in_a_few():
    """More than fit into one piece and into the method for few points."""
    outdoor = np.linspace(295.0, 320.0, 2 * cycle.POINTS_AT_A_TIME + 7)
    unit = UNITS["TXV"]
    whole = cycle.solve(unit, replace(RATING, outdoor_temperature=outdoor))
    places = [0, 1000, cycle.POINTS_AT_A_TIME - 1, cycle.POINTS_AT_A_TIME, outdoor.size - 1]
    few = cycle.solve(unit, replace(RATING, outdoor_temperature=outdoor[places]))
    picked = type(whole)(**{f.name: getattr(whole, f.name)[..., places] for f in fields(whole)})
    assert_same_point(few, picked)


def test_inputs_broadcast_to_any_shape():
    outdoor = np.array([300.0, 308.0, 315.0])[:, None]
    point = cycle.solve(
        UNITS["TXV"],
        replace(RATING, outdoor_temperature=outdoor),
        Faults(condenser_blocked=np.linspace(0, 0.5, 4)),
    )
    assert point.net_capacity.shape == point.state.shape == (3, 4)
    assert point.unknowns.shape == (3, 3, 4)
    none = cycle.solve(UNITS["TXV"], replace(RATING, outdoor_temperature=np.zeros(0)))
    assert none.net_capacity.shape == (0,)


def test_start_from_a_neighbour_gives_the_same(unit):
    plain = cycle.solve(unit, RATING, VARIED)
    neighbour = cycle.solve(unit, replace(RATING, outdoor_temperature=311.0))
    assert_same_point(cycle.solve(unit, RATING, VARIED, start=neighbour.unknowns), plain)
    assert_same_point(cycle.solve(unit, RATING, VARIED, start=plain.unknowns), plain)


def test_full_speed_is_one_and_half_the_speed_is_about_half_the_flow(unit):
    full = cycle.solve(unit, RATING)
    half = cycle.solve(unit, replace(RATING, compressor_speed=0.5))
    assert_same_point(cycle.solve(unit, replace(RATING, **dict.fromkeys(RATES, 1.0))), full)
    # Evaporating warmer, half the speed draws somewhat more than half the mass; much more where an orifice,
    # which feeds by the condenser's pressure and subcooling, floods the suction.
    most = 0.7 if unit.expansion.kind == "TXV" else 0.85
    assert 0.5 < half.refrigerant_flow / full.refrigerant_flow < most
    assert half.eer > full.eer or unit.expansion.kind == "fixed orifice"


def test_makers_map_drives_the_cycle():
    """Coefficients of a map that says what the fitted compressor says at one point give that point there."""
    unit = UNITS["TXV"]
    point = cycle.solve(unit, RATING)
    flow, power = ((float(value), *[0.0] * 9) for value in (point.refrigerant_flow, point.compressor_power))
    superheat = float(point.suction_temperature - point.evaporating_temperature)
    maker = CompressorMap(flow, power, superheat)
    mapped = replace(unit, compressor=replace(unit.compressor, rating_map=maker))
    shown = cycle.solve(mapped, RATING)
    assert shown.compressor_power == pytest.approx(float(point.compressor_power), rel=2e-3)
    assert shown.refrigerant_flow == pytest.approx(float(point.refrigerant_flow), rel=2e-3)


# The limit states, each with what makes it one.


def test_healthy_unit_at_its_rating_is_ok(unit):
    point = cycle.solve(unit, RATING)
    assert point.state_names() == "ok"
    assert point.device_quality < 0.0
    assert point.superheat > 0.0


def test_flash_gas_is_named_where_the_device_is_fed_bubbles(unit):
    point = cycle.solve(unit, RATING, Faults(charge_change=np.linspace(0.0, -0.35, 141)))
    flashing = point.device_quality > 1e-4
    assert np.any(flashing)
    assert not np.all(flashing)
    np.testing.assert_array_equal(point.state_names() == "ok", ~flashing & (point.state == 0))
    assert np.all(point.state[flashing] >= cycle.STATE_CODES["flash gas"])
    assert "flash gas" in point.state_names()
    np.testing.assert_allclose(point.subcooling[point.device_quality > 0.05], 0.0, atol=0.3)


def test_flooded_suction_is_named_and_its_gas_is_wet():
    point = cycle.solve(UNITS["fixed orifice"], RATING, Faults(charge_change=0.4))
    dew = refrigerant("R410A").saturation(point.suction_pressure).vapour_enthalpy
    assert point.state_names() == "flooded suction"
    assert point.superheat == 0.0
    assert point.suction_enthalpy < dew
    # What leaves the coil is as wet as is told: heat capacity of dew gas times a superheat below nought.
    leaving = point.liquid_enthalpy + point.gross_capacity / point.refrigerant_flow
    line = refrigerant("R410A").saturation(point.evaporator_pressure)
    assert point.evaporator_superheat < 0.0
    assert leaving == pytest.approx(
        float(line.vapour_enthalpy + line.vapour_heat_capacity * point.evaporator_superheat), abs=1.0
    )
    assert point.residual < 1e-6


def test_freezing_coil_is_named_and_its_surface_is_wet_and_below_freezing(unit):
    lost = np.linspace(0.0, 0.85, 35)
    point = cycle.solve(
        unit, replace(RATING, outdoor_temperature=300.0), Faults(evaporator_airflow_lost=lost)
    )
    freezing = (point.surface_temperature < 273.15) & (point.latent_capacity > 0.0)
    assert 0 < freezing.sum() < lost.size
    np.testing.assert_array_equal(point.state >= cycle.STATE_CODES["coil below freezing"], freezing)


def test_discharge_over_its_limit_is_named():
    unit = UNITS["fixed orifice"]
    point = cycle.solve(unit, RATING, Faults(liquid_restriction=np.linspace(0.0, 6.0, 61)))
    hot = point.discharge_temperature > unit.discharge_limit
    assert 0 < hot.sum() < hot.size
    np.testing.assert_array_equal(point.state_names() == "discharge too hot", hot)


def test_low_pressure_trip_is_held_at_its_limit(unit):
    point = cycle.solve(unit, RATING, Faults(liquid_restriction=np.array([0.0, 12.0, 20.0])))
    assert list(point.state_names()[1:]) == ["low-pressure trip"] * 2
    # The drop of the suction line is taken at the limit's own density.
    np.testing.assert_allclose(point.suction_pressure[1:], unit.low_pressure_limit, rtol=5e-3)
    assert point.suction_pressure[0] > 1.5 * unit.low_pressure_limit
    # Less enters the coil than the compressor draws from it: the pressure would fall on.
    drawn = point.refrigerant_flow * (point.suction_enthalpy - point.liquid_enthalpy) - point.suction_gain
    assert np.all(point.gross_capacity[1:] < 0.95 * drawn[1:])
    assert point.gross_capacity[0] == pytest.approx(drawn[0], rel=1e-12)


def test_high_pressure_trip_is_held_at_its_limit(unit):
    hot = replace(RATING, outdoor_temperature=322.0)
    point = cycle.solve(unit, hot, Faults(condenser_blocked=np.array([0.0, 0.8, 0.9])))
    assert list(point.state_names()[1:]) == ["high-pressure trip"] * 2
    np.testing.assert_allclose(point.liquid_pressure[1:], unit.high_pressure_limit, rtol=1e-6)
    # The air takes less than the refrigerant gives: the pressure would rise on.
    assert np.all(point.condenser_air_heat[1:] < 0.999 * point.heat_rejected[1:])


def test_high_pressure_switch_feels_other_gas_too():
    unit, hot = UNITS["TXV"], replace(RATING, outdoor_temperature=322.0)
    point = cycle.solve(unit, hot, Faults(condenser_blocked=0.8, noncondensable=3e5))
    assert point.state_names() == "high-pressure trip"
    assert point.liquid_pressure == pytest.approx(float(unit.high_pressure_limit), rel=1e-5)


def test_condensing_near_the_critical_point_is_held_and_named():
    unit = replace(UNITS["TXV"], high_pressure_limit=6.0e6)
    critical = refrigerant("R410A").critical_pressure
    hot = replace(RATING, outdoor_temperature=326.0)
    point = cycle.solve(unit, hot, Faults(condenser_blocked=np.array([0.3, 0.9])))
    assert point.state_names()[1] == "near-critical condensing"
    assert point.liquid_pressure[1] == pytest.approx(0.97 * critical, rel=5e-3)
    assert point.liquid_pressure[0] < 0.97 * critical


def test_a_point_that_stalls_is_led_to_its_solution_in_small_steps():
    """Blocked, overcharged and with hardly any indoor air; when this was written four steps were too few."""
    cold = Conditions(299.946, 287.143, 0.00385)
    faults = Faults(condenser_blocked=0.64, evaporator_airflow_lost=0.869, charge_change=0.451)
    unit = nominal_unit("R410A", SIZE, expansion="TXV")
    point = cycle.solve(unit, cold, faults)
    assert point.state_names() == "high-pressure trip"
    assert point.residual < 1e-8


def test_a_point_that_finds_no_solution_is_named_so_and_still_has_numbers(monkeypatch):
    def gives_up(system, start, box, tolerance=1e-9, **_):
        lost = np.full(start.shape[1], np.inf)
        return batch_newton.Solution(start + 0.05, lost, np.zeros(start.shape[1], dtype=bool))

    monkeypatch.setattr(batch_newton, "solve", gives_up)
    point = cycle.solve(UNITS["TXV"], RATING, patient=False)
    assert point.state_names() == "not converged"
    assert point.residual > 1e-6
    assert np.isfinite(point.net_capacity)


def test_a_hopeless_point_costs_few_calls(monkeypatch):
    calls = []

    def never(system, start, box, tolerance=1e-9, **more):
        calls.append(1)
        return batch_newton.Solution(start, np.ones(start.shape[1]), np.zeros(start.shape[1], dtype=bool))

    monkeypatch.setattr(batch_newton, "solve", never)
    cycle.solve(UNITS["TXV"], RATING)
    assert len(calls) == 1 + min(cycle.STAGES[0] + 1, cycle.MOST_MISSES)


def test_smaller_steps_go_on_from_the_last_solution_and_end_soon_where_there_is_no_further_one(monkeypatch):
    starts, found = [], []

    def until_half_way(system, start, box, tolerance=1e-9, **more):
        starts.append(start)
        there = 1 < len(starts) <= 4  # the easy day, a quarter and half of the way
        found.append(start + 0.01 * len(starts))
        return batch_newton.Solution(found[-1], np.ones(start.shape[1]), np.full(start.shape[1], there))

    monkeypatch.setattr(batch_newton, "solve", until_half_way)
    cycle.solve(UNITS["TXV"], RATING)
    first = 1 + cycle.STAGES[0] + 1
    assert len(starts) == first + (len(cycle.STAGES) - 1) * cycle.MOST_MISSES
    for begun in range(first, len(starts), cycle.MOST_MISSES):
        np.testing.assert_array_equal(starts[begun], found[3])


def test_a_point_that_stalls_at_first_is_led_there(monkeypatch):
    unit = UNITS["TXV"]
    wanted, plain, calls = cycle.solve(unit, RATING, VARIED), batch_newton.solve, []

    def stalls_first(system, start, box, tolerance=1e-9, **more):
        result = plain(system, start, box, tolerance, **more)
        calls.append(start.shape[1])
        return result if len(calls) > 1 else result._replace(converged=result.converged & False)

    monkeypatch.setattr(batch_newton, "solve", stalls_first)
    assert_same_point(cycle.solve(unit, RATING, VARIED), wanted)
    assert len(calls) > 4


# Guards.


@pytest.mark.parametrize("name", [*RATES, "indoor_airflow"])
def test_a_speed_or_airflow_of_nothing_is_refused(name):
    for value in (0.0, -0.5):
        with pytest.raises(ValueError, match=f"{name} must be above 0, got {value:g}"):
            cycle.solve(UNITS["TXV"], replace(RATING, **{name: np.array([1.0, value])}))


@pytest.mark.parametrize(
    "name", ["outdoor_temperature", "return_temperature", "return_humidity_ratio", "ambient_pressure"]
)
def test_weather_that_is_not_a_number_is_refused(name):
    for value in (np.nan, np.inf):
        with pytest.raises(ValueError, match=f"{name} must be a number, got {value}"):
            cycle.solve(UNITS["TXV"], replace(RATING, **{name: np.array([300.0, value])}))


def test_unknown_refrigerant_and_inputs_that_do_not_fit_are_refused():
    with pytest.raises(ValueError, match=r"R410A.*R404A.*R999"):
        cycle.solve(replace(UNITS["TXV"], refrigerant="R999"), RATING)
    with pytest.raises(ValueError, match="broadcast"):
        cycle.solve(
            UNITS["TXV"],
            replace(RATING, outdoor_temperature=np.full(3, 300.0)),
            Faults(charge_change=np.zeros(4)),
        )
