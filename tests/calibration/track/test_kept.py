"""What a case keeps of a track: weeks, changes, growth with its range; it is read back as it was kept."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from calibration.case.file import case_text, parse_case
from calibration.track.kept import (
    MOST_KEPT,
    KeptTrack,
    kept_days,
    kept_track,
    kinds_alike,
    track_to_keep,
    with_track,
)
from calibration.track.track import TrackEvent, fouling_track
from tests.made_tracks import START, demo, made_stretches

CHANGE = START + dt.timedelta(days=23)


def long_track(days: int, changes=((CHANGE, "cleaned or drift:outdoor_db"),)) -> KeptTrack:
    first = (START - dt.date(1970, 1, 1)).days
    level = np.linspace(0.02, 0.3, days)
    return KeptTrack(
        seconds=86_400.0 * (first + 0.6 + np.arange(days)),
        level=level,
        low=0.8 * level,
        high=1.3 * level,
        outdoor=np.where(np.arange(days) % 2, 303.0, np.nan),
        flagged=np.arange(days) == 3,
        changes=changes,
        rate=0.12345,
        rate_low=0.08,
        rate_high=0.2,
    )


@pytest.mark.parametrize("days", [9, 60, 3000])
def test_weeks_are_kept_and_never_too_many(days):
    kept = kept_days(long_track(days), "US")
    dates = [day.date for day in kept]
    assert dates == sorted(set(dates)) and len(kept) <= MOST_KEPT + 2
    assert dates[0] == START and START + dt.timedelta(days=days - 1) in dates
    assert START + dt.timedelta(days=3) not in dates  # its readings fit no level
    assert all(day.level_low <= day.level <= day.level_high for day in kept)


def test_a_change_keeps_its_day_and_the_level_before_it():
    kept = kept_days(long_track(60), "SI")
    (place,) = [number for number, day in enumerate(kept) if day.event]
    assert kept[place].date == CHANGE and kept[place].event == "cleaned or drift:outdoor_db"
    assert kept[place - 1].date == CHANGE - dt.timedelta(days=1)


@pytest.mark.parametrize("units", ["US", "SI"])
def test_a_case_is_read_back_with_its_track(units):
    case = replace(demo()[0], units=units)
    grown = with_track(case, long_track(60))
    assert (grown.cleaning.growth_rate, grown.cleaning.growth_rate_low) == (0.123, 0.08)
    again = parse_case(case_text(grown))
    assert again.track == grown.track and again.cleaning == grown.cleaning
    kept = kept_track(again)
    assert kept.changes == ((CHANGE, "cleaned or drift:outdoor_db"),)
    assert (kept.rate, kept.rate_low, kept.rate_high) == (0.123, 0.08, 0.2)
    assert kept.last_day == START + dt.timedelta(days=59)
    assert with_track(again, kept) == again
    assert replace(grown, cleaning=case.cleaning, track=()) == case
    assert with_track(replace(case, cleaning=None), long_track(9)).cleaning.growth_rate == 0.123


def test_without_days_or_without_a_range_nothing_is_kept():
    case = with_track(demo()[0], long_track(60))
    bare = replace(case.cleaning, growth_rate_low=None, growth_rate_high=None)
    assert kept_track(demo()[0]) is None
    assert kept_track(replace(case, cleaning=bare)) is None
    assert kept_track(replace(case, cleaning=None)) is None


def test_a_track_is_kept_with_its_weather_and_kinds():
    case, baseline = demo()
    track = fouling_track(case, baseline, made_stretches(np.full(8, 0.02)))
    event = TrackEvent("cleaned", CHANGE, CHANGE, CHANGE, 0.9, (("cleaned", 0.6), ("washed", 0.3)), -0.1)
    kept = track_to_keep(replace(track, events=(event,)))
    assert kept.changes == ((CHANGE, "cleaned or washed"),)
    assert kinds_alike(replace(event, kinds=(("leak", 0.1),))) == "cleaned"
    assert np.all((kept.outdoor > 285.0) & (kept.outdoor < 320.0))
