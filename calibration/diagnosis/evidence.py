"""How well each explanation accounts for a visit: evidence over levels.

For one explanation and one level the readings are normal around what the cycle expects, with the
covariance of all that is not known: the unit's parameters as the clean fit leaves them, the day's airflow,
the settings' errors (together, through the slopes), each meter's error, the model's own, and a share of what
the fault itself changes. The slopes are taken where the latent numbers are most likely under that explanation
(two rounds: at their prior mean, then there), so that a badly known unit is not judged by the slopes of the
wrong one. Between the solved levels expected readings and slopes follow piecewise cubics; the likelihood
itself, which may be sharper than the grid, is computed from them on a finer one. Its sum over the level's
prior is the evidence.

"None of these explains it" is judged by the fit's own chi-square: it is every explanation at once, each with
errors `NONE_SCALE` times those that the meters and the model claim. It gains on the best explanation once the
squares of that one's residuals add to more than some two and a half times the number of readings.

References
----------
Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, ch. 7.4 (marginal likelihood) and ch. 4 (normal
approximation); from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.diagnosis.hypotheses import Candidate
from calibration.diagnosis.level_grid import LevelGrid, joined_faults, level_grid
from calibration.diagnosis.visit_model import RESPONSE_SPREAD, STANDING_GAS_SPREAD, Response, Scene, solved
from model.cycle.faults import Faults

Array = NDArray[np.float64]
Places = NDArray[np.intp]

CLAIM = 2.0 / 3.0
"""A fault, or a group of look-alikes, is claimed from this probability on [-]: twice as probable as all else
together, since somebody pays for a repair. Common practice, no source."""
NONE_SCALE = 3.0
"""Errors of "none of these" over those that meters and model claim [-]."""
REFINED = 15.0
"""Explanations less probable than the best one by more than this logarithm are not solved a second time."""
FARTHEST = 3.0
"""The second round moves the latent numbers by no more than this many spreads in all [-]."""
IMPOSSIBLE = -1e30
"""Logarithm of a likelihood of nothing."""


@dataclass(frozen=True)
class Weighed:
    """One explanation against the readings, at fine levels.

    Attributes
    ----------
    candidate : Candidate
    levels : array (faults, points)
        0 to 1 [-]; one point and no fault for the clean unit.
    weights : array (points,)
        Their prior probability [-].
    expected : array (points, rows)
        Of every row, at the latent numbers' prior means.
    slopes : array (points, rows, latents)
    own : array (points, rows)
        Standard deviation of what belongs to a row alone, the meter left out.
    possible : array of bool (points,)
        Where the unit would run.
    likelihood : array (points,)
        Logarithm of the readings' density.
    none_evidence : float
        Logarithm of the evidence with the errors of "none of these".
    """

    candidate: Candidate
    levels: Array
    weights: Array
    expected: Array
    slopes: Array
    own: Array
    possible: NDArray[np.bool_]
    likelihood: Array
    none_evidence: float

    @property
    def evidence(self) -> float:
        """Logarithm of the probability density of the readings under this explanation."""
        return log_sum(self.likelihood + np.log(self.weights))

    @property
    def posterior(self) -> Array:
        """Probability of each level, given the readings and this explanation; adds to one (points,)."""
        logs = self.likelihood + np.log(self.weights)
        shares = np.exp(logs - logs.max())
        return np.asarray(shares / shares.sum())


def log_sum(logs: Array) -> float:
    """Logarithm of the sum of numbers given by their logarithms.

    Parameters
    ----------
    logs : ndarray, any shape
        Logarithms [-]; minus infinity stands for nought, but not for all of them.

    Returns
    -------
    float
        [-]
    """
    most = float(np.max(logs))
    return most + float(np.log(np.sum(np.exp(logs - most))))


def weighed(place: Scene, explanations: tuple[Candidate, ...], rounds: int = 2) -> tuple[Weighed, ...]:
    """Each explanation against the readings that were taken.

    Parameters
    ----------
    place : Scene
    explanations : tuple of Candidate
        The clean unit first.
    rounds : int
        How often the slopes are taken: 1 at the prior means alone.

    Returns
    -------
    tuple of Weighed
        In the order of `explanations`.
    """
    grids = [level_grid(len(candidate.faults)) for candidate in explanations]
    ends = np.cumsum([grid.nodes.shape[1] for grid in grids])
    parts = np.split(np.arange(ends[-1]), ends[:-1])
    faults = joined_faults(explanations, [grid.nodes for grid in grids])
    response = solved(place, faults)
    found = [_one(place, *each, response) for each in zip(explanations, grids, parts, strict=True)]
    for _ in range(rounds - 1):
        scores = np.array([one.evidence + np.log(one.candidate.prior) for one in found])
        close = [
            number for number in range(len(found)) if number == 0 or scores[number] > scores.max() - REFINED
        ]
        response = _refined(place, faults, response, np.concatenate([parts[number] for number in close]))
        for number in close:
            found[number] = _one(place, explanations[number], grids[number], parts[number], response)
    return tuple(found)


def _refined(place: Scene, faults: Faults, response: Response, part: Places) -> Response:
    """The response with some levels solved again, around the likeliest latent numbers under each."""
    # Where the unit does not run nothing can be read, so there is nothing to be refined.
    part = part[response.running[part]]
    if part.size == 0:
        return response
    old = response.at(part)
    spread = np.sqrt(_own_variance(place, old.expected, response.expected[0]))
    likeliest = latent_mean(place, old, spread)
    chosen = Faults(**{name: np.asarray(value)[part] for name, value in vars(faults).items()})
    new = solved(place, chosen, likeliest.T, old.unknowns)
    # Slopes that lead to a unit that does not run have led too far: there the first round's stand.
    runs = np.flatnonzero(new.running)
    return response.replaced(part[runs], new.at(runs))


def latent_mean(place: Scene, response: Response, own: Array) -> Array:
    """Likeliest latent numbers given the readings, within `FARTHEST` spreads of the prior.

    Parameters
    ----------
    place : Scene
        Readings, their meters and the prior.
    response : Response
        What the rows show under some faults, shapes (…, rows).
    own : ndarray, shape (…, rows)
        Standard deviation of each row's own error, in the unit of the row [SI].

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
    covariance = reading_covariance(place, slopes, own[..., taken], place.meter[taken])
    off = place.values[taken] - response.expected[..., taken]
    pull = np.linalg.solve(covariance, off[..., None])
    moved = (prior @ np.swapaxes(slopes, -1, -2) @ pull)[..., 0]
    # Its squared length in the prior's measure is pull' S P S' pull, so no inverse of the prior is needed.
    length = np.sqrt(np.einsum("...r,...r->...", pull[..., 0], np.einsum("...rl,...l->...r", slopes, moved)))
    return np.asarray(
        place.prior_mean + moved * np.minimum(1.0, FARTHEST / np.maximum(length, 1e-12))[..., None]
    )


def _one(place: Scene, candidate: Candidate, grid: LevelGrid, part: Places, whole: Response) -> Weighed:
    """One explanation, whose nodes are a part of all that were solved; the first of all is the clean unit."""
    points, response, clean = grid.fine.shape[1], whole.at(part), whole.expected[0]
    expected = grid.between @ response.expected
    slopes = np.tensordot(grid.between, _slopes_carried_on(grid, response), axes=1)
    own = np.sqrt(_own_variance(place, expected, clean))
    possible = _possible(grid, response.running)
    likelihood, loose = np.full(points, IMPOSSIBLE), np.full(points, IMPOSSIBLE)
    if np.any(possible):
        taken = place.readings
        args = (place, expected[possible], slopes[possible], own[possible], taken)
        likelihood[possible] = log_density(*args)
        loose[possible] = log_density(*args, NONE_SCALE)
    return Weighed(
        candidate=candidate,
        levels=grid.fine,
        weights=grid.weights,
        expected=expected,
        slopes=slopes,
        own=own,
        possible=possible,
        likelihood=likelihood,
        none_evidence=log_sum(loose + np.log(grid.weights)),
    )


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
    graver = np.all(grid.fine[:, :, None] >= stopped[:, None, :], axis=0)
    return np.asarray(~np.any(graver, axis=1))


def log_density(
    place: Scene, expected: Array, slopes: Array, own: Array, rows: Places, scale: float = 1.0
) -> Array:
    """Logarithm of the density of some rows' readings: a normal one around what is expected.

    Parameters
    ----------
    place : Scene
        Readings, their meters and the prior.
    expected, own : ndarray, shape (points, rows of the scene)
        Expected readings and standard deviations of the rows' own errors, in the units of the rows [SI].
    slopes : ndarray, shape (points, rows of the scene, latents)
        Of each row by each latent number.
    rows : ndarray of int
        Rows that count; none makes every density 1.
    scale : float
        Factor on all errors [-], above 0.

    Returns
    -------
    ndarray, shape (points,)
        [-], the density itself in the reciprocal of the rows' units.
    """
    if len(rows) == 0:
        return np.zeros(len(expected))
    covariance = reading_covariance(place, slopes[:, rows], own[:, rows], place.meter[rows]) * scale**2
    factor = np.linalg.cholesky(covariance)
    off = place.values[rows] - expected[:, rows]
    scaled = np.linalg.solve(factor, off[..., None])[..., 0]
    spread = np.log(np.diagonal(factor, axis1=-2, axis2=-1)).sum(axis=-1)
    return np.asarray(-0.5 * np.sum(scaled**2, axis=-1) - spread - 0.5 * len(rows) * np.log(2.0 * np.pi))


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


def chi_square(place: Scene, weighed_one: Weighed, point: int) -> float:
    """Sum of squared standardised differences of the readings at one level, their correlations counted.

    Parameters
    ----------
    place : Scene
        Readings, their meters and the prior.
    weighed_one : Weighed
        An explanation.
    point : int
        Place of the level in it.

    Returns
    -------
    float
        [-], about the number of readings where the explanation is right.
    """
    rows = place.readings
    slopes, own = weighed_one.slopes[point, rows], weighed_one.own[point, rows]
    off = place.values[rows] - weighed_one.expected[point, rows]
    return float(off @ np.linalg.solve(reading_covariance(place, slopes, own, place.meter[rows]), off))


def told_point(weighed_one: Weighed) -> int:
    """Place of the level that an explanation is told and drawn with.

    That of one fault is the median; the medians of two need not go together, so the likeliest pair stands for
    them.

    Parameters
    ----------
    weighed_one : Weighed
        An explanation.

    Returns
    -------
    int
        Into the last axis of its levels; 0 for the clean unit.
    """
    posterior = weighed_one.posterior
    if len(weighed_one.levels) != 1:
        return int(np.argmax(posterior))
    return int(np.searchsorted(np.cumsum(posterior), 0.5))


def least_chi_square(place: Scene, weighed_one: Weighed) -> float:
    """`chi_square` at the likeliest level.

    Parameters
    ----------
    place : Scene
        Readings, their meters and the prior.
    weighed_one : Weighed
        An explanation.

    Returns
    -------
    float
        [-].
    """
    return chi_square(place, weighed_one, int(np.argmax(weighed_one.posterior)))


def likeliest_latent(place: Scene, weighed_one: Weighed, point: int) -> Array:
    """Likeliest latent numbers at one level.

    Parameters
    ----------
    place : Scene
        Readings, their meters and the prior.
    weighed_one : Weighed
        An explanation.
    point : int
        Place of the level in it.

    Returns
    -------
    ndarray, shape (latents,)
        In the unit of each latent number.
    """
    expected, slopes = weighed_one.expected[point], weighed_one.slopes[point]
    response = Response(expected, slopes, np.asarray(True), np.zeros((0, 1)))
    return latent_mean(place, response, weighed_one.own[point])


def probabilities(found: tuple[Weighed, ...], none_prior: float) -> Array:
    """Probability of each explanation, and of "none of these".

    "None of these" is every explanation with all errors `NONE_SCALE` times as large; it is certain where the
    unit would run under no explanation in the weather of the readings.

    Parameters
    ----------
    found : tuple of Weighed
        Explanations against the readings.
    none_prior : float
        Probability of "none of these" before the readings [-], in (0, 1).

    Returns
    -------
    ndarray, shape (explanations + 1,)
        In the order of `found`, none of these last; they add to one [-].

    References
    ----------
    Bayes' rule.
    """
    priors = np.log([one.candidate.prior for one in found])
    evidence = np.array([one.evidence for one in found])
    loose = np.array([one.none_evidence for one in found])
    if not any(np.any(one.possible) for one in found):
        return np.append(np.zeros(len(found)), 1.0)
    none = log_sum(loose + priors) - np.log(1.0 - none_prior) + np.log(none_prior)
    logs = np.append(evidence + priors, none)
    shares = np.exp(logs - logs.max())
    return np.asarray(shares / shares.sum())
