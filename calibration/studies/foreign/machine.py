"""A whole machine of another structure than the product's model, solved for its steady state.

Segmented coils (`coils`), other expansion devices (`devices`), another void fraction (`holdup`), bent fan
curves (`propeller`), a compressor with clearance volume or a maker's ten coefficients, a leak that goes with
the root of the pressure difference, a shell that loses heat by its discharge temperature, and in some an
accumulator that catches liquid before the compressor. Only property tables and Newton's method are shared
with the product's model: a root is a root.

Three unknowns: ln of the pressure at the evaporator's exit, ln of that of the refrigerant in the condenser,
and the exit's state, superheat over `SUPERHEAT_UNIT` where above zero, below it what wets the gas or fills
the accumulator.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

import numpy as np

from calibration.studies.foreign import devices, holdup
from calibration.studies.foreign.clearance import Clearance, drawn_in
from calibration.studies.foreign.coils import (
    Boiled,
    Face,
    IndoorAir,
    Path,
    SegmentedCoil,
    boiled,
    condensed,
    condenser_face,
)
from calibration.studies.foreign.propeller import BentFan, fan_power, flow_ratio
from model.arrays import Array, IndexArray, Number
from model.cycle import batch_arrays, batch_newton
from model.cycle.boundary import Conditions
from model.cycle.faults import HEALTHY, Faults
from model.properties import moist_air
from model.properties.refrigerant import Refrigerant, Saturation, Vapour, refrigerant

Device = Literal["valve", "Burnell's orifice", "Leung's orifice"]

SUPERHEAT_UNIT = 10.0
"""Superheat of the third unknown's unit [K]."""
WETNESS_UNIT = 0.05
"""Wetness of the exit for a unit of it below zero [-]."""
CARRIED_OVER = 0.01
"""Wetness that an accumulator lets pass [-]."""
BOX = batch_newton.Box(
    np.array([[11.5], [13.3], [-8.0]]),
    np.array([[14.6], [15.35], [4.5]]),
    np.array([[0.15], [0.15], [0.4]]),
    np.zeros((3, 1)),
)
TOLERANCE = 1e-7
MOST_STEPS = 30
FAR = -100.0
"""A wall that no unknown meets."""
MOVES = np.array([[0.0, 0.0, 0.0], [-0.08, 0.05, -0.3], [0.05, 0.12, 0.5], [-0.4, -0.05, 1.2]])
"""Starts that are tried one after the other, over the given one."""
LEAST_PRESSURE_SHARE = 0.3
"""Of the condensing pressure, what a drop in the liquid line leaves at least [-]."""
SOFT_QUALITY = 0.02
"""Quality over which bubbles appear in a segment, and liquid in gas [-]."""
FAN_AIR, BLOWER_AIR = 1.1274, 1.1566
"""Dry air in a cubic metre where fans are rated [kg/m3]."""
AMBIENT_HUMIDITY = 0.010


@dataclass(frozen=True)
class Machine:
    """One machine; numbers may be arrays, one a machine.

    Attributes
    ----------
    refrigerant, device, void : str
    compressor, condenser, evaporator, outdoor_fan, indoor_fan
    device_area : float or array
        [m2], discharge coefficient included.
    spring, opening, reserve : float or array
        Of a valve, see `devices.valve_opening` [Pa], [Pa], [-].
    charge : float or array
        [kg]
    liquid_volume, suction_volume, accumulator : float or array
        Of the lines [m3], and liquid that the accumulator takes for a unit of the third unknown [kg].
    suction_drop, liquid_drop, suction_gain : float or array
        Coefficients k of k m^2 / density [1/m4], and conductance of the suction line to outdoor air [W/K].
    dust_insulation, blanketing : float or array
        Fall of the condenser's conductance with dust, and with other gas in it [-].
    tilt : (float, float)
        Where a blocked face lies, see `coils.condenser_face` [-].
    rated_flow, rated_difference : float or array
        At the rating [kg/s], [Pa].
    """

    refrigerant: str
    device: Device
    void: holdup.Holdup
    compressor: Clearance
    condenser: SegmentedCoil
    evaporator: SegmentedCoil
    outdoor_fan: BentFan
    indoor_fan: BentFan
    device_area: Number
    spring: Number
    opening: Number
    reserve: Number
    charge: Number
    liquid_volume: Number
    suction_volume: Number
    accumulator: Number
    suction_drop: Number
    liquid_drop: Number
    suction_gain: Number
    dust_insulation: Number
    blanketing: Number
    tilt: tuple[float, float]
    rated_flow: Number
    rated_difference: Number


class Given(NamedTuple):
    """Weather, air streams and faults of flat points, shapes (m,) but the face's (segments, circuits, m)."""

    outdoor: Array
    face: Face
    outdoor_rate: Array
    outdoor_airflow: Array
    fan_power: Array
    indoor: IndoorAir
    blower_power: Array
    charge_factor: Array
    other_gas: Array
    restriction: Array
    leakage: Array
    overfeed: Array


class Wanted(NamedTuple):
    """Superheat at the coil and subcooling that take the place of device and charge while designing [K]."""

    superheat: Array
    subcooling: Array


class Around(NamedTuple):
    """States around the circuit at trial unknowns [SI], shapes of the unknowns."""

    low: Saturation
    high: Saturation
    suction_pressure: Array
    suction_temperature: Array
    suction_enthalpy: Array
    flow: Array
    leaked: Array
    power: Array
    discharge_pressure: Array
    discharge_enthalpy: Array
    discharge_temperature: Array
    condensed: Path
    liquid_enthalpy: Array
    liquid_temperature: Array
    gauge: Array
    boiled: Boiled
    exit_enthalpy: Array
    exit_superheat: Array
    device_flow: Array
    charge: Array
    inlet: devices.BeforeDevice


def solved(
    machine: Machine,
    conditions: Conditions,
    faults: Faults = HEALTHY,
    *,
    start: Array,
    wanted: Wanted | None = None,
) -> tuple[Around, Given, Array]:
    """Steady states of a machine.

    Parameters
    ----------
    machine : Machine
    conditions : Conditions
    faults : Faults
    start : ndarray, shape (3, ...)
        Unknowns to start from.
    wanted : Wanted, optional
        While designing: what device area and charge are yet to be chosen for.

    Returns
    -------
    (Around, Given, ndarray)
        Flat points (m,), what was given, and their unknowns (3, m), NaN where no steady state was found.
    """
    shape = np.broadcast_shapes(batch_arrays.common_shape(machine, conditions, faults), start.shape[1:])
    shape = shape or (1,)
    fluid = refrigerant(machine.refrigerant)
    flat = batch_arrays.flattened(machine, shape)
    weather, level = batch_arrays.flattened(conditions, shape), batch_arrays.flattened(faults, shape)
    given = _given(flat, weather, level, int(np.prod(shape)))
    begin = np.broadcast_to(start.reshape(3, *start.shape[1:]), (3, *shape)).reshape(3, -1).copy()

    def system(x: Array, index: batch_newton.Index) -> Array:
        part = (flat, given, wanted)
        if index is not None:
            part = (
                batch_arrays.chosen(flat, index),
                _chosen(given, index),
                batch_arrays.chosen(wanted, index),
            )
        return _residuals(trial(x, fluid, part[0], part[1]), *part)

    with np.errstate(all="ignore"):
        unknowns = _root(system, begin)
        known = np.where(np.isnan(unknowns), begin, unknowns)
        return trial(known, fluid, flat, given), given, unknowns


def _root(system: batch_newton.System, begin: Array) -> Array:
    """Unknowns (3, m), NaN where none of the starts led to a root."""
    unknowns = np.full(begin.shape, np.nan)
    for move in MOVES:
        left = np.flatnonzero(np.isnan(unknowns[0]))
        if left.size == 0:
            break
        walls = np.full((3, left.size), FAR)
        walls[2] = 0.0

        def part(x: Array, index: batch_newton.Index, left: IndexArray = left) -> Array:
            whole = index is None and left.size == begin.shape[1]
            return system(x, None if whole else left if index is None else left[index])

        found = batch_newton.solve(
            part, begin[:, left] + move[:, None], BOX._replace(walls=walls), TOLERANCE, MOST_STEPS
        )
        unknowns[:, left] = np.where(found.converged, found.unknowns, np.nan)
    return unknowns


def _chosen(given: Given, index: IndexArray) -> Given:
    """Some of the points; those of the face are its last axis."""
    face = Face(*(np.moveaxis(one, -1, 0) for one in given.face))
    some = batch_arrays.chosen(given._replace(face=face), index)
    return some._replace(face=Face(*(np.moveaxis(one, 0, -1) for one in some.face)))


def _given(machine: Machine, weather: Conditions, faults: Faults, count: int) -> Given:
    zero = np.zeros(count)
    outdoor, back, humidity, pressure = (
        zero + np.asarray(getattr(weather, name), dtype=float)
        for name in ("outdoor_temperature", "return_temperature", "return_humidity_ratio", "ambient_pressure")
    )
    level = {name: zero + np.asarray(value, dtype=float) for name, value in vars(faults).items()}
    speed = 1.0 - level["condenser_fan_slow"]
    blocked, dust = level["condenser_blocked"], level["condenser_dust"]
    ratio = flow_ratio(machine.outdoor_fan, blocked, dust, speed)
    air = machine.outdoor_fan.airflow * ratio / moist_air.specific_volume(outdoor, AMBIENT_HUMIDITY, pressure)
    density = air / (machine.outdoor_fan.airflow * ratio) / FAN_AIR
    rate = air * moist_air.heat_capacity(AMBIENT_HUMIDITY)
    face = condenser_face(
        machine.condenser, rate, ratio * density, blocked, np.stack([zero + one for one in machine.tilt])
    )
    insulated = 1.0 / (1.0 + machine.dust_insulation * dust)
    face = face._replace(conductance=face.conductance * insulated)
    volume = moist_air.specific_volume(back, humidity, pressure)
    clogged = flow_ratio(machine.indoor_fan, zero, level["evaporator_dust"], zero + 1.0)
    throttled = clogged * (1.0 - level["evaporator_airflow_lost"])
    own = weather.indoor_airflow
    full = machine.indoor_fan.airflow / volume if own is None else zero + np.asarray(own, dtype=float)
    indoor = IndoorAir(
        full * throttled,
        back,
        humidity,
        moist_air.enthalpy(back, humidity),
        moist_air.heat_capacity(humidity),
        pressure,
    )
    blower = fan_power(machine.indoor_fan, throttled, zero + 1.0) / volume / BLOWER_AIR
    return Given(
        outdoor, face, rate, np.asarray(machine.outdoor_fan.airflow * ratio),
        fan_power(machine.outdoor_fan, ratio, speed) * density, indoor, blower,
        1.0 + level["charge_change"], level["noncondensable"], level["liquid_restriction"],
        level["compressor_leakage"], level["valve_overfeed"],
    )  # fmt: skip


def _residuals(point: Around, machine: Machine, given: Given, wanted: Wanted | None) -> Array:
    """Heat, device and charge, each relative and zero in a steady state, shape (3, ...)."""
    latent = point.low.vapour_enthalpy - point.low.liquid_enthalpy
    heat = (point.boiled.path.enthalpy - point.exit_enthalpy) / latent
    if wanted is None:
        rest = (
            point.device_flow / point.flow - 1.0,
            np.log(point.charge / (machine.charge * given.charge_factor)),
        )
    else:
        shown = point.high.bubble_temperature - point.liquid_temperature
        rest = (point.exit_superheat - wanted.superheat) / 5.0, (shown - wanted.subcooling) / 5.0
    return np.stack(np.broadcast_arrays(heat, *rest))


def trial(x: Array, fluid: Refrigerant, machine: Machine, given: Given) -> Around:
    """States around the circuit at trial unknowns.

    Parameters
    ----------
    x : ndarray, shape (3, ...)
        Unknowns of this module's text.
    fluid : Refrigerant
    machine : Machine
    given : Given

    Returns
    -------
    Around
        [SI], shapes of the unknowns.
    """
    low, high = fluid.saturation(np.exp(x[0])), fluid.saturation(np.exp(x[1]))
    latent = low.vapour_enthalpy - low.liquid_enthalpy
    superheat, below = SUPERHEAT_UNIT * np.maximum(x[2], 0.0), np.minimum(x[2], 0.0)
    caught = np.asarray(machine.accumulator) > 0.0
    wetness = np.where(caught, CARRIED_OVER, 1.0) * -np.expm1(
        WETNESS_UNIT / np.where(caught, CARRIED_OVER, 1.0) * below
    )
    gas = fluid.vapour(low.pressure, superheat)
    exit_enthalpy = gas.enthalpy - wetness * latent
    pressure = high.pressure + given.other_gas * high.bubble_temperature / 313.15
    suction, compression = _compressed(fluid, machine, given, (low, high, pressure), (gas, exit_enthalpy))
    path, liquid_enthalpy = condensed(
        _blanketed(machine, given, high),
        given.face,
        high,
        (compression.flow, compression.enthalpy, compression.temperature),
        given.outdoor,
    )
    over = np.maximum(liquid_enthalpy - high.liquid_enthalpy, 0.0)
    inlet = _before_device(fluid, machine, given, (high, pressure), (liquid_enthalpy, compression.flow))
    fall = machine.evaporator.drop * compression.flow**2 / low.vapour_density
    first = fluid.saturation(low.pressure + np.minimum(fall, 0.5 * low.pressure))
    through = boiled(machine.evaporator, given.indoor, (first, low), compression.flow, liquid_enthalpy)
    device = _device_flow(fluid, machine, given, inlet, (low, gas.temperature))
    charge = _charge(
        machine, (low, high), (path, through.path), compression.flow, (over, suction.density, below)
    )
    return Around(
        low, high, suction.pressure, suction.temperature, suction.enthalpy, compression.flow,
        compression.leaked, compression.power, compression.pressure, compression.enthalpy,
        compression.temperature, path, liquid_enthalpy, inlet.temperature, pressure, through,
        exit_enthalpy, superheat, device, charge, inlet,
    )  # fmt: skip


def _before_device(
    fluid: Refrigerant,
    machine: Machine,
    given: Given,
    line: tuple[Saturation, Array],
    liquid: tuple[Array, Array],
) -> devices.BeforeDevice:
    """Refrigerant behind the liquid line."""
    high, pressure = line
    enthalpy, flow = liquid
    below = np.minimum(enthalpy - high.liquid_enthalpy, 0.0)
    temperature = high.bubble_temperature + below / high.liquid_heat_capacity
    fault = given.restriction * machine.rated_difference / machine.rated_flow**2
    drop = (machine.liquid_drop / high.liquid_density + fault) * flow**2
    before = np.maximum(pressure - drop, LEAST_PRESSURE_SHARE * pressure)
    ends = fluid.saturated_enthalpies(before)
    quality = (enthalpy - ends[0]) / (ends[1] - ends[0])
    return devices.BeforeDevice(before, temperature, quality, high.liquid_density, high.liquid_heat_capacity)


class _Suction(NamedTuple):
    pressure: Array
    temperature: Array
    enthalpy: Array
    density: Array


class _Compression(NamedTuple):
    flow: Array
    leaked: Array
    power: Array
    pressure: Array
    enthalpy: Array
    temperature: Array


def _blanketed(machine: Machine, given: Given, high: Saturation) -> SegmentedCoil:
    """The condenser with its film as other gas leaves it."""
    share = given.other_gas / (given.other_gas + high.pressure)
    film = machine.condenser.mixture_conductance * np.exp(-machine.blanketing * share)
    return replace(machine.condenser, mixture_conductance=film)


def _compressed(
    fluid: Refrigerant, machine: Machine, given: Given, pressures: tuple[Saturation, Saturation, Array],
    leaving: tuple[Vapour, Array],
) -> tuple[_Suction, _Compression]:  # fmt: skip
    low, high, gauge = pressures
    gas, exit_enthalpy = leaving
    part = machine.compressor
    # Flow of the last look is not known yet: dew gas of a full cylinder stands in for it in the drops.
    about = part.swept * 0.95 * low.vapour_density
    pressure = low.pressure - np.minimum(
        machine.suction_drop * about**2 / low.vapour_density, 0.3 * low.pressure
    )
    enthalpy = exit_enthalpy + machine.suction_gain * (given.outdoor - gas.temperature) / about
    line = fluid.saturation(pressure)
    over = enthalpy - line.vapour_enthalpy
    wet = np.minimum(over, 0.0) / (line.vapour_enthalpy - line.liquid_enthalpy)
    superheat = np.maximum(over, 0.0) / line.vapour_heat_capacity
    sucked = fluid.vapour(pressure, superheat)
    density = sucked.density / np.maximum(1.0 + wet, 0.1)
    entropy = sucked.entropy + np.minimum(over, 0.0) / line.dew_temperature
    enthalpy = sucked.enthalpy + np.minimum(over, 0.0)
    discharge = gauge + machine.condenser.drop * about**2 / high.vapour_density
    rise = np.maximum(fluid.isentropic_enthalpy(discharge, entropy) - enthalpy, 2e3)
    drawn, power = drawn_in(fluid, part, (pressure, discharge), density, rise)
    lost = given.leakage * np.sqrt(np.maximum((discharge - pressure) / machine.rated_difference, 0.01))
    flow = drawn * (1.0 - np.minimum(lost, 0.9))
    hot = enthalpy + power / flow
    shell = part.shell * (fluid.vapour_temperature(discharge, hot) - given.outdoor)
    hot = hot - np.minimum(shell, 0.4 * power) / flow
    return (
        _Suction(pressure, line.dew_temperature + superheat, enthalpy, density),
        _Compression(flow, lost, power, discharge, hot, fluid.vapour_temperature(discharge, hot)),
    )


def _device_flow(
    fluid: Refrigerant,
    machine: Machine,
    given: Given,
    inlet: devices.BeforeDevice,
    leaving: tuple[Saturation, Array],
) -> Array:
    low, temperature = leaving
    area = machine.device_area * (1.0 + given.overfeed)
    if machine.device == "valve":
        gas = fluid.saturation(inlet.pressure).vapour_density
        quality = np.maximum(inlet.quality, 0.0)
        mixture = 1.0 / (quality / gas + (1.0 - quality) / inlet.density)
        bulb = temperature + BULB_OFFSET * given.overfeed
        spring = devices.Spring(machine.spring, machine.opening, machine.reserve)
        opening = devices.valve_opening(fluid, low.pressure, bulb, spring)
        fall = np.maximum(inlet.pressure - low.pressure, 1e4)
        return np.asarray(area * opening * np.sqrt(2.0 * mixture * fall))
    flux = devices.burnell_flux if machine.device == "Burnell's orifice" else devices.leung_flux
    return np.asarray(area * flux(fluid, inlet))


BULB_OFFSET = 10.0
"""What the bulb of an overfeeding valve reads too much for each whole excess [K], as in the product's model:
the meaning of the fault's level, not its physics."""


def _charge(
    machine: Machine, lines: tuple[Saturation, Saturation], paths: tuple[Path, Path], flow: Array,
    rest: tuple[Array, Array, Array],
) -> Array:  # fmt: skip
    """Refrigerant in both coils, lines and accumulator [kg]."""
    low, high = lines
    over, suction_density, below = rest
    condenser = _held(machine, machine.condenser, high, paths[0].quality, flow).mean(axis=0)
    evaporator = _held(machine, machine.evaporator, low, paths[1].quality, flow)
    bubbles = np.clip(over / (high.vapour_enthalpy - high.liquid_enthalpy), 0.0, 1.0)
    line = 1.0 / (bubbles / high.vapour_density + (1.0 - bubbles) / high.liquid_density)
    return np.asarray(
        machine.condenser.volume * condenser
        + machine.evaporator.volume * evaporator
        + machine.liquid_volume * line
        + machine.suction_volume * suction_density
        - machine.accumulator * below
    )


def _held(machine: Machine, coil: SegmentedCoil, line: Saturation, quality: Array, flow: Array) -> Array:
    """Mean density over the segments [kg/m3], by the void fraction in the middle of each."""
    # Bubbles and dew do not begin all at once within a segment.
    wet = 0.5 * (quality + np.sqrt(quality**2 + SOFT_QUALITY**2))
    wet = 1.0 - 0.5 * (1.0 - wet + np.sqrt((1.0 - wet) ** 2 + SOFT_QUALITY**2))
    void = holdup.void_fraction(
        machine.void, wet, line.liquid_density, line.vapour_density, flow / coil.flow_area
    )
    density = line.liquid_density + void * (line.vapour_density - line.liquid_density)
    return np.asarray(density.mean(axis=0))
