"""The circuit at a trial point: states all around, and the four balances that a steady machine satisfies.

Four unknowns describe a trial point, chosen so that any value is a possible machine:

0. ln of the evaporator's exit pressure;
1. ln of the condensing approach (bubble temperature over entering air);
2. superheat decay: ln of (return air less dew point) over (return air less exit temperature) in the evaporator; below
   zero the exit is wet, and the number goes on with the same slope of enthalpy;
3. subcooling decay: ln of (bubble less entering air) over (exit less entering air) in the condenser; below zero the exit
   is not fully condensed, likewise.

Four balances must vanish: heat in the evaporator, area of the condenser, flow of the expansion device, charge.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model import compressor as machine
from model import evaporator as boiling
from model import expansion as device
from model.charge import two_phase_density
from model.compressor import Suction
from model.condenser import Refrigerant as CondenserSide
from model.condenser import ZoneAreas, zone_areas
from model.evaporator import BoilingZone
from model.refrigerant import Refrigerant, Saturation
from model.surroundings import Surroundings
from model.unit import Unit

Array = NDArray[np.float64]

FREE, HIGH_HELD, LOW_HELD, BOTH_HELD = 0, 1, 2, 3
"""Which pressure a point is held at: none, the high-pressure limit, the low-pressure limit, both."""

SMALLEST_SPAN = 1.0
"""Smallest difference between return air and dew point that the superheat decay works on [K]."""


class Held(NamedTuple):
    """Limits to hold points at: `mode` one of FREE … BOTH_HELD; refrigerant pressures [Pa]."""

    mode: NDArray[np.int64]
    condensing_pressure: Array
    evaporating_pressure: Array


class Inlet(NamedTuple):
    """Refrigerant entering the compressor, and leaving the evaporator before it.

    pseudo superheats [K] are negative for wet gas: enthalpy over dew divided by the dew gas's heat capacity.
    """

    saturation: Saturation
    exit_superheat: Array
    exit_enthalpy: Array
    suction: Suction
    entropy: Array


class Compression(NamedTuple):
    """Flow [kg/s], power [W], discharge pressure [Pa], enthalpy [J/kg] and temperature [K]."""

    flow: Array
    power: Array
    pressure: Array
    enthalpy: Array
    temperature: Array


class LiquidLine(NamedTuple):
    """Refrigerant leaving the condenser: temperature [K], enthalpy [J/kg]; pressure [Pa] and quality at the device."""

    temperature: Array
    enthalpy: Array
    device_pressure: Array
    device_quality: Array
    density: Array


class Trial(NamedTuple):
    """Everything about a trial point."""

    inlet: Inlet
    condensing: Saturation
    compression: Compression
    areas: ZoneAreas
    liquid: LiquidLine
    superheating_area: Array
    zone: BoilingZone
    evaporator_heat: Array
    device_flow: Array
    charge: Array


def trial_point(unknowns: Array, unit: Unit, fluid: Refrigerant, given: Surroundings) -> Trial:
    """States around the circuit at trial unknowns, first axis of length 4; any further shape that broadcasts."""
    inlet = _compressor_inlet(unknowns, unit, fluid, given)
    bubble = given.outdoor_air.temperature + np.exp(unknowns[1])
    condensing = fluid.saturation(fluid.bubble_pressure(bubble))
    compression = _compression(inlet, condensing, unit, fluid, given)
    liquid = _liquid_line(unknowns, condensing, compression, unit, fluid, given)
    side = CondenserSide(
        compression.flow, condensing.pressure, compression.temperature, condensing.dew_temperature, bubble, compression.enthalpy,
        condensing.vapour_enthalpy, condensing.liquid_enthalpy, liquid.enthalpy, condensing.liquid_heat_capacity,
        unknowns[3],
    )  # fmt: skip
    areas = zone_areas(unit.condenser, given.outdoor_air, side)
    superheating, zone, heat, quality = _evaporator(unknowns, inlet, compression.flow, liquid, unit, given)
    charge = _charge(unknowns, inlet, condensing, compression, areas, liquid, superheating, quality, unit)
    flow = _device_flow(inlet, liquid, compression.flow, unit, fluid, given)
    return Trial(inlet, condensing, compression, areas, liquid, superheating, zone, heat, flow, charge)


def residuals(unknowns: Array, unit: Unit, fluid: Refrigerant, given: Surroundings, held: Held) -> Array:
    """The four balances, each relative and zero in a steady machine; shape of `unknowns`.

    A held pressure takes the place of the coil balance that would set it.
    """
    point = trial_point(unknowns, unit, fluid, given)
    refrigerant_heat = point.compression.flow * (
        np.minimum(point.inlet.exit_enthalpy, point.inlet.saturation.vapour_enthalpy) - point.liquid.enthalpy
    )
    evaporator = point.evaporator_heat / refrigerant_heat - 1.0
    condenser = np.log(point.areas.total)
    if np.any(held.mode):
        high = (held.mode == HIGH_HELD) | (held.mode == BOTH_HELD)
        low = (held.mode == LOW_HELD) | (held.mode == BOTH_HELD)
        condenser = np.where(high, np.log(point.condensing.pressure / held.condensing_pressure), condenser)
        evaporator = np.where(low, unknowns[0] - np.log(held.evaporating_pressure), evaporator)
    expansion = np.log(point.device_flow / point.compression.flow)
    charge = point.charge / given.charge - 1.0
    return np.stack(np.broadcast_arrays(evaporator, condenser, expansion, charge))


def _compressor_inlet(unknowns: Array, unit: Unit, fluid: Refrigerant, given: Surroundings) -> Inlet:
    pressure = np.exp(unknowns[0])
    sat = fluid.saturation(pressure)
    span = np.maximum(given.indoor_air.temperature - sat.dew_temperature, SMALLEST_SPAN)
    decay = unknowns[2]
    superheat = span * np.where(decay > 0.0, -np.expm1(-np.maximum(decay, 0.0)), decay)
    exit_gas = fluid.vapour(pressure, np.maximum(superheat, 0.0))
    wetness = sat.vapour_heat_capacity * np.minimum(superheat, 0.0)
    volume = np.asarray(unit.compressor.displacement * np.asarray(unit.compressor.displacement_scale))
    volume = volume * given.compressor_speed
    drop = np.asarray(unit.circuit.suction_drop) * exit_gas.density * volume**2
    latent = sat.vapour_enthalpy - sat.liquid_enthalpy
    dew_slope = sat.dew_temperature * (1.0 / sat.vapour_density - 1.0 / sat.liquid_density) / latent
    exit_temperature = sat.dew_temperature + np.maximum(superheat, 0.0)
    gain = (given.outdoor_air.temperature - exit_temperature) * -np.expm1(-np.asarray(unit.circuit.suction_line_ntu))
    dew = sat.dew_temperature - dew_slope * drop
    suction_superheat = superheat + gain + (sat.dew_temperature - dew)
    gas = fluid.vapour(pressure - drop, np.maximum(suction_superheat, 0.0))
    wet = sat.vapour_heat_capacity * np.minimum(suction_superheat, 0.0)
    quality = np.maximum(1.0 + wet / latent, 0.05)
    suction = Suction(pressure - drop, gas.density / quality, gas.enthalpy + wet, dew, suction_superheat)
    return Inlet(sat, superheat, exit_gas.enthalpy + wetness, suction, gas.entropy + wet / dew)


def _compression(inlet: Inlet, condensing: Saturation, unit: Unit, fluid: Refrigerant, given: Surroundings) -> Compression:
    part, suction = unit.compressor, inlet.suction
    speed = given.compressor_speed
    volume = np.asarray(part.displacement * np.asarray(part.displacement_scale)) * speed
    gas_pressure = condensing.pressure + given.noncondensable * condensing.bubble_temperature / 313.15
    # The drop to the coil's exit is small: the flow of a full cylinder at suction density is close enough for it.
    drop = np.asarray(unit.condenser.pressure_drop) * (volume * suction.density) ** 2 / condensing.vapour_density
    pressure = gas_pressure + drop
    ratio = pressure / suction.pressure
    rise = np.maximum(fluid.isentropic_enthalpy(pressure, inlet.entropy) - suction.enthalpy, 500.0)
    if part.rating_map is None:
        gross = machine.volumetric_flow(part, ratio, speed) * suction.density
        power = machine.compression_power(part, gross, rise, ratio, speed)
    else:
        rated = fluid.vapour(suction.pressure, part.rating_map.superheat)
        gross, power = machine.mapped_flow_and_power(part, suction, condensing.dew_temperature, rated.density)
        gross, power = np.maximum(gross * speed, 1e-5), np.maximum(power * speed, 1.0)
    flow = gross * (1.0 - given.leakage)
    enthalpy = machine.discharge_enthalpy(part, suction.enthalpy, flow, power, speed)
    return Compression(flow, power, pressure, enthalpy, fluid.vapour_temperature(pressure, enthalpy))


def _liquid_line(
    unknowns: Array, condensing: Saturation, compression: Compression, unit: Unit, fluid: Refrigerant, given: Surroundings
) -> LiquidLine:
    approach, decay = np.exp(unknowns[1]), unknowns[3]
    temperature = given.outdoor_air.temperature + approach * np.exp(-np.maximum(decay, 0.0))
    liquid = fluid.liquid_enthalpy(condensing.pressure, temperature)
    enthalpy = liquid - condensing.liquid_heat_capacity * approach * np.minimum(decay, 0.0)
    coefficient = np.asarray(unit.circuit.liquid_line_drop) / condensing.liquid_density + given.restriction
    partial = given.noncondensable * condensing.bubble_temperature / 313.15
    pressure = condensing.pressure + partial - coefficient * compression.flow**2
    pressure = np.maximum(pressure, 0.3 * condensing.pressure * np.exp(np.minimum(pressure / condensing.pressure - 0.3, 0.0)))
    line = fluid.saturation(pressure)
    quality = (enthalpy - line.liquid_enthalpy) / (line.vapour_enthalpy - line.liquid_enthalpy)
    return LiquidLine(temperature, enthalpy, pressure, quality, fluid.liquid_density(temperature))


def _evaporator(
    unknowns: Array, inlet: Inlet, flow: Array, liquid: LiquidLine, unit: Unit, given: Surroundings
) -> tuple[Array, BoilingZone, Array, Array]:
    sat, coil = inlet.saturation, unit.evaporator
    latent = sat.vapour_enthalpy - sat.liquid_enthalpy
    quality = (liquid.enthalpy - sat.liquid_enthalpy) / latent
    slope = sat.dew_temperature * (1.0 / sat.vapour_density - 1.0 / sat.liquid_density) / latent
    drop = np.asarray(coil.pressure_drop) * flow**2 / sat.vapour_density
    glide = (sat.dew_temperature - sat.bubble_temperature) * (1.0 - quality)
    mean = sat.dew_temperature + 0.5 * (slope * drop - glide)
    decay = np.maximum(unknowns[2], 0.0)
    superheating = boiling.superheating_area(coil, given.indoor_air, flow, sat.vapour_heat_capacity, decay)
    wet_air = given.indoor_air._replace(conductance=boiling.wetted_conductance(coil, given.indoor_air, mean))
    zone = boiling.boiling_zone(wet_air, boiling.boiling_conductance(coil, flow), mean)
    heat = zone.heat * boiling.boiling_area(superheating)
    return superheating, zone, heat, np.clip(quality, 0.0, 1.0)


def _charge(
    unknowns: Array, inlet: Inlet, condensing: Saturation, compression: Compression, areas: ZoneAreas,
    liquid: LiquidLine, superheating: Array, quality: Array, unit: Unit,
) -> Array:  # fmt: skip
    sat, circuit = inlet.saturation, unit.circuit
    latent = sat.vapour_enthalpy - sat.liquid_enthalpy
    exit_quality = 1.0 + sat.vapour_heat_capacity * np.minimum(inlet.exit_superheat, 0.0) / latent
    boiling_share = boiling.boiling_area(superheating)
    mixture = two_phase_density(quality, np.maximum(exit_quality, quality + 0.01), sat.liquid_density, sat.vapour_density,
        np.maximum(compression.flow / unit.evaporator.rated_flow, 0.05))
    evaporator = boiling_share * mixture + (1.0 - boiling_share) * sat.vapour_density
    high_latent = condensing.vapour_enthalpy - condensing.liquid_enthalpy
    outlet_quality = np.clip((liquid.enthalpy - condensing.liquid_enthalpy) / high_latent, 0.0, 1.0)
    condensate = two_phase_density(outlet_quality, np.ones(()), condensing.liquid_density, condensing.vapour_density,
        np.maximum(compression.flow / unit.condenser.rated_flow, 0.05))
    # Shares of the coil: areas over their sum, so that a trial point out of balance cannot hold more than the coil.
    total = areas.total
    condenser = (
        areas.desuperheating * condensing.vapour_density * 0.85
        + areas.condensing * condensate
        + areas.subcooling * condensing.liquid_density
    ) / total
    return np.asarray(
        unit.condenser.volume * condenser
        + unit.evaporator.volume * evaporator
        + circuit.liquid_line_volume * _line_density(condensing, liquid, outlet_quality)
        + circuit.suction_volume * inlet.suction.density
    )


def _line_density(condensing: Saturation, liquid: LiquidLine, quality: Array) -> Array:
    return two_phase_density(quality, quality, condensing.liquid_density, condensing.vapour_density)


def _device_flow(
    inlet: Inlet, liquid: LiquidLine, flow: Array, unit: Unit, fluid: Refrigerant, given: Surroundings
) -> Array:
    part, sat = unit.expansion, inlet.saturation
    downstream = sat.pressure + np.asarray(unit.evaporator.pressure_drop) * flow**2 / sat.vapour_density
    area: ArrayLike = part.area * given.valve_factor
    if part.kind == "TXV":
        area = area * device.valve_opening(part, inlet.exit_superheat)
    else:
        saturation = np.minimum(fluid.bubble_pressure(liquid.temperature), liquid.device_pressure)
        downstream = device.choking_pressure(part, np.maximum(saturation, downstream), downstream)
    full = device.nozzle_flow(np.asarray(area), liquid.density, liquid.device_pressure - downstream)
    return full * device.flash_gas_factor(liquid.device_quality)
