"""Heat balance, suspect readings, like for like, approach in words and rows."""

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from calibration.case.file import write_case
from calibration.case.meters import Instruments
from calibration.case.records import Case
from calibration.case.units import DEGREE_F
from calibration.clean_fit.approach import approach_expected
from calibration.clean_fit.baseline import fit_baseline
from calibration.diagnosis.heat_balance import AIR, REFRIGERANT
from calibration.diagnosis.same_weather import like_for_like
from calibration.diagnosis.visit_check import check_visit
from calibration.studies import readings
from dashboard.charts.route_chart import route_chart
from dashboard.cli import run
from dashboard.results import approach as approached
from dashboard.results import same_weather as alike
from dashboard.results import visit_check as checked
from dashboard.results.figures import Struck
from dashboard.results.studies import reliability
from dashboard.results.suspect_readings import suspect_rows, suspect_sentences
from model.cycle.faults import Faults
from tests.calibration.made_visits import DESCRIPTION, true_unit, visit_of

UNIT = true_unit()
CLEAN = visit_of(UNIT, "clean")
FOUND = visit_of(UNIT, "found", faults=Faults(condenser_blocked=0.6), coil="as found", outdoor=308.15)
UNSETTLED = replace(FOUND, supply_db=FOUND.supply_db + 2.0, supply_wb=FOUND.supply_wb + 2.6)
METERS = Instruments(suction_gauge=7e3, liquid_gauge=14e3, discharge_gauge=14e3, wet_bulb=0.3)
BASELINE = fit_baseline(DESCRIPTION, [CLEAN], METERS)


def case_with(visit):
    return Case("US", DESCRIPTION, (CLEAN, visit), METERS)


@pytest.fixture(scope="module")
def unsettled():
    return check_visit(case_with(UNSETTLED), UNSETTLED, BASELINE)


def test_the_page_says_what_the_refrigerant_side_supports_and_what_to_repeat(unsettled):
    text = " ".join(checked.sentences(unsettled, "US"))
    assert "contradict each other: air side less" in text
    (by_air,) = re.findall(r"The air side shows (\d+) % ", text)
    (supported,) = re.findall(r"the refrigerant side supports only (\d+) % ", text)
    assert 45 <= int(by_air) <= 60
    assert int(supported) <= 12
    assert "Do not use the air side's loss until its readings have been repeated." in text
    assert text.startswith("Suspect reading: supply air, wet bulb.")
    assert "Supply air, wet bulb is suspect" in text
    assert "wick" in text
    assert "Based on the unit as fitted to clean." in text


def test_losses_by_every_route_have_ranges_and_the_suspect_one_its_supported_value(unsettled):
    figures = {one.key: one for one in checked.loss_figures(unsettled)}
    assert list(figures) == ["air_side", "refrigerant_side", "compressor_balance", "believed_readings"]
    for one in figures.values():
        assert one.low < one.value < one.high
        assert one.unit == "%"
    assert figures["believed_readings"].high < figures["air_side"].low
    air = figures["air_side"]
    assert air.supported is not None and air.supported.value < 0.5 * air.value
    assert figures["refrigerant_side"].supported is None


def test_routes_that_a_suspect_reading_is_part_of_are_marked_in_table_and_chart(unsettled):
    routes = {one.key: one for one in checked.route_figures(unsettled, "US")}
    assert isinstance(routes["air_side"].cell, Struck)
    assert not isinstance(routes["refrigerant_side"].cell, Struck)
    (ranges, _) = route_chart(list(routes.values())).layers
    marked = [label for label in ranges.labels if label.endswith("(suspect)")]
    assert marked == ["Air side (suspect)"]


def test_a_suspect_reading_is_shown_in_the_units_of_the_case(unsettled):
    us, si = (suspect_rows(unsettled.finding, system)[0] for system in ("US", "SI"))
    assert us[0] == "Supply air, wet bulb [degF]"
    assert si[0] == "Supply air, wet bulb [degC]"
    assert float(us[1].read) == pytest.approx((UNSETTLED.supply_wb - 273.15) / DEGREE_F + 32, abs=0.06)
    assert us[3] == si[3]


def test_json_says_the_same(unsettled):
    told = checked.check_json(unsettled, "US")
    json.dumps(told, allow_nan=False)
    assert told["verdict"] == "fault"
    assert next(iter(told["suspect_readings"])) == "supply_wb"
    assert told["losses"]["air_side"]["value"] > 40
    assert told["losses"]["air_side"]["supported"]["value"] < 20
    pair = next(p for p in told["differences"] if (p["first"], p["second"]) == (AIR, REFRIGERANT))
    assert pair["joint_standard_errors"] < -2.58
    assert told["sentences"] == checked.sentences(unsettled, "US")


def test_a_consistent_visit_is_said_to_be_consistent():
    check = check_visit(case_with(FOUND), FOUND, BASELINE)
    said = checked.sentences(check, "SI")
    assert said[0] == "All readings are consistent."
    assert said == checked.short_sentences(check, "SI")
    assert "capacity agree:" in " ".join(said)
    assert suspect_rows(check.finding, "SI") == []
    assert check.supported is check.balance
    assert len(checked.difference_rows(check, "SI")) == 4


def test_the_suspect_readings_are_said_once_each(unsettled):
    full, short = (checked.sentences(unsettled, "US"), checked.short_sentences(unsettled, "US"))
    assert [one for one in full if one not in short] == suspect_sentences(unsettled.finding, "US")


def test_measure_prints_the_heat_balance_and_leaves_it_out_when_asked(tmp_path: Path, capsys):
    path = tmp_path / "case.toml"
    write_case(case_with(UNSETTLED), path)
    assert run(["measure", str(path)]) == 0
    printed = capsys.readouterr().out
    for words in ("Heat balance", "Suspect readings", "Loss by the air side", "is suspect"):
        assert words in printed
    (row,) = [line for line in printed.splitlines() if line.startswith("Capacity of the coil")]
    assert "suspect" in row and "supported" in row
    assert run(["measure", str(path), "--figures-only"]) == 0
    assert "Heat balance" not in capsys.readouterr().out
    assert run(["measure", str(path), "--json"]) == 0
    first, second = json.loads(capsys.readouterr().out)["visits"]
    assert first["check"]["fitted_to"] == []
    assert next(iter(second["check"]["suspect_readings"])) == "supply_wb"
    assert set(second["figures"]["superheat"]) == {"value", "unit", "low", "high"}


def test_like_for_like_in_words_rows_and_json():
    cleaned = visit_of(UNIT, "after", outdoor=300.15)
    found = like_for_like(case_with(FOUND), FOUND, cleaned, "hotter", BASELINE)
    rows = alike.table_rows(found, "US")
    assert all(len(row) == len(alike.HEADINGS) for row in rows)
    text = " ".join(alike.sentences(found, "US"))
    assert "Both visits moved to the conditions of found" in text
    assert "remains and is not weather" in text
    told = alike.alike_json(found, "US")
    json.dumps(told, allow_nan=False)
    assert told["rows"]["outdoor_power"]["excludes_zero"]
    pressure = told["rows"]["liquid_pressure"]
    # A difference of gauge pressures is no gauge pressure: no barometer in it.
    assert pressure["raw"]["value"] == pytest.approx(
        pressure["first"]["value"] - pressure["second"]["value"], abs=1e-3
    )


def test_approach_in_figures_and_words():
    found = approach_expected(case_with(FOUND), FOUND, BASELINE)
    figures = {one.key: one for one in approached.approach_figures(found, "US")}
    assert figures["approach"].value > figures["approach_expected"].value
    assert figures["rule_14"].value == pytest.approx(20.0)
    assert figures["rule_14"].unit == "degF"
    text = " ".join(approached.sentences(found, "US"))
    assert "above that of the clean unit at this load" in text
    assert "common practice, no source" in text
    assert "charging chart takes precedence over any rule" in text
    clean = approached.sentences(approach_expected(case_with(FOUND), CLEAN, BASELINE), "US")
    assert "within measurement error" in " ".join(clean)


def test_studies_print_tables_and_json(capsys):
    assert run(["study", "visits"]) == 0
    printed = capsys.readouterr().out
    assert "all, over the requirement of each" in printed
    assert run(["study", "coverage", "--drawn", "1", "--seasons", "0", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["units"] == 1
    assert set(told["shares"]) == {"full visit", "gauges and pipes", "nameplate"}
    assert set(told["foreign"]["shares"]) == {"full visit", "gauges and pipes", "nameplate"}
    assert set(told["found"]) == {"own structure", "foreign structure"}


def test_field_meters_raise_no_false_alarm_on_the_untouched_tests(capsys, monkeypatch):
    """One kind of error stands for the eleven, which `coiltoll study readings` tries on every test."""
    (wick,) = (error for error in readings.ERRORS if error.reading == "supply_wb")
    for module in (readings, reliability):
        monkeypatch.setattr(module, "ERRORS", (wick,))
    assert run(["study", "readings", "--field-meters"]) == 0
    printed = capsys.readouterr().out
    assert "False alarms on 9 untouched tests: 0.0%" in printed
    assert "Supply air, wet bulb" in printed
