"""Where the solver starts: the unit's design point moved to the weather, the airflows and the charge.

The shifts are quadratic in what matters most. Their coefficients were fitted to solved points over the whole
envelope and over all known refrigerants (`calibration.studies.first_guess` does it again); they only save
iterations, by half, and no result depends on them.
"""

from __future__ import annotations

from itertools import combinations_with_replacement

import numpy as np
from numpy.typing import NDArray

from model.condenser import effectiveness
from model.refrigerant import Refrigerant
from model.surroundings import Surroundings
from model.unit import Unit

Array = NDArray[np.float64]

RATING_ENTHALPY = 55.3e3
"""Enthalpy of the return air at the rating (26.7 degC, wet bulb 19.4 degC) [J/kg]."""
RATING_OUTDOOR = 308.15
"""Outdoor temperature of the rating [K]."""
RATING_AIR_HEAT_CAPACITY = 1180.0
"""Heat capacity of outdoor air at the rating over its volume [J/(m3 K)]."""
RANGES = ((-1.4, 1.4), (-2.5, 2.0), (-1.6, 0.7), (-1.6, 0.6), (-0.6, 0.4), (-1.3, 0.4))
"""Range of each influence that the coefficients were fitted over; beyond, the nearest value counts."""
COEFFICIENTS = {
    "TXV": np.array(
        [
            [
                -0.007,
                6.283,
                1.185,
                5.565,
                0.253,
                3.474,
                -8.006,
                -0.920,
                -0.255,
                -1.134,
                0.227,
                7.098,
                -0.032,
                -0.112,
                -0.592,
                0.785,
                1.125,
                -0.023,
                -1.179,
                0.264,
                6.822,
                1.390,
                1.027,
                -1.139,
                -1.156,
                -23.512,
                6.080,
                -0.935,
            ],
            [
                -0.008,
                0.180,
                -0.060,
                0.160,
                -0.922,
                0.897,
                0.668,
                -0.032,
                -0.008,
                -0.048,
                0.033,
                0.185,
                -0.001,
                -0.017,
                -0.017,
                0.046,
                0.132,
                -0.005,
                -0.048,
                0.046,
                0.168,
                0.037,
                -0.067,
                0.030,
                0.043,
                -0.142,
                0.217,
                -0.081,
            ],
            [
                0.187,
                0.138,
                0.014,
                0.152,
                0.031,
                -0.463,
                0.139,
                0.019,
                0.003,
                0.053,
                -0.007,
                -0.341,
                0.079,
                0.012,
                0.001,
                -0.038,
                -0.122,
                0.027,
                0.048,
                -0.011,
                -0.355,
                0.081,
                0.070,
                0.112,
                -0.061,
                1.546,
                -0.420,
                0.050,
            ],
        ]
    ),
    "fixed orifice": np.array(
        [
            [
                -1.341,
                4.830,
                1.238,
                4.124,
                -0.905,
                22.522,
                -9.402,
                -0.587,
                -0.381,
                -0.893,
                0.162,
                10.760,
                0.056,
                -0.179,
                -0.579,
                0.710,
                2.752,
                -0.201,
                -0.779,
                0.138,
                9.822,
                0.732,
                0.824,
                -1.819,
                -1.282,
                -52.190,
                13.182,
                -0.383,
            ],
            [
                -0.037,
                0.166,
                -0.073,
                0.140,
                -0.911,
                1.281,
                0.664,
                -0.027,
                -0.009,
                -0.052,
                0.017,
                0.436,
                -0.014,
                -0.020,
                -0.014,
                0.037,
                0.153,
                0.007,
                -0.050,
                0.031,
                0.393,
                -0.008,
                -0.056,
                0.264,
                0.027,
                -2.265,
                0.792,
                -0.076,
            ],
            [
                0.203,
                0.362,
                -0.072,
                0.294,
                0.352,
                -2.881,
                0.496,
                -0.014,
                0.005,
                0.019,
                0.034,
                0.333,
                0.082,
                0.020,
                -0.032,
                -0.055,
                -0.325,
                0.040,
                -0.060,
                0.022,
                0.505,
                0.121,
                0.138,
                0.591,
                0.027,
                -2.592,
                -0.012,
                0.088,
            ],
        ]
    ),
}
"""Shift of the evaporating temperature [K], of the logarithm of the condensing approach, and the share of the
evaporator that superheats: a constant, the influences, and their products in pairs."""


def influences(unit: Unit, given: Surroundings) -> Array:
    """What moves a unit from its design point, shape (6, ...).

    Return air's enthalpy over the rating's in 27 kJ/kg, outdoor temperature over the rating's in 10 K, and
    the logarithms of indoor airflow, condenser's heat transfer, charge and compressor's flow over the healthy
    unit's.
    """
    coil, air, fan = unit.condenser, given.outdoor_air, unit.outdoor_fan
    clean = RATING_AIR_HEAT_CAPACITY * np.asarray(fan.airflow)
    inside = np.asarray(coil.condensing_conductance)
    healthy = clean * effectiveness(np.asarray(coil.air_conductance), inside, clean)
    rate = air.heat_capacity_rate
    transfer = rate * effectiveness(air.conductance, inside * air.open_face, rate)
    rows = (
        (given.indoor_air.enthalpy - RATING_ENTHALPY) / 27e3,
        (air.temperature - RATING_OUTDOOR) / 10.0,
        np.log(given.indoor_air.flow / np.asarray(unit.evaporator.rated_airflow)),
        np.log(transfer / healthy),
        np.log(given.charge / np.asarray(unit.circuit.charge)),
        np.log(given.compressor_speed * (1.0 - given.leakage)),
    )
    shape = np.broadcast_shapes(*(row.shape for row in rows))
    return np.stack(
        [np.broadcast_to(np.clip(row, *span), shape) for row, span in zip(rows, RANGES, strict=True)]
    )


def terms(influence: Array) -> Array:
    """A constant, the influences, and their products in pairs, shape (28, ...)."""
    pairs = [influence[i] * influence[j] for i, j in combinations_with_replacement(range(len(influence)), 2)]
    return np.concatenate([np.ones((1, *influence.shape[1:])), influence, np.stack(pairs)])


def first_guess(unit: Unit, fluid: Refrigerant, given: Surroundings, count: int) -> Array:
    """Unknowns of `model.balances` to start from, shape (3, count).

    Parameters
    ----------
    unit : Unit
    fluid : Refrigerant
    given : Surroundings
    count : int
        Number of points.
    """
    design = unit.start
    shift = np.tensordot(COEFFICIENTS[unit.expansion.kind], terms(influences(unit, given)), 1)
    evaporating = np.minimum(np.maximum(design.evaporating + shift[0], 250.0), 300.0)
    start = np.empty((3, count))
    start[0] = np.log(fluid.dew_pressure(evaporating))
    # Beyond the limit the coil lacks about as much area as the approach exceeds it.
    start[1] = np.log(np.asarray(design.condensing_approach) / given.limit_approach) + shift[1]
    start[2] = np.maximum(shift[2], -1.0)
    return start
