"""Roots of systems of three equations for many points at once, by damped Newton steps.

A Jacobian costs one call with all its columns stacked. A few points cost hardly more than one, so that every
step takes its own Jacobian, and a handful the second derivatives too: away from walls the step then goes to
the root of a parabola instead of a straight line, which spares a call in four. Many points share out the
work: Broyden's rank-one update corrects the inverse between Jacobians, and points that have converged leave
the array.

A step is judged by the correction that would follow it with the same inverse: it must be no longer than the
step's own, whatever the scale of the equations. A step that fails is taken back: the point gets a new
Jacobian, and after that shorter steps.

References
----------
Broyden, A class of methods for solving nonlinear simultaneous equations, Mathematics of Computation 19, 1965.
Deuflhard, A modified Newton method for the solution of ill-conditioned systems of nonlinear equations,
Numerische Mathematik 22, 1974 (natural monotonicity test). Both from memory.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from model.arrays import Array, BoolArray, IndexArray

Index = IndexArray | None
System = Callable[[Array, Index], Array]
"""Residuals (3, ..., m) of unknowns (3, ..., m) for the points with these m indices, None for all of them."""

DIFFERENCE_STEP = 1e-6
"""Step of the forward differences [-]: all unknowns are logarithms or of order one."""
LATE_DIFFERENCE_STEP = 1e-8
"""The same after `BOLD_STEPS` [-]: a root within the usual step of a kink, as where the liquid just begins to
flash, is only found by differences that see one side of it."""
COLUMNS = np.concatenate([np.zeros((3, 1)), np.eye(3)], axis=1)[:, :, None]
"""A point itself and its three neighbours a step away, shape (3, 4, 1)."""
BENT_STEP = 1e-4
"""Step of the differences where second derivatives are taken too [-]: they need a longer one."""
HANDFUL = 12
"""Up to so many points second derivatives are worth their columns."""
BENT_STEPS = 4
"""So many steps may take them: a point that is then not solved is no place for parabolas."""
CLEAR_OF_WALLS = 1e-3
"""Only points further than this from every wall take them [-]."""
LARGEST_BEND = 0.5
"""A curved part of a step longer than this share of the straight one is left out [-]."""
FEW_POINTS = 48
"""Up to so many points every step takes its own Jacobian: the cost is in the number of calls."""
HALF = np.array(0.5)
PATIENCE = 0.35
"""A point whose correction does not fall to this share in a step gets a new Jacobian [-]."""
SHORTENING = 0.25
"""A step in a fresh direction that still makes things worse is taken at this share next time [-]."""
BOLD_STEPS = 25
"""So many steps may lead a little uphill; later ones must lower the residual."""
UPHILL = 1.5
"""How much longer the next correction may be after a bold step [-]."""
WORTH_PACKING = 0.8
"""Points that are done leave the array once no more than this share of it is still going [-]."""
BEHIND_WALL = 2e-6
"""How far behind a wall a step ends [-]: the forward differences then see one side."""


def _stencil() -> tuple[Array, Array, IndexArray]:
    """A point and nine neighbours (3, 10, 1), and weights (9, 10) that make slopes and bends of them.

    Neighbours: a step along each axis, two steps along each, a step along each pair. Slopes: three, exact
    for parabolas. Bends: three along the axes, three of pairs; their places by pair of axes, shape (3, 3).
    """
    axes, pairs = np.eye(3), ((0, 1), (0, 2), (1, 2))
    joint = np.array([axes[one] + axes[two] for one, two in pairs]).T
    moves = np.concatenate([np.zeros((3, 1)), axes, 2.0 * axes, joint], axis=1)
    weights, places = np.zeros((9, 10)), np.diag([3, 4, 5])
    for axis in range(3):
        weights[axis, [0, 1 + axis, 4 + axis]] = -1.5, 2.0, -0.5
        weights[3 + axis, [0, 1 + axis, 4 + axis]] = 1.0, -2.0, 1.0
    for number, (one, two) in enumerate(pairs):
        weights[6 + number, [0, 1 + one, 1 + two, 7 + number]] = 1.0, -1.0, -1.0, 1.0
        places[one, two] = places[two, one] = 6 + number
    weights[:3] /= BENT_STEP
    weights[3:] /= BENT_STEP**2
    return BENT_STEP * moves[:, :, None], weights, places


BENT_COLUMNS, DERIVATIVES, SECOND_PLACES = _stencil()


class Box(NamedTuple):
    """Where unknowns may go: lowest and highest value and longest step of each, arrays (3, 1).

    Slopes jump at `walls`, array (3, n): a step through one ends just behind it and goes on with new slopes.
    """

    lowest: Array
    highest: Array
    longest_step: Array
    walls: Array


class Solution(NamedTuple):
    """Unknowns (3, n), largest residual (n,), whether it is under the tolerance (n,)."""

    unknowns: Array
    residual: Array
    converged: BoolArray


@dataclass
class _State:
    """Points that are still going, numbered by `index`; `fresh` where the inverse is the Jacobian's at x.

    Of few points: the Jacobian (3, 3, n) at x until it is inverted, and second derivatives (3, 3, 3, n) where
    they were taken.
    """

    index: IndexArray
    walls: Array
    x: Array
    f: Array
    norm: Array
    inverse: Array
    fresh: BoolArray
    length: Array
    slopes: Array | None = None
    bend: Array | None = None


def solve(system: System, start: Array, box: Box, tolerance: float = 1e-9, most_steps: int = 60) -> Solution:
    """Roots of a system of three equations for n points.

    Parameters
    ----------
    system : callable
        Residuals of unknowns for points with given indices.
    start : array (3, n)
        Where to begin.
    box : Box
        Bounds of unknowns and steps, and walls between which slopes are continuous.
    tolerance : float
        On the largest absolute residual [-].
    most_steps : int
        Points that need more are returned as not converged, where they stand.

    Returns
    -------
    Solution
    """
    count = start.shape[1]
    answer = np.minimum(np.maximum(start, box.lowest), box.highest)
    residual = np.full(count, np.inf)
    f, slopes, bend = _expanded(system, answer, None, box.walls)
    state = _State(
        np.arange(count), box.walls, answer.copy(), f, _norm(f), _inverse(slopes),
        np.ones(count, dtype=bool), np.ones(count), None, bend,
    )  # fmt: skip
    for step in range(most_steps):
        going = state.norm > tolerance
        left = np.count_nonzero(going)
        if left == 0:
            break
        if left < WORTH_PACKING * going.size and going.size > FEW_POINTS:
            answer[:, state.index], residual[state.index] = state.x, state.norm
            state = _packed(state, going)
        index = None if state.index.size == count else state.index
        _advance(system, state, box, index, step)
    answer[:, state.index], residual[state.index] = state.x, state.norm
    return Solution(answer, residual, residual <= tolerance)


def _packed(state: _State, going: BoolArray) -> _State:
    return _State(
        state.index[going], state.walls[:, going], state.x[:, going], state.f[:, going], state.norm[going],
        state.inverse[:, :, going], state.fresh[going], state.length[going],
    )  # fmt: skip


def _norm(f: Array) -> Array:
    size = np.abs(f).max(axis=0)
    size[~(size < np.inf)] = np.inf
    return np.asarray(size)


def _correction(inverse: Array, f: Array, box: Box) -> tuple[Array, Array]:
    """Newton's correction (3, n), and its length in longest steps (n,)."""
    full = (inverse * f).sum(axis=1)
    np.negative(full, out=full)
    return full, np.abs(full / box.longest_step).max(axis=0)


def _advance(system: System, state: _State, box: Box, index: Index, step: int) -> None:
    """One step of every point, the first being number 0."""
    if state.slopes is not None:
        state.inverse, state.slopes = _inverse(state.slopes), None
    full, before = _correction(state.inverse, state.f, box)
    if state.bend is not None:
        full, before = _curved(full, before, state.inverse, state.bend, box)
    share, met = _up_to_walls(state, full, state.length / np.maximum(before, 1.0))
    trial = np.minimum(np.maximum(state.x + share * full, box.lowest), box.highest)
    few = state.index.size <= FEW_POINTS
    slopes = bend = None
    if few:
        g, slopes, bend = _expanded(system, trial, index, state.walls, step + 1)
    else:
        g = system(trial, index)
    further, after = _correction(state.inverse, g, box)
    size = _norm(g)
    nearer = (after < UPHILL * before) if step < BOLD_STEPS else (size < state.norm)
    nearer |= met
    if slopes is not None:
        _settle(state, nearer, trial, g, size)
        state.fresh[:] = True
        if nearer.all():
            state.slopes, state.bend = slopes, bend
        else:
            state.inverse, state.bend = np.where(nearer, _inverse(slopes), state.inverse), None
        return
    slow = met | ~(after < (1.0 - share * (1.0 - PATIENCE)) * before)
    renewed = slow & ~(state.fresh & ~nearer)
    _correct(state, trial - state.x, full - further, nearer)
    _settle(state, nearer, trial, g, size)
    if renewed.any():
        _renew(system, state, np.flatnonzero(renewed), step)


def _curved(full: Array, length: Array, inverse: Array, bend: Array, box: Box) -> tuple[Array, Array]:
    """Corrections to where the residuals' parabolas vanish, straight ones if that is far; their lengths."""
    part = HALF * (inverse * (bend * full * full[:, None]).sum(axis=(1, 2))).sum(axis=1)
    slight = np.abs(part / box.longest_step).max(axis=0) < LARGEST_BEND * np.minimum(length, 1.0)
    curved = full - (part if slight.all() else np.where(slight, part, 0.0))
    return curved, np.abs(curved / box.longest_step).max(axis=0)


def _up_to_walls(state: _State, full: Array, share: Array) -> tuple[Array, BoolArray]:
    """Steps shortened to end just behind the first wall on the way, and which ones were."""
    distance = state.walls - state.x
    reach = np.abs(distance) + BEHIND_WALL
    crossing = (distance * full > 0.0) & (share * np.abs(full) > reach)
    if not crossing.any():
        return share, np.zeros(share.shape, dtype=bool)
    first = np.where(crossing, reach / np.abs(full), np.inf).min(axis=0)
    return np.minimum(share, first), np.asarray(crossing.any(axis=0))


def _correct(state: _State, move: Array, back: Array, kept: BoolArray) -> None:
    """Broyden's update of the inverse after steps that were kept; `back` is inverse times change."""
    scale = (move * back).sum(axis=0)
    usable = kept & (np.abs(scale) > 1e-30)
    weight = (move[:, None] * state.inverse).sum(axis=0)
    correction = np.where(usable, (move - back) / np.where(usable, scale, 1.0), 0.0)
    state.inverse = state.inverse + correction[:, None] * weight


def _settle(state: _State, nearer: BoolArray, trial: Array, g: Array, size: Array) -> None:
    """Keep the steps that led nearer; shorten the next one of points that failed in a fresh direction."""
    if nearer.all():
        state.x, state.f, state.norm = trial, g, size
        state.fresh[:], state.length[:] = False, 1.0
        return
    state.length = np.where(nearer, np.minimum(2.0 * state.length, 1.0), state.length)
    state.length[~nearer & state.fresh] *= SHORTENING
    state.x, state.f = np.where(nearer, trial, state.x), np.where(nearer, g, state.f)
    state.norm = np.where(nearer, size, state.norm)
    state.fresh &= ~nearer


def _renew(system: System, state: _State, points: IndexArray, step: int) -> None:
    """New Jacobians for some of the points that are going."""
    _, slopes = _linearised(system, state.x[:, points], state.index[points], step)
    state.inverse[:, :, points] = _inverse(slopes)
    state.fresh[points] = True


def _linearised(system: System, x: Array, index: Index, step: int) -> tuple[Array, Array]:
    """Residuals (3, n) and Jacobians (3, 3, n) at a step, in one call."""
    length = DIFFERENCE_STEP if step < BOLD_STEPS else LATE_DIFFERENCE_STEP
    columns = system(x[:, None, :] + length * COLUMNS, index)
    f = columns[:, 0]
    return f, (columns[:, 1:] - f[:, None]) / length


def _expanded(
    system: System, x: Array, index: Index, walls: Array, step: int = 0
) -> tuple[Array, Array, Array | None]:
    """Residuals, Jacobians and, in the first steps of a handful clear of walls, second derivatives."""
    if step >= BENT_STEPS or x.shape[1] > HANDFUL or np.abs(x - walls).min(initial=np.inf) < CLEAR_OF_WALLS:
        return *_linearised(system, x, index, step), None
    columns = system(x[:, None, :] + BENT_COLUMNS, index)
    derivatives = DERIVATIVES @ columns
    return columns[:, 0], derivatives[:, :3], derivatives[:, SECOND_PLACES]


def _cofactor_places() -> tuple[IndexArray, ...]:
    """Places in a flat 3 x 3 matrix: two factors of each cofactor's first product, two of its second."""
    places, following, after = np.arange(9).reshape(3, 3), [1, 2, 0], [2, 0, 1]
    pairs = ((following, following), (after, after), (following, after), (after, following))
    return tuple(places[np.ix_(rows, columns)].ravel() for rows, columns in pairs)


COFACTOR_PLACES = _cofactor_places()


def _inverse(a: Array) -> Array:
    """Inverses of 3 x 3 matrices stacked along the last axis; zero where a matrix is singular."""
    first, second, third, fourth = (a.reshape(9, -1).take(places, 0) for places in COFACTOR_PLACES)
    # Row i of the cofactors is the cross product of the other two rows of the matrix.
    cofactor = (first * second - third * fourth).reshape(a.shape)
    determinant = (a[0] * cofactor[0]).sum(axis=0)
    determinant[~(np.abs(determinant) > 1e-200)] = np.inf
    return np.asarray(cofactor.transpose(1, 0, 2) / determinant)
