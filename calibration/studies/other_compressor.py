"""A compressor of another form than the model's, for invented units: a machine with clearance volume.

Its flow falls with the gas that expands again out of the clearance volume; its isentropic efficiency is a
parabola in the logarithm of the pressure ratio. It reaches the model as a maker's machine does: by way of a
map of ten coefficients, fitted by least squares weighed towards where units run. Near the rating it pumps and
draws what the machine does in whose place it stands. All numbers are invented.

References
----------
ANSI/AHRI Standard 540 (the polynomial of ten coefficients).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from model.arrays import Array
from model.components.compressor import Compressor, CompressorMap
from model.components.unit import Unit
from model.properties.refrigerant import refrigerant

CLEARANCE = (0.01, 0.05)
"""Least and most clearance over swept volume [-]."""
CURVATURE = (0.1, 0.35)
"""Least and most curvature of the efficiency in the logarithm of the pressure ratio [-]."""
RATING_RATIO, SMALLEST_RATIO = 3.0, 1.2
"""Pressure ratio near the rating, and the least that the efficiency is taken at [-]."""
SMALLEST_RISE = 2e3
"""Least isentropic rise of enthalpy [J/kg]."""
GRID = 12
"""Temperatures of the map's grid each way [-]."""
MAP_SUPERHEAT = 10.0
"""Superheat of the map [K]."""
CENTRE = (8.0, 44.0)
"""Evaporating and condensing temperature at which the fit weighs most [degC]."""


@dataclass(frozen=True)
class MapRange:
    """What a map covers and how it is fitted.

    Attributes
    ----------
    evaporating, condensing : (float, float)
        Lowest and highest dew point [degC].
    widths : (float, float)
        Of the weight of the fit around `CENTRE`, each way [K].
    expansion : float
        Power of the pressure ratio with which the clearance volume's gas expands again [-].
    best_ratio : (float, float)
        Lowest and highest pressure ratio of the best efficiency [-].
    """

    evaporating: tuple[float, float]
    condensing: tuple[float, float]
    widths: tuple[float, float]
    expansion: float
    best_ratio: tuple[float, float]


def other_compressor(unit: Unit, draw: np.random.Generator, covers: MapRange) -> Compressor:
    """A machine with clearance volume, as a map, in the place of a unit's compressor.

    Parameters
    ----------
    unit : Unit
        One unit; its refrigerant and compressor are taken.
    draw : numpy.random.Generator
        Of clearance, best pressure ratio and curvature.
    covers : MapRange
        Range and weights of the map.

    Returns
    -------
    Compressor
        The old one with a rating map.
    """
    fluid, old = refrigerant(unit.refrigerant), unit.compressor
    evaporating, condensing = (
        grid.ravel()
        for grid in np.meshgrid(np.linspace(*covers.evaporating, GRID), np.linspace(*covers.condensing, GRID))
    )
    low, high = fluid.dew_pressure(evaporating + 273.15), fluid.dew_pressure(condensing + 273.15)
    gas = fluid.vapour(low, np.asarray(MAP_SUPERHEAT))
    clearance, best, curvature = (draw.uniform(*ends) for ends in (CLEARANCE, covers.best_ratio, CURVATURE))

    def filling(ratio: Array | float) -> Array:
        return np.asarray(1.0 - clearance * (ratio**covers.expansion - 1.0))

    same = (1.0 - 2.0 * np.asarray(old.leakage_slope)) / filling(RATING_RATIO)
    swept = np.asarray(old.displacement) * np.asarray(old.displacement_scale) * same
    flow = swept * filling(high / low) * gas.density
    rise = np.maximum(fluid.isentropic_enthalpy(high, gas.entropy) - gas.enthalpy, SMALLEST_RISE)
    distance = np.log(np.maximum(high / low, SMALLEST_RATIO) / best)
    efficiency = np.asarray(old.efficiency) * np.exp(-curvature * distance**2)
    power = flow * rise / efficiency + np.asarray(old.constant_power)
    fitted = _fit(evaporating, condensing, covers.widths)
    ends = ((low + 273.15, high + 273.15) for low, high in (covers.evaporating, covers.condensing))
    rating = CompressorMap(fitted(flow), fitted(power), MAP_SUPERHEAT, *ends)
    return replace(old, rating_map=rating, displacement_scale=1.0)


def _fit(s: Array, d: Array, widths: tuple[float, float]) -> Callable[[Array], tuple[float, ...]]:
    """Least squares of the ten coefficients over a grid of dew points [degC]."""
    terms = np.stack([np.ones_like(s), s, d, s * s, s * d, d * d, s**3, d * s * s, s * d * d, d**3], axis=1)
    weight = np.exp(-(((s - CENTRE[0]) / widths[0]) ** 2) - ((d - CENTRE[1]) / widths[1]) ** 2)

    def fitted(values: Array) -> tuple[float, ...]:
        return tuple(map(float, np.linalg.lstsq(terms * weight[:, None], values * weight, rcond=None)[0]))

    return fitted
