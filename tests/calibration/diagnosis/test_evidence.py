"""Evidence over levels: what was made is the likeliest, and the laws that evidence keeps."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.diagnosis.draws import likeliest_latent
from calibration.diagnosis.evidence import Inquiry, chi_square, median_point, weighed
from calibration.diagnosis.gross_errors import gross_errors
from calibration.diagnosis.hypotheses import hypotheses
from calibration.diagnosis.likelihood import reading_covariance
from calibration.diagnosis.scene import scene
from calibration.diagnosis.visit_model import at_latent
from model.cycle.faults import HEALTHY, Faults
from tests.calibration.made_visits import DESCRIPTION
from tests.calibration.matched_visits import METERS, baseline, clean_visit, found_visit, half_blocked


def test_chi_square_counts_correlations():
    found = half_blocked()
    place, clean = found.place, found.explanations[0]
    rows = place.readings
    covariance = reading_covariance(place, clean.slopes[0, rows], clean.own[0, rows], place.meter[rows])
    off = place.values[rows] - clean.expected[0, rows]
    assert chi_square(place, clean, 0) == pytest.approx(float(off @ np.linalg.solve(covariance, off)))


def test_the_level_that_was_made_is_the_likeliest():
    found = half_blocked()
    clean, face = found.explanations[0], found.explanations[found.number("condenser_blocked")]
    assert face.posterior.sum() == pytest.approx(1.0)
    assert face.posterior @ face.levels[0] == pytest.approx(0.6, abs=0.06)
    assert face.levels[0, median_point(face)] == pytest.approx(0.6, abs=0.06)
    assert face.evidence > clean.evidence + 8.0  # odds of three thousand


def test_no_level_is_the_unit_without_fault():
    found = half_blocked()
    clean, face = found.explanations[0], found.explanations[found.number("condenser_blocked")]
    assert face.levels[0, 0] == 0.0
    prior = np.log(face.hypothesis.prior * face.weights[0] / clean.hypothesis.prior)
    assert face.right[0] - prior == pytest.approx(clean.right[0], abs=0.3)


def test_a_pair_at_the_edge_is_its_fault_alone():
    found = half_blocked()
    pair = found.explanations[found.number("condenser_blocked+undercharge")]
    alone = found.explanations[found.number("condenser_blocked")]
    edge = np.flatnonzero(pair.levels[1] == 0.0)
    rows = found.place.readings
    for point in edge[[0, len(edge) // 2, -1]]:
        level = pair.levels[0, point]
        between = [np.interp(level, alone.levels[0], alone.expected[:, row]) for row in rows]
        scale = np.maximum(np.abs(between), 1.0)
        assert np.max(np.abs(pair.expected[point, rows] - between) / scale) < 0.01


def test_the_likeliest_unit_shows_the_readings():
    found = half_blocked()
    place, number = found.place, found.number("condenser_blocked")
    face = found.explanations[number]
    best = int(np.argmax(face.posterior))
    latent = likeliest_latent(found, number, best)
    point = at_latent(place, latent, Faults(condenser_blocked=0.8 * face.levels[0, best]))
    assert float(point.liquid_pressure) == pytest.approx(place.visit.liquid_pressure, rel=0.01)
    spread = np.sqrt(np.diag(place.prior_covariance))
    assert np.all(np.abs(latent - place.prior_mean) < 3.5 * spread + 1e-9)


def test_levels_beyond_a_trip_are_impossible():
    hot = replace(found_visit(HEALTHY), outdoor_db=319.0)
    place = scene(baseline(DESCRIPTION), [clean_visit(DESCRIPTION)], hot, METERS)
    ((_, face),) = weighed([Inquiry(place, gross_errors(place), hypotheses().all[:2])], rounds=1)
    assert face.possible[0]
    assert not face.possible[-1]
    assert np.all(np.diff(face.possible.astype(int)) <= 0)
    assert face.posterior[~face.possible].sum() == 0.0
