"""From solved levels to those that evidence is summed over."""

import numpy as np
import pytest

from calibration.diagnosis.hypotheses import LEVEL_NODES, LIKELY_PAIRS, PAIR_NODES, hypotheses
from calibration.diagnosis.level_grid import cubic_between, joined_faults, level_grid


@pytest.mark.parametrize("nodes", [LEVEL_NODES, PAIR_NODES])
def test_parabolas_come_through_exactly(nodes):
    points = np.linspace(nodes[0], nodes[-1], 57)
    between = cubic_between(nodes, points)
    for curve in (np.ones_like, lambda s: s, lambda s: 3.0 - s + 2.0 * s * s):
        assert between @ curve(nodes) == pytest.approx(curve(points), abs=1e-12)


def test_nodes_are_met_and_a_smooth_curve_is_followed():
    assert cubic_between(LEVEL_NODES, LEVEL_NODES) == pytest.approx(np.eye(len(LEVEL_NODES)), abs=1e-12)
    points = np.linspace(0.0, 1.0, 101)
    error = cubic_between(LEVEL_NODES, points) @ np.exp(-2.0 * LEVEL_NODES) - np.exp(-2.0 * points)
    assert np.max(np.abs(error)) < 2e-3


def test_a_pair_has_every_combination_and_weights_that_add_to_one():
    grid = level_grid(2)
    assert grid.nodes.shape == (2, len(PAIR_NODES) ** 2)
    assert grid.weights.sum() == pytest.approx(1.0)
    plane = grid.nodes[0] + 2.0 * grid.nodes[1]
    assert grid.between @ plane == pytest.approx(grid.fine[0] + 2.0 * grid.fine[1], abs=1e-12)


def test_the_clean_unit_is_one_point():
    grid = level_grid(0)
    assert grid.nodes.shape == (0, 1)
    assert grid.weights.tolist() == [1.0]


def test_all_explanations_stand_in_one_row():
    told = hypotheses().all
    nodes = [level_grid(len(one.faults)).nodes for one in told]
    faults = joined_faults(told, nodes)
    count = 1 + 10 * len(LEVEL_NODES) + len(LIKELY_PAIRS) * len(PAIR_NODES) ** 2
    charge = np.asarray(faults.charge_change)
    assert charge.shape == (count,)
    assert charge.min() == pytest.approx(-0.4)
    assert charge.max() == pytest.approx(0.4)
    assert charge[0] == 0.0


def test_levels_of_pairs_are_among_those_of_single_faults():
    assert set(PAIR_NODES) <= set(LEVEL_NODES)
