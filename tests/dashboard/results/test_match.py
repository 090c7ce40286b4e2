"""Words for what a match found: every cause that the model knows has its own."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from calibration.diagnosis.hypotheses import in_a_sentence
from calibration.diagnosis.impact import Explained, FoundSeverity, Span, Toll
from dashboard.results.match import severity_figures, severity_sentence
from model.cycle.faults import CAUSES, HEALTHY

TOLL = Toll(
    308.15,
    *(
        Span(value, value - 0.05, value + 0.05)
        for value in (9e3, 3e3, 3.0, 0.1, 0.2, 0.12, 0.11, 0.2, 0.1, 0.08, 0.3)
    ),
)


def explained(cause) -> Explained:
    """A third of the gravest, to be told in words; the unit and its points are not asked for."""
    amount = Span(cause.gravest / 3.0, *sorted((cause.gravest / 4.0, cause.gravest / 2.0)))
    part = FoundSeverity(cause.name, cause.field, Span(0.33, 0.25, 0.5), amount, None, None)
    nothing = SimpleNamespace()
    return Explained(cause.name, 0.8, (part,), TOLL, TOLL, nothing, HEALTHY, nothing, nothing)


@pytest.mark.parametrize("cause", CAUSES, ids=lambda cause: cause.name)
def test_every_cause_has_words_for_how_grave_it_is(cause):
    for system in ("US", "SI"):
        sentence = severity_sentence(explained(cause), system)
        assert sentence.startswith(f"If it is {in_a_sentence(cause.name)}: ")
        assert "Today it takes 12" in sentence
    figures = severity_figures(explained(cause), "US")
    assert figures[0].key == cause.field
    assert figures[0].label != cause.field


def test_what_a_cause_adds_is_not_called_taken():
    cause = next(one for one in CAUSES if one.field == "charge_change")
    added = Span(-0.012, -0.08, 0.02)
    both = replace(explained(cause), today=replace(TOLL, capacity_share=added, eer_share=added))
    told = severity_sentence(both, "SI")
    assert "Today it adds 1 % (-2 to 8 %) to the capacity and 1 % (-2 to 8 %) to the EER;" in told
    one = replace(both, today=replace(TOLL, capacity_share=added, eer_share=Span(0.02, 0.01, 0.03)))
    told = severity_sentence(one, "SI")
    assert "Today it adds 1 % (-2 to 8 %) to the capacity and takes 2 % (1 to 3 %) of the EER;" in told


def test_two_causes_are_told_by_different_words():
    told = {severity_sentence(explained(cause), "US").split(": ")[1].split(".")[0] for cause in CAUSES}
    assert len(told) == len(CAUSES)
