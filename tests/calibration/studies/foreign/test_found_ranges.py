"""Ranges of level and loss beside the truth: a small draw of a part of `coiltoll study coverage`."""

import numpy as np
import pytest

from calibration.diagnosis.hypotheses import NO_FAULT
from calibration.estimate import Estimate
from calibration.studies.foreign import found_ranges as ranges
from calibration.studies.foreign.found_ranges import QUANTITIES, TRUTHS, drawn_visit, found_ranges


def test_what_contains_the_truth_is_counted_as_such():
    rows = [
        ("eer", True, 0.10, Estimate(0.12, 0.08, 0.16)),
        ("eer", True, 0.30, Estimate(0.12, 0.08, 0.16)),
        ("eer", False, 0.0, Estimate(0.0, 0.0, 0.01)),
        ("level", True, 0.5, Estimate(0.4, 0.2, 0.6)),
    ]
    found = ranges.FoundRanges("own structure", 3, 2, 0.5, *ranges._as_arrays(rows))
    assert found.share("eer", True) == pytest.approx(0.5)
    assert found.share("eer", False) == pytest.approx(2 / 3)
    assert found.width("eer", True) == pytest.approx(0.08)
    assert found.error("level", True) == pytest.approx(0.1)
    assert not found.met


@pytest.mark.parametrize("truth", TRUTHS)
def test_drawn_visits_are_repeatable_and_their_losses_are_those_of_the_fault(truth):
    visits = [drawn_visit(truth, np.random.default_rng([5, number])) for number in range(3)]
    again = drawn_visit(truth, np.random.default_rng([5, 2]))
    assert again.found == visits[2].found
    assert again.losses == visits[2].losses
    assert any(one.fault != NO_FAULT for one in visits)
    for one in visits:
        if one.fault == NO_FAULT:
            assert one.losses == dict.fromkeys(QUANTITIES[1:], 0.0)
            assert np.isnan(one.amount)
        else:
            assert abs(one.losses["eer"]) > 1e-4
            assert one.amount != 0.0


def test_a_visit_of_each_truth_is_counted():
    for truth in TRUTHS:
        study = found_ranges(truth, 1, 20_261_125)
        assert study.visits == 1
        assert len(study.errors["eer"]) == 1


def test_no_visits_are_refused():
    with pytest.raises(ValueError, match="visits must be at least 1, got 0"):
        found_ranges("own structure", 0, 1)
