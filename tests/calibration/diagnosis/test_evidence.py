"""Evidence over levels: what was made is the likeliest, and the laws that evidence keeps."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.case.meters import Instruments
from calibration.case.records import UnitDescription, Visit
from calibration.clean_fit.baseline import fit_baseline
from calibration.clean_fit.observation import point_readings
from calibration.diagnosis.draws import likeliest_latent
from calibration.diagnosis.evidence import Inquiry, chi_square, median_point, weighed
from calibration.diagnosis.gross_errors import gross_errors
from calibration.diagnosis.hypotheses import hypotheses
from calibration.diagnosis.likelihood import reading_covariance
from calibration.diagnosis.scene import scene
from calibration.diagnosis.visit_model import STOPPED, at_latent
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


FLOODED = UnitDescription("Invented unit", "R410A", "fixed orifice", 10_550.0, rated_eer=3.22)
READ = Visit(
    label="found",
    coil="as found",
    outdoor_db=308.15,
    return_db=298.15,
    return_wb=290.93,
    suction_pressure=984e3,
    liquid_pressure=3100e3,
    suction_temperature=286.5,
    liquid_temperature=316.5,
)
"""Gauges and pipes of a unit with superheat and a high head. Every number is invented."""


def drawn_evidence(place, level, own):
    """Logarithm of the mean likelihood of the readings over units drawn as they are known before them."""
    count, rows = 20_000, place.readings
    draw = np.random.default_rng(3).standard_normal((place.prior_mean.size, count))
    latent = place.prior_mean[:, None] + np.linalg.cholesky(place.prior_covariance) @ draw
    point = at_latent(place, latent, Faults(condenser_blocked=np.full(count, level)))
    shown = point_readings(point, tuple(place.names[row] for row in rows), READ.ambient_pressure)
    error = np.hypot(own[rows], place.meter[rows])
    off = (place.values[rows][:, None] - shown) / error[:, None]
    logs = np.where(np.isin(point.state, STOPPED), -np.inf, -0.5 * np.sum(off**2, axis=0))
    return np.logaddexp.reduce(logs) - np.log(count) - np.log(error).sum()


def test_evidence_leads_out_of_a_flooded_coil():
    """The sized unit has 3 K of superheat in this weather, and none with half of its face blocked, while
    gauge and pipe show 7 K. What the evidence says of such a level beside none is within 0.7 of what 20,000
    drawn units say, who scatter by some 0.3; with the slopes of the flooded coil it was 20 below."""
    place = scene(fit_baseline(FLOODED), [], READ, Instruments())
    middle = np.broadcast_to(place.prior_mean[:, None], (place.prior_mean.size, 2))
    superheat = at_latent(place, middle, Faults(condenser_blocked=np.array([0.0, 0.48]))).superheat
    assert superheat[0] > 2.0 and superheat[1] == 0.0
    ((_, face),) = weighed([Inquiry(place, gross_errors(place), hypotheses().all[:2])])
    points = [0, *(int(np.argmin(np.abs(0.8 * face.levels[0] - share))) for share in (0.2, 0.48))]
    said = [face.right[point] - np.log(face.weights[point]) for point in points]
    drawn = [drawn_evidence(place, 0.8 * face.levels[0, point], face.own[point]) for point in points]
    np.testing.assert_allclose(np.subtract(said, said[0]), np.subtract(drawn, drawn[0]), atol=0.7)
