"""What units learn from one another: growth rates pooled by surroundings and site (empirical Bayes).

The logarithm of a unit's growth rate is a middle, plus what its surroundings, its site and the unit itself
add, each normally distributed about zero. Variances of the three and the middle are those that explain the
rates of all units best (greatest marginal likelihood, with a weak prior on each). One that was just read for
the first time leans on its site, one with a precise level of its own hardly.

An odd unit is not dragged along. What a unit adds comes from a narrow normal distribution or, with a small
probability, from a wide one, and its posterior is summed on a grid of rates with the error of its reading
normal in the level, as it is read; readings of the others enter through what they say of its site. By the
probability that the readings leave for the wide one a unit bends its site less.

What a unit gets is what the others say of it, its own visits left out (`LearntRate`); these are added where
its growth is fitted (`calibration.costs.growth_fit.shrunk_fit`), so that each reading counts once.

Assumptions: fouling grows linearly from the last known cleaning. A level of `OWN_SPREAD` off any smooth
growth is part of its error. Two units with nothing in common share the middle alone.

References
----------
Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, ch. 5 (hierarchical models), 22 (mixtures, EM). Efron, B.
and Morris, C., Data analysis using Stein's estimator and its generalizations, JASA 70, 1975. All from memory.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize

from calibration.costs.growth_fit import LevelPoint, own_rate
from calibration.costs.likely_growth import GIVEN_RATE_SPREAD
from calibration.costs.rate_prior import PUBLISHED, RatePrior
from model.arrays import Array, BoolArray
from model.maintenance.growth import NORMAL_95

Readings = tuple[Array, Array, Array]
"""Levels [-], their errors [-] and years since clean of units, each of shape (units,)."""
ODD_SHARE, ODD_SPREAD = 0.1, 1.2
"""Share of units that foul unlike their site, and the further standard deviation of the logarithm of their
rate [-]; choices of this package, none is published."""
ROUNDS = 12
"""Rounds of probabilities and variances [-]."""
LONGEST_STEP = 1.0
"""Longest step of a logarithm in one round [-]."""
SHORTEST_TIME = 0.08
"""Time since clean below which a level says nothing of the growth [a]: a month."""
MOST_POOLED = 1000
"""Units that are pooled at once [-]."""
STEP = 0.04
"""Steps in which logarithms of what others say are given [-]: a visit far away then changes nothing."""
USUAL_SPREAD = 0.5
"""Middle of the prior of each standard deviation, of the logarithm of a rate [-]; a choice."""
PRIOR_MIDDLE, PRIOR_SPREAD = PUBLISHED.middle, PUBLISHED.spread
"""Logarithm of the rate of a condenser of which nothing is known, and its spread."""
RATES = PRIOR_MIDDLE + np.linspace(-5.0, 5.0, 201)
"""Logarithms of rates over which a unit's posterior is summed."""


@dataclass(frozen=True)
class UnitGrowth:
    """What one unit shows of its growth.

    Attributes
    ----------
    site, exposure : str
    level : float or None
        Blocked share when it was read [-]; None where it was not.
    error : float
        Its standard error [-].
    years : float
        Time since the coil was clean [a].
    """

    site: str
    exposure: str
    level: float | None = None
    error: float = np.inf
    years: float = 0.0


@dataclass(frozen=True)
class LearntRate:
    """What other units say of a unit's growth.

    Attributes
    ----------
    prior : RatePrior
        Of the rate without the unit's own visits.
    others, here : int
        Units that it is learnt from, and those of them at its site.
    """

    prior: RatePrior
    others: int
    here: int


@dataclass(frozen=True)
class Pooled:
    """What the units of a fleet say of each other.

    Attributes
    ----------
    priors : tuple of RatePrior
        Of each unit, its own readings left out.
    middle : float
        Rate of a unit of which nothing is known [1/a].
    exposure_spread, site_spread, unit_spread : float
        Standard deviations of the logarithm of the rate [-].
    weights : ndarray, shape (units,)
        Probability that each unit is one of its kind [-]: near 0 for an odd one.
    """

    priors: tuple[RatePrior, ...]
    middle: float
    exposure_spread: float
    site_spread: float
    unit_spread: float
    weights: Array


def shown_growth(
    site: str, exposure: str, points: Sequence[LevelPoint], given: float | None = None
) -> UnitGrowth:
    """What a unit's visits show of its growth, or its case says.

    Parameters
    ----------
    site, exposure : str
    points : sequence of LevelPoint
        `calibration.costs.growth_fit.level_points` of its case.
    given : float, optional
        Rate that its case gives, such as one that was tracked [1/a]; it counts over its visits, as it does
        in the unit's costs, and is as uncertain as there.

    Returns
    -------
    UnitGrowth
        One level that says as much as all of them together, over the time of the last; without one where none
        since a known cleaning is there.
    """
    if given:
        spread = float(np.log(GIVEN_RATE_SPREAD)) / NORMAL_95
        return UnitGrowth(site, exposure, given, spread * given, 1.0)
    late = [one for one in points if one.years >= SHORTEST_TIME]
    if not late:
        return UnitGrowth(site, exposure)
    rate, error = own_rate(late)
    years = late[-1].years
    return UnitGrowth(site, exposure, rate * years, error * years, years)


def pooled_growth(units: Sequence[UnitGrowth]) -> Pooled:
    """Growth rates of all units of a fleet from what each shows.

    Parameters
    ----------
    units : sequence of UnitGrowth

    Returns
    -------
    Pooled
        Of a unit without a level the rate of its site, with the range that this leaves.
    """
    shown = np.array([one.level is not None for one in units], dtype=bool)
    levels = np.array([max(one.level or 0.0, 0.0) for one in units])
    errors = np.array([one.error if one.level is not None else np.inf for one in units])
    readings = levels, errors, np.array([one.years for one in units])
    exposures, sites = _groups([one.exposure for one in units]), _groups([one.site for one in units])
    design = np.hstack([np.ones((len(units), 1)), exposures, sites])
    sizes = (1, exposures.shape[1], sites.shape[1])
    spreads, effects, others = _fitted(_only(readings, shown), design[shown], sizes)
    centres, variances = _centres(design, effects, spreads[2])
    centres[shown], variances[shown] = others
    _, odd = _judged(readings, (centres, variances))
    priors = tuple(
        RatePrior(middle, spread, ODD_SHARE, ODD_SPREAD)
        for middle, spread in zip(_in_steps(centres), _in_steps(np.sqrt(variances)), strict=True)
    )
    by_exposure, by_site, by_unit = (float(one) for one in spreads)
    usual = np.where(shown, 1.0 - odd, 1.0)
    return Pooled(priors, float(np.exp(effects[0][0])), by_exposure, by_site, by_unit, usual)


def _in_steps(logs: Array) -> list[float]:
    """Logarithms in steps, at least one."""
    steps = np.round(logs / STEP)
    return [round(float(one) * STEP, 9) for one in np.where(steps == 0.0, 1.0, steps)]


def _only(readings: Readings, shown: BoolArray) -> Readings:
    """Readings of the units that were read."""
    levels, errors, years = readings
    return levels[shown], errors[shown], years[shown]


def _fitted(
    readings: Readings, design: Array, sizes: tuple[int, int, int]
) -> tuple[Array, tuple[Array, Array], tuple[Array, Array]]:
    """Spreads, effects, and what the others say of each unit that was read, in turns until they agree."""
    count = len(design)
    spreads, odd, centre = np.full(3, USUAL_SPREAD), np.zeros(count), np.full(count, PRIOR_MIDDLE)
    others = centre, np.zeros(count)
    effects = _effects(*_as_logs(readings, centre), odd, design, sizes, spreads)
    for _ in range(ROUNDS if count else 0):
        read = _as_logs(readings, centre)
        spreads = _spreads(*read, odd, design, sizes, spreads)
        effects = _effects(*read, odd, design, sizes, spreads)
        others = _without_own(*read, odd, _centres(design, effects, spreads[2]), spreads[2])
        posterior, odd = _judged(readings, others)
        centre = posterior @ RATES
    return spreads, effects, others


def _as_logs(readings: Readings, centre: Array) -> tuple[Array, Array]:
    """Readings as logarithms of rates and their variances, linear about the present ones.

    A level about zero has no logarithm, and its error in one would seem large or small by chance.
    """
    levels, errors, years = readings
    expected = np.exp(centre) * years
    steps = np.clip((levels - expected) / expected, -LONGEST_STEP, LONGEST_STEP)
    return centre + steps, (errors / expected) ** 2


def learnt_rates(units: Sequence[UnitGrowth]) -> list[LearntRate | None]:
    """What each unit of a fleet learns from the others.

    Parameters
    ----------
    units : sequence of UnitGrowth
        In the order of the fleet.

    Returns
    -------
    list of LearntRate or None
        None where no other unit was read; large fleets are pooled in parts of whole sites.
    """
    learnt: list[LearntRate | None] = [None] * len(units)
    for part in _parts([one.site for one in units]):
        some = [units[place] for place in part]
        read = [one for one in some if one.level is not None]
        by_site = Counter(one.site for one in read if one.site)
        if not read:
            continue
        for place, prior in zip(part, pooled_growth(some).priors, strict=True):
            one = units[place]
            own = one.level is not None
            others, here = len(read) - own, by_site[one.site] - (own and bool(one.site))
            learnt[place] = LearntRate(prior, others, here) if others else None
    return learnt


def _parts(sites: Sequence[str]) -> list[list[int]]:
    """Places of units in parts of whole sites, at most `MOST_POOLED` where no site is larger."""
    by_site: dict[str, list[int]] = {}
    for place, site in enumerate(sites):
        by_site.setdefault(site, []).append(place)
    parts: list[list[int]] = [[]]
    for places in by_site.values():
        if parts[-1] and len(parts[-1]) + len(places) > MOST_POOLED:
            parts.append([])
        parts[-1] += places
    return [part for part in parts if part]


def _groups(names: Sequence[str]) -> Array:
    """Columns of zeros and ones, one a name; without a name a unit belongs to none."""
    known = [name for name in dict.fromkeys(names) if name]
    return np.array([[float(name == one) for one in known] for name in names]).reshape(len(names), len(known))


def _noise(errors: Array, odd: Array, unit_spread: float) -> Array:
    """Variance of a shown rate about its site's, the unit's own and its reading's.

    Of its mean precision over a usual and an odd unit, as the EM algorithm weighs a mixture.
    """
    usual = unit_spread**2 + errors
    return np.asarray(1.0 / ((1.0 - odd) / usual + odd / (usual + ODD_SPREAD**2)))


def _prior(sizes: tuple[int, int, int], spreads: Array) -> Array:
    """Variances of middle, surroundings and sites."""
    return np.repeat([PRIOR_SPREAD**2, spreads[0] ** 2, spreads[1] ** 2], sizes)


def _effects(
    logs: Array, errors: Array, odd: Array, design: Array, sizes: tuple[int, int, int], spreads: Array
) -> tuple[Array, Array]:
    """Posterior mean and covariance of middle, surroundings and sites."""
    noise = _noise(errors, odd, float(spreads[2]))
    prior = np.maximum(_prior(sizes, spreads), 1e-12)
    precision = np.diag(1.0 / prior) + (design.T / noise) @ design
    covariance = np.linalg.inv(precision)
    start = np.zeros(prior.size)
    start[0] = PRIOR_MIDDLE
    return np.asarray(covariance @ (start / prior + design.T @ (logs / noise))), np.asarray(covariance)


def _spreads(
    logs: Array, errors: Array, odd: Array, design: Array, sizes: tuple[int, int, int], start: Array
) -> Array:
    """Standard deviations that explain the rates best, by surroundings, site and unit."""
    off = logs - PRIOR_MIDDLE

    def unlikely(log_spreads: Array) -> float:
        spreads = np.exp(log_spreads)
        noise = _noise(errors, odd, float(spreads[2]))
        prior = np.maximum(_prior(sizes, spreads), 1e-12)
        inner = np.diag(1.0 / prior) + (design.T / noise) @ design
        pull = design.T @ (off / noise)
        square = off @ (off / noise) - pull @ np.linalg.solve(inner, pull)
        volume = np.log(noise).sum() + np.log(prior).sum() + np.linalg.slogdet(inner)[1]
        return float(0.5 * (square + volume) + 0.5 * np.sum((log_spreads - np.log(USUAL_SPREAD)) ** 2))

    found = minimize(unlikely, np.log(start), method="L-BFGS-B", bounds=[(-5.0, 1.5)] * 3)
    return np.asarray(np.exp(found.x))


def _centres(design: Array, effects: tuple[Array, Array], unit_spread: float) -> tuple[Array, Array]:
    """Middle of the logarithm of each unit's rate and its variance, by its site and surroundings."""
    mean, covariance = effects
    around = np.einsum("ij,jk,ik->i", design, covariance, design)
    return np.asarray(design @ mean), np.asarray(around + unit_spread**2)


def _without_own(
    logs: Array, errors: Array, odd: Array, centres: tuple[Array, Array], unit_spread: float
) -> tuple[Array, Array]:
    """The same of units that were read, without what their own reading adds."""
    around, noise = centres[1] - unit_spread**2, _noise(errors, odd, unit_spread)
    left = 1.0 / (1.0 / around - 1.0 / noise)
    return np.asarray(centres[0] + left / noise * (centres[0] - logs)), np.asarray(left + unit_spread**2)


def _judged(readings: Readings, others: tuple[Array, Array]) -> tuple[Array, Array]:
    """Posterior of each unit's rate over `RATES`, and the probability that it is an odd one.

    Shapes (units, rates) and (units,). A unit that was not read has an infinite error.
    """
    levels, errors, years = readings
    squares = ((levels[:, None] - np.exp(RATES) * years[:, None]) / errors[:, None]) ** 2
    likely = np.exp(-0.5 * (squares - squares.min(axis=1, keepdims=True)))
    usual = (1.0 - ODD_SHARE) * likely * _normal(others[0], others[1])
    odd = ODD_SHARE * likely * _normal(others[0], others[1] + ODD_SPREAD**2)
    total = (usual + odd).sum(axis=1)
    return (usual + odd) / total[:, None], odd.sum(axis=1) / total


def _normal(middle: Array, variance: Array) -> Array:
    """Density of the logarithm of a rate over `RATES`, shape (units, rates)."""
    squares = (RATES - middle[:, None]) ** 2 / variance[:, None]
    return np.asarray(np.exp(-0.5 * squares) / np.sqrt(variance[:, None]))
