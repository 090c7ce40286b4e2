"""Where a fitted unit reaches its high-pressure limit, with intervals.

The standard error has four parts: what the fit leaves open, carried through how far each parameter moves
the place; the model's own error in the condensing temperature, which stands for as much outdoor air; where
the switch opens if nobody named its setting, likewise; and the model's own error in what the faults do
(`calibration.clean_fit.prediction.CHANGE_SPREAD`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from calibration.clean_fit.baseline import Baseline
from calibration.clean_fit.prediction import (
    CHANGE_SPREAD,
    FIGURE_SPREAD,
    after_healthy,
    parameter_columns,
    rank_of,
)
from calibration.clean_fit.sensitivities import PARAMETER_STEPS, carried_spread
from calibration.estimate import Estimate, with_error
from model.arrays import Array, IntArray
from model.components.unit import Unit
from model.cycle.boundary import Conditions
from model.cycle.faults import HEALTHY, Faults
from model.cycle.high_pressure_trip import ENDINGS, trip_level, trip_outdoor_temperature
from model.cycle.sizing import high_pressure_spread
from model.properties.refrigerant import refrigerant

OUTDOOR_STEP, LEVEL_STEP = 0.5, 0.01
"""Steps of the slopes: outdoor air [K], and a share of the largest level [-]."""


@dataclass(frozen=True)
class TripPrediction:
    """Where a fitted unit reaches its high-pressure limit.

    Attributes
    ----------
    value : ndarray
        Outdoor temperature [K], or amount of a fault in the unit of its field; see
        `model.cycle.high_pressure_trip.Trip` for what it holds where nothing was found.
    standard_error : ndarray
        Of `value`, in its unit; 0 where nothing was found.
    ending : ndarray of int
        Index of `model.cycle.high_pressure_trip.ENDINGS`.
    """

    value: Array
    standard_error: Array
    ending: IntArray

    def estimate(self, index: tuple[int, ...] | int = ()) -> Estimate:
        """One place as value and standard error [SI]."""
        return with_error(float(self.value[index]), float(self.standard_error[index]))

    def ending_name(self, index: tuple[int, ...] | int = ()) -> str:
        """How the search of one place ended, one of `model.cycle.high_pressure_trip.ENDINGS`."""
        return ENDINGS[int(self.ending[index])]


def predicted_trip_temperature(baseline: Baseline, conditions: Conditions, faults: Faults) -> TripPrediction:
    """Outdoor temperature at which a fitted unit reaches its high-pressure limit.

    Parameters
    ----------
    baseline : Baseline
    conditions : Conditions
        Return air, barometer and speeds; the outdoor temperature is not used.
    faults : Faults
        Shapes broadcast with the conditions.

    Returns
    -------
    TripPrediction
        [K], of the shape of conditions and faults together.
    """
    room = replace(conditions, outdoor_temperature=0.0)
    rank = rank_of(room, faults)
    both = trip_outdoor_temperature(baseline.unit, room, after_healthy(faults, rank))
    value = both.value[1]
    outdoor = np.stack([value, value - OUTDOOR_STEP])
    places = replace(room, outdoor_temperature=outdoor)
    over = parameter_columns(baseline, places, faults, rank + 1, both.point.unknowns[:, 1]).unknowns[1]
    slope = (over[0, 0] - over[0, 1]) / OUTDOOR_STEP
    own = np.hypot(_condensing_spread(baseline.unit), CHANGE_SPREAD * (both.value[0] - value))
    error = np.hypot(carried_spread(over[:, 0] / slope, PARAMETER_STEPS, baseline.covariance), own)
    return TripPrediction(value, np.where(both.found[1], error, 0.0), both.ending[1])


def _condensing_spread(unit: Unit) -> float:
    """Standard deviation of the condensing temperature at which the switch opens [K]."""
    fluid, limit = refrigerant(unit.refrigerant), float(np.mean(unit.high_pressure_limit))
    ends = fluid.bubble_temperature(limit * np.array([1.0, 1.0 - high_pressure_spread(unit)]))
    return float(np.hypot(FIGURE_SPREAD["condensing_temperature"][1], ends[0] - ends[1]))


def predicted_trip_level(
    baseline: Baseline, conditions: Conditions, field: str = "condenser_blocked", base: Faults = HEALTHY
) -> TripPrediction:
    """How much of one fault brings a fitted unit to its high-pressure limit on a given day.

    Parameters
    ----------
    baseline : Baseline
    conditions : Conditions
        The day.
    field : str
        Field of `model.cycle.faults.Faults`.
    base : Faults
        What else is the matter.

    Returns
    -------
    TripPrediction
        In the unit of the field, of the shape of conditions and faults together.

    Raises
    ------
    ValueError
        Where there is no such field.
    """
    found = trip_level(baseline.unit, conditions, field, base)
    amount = found.value
    day = np.broadcast_to(np.asarray(conditions.outdoor_temperature, dtype=float), amount.shape)
    # At the place; a step of the level, then of the weather aside; and with none of the fault.
    amounts = np.stack([amount, (1.0 - LEVEL_STEP) * amount, amount, 0.0 * amount])
    outdoor = np.stack([day, day, day - OUTDOOR_STEP, day])
    conditions = replace(conditions, outdoor_temperature=outdoor)
    faults = replace(base, **{field: amounts})
    over = parameter_columns(baseline, conditions, faults, amount.ndim + 1, found.point.unknowns).unknowns[1]
    with np.errstate(all="ignore"):  # where nothing was found there are no slopes
        slope = (over[0, 0] - over[0, 1]) / (LEVEL_STEP * amount)
        kelvin = (over[0, 0] - over[0, 2]) / OUTDOOR_STEP
        own = np.hypot(_condensing_spread(baseline.unit) * kelvin, CHANGE_SPREAD * over[0, 3])
        spread = carried_spread(over[:, 0], PARAMETER_STEPS, baseline.covariance)
        error = np.hypot(spread, own) / np.abs(slope)
    return TripPrediction(amount, np.where(found.found, error, 0.0), found.ending)
