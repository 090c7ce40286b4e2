"""Draws that stand for what readings leave open: evenly probable, always the same, of the right spread."""

import numpy as np
import pytest
from scipy.stats import norm

from calibration.diagnosis.draws import drawn_states, level_points, likeliest_latent, normal_draws
from tests.calibration.matched_visits import half_blocked


def test_rows_of_normal_draws_are_even_and_independent():
    rows = normal_draws(np.random.default_rng(3), 4, 200)
    assert rows.mean(axis=1) == pytest.approx(np.zeros(4), abs=1e-12)
    assert rows.std(axis=1) == pytest.approx(np.ones(4))
    assert np.quantile(rows[0], [0.05, 0.95]) == pytest.approx(norm.ppf([0.05, 0.95]), abs=0.05)
    assert np.abs(np.corrcoef(rows) - np.eye(4)).max() < 0.25
    assert all(np.array_equal(np.sort(row), np.sort(rows[0])) for row in rows)


def test_levels_are_drawn_by_their_probability():
    posterior = half_blocked()
    one = posterior.explanations[posterior.number("condenser_blocked")]
    points = level_points(one, 1000)
    assert np.all(np.diff(points) >= 0)
    shares = np.bincount(points, minlength=one.posterior.size) / 1000
    assert shares == pytest.approx(one.posterior / one.posterior.sum(), abs=0.002)


def test_the_same_draws_every_time_around_the_likeliest_unit():
    posterior = half_blocked()
    number = posterior.number("condenser_blocked")
    levels, latent = drawn_states(posterior, number, 400)
    again = drawn_states(posterior, number, 400)
    assert np.array_equal(levels, again[0])
    assert np.array_equal(latent, again[1])
    one = posterior.explanations[number]
    likeliest = likeliest_latent(posterior, number, int(np.argmax(one.posterior)))
    spread = np.maximum(latent.std(axis=1), 1e-9)
    assert np.all(np.abs(latent.mean(axis=1) - likeliest) < 1.5 * spread)
    prior = np.sqrt(np.diag(posterior.place.prior_covariance))
    assert np.all(latent.std(axis=1) < 1.1 * prior + 1e-9)
