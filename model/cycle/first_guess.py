"""Where the solver starts: the unit's design point moved to the weather, the airflows and the charge.

The shifts are quadratic in what matters most. Their coefficients were fitted to solved points over the whole
envelope and over all known refrigerants (`python -m tests.first_guess` does it again); they only save
iterations, by half, and no result depends on them.
"""

from __future__ import annotations

import numpy as np

from model.arrays import Array
from model.components.condenser import effectiveness, heat_uptake
from model.components.unit import Unit
from model.cycle.boundary import Surroundings
from model.properties.refrigerant import Refrigerant

RATING_ENTHALPY = 55.3e3
"""Enthalpy of the return air at the rating (26.7 degC, wet bulb 19.4 degC) [J/kg]."""
RATING_OUTDOOR = 308.15
"""Outdoor temperature of the rating [K]."""
RATING_AIR_HEAT_CAPACITY = 1180.0
"""Heat capacity of outdoor air at the rating over its volume [J/(m3 K)]."""
LOWEST = np.array([-1.4, -2.5, -1.6, -1.6, -0.6, -1.3])
HIGHEST = np.array([1.4, 2.0, 0.7, 0.6, 0.4, 0.4])
"""Range of each influence that the coefficients were fitted over; beyond, the nearest value counts."""
FIRST, SECOND = np.triu_indices(6)
"""The two influences of each product."""
# fmt: off
COEFFICIENTS = {
    "TXV": np.array([
        [-0.409,
         6.167, 1.122, 5.747, -0.146, 2.752, -9.209,
         -0.760, -0.163, -1.248, 0.134, 5.092, 0.183,
         -0.127, -0.458, 0.540, -0.066, -0.097,
         -0.911, 0.020, 3.766, 2.122,
         0.859, 0.559, -1.200,
         -13.458, 5.026,
         -1.758],
        [0.032,
         0.179, -0.088, 0.165, -0.933, 0.902, 0.743,
         -0.029, -0.000, -0.050, 0.031, 0.120, -0.031,
         -0.015, -0.007, 0.021, 0.098, 0.036,
         -0.034, 0.024, 0.081, 0.024,
         -0.076, 0.074, 0.038,
         0.155, 0.217,
         -0.113],
        [0.174,
         0.140, 0.003, 0.146, 0.026, -0.407, 0.121,
         0.032, -0.004, 0.046, 0.011, -0.277, 0.075,
         0.013, -0.006, -0.041, -0.063, 0.017,
         0.032, 0.015, -0.265, 0.078,
         0.055, 0.075, -0.060,
         1.090, -0.319,
         0.052],
    ]),
    "fixed orifice": np.array([
        [-1.086,
         5.060, 1.913, 4.833, -1.022, 8.205, -12.671,
         -0.573, -0.175, -1.064, -0.115, 5.373, -0.179,
         0.074, -0.452, -0.060, -2.528, 0.237,
         -0.527, 0.115, 3.596, 1.322,
         1.955, 3.894, -3.311,
         -15.406, 7.834,
         -2.254],
        [0.026,
         0.186, -0.069, 0.172, -0.935, 0.826, 0.821,
         -0.035, 0.008, -0.064, 0.021, 0.252, -0.080,
         -0.017, -0.000, 0.031, -0.061, 0.113,
         -0.038, 0.027, 0.180, -0.017,
         -0.083, 0.283, -0.006,
         -0.399, 0.593,
         -0.166],
        [0.152,
         0.442, -0.144, 0.239, 0.397, -1.841, 0.964,
         -0.038, 0.071, -0.027, 0.006, 0.218, -0.089,
         -0.080, 0.064, 0.185, -0.460, 0.385,
         -0.193, -0.110, 0.229, 0.067,
         -0.132, 0.802, -0.055,
         -0.589, 1.100,
         -0.158],
    ]),
}
# fmt: on
"""Shift of the evaporating temperature [K], of the logarithm of the condensing approach, and the share of the
evaporator that superheats: a constant, the influences, and their products in pairs."""


def influences(unit: Unit, given: Surroundings) -> Array:
    """What moves a unit from its design point.

    Return air's enthalpy over the rating's in 27 kJ/kg, outdoor temperature over the rating's in 10 K, and
    the logarithms of indoor airflow, condenser's heat transfer, charge and compressor's flow over the
    healthy unit's.

    Parameters
    ----------
    unit : Unit
        What the unit is.
    given : Surroundings
        Air streams, charge and faults.

    Returns
    -------
    ndarray, shape (6, ...)
        Each held between the ends for which the guess was fitted [-].
    """
    coil, air, fan = unit.condenser, given.condenser_air, unit.outdoor_fan
    clean = RATING_AIR_HEAT_CAPACITY * np.asarray(fan.airflow)
    inside = np.asarray(coil.condensing_conductance)
    healthy = clean * effectiveness(np.asarray(coil.air_conductance), inside, clean)
    transfer = heat_uptake(air, inside * air.open_face)
    rows = (
        (given.evaporator_air.enthalpy - RATING_ENTHALPY) / 27e3,
        (air.temperature - RATING_OUTDOOR) / 10.0,
        np.log(given.evaporator_air.flow / np.asarray(unit.evaporator.rated_airflow)),
        np.log(transfer / healthy),
        np.log(given.charge / np.asarray(unit.circuit.charge)),
        np.log(given.compressor_speed * (1.0 - given.leakage)),
    )
    influence = np.empty((6, *np.broadcast_shapes(*(np.shape(row) for row in rows))))
    for number, row in enumerate(rows):
        influence[number] = row
    edge = (6,) + (1,) * (influence.ndim - 1)
    held = np.minimum(np.maximum(influence, LOWEST.reshape(edge)), HIGHEST.reshape(edge))
    return np.asarray(held)


def terms(influence: Array) -> Array:
    """Terms of a quadratic form of the influences.

    Parameters
    ----------
    influence : ndarray, shape (6, ...)
        From `influences` [-].

    Returns
    -------
    ndarray, shape (28, ...)
        A constant, the influences, and their products in pairs [-].
    """
    ones = np.ones((1, *influence.shape[1:]))
    return np.concatenate([ones, influence, influence[FIRST] * influence[SECOND]])


def first_guess(unit: Unit, fluid: Refrigerant, given: Surroundings, count: int) -> Array:
    """Unknowns of `model.cycle.balances` to start from.

    Parameters
    ----------
    unit : Unit
        What the unit is, with its design point.
    fluid : Refrigerant
        Its refrigerant.
    given : Surroundings
        Air streams, charge and faults.
    count : int
        Number of points.

    Returns
    -------
    ndarray, shape (3, count)
        Unknowns.
    """
    design = unit.start
    shift = COEFFICIENTS[unit.expansion.kind] @ terms(influences(unit, given))
    evaporating = np.minimum(np.maximum(design.evaporating + shift[0], 250.0), 300.0)
    start = np.empty((3, count))
    start[0] = np.log(fluid.dew_pressure(evaporating))
    # Beyond the limit the coil lacks about as much area as the approach exceeds it.
    start[1] = np.log(np.asarray(design.condensing_approach) / given.limit_approach) + shift[1]
    start[2] = np.maximum(shift[2], -1.0)
    return start
