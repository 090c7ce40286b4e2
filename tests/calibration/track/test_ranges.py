"""Ranges: the bounded quantiles of mixed normals, and what a possible change does to them."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from calibration.track.days import daily_visits
from calibration.track.ranges import MOST_LEVEL, _bounds, ranges
from calibration.track.smoother import smoothed
from calibration.track.system import linear_system
from tests.made_tracks import demo, made_stretches


@pytest.fixture(scope="module")
def answer():
    case, baseline = demo()
    (days,) = daily_visits(case, baseline, made_stretches(np.full(12, 0.2)))
    ones = np.ones(len(days.day))
    system = linear_system([days], [0.2 * ones], [0.2 * ones], [ones], [np.eye(len(days.names))])
    return smoothed(system, system.years - system.years[0], [], [], False)


def test_one_normal_is_cut_at_the_bounds():
    centre, wide = np.array([[-0.05, 0.3]]), np.array([[0.1, 0.05]])
    for mine, share in zip(_bounds(centre, wide, np.ones((1, 1))), (0.5, 0.05, 0.95), strict=True):
        cut = stats.truncnorm(-centre[0] / wide[0], (MOST_LEVEL - centre[0]) / wide[0], centre[0], wide[0])
        np.testing.assert_allclose(mine, cut.ppf(share), atol=1e-6)


def test_another_explanation_widens_the_ranges_by_its_share(answer):
    other = replace(answer, middle=answer.middle + 0.3, rate=answer.rate + 0.5)
    alone, both = ranges([answer], [1.0]), ranges([answer, other], [0.8, 0.2])
    assert np.all(both.high > alone.high + 0.1)
    assert np.all(np.abs(both.level - alone.level) < 0.15)
    assert both.rate_high > alone.rate_high
    same = ranges([answer, answer], [0.5, 0.5])
    np.testing.assert_allclose(same.low, alone.low, atol=1e-6)
