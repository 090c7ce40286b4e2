"""What units learn from one another: growth rates pooled by surroundings and site (empirical Bayes).

The logarithm of a unit's growth rate is a middle, plus what its surroundings, its site and the unit itself
add, each normally distributed about zero. Variances of the three and the middle are those that explain the
rates of all units best (greatest marginal likelihood, with a weak prior on each). A unit's pooled rate is its
posterior mean: one that was just read for the first time leans on its site, one with a precise level of its
own hardly. An odd unit is not dragged along: what a unit adds comes from a narrow normal distribution or,
with a small probability, from a wide one; by the probability that the readings leave for either, an odd unit
keeps its own rate and does not bend its site's.

Assumptions: fouling grows linearly from the last known cleaning. A level of `OWN_SPREAD` off any smooth
growth is part of its error. Two units with nothing in common share the middle alone.

References
----------
Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, ch. 5 (hierarchical models), 22 (mixtures, EM). Efron, B.
and Morris, C., Data analysis using Stein's estimator and its generalizations, JASA 70, 1975. Both from
memory.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import minimize

from calibration.costs.growth_fit import OWN_SPREAD
from calibration.estimate import Estimate
from model.arrays import Array
from model.maintenance.growth import CONDENSER_RATE_HIGH, CONDENSER_RATE_LOW, NORMAL_95

ODD_SHARE, ODD_SPREAD = 0.05, 1.2
"""Share of units that foul unlike their site, and the further standard deviation of the logarithm of their
rate [-]; a choice."""
ROUNDS = 12
"""Rounds of weights and variances [-]."""
LONGEST_STEP = 1.0
"""Longest step of a logarithm in one round [-]."""
SHORTEST_TIME = 0.08
"""Time since clean below which a level says nothing of the growth [a]: a month."""
MOST_POOLED = 1000
"""Units that are pooled at once [-]."""
DIGITS = 6
"""Significant digits of a pooled rate in a table [-]."""
USUAL_SPREAD = 0.5
"""Middle of the prior of each standard deviation, of the logarithm of a rate [-]; a choice."""
PRIOR_MIDDLE = 0.5 * np.log(CONDENSER_RATE_LOW * CONDENSER_RATE_HIGH)
PRIOR_SPREAD = 0.5 * np.log(CONDENSER_RATE_HIGH / CONDENSER_RATE_LOW) / NORMAL_95
"""Logarithm of the rate of a condenser of which nothing is known, and its spread (published span)."""


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
class Pooled:
    """Pooled growth rates of a fleet.

    Attributes
    ----------
    rates : tuple of Estimate
        Of each unit, with 90 % ranges [1/a].
    middle : float
        Rate of a unit of which nothing is known [1/a].
    exposure_spread, site_spread, unit_spread : float
        Standard deviations of the logarithm of the rate [-].
    weights : ndarray, shape (units,)
        How much each unit counts as one of its kind [-]: near 0 for an odd one.
    """

    rates: tuple[Estimate, ...]
    middle: float
    exposure_spread: float
    site_spread: float
    unit_spread: float
    weights: Array


def growth_of_row(row: Mapping[str, Any]) -> UnitGrowth:
    """What a row of the table of results shows of its unit's growth.

    Parameters
    ----------
    row : mapping
        Values by column.

    Returns
    -------
    UnitGrowth
        Without a level where none since a known cleaning is there, or other work is claimed.
    """
    site, exposure = str(row.get("site") or ""), str(row.get("exposure") or "")
    years, level = row.get("years_since_clean"), row.get("grown_level")
    low, high = row.get("grown_level_low"), row.get("grown_level_high")
    if years is None or level is None or low is None or high is None or years < SHORTEST_TIME:
        return UnitGrowth(site, exposure)
    spread = float(np.hypot((high - low) / (2.0 * NORMAL_95), OWN_SPREAD))
    return UnitGrowth(site, exposure, float(level), spread, float(years))


def pooled_growth(units: Sequence[UnitGrowth]) -> Pooled:
    """Growth rates of all units of a fleet from what each shows.

    Parameters
    ----------
    units : sequence of UnitGrowth

    Returns
    -------
    Pooled
        A unit without a level has the rate of its site, with the range that this leaves.
    """
    shown = np.array([place for place, one in enumerate(units) if one.level is not None], dtype=int)
    levels, errors, years = (
        np.array([getattr(units[place], name) for place in shown], dtype=float)
        for name in ("level", "error", "years")
    )
    exposures, sites = _groups([one.exposure for one in units]), _groups([one.site for one in units])
    design = np.hstack([np.ones((len(units), 1)), exposures, sites])
    sizes = (1, exposures.shape[1], sites.shape[1])
    weights, spreads = np.ones(shown.size), np.full(3, USUAL_SPREAD)
    centre = np.full(shown.size, PRIOR_MIDDLE)
    read = _as_logs(levels, errors, years, centre)
    effects = _effects(*read, weights, design[shown], sizes, spreads)
    for _ in range(ROUNDS if shown.size else 0):
        spreads = _spreads(*read, weights, design[shown], sizes, spreads)
        effects = _effects(*read, weights, design[shown], sizes, spreads)
        weights = _weights(*read, (design[shown], *effects), spreads[2])
        centre, _ = _centres(design[shown], effects, spreads[2], (np.arange(shown.size), *read, weights))
        read = _as_logs(levels, errors, years, centre)
    effects = _effects(*read, weights, design[shown], sizes, spreads)
    logs, variances = _centres(design, effects, spreads[2], (shown, *read, weights))
    reach = NORMAL_95 * np.sqrt(variances)
    rates = tuple(
        Estimate(float(np.exp(c)), float(np.exp(c - r)), float(np.exp(c + r)))
        for c, r in zip(logs, reach, strict=True)
    )
    every = np.ones(len(units))
    every[shown] = weights
    by_exposure, by_site, by_unit = (float(one) for one in spreads)
    return Pooled(rates, float(np.exp(effects[0][0])), by_exposure, by_site, by_unit, every)


def _as_logs(levels: Array, errors: Array, years: Array, centre: Array) -> tuple[Array, Array]:
    """Readings as logarithms of rates and their variances, linear about the present ones.

    A level about zero has no logarithm, and its error in one would seem large or small by chance.
    """
    expected = np.exp(centre) * years
    steps = np.clip((levels - expected) / expected, -LONGEST_STEP, LONGEST_STEP)
    return centre + steps, (errors / expected) ** 2


def with_pooled_rates(rows: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Rows of a table of results with the pooled growth rate of each unit.

    Parameters
    ----------
    rows : sequence of mapping
        Values by column, in the order of the fleet.

    Returns
    -------
    list of dict
        The same with `pooled_rate` and its range [1/a]; large fleets are pooled in parts of whole sites.
    """
    pooled: list[Estimate] = [Estimate(0.0, 0.0, 0.0)] * len(rows)
    for part in _parts([str(row.get("site") or "") for row in rows]):
        rates = pooled_growth([growth_of_row(rows[place]) for place in part]).rates
        for place, rate in zip(part, rates, strict=True):
            pooled[place] = rate
    return [
        {
            **row,
            "pooled_rate": float(f"{rate.value:.{DIGITS}g}"),
            "pooled_rate_low": float(f"{rate.low:.{DIGITS}g}"),
            "pooled_rate_high": float(f"{rate.high:.{DIGITS}g}"),
        }
        for row, rate in zip(rows, pooled, strict=True)
    ]


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


def _noise(errors: Array, weights: Array, unit_spread: float) -> Array:
    """Variance of a shown rate about its site's: the unit's own, and its reading's."""
    return np.asarray(unit_spread**2 / weights + errors)


def _prior(sizes: tuple[int, int, int], spreads: Array) -> Array:
    """Variances of middle, surroundings and sites."""
    return np.repeat([PRIOR_SPREAD**2, spreads[0] ** 2, spreads[1] ** 2], sizes)


def _effects(
    logs: Array, errors: Array, weights: Array, design: Array, sizes: tuple[int, int, int], spreads: Array
) -> tuple[Array, Array]:
    """Posterior mean and covariance of middle, surroundings and sites."""
    noise = _noise(errors, weights, float(spreads[2]))
    prior = np.maximum(_prior(sizes, spreads), 1e-12)
    precision = np.diag(1.0 / prior) + (design.T / noise) @ design
    covariance = np.linalg.inv(precision)
    start = np.zeros(prior.size)
    start[0] = PRIOR_MIDDLE
    return np.asarray(covariance @ (start / prior + design.T @ (logs / noise))), np.asarray(covariance)


def _spreads(
    logs: Array, errors: Array, weights: Array, design: Array, sizes: tuple[int, int, int], start: Array
) -> Array:
    """Standard deviations that explain the rates best, by surroundings, site and unit."""
    off = logs - PRIOR_MIDDLE

    def unlikely(log_spreads: Array) -> float:
        spreads = np.exp(log_spreads)
        noise = _noise(errors, weights, float(spreads[2]))
        prior = np.maximum(_prior(sizes, spreads), 1e-12)
        inner = np.diag(1.0 / prior) + (design.T / noise) @ design
        pull = design.T @ (off / noise)
        square = off @ (off / noise) - pull @ np.linalg.solve(inner, pull)
        volume = np.log(noise).sum() + np.log(prior).sum() + np.linalg.slogdet(inner)[1]
        return float(0.5 * (square + volume) + 0.5 * np.sum((log_spreads - np.log(USUAL_SPREAD)) ** 2))

    found = minimize(unlikely, np.log(start), method="L-BFGS-B", bounds=[(-5.0, 1.5)] * 3)
    return np.asarray(np.exp(found.x))


def _weights(logs: Array, errors: Array, fitted: tuple[Array, Array, Array], unit_spread: float) -> Array:
    """Usual variance of what a unit adds over that of this unit, which may be an odd one."""
    design, mean, covariance = fitted
    off = logs - design @ mean
    around = errors + np.einsum("ij,jk,ik->i", design, covariance, design)
    usual, odd = unit_spread**2, unit_spread**2 + ODD_SPREAD**2
    squares = off**2 / (usual + around) - off**2 / (odd + around)
    odds = ODD_SHARE / (1.0 - ODD_SHARE) * np.sqrt((usual + around) / (odd + around))
    share = odds / (odds + np.exp(-0.5 * np.clip(squares, 0.0, 200.0)))
    return np.asarray(usual / (usual + share * (odd - usual)))


def _centres(
    design: Array,
    effects: tuple[Array, Array],
    unit_spread: float,
    shown: tuple[Any, Array, Array, Array],
) -> tuple[Array, Array]:
    """Logarithm of each unit's rate and its variance, its own reading taken into account."""
    (mean, covariance), (places, logs, errors, weights) = effects, shown
    centre = design @ mean
    variance = np.einsum("ij,jk,ik->i", design, covariance, design) + unit_spread**2
    own = unit_spread**2 / weights
    gain = own / (own + errors)
    around = np.einsum("ij,jk,ik->i", design[places], covariance, design[places])
    variance[places] = own * (1.0 - gain) + (1.0 - gain) ** 2 * around
    centre[places] += gain * (logs - centre[places])
    return np.asarray(centre), np.asarray(variance)
