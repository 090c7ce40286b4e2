"""Positive-displacement compressor: flow, power and discharge state from suction state and pressures.

Three physical statements carry the model:

* the volume drawn in falls with the pressure ratio: gas that expands again does so in every turn, gas that
  leaks does so all the time, so that a slow machine loses more of its volume to it;
* a machine with a built-in volume ratio compresses to its own internal pressure, and pays for the difference
  to the discharge pressure at constant volume, so its efficiency peaks where the two agree. A reciprocating
  machine has valves and no built-in ratio; a generic peak stands for its valve losses;
* part of the power is constant (friction, oil pump), and a roughly constant heat leaves through the shell.
  Heat in proportion to the discharge gas over the outdoor air was tried: on the unit of NISTIR 7350 it
  misses the discharge temperature by 0.93 K (root mean square, `coiltoll study laboratory`), a constant heat
  by 0.57 K.

Or, where the maker's ten-coefficient map is given, flow and power come from it (AHRI 540), corrected for the
suction gas: flow for its density, power for flow and isentropic work. Beyond the map's envelope a cubic means
nothing; there the volumetric and isentropic efficiencies of the envelope's edge hold on.

References
----------
Winandy, Saavedra, Lebrun, Experimental analysis and simplified modelling of a hermetic scroll refrigeration
compressor, Applied Thermal Engineering 22, 2002 (built-in ratio with under- and over-compression; form from
memory). AHRI 540, Performance rating of positive displacement refrigerant compressors (polynomial form; from
memory). Dabiri and Rice, A compressor simulation model with corrections for the level of suction gas
superheat, ASHRAE Transactions 87(2), 1981 (correction of the map's flow and power; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, Number

LOWEST_FILLING = 0.2
"""Share of the swept volume below which less and less is drawn in without ever being none [-]."""
LOWEST_RATIO = 1.15
"""Pressure ratio down to which the penalty for missing the built-in ratio is worked out [-]."""
GAS_EXPONENT = 1.12
"""Isentropic exponent of refrigerant vapour in the built-in ratio's share of the work [-]: 1.05 to 1.25 for
the known refrigerants; it only shapes the relative penalty of over- and under-compression."""

USUAL_SUCTION_RANGE, USUAL_DISCHARGE_RANGE = (249.8, 288.8), (299.8, 338.8)
"""Envelope of an air-conditioning compressor's map where none is printed [K]: saturated suction -10 to 60
degF, saturated discharge 80 to 150 degF (common practice, no source)."""
MAP_FLOW_SHARE = 0.75
"""Share of a suction density change that reaches the map's mass flow [-] (Dabiri and Rice 1981, from
memory)."""


@dataclass(frozen=True)
class CompressorMap:
    """A maker's ten-coefficient map, already in SI: temperatures in K.

    Attributes
    ----------
    flow_coefficients, power_coefficients : array of 10
        Polynomial in saturated suction S and discharge D temperature [degC]: 1, S, D, S2, SD, D2, S3, DS2,
        SD2, D3; mass flow in [kg/s], power in [W].
    superheat : float
        Suction superheat at which the map was rated [K].
    suction_range, discharge_range : (float, float)
        Lowest and highest saturated temperature that the map is good for [K].
    """

    flow_coefficients: tuple[float, ...]
    power_coefficients: tuple[float, ...]
    superheat: float
    suction_range: tuple[float, float] = USUAL_SUCTION_RANGE
    discharge_range: tuple[float, float] = USUAL_DISCHARGE_RANGE

    def __post_init__(self) -> None:
        for name in ("suction_range", "discharge_range"):
            low, high = getattr(self, name)
            if not low < high:
                raise ValueError(f"{name} must rise, got {low:g} to {high:g}")
        for name in ("flow_coefficients", "power_coefficients"):
            count = len(getattr(self, name))
            if count != 10:
                raise ValueError(f"{name} must hold 10 numbers (AHRI 540), got {count}")


@dataclass(frozen=True)
class Compressor:
    """What one compressor is; every number may be an array, one a unit.

    Attributes
    ----------
    displacement : float or array
        Swept volume a second at full speed, leakage at pressure ratio 1 included [m3/s].
    leakage_slope : float or array
        Fall of the drawn-in volume with each unit of pressure ratio at full speed, as a fraction [-].
    leaking : float or array
        Share of it that leaks; the rest expands again in every turn [-].
    efficiency : float or array
        Isentropic efficiency at the built-in pressure ratio, constant loss left out [-].
    built_in_ratio : float or array
        Pressure ratio at which the machine neither over- nor under-compresses [-].
    constant_power : float or array
        Power that does not depend on the load, at full speed [W].
    shell_loss : float or array
        Heat leaving through the shell, at full speed [W].
    rating_map : CompressorMap or None
        The maker's map; `displacement_scale` and `power_scale` then fit it to the unit.
    displacement_scale, power_scale : float or array
        Factors on flow and on power [-].
    """

    displacement: Number
    leakage_slope: Number
    efficiency: Number
    built_in_ratio: Number
    constant_power: Number
    shell_loss: Number
    rating_map: CompressorMap | None = None
    displacement_scale: Number = field(default=1.0)
    power_scale: Number = field(default=1.0)
    leaking: Number = 0.0


class Suction(NamedTuple):
    """State at the compressor's suction port, in SI, temperatures in K; arrays of one shape."""

    pressure: Array
    density: Array
    enthalpy: Array
    dew_temperature: Array
    superheat: Array


def volumetric_flow(compressor: Compressor, pressure_ratio: Array, speed: ArrayLike = 1.0) -> Array:
    """Volume of suction gas drawn in.

    Below `LOWEST_FILLING` the linear fall fades out exponentially, so that a far-off trial point stays
    meaningful.

    Parameters
    ----------
    compressor : Compressor
        The machine.
    pressure_ratio : ndarray
        Discharge over suction pressure [-], above 1.
    speed : array_like
        Over full speed [-], above 0.

    Returns
    -------
    ndarray
        Volume flow [m3/s], shape of the broadcast inputs.

    References
    ----------
    Clearance volume and leakage, linear in the pressure ratio: common practice, no source. The fade is
    derived here.
    """
    slower = 1.0 + np.asarray(compressor.leaking) * (1.0 / np.asarray(speed) - 1.0)
    filling = 1.0 - np.asarray(compressor.leakage_slope) * slower * (pressure_ratio - 1.0)
    fading = LOWEST_FILLING * np.exp(np.minimum(filling / LOWEST_FILLING - 1.0, 0.0))
    filling = np.maximum(filling, fading)
    swept = np.asarray(
        compressor.displacement_scale * np.asarray(compressor.displacement) * np.asarray(speed)
    )
    return np.asarray(swept * filling)


def compression_penalty(pressure_ratio: Array, built_in_ratio: ArrayLike) -> Array:
    """Work of a machine with a built-in pressure ratio over isentropic work, 1 at the built-in ratio.

    Ideal gas: compression to the built-in ratio, then constant-volume filling against the line pressure.
    Close to pressure ratio 1 the isentropic work vanishes; the ratio is held above `LOWEST_RATIO` there.

    Parameters
    ----------
    pressure_ratio : ndarray
        Discharge over suction pressure [-].
    built_in_ratio : array_like
        Pressure ratio at which the machine neither over- nor under-compresses [-], above 1.

    Returns
    -------
    ndarray
        Ratio of works [-], 1 or more, shape of the broadcast inputs.

    References
    ----------
    Textbook thermodynamics of machines with built-in volume ratio (from memory).
    """
    ratio = np.maximum(pressure_ratio, LOWEST_RATIO)
    built_in = np.asarray(built_in_ratio)
    power = (GAS_EXPONENT - 1.0) / GAS_EXPONENT
    isentropic = (ratio**power - 1.0) / power
    internal = (built_in**power - 1.0) / power + (ratio - built_in) * built_in ** (-1.0 / GAS_EXPONENT)
    return np.asarray(internal / isentropic)


def map_value(coefficients: tuple[float, ...], suction_dew: Array, discharge_dew: Array) -> Array:
    """Ten-coefficient polynomial of a compressor map.

    Parameters
    ----------
    coefficients : tuple of 10 floats
        In the standard's order: 1, S, D, S2, SD, D2, S3, D S2, S D2, D3.
    suction_dew, discharge_dew : ndarray
        Saturated suction and discharge temperature [degC].

    Returns
    -------
    ndarray
        Flow or power in the unit of the coefficients, shape of the broadcast inputs.

    References
    ----------
    AHRI 540, Performance rating of positive displacement refrigerant compressors (order from memory).
    """
    c, s, d = coefficients, suction_dew, discharge_dew
    return np.asarray(
        c[0] + c[1] * s + c[2] * d + c[3] * s * s + c[4] * s * d + c[5] * d * d
        + c[6] * s**3 + c[7] * d * s * s + c[8] * s * d * d + c[9] * d**3
    )  # fmt: skip


def within_envelope(rating: CompressorMap, suction_dew: Array, discharge_dew: Array) -> tuple[Array, Array]:
    """Saturated temperatures, those beyond a map's envelope moved to its edge.

    Parameters
    ----------
    rating : CompressorMap
        The map.
    suction_dew, discharge_dew : ndarray
        Saturated suction and discharge temperature [K].

    Returns
    -------
    (ndarray, ndarray)
        Likewise [K], shapes as given.

    References
    ----------
    AHRI 540: a map's polynomial holds within its envelope alone (from memory).
    """
    return np.clip(suction_dew, *rating.suction_range), np.clip(discharge_dew, *rating.discharge_range)


class RatedSuction(NamedTuple):
    """What a map was made with, at the envelope's nearest point; arrays of one shape.

    density of the gas sucked in [kg/m3]; isentropic_rise of enthalpy from there [J/kg]; suction_dew and
    discharge_dew, saturated temperatures [K].
    """

    density: Array
    isentropic_rise: Array
    suction_dew: Array
    discharge_dew: Array


def mapped_flow_and_power(
    compressor: Compressor, density: Array, isentropic_rise: Array, rated: RatedSuction
) -> tuple[Array, Array]:
    """Flow and power of the maker's map, corrected for the gas that is really sucked in.

    Parameters
    ----------
    compressor : Compressor
        With a `rating_map`.
    density : ndarray
        Of the gas at the suction port [kg/m3].
    isentropic_rise : ndarray
        Enthalpy rise of an isentropic compression between the ports [J/kg].
    rated : RatedSuction
        The same as the map was made with.

    Returns
    -------
    (ndarray, ndarray)
        Mass flow [kg/s] and power [W], shape of the broadcast inputs.

    Raises
    ------
    ValueError
        Where the compressor has no map.

    References
    ----------
    AHRI 540 (polynomial); Dabiri and Rice 1981: flow over the map's is 1 + 0.75 (density over the map's - 1),
    power goes with flow and isentropic work; both from memory.
    """
    rating = compressor.rating_map
    if rating is None:
        raise ValueError("rating_map must be given to use the maker's map, got None")
    s, d = rated.suction_dew - 273.15, rated.discharge_dew - 273.15
    growth = 1.0 + MAP_FLOW_SHARE * (density / rated.density - 1.0)
    flow = map_value(rating.flow_coefficients, s, d) * growth * compressor.displacement_scale
    power = map_value(rating.power_coefficients, s, d) * growth * (isentropic_rise / rated.isentropic_rise)
    return np.asarray(flow), np.asarray(power * np.asarray(compressor.power_scale))


def compression_power(
    compressor: Compressor, flow: Array, isentropic_rise: Array, pressure_ratio: Array, speed: ArrayLike = 1.0
) -> Array:
    """Electrical power of the compressor.

    Parameters
    ----------
    compressor : Compressor
        The machine.
    flow : ndarray
        Refrigerant flow [kg/s].
    isentropic_rise : ndarray
        Enthalpy rise of an isentropic compression [J/kg].
    pressure_ratio : ndarray
        Discharge over suction pressure [-].
    speed : array_like
        Over full speed [-].

    Returns
    -------
    ndarray
        Power [W], shape of the broadcast inputs.

    References
    ----------
    Winandy, Saavedra, Lebrun, Applied Thermal Engineering 22, 2002 (loss proportional to the work plus a
    constant; form from memory).
    """
    work = flow * isentropic_rise * compression_penalty(pressure_ratio, compressor.built_in_ratio)
    constant = np.asarray(compressor.constant_power) * np.asarray(speed)
    return np.asarray((work / compressor.efficiency + constant) * compressor.power_scale)


def shell_heat(compressor: Compressor, power: Array, speed: ArrayLike = 1.0) -> Array:
    """Heat that leaves through the compressor's shell.

    Never more than half of the power, so that a nearly unloaded machine stays meaningful.

    Parameters
    ----------
    compressor : Compressor
        The machine.
    power : ndarray
        Its electrical power [W].
    speed : array_like
        Over full speed [-].

    Returns
    -------
    ndarray
        Heat [W], shape of the broadcast inputs.

    References
    ----------
    Constant heat through the shell: common practice, no source. The bound of half the power is set here.
    """
    return np.asarray(np.minimum(np.asarray(compressor.shell_loss) * np.asarray(speed), 0.5 * power))
