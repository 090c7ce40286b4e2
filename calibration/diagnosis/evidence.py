"""How well each explanation accounts for a visit, with every reading right and with readings grossly wrong.

For one explanation and one level the readings are normal around what the cycle expects, with the covariance V
of all that is not known: the unit's parameters as the clean fit leaves them, the day's airflow, the settings'
errors (together, through the slopes), each meter's error, the model's own, and a share of what the fault
itself changes. The slopes are taken where the latent numbers are most likely under that explanation (two
rounds: at their prior mean, then there), so that a badly known unit is not judged by the slopes of the wrong
one. For a pair of faults the first round adds up the slopes of its two. Between the solved levels expected
readings and slopes follow piecewise cubics.

References
----------
Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, ch. 7.4 (marginal likelihood) and ch. 4 (normal
approximation); from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from calibration.diagnosis.gross_errors import FREE, GrossErrors
from calibration.diagnosis.hypotheses import LEVEL_NODES, PAIR_NODES, Hypothesis
from calibration.diagnosis.level_grid import LevelGrid, joined_faults, level_grid
from calibration.diagnosis.likelihood import Likelihood, log_of_sum, reading_covariance
from calibration.diagnosis.visit_model import (
    BLOWER,
    BLOWER_RESPONSE_SPREAD,
    RESPONSE_SPREAD,
    STANDING_GAS_SPREAD,
    Again,
    Asked,
    Response,
    Scene,
    solved_again,
    solved_together,
)
from model.arrays import Array, BoolArray, IndexArray
from model.cycle import batch_arrays
from model.cycle.faults import Faults

REFINED = 9.0
"""Explanations less probable than the best one by more than this logarithm are not solved a second time."""
MOST_REFINED_PAIRS = 2
"""Pairs of faults that are solved a second time, the most probable ones."""
FARTHEST = 3.0
"""The second round moves the latent numbers by no more than this many spreads in all [-]."""
IMPOSSIBLE = -1e30
"""Logarithm of a likelihood of nothing."""


@dataclass(frozen=True)
class Weighed:
    """One explanation against the readings, at fine levels.

    Attributes
    ----------
    hypothesis : Hypothesis
    levels : array (faults, points)
        0 to 1 [-]; one point and no fault for the unit without fault.
    weights : array (points,)
        Their prior probability [-].
    expected : array (points, rows)
        Of every row, at the latent numbers' prior means.
    own : array (points, rows)
        Standard deviation of what belongs to a row alone, the meter left out.
    possible : array of bool (points,)
        Where the unit would run.
    right : array (points,)
        Logarithm of prior and density with no gross error.
    one_wrong : array (points, errors)
        The same with one of the gross errors.
    two_wrong : array (points, pairs of errors)
        The same with two; no pairs for an explanation of two faults.
    pull, information : arrays (points, errors), (points, errors, errors)
        b and g of `calibration.diagnosis.likelihood`, for errors of one standard error of their reading.
    size, variance : arrays (points, errors)
        Mean and variance of each gross error that the other readings support, in standard errors.
    loose : float
        Logarithm of prior and evidence with the errors of "none of these".
    response : Response
        At the solved levels, shape (nodes,).
    """

    hypothesis: Hypothesis
    levels: Array
    weights: Array
    expected: Array
    own: Array
    possible: BoolArray
    right: Array
    one_wrong: Array
    two_wrong: Array
    pull: Array
    information: Array
    size: Array
    variance: Array
    loose: float
    response: Response

    @cached_property
    def slopes(self) -> Array:
        """Of every row by each latent number (points, rows, latents); large, so kept only once asked for."""
        return _slopes_between(level_grid(len(self.hypothesis.faults)), self.response)

    @cached_property
    def by_level(self) -> Array:
        """Logarithm of prior and evidence of each level, gross errors averaged over (points,)."""
        return log_of_sum(
            np.concatenate([self.right[:, None], self.one_wrong, self.two_wrong], axis=1), axis=1
        )

    @cached_property
    def evidence(self) -> float:
        """Logarithm of prior times evidence of the explanation, everything else averaged over."""
        return float(np.logaddexp.reduce(self.by_level))

    @cached_property
    def posterior(self) -> Array:
        """Probability of each level, given the readings and this explanation; adds to one (points,)."""
        logs = self.by_level
        shares = np.exp(logs - logs.max())
        return np.asarray(shares / shares.sum())


class Inquiry(NamedTuple):
    """What is asked of one visit.

    Attributes
    ----------
    place : Scene
    errors : GrossErrors
        What may be wrong about the readings.
    explanations : tuple of Hypothesis
        No fault first, then single faults, then pairs whose members are among them.
    """

    place: Scene
    errors: GrossErrors
    explanations: tuple[Hypothesis, ...]


def weighed(asked: Sequence[Inquiry], rounds: int = 2) -> list[tuple[Weighed, ...]]:
    """Each explanation of each visit against the readings that were taken.

    Parameters
    ----------
    asked : sequence of Inquiry
        Of visits of one unit, with explanations by the same faults: they are solved together.
    rounds : int
        How often the slopes are taken: 1 at the prior means alone.

    Returns
    -------
    list of tuple of Weighed
        In the order of the explanations of each.
    """
    grids = [level_grid(len(one.faults)) for one in asked[0].explanations]
    ends = np.cumsum([grid.nodes.shape[1] for grid in grids])
    parts = np.split(np.arange(ends[-1]), ends[:-1])
    faults = joined_faults(asked[0].explanations, [grid.nodes for grid in grids])
    responses = _first_responses(asked, grids, parts, faults)
    every = range(len(parts))
    found = [
        _weighed_anew(one, response, parts, every, []) for one, response in zip(asked, responses, strict=True)
    ]
    for _ in range(rounds - 1):
        close = [_close(each) for each in found]
        around = [
            np.concatenate([_around(one, each[number], response.expected[0]) for number in numbers])
            for one, each, response, numbers in zip(asked, found, responses, close, strict=True)
        ]
        nodes = [np.concatenate([parts[number] for number in numbers]) for numbers in close]
        again = solved_again(
            [
                Again(one.place, batch_arrays.chosen(faults, part), response.at(part), latent)
                for one, response, part, latent in zip(asked, responses, nodes, around, strict=True)
            ]
        )
        responses = [old.replaced(part, new) for old, part, new in zip(responses, nodes, again, strict=True)]
        found = [
            _weighed_anew(one, response, parts, numbers, each)
            for one, response, numbers, each in zip(asked, responses, close, found, strict=True)
        ]
    return [tuple(each) for each in found]


def _weighed_anew(
    one: Inquiry,
    response: Response,
    parts: Sequence[IndexArray],
    numbers: Sequence[int],
    before: Sequence[Weighed],
) -> list[Weighed]:
    """The explanations with some of them weighed by a new response; the others as before."""
    place, errors, explanations = one
    clean, anew = response.expected[0], dict(enumerate(before))
    for number in numbers:
        anew[number] = weighed_one(place, errors, explanations[number], response.at(parts[number]), clean)
    return list(anew.values())


def _close(found: Sequence[Weighed]) -> list[int]:
    """Explanations that may still win: no fault, the probable ones, and the few most probable pairs."""
    scores = np.array([one.evidence for one in found])
    near = [n for n in range(1, len(found)) if scores[n] > scores.max() - REFINED]
    pairs = sorted((n for n in near if len(found[n].hypothesis.faults) > 1), key=lambda n: -scores[n])
    left_out = set(pairs[MOST_REFINED_PAIRS:])
    return [0, *(n for n in near if n not in left_out)]


def _first_responses(
    asked: Sequence[Inquiry], grids: Sequence[LevelGrid], parts: Sequence[IndexArray], faults: Faults
) -> list[Response]:
    """Every level of each visit around the prior means, nothing solved twice.

    No fault is solved once, single faults at their other levels with slopes; of a pair the levels at which
    both faults are there, without slopes: they are added up from those of its two.
    """
    explanations = asked[0].explanations
    source = np.arange(sum(part.size for part in parts))
    alone = {one.key: part for one, part in zip(explanations, parts, strict=True)}
    pairs = np.zeros(source.size, dtype=bool)
    for one, grid, part in zip(explanations, grids, parts, strict=True):
        if len(one.faults) == 1:
            source[part[0]] = 0
        if len(one.faults) == 2:
            pairs[part] = True
            there = np.searchsorted(LEVEL_NODES, grid.nodes)
            for side in (0, 1):
                known = grid.nodes[1 - side] == 0.0
                source[part[known]] = source[alone[one.faults[side].key][there[side, known]]]
    own = np.flatnonzero(source == np.arange(source.size))
    chosen = batch_arrays.chosen(faults, own)
    solved = solved_together([Asked(one.place, chosen, sloped=~pairs[own]) for one in asked])
    to_all = np.searchsorted(own, source)
    return [_with_slopes_of_pairs(explanations, parts, each.at(to_all)) for each in solved]


def _with_slopes_of_pairs(
    explanations: Sequence[Hypothesis], parts: Sequence[IndexArray], response: Response
) -> Response:
    """The response with the slopes of pairs added up from those of their two faults."""
    slopes = response.slopes.copy()
    whole = slopes[0]
    at = np.searchsorted(LEVEL_NODES, PAIR_NODES)
    alone = {
        one.key: response.slopes[part[at]]
        for one, part in zip(explanations, parts, strict=True)
        if len(one.faults) == 1
    }
    for one, part in zip(explanations, parts, strict=True):
        if len(one.faults) == 2:
            first, second = (alone[fault.key] for fault in one.faults)
            both = first[:, None] + second[None, :] - whole
            slopes[part] = both.reshape(part.size, *whole.shape)
    return Response(response.expected, slopes, response.running, response.unknowns)


def _around(one: Inquiry, weighed: Weighed, clean: Array) -> Array:
    """Likeliest latent numbers at the nodes of an explanation, a probable gross error left out of account."""
    wrong = np.logaddexp.reduce(weighed.one_wrong, axis=0)
    probable = len(one.errors.names) and wrong.max() > np.logaddexp.reduce(weighed.right)
    own = np.sqrt(own_variance(one.place, weighed.response.expected, clean))
    free = int(np.argmax(wrong)) if probable else None
    return likeliest_at_nodes(one.place, one.errors, weighed.response, own, free)


def likeliest_at_nodes(
    place: Scene, errors: GrossErrors, response: Response, own: Array, free: int | None
) -> Array:
    """Likeliest latent numbers at some levels.

    Parameters
    ----------
    place : Scene
    errors : GrossErrors
    response : Response
        At the levels, shape (n,).
    own : ndarray, shape (n, rows)
        Standard deviation of what belongs to a row alone, the meter left out.
    free : int or None
        Gross error that is left out of account.

    Returns
    -------
    ndarray, shape (n, latents)
        In the unit of each latent number.
    """
    taken = place.readings
    covariance = reading_covariance(place, response.slopes[:, taken], own[:, taken], place.meter[taken])
    if free is not None:
        moved = FREE * errors.directions(taken, response.slopes[:, taken])[..., free]
        covariance = covariance + moved[:, :, None] * moved[:, None, :]
    return latent_mean(place, response, covariance)


def latent_mean(place: Scene, response: Response, covariance: Array) -> Array:
    """Likeliest latent numbers given the readings, within `FARTHEST` spreads of the prior.

    Parameters
    ----------
    place : Scene
        Readings, their meters and the prior.
    response : Response
        What the rows show under some faults, shapes (…, rows).
    covariance : ndarray, shape (…, readings, readings)
        Of measured less expected.

    Returns
    -------
    ndarray, shape (…, latents)
        In the unit of each latent number.

    References
    ----------
    The conditional mean of jointly normal numbers; Rasmussen and Williams, Gaussian Processes for Machine
    Learning, 2006, eq. (A.6) (from memory).
    """
    taken, prior = place.readings, place.prior_covariance
    slopes = response.slopes[..., taken, :]
    off = place.values[taken] - response.expected[..., taken]
    pull = np.linalg.solve(covariance, off[..., None])
    moved = (prior @ np.swapaxes(slopes, -1, -2) @ pull)[..., 0]
    # Its squared length in the prior's measure is pull' S P S' pull, so no inverse of the prior is needed.
    length = np.sqrt(np.einsum("...r,...r->...", pull[..., 0], np.einsum("...rl,...l->...r", slopes, moved)))
    return np.asarray(
        place.prior_mean + moved * np.minimum(1.0, FARTHEST / np.maximum(length, 1e-12))[..., None]
    )


def weighed_one(
    place: Scene,
    errors: GrossErrors,
    hypothesis: Hypothesis,
    response: Response,
    clean: Array,
    own: Array | None = None,
) -> Weighed:
    """One explanation against the readings.

    Parameters
    ----------
    place : Scene
    errors : GrossErrors
    hypothesis : Hypothesis
    response : Response
        At the nodes of its levels.
    clean : ndarray, shape (rows,)
        What the rows show without fault.
    own : ndarray, shape (points, rows), optional
        Standard deviation of what belongs to a row alone, where it is not to follow from `clean`.

    Returns
    -------
    Weighed
    """
    grid = level_grid(len(hypothesis.faults))
    expected = grid.between @ response.expected
    slopes = _slopes_between(grid, response)
    own = np.sqrt(own_variance(place, expected, clean)) if own is None else own
    possible = _possible(grid, response.running)
    use = slice(None) if np.all(possible) else possible  # nothing is copied where all are
    part = Likelihood(place, errors, expected[use], slopes[use], own[use])
    prior = np.log(hypothesis.prior) + np.log(grid.weights[use]) + errors.none_prior
    right = prior + part.right
    # Two errors beside two faults are not looked at.
    two_wrong = right[:, None] + part.two_wrong() if len(hypothesis.faults) < 2 else np.empty((right.size, 0))
    pull, information = _everywhere(possible, part.pull, 0.0), _everywhere(possible, part.information, 1.0)
    # A reading that the others say nothing of keeps the spread of one that is set free.
    variance = 1.0 / (np.diagonal(information, axis1=1, axis2=2) + FREE**-2)
    return Weighed(
        hypothesis=hypothesis,
        levels=grid.fine,
        weights=grid.weights,
        expected=expected,
        own=own,
        possible=possible,
        right=_everywhere(possible, right, IMPOSSIBLE),
        one_wrong=_everywhere(possible, right[:, None] + part.one_wrong(), IMPOSSIBLE),
        two_wrong=_everywhere(possible, two_wrong, IMPOSSIBLE),
        pull=pull,
        information=information,
        size=variance * pull,
        variance=variance,
        loose=float(np.logaddexp.reduce(prior + part.loose(), initial=IMPOSSIBLE)),
        response=response,
    )


def _everywhere(possible: BoolArray, values: Array, otherwise: float) -> Array:
    """Values at the possible levels, and a number at all others."""
    if np.all(possible):
        return values
    whole = np.full((possible.size, *values.shape[1:]), otherwise)
    whole[possible] = values
    return whole


def _slopes_between(grid: LevelGrid, response: Response) -> Array:
    """Slopes at the points between the nodes."""
    return np.asarray(np.tensordot(grid.between, _slopes_carried_on(grid, response), axes=1))


def _slopes_carried_on(grid: LevelGrid, response: Response) -> Array:
    """Slopes at the nodes; where the unit does not run, those of the nearest node where it does."""
    running = np.flatnonzero(response.running)
    if running.size in (0, response.running.size):
        return response.slopes
    apart = np.abs(grid.nodes[:, :, None] - grid.nodes[:, None, running]).sum(axis=0)
    return np.asarray(response.slopes[running[np.argmin(apart, axis=1)]])


def own_variance(place: Scene, expected: Array, clean: Array) -> Array:
    """Variance of each row's own error: the model's, and its share of what the faults change.

    Parameters
    ----------
    place : Scene
    expected : ndarray, shape (…, rows)
        What the rows show with the faults.
    clean : ndarray, shape (rows,)
        What they show without, at the same settings.

    Returns
    -------
    ndarray, shape (…, rows)
        In the squared units of the rows.
    """
    change = expected - clean
    share = np.full(len(place.names), RESPONSE_SPREAD)
    share[place.standing_row] = STANDING_GAS_SPREAD
    share[place.airflow_row] = 0.0
    if BLOWER in place.names and place.baseline.generic.indoor_fan.constant_airflow:
        share[place.names.index(BLOWER)] = BLOWER_RESPONSE_SPREAD
    return np.asarray(place.own**2 + (share * change) ** 2)


def _possible(grid: LevelGrid, running: BoolArray) -> BoolArray:
    """A level is possible where no milder (or equal) solved one stops the unit."""
    stopped = grid.nodes[:, ~running]
    beyond = np.all(grid.fine[:, :, None] >= stopped[:, None, :], axis=0)
    return np.asarray(~np.any(beyond, axis=1))


def chi_square(place: Scene, one: Weighed, point: int) -> float:
    """Sum of squared standardised differences of the readings at one level, their correlations counted.

    Parameters
    ----------
    place : Scene
        Readings, their meters and the prior.
    one : Weighed
        An explanation.
    point : int
        Place of the level in it.

    Returns
    -------
    float
        [-], about the number of readings where the explanation is right.
    """
    rows = place.readings
    slopes, own = one.slopes[point, rows], one.own[point, rows]
    off = place.values[rows] - one.expected[point, rows]
    return float(off @ np.linalg.solve(reading_covariance(place, slopes, own, place.meter[rows]), off))


def median_point(one: Weighed) -> int:
    """Place of the level that stands for an explanation.

    That of one fault is the median; the medians of two need not go together, so the likeliest pair stands for
    them.

    Parameters
    ----------
    one : Weighed
        An explanation.

    Returns
    -------
    int
        Into the last axis of its levels; 0 for the unit without fault.
    """
    posterior = one.posterior
    if len(one.levels) != 1:
        return int(np.argmax(posterior))
    return int(np.searchsorted(np.cumsum(posterior), 0.5))
