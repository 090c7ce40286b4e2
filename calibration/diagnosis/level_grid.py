"""Levels at which the cycle is solved, and those over which evidence is summed.

Between the solved levels a quantity follows piecewise cubics with the slopes of parabolas through
neighbours: a plain matrix, so that readings and their slopes go from one grid to the other in one product.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from calibration.diagnosis.hypotheses import (
    FINE_COUNT,
    LEVEL_NODES,
    PAIR_FINE_COUNT,
    PAIR_NODES,
    Hypothesis,
    faults_at,
    fine_levels,
    level_weights,
)
from model.arrays import Array
from model.cycle.faults import Faults


@dataclass(frozen=True)
class LevelGrid:
    """Levels of an explanation.

    Attributes
    ----------
    nodes : array (faults, nodes)
        At which the cycle is solved [-].
    fine : array (faults, points)
        Over which evidence is summed [-].
    weights : array (points,)
        Their prior probability [-].
    between : array (points, nodes)
        Takes values at the nodes to the points.
    """

    nodes: Array
    fine: Array
    weights: Array
    between: Array


@cache
def level_grid(count: int) -> LevelGrid:
    """Levels of an explanation.

    Parameters
    ----------
    count : int
        How many faults it has: 0, 1 or 2.

    Returns
    -------
    LevelGrid
        Nodes, points between them and their prior probabilities [-].
    """
    if count == 0:
        return LevelGrid(np.zeros((0, 1)), np.zeros((0, 1)), np.ones(1), np.ones((1, 1)))
    nodes = LEVEL_NODES if count == 1 else PAIR_NODES
    fine = fine_levels(FINE_COUNT if count == 1 else PAIR_FINE_COUNT) * nodes[-1]
    weights, between = level_weights(fine), cubic_between(nodes, fine)
    if count == 1:
        return LevelGrid(nodes[None], fine[None], weights, between)
    both: Array = np.kron(between, between).astype(float)
    return LevelGrid(_crossed(nodes), _crossed(fine), _crossed(weights).prod(axis=0), both)


def _crossed(line: Array) -> Array:
    """Every pair of two numbers of a list, shape (2, pairs)."""
    return np.stack([side.ravel() for side in np.meshgrid(line, line, indexing="ij")])


def cubic_between(nodes: Array, points: Array) -> Array:
    """Matrix that takes values at nodes to values between them, by cubics.

    The slope at a node is that of the parabola through it and its neighbours, at an end that of the last
    parabola.

    Parameters
    ----------
    nodes : ndarray, shape (nodes,)
        Rising; three or more.
    points : ndarray, shape (points,)
        Between the first and the last node, in the unit of the nodes.

    Returns
    -------
    ndarray, shape (points, nodes)
        [-]; its rows add to one.

    References
    ----------
    Cubic Hermite interpolation with three-point slopes.
    """
    count = len(nodes)
    slope = np.zeros((count, count))
    for place in range(count):
        middle = min(max(place, 1), count - 2)
        x = nodes[middle - 1 : middle + 2]
        for one in range(3):
            others = [other for other in range(3) if other != one]
            top = sum(nodes[place] - x[other] for other in others)
            slope[place, middle - 1 + one] = top / np.prod([x[one] - x[other] for other in others])
    left = np.clip(np.searchsorted(nodes, points, side="right") - 1, 0, count - 2)
    width = nodes[left + 1] - nodes[left]
    t = (points - nodes[left]) / width
    matrix = np.zeros((len(points), count))
    rows = np.arange(len(points))
    matrix[rows, left] += (1 + 2 * t) * (1 - t) ** 2
    matrix[rows, left + 1] += t * t * (3 - 2 * t)
    matrix += (width * t * (1 - t) ** 2)[:, None] * slope[left] - (width * t * t * (1 - t))[:, None] * slope[
        left + 1
    ]
    return matrix


def joined_faults(explanations: tuple[Hypothesis, ...], nodes: list[Array]) -> Faults:
    """All levels of all explanations in one row of faults.

    Parameters
    ----------
    explanations : tuple of Hypothesis
        Faults of each.
    nodes : list of ndarray, shape (faults, nodes) each
        Levels of each explanation [-].

    Returns
    -------
    Faults
        Of shape (sum of nodes,), one explanation after the other.
    """
    pieces = [faults_at(one, grid) for one, grid in zip(explanations, nodes, strict=True)]
    counts = [grid.shape[1] for grid in nodes]
    return Faults(
        **{
            name: np.concatenate(
                [
                    np.broadcast_to(np.asarray(getattr(piece, name), dtype=float), (count,))
                    for piece, count in zip(pieces, counts, strict=True)
                ]
            )
            for name in vars(pieces[0])
        }
    )
