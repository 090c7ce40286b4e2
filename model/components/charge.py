"""Refrigerant mass in each part of the circuit: what makes subcooling, low charge and overcharge come out.

Each zone of a coil holds volume in proportion to its area. Two-phase zones hold a mixture by Zivi's void
fraction, averaged over a quality that changes linearly along the zone; single-phase zones their own density.
Liquid line and condenser hold most of the charge, the suction side little. Oil and what is dissolved in it
are part of the fitted total.

References
----------
Zivi, Estimation of steady-state steam void-fraction by means of the principle of minimum entropy production,
Journal of Heat Transfer 86, 1964 (slip = density ratio to the power 1/3; from memory). Hughmark, Holdup in
gas-liquid flow, Chemical Engineering Progress 58, 1962 (holdup depends on mass flux; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, Number

LARGEST_SLIP = 0.98
"""Largest inverse slip between vapour and liquid [-]: at the critical point the mean's formula would be 0 /
0."""
SMALLEST_STEP = 1e-6
"""Smallest difference of two qualities that the mean is taken over [-]."""

ACCUMULATOR_WETNESS = 0.05
"""Share of the flow that arrives as liquid at which an accumulator is filled to 63 % [-]: its bleed hole
carries so much back (common practice, no source)."""

HOLDUP_EXPONENT = 0.4
"""Power with which the slip between vapour and liquid grows as the flow falls [-]: the trend of Hughmark's
holdup, whose parameter goes with the mass flux to the power 0.3 to 0.4; Zivi has no such dependence."""


@dataclass(frozen=True)
class Circuit:
    """Lines and charge of one unit; numbers may be arrays, one a unit.

    Attributes
    ----------
    charge : float or array
        Refrigerant mass of the correctly charged unit [kg].
    liquid_line_volume, suction_volume : float or array
        Volume of the liquid line, and of suction line with compressor shell [m3].
    liquid_line_drop : float or array
        Coefficient k of the drop from condenser exit to expansion device, k m^2 / liquid density [1/m4].
    suction_drop : float or array
        Coefficient k of the drop from evaporator exit to suction port, k density V^2 with the volume flow V
        [1/m4].
    suction_line_ntu : float or array
        Number of transfer units of the suction line against outdoor air [-].
    accumulator_volume : float or array
        Liquid that a suction accumulator can hold [m3]; 0 without one.
    """

    charge: Number
    liquid_line_volume: Number
    suction_volume: Number
    liquid_line_drop: Number
    suction_drop: Number
    suction_line_ntu: Number
    accumulator_volume: Number = 0.0


def void_fraction(quality: Array, density_ratio: Array) -> Array:
    """Share of the volume that is vapour at one quality.

    Parameters
    ----------
    quality : ndarray
        Share of the flow that is vapour [-], in [0, 1].
    density_ratio : ndarray
        Vapour over liquid density [-].

    Returns
    -------
    ndarray
        Void fraction [-], in [0, 1], shape of the broadcast inputs.

    References
    ----------
    Zivi 1964, J. Heat Transfer 86, 247-252 (form from memory).
    """
    return np.asarray(quality / (quality + np.cbrt(density_ratio) ** 2 * (1.0 - quality)))


def mean_void_fraction(
    inlet_quality: Array, outlet_quality: Array, density_ratio: Array, flow_ratio: ArrayLike = 1.0
) -> Array:
    """Mean share of the volume that is vapour along a zone whose quality changes evenly.

    Parameters
    ----------
    inlet_quality, outlet_quality : ndarray
        Qualities at the ends [-]; held in [0, 1], equal ones give the local void fraction.
    density_ratio : ndarray
        Vapour over liquid density [-].
    flow_ratio : array_like
        Flow over rated [-]: less flow drags less liquid along, so more of it stays.

    Returns
    -------
    ndarray
        Mean void fraction [-], shape of the broadcast inputs.

    References
    ----------
    Zivi 1964, J. Heat Transfer 86, 247-252 (form from memory), integrated over quality.
    """
    # Zivi: void = x / (x + c (1 - x)) with c = (vapour density / liquid density)^(2/3); its integral is
    # elementary.
    slip = np.exp(2.0 / 3.0 * np.log(density_ratio) - HOLDUP_EXPONENT * np.log(flow_ratio))
    slip = np.minimum(slip, LARGEST_SLIP)
    low = np.minimum(np.maximum(np.minimum(inlet_quality, outlet_quality), 0.0), 1.0 - SMALLEST_STEP)
    high = np.maximum(np.minimum(np.maximum(inlet_quality, outlet_quality), 1.0), low + SMALLEST_STEP)
    steep = 1.0 - slip
    log_term = np.log((slip + steep * high) / (slip + steep * low)) / (high - low)
    return np.asarray((1.0 - slip * log_term / steep) / steep)


def two_phase_density(
    inlet_quality: Array,
    outlet_quality: Array,
    liquid_density: Array,
    vapour_density: Array,
    flow_ratio: ArrayLike = 1.0,
) -> Array:
    """Mean density of a two-phase zone.

    Parameters
    ----------
    inlet_quality, outlet_quality : ndarray
        Qualities at the ends [-].
    liquid_density, vapour_density : ndarray
        Of the saturated phases [kg/m3].
    flow_ratio : array_like
        Flow over rated [-].

    Returns
    -------
    ndarray
        Density [kg/m3], shape of the broadcast inputs.

    References
    ----------
    Definition: volume average of the two phases by their void fraction.
    """
    void = mean_void_fraction(inlet_quality, outlet_quality, vapour_density / liquid_density, flow_ratio)
    return np.asarray(liquid_density + void * (vapour_density - liquid_density))


def accumulator_filling(quality: Array) -> Array:
    """Share of a suction accumulator that is full of liquid, by what arrives.

    Liquid leaves through the bleed hole in the pick-up tube, the more the higher it stands: in a steady state
    as much as arrives. Dry gas empties it.

    Parameters
    ----------
    quality : ndarray
        Of what arrives [-], 1 and more where dry.

    Returns
    -------
    ndarray
        Share [-], in [0, 1), shape of `quality`.

    References
    ----------
    Form derived here from the vessel's mass balance; its size is that of `ACCUMULATOR_WETNESS`.
    """
    return np.asarray(-np.expm1(-np.maximum(1.0 - np.asarray(quality), 0.0) / ACCUMULATOR_WETNESS))
