"""What to do about other causes than dirt: every cause has its step, and only where it is claimed."""

from types import SimpleNamespace

import pytest

from calibration.diagnosis.hypotheses import CAUSE_ODDS, FOULED_CONDENSER
from dashboard.results.next_steps import STEPS, next_steps


def test_every_cause_that_no_cleaning_mends_has_a_step():
    assert set(STEPS) == set(CAUSE_ODDS) - set(FOULED_CONDENSER)


@pytest.mark.parametrize("verdict", ["clean", "none of these", "undecided"])
def test_nothing_is_advised_where_no_cause_is_claimed(verdict):
    assert next_steps(SimpleNamespace(verdict=verdict, group=("undercharge",))) == []


def test_the_steps_are_those_of_the_causes_that_match():
    (step,) = next_steps(SimpleNamespace(verdict="cause", group=("blocked condenser face and undercharge",)))
    assert "If it is undercharge, cleaning does not mend it" in step
    assert "certified technician" in step and "leak" in step
    assert next_steps(SimpleNamespace(verdict="look-alikes", group=FOULED_CONDENSER)) == []
    both = next_steps(SimpleNamespace(verdict="look-alikes", group=("overcharge", "non-condensable gas")))
    assert [one.split(",")[0] for one in both] == ["If it is overcharge", "If it is non-condensable gas"]
