"""A clean fit, and what its visits say, kept as numbers, so that what follows from it needs no second fit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from calibration.case.records import Case
from calibration.clean_fit.baseline import Baseline
from calibration.clean_fit.parameters import NAMES, adjusted, generic_unit
from model.arrays import Array

DIGITS = 10
"""Significant digits of what visits say: the same on any machine [-]."""


def fit_entry(baseline: Baseline) -> dict[str, Any]:
    """What is kept of a fit, as an entry that JSON can hold.

    Parameters
    ----------
    baseline : Baseline

    Returns
    -------
    dict
        Parameters and the upper half of their covariance, row by row, to the last digit.
    """
    upper = np.triu_indices(baseline.values.size)
    return {"values": baseline.values.tolist(), "covariance": baseline.covariance[upper].tolist()}


def kept_fit(case: Case, entry: Mapping[str, Any]) -> Baseline:
    """The fit of a case from what was kept of it.

    Parameters
    ----------
    case : Case
        The same case.
    entry : mapping
        Of `fit_entry`.

    Returns
    -------
    Baseline
        The same unit and uncertainty, without the readings beside it: for costs, not for findings.
    """
    generic, values = generic_unit(case.unit, case.clean_visits), np.array(entry["values"])
    covariance, upper = np.zeros((values.size, values.size)), np.triu_indices(values.size)
    covariance[upper] = entry["covariance"]
    covariance.T[upper] = entry["covariance"]
    return Baseline(adjusted(generic, values), generic, values, covariance)


def visits_entry(baseline: Baseline) -> list[float]:
    """What the clean visits of a fit say for themselves, as an entry that JSON can hold.

    Parameters
    ----------
    baseline : Baseline

    Returns
    -------
    list of float
        Of `Baseline.visits_alone`: the pull, then the upper half of the information, row by row.
    """
    information, pull = baseline.visits_alone()
    upper = np.triu_indices(pull.size)
    return [float(f"{one:.{DIGITS}g}") for one in (*pull, *information[upper])]


def kept_visits(entry: Sequence[float]) -> tuple[Array, Array]:
    """What the clean visits of a fit say for themselves, from what was kept of it.

    Parameters
    ----------
    entry : sequence of float
        Of `visits_entry`.

    Returns
    -------
    (ndarray, ndarray)
        Information and pull, as `Baseline.visits_alone` gives them.
    """
    count = len(NAMES)
    information, upper = np.zeros((count, count)), np.triu_indices(count)
    information[upper] = entry[count:]
    information.T[upper] = entry[count:]
    return information, np.array(entry[:count])
