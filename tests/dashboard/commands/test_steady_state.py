"""The command that makes a visit of a log: what it prints, draws and adds, and what it refuses."""

import json
import tomllib
from pathlib import Path

import numpy as np
import pytest

from calibration.case.file import read_case
from calibration.files.log_file import read_log
from calibration.measured.steady_state import steady_record
from dashboard.charts.chart import Band, Curve
from dashboard.charts.trace_chart import trace_chart
from tests.dashboard.command import printed, refused
from tests.made_logs import END_STATE, made_log, write_log

DEMO = Path(__file__).resolve().parents[3] / "cases" / "demo.toml"


@pytest.fixture(scope="module")
def log(tmp_path_factory):
    return write_log(tmp_path_factory.mktemp("logs") / "log.csv", made_log())


@pytest.fixture
def case(tmp_path):
    path = tmp_path / "unit.toml"
    path.write_text(DEMO.read_text(encoding="utf-8"), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def restless(tmp_path_factory):
    columns = made_log(settling=0.0)
    columns["liquid_pressure [psi]"] += 0.04 * np.arange(720)
    return write_log(tmp_path_factory.mktemp("logs") / "restless.csv", columns)


def test_averages_are_those_that_the_log_was_made_with(log, capsys):
    told = json.loads(printed(capsys, "steady-state", log, "--json"))
    assert told["settled"]
    assert told["begin_minutes"] > 5
    assert told["end_minutes"] == pytest.approx(60, abs=1)
    assert told["start"] == "2026-05-14T13:00:00"
    for header, (level, noise, off) in END_STATE.items():
        name, unit = header.split(" [")
        reading = told["readings"][name]
        assert reading["unit"] == unit.rstrip("]")
        assert reading["value"] == pytest.approx(level, abs=0.06 * noise + 0.012 * abs(off))
        assert 0 < reading["standard_error"] < noise
        assert reading["settled"]


def test_the_table_shows_the_numbers_of_the_json(log, capsys):
    told = json.loads(printed(capsys, "steady-state", log, "--json"))
    table = printed(capsys, "steady-state", log)
    for reading in told["readings"].values():
        assert f"{reading['value']:,.2f}" in table or f"{reading['value']:,.1f}" in table
    assert f"Steady for {told['end_minutes'] - told['begin_minutes']:.1f} min" in table
    assert "720 rows over 59.9 min, from 2026-05-14 13:00:00 on." in table


def test_the_printed_visit_can_be_copied_into_a_case(log, case, capsys):
    table = printed(capsys, "steady-state", log, "--coil", "clean", "--label", "by the logger")
    block = table[table.index("[[visit]]") :]
    visit = tomllib.loads(block)["visit"][0]
    assert (visit["label"], visit["coil"]) == ("by the logger", "clean")
    case.write_text(case.read_text(encoding="utf-8") + "\n" + block, encoding="utf-8")
    assert read_case(case).visits[-1].label == "by the logger"


def test_added_to_a_case_the_visit_reads_as_printed(log, case, capsys):
    before = case.read_bytes()
    told = json.loads(printed(capsys, "steady-state", log, "--into", case, "--label", "logged", "--json"))
    visit = read_case(case).visits[-1]
    document = tomllib.loads(case.read_text(encoding="utf-8"))["visit"][-1]
    assert visit.label == "logged"
    assert {name: str(value) for name, value in document.items()} == {
        name: str(value) for name, value in told["visit"].items()
    }
    assert case.with_name("unit.toml.bak").read_bytes() == before
    again = refused(capsys, "steady-state", log, "--into", case, "--label", "logged")
    assert "a label of its own is expected" in again


def test_gauges_read_over_the_air_at_the_altitude(log, capsys):
    low, high = (
        json.loads(printed(capsys, "steady-state", log, "--altitude", height, "--json"))["visit"]
        for height in ("0", "5000")
    )
    assert low["suction_pressure"] == high["suction_pressure"]
    sea = steady_record(read_log(log, "US")).visit.suction_pressure
    hill = steady_record(read_log(log, "US", 84_300.0)).visit.suction_pressure
    assert hill == pytest.approx(sea - 101_325.0 + 84_300.0)


def test_what_still_moves_is_said_with_its_pace(restless, case, capsys):
    told = printed(capsys, "steady-state", restless)
    assert "No steady state: still changing in the last 15 min of running: Liquid-line pressure." in told
    assert "Liquid-line pressure changes by 7.1" in told
    assert "[[visit]]" not in told
    before = case.read_bytes()
    assert "the log gives no visit" in refused(capsys, "steady-state", restless, "--into", case)
    assert case.read_bytes() == before
    numbers = json.loads(printed(capsys, "steady-state", restless, "--json"))
    assert (numbers["settled"], numbers["visit"]) == (False, None)
    assert [name for name, one in numbers["readings"].items() if not one["settled"]] == ["liquid_pressure"]


def test_bad_rows_are_counted(tmp_path, capsys):
    path = write_log(tmp_path / "bad.csv", made_log(settling=0.0))
    lines = path.read_text(encoding="utf-8").splitlines()
    lines[10] = "not a time" + lines[10][19:]
    lines[20] = lines[20].replace(",9", ",--", 1)
    path.write_text("\n".join(line + ",spare" for line in lines), encoding="utf-8")
    told = printed(capsys, "steady-state", path)
    assert "Rows left out, without a time or with too many entries: 1." in told
    assert "Entries that are not a number or out of range: Outdoor air, dry bulb 1." in told
    assert "Columns that are not a known reading: spare." in told


def test_the_picture_is_the_same_twice(log, tmp_path, capsys):
    picture = tmp_path / "traces.svg"
    assert f"{picture}: traces drawn" in printed(capsys, "steady-state", log, "-o", picture)
    first = picture.read_bytes()
    assert first.startswith(b"<?xml")
    printed(capsys, "steady-state", log, "-o", picture)
    assert picture.read_bytes() == first


def test_lanes_hold_the_traces_in_order(log):
    read = read_log(log, "US")
    record = steady_record(read)
    chart = trace_chart(record, read, "US")
    assert len(chart.y.ticks) == len(END_STATE)
    curves = [layer for layer in chart.layers if isinstance(layer, Curve)]
    assert len(curves) == len(END_STATE)
    for (place, words), curve in zip(chart.y.ticks, curves, strict=True):
        assert "\n" in words
        assert np.all(np.abs(curve.y - place) <= 0.5)
    (stretch,) = [layer for layer in chart.layers if isinstance(layer, Band) and layer.name]
    assert stretch.x.tolist() == pytest.approx([record.begin / 60, record.end / 60])


def test_a_gap_breaks_the_lines(tmp_path):
    columns = made_log(settling=0.0)
    keep = (np.arange(720) < 300) | (np.arange(720) > 420)
    path = write_log(tmp_path / "gap.csv", {name: column[keep] for name, column in columns.items()})
    read = read_log(path, "US")
    chart = trace_chart(steady_record(read), read, "US")
    curves = [layer for layer in chart.layers if isinstance(layer, Curve)]
    assert len(curves) == 2 * len(END_STATE)


@pytest.mark.parametrize(
    ("words", "part"),
    [
        (["-o", "x.png"], "-o: x.png ends in .png; .svg is expected"),
        (["--altitude", "90000"], "--altitude: altitude is 90000 ft"),
        (["--altitude", "nan"], "--altitude: altitude is nan ft"),
        (["--altitude", "800", "--into", str(DEMO)], "leave --altitude out"),
        (["--into", "gone.toml"], "gone.toml: there is no such file"),
    ],
)
def test_refusals(log, words, part, capsys):
    assert part in refused(capsys, "steady-state", log, *words)


def test_a_log_without_weather_makes_no_visit(tmp_path, case, capsys):
    columns = made_log(settling=0.0)
    del columns["outdoor_db [degF]"]
    path = write_log(tmp_path / "short.csv", columns)
    told = printed(capsys, "steady-state", path)
    assert "Not logged, but needed for a visit: Outdoor" in told
    assert "not logged: outdoor_db" in refused(capsys, "steady-state", path, "--into", case)
