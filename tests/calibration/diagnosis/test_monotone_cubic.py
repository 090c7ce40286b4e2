import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from calibration.diagnosis.monotone_cubic import monotone_cubic

NODES = np.array([0.0, 0.08, 0.18, 0.3, 0.42, 0.55, 0.7, 0.85, 1.0])
FINE = np.linspace(-0.05, 1.1, 231)


@pytest.mark.parametrize("count", [3, 4, 9])
def test_it_is_the_curve_of_scipy(count):
    """Rises, falls, level parts and turns at the ends, many curves at once; beyond the ends too."""
    values = np.random.default_rng(7).normal(size=(count, 50, 2)).round(1)
    values[:, 0] = 0.0
    own = monotone_cubic(NODES[:count], values, FINE)
    theirs = PchipInterpolator(NODES[:count], values)(FINE)
    np.testing.assert_allclose(own, theirs, rtol=1e-12, atol=1e-12)


def test_it_goes_through_the_nodes_and_does_not_overshoot():
    values = np.array([0.0, 1.0, 1.0, 1.0, 4.0, 4.5, 4.5, 2.0, 2.0])
    assert monotone_cubic(NODES, values, NODES) == pytest.approx(values, abs=1e-14)
    curve = monotone_cubic(NODES, values, FINE)
    level = (NODES[1] <= FINE) & (NODES[3] >= FINE)
    assert curve[level] == pytest.approx(1.0, abs=1e-14)
    rising = (FINE >= 0.0) & (NODES[5] >= FINE)
    assert np.all(np.diff(curve[rising]) >= -1e-14)


def test_a_straight_line_stays_one_beyond_its_ends():
    assert monotone_cubic(NODES, 3.0 - 2.0 * NODES, FINE) == pytest.approx(3.0 - 2.0 * FINE, abs=1e-13)


def test_two_nodes_are_too_few():
    with pytest.raises(ValueError, match="nodes must be at least 3, got 2"):
        monotone_cubic([0.0, 1.0], np.zeros(2), FINE)
