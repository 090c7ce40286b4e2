"""A prior of parameters: written and read back, and its pull on a fit."""

import json

import numpy as np
import pytest

from calibration.clean_fit.baseline import fit_baseline
from calibration.clean_fit.parameter_prior import (
    PLAIN,
    ParameterPrior,
    prior_entry,
    prior_of_entry,
)
from calibration.clean_fit.parameters import NAMES, SPREADS
from tests.calibration.made_visits import DESCRIPTION, true_unit, visit_of

FLOW = NAMES.index("displacement")


def moved(spread: float) -> ParameterPrior:
    """The plain one with the compressor's flow half a spread higher and this much of its spread."""
    mean, scale = np.zeros(SPREADS.size), np.ones(SPREADS.size)
    mean[FLOW], scale[FLOW] = 0.5 * SPREADS[FLOW], spread
    return ParameterPrior(mean, np.diag((scale * SPREADS) ** 2))


def test_a_prior_is_the_same_after_it_was_written():
    prior = moved(0.25)
    back = prior_of_entry(json.loads(json.dumps(prior_entry(prior))))
    np.testing.assert_allclose(back.mean, prior.mean, atol=1e-6)
    np.testing.assert_allclose(back.covariance, prior.covariance, atol=1e-6)
    assert prior_entry(back) == prior_entry(prior)
    with pytest.raises(ValueError, match="must have 230 numbers, got 3"):
        prior_of_entry((0.0, 0.0, 1.0))


def test_the_plain_prior_is_that_of_the_spreads():
    assert np.array_equal(PLAIN.precision, np.diag(1.0 / SPREADS**2))
    assert np.array_equal(prior_of_entry(prior_entry(PLAIN)).mean, PLAIN.mean)


def test_a_fit_without_visits_follows_what_is_known_beforehand():
    plain, known = fit_baseline(DESCRIPTION), fit_baseline(DESCRIPTION, prior=moved(0.05))
    assert known.values[FLOW] == pytest.approx(0.5 * SPREADS[FLOW], abs=0.1 * SPREADS[FLOW])
    assert abs(plain.values[FLOW]) < 0.1 * SPREADS[FLOW]
    assert known.spreads[FLOW] <= 0.05 * SPREADS[FLOW] * (1 + 1e-9)


def test_own_visits_outweigh_a_prior_that_they_contradict():
    visits = [visit_of(true_unit()) for _ in range(6)]
    plain, known = fit_baseline(DESCRIPTION, visits), fit_baseline(DESCRIPTION, visits, prior=moved(0.5))
    assert abs(known.values[FLOW] - plain.values[FLOW]) < 0.1 * SPREADS[FLOW]
    assert known.values[FLOW] > plain.values[FLOW]


def test_visits_alone_and_prior_give_the_posterior_where_no_nameplate_is_evidence():
    found = fit_baseline(DESCRIPTION, [visit_of(true_unit())], rated=False, prior=moved(0.5))
    information, pull = found.visits_alone()
    precision = found.prior.precision
    covariance = np.linalg.inv(precision + information)
    np.testing.assert_allclose(covariance, found.covariance, rtol=1e-6, atol=1e-12)
    mean = covariance @ (precision @ found.prior.mean + pull)
    np.testing.assert_allclose(mean, found.values, atol=0.01 * SPREADS.min())
