"""Lines through windows against a fit of each, and runs and reaches against trying all."""

import numpy as np
import pytest

from calibration.measured.windows import longest_steady, reach_of, true_runs, window_lines

DRAW = np.random.default_rng(5)


def test_every_line_is_the_least_squares_line_of_its_window():
    values = DRAW.normal(300.0, 2.0, 40)
    lines = window_lines(values, 7)
    for start in range(34):
        place = np.arange(7) - 3.0
        slope, mean = np.polyfit(place, values[start : start + 7], 1)
        rest = values[start : start + 7] - mean - slope * place
        assert lines.slope[start] == pytest.approx(slope, abs=1e-9)
        assert lines.mean[start] == pytest.approx(mean)
        assert lines.scatter[start] == pytest.approx(np.sqrt(np.sum(rest**2) / 5.0), abs=1e-6)
        assert lines.share[start] == 1.0


def test_missing_blocks_lie_between_their_neighbours_and_are_counted():
    values = np.array([1.0, 2.0, np.nan, 4.0, 5.0])
    lines = window_lines(values, 5)
    assert lines.slope[0] == pytest.approx(1.0)
    assert lines.share[0] == pytest.approx(0.8)


def test_runs_of_true_values():
    assert true_runs(np.array([False, True, True, False, True])) == [(1, 3), (4, 5)]
    assert true_runs(np.array([False])) == []


def test_reach_and_longest_against_trying_all():
    values = np.cumsum(DRAW.normal(0.0, 0.3, 60))
    tried = []
    for start in range(60):
        end = start + 1
        while end < 60 and np.ptp(values[start : end + 1]) <= 1.0:
            end += 1
        tried.append(end)
    assert reach_of(values).tolist() == tried
    lengths = np.array(tried) - np.arange(60)
    start, length = longest_steady([values, np.zeros(60)])
    assert length == lengths.max() and lengths[start] == length
