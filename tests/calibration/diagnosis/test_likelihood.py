"""The density of readings, with gross errors by the determinant lemma, against matrices written out."""

import numpy as np
import pytest

from calibration.diagnosis.gross_errors import SIZES
from calibration.diagnosis.likelihood import LOOSE_SCALES, Likelihood, error_pairs
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


def with_sign(found, error):
    """Errors of no preferred side, for which the written-out mixture of normals is the whole density."""
    return found.errors.positive[error] == 0.5


def test_density_is_the_multivariate_normal(parts):
    _, likelihood, covariance, off, _ = parts
    assert likelihood.right[0] == pytest.approx(normal_log_density(off, covariance), rel=1e-9)
    loose = np.logaddexp.reduce([normal_log_density(off, covariance * k**2) for k in LOOSE_SCALES])
    assert likelihood.loose()[0] == pytest.approx(loose - np.log(len(LOOSE_SCALES)), rel=1e-9)


def test_one_gross_error_is_a_wider_normal(parts):
    found, likelihood, covariance, off, ways = parts
    gains = likelihood.one_wrong()[0]
    for error, odds in enumerate(found.errors.odds):
        if not with_sign(found, error):
            continue
        way = ways[:, error]
        wide = [normal_log_density(off, covariance + k**2 * np.outer(way, way)) for k in SIZES]
        wanted = np.logaddexp.reduce(wide) - np.log(len(SIZES)) + np.log(odds) - likelihood.right[0]
        assert gains[error] == pytest.approx(wanted, rel=1e-6, abs=1e-6), found.errors.names[error]


def test_two_gross_errors_are_a_normal_wider_in_two_ways(parts):
    found, likelihood, covariance, off, ways = parts
    gains = likelihood.two_wrong()[0]
    pairs = error_pairs(len(found.errors.names))
    assert len(gains) == len(pairs)
    chosen = [n for n, pair in enumerate(pairs) if all(with_sign(found, error) for error in pair)][::7]
    for number in chosen:
        first, second = (ways[:, error] for error in pairs[number])
        wide = [
            normal_log_density(
                off, covariance + k**2 * np.outer(first, first) + m**2 * np.outer(second, second)
            )
            for k in SIZES
            for m in SIZES
        ]
        odds = np.log(found.errors.odds[pairs[number]]).sum()
        wanted = np.logaddexp.reduce(wide) - 2 * np.log(len(SIZES)) + odds - likelihood.right[0]
        assert gains[number] == pytest.approx(wanted, rel=1e-6, abs=1e-6)


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
