"""What to do and what to read next: a step for every treatment, only where it is claimed."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from calibration.diagnosis.gross_errors import PRIORS
from calibration.diagnosis.hypotheses import TREATMENTS
from calibration.diagnosis.next_reading import Suggestion
from dashboard.results import next_steps as steps
from dashboard.results.match import verdict_sentence
from dashboard.results.wording import ACTS, HOW, NEEDS
from tests.dashboard.demo_findings import found


@pytest.mark.parametrize("treatment", sorted(set(TREATMENTS.values())))
def test_every_treatment_has_its_step(treatment):
    (step,) = steps.next_steps(SimpleNamespace(claimed=(treatment,)))
    assert step.lower().startswith(NEEDS[treatment])
    if treatment == "clean_condenser":
        assert "cleaning corrects it" in step
    else:
        assert ACTS[treatment] in step
        assert step.endswith("Cleaning the condenser does not correct it.")


@pytest.mark.parametrize(
    "name", ["nothing wrong", "liquid pipe 4 K high", "nothing fits", "airflow 20 % low"]
)
def test_no_repair_is_advised_where_no_fault_is_claimed(name):
    finding = found(name)
    assert steps.next_steps(finding) == []
    (said,) = steps.what_to_do(finding)
    assert said.startswith(("Nothing to repair.", "Repair nothing yet"))


def test_both_faults_of_a_pair_have_their_step():
    both = steps.next_steps(SimpleNamespace(claimed=("clean_condenser", "repair_leak_and_charge")))
    assert [one.split(":")[0] for one in both] == ["Fouled condenser coil", "Undercharge"]
    assert "certified technician" in both[1] and "leak" in both[1]


def test_a_reading_that_may_be_wrong_is_repeated_first():
    said = steps.what_to_read_next(found("liquid pipe 4 K high"), "US")
    assert said.startswith("Liquid pipe, again. ")
    assert "degF if it was right" in said and "degF if it was wrong" in said
    assert steps.first_reading(found("liquid pipe 4 K high")) == "Measure the liquid pipe again first."


def test_where_nothing_fits_the_reading_in_the_way_is_repeated():
    finding = found("nothing fits")
    how = HOW[finding.in_the_way]
    assert f"{how[0].upper()}{how[1:]}." in steps.what_to_read_next(finding, "US")
    assert steps.next_reading_sentences(finding, "US") == [steps.what_to_read_next(finding, "US")]


def test_a_new_reading_says_what_each_explanation_would_make_it_show():
    one = Suggestion("standing_pressure", False, 0.5, 0.6, ("overcharge", "non_condensables"), (1.2e6, 1.5e6))
    finding = replace(found("as found"), suggestions=(one,))
    (said,) = steps.next_reading_sentences(finding, "US")
    assert said.startswith("Pressure with the unit off, removes 60 % of the uncertainty. ")
    assert "psi with overcharge, " in said and "psi with non-condensables." in said
    little = replace(finding, suggestions=(replace(one, share=0.02),))
    assert steps.next_reading_sentences(little, "US") == [steps.NOTHING_MORE]
    assert steps.what_to_read_next(little, "US") == steps.NOTHING_MORE


def test_where_no_reading_is_worth_taking_nothing_asks_for_one():
    """Headline, next readings and what to do say the same; without a clean visit that is what would help."""
    one = Suggestion("suction_temperature", True, 0.2, 0.07, ("no_fault", "valve_overfeed"), (285.0, 290.0))
    open_still = replace(found("as found"), verdict="inconclusive", suspects=(), suggestions=(one,))
    for finding, said in (
        (open_still, steps.NOTHING_MORE),
        (replace(open_still, clean_visits=()), steps.CLEAN_VISIT),
    ):
        assert "Measure" not in verdict_sentence(finding)
        assert steps.next_reading_sentences(finding, "US") == [said]
        assert steps.what_to_read_next(finding, "US") == said
        assert steps.what_to_do(finding) == [f"Repair nothing yet. {said}"]
    worth = replace(open_still, suggestions=(replace(one, share=0.3),))
    assert verdict_sentence(worth).endswith("Measure the suction pipe again first.")
    assert steps.what_to_do(worth) == ["Repair nothing yet: take the next reading first."]


def test_every_reading_can_be_suggested():
    finding = found("as found")
    for reading in PRIORS:
        one = Suggestion(reading, True, 0.5, 0.6, ("overcharge", "undercharge"), (300.0, 310.0))
        (said,) = steps.next_readings(replace(finding, suggestions=(one,)), "SI")
        assert said.how == HOW[reading]


def test_the_forms_of_a_fouled_coil_are_separated_with_a_lamp():
    (act,) = steps.acts_to_separate(found("as found"))
    assert "lamp" in act
    assert steps.acts_to_separate(found("nothing wrong")) == []
    assert steps.acts_to_separate(found("nothing fits")) == []
