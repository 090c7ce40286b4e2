"""The circuit at a trial point: states all around, and the three balances that a steady machine satisfies.

Three unknowns describe a trial point, chosen so that any value is a possible machine:

0. ln of the evaporator's exit pressure;
1. ln of the condensing approach (bubble temperature over entering air) over the approach at the high-pressure
   limit; above zero the pressure stays at the limit and the number is ln of the area that would be needed
   over that which there is;
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
from numpy.typing import ArrayLike, NDArray

from model import compressor as machine
from model import condenser as condensing_coil
from model import evaporator as boiling
from model import expansion as device
from model.charge import two_phase_density, void_fraction
from model.compressor import Suction
from model.condenser import ZoneAreas
from model.evaporator import BoilingZone
from model.refrigerant import Refrigerant, Saturation
from model.surroundings import Surroundings
from model.unit import Unit

Array = NDArray[np.float64]

SUPERHEAT_SCALE = 5.0
"""Superheat that weighs as much as a whole relative imbalance [K]: about what halves a valve's flow."""
SMOOTHING_AREA = 0.003
"""Share of the condenser over which the onset of subcooling is rounded off [-]."""
SMALLEST_SPAN = 1.0
"""Smallest difference between return air and dew point that the superheat decay works on [K]."""
LOWEST_SUCTION_QUALITY = 0.05
"""Quality down to which gas sucked in thins with its wetness [-]."""
SMALLEST_MAP_FLOW, SMALLEST_MAP_POWER = 1e-5, 1.0
"""Flow [kg/s] and power [W] that a map far outside its range is held above."""
LOWEST_DEVICE_PRESSURE = 0.3
"""Pressure over condensing pressure below which a drop in the liquid line is rounded off [-]."""


class Inlet(NamedTuple):
    """Refrigerant leaving the evaporator and entering the compressor.

    saturation, exit_superheat [K], exit_enthalpy [J/kg] belong to the evaporator's exit; suction and entropy
    [J/(kg K)] to the compressor's port. Superheats are negative for wet gas: enthalpy over dew divided by the
    dew gas's heat capacity.
    """

    saturation: Saturation
    exit_superheat: Array
    exit_enthalpy: Array
    suction: Suction
    entropy: Array


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

    superheating_area: share of the evaporator's face [-]; evaporator_flow: what
    enters it [kg/s]; boiling_heat [W]; device_capacity: flow of the expansion
    device at rated opening [kg/s]; device_opening over it [-], 1 for an orifice; charge [kg].
    """

    inlet: Inlet
    condensing: Saturation
    compression: Compression
    areas: ZoneAreas
    liquid: LiquidLine
    superheating_area: Array
    zone: BoilingZone
    evaporator_flow: Array
    boiling_heat: Array
    device_capacity: Array
    device_opening: Array
    charge: Array


def residuals(unknowns: Array, unit: Unit, fluid: Refrigerant, given: Surroundings) -> Array:
    """The three balances, each relative and zero in a steady machine; shape of `unknowns`.

    Parameters
    ----------
    unknowns : array (3, ..., n)
        See the module's head.
    unit : Unit
        Numbers or arrays (n,).
    fluid : Refrigerant
        Of the unit.
    given : Surroundings
        Numbers or arrays (n,).
    """
    point = trial_point(unknowns, unit, fluid, given)
    result = np.empty(unknowns.shape)
    result[0], result[1] = _heat_balance(point), _device_balance(point, unit)
    np.log(point.charge / given.charge, out=result[2])
    return result


def residuals_at_subcooling(
    unknowns: Array, unit: Unit, fluid: Refrigerant, given: Surroundings, decay: ArrayLike
) -> Array:
    """As `residuals`, with a wanted subcooling in place of the charge.

    `decay` [-] is ln of (bubble less entering air) over (exit less entering air) in the condenser.
    """
    point = trial_point(unknowns, unit, fluid, given)
    result = np.empty(unknowns.shape)
    result[0], result[1] = _heat_balance(point), _device_balance(point, unit)
    air = given.outdoor_air.temperature
    shown = np.log((point.condensing.bubble_temperature - air) / (point.liquid.temperature - air))
    np.subtract(shown, decay, out=result[2])
    return result


def _heat_balance(point: Trial) -> Array:
    """Heat that the boiling zone takes over what the refrigerant needs, as a share of the latent heat."""
    line = point.inlet.saturation
    boiled = np.minimum(point.inlet.exit_enthalpy, line.vapour_enthalpy) - point.liquid.enthalpy
    latent = line.vapour_enthalpy - line.liquid_enthalpy
    return np.asarray((point.boiling_heat / point.evaporator_flow - boiled) / latent)


def _device_balance(point: Trial, unit: Unit) -> Array:
    """Zero where the device passes the evaporator's flow; for a valve in superheat, in which it is linear."""
    if unit.expansion.kind == "TXV":
        needed = device.superheat_for_opening(unit.expansion, point.evaporator_flow / point.device_capacity)
        shown = device.superheat_for_opening(unit.expansion, point.device_opening)
        return np.asarray((shown - needed) / SUPERHEAT_SCALE)
    return np.asarray(point.device_capacity / point.evaporator_flow - 1.0)


def trial_point(unknowns: Array, unit: Unit, fluid: Refrigerant, given: Surroundings) -> Trial:
    """States around the circuit at trial unknowns, first axis of length 3, any further shape."""
    inlet = _compressor_inlet(unknowns, unit, fluid, given)
    bubble = given.outdoor_air.temperature + given.limit_approach * np.exp(np.minimum(unknowns[1], 0.0))
    condensing = fluid.saturation(fluid.bubble_pressure(bubble))
    compression = _compression(inlet, condensing, unit, fluid, given)
    outlet = _condenser_outlet(unknowns[1], condensing, compression, unit, fluid, given)
    areas, liquid = outlet.areas, _liquid_line(outlet, condensing, compression.flow, fluid, given)
    evaporator_flow = compression.flow * np.exp(np.minimum(unknowns[0] - given.log_low_pressure, 0.0))
    superheating, zone, heat, quality = _evaporator(unknowns[2], inlet, evaporator_flow, liquid, unit, given)
    charge = _charge(inlet, condensing, compression, areas, liquid, superheating, quality, unit)
    capacity, opening = _device(inlet, liquid, evaporator_flow, unit, fluid, given)
    return Trial(
        inlet, condensing, compression, areas, liquid, superheating, zone, evaporator_flow, heat, capacity,
        opening, charge,
    )  # fmt: skip


def superheat_decay(unknown: Array, sat: Saturation, given: Surroundings) -> Array:
    """Superheat decay [-] of unknown 2, at the flow of a full cylinder of dew gas."""
    return np.asarray(unknown * given.superheating / (sat.vapour_density * sat.vapour_heat_capacity))


def _dew_slope(line: Saturation, latent: Array) -> Array:
    """Slope of the dew temperature with pressure [K/Pa] (Clausius and Clapeyron)."""
    return np.asarray(line.dew_temperature * (1.0 / line.vapour_density - 1.0 / line.liquid_density) / latent)


def _compressor_inlet(unknowns: Array, unit: Unit, fluid: Refrigerant, given: Surroundings) -> Inlet:
    pressure = np.exp(np.maximum(unknowns[0], given.log_low_pressure))
    sat = fluid.saturation(pressure)
    span = np.maximum(given.indoor_air.temperature - sat.dew_temperature, SMALLEST_SPAN)
    latent = sat.vapour_enthalpy - sat.liquid_enthalpy
    decay = superheat_decay(unknowns[2], sat, given)
    dry = span * -np.expm1(-np.maximum(decay, 0.0))
    wettest = latent / sat.vapour_heat_capacity
    superheat = dry + wettest * np.expm1(np.minimum(decay, 0.0) * span / wettest)
    exit_temperature = sat.dew_temperature + dry
    # Gas thins with its temperature: close enough for a drop of some per cent of the pressure.
    density = sat.vapour_density * sat.dew_temperature / exit_temperature
    drop = given.suction_drop * density
    dew = sat.dew_temperature - _dew_slope(sat, latent) * drop
    gain = (given.outdoor_air.temperature - exit_temperature) * given.suction_gain
    suction_superheat = superheat + gain + (sat.dew_temperature - dew)
    gas = fluid.vapour(
        np.stack([pressure, pressure - drop]), np.stack([dry, np.maximum(suction_superheat, 0.0)])
    )
    wet = sat.vapour_heat_capacity * np.minimum(suction_superheat, 0.0)
    quality = np.maximum(1.0 + wet / latent, LOWEST_SUCTION_QUALITY)
    suction = Suction(
        pressure - drop, gas.density[1] / quality, gas.enthalpy[1] + wet, dew, suction_superheat
    )
    exit_enthalpy = gas.enthalpy[0] + sat.vapour_heat_capacity * np.minimum(superheat, 0.0)
    return Inlet(sat, superheat, exit_enthalpy, suction, gas.entropy[1] + wet / dew)


def _compression(
    inlet: Inlet, condensing: Saturation, unit: Unit, fluid: Refrigerant, given: Surroundings
) -> Compression:
    part, suction, speed = unit.compressor, inlet.suction, given.compressor_speed
    own = condensing.pressure + condensing_coil.partial_pressure(
        given.noncondensable, condensing.bubble_temperature
    )
    # The drop to the coil's exit is small: the flow of a full cylinder at suction density is close enough for
    # it.
    drop = given.discharge_drop * suction.density**2 / condensing.vapour_density
    pressure = own + drop
    ratio = pressure / suction.pressure
    rise = np.maximum(fluid.isentropic_enthalpy(pressure, inlet.entropy) - suction.enthalpy, 500.0)
    if part.rating_map is None:
        drawn = machine.volumetric_flow(part, ratio, speed) * suction.density
        power = machine.compression_power(part, drawn, rise, ratio, speed)
    else:
        drawn, power = _mapped(inlet, condensing, pressure, unit, fluid)
        drawn, power = drawn * speed, power * speed
    flow = drawn * (1.0 - given.leakage)
    loss = machine.shell_heat(part, power, speed)
    enthalpy = suction.enthalpy + (power - loss) / flow
    return Compression(flow, power, loss, pressure, enthalpy, fluid.vapour_temperature(pressure, enthalpy))


def _mapped(
    inlet: Inlet, condensing: Saturation, pressure: Array, unit: Unit, fluid: Refrigerant
) -> tuple[Array, Array]:
    """Flow [kg/s] and power [W] of the maker's map at full speed, at the pressures of the two ports."""
    rating = unit.compressor.rating_map
    rated = fluid.vapour(inlet.suction.pressure, 0.0 if rating is None else rating.superheat)
    latent = condensing.vapour_enthalpy - condensing.liquid_enthalpy
    dew = condensing.dew_temperature + _dew_slope(condensing, latent) * (pressure - condensing.pressure)
    flow, power = machine.mapped_flow_and_power(unit.compressor, inlet.suction, dew, rated.density)
    return np.maximum(flow, SMALLEST_MAP_FLOW), np.maximum(power, SMALLEST_MAP_POWER)


class _Outlet(NamedTuple):
    areas: ZoneAreas
    temperature: Array
    enthalpy: Array


def _condenser_outlet(
    unknown: Array,
    line: Saturation,
    compression: Compression,
    unit: Unit,
    fluid: Refrigerant,
    given: Surroundings,
) -> _Outlet:
    """What the gas leaves of the area condenses, what that leaves subcools; too little leaves a mixture."""
    coil, air, flow = unit.condenser, given.outdoor_air, compression.flow
    gas_heat = flow * np.maximum(compression.enthalpy - line.vapour_enthalpy, 0.0)
    hot = np.maximum(compression.temperature, line.dew_temperature)
    gas = condensing_coil.desuperheating_area(coil, air, flow, gas_heat, (hot, line.dew_temperature))
    own = condensing_coil.partial_pressure(given.noncondensable, line.bubble_temperature)
    conductance = condensing_coil.condensing_conductance(coil, air, flow, line.pressure)
    conductance = conductance * condensing_coil.blanketing(own / (own + line.pressure))
    heat = flow * (np.minimum(compression.enthalpy, line.vapour_enthalpy) - line.liquid_enthalpy)
    ends = (line.dew_temperature, line.bubble_temperature)
    full = condensing_coil.condensing_area(coil, air, heat, conductance, ends)
    left = np.exp(np.maximum(unknown, 0.0)) - gas - full
    # Rounded over a small share of the coil: subcooling neither begins nor ends in a corner.
    spare = 0.5 * (left + np.sqrt(left * left + SMOOTHING_AREA**2))
    lacking = spare - left
    whole = condensing_coil.subcooling_area(coil, air, flow, line.liquid_heat_capacity, np.ones(()))
    approach = line.bubble_temperature - air.temperature
    temperature = air.temperature + approach * np.exp(-spare / whole)
    enthalpy = fluid.liquid_enthalpy(line.pressure, temperature) + lacking * (heat / full) / flow
    return _Outlet(ZoneAreas(gas, np.maximum(full - lacking, 0.0), spare), temperature, enthalpy)


def _liquid_line(
    outlet: _Outlet, condensing: Saturation, flow: Array, fluid: Refrigerant, given: Surroundings
) -> LiquidLine:
    own = condensing_coil.partial_pressure(given.noncondensable, condensing.bubble_temperature)
    coefficient = given.liquid_drop / condensing.liquid_density + given.restriction
    pressure = condensing.pressure + own - coefficient * flow**2
    lowest = LOWEST_DEVICE_PRESSURE * condensing.pressure
    pressure = np.maximum(pressure, lowest * np.exp(np.minimum(pressure / lowest - 1.0, 0.0)))
    line = fluid.saturation(pressure)
    quality = (outlet.enthalpy - line.liquid_enthalpy) / (line.vapour_enthalpy - line.liquid_enthalpy)
    density = fluid.liquid_density(outlet.temperature)
    return LiquidLine(outlet.temperature, outlet.enthalpy, pressure, quality, density)


def _evaporator(
    unknown: Array, inlet: Inlet, flow: Array, liquid: LiquidLine, unit: Unit, given: Surroundings
) -> tuple[Array, BoilingZone, Array, Array]:
    sat, coil = inlet.saturation, unit.evaporator
    latent = sat.vapour_enthalpy - sat.liquid_enthalpy
    quality = (liquid.enthalpy - sat.liquid_enthalpy) / latent
    drop = np.asarray(coil.pressure_drop) * flow**2 / sat.vapour_density
    glide = (sat.dew_temperature - sat.bubble_temperature) * (1.0 - quality)
    mean = sat.dew_temperature + 0.5 * (_dew_slope(sat, latent) * drop - glide)
    decay = np.maximum(superheat_decay(unknown, sat, given), 0.0)
    superheating = boiling.superheating_area(coil, given.indoor_air, flow, sat.vapour_heat_capacity, decay)
    wet_air = given.indoor_air._replace(conductance=boiling.wetted_conductance(coil, given.indoor_air, mean))
    zone = boiling.boiling_zone(wet_air, boiling.boiling_conductance(coil, flow), mean)
    heat = zone.heat * boiling.boiling_area(superheating)
    return superheating, zone, heat, np.minimum(np.maximum(quality, 0.0), 1.0)


def _charge(
    inlet: Inlet, condensing: Saturation, compression: Compression, areas: ZoneAreas, liquid: LiquidLine,
    superheating: Array, quality: Array, unit: Unit,
) -> Array:  # fmt: skip
    sat, circuit = inlet.saturation, unit.circuit
    latent = sat.vapour_enthalpy - sat.liquid_enthalpy
    exit_quality = 1.0 + sat.vapour_heat_capacity * np.minimum(inlet.exit_superheat, 0.0) / latent
    boiling_share = boiling.boiling_area(superheating)
    mixture = two_phase_density(
        quality, np.maximum(exit_quality, quality + 0.01), sat.liquid_density, sat.vapour_density,
        np.maximum(compression.flow / unit.evaporator.rated_flow, 0.05),
    )  # fmt: skip
    evaporator = boiling_share * mixture + (1.0 - boiling_share) * sat.vapour_density
    high_latent = condensing.vapour_enthalpy - condensing.liquid_enthalpy
    outlet = np.minimum(np.maximum((liquid.enthalpy - condensing.liquid_enthalpy) / high_latent, 0.0), 1.0)
    condensate = two_phase_density(
        outlet, np.ones(()), condensing.liquid_density, condensing.vapour_density,
        np.maximum(compression.flow / unit.condenser.rated_flow, 0.05),
    )  # fmt: skip
    # Shares of the coil: areas over their sum, so that a trial point out of balance cannot hold more than the
    # coil.
    condenser = (
        areas.desuperheating * condensing.vapour_density * 0.85
        + areas.condensing * condensate
        + areas.subcooling * condensing.liquid_density
    ) / areas.total
    void = void_fraction(outlet, condensing.vapour_density / condensing.liquid_density)
    line = condensing.liquid_density + void * (condensing.vapour_density - condensing.liquid_density)
    return np.asarray(
        unit.condenser.volume * condenser
        + unit.evaporator.volume * evaporator
        + circuit.liquid_line_volume * line
        + circuit.suction_volume * inlet.suction.density
    )


def _device(
    inlet: Inlet, liquid: LiquidLine, flow: Array, unit: Unit, fluid: Refrigerant, given: Surroundings
) -> tuple[Array, Array]:
    part, sat = unit.expansion, inlet.saturation
    downstream = sat.pressure + np.asarray(unit.evaporator.pressure_drop) * flow**2 / sat.vapour_density
    opening = np.ones(())
    if part.kind == "TXV":
        opening = device.valve_opening(part, inlet.exit_superheat)
    else:
        saturation = np.minimum(fluid.bubble_pressure(liquid.temperature), liquid.device_pressure)
        downstream = device.choking_pressure(part, np.maximum(saturation, downstream), downstream)
    area = np.asarray(part.area * given.valve_factor)
    full = device.nozzle_flow(area, liquid.density, liquid.device_pressure - downstream)
    return full * device.flash_gas_factor(liquid.device_quality), opening
