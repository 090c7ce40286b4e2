"""Slopes of the model by finite differences: columns to solve for, all in one call, and what they give.

The first column of a table is the place itself, each further one the place with one number a step further.
Steps are shares of what is not known of a number, small for curvature, large for what the solver leaves.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from calibration.clean_fit.observation import HUMIDITIES, SUPPLY_HUMIDITIES
from calibration.clean_fit.parameters import SPREADS
from model.arrays import Array

PARAMETER_STEPS = 0.02 * SPREADS
"""Steps of the parameters' slopes, shape (parameters,): a share of their prior spreads [-]."""
SETTING_STEP = 0.1
"""Step of a setting's slope, in standard errors [-]."""
READING_STEP = 0.05
"""Step of a reading's slope, in standard errors [-]."""
SMALLEST_SETTING_STEP = 1e-9
"""Least step of a setting, in its SI unit: one that is known exactly has a slope too."""


def stepped(values: Array, steps: Array, first: int = 1, columns: int | None = None) -> Array:
    """Columns of numbers, each number a step further in a column of its own.

    Parameters
    ----------
    values : ndarray, shape (numbers, ...)
        The place.
    steps : ndarray, shape (numbers,) or (numbers, ...)
        In the unit of each.
    first : int
        Column of the first number's step.
    columns : int, optional
        Number of columns; up to the last number's step if not given.

    Returns
    -------
    ndarray, shape (numbers, columns, ...)
        All other columns are the place itself.
    """
    count = len(values)
    table = np.repeat(values[:, None], first + count if columns is None else columns, axis=1)
    places = np.arange(count)
    table[places, first + places] += steps.reshape(*steps.shape, *(1,) * (values.ndim - steps.ndim))
    return table


def slopes(columns: Array, steps: Array) -> Array:
    """Slopes of what was solved in the columns of `stepped`.

    Parameters
    ----------
    columns : ndarray, shape (1 + numbers, ...)
        The place first.
    steps : ndarray, shape (numbers,)
        As `stepped` got them.

    Returns
    -------
    ndarray, shape (numbers, ...)
        Change per unit of each number.
    """
    return np.asarray((columns[1:] - columns[0]) / steps.reshape(-1, *(1,) * (columns.ndim - 1)))


def carried_spread(columns: Array, steps: Array, covariance: Array) -> Array:
    """Standard deviation that uncertain numbers give to what was solved in the columns of `stepped`.

    Parameters
    ----------
    columns, steps
        As for `slopes`.
    covariance : ndarray, shape (numbers, numbers)
        Of the numbers.

    Returns
    -------
    ndarray
        Of the unit and shape of one column.
    """
    by_number = slopes(columns, steps)
    variance = np.einsum("i...,ij,j...->...", by_number, covariance, by_number)
    return np.asarray(np.sqrt(np.maximum(variance, 0.0)))


def directions(names: Sequence[str]) -> Array:
    """Sign of each reading's step: towards drier air, as saturated air must not be moved beyond itself.

    Parameters
    ----------
    names : sequence of str
        Readings or settings.

    Returns
    -------
    ndarray, shape (names,)
        -1 for humidities, else 1.
    """
    return np.array([-1.0 if name in (*HUMIDITIES, *SUPPLY_HUMIDITIES) else 1.0 for name in names])


def setting_steps(names: Sequence[str], spreads: Array) -> Array:
    """Steps of settings.

    Parameters
    ----------
    names : sequence of str
    spreads : ndarray, shape (..., names)
        Their standard errors [SI].

    Returns
    -------
    ndarray
        Shape of `spreads` [SI].
    """
    return np.asarray(directions(names) * np.maximum(SETTING_STEP * spreads, SMALLEST_SETTING_STEP))


class MovedColumns(NamedTuple):
    """Readings and parameters that are moved together, a step of one of them in each column but the first.

    Attributes
    ----------
    readings : dict of str to ndarray, shape (columns,)
        Every reading; those known exactly do not move.
    parameters : ndarray, shape (parameters, columns)
    steps, spreads : ndarray, shape (moved readings,)
        [SI]
    """

    readings: dict[str, Array]
    parameters: Array
    steps: Array
    spreads: Array

    def carried(self, figures: Array) -> tuple[Array, Array]:
        """Change by a standard error of each reading, and by a unit of each parameter.

        Parameters
        ----------
        figures : ndarray, shape (..., columns)
            Solved in the columns.

        Returns
        -------
        by_reading, by_parameter : ndarray
            Shape (..., moved readings) and (..., parameters).
        """
        changes = figures[..., 1:] - figures[..., :1]
        count = len(self.steps)
        return changes[..., :count] / self.steps * self.spreads, changes[..., count:] / PARAMETER_STEPS


def moved_readings(
    values: Mapping[str, float], spreads: Mapping[str, float], parameters: Array
) -> MovedColumns:
    """Readings and parameters in columns.

    Parameters
    ----------
    values : mapping of str to float
        Readings and settings [SI].
    spreads : mapping of str to float
        Standard errors; a reading without one is taken as exact.
    parameters : ndarray, shape (parameters,)
        Their fitted values.

    Returns
    -------
    MovedColumns
    """
    changed = [name for name in values if spreads.get(name, 0.0) > 0.0]
    errors = np.array([spreads[name] for name in changed])
    steps = directions(changed) * READING_STEP * errors
    columns = 1 + len(changed) + len(parameters)
    readings = {name: np.full(columns, value) for name, value in values.items()}
    for place, name in enumerate(changed):
        readings[name][1 + place] += steps[place]
    table = stepped(parameters, PARAMETER_STEPS, first=1 + len(changed), columns=columns)
    return MovedColumns(readings, table, steps, errors)
