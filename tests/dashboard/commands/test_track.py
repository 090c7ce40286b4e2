"""The command that follows fouling through a log: what it prints and writes, and what it refuses."""

import json
import tomllib

import pandas as pd
import pytest

from calibration.case.file import parse_case
from tests.dashboard.command import printed, refused
from tests.made_tracks import DEMO, write_track_log


@pytest.fixture(scope="module")
def log(tmp_path_factory):
    return write_track_log(tmp_path_factory.mktemp("logs") / "log.csv", days=7, level=0.03)


@pytest.fixture(scope="module")
def case(tmp_path_factory):
    """The demo case without a price, so that nothing is simulated."""
    path = tmp_path_factory.mktemp("cases") / "unit.toml"
    text = DEMO.read_text(encoding="utf-8").replace("price = 165\n", "")
    parse_case(text)
    path.write_text(text, encoding="utf-8")
    return path


def test_json_has_growth_events_and_level(case, log, capsys):
    found = json.loads(printed(capsys, "track", case, log, "--json"))
    growth = found["growth_rate"]
    assert 0.0 < growth["low"] <= growth["value"] <= growth["high"]
    assert found["level"]["low"] <= 0.03 <= found["level"]["high"]
    assert found["events"] == []
    assert found["cleaning"] is None
    assert found["days"] == 7
    assert found["known_clean"] == ["2026-05-19"]


@pytest.mark.parametrize("suffix", [".csv", ".parquet"])
def test_the_table_has_a_row_a_day(case, log, tmp_path, capsys, suffix):
    out = tmp_path / f"out{suffix}"
    text = printed(capsys, "track", case, log, "-o", out)
    table = pd.read_csv(out) if suffix == ".csv" else pd.read_parquet(out)
    assert list(table.columns[:5]) == ["time", "level", "level_low", "level_high", "event"]
    assert len(table) == 7
    assert (table.level_low <= table.level).all() and (table.level <= table.level_high).all()
    line = next(line for line in text.splitlines() if line.startswith("growth_rate = "))
    assert tomllib.loads(line)["growth_rate"] > 0.0


def test_bad_calls_are_refused_in_one_line(case, log, tmp_path, capsys):
    assert ".csv or .parquet is expected" in refused(capsys, "track", case, log, "-o", tmp_path / "out.txt")
    assert "there is no such file" in refused(capsys, "track", case, tmp_path / "none.csv")
    short = write_track_log(tmp_path / "short.csv", days=2)
    out = tmp_path / "out.csv"
    assert "5 are needed" in refused(capsys, "track", case, short, "-o", out)
    assert not out.exists()
