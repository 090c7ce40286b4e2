"""Explanations and their odds before any reading."""

import numpy as np
import pytest

from calibration.diagnosis.hypotheses import (
    CLEAN,
    FAULT_ODDS,
    LOOK_ALIKE_ACTS,
    PLAUSIBLE_PAIRS,
    WITH_ARTICLE,
    candidates,
    drawn_level,
    faults_at,
    fine_levels,
    in_a_sentence,
    level_weights,
    separating_acts,
)
from model.cycle.faults import FAULTS

NAMES = {fault.name for fault in FAULTS}


@pytest.mark.parametrize("pairs", [False, True])
def test_prior_probabilities_add_to_one(pairs):
    told = candidates(pairs)
    assert sum(one.prior for one in told.all) + told.none_prior == pytest.approx(1.0)
    assert all(one.prior > 0 for one in told.all)


def test_every_fault_is_a_candidate_alone():
    told = candidates()
    assert told.clean.name == CLEAN
    assert [one.name for one in told.singles] == [fault.name for fault in FAULTS]
    assert set(FAULT_ODDS) == NAMES


def test_pairs_hold_known_faults_once_and_in_one_order():
    assert {name for pair in PLAUSIBLE_PAIRS for name in pair} <= NAMES
    unordered = [frozenset(pair) for pair in PLAUSIBLE_PAIRS]
    assert len(set(unordered)) == len(unordered)
    assert all(len(pair) == 2 for pair in unordered)


def test_acts_are_for_known_pairs():
    assert all(pair <= NAMES and len(pair) == 2 for pair in LOOK_ALIKE_ACTS)
    acts = separating_acts(("overcharge", "non_condensables", "undercharge"))
    assert any("unit off" in act for act in acts)
    assert separating_acts(("overcharge",)) == ()
    dirty_or_slow = separating_acts(("condenser_blocked", "condenser_dust", "condenser_fan_slow"))
    assert len(dirty_or_slow) == 2, "one look at the fan tells it from either kind of dirt"


def test_weights_are_a_density_that_falls_from_mild_to_grave():
    level = fine_levels()
    weights = level_weights(level)
    assert weights.sum() == pytest.approx(1.0)
    # 3 to 1 from mildest to gravest: the mean level of such a trapezoid is (3 + 2 * 1) / (3 * (3 + 1)).
    assert weights @ level == pytest.approx(5 / 12, abs=2e-3)


def test_drawn_levels_follow_the_same_density():
    level = fine_levels(513)
    below = np.cumsum(level_weights(level))
    middle = np.array([0.1, 0.5, 0.9])
    assert drawn_level(middle) == pytest.approx(np.interp(middle, below, level), abs=3e-3)
    assert drawn_level([0.0, 1.0]) == pytest.approx([0.0, 1.0], abs=1e-12)


def test_faults_at_sets_the_fields_of_a_pair():
    pair = next(one for one in candidates(True).pairs if one.name == "blocked condenser face and undercharge")
    faults = faults_at(pair, [[0.5, 1.0], [0.25, 0.0]])
    assert np.asarray(faults.condenser_blocked) == pytest.approx([0.4, 0.8])
    assert np.asarray(faults.charge_change) == pytest.approx([-0.1, 0.0])


def test_faults_stand_in_a_sentence_with_the_article_they_want():
    assert in_a_sentence("condenser_blocked") == "a blocked condenser face"
    assert in_a_sentence("slow condenser fan and undercharge") == "a slow condenser fan and undercharge"
    assert in_a_sentence(CLEAN) == "a clean unit"
    assert {fault.name for fault in FAULTS} >= WITH_ARTICLE
