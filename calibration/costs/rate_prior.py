"""What is known of a unit's growth rate before its own visits: the published span, or what other units show.

The logarithm of the rate is normally distributed. Of what other units show, a small part is much wider: a
unit may foul unlike its site.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calibration.estimate import ENDS, Estimate
from model.arrays import Array
from model.maintenance.growth import CONDENSER_RATE_HIGH, CONDENSER_RATE_LOW, NORMAL_95

GRID = np.linspace(-6.0, 6.0, 1201)
"""Logarithms of a rate over the middle one, over which a probability is looked up [-]."""


@dataclass(frozen=True)
class RatePrior:
    """Distribution of a growth rate.

    Attributes
    ----------
    middle, spread : float
        Mean and standard deviation of the logarithm of the rate in 1/a [-].
    odd_share, odd_spread : float
        Share of units that foul unlike the others, and the further standard deviation of their logarithm [-].
    """

    middle: float
    spread: float
    odd_share: float = 0.0
    odd_spread: float = 0.0

    @property
    def rate(self) -> Estimate:
        """Its median and 90 % range [1/a]."""
        low, high = self.at(np.array(ENDS)).tolist()
        return Estimate(float(np.exp(self.middle)), low, high)

    def density(self, rates: Array) -> Array:
        """Density of the logarithm at some rates, not normalised; the shape of the rates [1/a]."""
        off = np.log(rates) - self.middle
        usual = np.exp(-0.5 * (off / self.spread) ** 2)
        if self.odd_share == 0.0:
            return np.asarray(usual)
        wide = np.hypot(self.spread, self.odd_spread)
        odd = np.exp(-0.5 * (off / wide) ** 2) * self.spread / wide
        return np.asarray((1.0 - self.odd_share) * usual + self.odd_share * odd)

    def at(self, probability: Array) -> Array:
        """Rates below which so much of the distribution lies [1/a]; the shape of the probabilities."""
        density = self.density(np.exp(self.middle + GRID))
        below = np.cumsum(density) - 0.5 * density
        return np.asarray(np.exp(self.middle + np.interp(probability, below / density.sum(), GRID)))


PUBLISHED = RatePrior(
    middle=0.5 * float(np.log(CONDENSER_RATE_LOW * CONDENSER_RATE_HIGH)),
    spread=0.5 * float(np.log(CONDENSER_RATE_HIGH / CONDENSER_RATE_LOW)) / NORMAL_95,
)
"""Of a condenser of which nothing is known: `model.maintenance.growth`."""
