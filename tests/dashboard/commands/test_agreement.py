"""`study agreement`: outputs of the demo agree, bent ones do not, commands print what functions give."""

import copy
import json
from dataclasses import replace

import numpy as np
import pytest

from calibration.studies import true_cases
from dashboard.commands.studies.agreement import COMMANDS, _case_file, outputs_of
from dashboard.results.studies.agreement import contradictions, unlike_printed
from tests.dashboard.command import in_json
from tests.dashboard.demo_findings import demo_baseline, demo_case


@pytest.fixture(scope="module")
def outputs():
    return json.loads(json.dumps(outputs_of(demo_case(), demo_baseline())))


def test_the_outputs_of_the_demo_agree(outputs):
    assert contradictions(outputs) == []


def bent(outputs, *path, to):
    changed = copy.deepcopy(outputs)
    place = changed
    for step in path[:-1]:
        place = place[step]
    assert place[path[-1]] != to
    place[path[-1]] = to
    return changed


BENT = {
    "verdict: match says fault, compare no_fault": ("compare", "comparisons", 0, "verdict", "no_fault"),
    "verdict: match says fault, measure no_fault": ("measure", "visits", 0, "check", "verdict", "no_fault"),
    "verdict: match says fault, season no_fault": ("season", "verdict", "no_fault"),
    "verdict: match says fault, report's interval no_fault": ("report", "interval", "verdict", "no_fault"),
    "probability of fouling: match says": ("interval", "probability_of_fouling", 0.1),
    "suspect readings: match says {}, measure": (
        "measure", "visits", 0, "check", "suspect_readings", {"supply_wb": {"supported": 50.0}},
    ),
    "loss: match says": ("compare", "comparisons", 0, "losses", "eer_change", "value", -1.0),
    "level: match says": ("compare", "comparisons", 0, "severity", "condenser_blocked", "value", 1.0),
    "advice: interval says not_a_cleaning_matter": ("interval", "advice", "not_a_cleaning_matter"),
    "cost: season says that fouling saves 5": ("season", "year", "today", "money", "value", -5.0),
}  # fmt: skip


@pytest.mark.parametrize("words", BENT)
def test_every_contradiction_is_counted(outputs, words):
    *path, value = BENT[words]
    assert any(one.startswith(words) for one in contradictions(bent(outputs, *path, to=value)))


def test_a_report_that_cleans_what_cleaning_does_not_correct_is_counted(outputs):
    other = bent(outputs, "interval", "advice", to="not_a_cleaning_matter")
    other = bent(other, "report", "words", to=["Clean it now."])
    assert any("the report says clean it now." in one for one in contradictions(other))


def test_a_command_prints_what_its_functions_give(outputs, capsys, tmp_path):
    demo = demo_case().source or tmp_path
    printed = {name: in_json(capsys, name, demo) for name in ("match", "compare", "measure")}
    assert unlike_printed(outputs, printed) == []
    other = bent(printed, "compare", "comparisons", 0, "verdict", to="no_fault")
    assert unlike_printed(outputs, other) == [
        "command: compare prints another comparisons than its functions give"
    ]
    assert set(COMMANDS) < set(outputs)


def test_the_study_is_printed_and_goes_on(capsys, tmp_path):
    keep = tmp_path / "visits.json"
    told = in_json(capsys, "study", "agreement", "--visits", "1", "--keep", keep)
    assert told == {"visits": 1, "seed": 20_261_129, "contradictions": []}
    assert set(json.loads(keep.read_text())["visits"]) == {"0"}
    assert in_json(capsys, "study", "agreement", "--visits", "1", "--keep", keep) == told


def test_a_visit_that_a_case_may_not_hold_is_drawn_again(monkeypatch, tmp_path):
    unit, draw = true_cases.drawn_clean_unit(np.random.default_rng([1, 2])), true_cases.found_case
    drawn = []

    def first_refused(*arguments):
        true = draw(*arguments)
        if not drawn:
            true = replace(true, found=replace(true.found, outdoor_power=0.1 * true.found.outdoor_power))
        drawn.append(true.label)
        return true

    monkeypatch.setattr(true_cases, "found_case", first_refused)
    truth, path = _case_file([1, 2, 0], unit, tmp_path)
    assert truth == drawn[-1] and len(drawn) >= 2
    assert path.exists()
