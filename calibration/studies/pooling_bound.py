"""The best that any estimate of growth rates can do: what somebody knows who knows how the fleet was drawn.

For each unit the mean of the logarithm of its rate, given the readings of its whole site and the true
distributions: growth by surroundings, spread by site and by unit, share of odd units and how much faster they
foul. No estimate has a smaller mean square error over all units together. What it still has for odd units is
the price of that: one that is hardly fouled yet looks like a usual one, which is far more probable.

References
----------
Berger, J. O., Statistical Decision Theory and Bayesian Analysis, 2nd ed. 1985, ch. 4 (the posterior mean is
the estimate of least mean square error; from memory).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from calibration.fleet.pooling import PRIOR_MIDDLE, UnitGrowth
from calibration.studies.invented_fleet import EXPOSURES, ODD_FACTOR, ODD_SHARE, SITE_SPREAD, UNIT_SPREAD
from model.arrays import Array

RATES: Array = PRIOR_MIDDLE + np.linspace(-5.0, 5.0, 401)
"""Logarithms of rates over which sums go."""
SITES: Array = SITE_SPREAD * np.linspace(-4.0, 4.0, 57)
"""What a site adds to them."""


def best_logarithms(units: Sequence[UnitGrowth]) -> Array:
    """Logarithms of the growth rates of an invented fleet by one who knows how it was drawn.

    Parameters
    ----------
    units : sequence of UnitGrowth
        Exposures of `calibration.studies.invented_fleet.EXPOSURES`.

    Returns
    -------
    ndarray, shape (units,)
        Mean of each unit's posterior.
    """
    found = np.zeros(len(units))
    sites = [one.site for one in units]
    for site in dict.fromkeys(sites):
        places = [place for place, name in enumerate(sites) if name == site]
        found[places] = _of_a_site([units[place] for place in places])
    return found


def _of_a_site(units: Sequence[UnitGrowth]) -> Array:
    """The same of the units of one site."""
    prior = _prior(PRIOR_MIDDLE + float(np.log(EXPOSURES[units[0].exposure])))
    shown = np.array([_likelihood(one) for one in units])
    by_site = shown @ prior.T
    found = []
    for place, likelihood in enumerate(shown):
        others = np.prod(np.delete(by_site, place, axis=0), axis=0)
        weights = np.exp(-0.5 * (SITES / SITE_SPREAD) ** 2) * others
        posterior = (weights @ prior) * likelihood
        found.append(float(posterior @ RATES / posterior.sum()))
    return np.array(found)


def _prior(middle: float) -> Array:
    """Probabilities of a unit's rates at every site, shape (sites, rates)."""
    off = RATES - middle - SITES[:, None]
    usual, odd = (
        np.exp(-0.5 * ((off - more) / UNIT_SPREAD) ** 2) for more in (0.0, float(np.log(ODD_FACTOR)))
    )
    whole = (1.0 - ODD_SHARE) * usual + ODD_SHARE * odd
    return np.asarray(whole / whole.sum(axis=1, keepdims=True))


def _likelihood(unit: UnitGrowth) -> Array:
    """How well each rate explains a unit's level; the same for all where it was not read."""
    if unit.level is None:
        return np.ones_like(RATES)
    return np.asarray(np.exp(-0.5 * ((unit.level - np.exp(RATES) * unit.years) / unit.error) ** 2))
