"""The page of growth: an uploaded log is followed, kept in the unit, shown from it; bad logs are refused."""

import pytest
from streamlit.testing.v1 import AppTest

from calibration.case.file import read_case, write_case
from calibration.track.kept import kept_track
from dashboard.results.track import CANNOT_SEPARATE
from dashboard.web.page_list import GROWTH
from dashboard.web.settings import WORKSPACE_VARIABLE
from tests.conftest import HANGING
from tests.dashboard.command import in_json, printed
from tests.dashboard.web.test_app import SCRIPT, texts
from tests.made_tracks import DEMO, burst_level, write_track_log


@pytest.fixture(scope="module")
def log(tmp_path_factory):
    """Forty days with a cleaning in them."""
    level = burst_level(40, 25)
    return write_track_log(tmp_path_factory.mktemp("logs") / "log.csv", 40, interval=300.0, level=level)


@pytest.fixture
def unit(tmp_path, monkeypatch):
    """The invented unit in a workspace of its own."""
    monkeypatch.setenv(WORKSPACE_VARIABLE, str(tmp_path))
    path = tmp_path / "unit.toml"
    write_case(read_case(DEMO), path)
    return path


def opened(name: str) -> AppTest:
    app = AppTest.from_file(str(SCRIPT), default_timeout=HANGING)
    app.query_params["unit"] = name
    return app.run().switch_page(GROWTH.file).run()


def with_log(page: AppTest, name: str, content: bytes) -> AppTest:
    page.file_uploader(key="trend_log").upload(name, content, "text/csv")
    return page.run()


def test_a_log_is_followed_as_by_the_command_and_kept_in_the_unit(unit, log, capsys):
    page = with_log(opened(unit.name), "log.csv", log.read_bytes())
    assert not page.exception
    found = in_json(capsys, "track", unit, log)
    text = texts(page)
    growth = found["growth_rate"]
    assert f"Growth: {100 * growth['value']:.1f} % of the face a year" in text
    assert (
        f"Cost of the fouling from 2026-05-20 to 2026-06-28: {found['cost_so_far']['value']:.0f} USD" in text
    )
    assert found["events"] and all(event["words"] in text for event in found["events"])
    assert CANNOT_SEPARATE in text
    page.button(key="keep_track").click().run()
    assert not page.exception
    kept = kept_track(read_case(unit))
    assert kept.rate == pytest.approx(growth["value"], abs=5e-4)
    again = opened(unit.name)
    assert not again.exception
    assert f"Growth: {100 * kept.rate:.1f} % of the face a year" in texts(again)
    assert "fouling removed: a cleaning" in texts(again)


def test_fewer_days_are_drawn_where_fewer_are_asked_for(unit, log, capsys):
    printed(capsys, "track", unit, log, "--into", unit)
    page = opened(unit.name)
    (slider,) = page.slider
    first, last = slider.value
    assert (first.isoformat(), last.isoformat()) == ("2026-05-20", "2026-06-28")
    slider.set_value((first, first.replace(day=27))).run()
    assert not page.exception
    assert page.slider[0].value[1].isoformat() == "2026-05-27"


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "This log cannot be followed"),
        (b"time,outdoor\n2026-05-20T10:00:00,90\n", "This log cannot be followed"),
        (b"\xff\xfe\x00", "This log cannot be followed"),
    ],
)
def test_a_log_that_says_nothing_is_refused_in_a_sentence(unit, content, words):
    before = unit.read_bytes()
    page = with_log(opened(unit.name), "bad.csv", content)
    assert not page.exception
    assert words in texts(page) and "bad.csv" in texts(page)
    assert unit.read_bytes() == before


def test_without_a_log_it_says_what_is_needed(unit):
    assert "Give a log of this unit" in texts(opened(unit.name))
