"""The command that follows fouling through a log: what it prints and writes, and what it refuses."""

import json
import re
import tomllib

import numpy as np
import pandas as pd
import pytest

from calibration.case.file import parse_case, read_case, write_case
from calibration.case.keys import find_key
from calibration.diagnosis.finding import find
from tests.calibration.two_circuits import two_circuits
from tests.dashboard.command import in_json, printed, refused
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
    assert found["cleaning"] is found["cost_so_far"] is found["cost_to_come"] is None
    assert found["days"] == 7
    assert found["known_clean"] == ["2026-05-19"]


def test_a_log_of_the_readings_of_one_visit_shows_the_level_that_match_shows(case, tmp_path, capsys):
    parsed = read_case(case)
    visit = parsed.found_visits[-1]
    shown = {
        name: key.quantity.from_si(value, parsed.units)
        for name, value in visit.readings().items()
        if (key := find_key(name, "visit")) is not None and key.quantity is not None
    }
    minutes = pd.date_range("2026-08-12 12:00", periods=180, freq="min")
    time = np.concatenate([minutes + pd.Timedelta(days=day) for day in range(5)])
    scatter = 1.0 + 1e-4 * np.random.default_rng(1).standard_normal((len(shown), len(time)))
    columns = {name: value * scatter[place] for place, (name, value) in enumerate(shown.items())}
    path = tmp_path / "visit.csv"
    pd.DataFrame({"time": time} | columns).to_csv(path, index=False)
    found = json.loads(printed(capsys, "track", case, path, "--json"))["level"]
    matched = find(parsed, visit).blocked
    assert found["value"] == pytest.approx(matched.value, abs=0.03)
    assert found["low"] < matched.value < found["high"]
    assert matched.low < found["value"] < matched.high


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


def test_the_growth_rate_goes_into_the_case_and_on_into_season_and_interval(case, log, tmp_path, capsys):
    unit = tmp_path / "unit.toml"
    lines = DEMO.read_text(encoding="utf-8").splitlines(keepends=True)
    assumed = [line for line in lines if not line.startswith(("growth_", "bursts"))]
    unit.write_text("".join(assumed), encoding="utf-8")
    before, former = unit.read_bytes(), _cost_and_growth(unit, capsys)
    found = json.loads(printed(capsys, "track", case, log, "--into", unit, "--json"))["growth_rate"]
    text = unit.read_text(encoding="utf-8")
    assert tomllib.loads(text)["cleaning"]["growth_rate"] == pytest.approx(found["value"], abs=5e-4)
    entry = tomllib.loads(text)["cleaning"]
    ends = [entry["growth_rate_low"], entry["growth_rate_high"]]
    assert ends == pytest.approx([found["low"], found["high"]], abs=5e-4)
    assert tomllib.loads(text)["track"][-1]["date"].isoformat() == "2026-05-26"
    assert "  # from a log until 2026-05-26\n" in text and "# Nobody's tariff.\n" in text
    assert unit.with_name("unit.toml.bak").read_bytes() == before
    cost, words = _cost_and_growth(unit, capsys)
    assert (
        f"growing by {100 * found['value']:.0f} points a year from clean (measured by a log until 2026-05-26)"
        in words
    )
    assert "measured by a log" not in former[1]
    assert cost != pytest.approx(former[0], rel=0.1)
    printed(capsys, "track", case, log, "--into", unit)
    assert unit.read_text(encoding="utf-8") == text


def _cost_and_growth(path, capsys):
    """What dirt and cleanings cost a year, and the words of the season about fouling."""
    cost = in_json(capsys, "interval", path, "--draws", "2")["figures"]["advised_cost"]["value"]
    return cost, " ".join(printed(capsys, "season", path, "--draws", "2").split())


def test_the_chart_is_drawn_and_is_the_same_twice(case, log, tmp_path, capsys):
    picture = tmp_path / "level.svg"
    assert f"{picture}: level over time drawn" in printed(capsys, "track", case, log, "--chart", picture)
    first = picture.read_bytes()
    assert first.startswith(b"<?xml")
    printed(capsys, "track", case, log, "--chart", picture, "--json")
    assert picture.read_bytes() == first


def test_a_chart_replaces_nothing_that_is_read(case, log, tmp_path, capsys):
    assert ".svg is expected" in refused(capsys, "track", case, log, "--chart", tmp_path / "level.png")
    named = tmp_path / "level.svg"
    named.symlink_to(log)
    told = refused(capsys, "track", case, log, "--chart", named)
    assert (
        told
        == f"coiltoll: --chart: {named} is the same file as {log}, which is read; another file is expected"
    )
    named.unlink()
    named.symlink_to(case)
    assert refused(capsys, "track", case, log, "--chart", named).startswith(f"coiltoll: --chart: {named} is ")


def test_bad_calls_are_refused_in_one_line(case, log, tmp_path, capsys):
    assert ".csv or .parquet is expected" in refused(capsys, "track", case, log, "-o", tmp_path / "out.txt")
    assert "there is no such file" in refused(capsys, "track", case, tmp_path / "none.csv")
    short = write_track_log(tmp_path / "short.csv", days=2)
    out = tmp_path / "out.csv"
    assert "5 are needed" in refused(capsys, "track", case, short, "-o", out)
    assert not out.exists()
    before = case.read_bytes()
    assert "5 are needed" in refused(capsys, "track", case, short, "--into", case)
    assert case.read_bytes() == before
    assert "there is no such file" in refused(capsys, "track", case, short, "--into", tmp_path / "no.toml")


def test_the_date_of_the_next_cleaning_follows_the_measured_growth(log, tmp_path, capsys):
    """The same unit with the rate of its log and with eight times that rate."""
    slow, fast = tmp_path / "slow.toml", tmp_path / "fast.toml"
    slow.write_text(DEMO.read_text(encoding="utf-8"), encoding="utf-8")
    printed(capsys, "track", slow, log, "--into", slow)
    text = slow.read_text(encoding="utf-8")
    entry = tomllib.loads(text)["cleaning"]
    for name in ("growth_rate", "growth_rate_low", "growth_rate_high"):
        text = re.sub(f"^{name} = .*$", f"{name} = {8.0 * entry[name]}", text, flags=re.MULTILINE)
    fast.write_text(text, encoding="utf-8")
    later, sooner = (in_json(capsys, "interval", one, "--draws", "2") for one in (slow, fast))
    assert later["dates"] != sooner["dates"]
    assert len(sooner["dates"]) > len(later["dates"])


def test_a_circuit_is_followed_for_itself_and_another_unit_takes_no_track(case, log, tmp_path, capsys):
    both, other = tmp_path / "both.toml", tmp_path / "other.toml"
    write_case(two_circuits(read_case(case)), both)
    alone = in_json(capsys, "track", case, log)
    apart = in_json(capsys, "track", both, log, "--circuit", "2")
    assert (alone["circuit"], apart["circuit"]) == (None, 2)
    assert apart["level"]["value"] == pytest.approx(alone["level"]["value"], rel=1e-3)
    assert "1 to 2 is expected of a unit with 2 circuits" in refused(capsys, "track", both, log)
    other.write_text(case.read_text(encoding="utf-8").replace("Millbrook", "Weir"), encoding="utf-8")
    before = other.read_bytes(), both.read_bytes()
    told = refused(capsys, "track", case, log, "--into", other)
    assert "is of Weir Street reading room, the log is followed as one of Millbrook Street" in told
    told = refused(capsys, "track", both, log, "--circuit", "1", "--into", both)
    assert "has 2 circuits, whose coils foul apart" in told
    assert (other.read_bytes(), both.read_bytes()) == before
