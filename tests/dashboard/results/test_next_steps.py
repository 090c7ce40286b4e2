"""What to do about other faults than dirt: every fault has its step, and only where it is claimed."""

from types import SimpleNamespace

import pytest

from calibration.diagnosis.hypotheses import FAULT_ODDS, FOULED_CONDENSER
from dashboard.results.next_steps import STEPS, next_steps


def test_every_fault_that_no_cleaning_mends_has_a_step():
    assert set(STEPS) == set(FAULT_ODDS) - set(FOULED_CONDENSER)


@pytest.mark.parametrize("verdict", ["clean", "none of these", "undecided"])
def test_nothing_is_advised_where_no_fault_is_claimed(verdict):
    assert next_steps(SimpleNamespace(verdict=verdict, group=("undercharge",))) == []


def test_the_steps_are_those_of_the_faults_that_match():
    (step,) = next_steps(SimpleNamespace(verdict="cause", group=("blocked condenser face and undercharge",)))
    assert "If it is undercharge, cleaning does not mend it" in step
    assert "certified technician" in step and "leak" in step
    assert next_steps(SimpleNamespace(verdict="look-alikes", group=FOULED_CONDENSER)) == []
    both = next_steps(SimpleNamespace(verdict="look-alikes", group=("overcharge", "non_condensables")))
    assert [one.split(",")[0] for one in both] == ["If it is overcharge", "If it is non-condensable gas"]
