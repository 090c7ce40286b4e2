"""Calendar, bins and sums of a weather year."""

import csv
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from model.season.weather_year import (
    AHRI_BIN_FRACTION,
    AHRI_BIN_TEMPERATURE,
    bin_year,
    hourly_year,
    monthly_peak,
    monthly_sum,
)

REFERENCE = Path(__file__).parents[2] / "reference"


def test_bins_are_those_of_the_standard():
    """AHRI 210/240 cooling bins, as in tests/reference (seen second-hand)."""
    with (REFERENCE / "cooling_bins_ahri_210_240.csv").open() as stream:
        rows = list(csv.DictReader(stream))
    assert np.allclose(AHRI_BIN_TEMPERATURE * 1.8 - 459.67, [float(r["outdoor_F"]) for r in rows])
    assert np.allclose(AHRI_BIN_FRACTION, [float(r["fraction_of_hours"]) for r in rows])


def test_calendar_agrees_with_pandas():
    year = hourly_year(np.full(8760, 290.0), first_weekday=3)
    stamps = pd.date_range("2026-01-01", periods=8760, freq="h")  # 1 January 2026 was a Thursday
    assert np.array_equal(year.month, stamps.month)
    assert np.array_equal(year.weekday, stamps.day_of_week)
    assert np.array_equal(year.hour, stamps.hour)
    assert np.array_equal(year.day, stamps.day_of_year - 1)
    assert year.is_hourly


def test_bins_keep_the_hours_and_the_shares():
    year = bin_year(1200.0)
    assert year.duration.sum() == pytest.approx(1200.0)
    hours_at_82 = year.duration[np.isclose(year.temperature, AHRI_BIN_TEMPERATURE[3])].sum()
    assert hours_at_82 == pytest.approx(0.161 * 1200.0)
    assert set(year.month) == {5, 6, 7, 8, 9}
    assert not year.is_hourly


def test_monthly_sums_and_peaks_agree_with_pandas():
    rng = np.random.default_rng(1)
    year = hourly_year(rng.uniform(270.0, 310.0, 8760))
    values = rng.normal(size=(3, 8760))
    frame = pd.DataFrame(values.T).groupby(year.month)
    assert np.allclose(monthly_sum(year, values), frame.sum().to_numpy().T)
    assert np.allclose(monthly_peak(year, values), frame.max().to_numpy().T)


def test_months_without_entries_are_zero():
    year = bin_year(900.0)
    assert np.array_equal(np.flatnonzero(monthly_sum(year, year.duration)) + 1, [5, 6, 7, 8, 9])


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: hourly_year(np.zeros(10)), "temperature must have 8760 hours"),
        (
            lambda: hourly_year(np.full(8760, 25.0)),
            r"temperature must lie in \[180, 340\] K, got 25 in hour 0",
        ),
        (lambda: hourly_year(np.full(8760, np.nan)), "temperature must lie in"),
        (lambda: hourly_year(np.full(8760, 290.0), 0.2), "humidity_ratio must lie in"),
        (lambda: hourly_year(np.full(8760, 290.0), 0.01, 1013.0), "pressure must lie in"),
        (lambda: hourly_year(np.full(8760, 290.0), first_weekday=7), "first_weekday must lie in 0..6"),
        (lambda: bin_year(0.0), "cooling_hours must lie in"),
        (lambda: bin_year(9000.0), "cooling_hours must lie in"),
        (lambda: bin_year(100.0, 200, 100), "first_day and last_day must be in order"),
        (lambda: bin_year(100.0, fraction=np.full(8, 0.2)), "adding to 1, got a sum of 1.6"),
    ],
)
def test_what_cannot_be_a_year_is_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
