"""Where the solver starts: the unit's design point moved to the weather, the airflows and the charge.

The shifts are quadratic in what matters most. Their coefficients were fitted to solved points over the whole
envelope and over all known refrigerants (`calibration.studies.first_guess` does it again); they only save
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
COEFFICIENTS = {
    "TXV": np.array(
        [
            [
                0.005,
                6.342,
                1.201,
                5.645,
                0.249,
                3.065,
                -7.918,
                -0.920,
                -0.247,
                -1.109,
                0.213,
                6.768,
                0.005,
                -0.105,
                -0.585,
                0.782,
                1.051,
                -0.006,
                -1.151,
                0.234,
                6.490,
                1.439,
                1.031,
                -1.113,
                -1.162,
                -22.051,
                5.667,
                -0.904,
            ],
            [
                0.053,
                0.174,
                -0.086,
                0.159,
                -0.886,
                0.874,
                0.649,
                -0.032,
                -0.007,
                -0.047,
                0.037,
                0.162,
                -0.005,
                -0.015,
                -0.014,
                0.039,
                0.130,
                -0.000,
                -0.045,
                0.052,
                0.148,
                0.035,
                -0.080,
                0.054,
                0.065,
                -0.063,
                0.184,
                -0.083,
            ],
            [
                0.181,
                0.135,
                0.012,
                0.148,
                0.032,
                -0.431,
                0.133,
                0.020,
                0.003,
                0.054,
                -0.007,
                -0.339,
                0.079,
                0.012,
                0.001,
                -0.039,
                -0.118,
                0.026,
                0.048,
                -0.011,
                -0.350,
                0.078,
                0.070,
                0.116,
                -0.061,
                1.516,
                -0.400,
                0.047,
            ],
        ]
    ),
    "fixed orifice": np.array(
        [
            [
                -0.901,
                5.000,
                1.280,
                4.268,
                -0.829,
                20.534,
                -9.197,
                -0.577,
                -0.388,
                -0.858,
                0.193,
                10.580,
                0.105,
                -0.167,
                -0.593,
                0.726,
                2.653,
                -0.196,
                -0.780,
                0.195,
                9.545,
                0.817,
                0.857,
                -1.831,
                -1.281,
                -53.223,
                12.703,
                -0.359,
            ],
            [
                0.038,
                0.167,
                -0.099,
                0.142,
                -0.869,
                1.173,
                0.654,
                -0.026,
                -0.007,
                -0.051,
                0.023,
                0.412,
                -0.018,
                -0.017,
                -0.012,
                0.032,
                0.144,
                0.012,
                -0.048,
                0.040,
                0.367,
                -0.010,
                -0.067,
                0.291,
                0.050,
                -2.185,
                0.733,
                -0.079,
            ],
            [
                0.138,
                0.363,
                -0.083,
                0.290,
                0.374,
                -2.909,
                0.486,
                -0.012,
                0.004,
                0.025,
                0.036,
                0.273,
                0.090,
                0.020,
                -0.035,
                -0.063,
                -0.325,
                0.037,
                -0.062,
                0.024,
                0.427,
                0.122,
                0.151,
                0.581,
                0.034,
                -2.215,
                -0.055,
                0.084,
            ],
        ]
    ),
}
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
    coil, air, fan = unit.condenser, given.outdoor_air, unit.outdoor_fan
    clean = RATING_AIR_HEAT_CAPACITY * np.asarray(fan.airflow)
    inside = np.asarray(coil.condensing_conductance)
    healthy = clean * effectiveness(np.asarray(coil.air_conductance), inside, clean)
    transfer = heat_uptake(air, inside * air.open_face)
    rows = (
        (given.indoor_air.enthalpy - RATING_ENTHALPY) / 27e3,
        (air.temperature - RATING_OUTDOOR) / 10.0,
        np.log(given.indoor_air.flow / np.asarray(unit.evaporator.rated_airflow)),
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
