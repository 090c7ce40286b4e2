"""Coils in segments along the refrigerant's path, in the place of zones with closed formulas.

Each segment sees its own air: the face velocity is uneven, and a blocked share lies more on some segments
than on others. Refrigerant-side conductance follows the local quality. The condenser has two circuits side by
side that join before the liquid line; where one of them runs out of area, gas leaves with the other's liquid.
The evaporator's segments are dry or wet, whichever takes up more heat, by differences of enthalpy.

References
----------
Shah, A general correlation for heat transfer during film condensation inside pipes, International Journal of
Heat and Mass Transfer 22, 1979. Braun, Klein, Mitchell, Effectiveness models for cooling towers and cooling
coils, ASHRAE Transactions 95(2), 1989 (wet coil by enthalpies; the larger of dry and wet). All from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from model.arrays import Array, Number
from model.properties import moist_air
from model.properties.refrigerant import Saturation
from model.properties.saturated_air import saturated_enthalpy_and_slope

CONDENSER_SEGMENTS, EVAPORATOR_SEGMENTS = 16, 10
CIRCUITS = 2
BUBBLE_WIDTH, DEW_WIDTH = 0.02, 0.04
"""Qualities over which one regime of heat transfer passes into the next [-]."""
SURFACE_STEPS = 3
SMALLEST_STEP = 1e-3
"""Difference of two qualities that a mean is taken over at least [-]."""
DRY_FROM = 0.97
"""Quality from which an evaporator's wall dries out [-]."""


@dataclass(frozen=True)
class SegmentedCoil:
    """One coil; numbers may be arrays, one a unit.

    Attributes
    ----------
    air_conductance, air_exponent : float or array
        Of the clean coil at `rated_air` [W/K], and power of the velocity in it [-].
    gas_conductance, mixture_conductance, liquid_conductance : float or array
        Refrigerant side, were all of the coil such, at rated flow [W/K]; of the mixture its mean.
    flow_exponent : float or array
        Power of the refrigerant flow in them [-].
    rated_flow, rated_air, rated_pressure : float or array
        Refrigerant [kg/s], air [W/K], pressure [Pa].
    volume, flow_area : float or array
        Inside the tubes [m3], and cross-section of all circuits together [m2].
    drop : float or array
        Coefficient k of the pressure drop k m^2 / density of gas [1/m4].
    unevenness : float or array
        How much face velocity falls from the first segment to the last, over its mean [-].
    """

    air_conductance: Number
    air_exponent: Number
    gas_conductance: Number
    mixture_conductance: Number
    liquid_conductance: Number
    flow_exponent: Number
    rated_flow: Number
    rated_air: Number
    rated_pressure: Number
    volume: Number
    flow_area: Number
    drop: Number
    unevenness: Number


class Face(NamedTuple):
    """Air of each segment, shapes (segments, circuits, ...).

    Heat capacity rate [W/K], conductance [W/K], and the open share of its tubes [-].
    """

    rate: Array
    conductance: Array
    open_share: Array


class Path(NamedTuple):
    """Refrigerant along a coil.

    Qualities in the middle of each segment, below 0 liquid and above 1 gas (segments, ...); enthalpy at the
    end [J/kg]; heat in all [W].
    """

    quality: Array
    enthalpy: Array
    heat: Array


def condenser_face(coil: SegmentedCoil, rate: Array, ratio: Array, blocked: Array, tilt: Array) -> Face:
    """Air and area of a condenser's segments with a blocked share.

    Parameters
    ----------
    coil : SegmentedCoil
        The coil.
    rate : ndarray
        Heat capacity rate of all its air [W/K].
    ratio : ndarray
        Air over the clean unit's [-].
    blocked : ndarray
        Share of the face without air [-].
    tilt : ndarray, shape (2, ...)
        How much more of it lies on the first circuit, and on the last segments, each -1 to 1 [-].

    Returns
    -------
    Face
        Shapes (segments, circuits, ...).

    References
    ----------
    Power of face velocity: common practice, no source. The rest is continuity.
    """
    place = np.linspace(-1.0, 1.0, CONDENSER_SEGMENTS).reshape(-1, 1, *(1,) * np.ndim(blocked))
    side = np.array([1.0, -1.0]).reshape(1, -1, *(1,) * np.ndim(blocked))
    # So much of a tilt that no segment has less than nothing or more than all of its face blocked.
    room = np.minimum(blocked, 1.0 - blocked)
    shut = np.clip(blocked + room * (0.5 * tilt[0] * side + 0.5 * tilt[1] * place), 0.0, 0.98)
    velocity = 1.0 - 0.5 * np.asarray(coil.unevenness) * place
    weight = (1.0 - shut) * velocity
    share = weight / weight.mean(axis=(0, 1))
    parts = CONDENSER_SEGMENTS * CIRCUITS
    local = velocity * ratio / (weight.mean(axis=(0, 1)))
    conductance = coil.air_conductance * (1.0 - shut) * local ** np.asarray(coil.air_exponent) / parts
    return Face(rate * share / parts, conductance, 1.0 - shut)


def condensed(
    coil: SegmentedCoil, face: Face, line: Saturation, hot: tuple[Array, Array, Array], air: Array
) -> tuple[Path, Array]:
    """Refrigerant along both circuits of a condenser.

    Parameters
    ----------
    coil : SegmentedCoil
        The coil.
    face : Face
        Its air.
    line : Saturation
        At condensing pressure.
    hot : (ndarray, ndarray, ndarray)
        Flow [kg/s], entering enthalpy [J/kg] and temperature [K].
    air : ndarray
        Temperature of the outdoor air [K].

    Returns
    -------
    (Path, ndarray)
        Along each circuit, shapes (segments, circuits, ...), and the enthalpy after they have joined [J/kg].

    References
    ----------
    Shah 1979 (from memory), mean over quality as the rated number.
    """
    flow, entering, temperature = hot
    latent = line.vapour_enthalpy - line.liquid_enthalpy
    glide = line.dew_temperature - line.bubble_temperature
    above = np.maximum(entering - line.vapour_enthalpy, 1.0)
    gas_capacity = above / np.maximum(temperature - line.dew_temperature, 0.01)
    growth = (flow / coil.rated_flow) ** np.asarray(coil.flow_exponent) / (CONDENSER_SEGMENTS * CIRCUITS)
    film = coil.mixture_conductance * (line.pressure / coil.rated_pressure) ** -0.38
    each = flow / CIRCUITS
    between = (1,) * (np.ndim(entering) - face.rate.ndim + 2)
    enthalpy = np.broadcast_to(entering, (CIRCUITS, *np.shape(entering)))
    first, qualities, heat = enthalpy, [], np.asarray(0.0)
    for parts in zip(*face, strict=True):
        rate, conductance, open_share = (one.reshape(CIRCUITS, *between, *one.shape[1:]) for one in parts)
        quality = (enthalpy - line.liquid_enthalpy) / latent
        # What the segment before took says how far this one will reach: so no regime begins all at once.
        reach = quality - heat / (each * latent)
        wet, dry = (
            _share_above(0.0, reach, quality, BUBBLE_WIDTH),
            _share_above(1.0, reach, quality, DEW_WIDTH),
        )
        local = np.clip(quality, 0.0, 1.0)
        mixture = film * 1.35 * (1.0 - local) ** 0.8 + film * 0.9 * local**0.76
        inside = (
            coil.liquid_conductance * (1.0 - wet) + mixture * (wet - wet * dry) + coil.gas_conductance * dry
        )
        inside = inside * growth * open_share
        ntu = inside * conductance / ((inside + conductance) * rate)
        uptake = rate * -np.expm1(-ntu)
        hotness = _temperature(line, enthalpy, gas_capacity)
        capacity = 1.0 / (
            (1.0 - wet) / line.liquid_heat_capacity + (wet - wet * dry) * glide / latent + dry / gas_capacity
        )
        heat = uptake * (hotness - air) / (1.0 + uptake / (2.0 * each * capacity))
        qualities.append(quality - 0.5 * heat / (each * latent))
        enthalpy = enthalpy - heat / each
    return Path(np.array(qualities), enthalpy, each * (first - enthalpy)), enthalpy.mean(axis=0)


def _temperature(line: Saturation, enthalpy: Array, gas_capacity: Array) -> Array:
    """Of liquid, mixture or gas at one pressure [K]."""
    above, below = enthalpy - line.vapour_enthalpy, enthalpy - line.liquid_enthalpy
    quality = np.clip(below / (line.vapour_enthalpy - line.liquid_enthalpy), 0.0, 1.0)
    mixture = line.bubble_temperature + quality * (line.dew_temperature - line.bubble_temperature)
    gas, liquid = np.maximum(above, 0.0) / gas_capacity, np.minimum(below, 0.0) / line.liquid_heat_capacity
    return np.asarray(mixture + gas + liquid)


class IndoorAir(NamedTuple):
    """Return air.

    Dry-air flow [kg/s], temperature [K], humidity ratio [kg/kg], enthalpy [J/kg] and heat capacity [J/(kg K)]
    of a kg of dry air, pressure [Pa].
    """

    flow: Array
    temperature: Array
    humidity_ratio: Array
    enthalpy: Array
    heat_capacity: Array
    pressure: Array


class Boiled(NamedTuple):
    """Refrigerant along an evaporator, and temperature [K] and humidity ratio of its air behind it."""

    path: Path
    air_temperature: Array
    humidity_ratio: Array


def boiled(
    coil: SegmentedCoil, air: IndoorAir, lines: tuple[Saturation, Saturation], flow: Array, entering: Array
) -> Boiled:
    """Refrigerant and air through an evaporator.

    Parameters
    ----------
    coil : SegmentedCoil
        The coil.
    air : IndoorAir
        Return air.
    lines : (Saturation, Saturation)
        At the pressure of its inlet and its exit.
    flow, entering : ndarray
        Refrigerant [kg/s] and its enthalpy [J/kg].

    Returns
    -------
    Boiled
        Shapes (segments, ...) along it.

    References
    ----------
    Braun, Klein, Mitchell 1989 (from memory).
    """
    count = EVAPORATOR_SEGMENTS
    ratio = air.flow * air.heat_capacity / coil.rated_air
    growth = (flow / coil.rated_flow) ** np.asarray(coil.flow_exponent) / count
    enthalpy, qualities, temperatures, humidities, weights = entering, [], [], [], []
    heat = np.asarray(0.0)
    for place in np.linspace(0.0, 1.0, count):
        share = 1.0 + np.asarray(coil.unevenness) * (0.5 - place)
        dry_air = air.flow * share / count
        outside = coil.air_conductance * (share * ratio) ** np.asarray(coil.air_exponent) / count
        line = _between(*lines, place)
        quality = (enthalpy - line.liquid) / (line.vapour - line.liquid)
        reach = quality + heat / (flow * (line.vapour - line.liquid))
        dry = _share_above(DRY_FROM, quality, reach, DEW_WIDTH)
        boiling = coil.mixture_conductance * (0.7 + 0.5 * np.clip(quality, 0.0, 1.0))
        inside = (boiling * (1.0 - dry) + coil.gas_conductance * dry) * growth
        above = np.maximum(enthalpy - line.vapour, 0.0) / line.capacity
        cold = np.where(
            quality < 1.0, line.bubble + np.clip(quality, 0.0, 1.0) * line.glide, line.dew + above
        )
        # A superheating segment warms its gas on the way.
        warming = dry / (2.0 * flow * line.capacity)
        heat, temperature, humidity = _segment(air, dry_air, (outside, inside), cold, warming)
        qualities.append(quality + 0.5 * heat / (flow * (line.vapour - line.liquid)))
        enthalpy = enthalpy + heat / flow
        temperatures.append(temperature)
        humidities.append(humidity)
        weights.append(share / count)
    mean = [sum(w * one for w, one in zip(weights, many, strict=True)) for many in (temperatures, humidities)]
    path = Path(np.array(qualities), np.asarray(enthalpy), np.asarray(flow * (enthalpy - entering)))
    return Boiled(path, np.asarray(mean[0]), np.asarray(mean[1]))


def _segment(
    air: IndoorAir, dry_air: Array, conductances: tuple[Array, Array], cold: Array, warming: Array
) -> tuple[Array, Array, Array]:
    """Heat that one segment takes up [W], and temperature and humidity ratio of its air behind it.

    `warming`: half of what a watt warms the gas on its way [K/W].
    """
    outside, inside = conductances
    rate = dry_air * air.heat_capacity
    touch = -np.expm1(-outside / rate)
    through = rate * -np.expm1(-outside * inside / ((outside + inside) * rate))
    dry_heat = through * (air.temperature - cold)
    # Wet: differences of enthalpy, with the slope of saturated air between refrigerant and surface.
    saturated, slope = saturated_enthalpy_and_slope(cold, air.pressure)
    surface, wet_heat = cold, dry_heat
    for _ in range(SURFACE_STEPS):
        at_surface, _ = saturated_enthalpy_and_slope(surface, air.pressure)
        apart = surface - cold
        slope = np.where(apart > 0.05, (at_surface - saturated) / np.where(apart > 0.05, apart, 1.0), slope)
        ntu = 1.0 / (dry_air * (air.heat_capacity / outside + slope / inside))
        wet_heat = dry_air * -np.expm1(-ntu) * np.maximum(air.enthalpy - saturated, 0.0)
        surface = cold + wet_heat / inside
    wet = wet_heat > dry_heat
    heat = np.maximum(wet_heat, dry_heat)
    heat = heat / (1.0 + warming * heat / np.maximum(air.temperature - cold, 0.1))
    # What touches the fins leaves saturated, the rest as it came.
    film = air.enthalpy - heat / (dry_air * touch)
    fin = surface
    for _ in range(SURFACE_STEPS):
        value, steep = saturated_enthalpy_and_slope(fin, air.pressure)
        fin = fin - (value - film) / steep
    at_fin = np.minimum(moist_air.saturation_humidity_ratio(fin, air.pressure), air.humidity_ratio)
    humidity = np.where(wet, air.humidity_ratio - touch * (air.humidity_ratio - at_fin), air.humidity_ratio)
    behind = air.enthalpy - heat / dry_air
    return np.asarray(heat), moist_air.temperature_from_enthalpy(behind, humidity), np.asarray(humidity)


class _Line(NamedTuple):
    liquid: Array
    vapour: Array
    bubble: Array
    dew: Array
    glide: Array
    capacity: Array


def _between(first: Saturation, last: Saturation, place: float) -> _Line:
    """Saturation so far along from one pressure to another [SI]."""

    def at(name: str) -> Array:
        return np.asarray((1.0 - place) * getattr(first, name) + place * getattr(last, name))

    bubble, dew = at("bubble_temperature"), at("dew_temperature")
    return _Line(
        at("liquid_enthalpy"), at("vapour_enthalpy"), bubble, dew, dew - bubble, at("vapour_heat_capacity")
    )


def _share_above(limit: float, low: Array, high: Array, width: float) -> Array:
    """Share of the way from one quality to another that lies above a limit, rounded off over a width."""
    scale = 0.25 * width
    apart = np.maximum(high - low, SMALLEST_STEP)

    def above(quality: Array) -> Array:
        return np.asarray(scale * np.logaddexp(0.0, (quality - limit) / scale))

    return np.asarray((above(low + apart) - above(low)) / apart)
