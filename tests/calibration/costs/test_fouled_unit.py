"""A calibrated unit with its fouling as of today: what it rests on, and draws around the most likely."""

import datetime as dt
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from calibration.case.records import TrackedDay
from calibration.clean_fit.sensitivities import slopes
from calibration.costs.fouled_unit import DRAWN_LEVEL, _hold_past_trip, _in_order_of_effect, fouled_unit
from calibration.costs.season_case import season_case
from model.season.performance_table import QUANTITIES, trip_temperature
from tests.calibration.demo_in_bins import DEMO, baseline

VISIT_DAY = max(visit.date for visit in DEMO.visits)


@cache
def unit_on(today):
    return fouled_unit(DEMO, baseline(), season_case(DEMO), today, draws=40)


def test_draws_scatter_around_the_most_likely_unit():
    unit = unit_on(VISIT_DAY)
    assert unit.tables.samples == unit.levels.size == 40
    clean = unit.table.at(308.15, 0.0).total_capacity
    drawn = unit.tables.at(308.15, np.zeros(40)).total_capacity
    assert np.mean(drawn) == pytest.approx(float(np.asarray(clean).ravel()[0]), rel=0.02)
    assert np.std(drawn) > 0.001 * np.mean(drawn)
    assert np.all((unit.levels >= 0.0) & (unit.levels <= 1.0))
    assert np.quantile(unit.levels, 0.1) <= unit.level <= np.quantile(unit.levels, 0.9)


def test_a_drawn_unit_trips_the_earlier_the_dirtier_it_is():
    tables = unit_on(VISIT_DAY).tables
    at = np.array([trip_temperature(tables, np.full(40, level)) for level in DRAWN_LEVEL])
    assert np.isfinite(at[-1]).all()
    assert np.all(at[1:] <= at[:-1] + 0.5)


def test_slopes_past_the_trip_are_those_of_the_cooler_weather_before_it():
    family = np.ones((3, 1, 1, 2, 4, len(QUANTITIES)))  # two parameters, two levels, four temperatures
    family[1] += np.arange(4.0)[:, None]
    family[1, 0, 0, 1, 2:, QUANTITIES.index("trip_margin")] = -1.0  # dirty, this one trips
    family[1, 0, 0, 1, 2:, QUANTITIES.index("outdoor_power")] = -9e3
    found = slopes(family, np.array([0.1, 1.0]))
    plain = found.copy()
    _hold_past_trip(found, family)
    assert np.array_equal(found[:, :, :, 0], plain[:, :, :, 0])
    assert np.array_equal(found[:, :, :, 1, :2], plain[:, :, :, 1, :2])
    assert np.all(found[0, 0, 0, 1, 2:] == 10.0)
    assert np.all(found[1] == 0.0)


def test_the_coil_fouls_on_after_the_visit():
    later = unit_on(VISIT_DAY + dt.timedelta(days=300))
    assert later.level > unit_on(VISIT_DAY).level
    assert "grown on until today" in later.level_from


def test_the_last_day_of_a_log_counts_over_an_earlier_visit_and_not_over_a_later_one():
    end = VISIT_DAY + dt.timedelta(days=60)
    days = (TrackedDay(VISIT_DAY, 0.4, 0.3, 0.5), TrackedDay(end, 0.05, 0.02, 0.09))  # cleaned meanwhile
    logged = replace(DEMO, track=days)
    unit = fouled_unit(logged, baseline(), season_case(logged), draws=64)
    assert unit.today == end
    assert unit.level == pytest.approx(0.05, abs=1e-9)
    assert np.quantile(unit.levels, [0.05, 0.95]) == pytest.approx([0.02, 0.09], abs=0.006)
    assert unit.level_from == f"the log until {end}, grown on until today"
    later = fouled_unit(logged, baseline(), season_case(logged), end + dt.timedelta(days=200), draws=64)
    assert later.level > unit.level
    before = fouled_unit(logged, baseline(), season_case(logged), VISIT_DAY, draws=40)
    assert np.array_equal(before.levels, unit_on(VISIT_DAY).levels)


def test_the_same_case_gives_the_same_draws():
    again = fouled_unit(DEMO, baseline(), season_case(DEMO), VISIT_DAY, draws=40)
    assert np.array_equal(again.levels, unit_on(VISIT_DAY).levels)
    assert np.array_equal(again.tables.values, unit_on(VISIT_DAY).tables.values)


def test_a_case_without_any_date_is_refused():
    undated = replace(DEMO, visits=tuple(replace(visit, date=None) for visit in DEMO.visits))
    with pytest.raises(ValueError, match="no visit has a date; one is expected at a visit, or for today"):
        fouled_unit(undated, baseline(), season_case(undated), draws=4)


def test_directions_in_order_of_effect_leave_the_covariance_as_it_is():
    draw = np.random.default_rng(4)
    half = draw.standard_normal((6, 6))
    moved = draw.standard_normal((6, 1, 3, 5, len(QUANTITIES)))
    root = _in_order_of_effect(half @ half.T, moved)
    assert np.allclose(root @ root.T, half @ half.T)
    effect = np.tensordot(root.T, moved, axes=(1, 0)).reshape(6, -1, len(QUANTITIES))
    scale = np.sqrt((effect**2).sum(axis=0).mean(axis=0))
    weight = ((effect / scale) ** 2).sum(axis=(1, 2))
    assert np.all(np.diff(weight) <= 1e-9 * weight[0])
