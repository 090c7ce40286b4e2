"""What a fouled outdoor coil costs a case's heat pump at given outdoor air: capacity, power, COP, with frost.

Most likely figures are those of the fitted unit; the 90 % ranges come from draws of its heating parameters,
of the power of the airflow in the frost loss (no published figure for a fouled coil: `model.heating.frost`),
and of the model's own error in what a fault changes, as in cooling.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calibration.clean_fit.prediction import CHANGE_SPREAD
from calibration.costs.quasi_draws import evenly_spread, normal_scores
from calibration.estimate import Estimate, of_draws
from calibration.heating.heating_fit import HEATING_PARAMETERS, HeatingFit
from model.arrays import Array
from model.cycle.faults import Faults
from model.heating.boundary import (
    COLD_OUTDOOR,
    FROST_OUTDOOR,
    HeatingConditions,
)
from model.heating.frost import AIRFLOW_POWERS, Frosted, frost_anchor, frosted
from model.heating.heat_pump import RATING_OUTDOOR, HeatPump
from model.heating.heating_point import HEATING_STATES, HeatingPoint
from model.heating.solve import solve_heating
from model.properties import moist_air

HEATING_DRAWS = 64
"""Draws behind the ranges [-]."""
RANDOM_STATE = 20262
"""State from which they start."""
TEST_OUTDOOR = (RATING_OUTDOOR, FROST_OUTDOOR, COLD_OUTDOOR)
"""Outdoor dry bulbs of the standard's heating tests, 47, 35 and 17 degF [K]."""


@dataclass(frozen=True)
class HeatingAt:
    """Figures of one blocked share of the outdoor coil at one outdoor temperature.

    Attributes
    ----------
    outdoor, blocked : float
        Outdoor dry bulb [K] and share of the face without air [-].
    capacity, power, cop : Estimate
        Means over frosting and defrosting [W], [W], [-].
    frost_loss : Estimate
        Share of the steady capacity that frost and defrost take [-].
    capacity_change, cop_change : Estimate
        Against the clean coil in the same weather [-].
    steady_capacity, steady_cop : float
        Without frost [W], [-].
    state : str
        Of the steady point, one of `model.heating.heating_point.HEATING_STATES`.
    """

    outdoor: float
    blocked: float
    capacity: Estimate
    power: Estimate
    cop: Estimate
    frost_loss: Estimate
    capacity_change: Estimate
    cop_change: Estimate
    steady_capacity: float
    steady_cop: float
    state: str


def heating_losses(
    fit: HeatingFit,
    outdoor: Array,
    humidity: Array,
    blocked: Array,
    ambient_pressure: float = moist_air.STANDARD_PRESSURE,
) -> list[list[HeatingAt]]:
    """Figures at some outdoor temperatures for some blocked shares.

    Parameters
    ----------
    fit : HeatingFit
        The heat pump.
    outdoor, humidity : ndarray, shape (temperatures,)
        Outdoor dry bulb [K] and humidity ratio [kg/kg].
    blocked : ndarray, shape (shares,)
        Shares of the outdoor coil's face without air [-].
    ambient_pressure : float
        [Pa].

    Returns
    -------
    list of list of HeatingAt
        One list for each temperature, one entry for each share.
    """
    levels = np.concatenate([[0.0], blocked])
    chance = evenly_spread(len(HEATING_PARAMETERS) + 2, HEATING_DRAWS, RANDOM_STATE)
    scores = normal_scores(chance[2:])[:, :, None, None]
    power = (AIRFLOW_POWERS[0] + (AIRFLOW_POWERS[-1] - AIRFLOW_POWERS[0]) * chance[0])[:, None, None]
    change = np.maximum(1.0 + CHANGE_SPREAD * normal_scores(chance[1]), 0.0)[:, None, None]
    air = HeatingConditions(outdoor[:, None], humidity[:, None], ambient_pressure=ambient_pressure)
    faults = Faults(condenser_blocked=levels)
    point, likely = _frosted_points(fit.pump, air, faults)
    _, drawn = _frosted_points(fit.drawn(scores), air, faults, power)
    drawn = _with_model_error(drawn, change)
    return [
        [_at((t, b), (outdoor, levels), point, likely, drawn) for b in range(1, levels.size)]
        for t in range(outdoor.size)
    ]


def _frosted_points(
    pump: HeatPump, air: HeatingConditions, faults: Faults, power: Array | float = AIRFLOW_POWERS[1]
) -> tuple[HeatingPoint, Frosted]:
    point = solve_heating(pump, air, faults)
    return point, frosted(pump, point, air.outdoor_temperature, frost_anchor(pump), power)


def _with_model_error(drawn: Frosted, change: Array) -> Frosted:
    """Draws whose change against the clean coil, in the first column, is larger or smaller by a factor."""

    def moved(values: Array) -> Array:
        clean = values[..., :1]
        return np.asarray(clean + (values - clean) * change)

    capacity, power = moved(drawn.capacity), moved(drawn.power)
    return Frosted(capacity, power, capacity / power, moved(drawn.capacity_loss), moved(drawn.power_loss))


def _at(
    place: tuple[int, int],
    axes: tuple[Array, Array],
    point: HeatingPoint,
    likely: Frosted,
    drawn: Frosted,
) -> HeatingAt:
    t, b = place

    def estimate(best: float, draws: Array) -> Estimate:
        spread = of_draws(draws)
        return Estimate(best, min(spread.low, best), max(spread.high, best))

    def own(name: str) -> Estimate:
        return estimate(float(getattr(likely, name)[t, b]), getattr(drawn, name)[:, t, b])

    def changed(name: str) -> Estimate:
        best, draws = getattr(likely, name)[t], getattr(drawn, name)[:, t]
        return estimate(float(best[b] / best[0] - 1.0), draws[:, b] / draws[:, 0] - 1.0)

    return HeatingAt(
        outdoor=float(axes[0][t]),
        blocked=float(axes[1][b]),
        capacity=own("capacity"),
        power=own("power"),
        cop=own("cop"),
        frost_loss=own("capacity_loss"),
        capacity_change=changed("capacity"),
        cop_change=changed("cop"),
        steady_capacity=float(point.heating_capacity[t, b]),
        steady_cop=float(point.cop[t, b]),
        state=HEATING_STATES[int(point.state[t, b])],
    )
