"""The study of tracks: years with known fouling, and what is counted of them."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from calibration.clean_fit.baseline import baseline_of
from calibration.studies.track import FIRST_DAY, FULL, SEASONS, drawn_year, logged_days, scored
from calibration.track.track import TrackEvent, fouling_track


@pytest.fixture(scope="module")
def year():
    return drawn_year(np.random.default_rng([20_261_129, 3]))


def test_a_year_has_readings_of_a_unit_that_fouls(year):
    assert len(year.level) == logged_days()[-1] + 1
    assert set(year.stretches.values) == set(FULL)
    assert year.case.clean_visits[0].date == FIRST_DAY
    assert year.level.min() >= 0.0 and year.level.max() <= 0.7
    again = drawn_year(np.random.default_rng([20_261_129, 3]))
    np.testing.assert_array_equal(again.level, year.level)


def test_counts_are_those_of_the_tracks(year):
    track = fouling_track(year.case, baseline_of(year.case), year.stretches)
    first = (FIRST_DAY - dt.date(1970, 1, 1)).days
    level = year.level[np.floor(track.seconds / 86_400.0).astype(int) - first]
    perfect = replace(track, level=level, low=level - 0.1, high=level + 0.1, rate=year.rate, events=())
    perfect = replace(perfect, rate_low=year.rate, rate_high=year.rate)
    score = scored([(year, perfect)])
    assert score.coverage == 1.0
    assert score.width == pytest.approx(0.2)
    assert score.rate_error == score.level_error == score.false_events == 0.0
    day = FIRST_DAY + dt.timedelta(days=60)
    event = TrackEvent("cleaned", day, day, day, 1.0, (("cleaned", 1.0),), -0.1)
    cleaned = replace(year, cleaned=day, removed=0.2)
    good = scored([(cleaned, replace(perfect, events=(event,)))])
    assert (good.found, good.larger, good.larger_found) == (1, 1, 1)
    assert scored([(replace(cleaned, removed=0.02), perfect)]).larger == 0
    late = replace(event, day=day + dt.timedelta(days=9))
    missed = scored([(cleaned, replace(perfect, events=(late,)))])
    assert (missed.cleanings, missed.found, missed.false_events) == (1, 0, 1.0 / SEASONS)
