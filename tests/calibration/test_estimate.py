"""A value and its 90 % range, from a standard error or from draws."""

import numpy as np
import pytest
from scipy.stats import norm

from calibration.estimate import Estimate, of_draws, of_many_draws, of_weighted, with_error


def test_range_of_a_normal_error():
    # 5 % and 95 % points of the normal distribution: 1.6449 standard deviations (any statistical table).
    one = with_error(10.0, 2.0)
    assert one.ends == pytest.approx((10 - 3.2897, 10 + 3.2897), abs=1e-4)
    assert norm.cdf(one.high, 10.0, 2.0) - norm.cdf(one.low, 10.0, 2.0) == pytest.approx(0.9)
    assert one.standard_error == pytest.approx(2.0)
    assert with_error(5.0, 0.0).ends == (5.0, 5.0)
    assert np.isnan(with_error(5.0, float("nan")).ends).all()


def test_a_range_excludes_zero_from_either_side():
    assert with_error(1.65, 1.0).excludes_zero
    assert with_error(-1.65, 1.0).excludes_zero
    assert not with_error(1.64, 1.0).excludes_zero
    assert not with_error(-1.64, 1.0).excludes_zero


def test_a_loss_turned_into_a_change_keeps_its_ends_in_order():
    assert Estimate(0.1, 0.02, 0.3).times(-1.0) == Estimate(-0.1, -0.3, -0.02)
    assert Estimate(2.0, 1.0, 4.0).times(0.5) == Estimate(1.0, 0.5, 2.0)


def test_median_and_range_of_draws():
    assert of_draws(np.arange(101.0)[::-1]) == Estimate(50.0, 5.0, 95.0)
    assert of_draws(4.0) == Estimate(4.0, 4.0, 4.0)


def test_infinite_draws_are_counted_and_not_interpolated():
    assert of_draws([300.0] * 20 + [np.inf] * 80) == Estimate(np.inf, 300.0, np.inf)


def test_weighted_draws_have_their_mean_and_nine_tenths_of_the_weight():
    values, weights = np.arange(100.0), np.linspace(1.0, 2.0, 100)
    order = np.random.default_rng(2).permutation(100)
    got = of_weighted(values[order], weights[order])
    assert got.value == pytest.approx(np.average(values, weights=weights))
    inside = (values >= got.low) & (values <= got.high)
    assert weights[inside].sum() / weights.sum() == pytest.approx(0.9, abs=0.02)
    assert of_weighted(np.array([0.0, 10.0]), np.array([0.97, 0.03])).high >= 0.3


def test_smoothed_ends_are_those_of_the_distribution_and_move_less():
    """Log-normal draws: 5 % and 95 % points exp(-+1.6449 s); the ends scatter less."""
    sigma, draw = 0.7, np.random.default_rng(5)
    families = np.exp(sigma * draw.standard_normal((200, 256)))
    plain = np.array([of_draws(one).ends for one in families])
    smooth = np.array([of_many_draws(one).ends for one in families])
    np.testing.assert_allclose(np.log(smooth).mean(axis=0), [-1.6449 * sigma, 1.6449 * sigma], atol=0.03)
    assert np.all(np.log(smooth).std(axis=0) < 0.97 * np.log(plain).std(axis=0))


def test_few_draws_and_draws_about_zero_are_not_smoothed():
    values = np.random.default_rng(6).standard_normal(300)
    for draws in (
        np.exp(values[:40]),
        values,
        np.where(values < 0.5, 0.0, values),
        [1.0] * 80 + [np.inf] * 20,
    ):
        plain, smooth = of_draws(draws), of_many_draws(draws)
        assert smooth.value == plain.value
        assert smooth.low == plain.low
    assert of_many_draws(np.full(200, 3.0)).ends == pytest.approx((3.0, 3.0))
