"""Tracks of made logs: the level, the growth, cleanings and sensors that were put in come out."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from calibration.track.days import daily_visits
from calibration.track.stretches import Stretches
from calibration.track.system import single_misfit
from calibration.track.track import fouling_track, known_clean_days, shown_noise
from tests.made_tracks import START, demo, made_stretches

DAYS = 90
RATE = 0.6
CLEANED = 50


@pytest.fixture(scope="module")
def line():
    return 0.005 + RATE * np.arange(DAYS) / 365.0


def tracked(stretches, **cleaning):
    case, baseline = demo()
    even = replace(case.cleaning, growth_form="linear", bursts=(), **cleaning)
    return fouling_track(replace(case, cleaning=even), baseline, stretches)


@pytest.mark.parametrize("names", [None, ("suction_pressure", "liquid_pressure")])
def test_level_and_growth_are_those_put_in(line, names):
    track = tracked(made_stretches(line, **({} if names is None else {"names": names})))
    inside = (line >= track.low) & (line <= track.high)
    assert inside.mean() > 0.85
    assert np.all(track.high - track.low < 0.3)
    assert track.rate_low < RATE < track.rate_high
    assert not [event for event in track.events if event.kind == "cleaned"]


def test_a_cleaning_is_found_on_its_day(line):
    level = 3.0 * line
    level[CLEANED:] = level[: DAYS - CLEANED]
    track = tracked(made_stretches(level))
    (event,) = [event for event in track.events if event.kind == "cleaned"]
    assert (event.day - START).days == CLEANED
    assert event.first <= event.day <= event.last
    assert track.level[-1] < track.level[CLEANED - 2]


def test_growth_towards_a_limit_is_followed_where_the_case_says_so():
    """dL/dt = rate - L / time constant from clean, and again from clean after a cleaning."""
    case, baseline = demo()
    days, rate, constant = np.arange(120), 1.2, 0.25
    level = rate * constant * -np.expm1(-days / 365.0 / constant)
    level[80:] = level[:40]
    found = made_stretches(level)
    cleaning = replace(case.cleaning, growth_form="asymptotic", time_constant=constant, bursts=())
    track = fouling_track(replace(case, cleaning=cleaning), baseline, found)
    assert track.rate == pytest.approx(rate, rel=0.15)
    assert track.rate_low < rate < track.rate_high
    (event,) = [event for event in track.events if event.kind == "cleaned"]
    assert abs((event.day - START).days - 80) <= 1
    assert np.mean((level >= track.low) & (level <= track.high)) > 0.9
    assert tracked(found).rate < 0.85 * track.rate  # as if it were linear


def test_a_cleaning_that_the_case_names_is_known(line):
    level = line.copy()
    level[CLEANED:] = line[: DAYS - CLEANED]
    day = START + dt.timedelta(days=CLEANED - 1)
    track = tracked(made_stretches(level), last_cleaned=day)
    assert ("known_cleaning", day) in [(event.kind, event.day) for event in track.events]
    assert day in track.known_clean


def test_a_sensor_that_shifts_is_named_and_not_taken_for_fouling(line):
    found = made_stretches(line)
    late = np.arange(len(found)) >= 3 * CLEANED
    found.values["suction_temperature"] = found.values["suction_temperature"] + 8.0 * late
    track = tracked(found)
    kinds = [event.kind for event in track.events]
    assert "step:suction_temperature" in kinds
    assert abs(track.level[-1] - line[-1]) < 0.1


def test_a_day_that_fits_no_level_is_flagged(line):
    found = made_stretches(line)
    day = np.arange(len(found)) // 3
    found.values["liquid_temperature"] = found.values["liquid_temperature"] + 15.0 * (day == 40)
    track = tracked(found)
    assert np.flatnonzero(track.flagged).tolist() == [40]


def test_days_before_a_gap_may_have_another_level(line):
    """The only days of a season before its cleaning fit no neighbour, and say when it was all the same."""
    level = 3.0 * line
    level[62:] = level[: DAYS - 62]
    found = made_stretches(level)
    day = np.arange(len(found)) // 3
    away = (day > 58) & (day < 61) | (day > 61) & (day < 70)  # day 61 has none within ten days after it
    found = Stretches(
        found.begin[~away],
        found.end[~away],
        {name: values[~away] for name, values in found.values.items()},
        {name: values[~away] for name, values in found.scatter.items()},
        int(np.sum(~away)),
        0,
        (),
    )
    track = tracked(found)
    assert not track.flagged.any()
    (event,) = [event for event in track.events if event.kind == "cleaned"]
    assert 61 < (event.day - START).days <= 70


def test_the_noise_is_that_of_the_log_itself():
    rng = np.random.default_rng(4)
    shape = np.array([[1.0, 0.0], [0.9, 0.5]])
    residual = rng.standard_normal((400, 2)) @ shape.T
    there = np.ones((400, 2), dtype=bool)
    assert shown_noise(residual, there) == pytest.approx(shape @ shape.T, abs=0.15)
    residual[::40] += 50.0  # a few days that fit nothing count little
    assert shown_noise(residual, there) == pytest.approx(shape @ shape.T, abs=0.5)
    assert np.array_equal(shown_noise(residual[:4], there[:4]), np.eye(2))
    there[:, 1] = False
    assert np.array_equal(shown_noise(residual, there), np.eye(2))


def test_another_unit_is_refused(line):
    found = made_stretches(line)
    found.values["liquid_pressure"] = found.values["liquid_pressure"] * 0.6
    found.values["suction_pressure"] = found.values["suction_pressure"] * 1.5
    case, baseline = demo()
    (days,) = daily_visits(case, baseline, found)
    assert np.median(single_misfit(days)) > 9.0
    with pytest.raises(ValueError, match="fit no level of fouling of this unit"):
        tracked(found)


def test_too_few_days_are_refused():
    with pytest.raises(ValueError, match="steady stretches lie on 3 days; 5 are needed"):
        tracked(made_stretches(np.full(3, 0.1)))


def test_years_without_a_log_are_reported(line):
    found = made_stretches(line)
    late = np.arange(len(found)) >= 150
    moved = replace(found, begin=found.begin + 800 * 86_400.0 * late, end=found.end + 800 * 86_400.0 * late)
    assert any("no steady stretch for 801 days" in remark for remark in tracked(moved).remarks)


def test_known_clean_days_are_those_of_the_case():
    assert known_clean_days(demo()[0]) == [dt.date(2026, 5, 19)]
