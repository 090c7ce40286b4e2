"""How well each explanation accounts for a visit, with every reading right and with readings grossly wrong.

For one explanation and one level the readings are normal around what the cycle expects, with the covariance V
of all that is not known: the unit's parameters as the clean fit leaves them, the day's airflow, the settings'
errors (together, through the slopes), each meter's error, the model's own, and a share of what the fault
itself changes. The slopes are taken where the latent numbers are most likely under that explanation (two
rounds: at their prior mean, then there), so that a badly known unit is not judged by the slopes of the wrong
one. For a pair of faults the first round adds up the slopes of its two. Between the solved levels expected
readings and slopes follow piecewise cubics.

A gross error widens V by k^2 d d', a matrix of rank one. With b = d' V^-1 r and g = d' V^-1 d for the
residuals r, the determinant lemma and the formula of Sherman and Morrison give the gain in the logarithm of
the density as (k^2 b^2 / (1 + k^2 g) - ln(1 + k^2 g)) / 2, and the error that the other readings support as b
/ g: one factor of V serves every reading, and every two of them with 2 by 2 matrices in the place of g.

References
----------
Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, ch. 7.4 (marginal likelihood) and ch. 4 (normal
approximation); Golub and Van Loan, Matrix Computations, 4th ed. 2013, sec. 2.1.4 (Sherman-Morrison-Woodbury);
both from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from calibration.diagnosis.gross_errors import SIZES, GrossErrors
from calibration.diagnosis.hypotheses import LEVEL_NODES, PAIR_NODES, Hypothesis
from calibration.diagnosis.level_grid import LevelGrid, joined_faults, level_grid
from calibration.diagnosis.visit_model import RESPONSE_SPREAD, STANDING_GAS_SPREAD, Response, Scene, solved
from model.cycle.faults import Faults

Array = NDArray[np.float64]
Places = NDArray[np.intp]

REFINED = 9.0
"""Explanations less probable than the best one by more than this logarithm are not solved a second time."""
MOST_REFINED_PAIRS = 2
"""Pairs of faults that are solved a second time, the most probable ones."""
FARTHEST = 3.0
"""The second round moves the latent numbers by no more than this many spreads in all [-]."""
USUAL_SIZE = SIZES[1]
"""Spread of a gross error where one must be chosen, in standard errors of the reading [-]."""
LOOSE_SCALES = (3.0, 8.0)
"""Errors of "none of these" over those that meters and model claim [-], each as likely as the other."""
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
    slopes : array (points, rows, latents)
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
        b and g of the module's text, for errors of one standard error of their reading.
    loose : float
        Logarithm of prior and evidence with the errors of "none of these".
    """

    hypothesis: Hypothesis
    levels: Array
    weights: Array
    expected: Array
    slopes: Array
    own: Array
    possible: NDArray[np.bool_]
    right: Array
    one_wrong: Array
    two_wrong: Array
    pull: Array
    information: Array
    loose: float

    @property
    def by_level(self) -> Array:
        """Logarithm of prior and evidence of each level, gross errors averaged over (points,)."""
        return np.asarray(
            np.logaddexp.reduce(
                np.concatenate([self.right[:, None], self.one_wrong, self.two_wrong], axis=1), axis=1
            )
        )

    @property
    def evidence(self) -> float:
        """Logarithm of prior times evidence of the explanation, everything else averaged over."""
        return float(np.logaddexp.reduce(self.by_level))

    @property
    def posterior(self) -> Array:
        """Probability of each level, given the readings and this explanation; adds to one (points,)."""
        logs = self.by_level
        shares = np.exp(logs - logs.max())
        return np.asarray(shares / shares.sum())


def weighed(
    place: Scene, explanations: Sequence[Hypothesis], errors: GrossErrors, rounds: int = 2
) -> tuple[Weighed, ...]:
    """Each explanation against the readings that were taken.

    Parameters
    ----------
    place : Scene
    explanations : sequence of Hypothesis
        No fault first, then single faults, then pairs whose members are among them.
    errors : GrossErrors
        What may be wrong about the readings.
    rounds : int
        How often the slopes are taken: 1 at the prior means alone.

    Returns
    -------
    tuple of Weighed
        In the order of `explanations`.
    """
    grids = [level_grid(len(one.faults)) for one in explanations]
    ends = np.cumsum([grid.nodes.shape[1] for grid in grids])
    parts = np.split(np.arange(ends[-1]), ends[:-1])
    faults = joined_faults(tuple(explanations), [grid.nodes for grid in grids])
    response = _first_response(place, explanations, grids, parts, faults)
    found = [_one(place, errors, *each, response) for each in zip(explanations, grids, parts, strict=True)]
    for _ in range(rounds - 1):
        close = _close(found)
        nodes = np.concatenate([parts[number] for number in close])
        around = np.concatenate(
            [_around(place, errors, found[number], response, parts[number]) for number in close]
        )
        response = _refined(place, faults, response, nodes, around)
        for number in close:
            found[number] = _one(place, errors, explanations[number], grids[number], parts[number], response)
    return tuple(found)


def _close(found: Sequence[Weighed]) -> list[int]:
    """Explanations that may still win: no fault, the probable ones, and the few most probable pairs."""
    scores = np.array([one.evidence for one in found])
    near = [n for n in range(1, len(found)) if scores[n] > scores.max() - REFINED]
    pairs = sorted((n for n in near if len(found[n].hypothesis.faults) > 1), key=lambda n: -scores[n])
    left_out = set(pairs[MOST_REFINED_PAIRS:])
    return [0, *(n for n in near if n not in left_out)]


def _first_response(
    place: Scene,
    explanations: Sequence[Hypothesis],
    grids: Sequence[LevelGrid],
    parts: Sequence[Places],
    faults: Faults,
) -> Response:
    """Every level around the prior means, nothing solved twice.

    No fault is solved once, single faults at their other levels with slopes; of a pair the levels at which
    both faults are there, without slopes: they are added up from those of its two.
    """
    count = sum(part.size for part in parts)
    source = np.arange(count)
    alone = {one.key: part for one, part in zip(explanations, parts, strict=True)}
    for one, grid, part in zip(explanations, grids, parts, strict=True):
        if len(one.faults) == 1:
            source[part[0]] = 0
        if len(one.faults) == 2:
            there = np.searchsorted(LEVEL_NODES, grid.nodes)
            for side in (0, 1):
                known = grid.nodes[1 - side] == 0.0
                source[part[known]] = source[alone[one.faults[side].key][there[side, known]]]
    own = np.flatnonzero(source == np.arange(count))
    pairs = np.concatenate(
        [
            np.zeros(0, dtype=np.intp),
            *(p for o, p in zip(explanations, parts, strict=True) if len(o.faults) == 2),
        ]
    )
    chosen = Faults(**{name: np.asarray(value)[own] for name, value in vars(faults).items()})
    response = solved(place, chosen, sloped=~np.isin(own, pairs)).at(np.searchsorted(own, source))
    return _with_slopes_of_pairs(explanations, parts, response)


def _with_slopes_of_pairs(
    explanations: Sequence[Hypothesis], parts: Sequence[Places], response: Response
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


def _around(place: Scene, errors: GrossErrors, one: Weighed, whole: Response, part: Places) -> Array:
    """Likeliest latent numbers at the nodes of an explanation, a probable gross error left out of account."""
    taken, response = place.readings, whole.at(part)
    own = np.sqrt(_own_variance(place, response.expected, whole.expected[0]))
    covariance = reading_covariance(place, response.slopes[:, taken], own[:, taken], place.meter[taken])
    wrong = np.logaddexp.reduce(one.one_wrong, axis=0)
    if len(errors.names) and wrong.max() > np.logaddexp.reduce(one.right):
        moved = USUAL_SIZE * errors.directions(taken, response.slopes[:, taken])[..., int(np.argmax(wrong))]
        covariance = covariance + moved[:, :, None] * moved[:, None, :]
    return latent_mean(place, response, covariance)


def _refined(place: Scene, faults: Faults, response: Response, part: Places, around: Array) -> Response:
    """The response with some levels solved again, around given latent numbers."""
    # Where the unit does not run nothing can be read, so there is nothing to be refined.
    runs = response.running[part]
    part, around = part[runs], around[runs]
    if part.size == 0:
        return response
    chosen = Faults(**{name: np.asarray(value)[part] for name, value in vars(faults).items()})
    new = solved(place, chosen, around.T, response.unknowns[:, part])
    # Slopes that lead to a unit that does not run have led too far: there the first round's stand.
    ran = np.flatnonzero(new.running)
    return response.replaced(part[ran], new.at(ran))


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


def _one(
    place: Scene, errors: GrossErrors, hypothesis: Hypothesis, grid: LevelGrid, part: Places, whole: Response
) -> Weighed:
    """One explanation, whose nodes are a part of all that were solved; the first of all has no fault."""
    response = whole.at(part)
    expected = grid.between @ response.expected
    slopes = np.tensordot(grid.between, _slopes_carried_on(grid, response), axes=1)
    own = np.sqrt(_own_variance(place, expected, whole.expected[0]))
    possible = _possible(grid, response.running)
    prior = np.log(hypothesis.prior) + np.log(grid.weights) + errors.none_prior
    count = len(errors.names)
    pairs = count * (count - 1) // 2 if len(hypothesis.faults) < 2 else 0
    points = grid.fine.shape[1]
    right, one_wrong = np.full(points, IMPOSSIBLE), np.full((points, count), IMPOSSIBLE)
    two_wrong = np.full((points, pairs), IMPOSSIBLE)
    pull, information = np.zeros((points, count)), np.ones((points, count, count))
    loose = IMPOSSIBLE
    if np.any(possible):
        part_of = _Likelihood(place, errors, expected[possible], slopes[possible], own[possible])
        right[possible] = prior[possible] + part_of.right
        one_wrong[possible] = right[possible][:, None] + part_of.one_wrong()
        if pairs:
            two_wrong[possible] = right[possible][:, None] + part_of.two_wrong()
        pull[possible], information[possible] = part_of.pull, part_of.information
        loose = float(np.logaddexp.reduce(prior[possible] + part_of.loose()))
    return Weighed(
        hypothesis,
        grid.fine,
        grid.weights,
        expected,
        slopes,
        own,
        possible,
        right,
        one_wrong,
        two_wrong,
        pull,
        information,
        loose,
    )


class _Likelihood:
    """Densities of the readings at some levels, from one factor of their covariance."""

    def __init__(self, place: Scene, errors: GrossErrors, expected: Array, slopes: Array, own: Array) -> None:
        taken = place.readings
        covariance = reading_covariance(place, slopes[:, taken], own[:, taken], place.meter[taken])
        off = place.values[taken] - expected[:, taken]
        moved = errors.directions(taken, slopes[:, taken])
        factor = np.linalg.cholesky(covariance)
        both = np.linalg.solve(factor, np.concatenate([off[..., None], moved], axis=2))
        scaled, moved = both[..., 0], both[..., 1:]
        self.count = len(taken)
        self.square = np.sum(scaled**2, axis=1)
        self.width = np.log(np.diagonal(factor, axis1=-2, axis2=-1)).sum(axis=1) + 0.5 * self.count * np.log(
            2 * np.pi
        )
        self.right = -0.5 * self.square - self.width
        self.pull = np.einsum("pne,pn->pe", moved, scaled)
        self.information = np.swapaxes(moved, 1, 2) @ moved
        self.odds = np.log(errors.odds)
        self.positive = errors.positive

    def loose(self) -> Array:
        """Logarithm of the density with all errors several times as large (points,)."""
        wide = np.array(LOOSE_SCALES)[:, None]
        logs = -0.5 * self.square / wide**2 - self.width - self.count * np.log(wide)
        return np.asarray(np.logaddexp.reduce(logs, axis=0) - np.log(len(LOOSE_SCALES)))

    def one_wrong(self) -> Array:
        """Logarithm of odds and gain of each gross error (points, errors)."""
        own = np.diagonal(self.information, axis1=1, axis2=2)
        gains = []
        for size in SIZES:
            wide = size**2
            gain = 0.5 * (wide * self.pull**2 / (1.0 + wide * own) - np.log1p(wide * own))
            score = size * self.pull / np.sqrt(1.0 + wide * own)
            gains.append(gain + _sign_factor(score, self.positive))
        return np.asarray(np.logaddexp.reduce(np.stack(gains), axis=0) - np.log(len(SIZES)) + self.odds)

    def two_wrong(self) -> Array:
        """Logarithm of odds and gain of every two gross errors (points, pairs), first of two slowest."""
        pairs = error_pairs(len(self.odds))
        first, second = pairs[:, 0], pairs[:, 1]
        own = np.diagonal(self.information, axis1=1, axis2=2)
        g11, g22, g12 = own[:, first], own[:, second], self.information[:, first, second]
        b1, b2 = self.pull[:, first], self.pull[:, second]
        gains = []
        for one in SIZES:
            for other in SIZES:
                # ln det(1 + K G) and b' (K^-1 + G)^-1 b for K = diag(one^2, other^2).
                m11, m22 = g11 + one**-2, g22 + other**-2
                determinant = m11 * m22 - g12**2
                sizes = (m22 * b1 - g12 * b2) / determinant, (m11 * b2 - g12 * b1) / determinant
                gain = 0.5 * (sizes[0] * b1 + sizes[1] * b2 - np.log(determinant * (one * other) ** 2))
                gain += _sign_factor(sizes[0] * np.sqrt(determinant / m22), self.positive[first])
                gain += _sign_factor(sizes[1] * np.sqrt(determinant / m11), self.positive[second])
                gains.append(gain)
        logs = np.logaddexp.reduce(np.stack(gains), axis=0) - 2.0 * np.log(len(SIZES))
        return np.asarray(logs + self.odds[first] + self.odds[second])


def _sign_factor(score: Array, positive: Array) -> Array:
    """Logarithm of how much more probable an error is for the side that its kind prefers.

    score: supported size over its standard deviation [-]; positive: probability of the positive side [-].
    """
    above = ndtr(score)
    return np.asarray(np.log(2.0 * (positive * above + (1.0 - positive) * (1.0 - above))))


def error_pairs(count: int) -> NDArray[np.intp]:
    """Every two of some gross errors.

    Parameters
    ----------
    count : int
        How many errors there are.

    Returns
    -------
    ndarray of int, shape (pairs, 2)
        Places of the two, in the order of `Weighed.two_wrong`.
    """
    return np.array(list(combinations(range(count), 2)), dtype=np.intp).reshape(-1, 2)


def _slopes_carried_on(grid: LevelGrid, response: Response) -> Array:
    """Slopes at the nodes; where the unit does not run, those of the nearest node where it does."""
    running = np.flatnonzero(response.running)
    if running.size in (0, response.running.size):
        return response.slopes
    apart = np.abs(grid.nodes[:, :, None] - grid.nodes[:, None, running]).sum(axis=0)
    return np.asarray(response.slopes[running[np.argmin(apart, axis=1)]])


def _own_variance(place: Scene, expected: Array, clean: Array) -> Array:
    """Variance of each row's own error: the model's, and its share of what the faults change."""
    change = expected - clean
    share = np.full(len(place.names), RESPONSE_SPREAD)
    share[place.standing_row] = STANDING_GAS_SPREAD
    share[place.airflow_row] = 0.0
    return np.asarray(place.own**2 + (share * change) ** 2)


def _possible(grid: LevelGrid, running: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """A level is possible where no milder (or equal) solved one stops the unit."""
    stopped = grid.nodes[:, ~running]
    beyond = np.all(grid.fine[:, :, None] >= stopped[:, None, :], axis=0)
    return np.asarray(~np.any(beyond, axis=1))


def reading_covariance(place: Scene, slopes: Array, own: Array, meter: Array) -> Array:
    """Covariance of rows: through the latent numbers, the rows' own and the meters'.

    Parameters
    ----------
    place : Scene
        Its prior covariance of the latent numbers is taken.
    slopes : ndarray, shape (…, rows, latents)
        Of each row by each latent number, in their units [SI].
    own, meter : ndarray, shape (…, rows) and (rows,)
        Standard deviations, in the units of the rows [SI].

    Returns
    -------
    ndarray, shape (…, rows, rows)
        Product of the units of two rows.
    """
    covariance = slopes @ place.prior_covariance @ np.swapaxes(slopes, -1, -2)
    places = np.arange(slopes.shape[-2])
    covariance[..., places, places] += own**2 + meter**2
    return np.asarray(covariance)


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
