"""Evenly spread draws: each quantity alone, pairs of them, and means over them."""

import numpy as np
import pytest

from calibration.costs.quasi_draws import DIGITS, NET, evenly_spread, normal_scores, sobol_digits


@pytest.mark.parametrize("count", [2, 5, 64, 128, 200])
def test_each_quantity_runs_through_equal_parts(count):
    for row in evenly_spread(20, count, 7):
        assert np.array_equal(np.sort(np.floor(row * count)), np.arange(count))


def test_pairs_of_the_first_quantities_are_spread_evenly():
    """Of 256 points each quarter by quarter of a square has its sixteenth, give or take a few."""
    drawn = evenly_spread(6, 256, 3)
    for a in range(6):
        for b in range(a):
            counts = np.histogram2d(drawn[a], drawn[b], bins=4, range=[[0, 1], [0, 1]])[0]
            assert counts.min() >= 8
            assert counts.max() <= 24


def test_a_mean_over_them_is_far_surer_than_by_chance():
    """Mean of a product of log-normals, whose exact value is known: less than half of the error of chance."""
    spread = np.array([0.5, 0.4, 0.3, 0.2])[:, None]
    exact = float(np.exp(0.5 * (spread**2).sum()))

    def errors(draws):
        return np.std(
            [np.exp((spread * normal_scores(draws(state))).sum(axis=0)).mean() for state in range(40)]
        )

    even = errors(lambda state: evenly_spread(4, 128, state))
    chance = errors(lambda state: np.random.default_rng(state).random((4, 128)))
    assert even < 0.5 * chance
    assert even < 0.03 * exact


def test_the_first_half_or_quarter_is_spread_evenly_too():
    drawn = evenly_spread(8, 128, 1)
    for part in (64, 32):
        for one in drawn[:, :part]:
            assert np.array_equal(np.sort(np.floor(one * part)), np.arange(part))


@pytest.mark.parametrize("quantity", range(NET))
def test_the_sequence_is_that_of_another_implementation(quantity):
    """SciPy's, whose numbers are those that Joe and Kuo publish; it counts its points in Gray's order."""
    from scipy.stats import qmc

    points = 64
    theirs = qmc.Sobol(NET, scramble=False).random(points)[:, quantity]
    ours = 0.5 ** np.arange(1, DIGITS + 1) @ sobol_digits(quantity, points)
    gray = np.arange(points) ^ (np.arange(points) >> 1)
    assert np.array_equal(ours[gray], theirs)


def test_more_quantities_leave_the_first_ones_as_they_are():
    assert np.array_equal(evenly_spread(4, 32, 5), evenly_spread(30, 32, 5)[:4])


def test_the_state_decides():
    assert np.array_equal(evenly_spread(3, 16, 1), evenly_spread(3, 16, 1))
    assert not np.array_equal(evenly_spread(3, 16, 1), evenly_spread(3, 16, 2))
    with pytest.raises(ValueError, match="count must be 2 or more, got 1"):
        evenly_spread(3, 1, 1)
