"""The smoother: the wander's precision, and the answer against the dense formula."""

import numpy as np
import pytest

from calibration.track.smoother import WANDER, WANDER_DAYS, DatedChange, forward, wander_precision


def test_the_wander_forgets_exponentially():
    """Ornstein-Uhlenbeck covariance (Rasmussen and Williams 2006, eq. 4.20; from memory)."""
    days = np.array([0.0, 1.0, 4.0, 60.0, 61.5])
    covariance = np.linalg.inv(wander_precision(days))
    expected = WANDER**2 * np.exp(-np.abs(days[:, None] - days) / WANDER_DAYS)
    np.testing.assert_allclose(covariance, expected, rtol=1e-6, atol=1e-12)


def test_changes_begin_on_their_day():
    years = np.array([0.0, 0.5, 1.0])
    np.testing.assert_array_equal(DatedChange("cleaned", "", "step", 0.5, 0.3).shape(years), [0, 1, 1])
    np.testing.assert_allclose(DatedChange("leak", "charge", "ramp", 0.5, 0.3).shape(years), [0, 0, 0.5])
    assert DatedChange("leak", "charge", "ramp", 0.5, 0.3).shape(np.array([0.75])) == pytest.approx(0.25)


def test_the_forward_solution_is_that_of_the_whole_factor():
    rng = np.random.default_rng(2)
    nodes, others = 9, 4
    matrix = np.eye(nodes + others)
    matrix[:nodes, :nodes] += wander_precision(np.cumsum(rng.uniform(1.0, 30.0, nodes)))
    crossed = rng.standard_normal((nodes, others))
    matrix[:nodes, nodes:], matrix[nodes:, :nodes] = crossed, crossed.T
    matrix[nodes:, nodes:] += crossed.T @ crossed
    factor = np.linalg.cholesky(matrix)
    right = rng.standard_normal((nodes + others, 5))
    np.testing.assert_allclose(factor @ forward(factor, nodes, right), right, atol=1e-9)


def test_a_step_of_the_level_fades_and_one_of_a_sensor_stays():
    years = 50.0 + np.array([-0.1, 0.0, 0.5])
    level = DatedChange("cleaned", "", "step", 50.0, 1.0)
    np.testing.assert_allclose(level.shape(years, 2.0), [0.0, 1.0, np.exp(-1.0)])
    np.testing.assert_allclose(level.shape(years), [0.0, 1.0, 1.0])
    sensor = DatedChange("step:outdoor_db", "outdoor_db", "step", 50.0, 1.0)
    np.testing.assert_allclose(sensor.shape(years, 2.0), [0.0, 1.0, 1.0])
