"""A compressor with clearance volume, or by a maker's ten coefficients of the saturated temperatures.

References
----------
ANSI/AHRI Standard 540 (the polynomial; from memory). The sizes are invented.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from model.arrays import Array, Number
from model.components.compressor import map_value
from model.properties.refrigerant import Refrigerant

MAP_EVAPORATING, MAP_CONDENSING = (-30.0, 26.0), (15.0, 70.0)
"""What maps cover, dew points [degC]."""


@dataclass(frozen=True)
class Clearance:
    """Compressor with clearance volume; numbers may be arrays.

    Attributes
    ----------
    swept : float or array
        Volume a second [m3/s].
    clearance, expansion : float or array
        Clearance over swept volume, and power of the pressure ratio with which its gas expands [-].
    efficiency, best_ratio, curvature : float or array
        Best isentropic efficiency, where, and how it falls in the logarithm of the ratio [-].
    constant_power, shell : float or array
        [W], and loss a kelvin of discharge over outdoor temperature [W/K].
    flow_map, power_map : tuple of float, or None
        Ten coefficients in degC, which take the place of all but the last two.
    map_superheat : float or array
        Of the map [K].
    density_share : float or array
        Share of a change of suction density that the flow of the map follows [-].
    """

    swept: Number
    clearance: Number
    expansion: Number
    efficiency: Number
    best_ratio: Number
    curvature: Number
    constant_power: Number
    shell: Number
    flow_map: tuple[float, ...] | None = None
    power_map: tuple[float, ...] | None = None
    map_superheat: float = 10.0
    density_share: float = 0.85


def drawn_in(
    fluid: Refrigerant, part: Clearance, ports: tuple[Array, Array], density: Array, rise: Array
) -> tuple[Array, Array]:
    """Flow that the compressor draws in, and its power.

    Parameters
    ----------
    fluid : Refrigerant
        The refrigerant.
    part : Clearance
        The compressor.
    ports : (ndarray, ndarray)
        Pressures of suction and discharge [Pa].
    density : ndarray
        Of the gas at the suction port [kg/m3].
    rise : ndarray
        Isentropic rise of enthalpy [J/kg].

    Returns
    -------
    (ndarray, ndarray)
        [kg/s], [W], shapes broadcast.

    References
    ----------
    Clearance volume: any text on reciprocating compressors. Correction of a map's flow for density: Dabiri,
    Rice 1981. Both from memory; the efficiency's curve is invented.
    """
    suction, discharge = ports
    if part.flow_map is None or part.power_map is None:
        ratio = discharge / suction
        drawn = part.swept * (1.0 - part.clearance * (ratio**part.expansion - 1.0)) * density
        distance = np.log(np.maximum(ratio, 1.2) / part.best_ratio)
        efficiency = part.efficiency * np.exp(-part.curvature * distance**2)
        return np.asarray(drawn), np.asarray(drawn * rise / efficiency + part.constant_power)
    ends = fluid.dew_temperature(suction), fluid.dew_temperature(discharge)
    celsius = (
        np.clip(ends[0] - 273.15, *MAP_EVAPORATING),
        np.clip(ends[1] - 273.15, *MAP_CONDENSING),
    )
    rated = fluid.vapour(suction, np.full_like(suction, part.map_superheat))
    drawn = map_value(part.flow_map, *celsius) * (1.0 + part.density_share * (density / rated.density - 1.0))
    return np.maximum(drawn, 1e-4), np.maximum(map_value(part.power_map, *celsius), 10.0)
