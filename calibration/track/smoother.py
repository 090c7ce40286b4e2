"""The level over time from all days at once, with what they have in common.

The level of a day is s = base + rate × exposure + steps + wander. Towards a limit growth slows by the level
itself, ds/dt = rate - s / time constant: base and steps then fade, and all stays linear. The wander, what a
coil is off any smooth form (rain, doors, dust), is a process that forgets within weeks; its precision is
tridiagonal, so that the normal equations solved here are those of a forward filter and a backward smoother in
one. With it are solved the growth rate, the base, steps of the level and the numbers that all days have in
common; so these do not average away. `calibration.track.ranges` makes ranges of the answer.

References
----------
Rasmussen and Williams, Gaussian Processes for Machine Learning, 2006, app. B (precision of the
Ornstein-Uhlenbeck process; from memory). Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, ch. 14.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.linalg import cho_factor, cho_solve, solve_banded, solve_triangular

from calibration.track.system import System
from model.arrays import Array

WANDER = 0.015
"""Standard deviation of the level about its smooth form [-]; common practice, no source."""
WANDER_DAYS = 20.0
"""Time within which the wander is forgotten [d]; common practice, no source."""
WIDE_RATE = (0.3, 1.0)
"""Mean and spread of the rate's normal prior, which `calibration.track.ranges` takes out again [1/a]."""
CLEAN_LEVEL, CLEAN_SPREAD = 0.01, 0.03
"""Level of a coil just cleaned, and its spread [-]; common practice, no source."""
READ_CLEAN = (0.0, 0.01)
"""The same on the day of a clean visit, from which the level is counted [-]."""
LONGEST_BACK = 20.0
"""Time constants before the log over which a level is led back at most [-]."""
UNKNOWN_BASE = (0.12, 0.15)
"""Mean and spread of the level at the start where no cleaning is known [-]; judgement, no source."""


@dataclass(frozen=True)
class DatedChange:
    """A change of the level or of something else on a day, as a column of the system.

    Attributes
    ----------
    kind : str
        Key of `calibration.track.events.KINDS`.
    direction : str
        Key of `System.directions`, empty for the level itself.
    form : "step" or "ramp"
    years : float
        When it begins, since 1970 [a].
    size : float
        Prior standard deviation, in the unit of the direction (a year).
    """

    kind: str
    direction: str
    form: str
    years: float
    size: float

    def shape(self, years: Array, fading: float = 0.0) -> Array:
        """Size over time: 0 before, 1 (or the years since) after; steps of the level fade [1/a]."""
        since = np.maximum(years - self.years, 0.0)
        after = years >= self.years - 1e-9
        if self.form == "ramp":
            return np.where(after, since, 0.0)
        return np.where(after, np.exp(-since * (0.0 if self.direction else fading)), 0.0)


@dataclass(frozen=True)
class Anchor:
    """A moment at which the coil is clean.

    Attributes
    ----------
    years : float
        Since 1970 [a].
    exposure : float
        Years' worth of growth until then [a].
    level, spread : float
        What is known of the level [-].
    """

    years: float
    exposure: float
    level: float = CLEAN_LEVEL
    spread: float = CLEAN_SPREAD


@dataclass(frozen=True)
class Smoothed:
    """The answer.

    Attributes
    ----------
    middle, variance : ndarray, shape (n,)
        Level of each entry of the system before any bound is applied [-], and its variance.
    rate, rate_variance : float
        Growth [1/a], and its variance.
    with_rate : ndarray, shape (n,)
        Covariance of the level with the rate [1/a].
    sizes : ndarray, shape (changes,)
        Of the changes.
    residual : ndarray, shape (n, rows)
        What is left, over the noise.
    factor : ndarray
        Cholesky factor of the normal equations, wander first, for `calibration.track.events`.
    whole : ndarray, shape (n, rows, unknowns)
        Columns of everything but the wander.
    smooth : ndarray, shape (n, all unknowns)
        What of the unknowns, the wander first, makes the level's smooth form.
    smooth_level : ndarray, shape (n,)
        That form's level [-].
    fading : float
        At which steps of the level fade [1/a].
    """

    middle: Array
    variance: Array
    rate: float
    rate_variance: float
    with_rate: Array
    sizes: Array
    residual: Array
    factor: Array
    whole: Array
    smooth: Array
    smooth_level: Array
    fading: float = 0.0


def smoothed(
    system: System,
    exposure: Array,
    changes: Sequence[DatedChange],
    anchors: Sequence[Anchor],
    known: bool,
    fading: float = 0.0,
) -> Smoothed:
    """Level, rate and sizes of changes.

    Parameters
    ----------
    system : System
        Around levels close to the answer's.
    exposure : ndarray, shape (n,)
        Years' worth of growth at each entry, from any start [a].
    changes : sequence of DatedChange
        That are part of the explanation.
    anchors : sequence of Anchor
        When the coil is known to be clean.
    known : bool
        Whether the first anchor lies before the log, so that the base is that of a clean coil.
    fading : float
        Inverse of the time constant of growth towards a limit [1/a]; 0 for growth without one.

    Returns
    -------
    Smoothed
    """
    form = _form(system, exposure, changes, fading)
    others = [
        system.directions[change.direction] * change.shape(system.years)[:, None]
        for change in changes
        if change.direction
    ]
    common = np.concatenate([system.columns, *(one[..., None] for one in others)], axis=2)
    whole = np.concatenate([common, system.slope[..., None] * form[:, None, :]], axis=2)
    size = (common.shape[2], form.shape[1])
    precision, pull = _prior(system, changes, _rows_of_anchors(system, changes, anchors, fading), size, known)
    matrix, right = _normal(system, whole, precision, pull)
    factor, _ = cho_factor(matrix, lower=True)
    factor = np.tril(factor)
    answer = cho_solve((factor, True), right)
    nodes = int(system.node.max()) + 1
    wander, rest = answer[:nodes], answer[nodes:]
    residual = system.off - np.einsum("nrq,q->nr", whole, rest) - system.slope * wander[system.node][:, None]
    first = common.shape[2]
    place = nodes + first + 1
    by_rate = cho_solve((factor, True), np.eye(1, len(matrix), place)[0])
    smooth = np.zeros((len(exposure), len(matrix)))
    smooth[:, nodes + first :] = form
    picks = smooth.copy()
    picks[np.arange(len(exposure)), system.node] = 1.0
    return Smoothed(
        middle=picks @ answer,
        variance=np.sum(forward(factor, nodes, picks.T) ** 2, axis=0),
        rate=float(answer[place]),
        rate_variance=float(by_rate[place]),
        with_rate=picks @ by_rate,
        sizes=_sizes(rest, changes, first, len(others)),
        residual=residual,
        factor=factor,
        whole=whole,
        smooth=smooth,
        smooth_level=smooth @ answer,
        fading=fading,
    )


def _form(system: System, exposure: Array, changes: Sequence[DatedChange], fading: float) -> Array:
    """What of base, rate and steps makes the level's smooth form on each day (n, levels)."""
    steps = [change.shape(system.years, fading) for change in changes if not change.direction]
    return np.stack([_left(system, system.years, fading), exposure, *steps], axis=1)


def _left(system: System, years: Array, fading: float) -> Array:
    """Share of the level at the first day that is left at some times [-]."""
    return np.asarray(np.exp(-np.maximum(fading * (years - system.years[0]), -LONGEST_BACK)))


def _rows_of_anchors(
    system: System, changes: Sequence[DatedChange], anchors: Sequence[Anchor], fading: float
) -> list[tuple[Array, Anchor]]:
    """What of base, rate and steps makes the level at each anchor."""
    steps = [change for change in changes if not change.direction]
    rows = []
    for anchor in anchors:
        at = np.array([anchor.years])
        shapes = [float(change.shape(at, fading)[0]) for change in steps]
        rows.append((np.array([float(_left(system, at, fading)[0]), anchor.exposure, *shapes]), anchor))
    return rows


def forward(factor: Array, nodes: int, right: Array) -> Array:
    """Solution x of L x = right for the factor L of the normal equations.

    Parameters
    ----------
    factor : ndarray, shape (unknowns, unknowns)
        `Smoothed.factor`: that of the wander alone has two diagonals, as its precision has three.
    nodes : int
        Unknowns of the wander.
    right : ndarray, shape (unknowns, k)

    Returns
    -------
    ndarray, shape (unknowns, k)
    """
    band = np.zeros((2, nodes))
    band[0] = np.diagonal(factor)[:nodes]
    band[1, :-1] = np.diagonal(factor, -1)[: nodes - 1]
    first = solve_banded((1, 0), band, right[:nodes])
    rest = right[nodes:] - factor[nodes:, :nodes] @ first
    return np.concatenate([first, solve_triangular(factor[nodes:, nodes:], rest, lower=True)])


def _sizes(rest: Array, changes: Sequence[DatedChange], first: int, others: int) -> Array:
    """Sizes of the changes in their order."""
    level, other = iter(rest[first + 2 :]), iter(rest[first - others : first])
    return np.array([next(other) if change.direction else next(level) for change in changes])


def _prior(
    system: System,
    changes: Sequence[DatedChange],
    anchors: Sequence[tuple[Array, Anchor]],
    size: tuple[int, int],
    known: bool,
) -> tuple[Array, Array]:
    """Precision of everything but the wander, and precision times its mean."""
    first, width = size
    count = len(system.precision)
    precision = np.zeros((first + width, first + width))
    precision[:count, :count] = system.precision
    pull = np.zeros(first + width)
    others = [change.size**-2 for change in changes if change.direction]
    precision[range(count, first), range(count, first)] = others
    base = (CLEAN_LEVEL, 1.0) if known or anchors else UNKNOWN_BASE
    mean = [base[0], WIDE_RATE[0], *[0.0] * (width - 2)]
    spread = [base[1], WIDE_RATE[1], *[change.size for change in changes if not change.direction]]
    for number, (value, error) in enumerate(zip(mean, spread, strict=True)):
        precision[first + number, first + number] = error**-2
        pull[first + number] = value * error**-2
    for of_level, anchor in anchors:
        row = np.zeros(first + width)
        row[first:] = of_level
        precision += np.outer(row, row) / anchor.spread**2
        pull += row * anchor.level / anchor.spread**2
    return precision, pull


def _normal(system: System, whole: Array, precision: Array, pull: Array) -> tuple[Array, Array]:
    """Normal equations, the wander first."""
    nodes, count = int(system.node.max()) + 1, whole.shape[2]
    matrix = np.zeros((nodes + count, nodes + count))
    right = np.zeros(nodes + count)
    days = np.zeros(nodes)
    days[system.node] = system.seconds / 86_400.0
    matrix[:nodes, :nodes] = wander_precision(days)
    np.add.at(matrix, (system.node, system.node), np.sum(system.slope**2, axis=1))
    np.add.at(right, system.node, np.sum(system.slope * system.off, axis=1))
    crossed = np.zeros((nodes, count))
    np.add.at(crossed, system.node, np.einsum("nr,nrq->nq", system.slope, whole))
    flat = whole.reshape(-1, count)
    matrix[:nodes, nodes:], matrix[nodes:, :nodes] = crossed, crossed.T
    matrix[nodes:, nodes:] = precision + flat.T @ flat
    right[nodes:] = pull + flat.T @ system.off.ravel()
    return matrix, right


def wander_precision(days: Array) -> Array:
    """Precision of the wander on some days: that of an Ornstein-Uhlenbeck process.

    Parameters
    ----------
    days : ndarray, shape (n,)
        Rising [d].

    Returns
    -------
    ndarray, shape (n, n)
        Tridiagonal; its inverse has the elements `WANDER`² exp(-|Δt| / `WANDER_DAYS`).
    """
    keep = np.exp(-np.diff(days) / WANDER_DAYS)
    keep = np.minimum(keep, 1.0 - 1e-9)
    fresh = 1.0 / (1.0 - keep**2)
    precision = np.zeros((len(days), len(days)))
    diagonal = np.ones(len(days))
    diagonal[1:] = fresh
    diagonal[:-1] += keep**2 * fresh
    place = np.arange(len(days))
    precision[place, place] = diagonal
    precision[place[1:], place[:-1]] = precision[place[:-1], place[1:]] = -keep * fresh
    return precision / WANDER**2
