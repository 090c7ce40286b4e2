"""Steady stretches of long logs: found in pieces as in one, bounded in memory, honest about bad logs."""

import numpy as np
import pandas as pd
import pytest

from calibration.files import log_layout
from calibration.track import log_pieces, stretches
from calibration.track.stretches import steady_stretches
from tests.made_tracks import demo, made_stretches, write_track_log


@pytest.fixture(scope="module")
def log(tmp_path_factory):
    return write_track_log(tmp_path_factory.mktemp("logs") / "log.csv", days=3)


def found_in(path):
    return steady_stretches([path], demo()[0])


def changed(log, path, change):
    """The log with its table changed, written again."""
    frame = change(pd.read_csv(log))
    frame.to_csv(path, index=False)
    return path


def test_the_averages_are_those_that_the_log_was_made_with(log):
    found = found_in(log)
    made = made_stretches(np.full(3, 0.2))
    assert len(found) >= 9
    assert np.all(found.end - found.begin >= 900.0)
    assert np.all(found.end - found.begin <= stretches.LONGEST_STRETCH + 60.0)
    day = np.floor(found.begin / 86_400.0).astype(int)
    for name, values in made.values.items():
        np.testing.assert_allclose(found.values[name], values[::3][day - day[0]], rtol=1e-4)


def test_a_log_read_in_small_pieces_gives_the_same_stretches(log, monkeypatch):
    whole = found_in(log)
    monkeypatch.setattr(log_layout, "PIECE", 77)
    parts = found_in(log)
    np.testing.assert_array_equal(whole.begin, parts.begin)
    np.testing.assert_array_equal(whole.end, parts.end)
    np.testing.assert_allclose(whole.values["liquid_pressure"], parts.values["liquid_pressure"], rtol=1e-9)


def test_rows_carried_over_do_not_grow_with_the_log(tmp_path, monkeypatch):
    monkeypatch.setattr(log_layout, "PIECE", 200)
    most = []
    find = stretches._Finder._find

    def watched(self, last):
        most.append(len(self.seconds))
        find(self, last)

    monkeypatch.setattr(stretches._Finder, "_find", watched)
    found_in(write_track_log(tmp_path / "log.csv", days=6))
    carried = (stretches.LONGEST_STRETCH + 2 * 900.0) / 60.0
    assert max(most) <= 200 + carried
    assert len(most) <= 6 * 1440 / 200 + 2


def test_a_clock_that_falls_back_is_reported_and_no_stretch_goes_over_it(log, tmp_path):
    def fall(frame):
        times = pd.to_datetime(frame["time"])
        late = np.arange(len(times)) >= 2000
        frame["time"] = times.where(~late, times - pd.Timedelta(hours=1)).dt.strftime("%Y-%m-%dT%H:%M:%S")
        return frame

    found = found_in(changed(log, tmp_path / "log.csv", fall))
    assert any("the clock falls back 1 time" in remark for remark in found.remarks)


def test_a_log_given_twice_counts_once(log):
    once, twice = found_in(log), steady_stretches([log, log], demo()[0])
    assert len(once) == len(twice)
    assert any("count once" in remark for remark in twice.remarks)


def test_a_stuck_sensor_is_found_and_not_used(log, tmp_path):
    def stick(frame):
        frame["outdoor_db [K]"] = 303.0
        return frame

    found = found_in(changed(log, tmp_path / "log.csv", stick))
    assert np.isnan(found.values["outdoor_db"]).all()
    assert any("outdoor_db shows one unchanging value" in remark for remark in found.remarks)


def test_bad_logs_are_refused_in_a_sentence(log, tmp_path):
    def idle(frame):
        frame["outdoor_power [W]"] = 7.0
        return frame

    def mistaken(frame):
        return frame.rename(columns={"liquid_pressure [Pa abs]": "liquid_pressure [bar abs]"})

    def restless(frame):
        frame["liquid_pressure [Pa abs]"] += 4e5 * np.sin(np.arange(len(frame)))
        return frame

    for change, words in (
        (idle, "does not run in this log"),
        (mistaken, "entries of liquid_pressure cannot be true"),
        (restless, "never steady for 15 min"),
    ):
        with pytest.raises(ValueError, match=words):
            found_in(changed(log, tmp_path / "bad.csv", change))


def test_pieces_are_those_of_the_reader():
    assert log_pieces.PIECE == log_layout.PIECE
