"""Logs in pieces: CSV and Parquet alike, only with dates, standing units without mistakes."""

import numpy as np
import pytest

from calibration.track.log_pieces import log_pieces
from model.properties.moist_air import STANDARD_PRESSURE
from tests.made_tracks import write_track_log


def read(path, system="SI"):
    pieces = list(log_pieces(path, system, STANDARD_PRESSURE))
    readings = {name: np.concatenate([p.readings[name] for p in pieces]) for name in pieces[0].readings}
    return np.concatenate([p.seconds for p in pieces]), readings, pieces


def test_parquet_and_csv_are_read_alike(tmp_path):
    seconds, readings, _ = read(write_track_log(tmp_path / "log.csv", days=1))
    other, same, _ = read(write_track_log(tmp_path / "log.parquet", days=1))
    assert len(seconds) == 1440
    np.testing.assert_array_equal(seconds, other)
    for name, values in readings.items():
        np.testing.assert_allclose(values, same[name], rtol=1e-9)


def test_watts_of_a_standing_unit_are_no_mistake_and_negative_ones_are(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("time,outdoor_power [W]\n2026-05-01T10:00:00,6\n2026-05-01T10:01:00,-9000\n")
    _, readings, pieces = read(path)
    np.testing.assert_array_equal(readings["outdoor_power"], [6.0, np.nan])
    assert pieces[0].impossible == {"outdoor_power": 1}


def test_rows_without_a_time_or_with_too_many_entries_are_left_out(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text(
        "time,outdoor_db [degC]\n2026-05-01T10:00:00,20\nsoon,21\n2026-05-01T10:02:00,22,5\n"
        "2026-05-01T10:03:00,23\n"
    )
    seconds, readings, pieces = read(path)
    assert len(seconds) == 2
    assert pieces[0].left_out == 2
    np.testing.assert_allclose(readings["outdoor_db"], [293.15, 296.15])


@pytest.mark.parametrize("time", ["10:00:00", "60"])
def test_times_without_a_date_are_refused(tmp_path, time):
    path = tmp_path / "log.csv"
    path.write_text(f"time,outdoor_db [degC]\n{time},20\n{time},21\n")
    with pytest.raises(ValueError, match="have no date; dates with clocks are expected"):
        read(path)


def test_what_is_no_parquet_file_is_refused_in_a_sentence(tmp_path):
    path = tmp_path / "log.parquet"
    path.write_bytes(b"PAR1 and no more")
    with pytest.raises(ValueError, match="cannot be read as Parquet"):
        read(path)
    with pytest.raises(ValueError, match="no such file"):
        read(tmp_path / "missing.csv")
