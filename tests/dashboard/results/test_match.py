"""Words for what a match found: every fault that the model knows has its own."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from calibration.diagnosis.hypotheses import in_a_sentence
from calibration.diagnosis.impact import Explained, FoundLevel, Span, Toll
from dashboard.results.match import level_figures, level_sentence
from model.cycle.faults import FAULTS, HEALTHY

TOLL = Toll(
    308.15,
    *(
        Span(value, value - 0.05, value + 0.05)
        for value in (9e3, 3e3, 3.0, 0.1, 0.2, 0.12, 0.11, 0.2, 0.1, 0.08, 0.3)
    ),
)


def explained(fault) -> Explained:
    """A third of the gravest, to be told in words; the unit and its points are not asked for."""
    amount = Span(fault.largest / 3.0, *sorted((fault.largest / 4.0, fault.largest / 2.0)))
    part = FoundLevel(fault.name, fault.field, Span(0.33, 0.25, 0.5), amount, None, None)
    nothing = SimpleNamespace()
    return Explained(fault.name, 0.8, (part,), TOLL, TOLL, nothing, HEALTHY, nothing, nothing)


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.name)
def test_every_fault_has_words_for_how_grave_it_is(fault):
    for system in ("US", "SI"):
        sentence = level_sentence(explained(fault), system)
        assert sentence.startswith(f"If it is {in_a_sentence(fault.name)}: ")
        assert "Today it takes 12" in sentence
    figures = level_figures(explained(fault), "US")
    assert figures[0].key == fault.field
    assert figures[0].label != fault.field


def test_what_a_fault_adds_is_not_called_taken():
    fault = next(one for one in FAULTS if one.field == "charge_change")
    added = Span(-0.012, -0.08, 0.02)
    both = replace(explained(fault), today=replace(TOLL, capacity_share=added, eer_share=added))
    told = level_sentence(both, "SI")
    assert "Today it adds 1 % (-2 to 8 %) to the capacity and 1 % (-2 to 8 %) to the EER;" in told
    one = replace(both, today=replace(TOLL, capacity_share=added, eer_share=Span(0.02, 0.01, 0.03)))
    told = level_sentence(one, "SI")
    assert "Today it adds 1 % (-2 to 8 %) to the capacity and takes 2 % (1 to 3 %) of the EER;" in told


def test_two_faults_are_told_by_different_words():
    told = {level_sentence(explained(fault), "US").split(": ")[1].split(".")[0] for fault in FAULTS}
    assert len(told) == len(FAULTS)
