"""`match` and `measure` on the command line: what is printed is the finding, suspect figures are marked."""

from dataclasses import replace

import pytest

from calibration.case.file import write_case
from dashboard.results.figures import probability
from tests.dashboard.command import in_json, printed, refused_in_one_line
from tests.dashboard.demo_findings import DEMO, demo_case, found, visits


@pytest.fixture
def two_wrong(tmp_path):
    visit = visits()["supply and suction pipe wrong"]
    path = tmp_path / "wrong.toml"
    write_case(replace(demo_case(), visits=(*demo_case().clean_visits, visit), source=None), path)
    return path


def test_match_prints_the_sentences_of_its_json(capsys):
    (told,) = in_json(capsys, "match", DEMO)["matches"]
    out = " ".join(printed(capsys, "match", DEMO).split())
    for sentence in told["sentences"]:
        assert sentence in out
    finding = found("as found")
    for one in finding.probabilities:
        assert told["probabilities"][one.key]["probability"] == pytest.approx(one.probability, abs=2e-6)
    assert probability(finding.probability_of_fouling) in told["sentences"][0]
    assert "EPA Section 608" in out


def test_pairs_are_always_weighed(capsys):
    (told,) = in_json(capsys, "match", DEMO)["matches"]
    assert any("+" in key for key in told["probabilities"])
    assert "--pairs" in refused_in_one_line(capsys, "match", DEMO, "--pairs")


@pytest.mark.parametrize("command", ["match", "measure"])
def test_no_table_prints_a_suspect_figure_alone(two_wrong, capsys, command):
    out = printed(capsys, command, two_wrong)
    for words in ("Supply air, dry bulb [degF]", "Suction pipe [degF]", "Superheat [degF]"):
        rows = [line for line in out.splitlines() if line.startswith(words)]
        assert rows
        for row in rows:
            assert "suspect, " in row and " supported" in row


def test_match_and_measure_name_the_same_suspect_readings(two_wrong, capsys):
    (told,) = in_json(capsys, "match", two_wrong)["matches"]
    measured = in_json(capsys, "measure", two_wrong)["visits"][-1]
    assert set(told["suspect_readings"]) == {"supply_db", "suction_temperature"}
    assert measured["check"]["suspect_readings"] == told["suspect_readings"]
    for key, one in told["suspect_readings"].items():
        assert one["read"] == pytest.approx(measured["readings"][key]["value"])
        assert one["low"] < one["supported"] < one["high"]
        assert not one["low"] < one["read"] < one["high"]
