"""What units of the same nameplate learn from one another: parameters of the clean unit, pooled.

A unit's parameters θ (`calibration.clean_fit.parameters`, in prior spreads) are what its model adds and what
the unit itself adds, θ = s + o. Where the factory sets a parameter, s ~ N(0, ρ) and o ~ N(0, 1 - ρ): one
share ρ for all nameplates, so that a unit of which nothing else is known keeps its plain spread. Charge,
lines and what a fan was measured to use are set at the site: there o has all of it (`OF_THE_SITE`).

The clean visits to a unit say exp(h θ - θ J θ / 2) of it (`Baseline.visits_alone`), nameplate and prior left
out, as both are in each unit's own fit. With P the covariance of o, a unit says of its model

  K = J (I + P J)⁻¹,  k = (I + J P)⁻¹ h,

and a unit gets from the others of its nameplate the mean m = Λ⁻¹ Σ k and the covariance P + Λ⁻¹, where
Λ = I/ρ + Σ K; its own visits come in its fit, so that each reading counts once. ρ is its posterior mean over
`SHARES`, all of them equally likely beforehand, by the likelihood of all nameplates that two units or more
were read of; it is given in steps, so that a visit to another nameplate changes nothing.

An odd unit (another compressor, a nameplate wrongly typed) is not dragged along and drags nobody. With the
probability `ODD_SHARE` a unit has nothing to do with its nameplate's others: θ ~ N(0, I). By the probability
1 - w that its visits leave for being one of them, its K and k count for the others, and what these say of it
counts for itself: its prior has the precision (1 - w) (P + Λ⁻¹)⁻¹ + w I, as the EM algorithm weighs a
mixture.

Assumptions: the fits are normal about their maximum. Errors of visits are independent: of meters that one
technician takes to all units, and of the model's own that all units of a model share, the pooled part holds
what they have in common, as if it were the units'. A part of 1 - ρ of each spread stays with the unit however
many others there are. An odd unit without a clean visit looks like any other, and is taken for one of them
but for `ODD_SHARE`.

References
----------
Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, ch. 5 (hierarchical models), 22 (mixtures, EM). Lindley,
D. V., Smith, A. F. M., Bayes estimates for the linear model, J. R. Stat. Soc. B 34, 1972. All from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from calibration.clean_fit.parameter_prior import ParameterPrior
from calibration.clean_fit.parameters import NAMES, SPREADS
from model.arrays import Array

ODD_SHARE = 0.05
"""Share of units that are not what their nameplate says [-]; a choice of this package, none is published."""
ODD_BELOW = 0.5
"""Probability of being one of its nameplate below which a unit is taken for an odd one [-]."""
OF_THE_SITE = ("charge", "liquid_line_drop", "suction_line", "fan_power")
"""Parameters that units of one model do not share: set where a unit is installed, or, of the fan, counted
from what was measured."""
SHARES = np.arange(20) / 20
"""Shares of the variance that units of one model have in common [-], and the steps in which it is given."""
ROUNDS = 8
"""Rounds of shares and probabilities [-]."""
MOST_POOLED = 1000
"""Units that are pooled at once [-]: whole nameplates, more only where one is larger."""
_MODELS = np.array([float(name not in OF_THE_SITE) for name in NAMES])
_ONES = np.eye(len(NAMES))


@dataclass(frozen=True, eq=False)
class UnitShown:
    """What the clean visits to one unit show.

    Attributes
    ----------
    nameplate : str
        The same for units that may learn from one another; empty for one that may not.
    visits_alone : (ndarray, ndarray) or None
        `calibration.clean_fit.baseline.Baseline.visits_alone`; None where it was not read clean.
    """

    nameplate: str
    visits_alone: tuple[Array, Array] | None = None


@dataclass(frozen=True, eq=False)
class LearntParameters:
    """What other units say of the clean unit.

    Attributes
    ----------
    prior : ParameterPrior
        Of its parameters, its own visits left out.
    others : int
        Units of the same nameplate that it is learnt from; odd ones are not counted.
    alike : float or None
        Probability that the unit is like them [-]; None where it was not read clean itself.
    share : float
        Part of the variance that units of one model have in common [-].
    """

    prior: ParameterPrior
    others: int
    alike: float | None
    share: float


@dataclass(frozen=True, eq=False)
class _Group:
    """Places of the units of a nameplate, those of them that were read, and what these show [spreads]."""

    places: list[int]
    read: list[int]
    information: Array
    pull: Array


def learnt_parameters(units: Sequence[UnitShown]) -> list[LearntParameters | None]:
    """What each unit of a fleet learns from the others of its nameplate.

    Parameters
    ----------
    units : sequence of UnitShown
        In the order of the fleet.

    Returns
    -------
    list of LearntParameters or None
        None where no other unit of the nameplate was read clean, or where units of one nameplate turn out to
        have nothing in common.
    """
    learnt: list[LearntParameters | None] = [None] * len(units)
    groups = _groups(units)
    share = _share(groups)
    for group in groups if share > 0.0 else ():
        for place, one in _of_group(group, share).items():
            learnt[place] = one
    return learnt


def parts_of(nameplates: Sequence[str]) -> list[list[int]]:
    """Places of units that are pooled at once: whole nameplates, so that memory is bounded.

    Parameters
    ----------
    nameplates : sequence of str
        Of each unit; empty for one that may not learn.

    Returns
    -------
    list of list of int
        Of nameplates with more than one unit, in the order of their names.
    """
    parts: list[list[int]] = []
    for places in _places(nameplates):
        if not parts or len(parts[-1]) + len(places) > MOST_POOLED:
            parts.append([])
        parts[-1] += places
    return parts


def _places(nameplates: Sequence[str]) -> list[list[int]]:
    """Places of the units of each nameplate that has more than one."""
    by_name: dict[str, list[int]] = {}
    for place, name in enumerate(nameplates):
        if name:
            by_name.setdefault(name, []).append(place)
    return [places for _, places in sorted(by_name.items()) if len(places) > 1]


def _groups(units: Sequence[UnitShown]) -> list[_Group]:
    """Nameplates of which one unit can learn from another."""
    groups = []
    for places in _places([one.nameplate for one in units]):
        shown = [(place, seen) for place in places if (seen := units[place].visits_alone) is not None]
        if shown:
            information = np.array([seen[0] for _, seen in shown]) * np.outer(SPREADS, SPREADS)
            pull = np.array([seen[1] for _, seen in shown]) * SPREADS
            groups.append(_Group(places, [place for place, _ in shown], information, pull))
    return groups


def _share(groups: list[_Group]) -> float:
    """Part of the variance that units of one model have in common, in the steps of `SHARES`."""
    several = [group for group in groups if len(group.read) > 1]
    usual = [np.full(len(group.read), 1.0 - ODD_SHARE) for group in several]
    mean = float(SHARES.mean())
    for _ in range(ROUNDS if several else 0):
        likely = np.array(
            [sum(map(_log_likelihood, several, usual, [share] * len(several))) for share in SHARES]
        )
        weights = np.exp(likely - likely.max())
        mean = float(weights @ SHARES / weights.sum())
        usual = [_usual(group, mean, one) for group, one in zip(several, usual, strict=True)]
    return float(SHARES[int(np.argmin(np.abs(SHARES - mean)))])


def _said(group: _Group, share: float) -> tuple[Array, Array, Array]:
    """Of each unit K and k, and the logarithm of what is left, its own part integrated out."""
    own = 1.0 - share * _MODELS
    spread = _ONES + own[:, None] * group.information
    inverse = np.linalg.inv(spread)
    said = group.information @ inverse
    pull = np.einsum("nji,nj->ni", inverse, group.pull)
    inside = np.einsum("ni,nij,j,nj->n", group.pull, inverse, own, group.pull)
    return said, pull, 0.5 * (inside - np.linalg.slogdet(spread)[1])


def _log_likelihood(group: _Group, usual: Array, share: float) -> float:
    """Logarithm of the likelihood of a share by the units of one nameplate, each as far as it is usual."""
    said, pull, left = _said(group, share)
    common = share * _MODELS
    together, pulls = np.einsum("n,nij->ij", usual, said), usual @ pull
    spread = _ONES + common[:, None] * together
    inside = pulls @ np.linalg.solve(spread, common * pulls)
    return float(usual @ left + 0.5 * (inside - np.linalg.slogdet(spread)[1]))


def _by_others(group: _Group, usual: Array, share: float) -> tuple[Array, Array]:
    """Mean and covariance of each read unit by the others; the last is of one that was not read.

    Shapes (units + 1, parameters) and (units + 1, parameters, parameters).
    """
    said, pull, _ = _said(group, share)
    said, pull = usual[:, None, None] * said, usual[:, None] * pull
    without = said.sum(axis=0) - np.concatenate([said, 0.0 * said[:1]])
    pulls = pull.sum(axis=0) - np.concatenate([pull, 0.0 * pull[:1]])
    common = share * _MODELS
    left = np.linalg.solve(_ONES + common[:, None] * without, np.broadcast_to(np.diag(common), without.shape))
    left = 0.5 * (left + np.swapaxes(left, 1, 2))
    return np.einsum("nij,nj->ni", left, pulls), np.diag(1.0 - common) + left


def _usual(group: _Group, share: float, usual: Array) -> Array:
    """Probability of each unit that was read to be one of its nameplate."""
    mean, covariance = _by_others(group, usual, share)
    as_others = _evidence(group, mean[:-1], covariance[:-1])
    alone = _evidence(group, np.zeros_like(mean[:-1]), np.broadcast_to(_ONES, covariance[:-1].shape))
    odds = np.log((1.0 - ODD_SHARE) / ODD_SHARE) + as_others - alone
    return np.asarray(1.0 / (1.0 + np.exp(-np.clip(odds, -500.0, 500.0))))


def _evidence(group: _Group, mean: Array, covariance: Array) -> Array:
    """Logarithm of the probability of each unit's readings by a normal prior, but for a constant."""
    pull = group.pull - np.einsum("nij,nj->ni", group.information, mean)
    at_mean = np.einsum("ni,ni->n", group.pull + pull, mean)
    spread = _ONES + covariance @ group.information
    moved = np.linalg.solve(spread, np.einsum("nij,nj->ni", covariance, pull)[..., None])[..., 0]
    inside = np.einsum("ni,ni->n", pull, moved)
    return np.asarray(0.5 * (at_mean + inside - np.linalg.slogdet(spread)[1]))


def _of_group(group: _Group, share: float) -> dict[int, LearntParameters]:
    """What each unit of a nameplate learns, by its place."""
    usual = np.full(len(group.read), 1.0 - ODD_SHARE)
    for _ in range(ROUNDS):
        usual = _usual(group, share, usual)
    mean, covariance = _by_others(group, usual, share)
    alike = int(np.sum(usual >= ODD_BELOW))
    found = {}
    for place in group.places:
        row = group.read.index(place) if place in group.read else -1
        own = None if row < 0 else float(usual[row])
        others = alike - (own is not None and own >= ODD_BELOW)
        if others:
            weight = 1.0 - ODD_SHARE if own is None else own
            prior = _weighed(mean[row], covariance[row], weight)
            found[place] = LearntParameters(prior, others, own, share)
    return found


def _weighed(mean: Array, covariance: Array, usual: float) -> ParameterPrior:
    """What others say, as far as the unit is one of them."""
    precision = usual * np.linalg.inv(covariance)
    wide = np.linalg.inv(precision + (1.0 - usual) * _ONES)
    scaled = 0.5 * (wide + wide.T)
    return ParameterPrior(scaled @ precision @ mean * SPREADS, scaled * np.outer(SPREADS, SPREADS))
