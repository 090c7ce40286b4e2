"""Direct-expansion cooling coil, dry or wet, in two zones: boiling and superheating.

The air side of the boiling zone works through one effective surface temperature: a share of the air, the
bypass factor exp(-NTU), leaves untouched, the rest leaves saturated at the surface (or at the surface
temperature, where that is above the dew point and the coil is dry). The refrigerant side is a conductance
from that surface to the mean boiling temperature. The superheating zone sees its share of the air and cools
it without condensing.

References
----------
Kuehn, Ramsey, Threlkeld, Thermal Environmental Engineering, 3rd ed. 1998 (bypass factor, effective surface
temperature; form from memory). Air-side conductance as a power of face velocity: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, BoolArray, Number
from model.components.condenser import DUST_INSULATION, effectiveness, flow_growth
from model.properties.saturated_air import saturated_enthalpy_and_slope

MODEL_STEPS, SURFACE_STEPS = 1, 2
"""Newton steps for the wet surface, on an exponential and on the true saturation line: errors under 1e-7 K
within 25 K of the dew point."""
CLAPEYRON = 5500.0
"""Vaporisation enthalpy of water over its gas constant [K], in the exponential's growth with temperature."""

SMALLEST_BOILING_AREA = 0.02
"""Share of the face below which the boiling zone of a starved coil fades out exponentially [-]."""


WETTING_SPAN = 0.08
"""Depth below the dew point, over the span from refrigerant to air, that wets most of a coil [-]; no source:
it only joins the dry and the wet coil smoothly."""


@dataclass(frozen=True)
class Evaporator:
    """What one evaporator is; numbers may be arrays, one a unit.

    Attributes
    ----------
    air_conductance : float or array
        Air-side conductance of the clean coil at rated airflow [W/K].
    air_exponent : float or array
        Power of face velocity in it [-].
    boiling_conductance, vapour_conductance : float or array
        Refrigerant-side conductance of the whole coil, were all of it in that zone, at rated flow [W/K].
    rated_flow : float or array
        Refrigerant flow of those conductances [kg/s].
    rated_airflow : float or array
        Dry-air flow of `air_conductance` [kg/s].
    volume : float or array
        Refrigerant-side volume [m3].
    pressure_drop : float or array
        Coefficient k of the drop along the coil, k m^2 / vapour density [1/m4].
    dry_ratio : float or array
        Air-side conductance of the dry coil over that of the wet one [-].
    """

    air_conductance: Number
    air_exponent: Number
    boiling_conductance: Number
    vapour_conductance: Number
    rated_flow: Number
    rated_airflow: Number
    volume: Number
    pressure_drop: Number
    dry_ratio: Number = 0.85


class MoistStream(NamedTuple):
    """Air entering an evaporator; arrays of one shape.

    flow (dry air) [kg/s], temperature [K], humidity_ratio [kg/kg], dew_point [K], enthalpy [J/kg dry air],
    heat_capacity (a kg of dry air) [J/(kg K)], pressure [Pa], conductance (air side) [W/K]; `moisture_slope`
    where it is known already.
    """

    flow: Array
    temperature: Array
    humidity_ratio: Array
    dew_point: Array
    enthalpy: Array
    heat_capacity: Array
    pressure: Array
    conductance: Array
    moisture_slope: Array | None = None


class BoilingZone(NamedTuple):
    """Boiling zone, were the whole face boiling: heat [W], surface [K], wet (bool), bypass factor [-]."""

    heat: Array
    surface_temperature: Array
    wet: BoolArray
    bypass: Array


def air_side_conductance(evaporator: Evaporator, airflow: Array, dust: ArrayLike = 0.0) -> Array:
    """Air-side conductance of the dry coil.

    Parameters
    ----------
    evaporator : Evaporator
        The coil.
    airflow : ndarray
        Dry-air flow [kg/s], above 0.
    dust : array_like
        Relative rise of the coil's air pressure drop from a dust layer [-], 0 or more.

    Returns
    -------
    ndarray
        Conductance [W/K], shape of the broadcast inputs.

    References
    ----------
    Power of face velocity: common practice, no source. Dust: as
    `model.components.condenser.air_side_conductance`.
    """
    ratio = airflow / np.asarray(evaporator.rated_airflow)
    clean = evaporator.air_conductance * ratio ** np.asarray(evaporator.air_exponent)
    return np.asarray(clean / (1.0 + DUST_INSULATION * np.asarray(dust)))


def wetted_conductance(evaporator: Evaporator, air: MoistStream, boiling_temperature: Array) -> Array:
    """Air-side conductance by how much of the surface is wet.

    The share grows from none, where the refrigerant is no colder than the dew point, to nearly all of it
    where a quarter of the way from refrigerant to air is below the dew point: continuous, because tubes get
    wet before fin tips.

    Parameters
    ----------
    evaporator : Evaporator
        The coil, for its dry over its wet conductance.
    air : MoistStream
        Entering air and the wet coil's conductance.
    boiling_temperature : ndarray
        Mean temperature of the boiling refrigerant [K].

    Returns
    -------
    ndarray
        Conductance [W/K], shape of the broadcast inputs.

    References
    ----------
    Derived here; that a wet coil transfers sensible heat at another rate than a dry one is common practice,
    no source.
    """
    span = np.maximum(air.temperature - boiling_temperature, 1.0)
    below_dew = np.maximum(air.dew_point - boiling_temperature, 0.0) / span
    dry = np.exp(-below_dew / WETTING_SPAN)
    return np.asarray(air.conductance * (1.0 - (1.0 - np.asarray(evaporator.dry_ratio)) * dry))


def bypass_factor(ntu_air: ArrayLike) -> Array:
    """Share of the air that leaves a coil as if it had not touched it.

    Parameters
    ----------
    ntu_air : array_like, any shape
        Air-side number of transfer units, conductance over air heat capacity rate [-], above 0.

    Returns
    -------
    ndarray
        Bypass factor [-], between 0 and 1, shape of `ntu_air`.

    References
    ----------
    Kuehn, Ramsey, Threlkeld, Thermal Environmental Engineering, 3rd ed. 1998 (form from memory).
    """
    return np.asarray(np.exp(-np.asarray(ntu_air)))


def boiling_conductance(evaporator: Evaporator, flow: Array, growth: Array | None = None) -> Array:
    """Refrigerant-side conductance of a wholly boiling coil.

    Parameters
    ----------
    evaporator : Evaporator
        The coil.
    flow : ndarray
        Refrigerant flow [kg/s], above 0.
    growth : ndarray, optional
        `flow_growth` where it is known already [-].

    Returns
    -------
    ndarray
        Conductance [W/K], shape of the broadcast inputs.

    References
    ----------
    As `model.components.condenser.flow_growth`.
    """
    growth = flow_growth(flow, evaporator.rated_flow) if growth is None else growth
    return np.asarray(evaporator.boiling_conductance * growth)


def boiling_zone(air: MoistStream, conductance: Array, boiling_temperature: Array) -> BoilingZone:
    """Heat and surface temperature of a coil that boils refrigerant at a mean temperature.

    Dry where the surface stays above the dew point; wet otherwise, by Newton on a surface balance that is
    monotone and concave, so that the steps cannot cycle.

    Parameters
    ----------
    air : MoistStream
        Entering air, its flow and the air-side conductance.
    conductance : ndarray
        Refrigerant-side conductance [W/K].
    boiling_temperature : ndarray
        Mean temperature of the boiling refrigerant [K].

    Returns
    -------
    BoilingZone
        Heat [W], surface temperature [K], whether it is wet, and the bypass factor [-].

    References
    ----------
    Kuehn, Ramsey, Threlkeld 1998 (bypass factor, effective surface temperature; form from memory); the
    iteration is derived here.
    """
    bypass = bypass_factor(air.conductance / (air.flow * air.heat_capacity))
    touched = air.flow * (1.0 - bypass)
    sensible = touched * air.heat_capacity
    dry = (sensible * air.temperature + conductance * boiling_temperature) / (sensible + conductance)
    wet = dry < air.dew_point
    surface = _wet_surface(air, touched, conductance, boiling_temperature) if wet.any() else dry
    surface = np.where(wet, surface, dry)
    heat = conductance * (surface - boiling_temperature)
    return BoilingZone(heat, surface, wet, bypass)


def _wet_surface(air: MoistStream, touched: Array, conductance: Array, boiling: Array) -> Array:
    """Surface temperature [K] of a wet coil: what the air gives up, the refrigerant takes.

    A few cheap steps on saturated air whose moisture is an exponential of temperature come close enough for
    two steps on the true saturation line.
    """
    moist = moisture_slope(air) if air.moisture_slope is None else air.moisture_slope
    bend = CLAPEYRON / (air.dew_point * air.dew_point)
    amount, ratio = moist / bend, conductance / touched
    steepness = air.heat_capacity + ratio
    excess = air.heat_capacity * (air.temperature - air.dew_point) - ratio * (air.dew_point - boiling)
    depth = excess / (steepness + moist)
    excess = excess + amount
    for _ in range(MODEL_STEPS):
        growth = np.exp(bend * depth)
        depth = depth + (excess - steepness * depth - amount * growth) / (steepness + moist * growth)
    surface = air.dew_point + depth
    wanted = air.enthalpy + ratio * boiling
    for _ in range(SURFACE_STEPS):
        saturated, slope = saturated_enthalpy_and_slope(surface, air.pressure)
        surface = surface + (wanted - saturated - ratio * surface) / (slope + ratio)
    return np.asarray(surface)


def superheating_area(
    evaporator: Evaporator,
    air: MoistStream,
    flow: Array,
    heat_capacity: Array,
    decay: Array,
    growth: Array | None = None,
) -> Array:
    """Share of the face that superheats the vapour.

    Parameters
    ----------
    evaporator : Evaporator
        The coil.
    air : MoistStream
        Entering air, its flow and the air-side conductance.
    flow : ndarray
        Refrigerant flow [kg/s].
    heat_capacity : ndarray
        Of the vapour [J/(kg K)].
    decay : ndarray
        ln of (air less dew point) over (air less exit temperature) [-]; 0 where nothing is superheated.
    growth : ndarray, optional
        `flow_growth` where it is known already [-].

    Returns
    -------
    ndarray
        Share of the face [-], shape of the broadcast inputs.

    References
    ----------
    Derived here from the energy balance of the zone and `effectiveness` (Incropera, DeWitt, from memory).
    """
    growth = flow_growth(flow, evaporator.rated_flow) if growth is None else growth
    rate = air.flow * air.heat_capacity
    share = effectiveness(air.conductance, evaporator.vapour_conductance * growth, rate)
    return np.asarray(flow * heat_capacity * decay / (rate * share))


def moisture_slope(air: MoistStream) -> Array:
    """Slope at the dew point of saturated air's enthalpy that moisture adds.

    Parameters
    ----------
    air : MoistStream
        Entering air.

    Returns
    -------
    ndarray
        Slope less the heat capacity of the moist air [J/(kg K)], per kg of dry air.

    References
    ----------
    Definition: slope of saturated air's enthalpy less the heat capacity of the air.
    """
    return np.asarray(saturated_enthalpy_and_slope(air.dew_point, air.pressure)[1] - air.heat_capacity)


def boiling_area(superheating: Array) -> Array:
    """Share of the face left for boiling: what does not superheat, fading out in a starved coil.

    Parameters
    ----------
    superheating : ndarray
        Share of the face that superheats [-]; may be beyond 1 at a trial point.

    Returns
    -------
    ndarray
        Share [-], above 0, shape of `superheating`.

    References
    ----------
    Definition; how it fades out is set here.
    """
    left = 1.0 - np.asarray(superheating)
    starved = SMALLEST_BOILING_AREA * np.exp(np.minimum(left / SMALLEST_BOILING_AREA - 1.0, 0.0))
    return np.maximum(left, starved)
