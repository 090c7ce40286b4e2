"""The verdict in words: what is treated alike is added up, every fault has its words, JSON keeps its keys."""

import json
import re
from dataclasses import replace
from types import SimpleNamespace

import pytest

from calibration.diagnosis.hypotheses import NO_FAULT, NONE_OF_THESE, hypotheses
from calibration.diagnosis.impact import Explained, FoundLevel, Loss
from calibration.estimate import Estimate
from dashboard.results import match as matched
from dashboard.results.figures import probability
from dashboard.results.match import level_figures, level_sentence
from dashboard.results.wording import in_a_sentence
from model.cycle.faults import FAULTS, HEALTHY
from tests.dashboard.demo_findings import found

LOSS = Loss(
    308.15,
    *(
        Estimate(value, value - 0.05, value + 0.05)
        for value in (9e3, 3e3, 3.0, 0.1, 0.2, 0.12, 0.11, 0.2, 0.1, 0.08, 0.3)
    ),
)


def explained(fault) -> Explained:
    """A third of the largest, to be said in words; the unit and its points are not asked for."""
    amount = Estimate(fault.largest / 3.0, *sorted((fault.largest / 4.0, fault.largest / 2.0)))
    part = FoundLevel(fault.key, fault.field, Estimate(0.33, 0.25, 0.5), amount, None, None)
    nothing = SimpleNamespace()
    return Explained(fault.key, 0.8, (part,), LOSS, LOSS, nothing, HEALTHY, nothing, nothing)


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.key)
def test_every_fault_has_words_for_its_level(fault):
    for system in ("US", "SI"):
        sentence = level_sentence(explained(fault), system)
        assert sentence.startswith(f"If it is {in_a_sentence(fault.key)}: ")
        assert "Today it costs 12" in sentence
    figures = level_figures(explained(fault), "US")
    assert figures[0].key == fault.field
    assert figures[0].label != fault.field


def test_what_a_fault_adds_is_not_called_a_cost():
    fault = next(one for one in FAULTS if one.field == "charge_change")
    added = Estimate(-0.012, -0.08, 0.02)
    both = replace(explained(fault), today=replace(LOSS, capacity_share=added, eer_share=added))
    said = level_sentence(both, "SI")
    assert "Today it adds 1 % (-2 to 8 %) to capacity and 1 % (-2 to 8 %) to EER;" in said
    one = replace(both, today=replace(LOSS, capacity_share=added, eer_share=Estimate(0.02, 0.01, 0.03)))
    said = level_sentence(one, "SI")
    assert "Today it adds 1 % (-2 to 8 %) to capacity and costs 2 % (1 to 3 %) of EER;" in said


def test_two_faults_have_different_words():
    said = {level_sentence(explained(fault), "US").split(": ")[1].split(".")[0] for fault in FAULTS}
    assert len(said) == len(FAULTS)


def test_what_is_treated_alike_is_one_fault_in_the_verdict():
    finding = found("as found")
    assert finding.probability("condenser_blocked") < 0.7
    verdict = matched.verdict_sentence(finding)
    assert re.match(r"Fouled condenser coil, (over 99|9\d) %\.", verdict)
    second = max(finding.treatments[1:], key=lambda one: one.probability)
    if second.probability >= 0.05:
        assert re.search(r" Check .* first, \d+ %\.$", verdict)
    forms = matched.verdict_sentences(finding)[1]
    for key in ("condenser_blocked", "condenser_dust"):
        assert f"{in_a_sentence(key)} ({probability(finding.present(key))})" in forms


def test_no_fault_is_said_plainly_and_nothing_is_lost():
    finding = found("nothing wrong")
    share = probability(finding.probability(NO_FAULT))
    assert matched.verdict_sentence(finding).startswith("No fault found: ")
    assert matched.verdict_sentence(finding).endswith(f"{share}.")
    assert matched.loss_sentence(finding) == "Nothing that these readings show."
    assert matched.stakes_sentences(finding, "USD") == []
    assert matched.shown_faults(finding) == ()


def test_an_open_question_names_what_leads_and_the_reading_to_repeat():
    finding = found("liquid pipe 4 K high")
    assert finding.verdict == "inconclusive"
    verdict = matched.verdict_sentence(finding)
    for words in ("undercharge", "no fault"):
        assert re.search(rf"{words} \d+ %", verdict)
    assert verdict.endswith("Measure the liquid pipe again first.")
    assert matched.loss_sentence(finding).startswith("Over all explanations it currently costs")


def test_where_nothing_fits_the_nearest_and_what_is_in_its_way_are_named():
    finding = found("nothing fits")
    assert finding.verdict == "none_of_these"
    first, second, *_ = matched.verdict_sentences(finding)
    assert first.startswith("No fault on the list fits these readings")
    assert second.startswith(f"Nearest is {in_a_sentence(finding.nearest)}, but ")
    assert second.endswith("measure it again first.")
    assert "%" not in matched.loss_sentence(finding)
    assert matched.shown_faults(finding) == ()


def test_a_hunting_valve_has_one_sentence_where_it_is_probable():
    finding = found("as found")
    assert not any("hunt" in one for one in matched.verdict_sentences(finding))
    hunting = replace(finding, hunting_valve=0.4)
    (said,) = [one for one in matched.verdict_sentences(hunting) if "hunt" in one]
    assert said.startswith("The expansion valve may stick or hunt (40 %)")


def test_the_fit_says_what_measurement_error_alone_explains():
    finding = found("as found")
    said = matched.fit_sentence(finding)
    assert said.startswith(f"Fit: χ² {finding.no_fault_chi_square:.0f} for a unit without fault")
    assert f"about {finding.readings} is expected from measurement error alone" in said


@pytest.mark.parametrize("name", ["as found", "liquid pipe 4 K high", "nothing fits", "nothing wrong"])
def test_listed_probabilities_are_those_of_the_finding(name):
    finding = found(name)
    rows = {words: float(now) for words, now, _ in matched.probability_rows(finding)}
    assert list(rows.values()) == sorted(rows.values(), reverse=True)
    named = {"fouled condenser coil": finding.probability_of_fouling}
    named |= {"no fault": finding.probability(NO_FAULT), "none of these": finding.probability(NONE_OF_THESE)}
    for words in named.keys() & rows.keys():
        assert rows[words] == pytest.approx(100 * named[words], abs=0.051)
    priors = {one.name: one.prior for one in matched.needs(finding)}
    weighed = hypotheses(finding.visit.called_for, finding.visit.coil == "clean")
    fouled = sum(one.prior for one in weighed.all if one.has("condenser_blocked", "condenser_dust"))
    assert priors["fouled condenser coil"] == pytest.approx(fouled)


def test_json_keeps_its_keys_and_the_units_of_the_case():
    finding = found("airflow 20 % low")
    told = json.loads(json.dumps(matched.match_json(finding, "US", "USD"), allow_nan=False))
    assert told["verdict"] == "no_fault"
    assert told["probabilities"].keys() == {one.key for one in finding.probabilities}
    assert {"no_fault", "none_of_these"} <= told["probabilities"].keys()
    assert sum(one["probability"] for one in told["probabilities"].values()) == pytest.approx(1.0, abs=1e-4)
    suspect = told["suspect_readings"]["indoor_airflow"]
    assert {"probability", "read", "supported", "low", "high"} <= suspect.keys()
    assert suspect["read"] == pytest.approx(968, abs=0.5)
    assert suspect["low"] < suspect["supported"] < suspect["high"]
    metric = matched.match_json(finding, "SI", "USD")["suspect_readings"]["indoor_airflow"]
    assert metric["unit"] != suspect["unit"]
    assert metric["read"] / metric["supported"] == pytest.approx(suspect["read"] / suspect["supported"])
