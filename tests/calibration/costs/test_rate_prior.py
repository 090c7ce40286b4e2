"""What is known of a growth rate before any visit, as a distribution."""

import numpy as np
import pytest

from calibration.costs.quasi_draws import normal_scores
from calibration.costs.rate_prior import PUBLISHED, RatePrior
from model.maintenance.growth import CONDENSER_RATE_HIGH, CONDENSER_RATE_LOW, rate_at_score


def test_the_published_span_is_that_of_the_model():
    assert PUBLISHED.rate.ends == pytest.approx((CONDENSER_RATE_LOW, CONDENSER_RATE_HIGH), rel=0.01)
    chance = np.array([0.03, 0.4, 0.97])
    assert PUBLISHED.at(chance) == pytest.approx(rate_at_score("condenser", normal_scores(chance)), rel=0.01)


def test_odd_units_widen_the_ends_and_leave_the_middle():
    usual, mixed = RatePrior(-3.0, 0.2), RatePrior(-3.0, 0.2, 0.1, 1.2)
    assert mixed.rate.value == usual.rate.value
    assert mixed.rate.high > usual.rate.high
    draws = mixed.at((np.arange(4000) + 0.5) / 4000)
    share = np.mean(np.abs(np.log(draws) + 3.0) > 4.0 * 0.2)
    assert share == pytest.approx(0.1 * 0.51, abs=0.005)
