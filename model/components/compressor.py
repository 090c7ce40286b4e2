"""Positive-displacement compressor: flow, power and discharge state from suction state and pressures.

Three physical statements carry the model:

* the volume drawn in falls with the pressure ratio (leakage and re-expansion);
* a machine with a built-in volume ratio compresses to its own internal pressure, and pays for the difference
  to the discharge pressure at constant volume, so its efficiency peaks where the two agree. A reciprocating
  machine has valves and no built-in ratio; a generic peak stands for its valve losses;
* part of the power is constant (friction, oil pump), and a roughly constant heat leaves through the shell.

Or, where the maker's ten-coefficient map is given, flow and power come from it (AHRI 540), corrected for
suction density.

References
----------
Winandy, Saavedra, Lebrun, Experimental analysis and simplified modelling of a hermetic scroll refrigeration
compressor, Applied Thermal Engineering 22, 2002 (built-in ratio with under- and over-compression; form from
memory). AHRI 540, Performance rating of positive displacement refrigerant compressors (polynomial form; from
memory). Dabiri and Rice, ASHRAE Transactions 87(2), 1981 (suction density correction of the map; from
memory).
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
    """

    flow_coefficients: tuple[float, ...]
    power_coefficients: tuple[float, ...]
    superheat: float

    def __post_init__(self) -> None:
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
        Fall of the drawn-in volume with each unit of pressure ratio, as a fraction [-].
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
    filling = 1.0 - np.asarray(compressor.leakage_slope) * (pressure_ratio - 1.0)
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


def mapped_flow_and_power(
    compressor: Compressor, suction: Suction, discharge_dew: Array, rated_density: Array
) -> tuple[Array, Array]:
    """Flow and power of the maker's map at this suction state.

    Parameters
    ----------
    compressor : Compressor
        With a `rating_map`.
    suction : Suction
        State at the suction port.
    discharge_dew : ndarray
        Saturated discharge temperature [K].
    rated_density : ndarray
        Suction density at the map's superheat and this pressure [kg/m3].

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
    AHRI 540 (polynomial); Dabiri and Rice, ASHRAE Transactions 87(2), 1981 (density correction); both from
    memory.
    """
    rating = compressor.rating_map
    if rating is None:
        raise ValueError("rating_map must be given to use the maker's map, got None")
    s, d = suction.dew_temperature - 273.15, discharge_dew - 273.15
    flow = map_value(rating.flow_coefficients, s, d)
    density_ratio = suction.density / rated_density
    flow = flow * (1.0 + MAP_FLOW_SHARE * (density_ratio - 1.0)) * compressor.displacement_scale
    power = map_value(rating.power_coefficients, s, d) * np.asarray(compressor.power_scale)
    return np.asarray(flow), np.asarray(power)


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
