"""What is known of a unit's parameters before its own visits: the plain spreads, or what units alike show.

Normal, with a mean and a covariance. Of a unit of which no other of its nameplate was read it is the plain
one: zero, with the spreads of `calibration.clean_fit.parameters`, each number for itself. What other units of
the same nameplate say (`calibration.fleet.alike`) has another mean, and is never wider.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from calibration.clean_fit.parameters import SPREADS
from model.arrays import Array

DECIMALS = 6
"""Decimals of a mean and a covariance in prior spreads that are kept: the same on any machine [-]."""


@dataclass(frozen=True, eq=False)
class ParameterPrior:
    """Distribution of the parameters before a unit's own visits.

    Attributes
    ----------
    mean : ndarray, shape (parameters,)
        In the order of `calibration.clean_fit.parameters.PARAMETERS`.
    covariance : ndarray, shape (parameters, parameters)
    """

    mean: Array
    covariance: Array

    @property
    def precision(self) -> Array:
        """Inverse of the covariance, shape (parameters, parameters)."""
        inverse = np.linalg.inv(self.covariance)
        return np.asarray(0.5 * (inverse + inverse.T))


PLAIN = ParameterPrior(np.zeros(SPREADS.size), np.diag(SPREADS**2))
"""Of a unit of which the nameplate alone is known."""


def prior_entry(prior: ParameterPrior) -> tuple[float, ...]:
    """A prior as numbers that can be written, sent and compared.

    Parameters
    ----------
    prior : ParameterPrior

    Returns
    -------
    tuple of float
        Mean, then the upper half of the covariance, row by row, in prior spreads with `DECIMALS` decimals.
    """
    scaled = prior.covariance / np.outer(SPREADS, SPREADS)
    numbers = np.concatenate([prior.mean / SPREADS, scaled[np.triu_indices(SPREADS.size)]])
    return tuple(float(one) + 0.0 for one in np.round(numbers, DECIMALS))


def prior_of_entry(entry: Sequence[float]) -> ParameterPrior:
    """The prior of `prior_entry`.

    Parameters
    ----------
    entry : sequence of float

    Returns
    -------
    ParameterPrior

    Raises
    ------
    ValueError
        Where it has another length.
    """
    count, upper = SPREADS.size, np.triu_indices(SPREADS.size)
    if len(entry) != count + upper[0].size:
        raise ValueError(f"entry must have {count + upper[0].size} numbers, got {len(entry)}")
    scaled = np.zeros((count, count))
    scaled[upper] = entry[count:]
    scaled.T[upper] = entry[count:]
    return ParameterPrior(np.array(entry[:count]) * SPREADS, scaled * np.outer(SPREADS, SPREADS))
