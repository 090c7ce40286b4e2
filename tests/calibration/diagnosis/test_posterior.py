"""The joint posterior: shares are Bayes' rule, and sums of them agree."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.diagnosis.hypotheses import Hypotheses, hypotheses
from calibration.diagnosis.posterior import freed_covariance, posterior_of
from model.cycle.faults import Faults
from tests.calibration.matched_visits import found_visit, half_blocked, judged


def test_shares_are_evidence_weighed_with_priors():
    found = half_blocked()
    assert found.shares.sum() + found.none_of_these == pytest.approx(1.0)
    first, second = found.number("condenser_blocked"), found.number("condenser_fan_slow")
    odds = found.explanations[first].evidence - found.explanations[second].evidence
    assert np.log(found.shares[first] / found.shares[second]) == pytest.approx(odds)


def test_a_larger_prior_of_none_of_these_gives_it_more():
    found, weights = half_blocked(), hypotheses()
    more = posterior_of(found.place, Hypotheses(weights.all, 0.3), rounds=1)
    less = posterior_of(found.place, weights, rounds=1)
    assert more.none_of_these > less.none_of_these


def test_probabilities_of_gross_errors_are_sums_over_all_explanations():
    visit = found_visit(Faults(condenser_blocked=0.48))
    found = judged(replace(visit, supply_db=visit.supply_db + 6.0))
    chances = dict(zip(found.errors.names, found.supported(), strict=True))
    assert chances["supply_db"].probability > 0.9
    assert all(0.0 <= one.probability <= 1.0 for one in chances.values())
    assert sum(one.probability for one in chances.values()) < 2.0, "no more than two at once"


def test_the_wrong_set_of_a_level_names_the_bad_reading():
    visit = found_visit(Faults(condenser_blocked=0.48))
    found = judged(replace(visit, supply_db=visit.supply_db + 6.0))
    number = found.number("condenser_blocked")
    best = int(np.argmax(found.explanations[number].posterior))
    assert [found.errors.names[error] for error in found.wrong_set(number, best)] == ["supply_db"]
    plain = half_blocked()
    assert plain.wrong_set(number, int(np.argmax(plain.explanations[number].posterior))).size == 0


def test_a_freed_reading_is_known_far_less_well():
    found = half_blocked()
    number, points = found.number("condenser_blocked"), np.array([30])
    error = found.errors.names.index("supply_db")
    place = found.place
    row = int(np.flatnonzero(place.readings == place.names.index("supply_db"))[0])
    tied = freed_covariance(found, number, points, [np.zeros(0, dtype=np.intp)])[0]
    free = freed_covariance(found, number, points, [np.array([error])])[0]
    assert free[row, row] > 100.0 * tied[row, row]
    others = np.arange(len(tied)) != row
    assert free[np.ix_(others, others)] == pytest.approx(tied[np.ix_(others, others)])
