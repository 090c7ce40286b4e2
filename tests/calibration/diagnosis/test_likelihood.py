"""The density of readings, gross errors in closed form, against matrices and sums over sizes written out."""

import numpy as np
import pytest

from calibration.diagnosis.evidence import IMPOSSIBLE
from calibration.diagnosis.gross_errors import SIZES
from calibration.diagnosis.likelihood import LOOSE_SCALES, Likelihood, error_pairs, log_of_sum
from tests.calibration.matched_visits import half_blocked


def normal_log_density(off, covariance):
    """By eigenvalues of the correlations: pascals beside kelvins are too much for SciPy's own check."""
    spread = np.sqrt(np.diag(covariance))
    values, vectors = np.linalg.eigh(covariance / np.outer(spread, spread))
    turned = vectors.T @ (off / spread)
    size = np.sum(np.log(2 * np.pi * values)) + 2 * np.sum(np.log(spread))
    return -0.5 * float(np.sum(turned**2 / values) + size)


@pytest.fixture(scope="module")
def parts():
    """Likelihood of a unit without fault, its covariance, differences, and the ways of gross errors."""
    found = half_blocked()
    place, one = found.place, found.explanations[0]
    taken = place.readings
    slopes, own = one.slopes[0, taken], np.hypot(one.own[0, taken], place.meter[taken])
    covariance = slopes @ place.prior_covariance @ slopes.T + np.diag(own**2)
    likelihood = Likelihood(place, found.errors, one.expected, one.slopes, one.own)
    ways = found.errors.directions(taken, one.slopes[:, taken])[0]
    return found, likelihood, covariance, place.values[taken] - one.expected[0, taken], ways


def prior_density(found, error, sizes):
    """Of the size of a gross error, from what its kind prefers and the air allows; a sum over `SIZES`."""
    density = sum(
        share * sizes**2 / k**2 * np.exp(-0.5 * (sizes / k) ** 2) / (k * np.sqrt(2 * np.pi))
        for k, share in SIZES.items()
    )
    positive = found.errors.positive[error]
    low, high = found.errors.ends[error]
    return density * 2.0 * np.where(sizes > 0, positive, 1.0 - positive) * ((sizes >= low) & (sizes <= high))


def turned(covariance, *vectors):
    """Vectors in the axes and units in which the covariance is the unit matrix, by eigenvalues."""
    spread = np.sqrt(np.diag(covariance))
    values, axes = np.linalg.eigh(covariance / np.outer(spread, spread))
    return [axes.T @ (vector / spread) / np.sqrt(values) for vector in vectors]


def test_density_is_the_multivariate_normal(parts):
    _, likelihood, covariance, off, _ = parts
    assert likelihood.right[0] == pytest.approx(normal_log_density(off, covariance), rel=1e-9)
    loose = np.logaddexp.reduce([normal_log_density(off, covariance * k**2) for k in LOOSE_SCALES])
    assert likelihood.loose()[0] == pytest.approx(loose - np.log(len(LOOSE_SCALES)), rel=1e-9)


def test_the_size_of_a_gross_error_is_a_density_that_is_zero_at_zero(parts):
    found, *_ = parts
    sizes = np.linspace(-400.0, 400.0, 80_001)
    density = prior_density(found, found.errors.names.index("liquid_temperature"), sizes)
    assert density.sum() * (sizes[1] - sizes[0]) == pytest.approx(1.0, abs=1e-6)
    assert density[np.abs(sizes) < 2.0].sum() * (sizes[1] - sizes[0]) < 0.02
    usual = density[(np.abs(sizes) >= 5.0) & (np.abs(sizes) <= 20.0)].sum() * (sizes[1] - sizes[0])
    assert 0.6 < usual < 0.9


def test_one_gross_error_is_a_sum_over_its_sizes(parts):
    found, likelihood, covariance, off, ways = parts
    gains = likelihood.one_wrong()[0]
    sizes = np.linspace(-300.0, 300.0, 60_001)
    step = sizes[1] - sizes[0]
    for error, odds in enumerate(found.errors.odds):
        plain, way = turned(covariance, off, ways[:, error])
        moved = plain[:, None] - way[:, None] * sizes
        relative = np.exp(-0.5 * (np.sum(moved**2, axis=0) - plain @ plain))
        wanted = np.log(odds * np.sum(prior_density(found, error, sizes) * relative) * step)
        assert gains[error] == pytest.approx(wanted, abs=2e-3), found.errors.names[error]


def test_two_gross_errors_are_a_sum_over_both_sizes(parts):
    found, likelihood, covariance, off, ways = parts
    gains = likelihood.two_wrong()[0]
    pairs = error_pairs(len(found.errors.names))
    assert len(gains) == len(pairs)
    free = [all(found.errors.positive[list(pair)] == 0.5) for pair in pairs]
    bound = [np.isfinite(found.errors.ends[list(pair)]).any() for pair in pairs]
    sizes = np.linspace(-150.0, 150.0, 3001)
    step = sizes[1] - sizes[0]
    for number in np.flatnonzero(np.array(free) & ~np.array(bound))[::9]:
        plain, first, second = turned(covariance, off, *(ways[:, error] for error in pairs[number]))
        half = -0.5 * (first @ first) * sizes**2 + (first @ plain) * sizes
        other = -0.5 * (second @ second) * sizes**2 + (second @ plain) * sizes
        log = half[:, None] + other - (first @ second) * np.multiply.outer(sizes, sizes)
        weight = np.multiply.outer(*(prior_density(found, error, sizes) for error in pairs[number]))
        odds = np.prod(found.errors.odds[pairs[number]])
        wanted = np.log(odds * np.sum(weight * np.exp(log)) * step**2)
        assert gains[number] == pytest.approx(wanted, abs=5e-3), pairs[number]


def test_the_supported_error_is_that_of_least_squares(parts):
    found, likelihood, covariance, off, ways = parts
    for error in range(len(found.errors.names)):
        way = ways[:, error]
        weight = np.linalg.solve(covariance, way)
        assert likelihood.pull[0, error] / likelihood.information[0, error, error] == pytest.approx(
            (weight @ off) / (weight @ way), rel=1e-6
        )


def test_a_wet_bulb_read_high_is_likelier_than_one_read_low(parts):
    found, *_ = parts
    error = found.errors.names.index("supply_wb")
    assert found.errors.positive[error] > 0.5
    setting = found.errors.names.index("return_wb")
    assert found.errors.positive[setting] < 0.5, "a setting read too high should have been lower"


def test_a_sum_of_logarithms_is_that_of_their_numbers():
    logs = np.array([[-800.0, -801.0, IMPOSSIBLE], [3.0, 2.0, 1.0]])
    np.testing.assert_allclose(log_of_sum(logs, axis=1), np.logaddexp.reduce(logs, axis=1), rtol=1e-15)
    np.testing.assert_allclose(log_of_sum(logs, axis=0), np.logaddexp.reduce(logs, axis=0), rtol=1e-15)
