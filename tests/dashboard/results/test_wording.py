"""Every key of a finding has words, and none of them is outside the common terms."""

import re

import pytest

from calibration.diagnosis.gross_errors import PRIORS
from calibration.diagnosis.hypotheses import LIKELY_PAIRS, NONE_OF_THESE, TREATMENTS, hypotheses
from dashboard.results import wording
from model.cycle.faults import FAULTS


def test_every_key_of_a_finding_has_words() -> None:
    assert set(wording.FAULTS) == {fault.key for fault in FAULTS}
    assert set(wording.NEEDS) == set(wording.ACTS) == set(wording.CHECK_FIRST) == set(TREATMENTS.values())
    assert set(wording.HOW) == set(wording.CHECKS) == set(PRIORS)


def test_a_treatment_that_serves_one_fault_has_its_name() -> None:
    for treatment, words in wording.NEEDS.items():
        faults = [fault for fault, other in TREATMENTS.items() if other == treatment]
        assert words == (wording.FAULTS[faults[0]] if len(faults) == 1 else wording.FOULED)
        assert wording.need(treatment).endswith(words)


@pytest.mark.parametrize("fault", [fault.key for fault in FAULTS])
def test_an_article_fits_its_noun(fault: str) -> None:
    words = wording.in_a_sentence(fault)
    found = re.match(r"(an?) (\w)", words)
    assert found is None or (found[1] == "an") == (found[2] in "aeio")


def test_both_faults_of_a_pair_are_named() -> None:
    for first, second, _ in LIKELY_PAIRS:
        assert wording.explanation(f"{first}+{second}") == (
            f"{wording.FAULTS[first]} + {wording.FAULTS[second]}"
        )
    assert wording.in_a_sentence("condenser_blocked+undercharge") == (
        "a blocked condenser face and undercharge"
    )


def test_no_two_explanations_have_the_same_words() -> None:
    keys = [*(one.key for one in hypotheses().all), NONE_OF_THESE]
    assert len({wording.explanation(key) for key in keys}) == len(keys)
    assert len({wording.in_a_sentence(key) for key in keys}) == len(keys)


def test_a_standing_pressure_is_read_before_the_charge_is_recovered() -> None:
    (act,) = wording.separating_acts(["overcharge", "non_condensables"])
    assert act.startswith("before anybody recovers the charge, read the pressure with the unit off")
    assert wording.separating_acts(["undercharge"]) == []
    assert len(wording.separating_acts(["condenser_blocked", "condenser_dust", "condenser_fan_slow"])) == 2
