"""The circuit at trial points, worked out once more with plain CoolProp calls and textbook equations.

Not at solutions but at points that the search passes on its way, in balance or not: dry and wet exit, held at
either pressure limit, a condenser too small for its heat, suction gas nearly all liquid, a compressor with
nothing to do, a liquid line nearly shut. Equations of the parts are held to account in the parts' own tests;
here it is which state each of them is given, and what the balances make of the answers.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from model.components import charge, compressor, condenser, evaporator, expansion
from model.components.compressor import CompressorMap
from model.cycle import balances
from model.cycle.boundary import surroundings
from model.cycle.faults import Faults
from model.cycle.sizing import nominal_unit, rating_conditions
from model.properties.refrigerant import refrigerant

NAME = "R410A"
FLUID = refrigerant(NAME)
UNITS = {kind: nominal_unit(NAME, 10_550.0, expansion=kind) for kind in ("TXV", "fixed orifice")}
SETTING = replace(rating_conditions(), compressor_speed=0.9)
FAULTS = Faults(
    charge_change=0.05,
    noncondensable=8e4,
    liquid_restriction=0.4,
    compressor_leakage=0.1,
    valve_overfeed=0.2,
    condenser_blocked=0.2,
)
GIVEN = {kind: surroundings(unit, SETTING, FAULTS) for kind, unit in UNITS.items()}
LOW = float(GIVEN["TXV"].log_low_pressure)
POINTS = {
    "dry exit": (np.log(0.95e6), -1.0, 0.6),
    "wet exit": (np.log(1.05e6), -0.8, -0.5),
    "exit nearly all liquid": (np.log(1.0e6), -1.0, -60.0),
    "at the high limit": (np.log(1.0e6), 0.3, 0.4),
    "below the low limit": (LOW - 0.2, -1.2, 0.7),
    "too little condenser": (np.log(1.1e6), -3.0, 0.3),
    "hardly anything to lift": (np.log(2.3e6), -3.0, 2.0),
    "nearly no superheat left to gain": (np.log(1.7e6), -0.5, 0.5),
}
UNKNOWNS = np.array(list(POINTS.values())).T
PLACE = {name: number for number, name in enumerate(POINTS)}


@pytest.fixture(scope="module", params=list(UNITS))
def kind(request):
    return request.param


def trial(kind: str, unknowns=UNKNOWNS, **changes) -> balances.Trial:
    return balances.trial_point(unknowns, UNITS[kind], FLUID, GIVEN[kind]._replace(**changes))


def saturated(key: str, quality: float, pressure) -> np.ndarray:
    return PropsSI(key, "P", np.asarray(pressure), "Q", quality, NAME)


def saturated_pressure(temperature: float) -> float:
    """Dew pressure [Pa]."""
    return float(PropsSI("P", "T", temperature, "Q", 1, NAME))


def of_gas(key: str, pressure, temperature) -> np.ndarray:
    """Gas at a pressure and a temperature, the dew gas where that is not above the dew point."""
    hot = np.maximum(temperature, saturated("T", 1, pressure) + 1e-6)
    return PropsSI(key, "P|gas", np.asarray(pressure), "T", hot, NAME)


def latent_heat(pressure) -> np.ndarray:
    return saturated("H", 1, pressure) - saturated("H", 0, pressure)


def rounded_sum(left, width: float) -> np.ndarray:
    """Positive part of a number, its corner rounded over a width."""
    return 0.5 * (left + np.hypot(left, width))


# From the evaporator's exit to the compressor's port


def exit_states(kind: str):
    """Pressure, decay, temperature and quality at the evaporator's exit: a dry one has quality 1."""
    pressure = np.exp(np.maximum(UNKNOWNS[0], float(GIVEN[kind].log_low_pressure)))
    capacity, dew = saturated("C", 1, pressure), saturated("T", 1, pressure)
    conductance = float(GIVEN[kind].superheating)
    decay = UNKNOWNS[2] * conductance / (saturated("D", 1, pressure) * capacity)
    span = np.maximum(float(GIVEN[kind].evaporator_air.temperature) - dew, 1.0)
    temperature = dew + span - span * np.exp(-np.maximum(decay, 0.0))
    quality = np.exp(np.minimum(decay, 0.0) * span * capacity / latent_heat(pressure))
    return pressure, decay, temperature, quality


def test_exit_of_the_evaporator(kind):
    inlet = trial(kind).inlet
    pressure, _, temperature, quality = exit_states(kind)
    boiled = saturated("H", 0, pressure) + quality * latent_heat(pressure)
    np.testing.assert_allclose(inlet.saturation.pressure, pressure, rtol=1e-12)
    np.testing.assert_allclose(inlet.latent, latent_heat(pressure), rtol=2e-4)
    np.testing.assert_allclose(inlet.boiled_enthalpy, boiled, atol=60.0)
    superheat = temperature - saturated("T", 1, pressure)
    wetness = (quality - 1.0) * latent_heat(pressure) / saturated("C", 1, pressure)
    np.testing.assert_allclose(inlet.exit_superheat, superheat + wetness, rtol=2e-4, atol=0.01)


def suction_states(kind: str, suction_drop: float):
    """Pressure, temperature and wetness [J/kg, 0 or less] at the port; wet gas is at its dew point."""
    pressure, _, temperature, quality = exit_states(kind)
    density = saturated("D", 1, pressure) * saturated("T", 1, pressure) / temperature
    port = pressure - np.minimum(suction_drop * density, 0.5 * pressure)
    gain = float(GIVEN[kind].suction_gain) * (float(GIVEN[kind].condenser_air.temperature) - temperature)
    capacity, dew = saturated("C", 1, pressure), saturated("T", 1, port)
    superheat = temperature + gain - dew - (1.0 - quality) * latent_heat(pressure) / capacity
    return port, dew + np.maximum(superheat, 0.0), capacity * np.minimum(superheat, 0.0)


def test_gas_at_the_compressor_port(kind):
    """The dew point's fall along the line is linear in the model: 0.02 K and 0.05 % of the density."""
    inlet = trial(kind).inlet
    port, temperature, wetness = suction_states(kind, float(GIVEN[kind].suction_drop))
    suction, dry = inlet.suction, wetness == 0.0
    quality = np.maximum(1.0 + wetness / inlet.latent, balances.LOWEST_SUCTION_QUALITY)
    np.testing.assert_allclose(suction.pressure, port, rtol=1e-4)
    np.testing.assert_allclose(suction.dew_temperature, saturated("T", 1, port), atol=0.02)
    warm = suction.dew_temperature + np.maximum(suction.superheat, 0.0)
    np.testing.assert_allclose(warm, temperature, atol=0.02)
    np.testing.assert_allclose(suction.density, of_gas("D", port, temperature) / quality, rtol=1e-3)
    np.testing.assert_allclose(suction.enthalpy, of_gas("H", port, temperature) + wetness, atol=80.0)
    entropy = of_gas("S", port, temperature) + wetness / saturated("T", 1, port)
    np.testing.assert_allclose(inlet.entropy, entropy, atol=0.5)
    assert 0 < np.count_nonzero(~dry) < dry.size
    assert quality[PLACE["exit nearly all liquid"]] == balances.LOWEST_SUCTION_QUALITY


def test_a_suction_line_too_narrow_takes_half_of_the_pressure(kind):
    inlet = trial(kind, suction_drop=np.array(1e6)).inlet
    np.testing.assert_allclose(inlet.suction.pressure, 0.5 * inlet.saturation.pressure, rtol=1e-12)


# Compressor


def condensing_pressure(kind: str) -> np.ndarray:
    """From outdoor temperature's own pressure up to the high limit, by the second unknown."""
    rise = float(GIVEN[kind].limit_rise) * np.exp(np.minimum(UNKNOWNS[1], 0.0))
    return float(GIVEN[kind].air_bubble_pressure) * np.exp(rise)


def other_gas(pressure) -> np.ndarray:
    return 8e4 * saturated("T", 0, pressure) / 313.15


def test_condensing_pressure_reaches_its_limit_and_no_further(kind):
    point = trial(kind)
    np.testing.assert_allclose(point.condensing.pressure, condensing_pressure(kind), rtol=1e-9)
    own = condensing_pressure(kind)[PLACE["at the high limit"]]
    felt = own + other_gas(own)
    assert felt == pytest.approx(float(UNITS[kind].high_pressure_limit), rel=1e-5)


def test_compression(kind):
    """Pressure, flow, power and discharge from the state at the port; enthalpies within 3e-4 of the rise."""
    point, part = trial(kind), UNITS[kind].compressor
    inlet, line = point.inlet, condensing_pressure(kind)
    suction = inlet.suction
    drop = float(GIVEN[kind].discharge_drop) * suction.density**2 / saturated("D", 1, line)
    pressure = line + other_gas(line) + drop
    np.testing.assert_allclose(point.compression.pressure, pressure, rtol=1e-4)
    ratio = pressure / suction.pressure
    swept = compressor.volumetric_flow(part, ratio, 0.9) * suction.density
    np.testing.assert_allclose(point.compression.flow, 0.9 * swept, rtol=1e-4)  # a tenth leaks back
    lifted = suction.superheat > 0
    isentropic = PropsSI("H", "P", pressure[lifted], "S", np.asarray(inlet.entropy)[lifted], NAME)
    rise = isentropic - suction.enthalpy[lifted]
    power = compressor.compression_power(part, swept[lifted], rise, ratio[lifted], 0.9)
    np.testing.assert_allclose(point.compression.power[lifted], power, rtol=5e-4)
    assert np.count_nonzero(lifted) >= 4
    loss = compressor.shell_heat(part, point.compression.power, 0.9)
    np.testing.assert_allclose(point.compression.shell_loss, loss, rtol=1e-12)
    added = (point.compression.power - loss) / point.compression.flow
    np.testing.assert_allclose(point.compression.enthalpy, suction.enthalpy + added, rtol=1e-12)
    hot = point.compression.enthalpy > saturated("H", 1, pressure) + 500.0
    shown = of_gas("H", pressure[hot], point.compression.temperature[hot])
    np.testing.assert_allclose(shown, point.compression.enthalpy[hot], atol=150.0)
    assert np.count_nonzero(hot) >= 4


def test_a_compressor_without_pressure_difference_still_counts_a_rise(kind):
    unknowns = np.array([np.log(2.6e6), -3.0, 2.0])
    point = trial(kind, unknowns, suction_gain=np.array(0.0), discharge_drop=np.array(0.0))
    ratio = point.compression.pressure / point.inlet.suction.pressure
    assert ratio < 1.0
    swept = point.compression.flow / 0.9
    power = compressor.compression_power(
        UNITS[kind].compressor, swept, np.array(balances.SMALLEST_RISE), ratio, 0.9
    )
    assert point.compression.power == pytest.approx(float(power), rel=1e-12)


def test_makers_map_takes_the_pressures_of_both_ports():
    """Coefficients that depend on both dew points, at 90 % speed, a tenth leaking back."""
    flow = (0.05, 1e-3, -2e-4, 0, 0, 0, 0, 0, 0, 0)
    power = (900.0, 2.0, 20.0, 0, 0, 0, 0, 0, 0, 0)
    unit = UNITS["TXV"]
    unit = replace(unit, compressor=replace(unit.compressor, rating_map=CompressorMap(flow, power, 11.0)))
    unknowns = UNKNOWNS[:, [PLACE["dry exit"], PLACE["wet exit"]]]
    point = balances.trial_point(unknowns, unit, FLUID, GIVEN["TXV"])
    suction = point.inlet.suction
    s = saturated("T", 1, suction.pressure) - 273.15
    d = saturated("T", 1, point.compression.pressure) - 273.15
    rated = of_gas("D", suction.pressure, s + 273.15 + 11.0)
    entropy = of_gas("S", suction.pressure, s + 273.15 + 11.0)
    work = PropsSI("H", "P", point.compression.pressure, "S", entropy, NAME)
    work = work - of_gas("H", suction.pressure, s + 273.15 + 11.0)
    done = PropsSI("H", "P", point.compression.pressure, "S", np.asarray(point.inlet.entropy), NAME)
    done = done - suction.enthalpy
    share = 1.0 + compressor.MAP_FLOW_SHARE * (suction.density / rated - 1.0)
    drawn = (flow[0] + flow[1] * s + flow[2] * d) * share
    np.testing.assert_allclose(point.compression.flow, drawn * 0.9 * 0.9, rtol=1e-3)
    printed = power[0] + power[1] * s + power[2] * d
    np.testing.assert_allclose(point.compression.power, 0.9 * printed * share * done / work, rtol=1e-3)


def test_beyond_its_envelope_a_map_keeps_the_efficiencies_of_the_edge():
    """Flow times isentropic work over power is that of the edge; a tenth leaks back."""
    unit = UNITS["TXV"]
    rating = CompressorMap((0.05, 1e-3, -2e-4, *[0.0] * 7), (900.0, 2.0, 20.0, *[0.0] * 7), 11.0)
    narrow = replace(rating, discharge_range=(290.0, 300.0))
    within = replace(unit, compressor=replace(unit.compressor, rating_map=rating))
    beyond = replace(unit, compressor=replace(unit.compressor, rating_map=narrow))
    unknowns = UNKNOWNS[:, [PLACE["dry exit"]]]
    one, two = (balances.trial_point(unknowns, u, FLUID, GIVEN["TXV"]).compression for u in (within, beyond))
    assert two.flow > one.flow
    inlet = balances.trial_point(unknowns, beyond, FLUID, GIVEN["TXV"]).inlet
    low, dew = inlet.suction.pressure, saturated("T", 1, inlet.suction.pressure)
    entropy, start = of_gas("S", low, dew + 11.0), of_gas("H", low, dew + 11.0)
    edge = PropsSI("H", "P", saturated_pressure(300.0), "S", entropy, NAME) - start
    done = PropsSI("H", "P", two.pressure, "S", np.asarray(inlet.entropy), NAME) - inlet.suction.enthalpy
    s, d = dew - 273.15, 300.0 - 273.15
    efficiency = (0.05 + 1e-3 * s - 2e-4 * d) * edge / (900.0 + 2.0 * s + 20.0 * d)
    np.testing.assert_allclose(two.flow / 0.9 * done / two.power, efficiency, rtol=2e-3)


def test_a_map_far_outside_of_its_range_still_gives_a_flow_and_a_power():
    unit = UNITS["TXV"]
    rating = CompressorMap((-1.0, *[0.0] * 9), (-5.0, *[0.0] * 9), 11.0)
    unit = replace(unit, compressor=replace(unit.compressor, rating_map=rating))
    point = balances.trial_point(UNKNOWNS[:, 0], unit, FLUID, GIVEN["TXV"])
    assert point.compression.flow == pytest.approx(balances.SMALLEST_MAP_FLOW * 0.81)
    assert point.compression.power == pytest.approx(balances.SMALLEST_MAP_POWER * 0.9)


# Condenser and liquid line


def test_flow_in_the_liquid_line_falls_short_below_the_low_limit_only(kind):
    point = trial(kind)
    short = point.evaporator_flow / point.compression.flow
    below = UNKNOWNS[0, PLACE["below the low limit"]] - float(GIVEN[kind].log_low_pressure)
    assert below < -0.19
    assert short[PLACE["below the low limit"]] == pytest.approx(np.exp(below), rel=1e-9)
    np.testing.assert_array_equal(np.delete(short, PLACE["below the low limit"]), 1.0)


def test_zones_of_the_condenser(kind):
    """Gas and mixture take the area they need; the rest subcools, rounded where there is none."""
    point, unit, air = trial(kind), UNITS[kind], GIVEN[kind].condenser_air
    line, flow = condensing_pressure(kind), point.compression.flow
    dew, bubble = saturated("T", 1, line), saturated("T", 0, line)
    gas_heat = flow * np.maximum(point.compression.enthalpy - saturated("H", 1, line), 0.0)
    ends = (np.maximum(point.compression.temperature, dew), dew)
    gas = condenser.desuperheating_area(unit.condenser, air, flow, gas_heat, ends)
    np.testing.assert_allclose(point.areas.desuperheating, gas, rtol=5e-3, atol=2e-5)
    share = other_gas(line) / (other_gas(line) + line)
    inside = condenser.condensing_conductance(unit.condenser, air, flow, line) * condenser.blanketing(share)
    start = np.minimum(point.compression.enthalpy, saturated("H", 1, line))
    heat = flow * (start - saturated("H", 0, line))
    full = condenser.condensing_area(air, heat, inside, (dew, bubble))
    left = np.exp(np.maximum(UNKNOWNS[1], 0.0)) - gas - full
    spare = rounded_sum(left, balances.SMOOTHING_AREA)
    np.testing.assert_allclose(point.areas.subcooling, spare, rtol=5e-3, atol=2e-5)
    condensing = np.maximum(full - (spare - left), 0.0)
    np.testing.assert_allclose(point.areas.condensing, condensing, rtol=5e-3, atol=2e-5)
    decay = spare / condenser.subcooling_area(
        unit.condenser, air, flow, saturated("C", 0, line), np.array(1.0)
    )
    temperature = air.temperature + (bubble - air.temperature) * np.exp(-decay)
    np.testing.assert_allclose(point.liquid.temperature, temperature, atol=0.02)
    # Every share of the condensing area that lacks leaves its share of the heat uncondensed.
    liquid = FLUID.liquid_enthalpy(line, temperature) + (spare - left) / full * heat / flow
    np.testing.assert_allclose(point.liquid.enthalpy, liquid, atol=150.0)
    np.testing.assert_allclose(point.liquid.density, FLUID.liquid_density(temperature), rtol=2e-4)
    lost = PLACE["too little condenser"]
    assert left[lost] < -0.1
    corner = balances.SMOOTHING_AREA**2 / (-4.0 * left[lost])
    assert point.areas.subcooling[lost] == pytest.approx(corner, rel=0.05)


def test_areas_make_up_the_coil_and_beyond_the_limit_what_it_lacks(kind):
    areas = trial(kind).areas
    there = areas.condensing > 0.0
    np.testing.assert_allclose(areas.total[there], np.exp(np.maximum(UNKNOWNS[1], 0.0))[there], rtol=1e-12)
    assert np.all(areas.total >= np.exp(np.maximum(UNKNOWNS[1], 0.0)) - 1e-12)


@pytest.mark.parametrize("restriction", [0.0, 2.0e8, 4.0e9])
def test_liquid_at_the_expansion_device(kind, restriction):
    """Drops of line and restriction; below a floor of the condensing pressure an exponential takes over."""
    point = trial(kind, restriction=np.array(restriction))
    line = condensing_pressure(kind)
    coefficient = float(GIVEN[kind].liquid_drop) / saturated("D", 0, line) + restriction
    pressure = line + other_gas(line) - coefficient * point.evaporator_flow**2
    floor = balances.LOWEST_DEVICE_PRESSURE * line
    pressure = np.where(pressure < floor, floor * np.exp(pressure / floor - 1.0), pressure)
    np.testing.assert_allclose(point.liquid.device_pressure, pressure, rtol=2e-4)
    seen = pressure > 2e5
    quality = (point.liquid.enthalpy[seen] - saturated("H", 0, pressure[seen])) / latent_heat(pressure[seen])
    np.testing.assert_allclose(point.liquid.device_quality[seen], quality, atol=1e-3)
    if restriction == 4.0e9:
        assert np.any(point.liquid.device_pressure < 0.9 * floor)
    if restriction == 0.0:
        assert np.all(point.liquid.device_pressure > floor)


# Evaporator


def inlet_quality(point: balances.Trial) -> np.ndarray:
    pressure = point.inlet.saturation.pressure
    return (point.liquid.enthalpy - saturated("H", 0, pressure)) / latent_heat(pressure)


def coil_drop(kind: str, point: balances.Trial) -> np.ndarray:
    density = saturated("D", 1, point.inlet.saturation.pressure)
    return UNITS[kind].evaporator.pressure_drop * point.evaporator_flow**2 / density


def test_superheating_and_boiling_zone(kind):
    """Boiling at the mean between both ends: the drop warms the inlet, the glide cools it."""
    point, coil, air = trial(kind), UNITS[kind].evaporator, GIVEN[kind].evaporator_air
    pressure, decay, _, _ = exit_states(kind)
    flow, drop = point.evaporator_flow, coil_drop(kind, point)
    area = evaporator.superheating_area(coil, air, flow, saturated("C", 1, pressure), np.maximum(decay, 0.0))
    np.testing.assert_allclose(point.superheating_area, area, rtol=5e-4, atol=1e-12)
    dew, bubble = saturated("T", 1, pressure), saturated("T", 0, pressure)
    slope = (saturated("T", 1, 1.001 * pressure) - dew) / (0.001 * pressure)
    mean = dew + 0.5 * (slope * drop - (dew - bubble) * (1.0 - inlet_quality(point)))
    wet = air._replace(conductance=evaporator.wetted_conductance(coil, air, mean))
    zone = evaporator.boiling_zone(wet, evaporator.boiling_conductance(coil, flow), mean)
    np.testing.assert_allclose(point.zone.surface_temperature, zone.surface_temperature, atol=0.03)
    share = evaporator.boiling_area(area)
    np.testing.assert_allclose(point.boiling_heat, zone.heat * share, rtol=5e-3, atol=30.0)


# Charge


def test_charge_is_volumes_times_densities(kind):
    point, unit = trial(kind), UNITS[kind]
    pressure, line = point.inlet.saturation.pressure, point.condensing.pressure
    _, _, _, exit_quality = exit_states(kind)
    flow, quality = point.compression.flow, np.clip(inlet_quality(point), 0.0, 1.0)
    mixture = charge.two_phase_density(
        quality,
        np.maximum(exit_quality, quality + balances.SMALLEST_QUALITY_RISE),
        saturated("D", 0, pressure),
        saturated("D", 1, pressure),
        np.maximum(flow / unit.evaporator.rated_flow, balances.SMALLEST_FLOW_RATIO),
    )
    boiling = evaporator.boiling_area(point.superheating_area)
    dew_gas = saturated("D", 1, pressure)
    in_evaporator = unit.evaporator.volume * (boiling * mixture + (1.0 - boiling) * dew_gas)
    bubbles = np.clip((point.liquid.enthalpy - saturated("H", 0, line)) / latent_heat(line), 0.0, 1.0)
    liquid, gas = saturated("D", 0, line), saturated("D", 1, line)
    condensate = charge.two_phase_density(
        bubbles,
        np.ones_like(bubbles),
        liquid,
        gas,
        np.maximum(flow / unit.condenser.rated_flow, balances.SMALLEST_FLOW_RATIO),
    )
    zones = zip(point.areas, (balances.HOT_GAS_DENSITY * gas, condensate, liquid), strict=True)
    in_condenser = unit.condenser.volume * sum(area * density for area, density in zones) / sum(point.areas)
    void = charge.void_fraction(bubbles, gas / liquid)
    in_lines = unit.circuit.liquid_line_volume * (void * gas + (1.0 - void) * liquid)
    in_lines = in_lines + unit.circuit.suction_volume * point.inlet.suction.density
    np.testing.assert_allclose(point.charge, in_evaporator + in_condenser + in_lines, rtol=1e-3)
    assert bubbles[PLACE["too little condenser"]] > 0.1


def test_gas_being_cooled_to_its_dew_point_is_as_thin_as_is_said():
    """Mean over temperatures from 75 degC, at a condensing pressure of a warm day."""
    pressure = 2.7e6
    dew = saturated("T", 1, pressure)
    mean = np.mean(of_gas("D", np.full(50, pressure), np.linspace(dew, 348.15, 50)))
    assert pytest.approx(mean / saturated("D", 1, pressure), abs=0.04) == balances.HOT_GAS_DENSITY


# Expansion device and the balances


def device_states(kind: str, point: balances.Trial):
    """Flow of the device at rated opening [kg/s], and its opening over that, from CoolProp's properties."""
    part, liquid = UNITS[kind].expansion, point.liquid
    downstream = point.inlet.saturation.pressure + coil_drop(kind, point)
    opening = np.ones_like(downstream)
    if kind == "TXV":
        # A fifth too much of area stands for a bulb that reads 2 K too much.
        opening = expansion.valve_opening(part, point.inlet.exit_superheat + 2.0)
        flow = expansion.nozzle_flow(1.2 * part.area, liquid.density, liquid.device_pressure - downstream)
        return flow * expansion.flash_gas_factor(liquid.device_quality), opening
    pressure = point.condensing.pressure
    subcooling = -liquid.device_quality * latent_heat(pressure) / saturated("C", 0, pressure)
    beyond = expansion.correlated_subcooling(subcooling)[1]
    upstream = expansion.Upstream(
        liquid.device_pressure,
        PropsSI("P", "T", liquid.temperature + beyond, "Q", 0, NAME),
        subcooling,
        liquid.device_quality,
        liquid.density,
        saturated("D", 1, pressure) * liquid.device_pressure / pressure,
        PropsSI("PCRIT", NAME),
        PropsSI("TCRIT", NAME),
    )
    return expansion.orifice_flow(part, np.asarray(1.2 * part.area), upstream, downstream), opening


def test_device_feels_the_pressure_where_the_coil_begins(kind):
    point = trial(kind)
    flow, opening = device_states(kind, point)
    np.testing.assert_allclose(point.device_capacity, flow, rtol=1e-3)
    np.testing.assert_allclose(point.device_opening, opening, rtol=1e-3, atol=1e-6)


def test_three_balances(kind):
    """Heat over latent heat; the device's flow, for a valve as superheat; charge as ln of a ratio."""
    point, unit = trial(kind), UNITS[kind]
    found = balances.residuals(point, unit, GIVEN[kind])
    needed = point.inlet.boiled_enthalpy - point.liquid.enthalpy
    heat = (point.boiling_heat / point.evaporator_flow - needed) / point.inlet.latent
    np.testing.assert_allclose(found[0], heat, rtol=1e-12, atol=1e-12)
    if kind == "TXV":
        wanted = expansion.superheat_for_opening(
            unit.expansion, point.evaporator_flow / point.device_capacity
        )
        shown = expansion.superheat_for_opening(unit.expansion, point.device_opening)
        np.testing.assert_allclose(found[1], (shown - wanted) / balances.SUPERHEAT_SCALE, rtol=1e-9)
    else:
        np.testing.assert_allclose(found[1], point.device_capacity / point.evaporator_flow - 1.0, rtol=1e-12)
    asked = 1.05 * float(unit.circuit.charge)
    np.testing.assert_allclose(found[2], np.log(point.charge / asked), rtol=1e-12, atol=1e-12)


def test_a_wanted_subcooling_takes_the_place_of_the_charge(kind):
    unknowns = UNKNOWNS[:, [PLACE["dry exit"]]]
    point, given = trial(kind, unknowns), GIVEN[kind]
    air = float(given.condenser_air.temperature)
    bubble = saturated("T", 0, point.condensing.pressure)
    decay = np.log((bubble - air) / (point.liquid.temperature - air))
    found = balances.residuals(point, UNITS[kind], given, np.array(0.25))
    np.testing.assert_allclose(found[2], decay - 0.25, atol=1e-4)
    np.testing.assert_array_equal(found[:2], balances.residuals(point, UNITS[kind], given)[:2])
