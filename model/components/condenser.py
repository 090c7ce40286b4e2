"""Air-cooled condenser in three zones whose areas add up to the coil.

Gas is cooled to the dew line, condensed, and the liquid subcooled. In each zone the air crosses refrigerant
that is mixed across the tube, so the refrigerant's temperature above the entering air decays exponentially
along the zone and the area the zone needs is known in closed form (crossflow, refrigerant mixed, air
unmixed). The condenser is in balance when the three areas add to one.

A blocked face takes its area out of service and drives the rest faster; a dust layer insulates; both also act
on the airflow through the fan (`model.components.fans`).

References
----------
Incropera, DeWitt, Fundamentals of Heat and Mass Transfer, effectiveness-NTU relations, crossflow with one
fluid mixed (from memory). Shah, A general correlation for heat transfer during film condensation inside
pipes, International Journal of Heat and Mass Transfer 22, 1979 (from memory). Air-side conductance as a power
0.5 to 0.65 of face velocity: common practice, no source. Conductance lost to a dust layer against its
pressure drop: Pak, Groll, Braun 2005 (28-31 % more pressure drop with 7-12 % less heat transfer on single-row
coils, 22-37 % with 4-5 % on double-row coils; abstract).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, Number

DUST_INSULATION = 0.3
"""Rise of the air-side thermal resistance of a tube-and-fin coil with each unit of relative pressure-drop
rise [-], of the order of Pak, Groll, Braun 2005: 30 % more pressure drop goes with some 8 % less air-side
conductance."""

REFRIGERANT_EXPONENT = 0.8
"""Power of mass flow in the refrigerant-side conductance of single-phase zones [-] (Dittus-Boelter; from
memory)."""

BLANKETING = 3.0
"""Rise of the condensing film's resistance with the share of non-condensable gas in the pressure [-]: see
`blanketing`."""

CLOSE_DIFFERENCES = 0.01
"""Square of half the logarithm of the ratio of two differences under which their mean is a series [-]: its
first left-out term is then 3e-14."""

PRESSURE_EXPONENT = 0.38
"""Power with which the condensing conductance falls with reduced pressure [-] (Shah 1979; from memory)."""


@dataclass(frozen=True)
class Condenser:
    """What one condenser is; numbers may be arrays, one a unit.

    Attributes
    ----------
    air_conductance : float or array
        Air-side conductance of the clean coil at clean airflow [W/K].
    air_exponent : float or array
        Power of face velocity in it [-].
    vapour_conductance, condensing_conductance, liquid_conductance : float or array
        Refrigerant-side conductance of the whole coil, were all of it in that zone, at rated flow [W/K].
    rated_flow : float or array
        Refrigerant flow of those conductances [kg/s].
    volume : float or array
        Refrigerant-side volume [m3].
    pressure_drop : float or array
        Drop from discharge port to coil exit over (rated flow squared over vapour density): coefficient k in
        k m^2 / density [1/m4].
    rated_pressure : float or array
        Condensing pressure of `condensing_conductance` [Pa].
    dust_insulation : float or array
        Rise of the air-side thermal resistance with each unit of relative pressure-drop rise from dust [-].
    """

    air_conductance: Number
    air_exponent: Number
    vapour_conductance: Number
    condensing_conductance: Number
    liquid_conductance: Number
    rated_flow: Number
    volume: Number
    pressure_drop: Number
    rated_pressure: Number
    dust_insulation: Number = DUST_INSULATION


class AirStream(NamedTuple):
    """Air entering a condenser, and the part of the coil that it still reaches; arrays of one shape.

    heat_capacity_rate [W/K], temperature [K], conductance (air side, of the open face) [W/K], open_face
    (fraction) [-]; recirculation, share of it that has left the coil before [-].
    """

    heat_capacity_rate: Array
    temperature: Array
    conductance: Array
    open_face: Array
    recirculation: Number = 0.0


class ZoneAreas(NamedTuple):
    """Area each zone needs, as a fraction of the open coil [-]; in balance they add to one."""

    desuperheating: Array
    condensing: Array
    subcooling: Array

    @property
    def total(self) -> Array:
        """Sum of the three [-].

        Source: Definition.
        """
        return np.asarray(self.desuperheating + self.condensing + self.subcooling)


def air_side_conductance(
    condenser: Condenser, flow_ratio: Array, blocked: ArrayLike = 0.0, dust: ArrayLike = 0.0
) -> Array:
    """Air-side conductance of what is left open.

    Parameters
    ----------
    condenser : Condenser
        The coil.
    flow_ratio : ndarray, any shape
        Airflow over the clean unit's [-], from the fan balance.
    blocked : array_like
        Fraction of the face without air [-], in [0, 1).
    dust : array_like
        Relative rise of the coil's air pressure drop from a dust layer [-], 0 or more.

    Returns
    -------
    ndarray
        Conductance [W/K], shape of the broadcast inputs.

    References
    ----------
    Power of face velocity: common practice, no source. Dust: Pak, Groll, Braun 2005 (abstract), see
    `DUST_INSULATION`. The open face is derived here from continuity.
    """
    open_face = 1.0 - np.asarray(blocked)
    velocity = flow_ratio / open_face
    clean = condenser.air_conductance * open_face * velocity ** np.asarray(condenser.air_exponent)
    return np.asarray(clean / (1.0 + np.asarray(condenser.dust_insulation) * np.asarray(dust)))


def partial_pressure(noncondensable: ArrayLike, temperature: Array) -> Array:
    """Pressure of non-condensable gas in the condenser: that of an ideal gas in a closed volume.

    Parameters
    ----------
    noncondensable : array_like
        Its pressure at 40 degC [Pa], 0 or more.
    temperature : ndarray
        Condensing temperature [K].

    Returns
    -------
    ndarray
        Partial pressure [Pa], shape of the broadcast inputs.

    References
    ----------
    Ideal gas: definition.
    """
    return np.asarray(noncondensable) * (temperature / 313.15)


def blanketing(fraction: ArrayLike) -> Array:
    """Condensing conductance with other gas in the condenser over that without.

    The gas gathers at the film and the refrigerant must diffuse through it. In moving vapour a tenth of gas
    costs about a quarter of the conductance (stagnant gas costs far more).

    Parameters
    ----------
    fraction : array_like
        Share of the pressure that is the other gas's [-], in [0, 1).

    Returns
    -------
    ndarray
        Ratio of conductances [-], 1 without gas, shape of `fraction`.

    References
    ----------
    Form derived here; the order of magnitude is common practice, no source.
    """
    return np.asarray(1.0 / (1.0 + BLANKETING * np.asarray(fraction)))


def effectiveness(first: Array, second: Array, heat_capacity_rate: Array) -> Array:
    """Effectiveness of air that crosses a surface whose other side stays at one temperature.

    Parameters
    ----------
    first, second : ndarray
        The two conductances in series [W/K], above 0.
    heat_capacity_rate : ndarray
        Of the air [W/K], above 0.

    Returns
    -------
    ndarray
        Heat over the most that could be exchanged [-], 1 - exp(-NTU), shape of the broadcast inputs.

    References
    ----------
    Kays, London, Compact Heat Exchangers, 3rd ed. 1984, ch. 2, capacity-rate ratio 0 (from memory).
    """
    return np.asarray(-np.expm1(-first * second / ((first + second) * heat_capacity_rate)))


def heat_uptake(air: AirStream, conductance: Array) -> Array:
    """Heat that the air takes up for each kelvin of the refrigerant over the outdoor air, were all one zone.

    Air that is drawn back enters warm. Each part of the coil gets back what it gave away itself: with the
    share r drawn back and the effectiveness e, the outdoor air's own uptake of (1 - r) e / (1 - r + r e)
    follows from the air's two heat balances.

    Parameters
    ----------
    air : AirStream
        Outdoor air, and how much of it is drawn back.
    conductance : ndarray
        Refrigerant-side conductance of the zone [W/K].

    Returns
    -------
    ndarray
        [W/K], shape of the broadcast inputs.

    References
    ----------
    Derived here from the effectiveness and the first law.
    """
    share = effectiveness(air.conductance, conductance, air.heat_capacity_rate)
    if np.any(air.recirculation):
        fresh = 1.0 - np.asarray(air.recirculation)
        share = fresh * share / (fresh + air.recirculation * share)
    return np.asarray(air.heat_capacity_rate * share)


def log_mean(first: Array, second: Array) -> Array:
    """Logarithmic mean of two positive differences, smooth where they are equal.

    Parameters
    ----------
    first, second : ndarray
        Temperature differences at the two ends [K], above 0.

    Returns
    -------
    ndarray
        Mean [K], shape of the broadcast inputs.

    References
    ----------
    Definition of the logarithmic mean difference; the series is derived here.
    """
    half = 0.5 * np.log(first / second)
    square = half * half
    # sinh(x) / x as a series where the differences are close, so that nothing is divided by nothing.
    series = 1.0 + square * (1.0 / 6.0 + square * (1.0 / 120.0 + square * (1.0 / 5040.0)))
    close = square < CLOSE_DIFFERENCES
    return np.where(
        close, np.sqrt(first * second) * series, 0.5 * (first - second) / np.where(close, 1.0, half)
    )


def flow_growth(flow: Array, rated_flow: Number) -> Array:
    """Refrigerant-side conductance at a flow over that at the rated one.

    Parameters
    ----------
    flow : ndarray
        Refrigerant flow [kg/s], above 0.
    rated_flow : float or ndarray
        Flow at which the coil's conductances hold [kg/s].

    Returns
    -------
    ndarray
        Ratio [-], a power of the flow ratio, shape of the broadcast inputs.

    References
    ----------
    Dittus-Boelter exponent of `REFRIGERANT_EXPONENT` (from memory).
    """
    return np.asarray((flow / rated_flow) ** REFRIGERANT_EXPONENT)


def zone_conductance(
    condenser: Condenser, zone: Number, flow: Array, air: AirStream, growth: Array | None = None
) -> Array:
    """Refrigerant-side conductance of a zone on the open part of the coil, by the flow in its tubes.

    Parameters
    ----------
    condenser : Condenser
        The coil.
    zone : float or ndarray
        Conductance of the whole coil if all of it were this zone, at rated flow [W/K].
    flow : ndarray
        Refrigerant flow [kg/s].
    air : AirStream
        For the open share of the face.
    growth : ndarray, optional
        `flow_growth` where it is known already [-].

    Returns
    -------
    ndarray
        Conductance [W/K], shape of the broadcast inputs.

    References
    ----------
    Derived here: conductance in proportion to the open area and to `flow_growth`.
    """
    growth = flow_growth(flow, condenser.rated_flow) if growth is None else growth
    return np.asarray(zone * air.open_face * growth)


def desuperheating_area(
    condenser: Condenser,
    air: AirStream,
    flow: Array,
    heat: Array,
    ends: tuple[Array, Array],
    growth: Array | None = None,
) -> Array:
    """Share of the open coil that cools the gas to its dew point.

    Parameters
    ----------
    condenser : Condenser
        The coil.
    air : AirStream
        Entering air and what it can take up.
    flow : ndarray
        Refrigerant flow [kg/s].
    heat : ndarray
        Heat that the gas gives away [W], 0 or more.
    ends : (ndarray, ndarray)
        Temperatures of the gas where it enters and at its dew point [K], both above the air.
    growth : ndarray, optional
        `flow_growth` where it is known already [-].

    Returns
    -------
    ndarray
        Area over the open coil's [-], shape of the broadcast inputs.

    References
    ----------
    As `condensing_area`.
    """
    conductance = zone_conductance(condenser, condenser.vapour_conductance, flow, air, growth)
    return condensing_area(air, heat, conductance, ends)


def condensing_conductance(
    condenser: Condenser, air: AirStream, flow: Array, pressure: Array, growth: Array | None = None
) -> Array:
    """Refrigerant-side conductance of a wholly condensing coil.

    Grows with the flow like the liquid's alone and falls with the reduced pressure.

    Parameters
    ----------
    condenser : Condenser
        The coil.
    air : AirStream
        For the open share of the face.
    flow : ndarray
        Refrigerant flow [kg/s].
    pressure : ndarray
        Condensing pressure [Pa].
    growth : ndarray, optional
        `flow_growth` where it is known already [-].

    Returns
    -------
    ndarray
        Conductance [W/K], shape of the broadcast inputs.

    References
    ----------
    Shah 1979, Int. J. Heat Mass Transfer 22, the form of its dependence on flow and pressure (from memory).
    """
    hot = (pressure / condenser.rated_pressure) ** -PRESSURE_EXPONENT
    return np.asarray(zone_conductance(condenser, condenser.condensing_conductance, flow, air, growth) * hot)


def condensing_area(air: AirStream, heat: Array, conductance: Array, ends: tuple[Array, Array]) -> Array:
    """Share of the open coil that condenses.

    Parameters
    ----------
    air : AirStream
        Entering air and what it can take up.
    heat : ndarray
        Heat of condensation given away [W], 0 or more.
    conductance : ndarray
        Refrigerant-side conductance of a wholly condensing coil [W/K].
    ends : (ndarray, ndarray)
        Refrigerant temperatures where the zone begins and ends, dew and bubble point [K], both above the air.

    Returns
    -------
    ndarray
        Area over the open coil's [-], shape of the broadcast inputs.

    References
    ----------
    Derived here from the energy balance of the zone and `effectiveness` (Incropera, DeWitt, from memory).
    """
    mean = log_mean(ends[0] - air.temperature, ends[1] - air.temperature)
    return np.asarray(heat / (heat_uptake(air, conductance) * mean))


def subcooling_area(
    condenser: Condenser,
    air: AirStream,
    flow: Array,
    heat_capacity: Array,
    decay: Array,
    growth: Array | None = None,
) -> Array:
    """Share of the open coil that subcools the liquid.

    Parameters
    ----------
    condenser, air : Condenser, AirStream
        The coil and its air.
    flow : ndarray
        Refrigerant flow [kg/s].
    heat_capacity : ndarray
        Of the liquid [J/(kg K)].
    decay : ndarray
        ln of bubble over exit temperature, each above the entering air [-]; 0 where nothing is subcooled.
    growth : ndarray, optional
        `flow_growth` where it is known already [-].

    Returns
    -------
    ndarray
        Area over the open coil's [-], shape of the broadcast inputs.

    References
    ----------
    Derived here from the energy balance of the zone and `effectiveness` (Incropera, DeWitt, from memory).
    """
    conductance = zone_conductance(condenser, condenser.liquid_conductance, flow, air, growth)
    return np.asarray(flow * heat_capacity * decay / heat_uptake(air, conductance))


class RefrigerantSide(NamedTuple):
    """Refrigerant on its way through the coil; arrays of one shape.

    flow [kg/s]; pressure [Pa]; gas_temperature, dew_temperature, bubble_temperature [K]; gas_enthalpy,
    dew_enthalpy, bubble_enthalpy, exit_enthalpy [J/kg]; liquid_heat_capacity [J/(kg K)]; subcooling_decay: ln
    of bubble over exit temperature, each above the entering air [-], negative where the exit is not fully
    condensed.
    """

    flow: Array
    pressure: Array
    gas_temperature: Array
    dew_temperature: Array
    bubble_temperature: Array
    gas_enthalpy: Array
    dew_enthalpy: Array
    bubble_enthalpy: Array
    exit_enthalpy: Array
    liquid_heat_capacity: Array
    subcooling_decay: Array


def zone_areas(condenser: Condenser, air: AirStream, ref: RefrigerantSide) -> ZoneAreas:
    """Area that each zone needs for this flow between these states.

    A zone that is not there (gas already wet, liquid not subcooled, exit not fully condensed) needs none.

    Parameters
    ----------
    condenser : Condenser
        The coil.
    air : AirStream
        Entering air and what it can take up.
    ref : RefrigerantSide
        Flow and states of the refrigerant along the coil.

    Returns
    -------
    ZoneAreas
        Areas over the open coil's [-]; they add to one at the balance. Shapes broadcast.

    References
    ----------
    Derived here: first law for each zone, with the area of each from the functions above.
    """
    gas_heat = ref.flow * np.maximum(ref.gas_enthalpy - ref.dew_enthalpy, 0.0)
    gas = desuperheating_area(
        condenser,
        air,
        ref.flow,
        gas_heat,
        (np.maximum(ref.gas_temperature, ref.dew_temperature), ref.dew_temperature),
    )
    start = np.minimum(ref.gas_enthalpy, ref.dew_enthalpy)
    heat = ref.flow * (start - np.maximum(ref.exit_enthalpy, ref.bubble_enthalpy))
    conductance = condensing_conductance(condenser, air, ref.flow, ref.pressure)
    condensing = condensing_area(air, heat, conductance, (ref.dew_temperature, ref.bubble_temperature))
    decay = np.maximum(ref.subcooling_decay, 0.0)
    return ZoneAreas(
        gas, condensing, subcooling_area(condenser, air, ref.flow, ref.liquid_heat_capacity, decay)
    )
