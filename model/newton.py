"""Roots of small systems of equations for many points at once: damped Newton steps with Broyden updates.

A Jacobian costs one call with all its columns stacked, so that one point costs hardly more than ten. Between
Jacobians the inverse is corrected by Broyden's rank-one update, which needs no further calls. A step that
does not bring a point nearer is taken back: the point gets a new Jacobian, and after that shorter steps.
Points that have converged leave the array.

References
----------
Broyden, A class of methods for solving nonlinear simultaneous equations, Mathematics of Computation 19, 1965
(from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.intp] | None
System = Callable[[Array, Index], Array]
"""Residuals (3, ..., m) of unknowns (3, ..., m) for the points with these m indices, None for all of them."""

DIFFERENCE_STEP = 1e-6
"""Step of the forward differences [-]: all unknowns are logarithms or of order one."""
PATIENCE = 0.35
"""A point whose residual does not fall to this share in a step gets a new Jacobian [-]."""
SHORTENING = 0.25
"""A step in a fresh direction that still makes things worse is taken at this share next time [-]."""
BOLD_STEPS = 25
"""So many steps are judged by the next correction and may lead uphill; later ones must lower the residual."""
BEHIND_WALL = 2e-6
"""How far behind a wall a step ends [-]: the forward differences then see one side."""
WORTH_PACKING = 0.8
"""Points that are done leave the array once no more than this share of it is still going [-]."""


@dataclass(frozen=True)
class Box:
    """Where unknowns may go: lowest and highest value and longest step of each, arrays (3, 1).

    Slopes jump at `walls`, array (3, n): a step through one ends just behind it and goes on with new slopes.
    """

    lowest: Array
    highest: Array
    longest_step: Array
    walls: Array


@dataclass(frozen=True)
class Solution:
    """Unknowns (3, n), largest residual (n,), whether it is under the tolerance (n,)."""

    unknowns: Array
    residual: Array
    converged: NDArray[np.bool_]


@dataclass
class _State:
    """Points that are still going, numbered by `index`; `fresh` where the inverse is the Jacobian's at x."""

    index: NDArray[np.intp]
    x: Array
    f: Array
    norm: Array
    inverse: Array
    fresh: NDArray[np.bool_]
    length: Array


def solve(system: System, start: Array, box: Box, tolerance: float = 1e-9, most_steps: int = 40) -> Solution:
    """Roots of a system of three equations for n points.

    Parameters
    ----------
    system : callable
        Residuals of unknowns for points with given indices.
    start : array (3, n)
        Where to begin.
    box : Box
        Bounds of unknowns and steps.
    tolerance : float
        On the largest absolute residual [-].
    most_steps : int
        Points that need more are returned as not converged, at their best unknowns.

    Returns
    -------
    Solution
    """
    count = start.shape[1]
    answer = np.minimum(np.maximum(start, box.lowest), box.highest)
    residual = np.full(count, np.inf)
    f, inverse = _linearised(system, answer, None)
    every = np.arange(count)
    state = _State(every, answer.copy(), f, _norm(f), inverse, np.ones(count, dtype=bool), np.ones(count))
    for step in range(most_steps):
        going = state.norm > tolerance
        left = np.count_nonzero(going)
        if left == 0:
            break
        if left < WORTH_PACKING * going.size:
            answer[:, state.index], residual[state.index] = state.x, state.norm
            state = _packed(state, going)
        _advance(system, state, box, None if state.index.size == count else state.index, step < BOLD_STEPS)
    answer[:, state.index], residual[state.index] = state.x, state.norm
    return Solution(answer, residual, residual <= tolerance)


def _packed(state: _State, going: NDArray[np.bool_]) -> _State:
    return _State(
        state.index[going], state.x[:, going], state.f[:, going], state.norm[going],
        state.inverse[:, :, going], state.fresh[going], state.length[going],
    )  # fmt: skip


def _norm(f: Array) -> Array:
    size = np.abs(f).max(axis=0)
    return np.where(size < np.inf, size, np.inf)


def _advance(system: System, state: _State, box: Box, index: Index, bold: bool) -> None:
    """One step of every point; a bold one is judged by the next correction with the same inverse."""
    full = -(state.inverse * state.f).sum(axis=1)
    before = (np.abs(full) / box.longest_step).max(axis=0)
    share = state.length / np.maximum(before, 1.0)
    walls = box.walls if index is None else box.walls[:, index]
    share, met = _up_to_walls(state.x, full, share, walls)
    trial = np.minimum(np.maximum(state.x + share * full, box.lowest), box.highest)
    g = system(trial, index)
    further = -(state.inverse * g).sum(axis=1)
    after = (np.abs(further) / box.longest_step).max(axis=0)
    size = _norm(g)
    nearer = met | (after < 1.5 * before if bold else size < state.norm)
    stalled = met | ~(after < (1.0 - share * (1.0 - PATIENCE)) * before)
    _correct(state, trial - state.x, full - further, nearer)
    if nearer.all():
        state.x, state.f, state.norm = trial, g, size
        state.fresh[:], state.length[:] = False, 1.0
    else:
        failed = ~nearer & state.fresh
        state.length = np.where(nearer, np.minimum(2.0 * state.length, 1.0), state.length)
        state.length[failed] *= SHORTENING
        stalled &= ~failed
        state.x, state.f = np.where(nearer, trial, state.x), np.where(nearer, g, state.f)
        state.norm = np.where(nearer, size, state.norm)
        state.fresh &= ~nearer
    if stalled.any():
        _renew(system, state, np.flatnonzero(stalled))


def _up_to_walls(x: Array, full: Array, share: Array, walls: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Steps shortened to end just behind the first wall on the way, and which ones were."""
    distance = walls - x
    step = share * full
    crossing = (
        (distance * full > 0.0) & (np.abs(step) > np.abs(distance) + BEHIND_WALL) & (np.abs(distance) > 0)
    )
    if not crossing.any():
        return share, np.zeros(share.shape, dtype=bool)
    reach = np.where(
        crossing, (np.abs(distance) + BEHIND_WALL) / np.maximum(np.abs(full), 1e-300), np.inf
    ).min(axis=0)
    return np.minimum(share, reach), np.asarray(crossing.any(axis=0))


def _correct(state: _State, move: Array, back: Array, kept: NDArray[np.bool_]) -> None:
    """Broyden's update of the inverse after steps that were kept; `back` is inverse times change."""
    scale = (move * back).sum(axis=0)
    usable = kept & (np.abs(scale) > 1e-30)
    weight = (move[:, None] * state.inverse).sum(axis=0)
    correction = np.where(usable, (move - back) / np.where(usable, scale, 1.0), 0.0)
    state.inverse = state.inverse + correction[:, None] * weight


def _renew(system: System, state: _State, points: NDArray[np.intp]) -> None:
    """New Jacobians for some of the points that are going."""
    if points.size == state.index.size:
        state.f, state.inverse = _linearised(system, state.x, state.index)
    else:
        _, inverse = _linearised(system, state.x[:, points], state.index[points])
        state.inverse[:, :, points] = inverse
    state.fresh[points] = True


COLUMNS = np.concatenate([np.zeros((3, 1)), DIFFERENCE_STEP * np.eye(3)], axis=1)[:, :, None]


def _linearised(system: System, x: Array, index: Index) -> tuple[Array, Array]:
    """Residuals (3, n) and inverse Jacobians (3, 3, n), in one call."""
    columns = system(x[:, None, :] + COLUMNS, index)
    f = columns[:, 0]
    jacobian = (columns[:, 1:] - f[:, None]) / DIFFERENCE_STEP
    return f, _inverse(jacobian)


def _inverse(a: Array) -> Array:
    """Inverses of 3 x 3 matrices stacked along the last axis; zero where a matrix is singular."""
    first, second = a[[1, 2, 0]], a[[2, 0, 1]]
    # Row i of `cofactor` is the cross product of the other two rows of the matrix.
    cofactor = first[:, [1, 2, 0]] * second[:, [2, 0, 1]] - first[:, [2, 0, 1]] * second[:, [1, 2, 0]]
    determinant = (a[0] * cofactor[0]).sum(axis=0)
    sound = np.isfinite(determinant) & (np.abs(determinant) > 1e-200)
    inverse = cofactor.transpose(1, 0, 2) / np.where(sound, determinant, 1.0)
    return np.where(sound, inverse, 0.0)
