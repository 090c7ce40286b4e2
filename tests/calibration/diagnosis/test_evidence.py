"""Evidence over levels: against sums done by hand, and the laws that it keeps."""

import numpy as np
import pytest

from calibration.diagnosis.evidence import NONE_SCALE, chi_square, log_density, log_sum, probabilities, weighed
from calibration.diagnosis.draws import likeliest_latent
from calibration.diagnosis.likelihood import reading_covariance
from calibration.diagnosis.hypotheses import candidates
from calibration.diagnosis.visit_model import at_latent
from calibration.diagnosis.scene import scene
from model.cycle.faults import HEALTHY, Faults
from tests.calibration.made_visits import DESCRIPTION
from tests.calibration.matched_visits import METERS, baseline, clean_visit, found_visit


@pytest.fixture(scope="module")
def blocked():
    """Scene and explanations of a visit with half of the face blocked: clean and face blocked."""
    visit = found_visit(Faults(condenser_blocked=0.48))
    place = scene(baseline(DESCRIPTION), [clean_visit(DESCRIPTION)], visit, METERS)
    told = candidates()
    return place, weighed(place, (told.clean, told.singles[0]))


def test_log_sum_of_small_and_large_numbers():
    assert log_sum(np.log([0.2, 0.3])) == pytest.approx(np.log(0.5))
    assert log_sum(np.array([-2000.0, -2000.0])) == pytest.approx(-2000.0 + np.log(2.0))


def normal_log_density(off, covariance):
    """By eigenvalues of the correlations: pascals beside kelvins are too much for SciPy's own check."""
    spread = np.sqrt(np.diag(covariance))
    values, vectors = np.linalg.eigh(covariance / np.outer(spread, spread))
    turned = vectors.T @ (off / spread)
    size = np.sum(np.log(2 * np.pi * values)) + 2 * np.sum(np.log(spread))
    return -0.5 * float(np.sum(turned**2 / values) + size)


def test_density_is_the_multivariate_normal(blocked):
    place, (clean, _) = blocked
    rows = place.readings
    covariance = reading_covariance(place, clean.slopes[0, rows], clean.own[0, rows], place.meter[rows])
    off = place.values[rows] - clean.expected[0, rows]
    assert clean.likelihood[0] == pytest.approx(normal_log_density(off, covariance), rel=1e-9)
    assert log_density(place, clean.expected, clean.slopes, clean.own, rows[:0]).tolist() == [0.0]
    loose = normal_log_density(off, covariance * NONE_SCALE**2)
    assert clean.none_evidence == pytest.approx(loose, rel=1e-9)
    assert chi_square(place, clean, 0) == pytest.approx(float(off @ np.linalg.solve(covariance, off)))


def test_the_level_that_was_made_is_the_likeliest(blocked):
    _, (clean, face) = blocked
    assert face.posterior.sum() == pytest.approx(1.0)
    assert face.posterior @ face.levels[0] == pytest.approx(0.6, abs=0.06)
    assert face.evidence > clean.evidence + 10.0


def test_no_level_is_the_clean_unit(blocked):
    _, (clean, face) = blocked
    assert face.levels[0, 0] == 0.0
    assert face.likelihood[0] == pytest.approx(clean.likelihood[0], abs=0.3)


def test_the_likeliest_unit_shows_the_readings(blocked):
    place, (_, face) = blocked
    best = int(np.argmax(face.posterior))
    latent = likeliest_latent(place, face, best)
    point = at_latent(place, latent, Faults(condenser_blocked=0.8 * face.levels[0, best]))
    assert float(point.liquid_pressure) == pytest.approx(place.visit.liquid_pressure, rel=0.01)
    spread = np.sqrt(np.diag(place.prior_covariance))
    assert np.all(np.abs(latent - place.prior_mean) < 3.5 * spread)


def test_levels_beyond_a_trip_are_impossible():
    visit = found_visit(HEALTHY)
    hot = visit.__class__(**{**vars(visit), "outdoor_db": 319.0})
    place = scene(baseline(DESCRIPTION), [clean_visit(DESCRIPTION)], hot, METERS)
    told = candidates()
    _, face = weighed(place, (told.clean, told.singles[0]), rounds=1)
    assert face.possible[0]
    assert not face.possible[-1]
    assert np.all(np.diff(face.possible.astype(int)) <= 0)
    assert face.posterior[~face.possible].sum() == 0.0


def test_probabilities_weigh_evidence_with_priors(blocked):
    _, found = blocked
    shares = probabilities(found, 0.03)
    assert shares.sum() == pytest.approx(1.0)
    odds = found[1].evidence - found[0].evidence + np.log(found[1].candidate.prior / found[0].candidate.prior)
    assert np.log(shares[1] / shares[0]) == pytest.approx(odds)
    assert probabilities(found, 0.3)[-1] > shares[-1]
