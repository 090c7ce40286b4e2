"""The circuit at a trial point: states all around, and the three balances that a steady machine satisfies.

Three unknowns describe a trial point, chosen so that any value is a possible machine:

0. ln of the evaporator's exit pressure;
1. ln of how far ln of the condensing pressure lies above that of outdoor temperature, over the distance to
   the high-pressure limit; above zero the pressure stays at the limit and the number is ln of the area that
   would be needed over that which there is;
2. about the share of the evaporator's face that superheats; it gives the superheat decay, ln of (return air
   less dew point) over (return air less exit temperature). Below zero the exit is wet, its quality an
   exponential of the number that begins with the same slope of enthalpy.

What leaves the condenser follows from its area: the zones that cool and condense take theirs, the rest
subcools. Three balances must vanish: heat in the evaporator, flow of the expansion device, charge.

A pressure switch opens before a steady state beyond its limit is reached. There the pressure is held at the
limit: the operating point at the moment the switch opens, with the circuit steady but for one thing. At the
high limit the coil still warms, and what its area lacks makes up for that. At the low limit the compressor
still draws the evaporator down: more leaves it than enters, by the distance of unknown 0 below the limit.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from model.arrays import Array, BoolArray
from model.components import compressor as machine
from model.components import condenser as condensing_coil
from model.components import evaporator as boiling
from model.components import expansion as device
from model.components.charge import accumulator_filling, two_phase_density, void_fraction
from model.components.compressor import CompressorMap, RatedSuction, Suction
from model.components.condenser import ZoneAreas, partial_pressure
from model.components.evaporator import BoilingZone
from model.components.unit import Unit
from model.cycle.boundary import Surroundings
from model.properties.refrigerant import Refrigerant, Saturation

ZERO, HALF, ONE = np.array(0.0), np.array(0.5), np.array(1.0)
"""Numbers as arrays without dimension, which NumPy combines faster than Python's."""
LOWEST = np.array([[10.0], [-7.0], [-6.0]])
HIGHEST = np.array([[15.2], [6.0], [2.0]])
"""Bounds of the unknowns: evaporators from 22 kPa to 4 MPa, approaches from a thousandth of the limit's."""
AT_BOUND = 0.02
"""Distance from a bound at which an unknown counts as lying on it [-]."""
SUPERHEAT_SCALE = 5.0
"""Superheat that weighs as much as a whole relative imbalance [K]: about what halves a valve's flow."""
SMOOTHING_AREA = 0.003
"""Share of the condenser over which the onset of subcooling is rounded off [-]."""
SMALLEST_SPAN = 1.0
"""Smallest difference between return air and dew point that the superheat decay works on [K]."""
LOWEST_SUCTION_QUALITY = 0.05
"""Quality down to which gas sucked in thins with its wetness [-]."""
HOT_GAS_DENSITY = 0.85
"""Mean density of the gas in the desuperheating zone over that of dew gas [-]."""
SMALLEST_FLOW_RATIO = 0.05
"""Flow over rated flow down to which less flow holds more liquid [-]."""
SMALLEST_QUALITY_RISE = 0.01
"""Smallest rise of quality along the boiling zone that its density is averaged over [-]."""
SMALLEST_RISE = 500.0
"""Isentropic rise of enthalpy that a compressor without pressure difference counts with [J/kg]."""
SMALLEST_MAP_FLOW, SMALLEST_MAP_POWER = 1e-5, 1.0
"""Flow [kg/s] and power [W] that a map far outside its range is held above."""
LOWEST_DEVICE_PRESSURE = 0.3
"""Pressure over condensing pressure below which a drop in the liquid line is rounded off [-]."""


def at_a_bound(unknowns: Array) -> BoolArray:
    """Whether one of the last two unknowns lies on a bound, shape (n,).

    Parameters
    ----------
    unknowns : ndarray, shape (3, n)

    Returns
    -------
    ndarray of bool
    """
    return np.asarray(overfilled(unknowns) | overfed(unknowns))


def overfilled(unknowns: Array) -> BoolArray:
    """Whether the condenser is full of liquid at the high-pressure limit, shape (n,): at its upper bound.

    Parameters
    ----------
    unknowns : ndarray, shape (3, n)

    Returns
    -------
    ndarray of bool
    """
    return np.asarray(unknowns[1] > HIGHEST[1] - AT_BOUND)


def overfed(unknowns: Array) -> BoolArray:
    """Whether liquid alone leaves the evaporator, or nothing keeps the pressures apart, shape (n,).

    Parameters
    ----------
    unknowns : ndarray, shape (3, n)

    Returns
    -------
    ndarray of bool
    """
    return np.asarray((unknowns[2] < LOWEST[2] + AT_BOUND) | (unknowns[1] < LOWEST[1] + AT_BOUND))


class Inlet(NamedTuple):
    """Refrigerant leaving the evaporator and entering the compressor.

    To the evaporator's exit belong saturation, latent (heat) [J/kg], exit_superheat [K] and boiled_enthalpy
    [J/kg], that of dew where the exit is superheated; to the compressor's port suction and entropy [J/(kg
    K)]. Superheats are negative for wet gas: enthalpy over dew divided by the dew gas's heat capacity.
    valve_heat: what the reversing valve gave the gas [J/kg].
    """

    saturation: Saturation
    latent: Array
    exit_superheat: Array
    boiled_enthalpy: Array
    suction: Suction
    entropy: Array
    valve_heat: Array


class Compression(NamedTuple):
    """Flow [kg/s], power and shell loss [W], discharge pressure [Pa], enthalpy [J/kg] and temperature [K]."""

    flow: Array
    power: Array
    shell_loss: Array
    pressure: Array
    enthalpy: Array
    temperature: Array


class LiquidLine(NamedTuple):
    """Refrigerant leaving the condenser, and its pressure and quality at the expansion device.

    temperature [K], enthalpy [J/kg], device_pressure [Pa], device_quality [-] (negative where subcooled),
    density of the liquid [kg/m3].
    """

    temperature: Array
    enthalpy: Array
    device_pressure: Array
    device_quality: Array
    density: Array


class Trial(NamedTuple):
    """Everything about a trial point.

    arriving: the compression with its gas as it enters the condenser. superheating_area: share of the
    evaporator's face [-]; evaporator_flow: what
    enters it [kg/s]; boiling_heat [W]; device_capacity: flow of the expansion
    device at rated opening [kg/s]; device_opening over it [-], 1 for an orifice; charge [kg].
    """

    inlet: Inlet
    condensing: Saturation
    compression: Compression
    arriving: Compression
    areas: ZoneAreas
    liquid: LiquidLine
    superheating_area: Array
    zone: BoilingZone
    evaporator_flow: Array
    boiling_heat: Array
    device_capacity: Array
    device_opening: Array
    charge: Array


def residuals(point: Trial, unit: Unit, given: Surroundings, subcooling_decay: Array | None = None) -> Array:
    """The three balances of a trial point, each relative and zero in a steady machine.

    Parameters
    ----------
    point : Trial
        States around the circuit.
    unit : Unit
        What the unit is.
    given : Surroundings
        Air streams, charge and faults.
    subcooling_decay : ndarray, optional
        Where given, a wanted subcooling takes the place of the charge: ln of (bubble less entering air)
        over (exit less entering air) in the condenser [-].

    Returns
    -------
    ndarray, shape (3, ...)
        Balances of heat, of the expansion device and of the charge (or the subcooling) [-].
    """
    heat = _heat_balance(point)
    result = np.empty((3, *heat.shape))
    result[0], result[1] = heat, _device_balance(point, unit)
    if subcooling_decay is None:
        np.log(point.charge / given.charge, out=result[2])
    else:
        air = given.condenser_air.temperature
        shown = np.log((point.condensing.bubble_temperature - air) / (point.liquid.temperature - air))
        np.subtract(shown, subcooling_decay, out=result[2])
    return result


def _heat_balance(point: Trial) -> Array:
    """Heat that the boiling zone takes over what the refrigerant needs, as a share of the latent heat."""
    needed = point.inlet.boiled_enthalpy - point.liquid.enthalpy
    return np.asarray((point.boiling_heat / point.evaporator_flow - needed) / point.inlet.latent)


def _device_balance(point: Trial, unit: Unit) -> Array:
    """Zero where the device passes the evaporator's flow; for a valve in superheat, in which it is linear."""
    if unit.expansion.kind == "TXV":
        stiffness = device.valve_stiffness(unit.expansion)
        openings = (point.evaporator_flow / point.device_capacity, point.device_opening)
        needed, shown = (device.superheat_for_opening(unit.expansion, o, stiffness) for o in openings)
        return np.asarray((shown - needed) / SUPERHEAT_SCALE)
    return np.asarray(point.device_capacity / point.evaporator_flow - 1.0)


def trial_point(unknowns: Array, unit: Unit, fluid: Refrigerant, given: Surroundings) -> Trial:
    """States around the circuit at trial unknowns.

    Parameters
    ----------
    unknowns : ndarray
        The three unknowns of this module's text, first axis of length 3, any further shape.
    unit : Unit
        What the unit is.
    fluid : Refrigerant
        Its refrigerant.
    given : Surroundings
        Air streams, charge and faults.

    Returns
    -------
    Trial
        Every state that the balances need [SI], of the further shape of the unknowns.
    """
    rise = given.limit_rise * np.exp(np.minimum(unknowns[1], ZERO))
    condensing = fluid.saturation(given.air_bubble_pressure * np.exp(rise))
    inlet = _compressor_inlet(unknowns, condensing, fluid, given)
    compression = _compression(inlet, condensing, unit, fluid, given)
    # Held at the low-pressure limit, less passes the device than the compressor draws.
    evaporator_flow = compression.flow * np.exp(np.minimum(unknowns[0] - given.log_low_pressure, ZERO))
    arriving = _hot_gas(inlet, condensing, compression, fluid, given)
    areas, liquid = _condenser(unknowns[1], condensing, arriving, evaporator_flow, unit, fluid, given)
    superheating, zone, quality, drop = _evaporator(unknowns[2], inlet, evaporator_flow, liquid, unit, given)
    boiling_share = boiling.boiling_area(superheating)
    charge = _charge(inlet, condensing, compression.flow, areas, liquid, boiling_share, quality, unit)
    downstream = inlet.saturation.pressure + drop
    capacity, opening = _device(inlet, liquid, condensing, downstream, unit, fluid, given)
    return Trial(
        inlet, condensing, compression, arriving, areas, liquid, superheating, zone, evaporator_flow,
        zone.heat * boiling_share, capacity, opening, charge,
    )  # fmt: skip


def _compressor_inlet(
    unknowns: Array, condensing: Saturation, fluid: Refrigerant, given: Surroundings
) -> Inlet:
    pressure = np.exp(np.maximum(unknowns[0], given.log_low_pressure))
    sat = fluid.saturation(pressure)
    capacity, dew = sat.vapour_heat_capacity, sat.dew_temperature
    latent = sat.vapour_enthalpy - sat.liquid_enthalpy
    span = np.maximum(given.evaporator_air.temperature - dew, SMALLEST_SPAN)
    decay = superheat_decay(unknowns[2], sat, given)
    dry = span * (ONE - np.exp(-np.maximum(decay, ZERO)))
    wettest = latent / capacity
    wet = wettest * (np.exp(np.minimum(decay, ZERO) * span / wettest) - ONE)
    exit_temperature = dew + dry
    # Gas thins with its temperature: close enough for a drop of some per cent of the pressure.
    drop = np.minimum(given.suction_drop * sat.vapour_density * dew / exit_temperature, HALF * pressure)
    fall = _dew_slope(sat, latent) * drop
    gain = (given.ambient_temperature - exit_temperature) * given.suction_gain
    valve = (condensing.dew_temperature - exit_temperature) * given.valve_gain
    superheat = dry + wet
    suction_superheat = superheat + gain + valve + fall
    suction_pressure, suction_dew = pressure - drop, dew - fall
    gas = fluid.vapour(suction_pressure, np.maximum(suction_superheat, ZERO))
    wetness = capacity * np.minimum(suction_superheat, ZERO)
    quality = np.maximum(ONE + wetness / latent, LOWEST_SUCTION_QUALITY)
    suction = Suction(
        suction_pressure, gas.density / quality, gas.enthalpy + wetness, suction_dew, suction_superheat
    )
    boiled = sat.vapour_enthalpy + capacity * wet
    return Inlet(
        sat, latent, superheat, boiled, suction, gas.entropy + wetness / suction_dew, capacity * valve
    )


def superheat_decay(unknown: Array, sat: Saturation, given: Surroundings) -> Array:
    """Superheat decay that the third unknown stands for, at the flow of a full cylinder of dew gas.

    Parameters
    ----------
    unknown : ndarray
        The third unknown [-].
    sat : Saturation
        At the evaporator's exit pressure.
    given : Surroundings
        For the coil's superheating conductance.

    Returns
    -------
    ndarray
        ln of (air less dew point) over (air less exit temperature) [-], shape of the unknown.
    """
    return np.asarray(unknown * (given.superheating / (sat.vapour_density * sat.vapour_heat_capacity)))


def _dew_slope(line: Saturation, latent: Array) -> Array:
    """Slope of the dew temperature with pressure [K/Pa] (Clausius and Clapeyron)."""
    return np.asarray(line.dew_temperature * (ONE / line.vapour_density - ONE / line.liquid_density) / latent)


def _compression(
    inlet: Inlet, condensing: Saturation, unit: Unit, fluid: Refrigerant, given: Surroundings
) -> Compression:
    part, suction, speed = unit.compressor, inlet.suction, given.compressor_speed
    own = condensing.pressure + partial_pressure(given.noncondensable, condensing.bubble_temperature)
    # The drop to the coil's exit is small: the flow of a full cylinder is close enough for it.
    pressure = own + given.discharge_drop * suction.density * suction.density / condensing.vapour_density
    ratio = pressure / suction.pressure
    isobar = fluid.isobar(pressure)
    rise = np.maximum(isobar.isentropic_enthalpy(inlet.entropy) - suction.enthalpy, SMALLEST_RISE)
    if part.rating_map is None:
        drawn = machine.volumetric_flow(part, ratio, speed) * suction.density
        power = machine.compression_power(part, drawn, rise, ratio, speed)
    else:
        drawn, power = _mapped(part.rating_map, inlet, condensing, pressure, (rise, unit, fluid))
        drawn, power = drawn * speed, power * speed
    flow = drawn * (ONE - given.leakage)
    loss = machine.shell_heat(part, power, speed)
    enthalpy = suction.enthalpy + (power - loss) / flow
    return Compression(flow, power, loss, pressure, enthalpy, isobar.vapour_temperature(enthalpy))


def _hot_gas(
    inlet: Inlet, condensing: Saturation, compression: Compression, fluid: Refrigerant, given: Surroundings
) -> Compression:
    """The compressed gas as it enters the condenser, less what reversing valve and hot-gas line took."""
    if not (np.any(given.valve_gain) or np.any(given.hot_gas_loss)):
        return compression
    warmer = compression.temperature - given.ambient_temperature
    lost = inlet.valve_heat + condensing.vapour_heat_capacity * warmer * given.hot_gas_loss
    enthalpy = compression.enthalpy - lost
    temperature = fluid.vapour_temperature(compression.pressure, enthalpy)
    return compression._replace(enthalpy=enthalpy, temperature=temperature)


def _mapped(
    rating: CompressorMap,
    inlet: Inlet,
    condensing: Saturation,
    pressure: Array,
    between: tuple[Array, Unit, Refrigerant],
) -> tuple[Array, Array]:
    """Flow [kg/s] and power [W] of the maker's map at full speed, at the pressures of the two ports."""
    rise, unit, fluid = between
    latent = condensing.vapour_enthalpy - condensing.liquid_enthalpy
    dew = condensing.dew_temperature + _dew_slope(condensing, latent) * (pressure - condensing.pressure)
    rated = rated_suction(rating, inlet.suction.dew_temperature, dew, fluid)
    flow, power = machine.mapped_flow_and_power(unit.compressor, inlet.suction.density, rise, rated)
    return np.maximum(flow, SMALLEST_MAP_FLOW), np.maximum(power, SMALLEST_MAP_POWER)


def rated_suction(
    rating: CompressorMap, suction_dew: Array, discharge_dew: Array, fluid: Refrigerant
) -> RatedSuction:
    """Gas that a map was made with, at the point of its envelope nearest to two saturated temperatures.

    Parameters
    ----------
    rating : CompressorMap
        The map.
    suction_dew, discharge_dew : ndarray
        Saturated suction and discharge temperature [K].
    fluid : Refrigerant
        The refrigerant.

    Returns
    -------
    RatedSuction
        Shapes of the temperatures.
    """
    low, high = machine.within_envelope(rating, suction_dew, discharge_dew)
    gas = fluid.vapour(fluid.dew_pressure(low), np.full_like(low, rating.superheat))
    rise = fluid.isentropic_enthalpy(fluid.dew_pressure(high), gas.entropy) - gas.enthalpy
    return RatedSuction(gas.density, np.maximum(rise, SMALLEST_RISE), low, high)


def _condenser(
    unknown: Array,
    line: Saturation,
    entering: Compression,
    leaving: Array,
    unit: Unit,
    fluid: Refrigerant,
    given: Surroundings,
) -> tuple[ZoneAreas, LiquidLine]:
    """What the gas leaves of the area condenses, what that leaves subcools; too little leaves a mixture.

    `leaving` is the flow in the liquid line [kg/s].
    """
    coil, air, flow = unit.condenser, given.condenser_air, entering.flow
    growth = condensing_coil.flow_growth(flow, coil.rated_flow)
    dew, bubble = line.dew_temperature, line.bubble_temperature
    own = partial_pressure(given.noncondensable, bubble)
    gas_heat = flow * np.maximum(entering.enthalpy - line.vapour_enthalpy, ZERO)
    ends = (np.maximum(entering.temperature, dew), dew)
    gas = condensing_coil.desuperheating_area(coil, air, flow, gas_heat, ends, growth)
    conductance = condensing_coil.condensing_conductance(coil, air, flow, line.pressure, growth)
    conductance = conductance * condensing_coil.blanketing(own / (own + line.pressure))
    heat = flow * (np.minimum(entering.enthalpy, line.vapour_enthalpy) - line.liquid_enthalpy)
    full = condensing_coil.condensing_area(air, heat, conductance, (dew, bubble))
    left = np.exp(np.maximum(unknown, ZERO)) - gas - full
    # Rounded over a small share of the coil: subcooling neither begins nor ends in a corner.
    spare = HALF * (left + np.sqrt(left * left + SMOOTHING_AREA**2))
    lacking = spare - left
    whole = condensing_coil.subcooling_area(coil, air, flow, line.liquid_heat_capacity, ONE, growth)
    temperature = air.temperature + (bubble - air.temperature) * np.exp(-spare / whole)
    liquid, density = fluid.liquid(line.pressure, temperature)
    enthalpy = liquid + lacking * (heat / (full * flow))
    pressure, quality = _at_device(enthalpy, line, own, leaving, fluid, given)
    areas = ZoneAreas(gas, np.maximum(full - lacking, ZERO), spare)
    return areas, LiquidLine(temperature, enthalpy, pressure, quality, density)


def _at_device(
    enthalpy: Array, line: Saturation, own: Array, flow: Array, fluid: Refrigerant, given: Surroundings
) -> tuple[Array, Array]:
    """Pressure [Pa] and quality [-] before the expansion device."""
    coefficient = given.liquid_drop / line.liquid_density + given.restriction
    pressure = line.pressure + own - coefficient * flow * flow
    lowest = LOWEST_DEVICE_PRESSURE * line.pressure
    pressure = np.maximum(pressure, lowest * np.exp(np.minimum(pressure / lowest - ONE, ZERO)))
    liquid, vapour = fluid.saturated_enthalpies(pressure)
    return pressure, (enthalpy - liquid) / (vapour - liquid)


def _evaporator(
    unknown: Array, inlet: Inlet, flow: Array, liquid: LiquidLine, unit: Unit, given: Surroundings
) -> tuple[Array, BoilingZone, Array, Array]:
    """Superheating area, boiling zone, quality at the inlet and pressure drop along the coil [Pa]."""
    sat, coil, air = inlet.saturation, unit.evaporator, given.evaporator_air
    growth = condensing_coil.flow_growth(flow, coil.rated_flow)
    quality = (liquid.enthalpy - sat.liquid_enthalpy) / inlet.latent
    drop = coil.pressure_drop * (flow * flow / sat.vapour_density)
    glide = (sat.dew_temperature - sat.bubble_temperature) * (ONE - quality)
    mean = sat.dew_temperature + HALF * (_dew_slope(sat, inlet.latent) * drop - glide)
    decay = np.maximum(superheat_decay(unknown, sat, given), ZERO)
    superheating = boiling.superheating_area(coil, air, flow, sat.vapour_heat_capacity, decay, growth)
    wet_air = air._replace(conductance=boiling.wetted_conductance(coil, air, mean))
    zone = boiling.boiling_zone(wet_air, boiling.boiling_conductance(coil, flow, growth), mean)
    return superheating, zone, np.minimum(np.maximum(quality, ZERO), ONE), drop


def _charge(
    inlet: Inlet, condensing: Saturation, flow: Array, areas: ZoneAreas, liquid: LiquidLine,
    boiling_share: Array, quality: Array, unit: Unit,
) -> Array:  # fmt: skip
    """Refrigerant in both coils and lines [kg]."""
    sat, circuit = inlet.saturation, unit.circuit
    exit_quality = ONE + (inlet.boiled_enthalpy - sat.vapour_enthalpy) / inlet.latent
    mixture = two_phase_density(
        quality, np.maximum(exit_quality, quality + SMALLEST_QUALITY_RISE),
        sat.liquid_density, sat.vapour_density,
        np.maximum(flow / unit.evaporator.rated_flow, SMALLEST_FLOW_RATIO),
    )  # fmt: skip
    evaporator = sat.vapour_density + boiling_share * (mixture - sat.vapour_density)
    bubbles = (liquid.enthalpy - condensing.liquid_enthalpy) / (
        condensing.vapour_enthalpy - condensing.liquid_enthalpy
    )
    outlet = np.minimum(np.maximum(bubbles, ZERO), ONE)
    condensate = two_phase_density(
        outlet, ONE, condensing.liquid_density, condensing.vapour_density,
        np.maximum(flow / unit.condenser.rated_flow, SMALLEST_FLOW_RATIO),
    )  # fmt: skip
    # Shares of the coil: areas over their sum, so that a trial point out of balance holds no more than the
    # coil.
    condenser = (
        areas.desuperheating * condensing.vapour_density * HOT_GAS_DENSITY
        + areas.condensing * condensate
        + areas.subcooling * condensing.liquid_density
    ) / areas.total
    void = void_fraction(outlet, condensing.vapour_density / condensing.liquid_density)
    line = condensing.liquid_density + void * (condensing.vapour_density - condensing.liquid_density)
    mass = (
        unit.condenser.volume * condenser
        + unit.evaporator.volume * evaporator
        + circuit.liquid_line_volume * line
        + circuit.suction_volume * inlet.suction.density
    )
    if np.any(circuit.accumulator_volume):
        full = accumulator_filling(exit_quality)
        mass = mass + circuit.accumulator_volume * full * (sat.liquid_density - inlet.suction.density)
    return np.asarray(mass)


def _device(
    inlet: Inlet,
    liquid: LiquidLine,
    condensing: Saturation,
    downstream: Array,
    unit: Unit,
    fluid: Refrigerant,
    given: Surroundings,
) -> tuple[Array, Array]:
    """Flow of the expansion device at rated opening [kg/s], and its opening over that [-]."""
    part = unit.expansion
    area = np.asarray(part.area * given.valve_factor)
    if part.kind == "fixed orifice":
        return device.orifice_flow(part, area, before_device(liquid, condensing, fluid), downstream), ONE
    opening = device.valve_opening(part, inlet.exit_superheat + given.bulb_offset)
    full = device.nozzle_flow(area, liquid.density, liquid.device_pressure - downstream)
    return full * device.flash_gas_factor(liquid.device_quality), opening


def before_device(liquid: LiquidLine, condensing: Saturation, fluid: Refrigerant) -> device.Upstream:
    """What an orifice asks of the state before it.

    Parameters
    ----------
    liquid : LiquidLine
        From the condenser to the device.
    condensing : Saturation
        At the condensing pressure: heat capacity, heat of evaporation and density of dew gas are taken from
        there, a few per cent above the device's pressure.
    fluid : Refrigerant
        The refrigerant.

    Returns
    -------
    Upstream
        Shapes broadcast.
    """
    latent = condensing.vapour_enthalpy - condensing.liquid_enthalpy
    subcooling = -liquid.device_quality * latent / condensing.liquid_heat_capacity
    _, beyond = device.correlated_subcooling(subcooling)
    return device.Upstream(
        liquid.device_pressure,
        fluid.bubble_pressure(liquid.temperature + beyond),
        subcooling,
        liquid.device_quality,
        liquid.density,
        condensing.vapour_density * (liquid.device_pressure / condensing.pressure),
        fluid.critical_pressure,
        fluid.critical_temperature,
    )
