"""What a fitted unit does at any weather and with any fault, with intervals.

The standard error of a predicted figure has two parts: what the fit leaves open (the posterior of the
parameters, carried through the model's slopes, one column a parameter in the same call of the cycle) and the
model's own error, of the size seen in the published tests of NISTIR 7350. A change against the clean unit at
the same weather keeps the first part, as far as it does not cancel, and a share of the change itself.
Where the unit trips is `calibration.clean_fit.trip_prediction`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calibration.clean_fit.baseline import Baseline
from calibration.clean_fit.parameters import adjusted
from calibration.clean_fit.sensitivities import PARAMETER_STEPS, carried_spread, stepped
from calibration.estimate import Estimate, with_error
from model.arrays import Array
from model.cycle.boundary import Conditions
from model.cycle.faults import HEALTHY, Faults
from model.cycle.solve import OperatingPoint, solve

FIGURE_SPREAD: dict[str, tuple[float, float]] = {
    "suction_pressure": (0.005, 0.0),
    "liquid_pressure": (0.008, 0.0),
    "discharge_pressure": (0.008, 0.0),
    "evaporating_temperature": (0.0, 0.25),
    "condensing_temperature": (0.0, 0.35),
    "superheat": (0.0, 0.5),
    "subcooling": (0.0, 0.3),
    "suction_temperature": (0.0, 0.6),
    "liquid_temperature": (0.0, 0.5),
    "discharge_temperature": (0.0, 1.2),
    "supply_temperature": (0.0, 0.2),
    "supply_wet_bulb": (0.0, 0.15),
    "condenser_leaving_temperature": (0.0, 0.3),
    "net_capacity": (0.02, 0.0),
    "gross_capacity": (0.02, 0.0),
    "sensible_capacity": (0.025, 0.0),
    "latent_capacity": (0.05, 50.0),
    "compressor_power": (0.015, 0.0),
    "outdoor_power": (0.012, 0.0),
    "total_power": (0.012, 0.0),
    "eer": (0.022, 0.0),
    "refrigerant_flow": (0.02, 0.0),
}
"""Standard deviation of the model itself for each figure of an operating point: share and fixed part [SI],
on top of what the fit leaves open: of the size of the errors on the published tests (`coiltoll study
laboratory`), and such that 90 % ranges hold the truth as often as they say (`coiltoll study coverage`)."""

ORIFICE_SUPERHEAT_SPREAD = 1.3
"""The same of the superheat and the suction temperature of a unit with a fixed orifice, in addition
[K]: no valve holds its superheat, and the model's lies 2 K (root mean square) off the charging rule."""

CHANGE_SPREAD = 0.15
"""Standard deviation of the model itself in a predicted change, as a share of the change [-]: the scatter
of the published effects of fouled coils around the model (tests/reference/coil_fouling_measurements.csv)."""


@dataclass(frozen=True)
class Prediction:
    """Operating points of a fitted unit and the standard errors of their figures.

    Attributes
    ----------
    point : OperatingPoint
        Of the most likely unit.
    standard_errors : dict of str to array
        For each name in `FIGURE_SPREAD`, shape of the point [SI].
    """

    point: OperatingPoint
    standard_errors: dict[str, Array]

    def estimate(self, name: str, index: tuple[int, ...] | int = ()) -> Estimate:
        """One figure at one place as value and standard error [SI]."""
        value = np.asarray(getattr(self.point, name))[index]
        return with_error(float(value), float(self.standard_errors[name][index]))


@dataclass(frozen=True)
class Change:
    """What faults change against the clean unit at the same weather, as fractions of the clean figure.

    Attributes
    ----------
    clean, changed : OperatingPoint
    fractions, standard_errors : dict of str to array
        For net_capacity, gross_capacity, outdoor_power, total_power and eer [-], shape of the points.
    """

    clean: OperatingPoint
    changed: OperatingPoint
    fractions: dict[str, Array]
    standard_errors: dict[str, Array]

    def estimate(self, name: str, index: tuple[int, ...] | int = ()) -> Estimate:
        """One change at one place as fraction and standard error [-]."""
        return with_error(float(self.fractions[name][index]), float(self.standard_errors[name][index]))


CHANGED = ("net_capacity", "gross_capacity", "outdoor_power", "total_power", "eer")
"""Figures whose change is predicted."""


def predicted(baseline: Baseline, conditions: Conditions, faults: Faults = HEALTHY) -> Prediction:
    """Operating points with standard errors.

    Parameters
    ----------
    baseline : Baseline
    conditions : Conditions
        Any shape that broadcasts.
    faults : Faults

    Returns
    -------
    Prediction
    """
    return _prediction(baseline, parameter_columns(baseline, conditions, faults, rank_of(conditions, faults)))


def _prediction(baseline: Baseline, columns: OperatingPoint) -> Prediction:
    prediction = prediction_of(columns, PARAMETER_STEPS, baseline.covariance)
    if baseline.unit.expansion.kind == "TXV":
        return prediction
    errors = dict(prediction.standard_errors)
    for name in ("superheat", "suction_temperature"):
        errors[name] = np.hypot(errors[name], ORIFICE_SUPERHEAT_SPREAD)
    return Prediction(prediction.point, errors)


def prediction_of(columns: OperatingPoint, steps: Array, covariance: Array) -> Prediction:
    """Figures with what uncertain numbers and the model itself leave open.

    Parameters
    ----------
    columns : OperatingPoint
        First axis: the most likely point, then one with each uncertain number a step further.
    steps : ndarray, shape (numbers,)
        Those steps, in the unit of each number.
    covariance : ndarray, shape (numbers, numbers)
        Of the numbers.

    Returns
    -------
    Prediction
        Of the shape of the columns without the first axis.
    """
    errors = {}
    for name, (share, fixed) in FIGURE_SPREAD.items():
        values = np.asarray(getattr(columns, name))
        own = np.hypot(share * np.abs(values[0]), fixed)
        errors[name] = np.hypot(carried_spread(values, steps, covariance), own)
    return Prediction(_first(columns), errors)


@dataclass(frozen=True)
class BesideClean:
    """The clean unit and the unit with faults at the same weather, and what the faults change."""

    clean: Prediction
    changed: Prediction
    change: Change


def predicted_beside_clean(baseline: Baseline, conditions: Conditions, faults: Faults) -> BesideClean:
    """The clean unit and the unit with faults, all solved in one call.

    Parameters
    ----------
    baseline : Baseline
    conditions : Conditions
    faults : Faults
        Shapes broadcast with the conditions.

    Returns
    -------
    BesideClean
        Each of the shape of conditions and faults together.
    """
    rank = rank_of(conditions, faults)
    both = parameter_columns(baseline, conditions, after_healthy(faults, rank), rank + 1)
    clean, changed = _layer(both, 0), _layer(both, 1)
    fractions, errors = {}, {}
    for name in CHANGED:
        ratio = np.asarray(getattr(changed, name)) / np.asarray(getattr(clean, name)) - 1.0
        fractions[name] = ratio[0]
        spread = carried_spread(ratio, PARAMETER_STEPS, baseline.covariance)
        errors[name] = np.hypot(spread, CHANGE_SPREAD * np.abs(ratio[0]))
    change = Change(_first(clean), _first(changed), fractions, errors)
    return BesideClean(_prediction(baseline, clean), _prediction(baseline, changed), change)


def after_healthy(faults: Faults, rank: int) -> Faults:
    """Faults with one more axis in front: none, then those given, stretched to `rank` axes."""
    layered = {}
    for name, value in vars(faults).items():
        shaped = np.asarray(value, dtype=float)
        shaped = shaped.reshape((1,) * (rank - shaped.ndim) + shaped.shape)
        layered[name] = np.stack([np.zeros_like(shaped), shaped])
    return Faults(**layered)


def _layer(columns: OperatingPoint, place: int) -> OperatingPoint:
    """One of the layers behind the axis of the columns."""
    return OperatingPoint(
        **{
            name: value[:, :, place] if name == "unknowns" else value[:, place]
            for name, value in vars(columns).items()
        }
    )


def parameter_columns(
    baseline: Baseline, conditions: Conditions, faults: Faults, rank: int, start: Array | None = None
) -> OperatingPoint:
    """The most likely unit first, then one unit a parameter with that parameter a step higher.

    Parameters
    ----------
    baseline : Baseline
    conditions : Conditions
    faults : Faults
    rank : int
        Number of axes of the two [-].
    start : ndarray, shape (3, ...), optional
        Unknowns of the most likely unit to start the solver from.

    Returns
    -------
    OperatingPoint
        First axis the columns, then the shape of conditions and faults.
    """
    table = stepped(baseline.values, PARAMETER_STEPS)
    shaped = table.reshape(*table.shape, *(1,) * rank)
    return solve(adjusted(baseline.generic, shaped), conditions, faults, start)


def rank_of(conditions: Conditions, faults: Faults) -> int:
    """Number of axes of conditions and faults [-]."""
    parts = [*vars(conditions).values(), *vars(faults).values()]
    return max(np.ndim(part) for part in parts if part is not None)


def _first(columns: OperatingPoint) -> OperatingPoint:
    values = {name: value[:, 0] if name == "unknowns" else value[0] for name, value in vars(columns).items()}
    return OperatingPoint(**values)
