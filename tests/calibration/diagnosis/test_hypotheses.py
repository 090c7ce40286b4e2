"""Explanations and their odds before any reading."""

import numpy as np
import pytest

from calibration.diagnosis.hypotheses import (
    FAULT_ODDS,
    FOULED_CONDENSER,
    LIKELY_PAIRS,
    NO_FAULT,
    TREATMENTS,
    drawn_level,
    faults_at,
    fine_levels,
    hypotheses,
    level_weights,
)
from model.cycle.faults import FAULTS

KEYS = {fault.key for fault in FAULTS}


@pytest.mark.parametrize("reason", [None, "routine", "complaint", "after service"])
@pytest.mark.parametrize("after_cleaning", [False, True])
def test_prior_probabilities_add_to_one(reason, after_cleaning):
    weights = hypotheses(reason, after_cleaning)
    assert sum(one.prior for one in weights.all) + weights.none_prior == pytest.approx(1.0)
    assert all(one.prior > 0 for one in weights.all)


def test_every_fault_stands_alone_and_has_a_treatment():
    weights = hypotheses()
    assert weights.all[0].key == NO_FAULT
    assert [one.key for one in weights.all[1 : 1 + len(FAULTS)]] == [fault.key for fault in FAULTS]
    assert set(FAULT_ODDS) == set(TREATMENTS) == KEYS


def test_pairs_hold_known_faults_once():
    assert {key for first, second, _ in LIKELY_PAIRS for key in (first, second)} <= KEYS
    unordered = [frozenset(pair[:2]) for pair in LIKELY_PAIRS]
    assert len(set(unordered)) == len(unordered)
    assert all(len(pair) == 2 for pair in unordered)
    assert {one.key for one in hypotheses().all if len(one.faults) == 2} == {
        f"{first}+{second}" for first, second, _ in LIKELY_PAIRS
    }


def test_the_reason_of_a_visit_moves_what_is_likely():
    def prior(key, *reason):
        return next(one.prior for one in hypotheses(*reason).all if one.key == key)

    assert prior(NO_FAULT, "routine") > prior(NO_FAULT, None) > prior(NO_FAULT, "complaint")
    assert prior("overcharge", "after service") > prior("overcharge", None)
    assert prior("condenser_blocked", None, True) < 0.2 * prior("condenser_blocked", None, False)


def test_a_treatment_is_what_a_person_would_do():
    pair = next(one for one in hypotheses().all if one.key == "condenser_dust+indoor_airflow_low")
    assert pair.treatments == {"clean_condenser", "restore_indoor_airflow"}
    assert pair.has(*FOULED_CONDENSER)
    assert not pair.has("undercharge")
    assert hypotheses().all[0].treatments == frozenset()


def test_weights_are_a_density_that_falls_from_mild_to_large():
    level = fine_levels()
    weights = level_weights(level)
    assert weights.sum() == pytest.approx(1.0)
    # 3 to 1 from mildest to largest: the mean level of such a trapezoid is (3 + 2 * 1) / (3 * (3 + 1)).
    assert weights @ level == pytest.approx(5 / 12, abs=2e-3)


def test_drawn_levels_follow_the_same_density():
    level = fine_levels(513)
    below = np.cumsum(level_weights(level))
    middle = np.array([0.1, 0.5, 0.9])
    assert drawn_level(middle) == pytest.approx(np.interp(middle, below, level), abs=3e-3)
    assert drawn_level([0.0, 1.0]) == pytest.approx([0.0, 1.0], abs=1e-12)


def test_faults_at_sets_the_fields_of_a_pair():
    pair = next(one for one in hypotheses().all if one.key == "condenser_blocked+undercharge")
    faults = faults_at(pair, [[0.5, 1.0], [0.25, 0.0]])
    assert np.asarray(faults.condenser_blocked) == pytest.approx([0.4, 0.8])
    assert np.asarray(faults.charge_change) == pytest.approx([-0.1, 0.0])
