"""Suspect readings: never shown alone, always beside what the other readings support."""

import json
from dataclasses import replace

import pytest

from calibration.case.keys import words_of
from calibration.measured.performance import measured_performance
from dashboard.results import suspect_readings as suspects
from dashboard.results.expected_readings import evidence_sentences, expected_table
from dashboard.results.figures import Struck
from dashboard.results.html_text import cell
from tests.dashboard.demo_findings import demo_case, found


def test_the_only_suspect_is_the_reading_that_is_absurd():
    finding = found("supply air at 60 degC")
    (row,) = suspects.suspect_rows(finding, "SI")
    assert row[0] == "Supply air, dry bulb [degC]"
    assert row[1].read == "60.0"
    assert 10.0 < float(row[1].supported) < 20.0
    assert finding.claims_fouling
    (sentence,) = suspects.suspect_sentences(finding, "SI")
    assert sentence.startswith("Supply air, dry bulb is suspect (over 99 %): 60.0 degC was read, ")
    assert f"support {row[1].supported} degC ({row[2]})" in sentence
    assert "check the probe" in sentence
    assert suspects.brief_suspects(finding) == "Suspect reading: supply air, dry bulb."


def test_a_reading_that_may_be_wrong_is_named_but_not_struck_through():
    finding = found("liquid pipe 3.5 K high")
    assert suspects.suspect_rows(finding, "US") == []
    assert suspects.brief_suspects(finding).startswith("Possibly wrong: liquid pipe (")
    (sentence,) = suspects.suspect_sentences(finding, "US")
    assert sentence.startswith("Liquid pipe may be wrong (")
    shown = {one.key: one for one in suspects.readings_beside_supported(finding.visit, finding, "US")}
    assert shown["liquid_temperature"].supported is None
    assert list(suspects.suspects_json(finding, "US")) == ["liquid_temperature"]


def test_nothing_is_suspect_of_a_consistent_visit():
    finding = found("as found")
    assert suspects.brief_suspects(finding) == "All readings are consistent."
    assert suspects.suspect_sentences(finding, "US") == []
    assert suspects.suspects_json(finding, "US") == {}
    assert all(
        one.supported is None for one in suspects.readings_beside_supported(finding.visit, finding, "US")
    )


def test_readings_that_nothing_explains_are_not_called_consistent():
    finding = replace(found("as found"), verdict="none_of_these")
    assert suspects.brief_suspects(finding) == "No single suspect reading explains the visit."


@pytest.mark.parametrize("name", ["airflow 20 % low", "supply air at 60 degC"])
def test_what_follows_from_a_suspect_reading_is_struck_through_too(name):
    finding, case = found(name), demo_case()
    visits = (finding.visit, finding.visit_as_supported)
    errors = ({}, finding.supported_errors)
    read, supported = (
        measured_performance(visit, case.unit, case.instruments, error)
        for visit, error in zip(visits, errors, strict=True)
    )
    shown = {one.key: one for one in suspects.performance_beside_supported(read, supported, "US")}
    assert isinstance(shown["net_capacity"].cell, Struck)
    watts = supported.estimates()["net_capacity"].value
    assert shown["net_capacity"].best.value == pytest.approx(watts / 0.29307107)
    assert shown["superheat"].supported is None and shown["subcooling"].best is shown["subcooling"]


@pytest.mark.parametrize("name", ["airflow 20 % low", "supply air at 60 degC"])
def test_no_cell_of_the_expected_readings_shows_a_suspect_figure_alone(name):
    finding = found(name)
    _, rows = expected_table(finding, "US")
    shown = {one.key: one for one in suspects.readings_beside_supported(finding.visit, finding, "US")}
    marked = {row[0]: row[1] for row in rows if isinstance(row[1], Struck)}
    for one in finding.suspects:
        figure = shown[one.reading]
        assert (marked[figure.heading].read, marked[figure.heading].supported) == (
            figure.text,
            figure.supported.text,
        )
    if name == "supply air at 60 degC":
        assert f"{words_of('air_drop')} [degF]" in marked
    assert evidence_sentences(finding) == []


def test_a_struck_number_is_text_everywhere_and_struck_through_on_a_page():
    both = Struck("140.0", "58.3")
    assert str(both) == "140.0 suspect, 58.3 supported"
    assert json.dumps([both]) == '["140.0 suspect, 58.3 supported"]'
    assert cell(both) == '<s title="suspect reading">140.0</s> <b>58.3</b>'
    assert cell("a < b") == "a &lt; b"
