"""Fouling found in heating as the level of the same coil: for growth, for today, beside what was known."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from calibration.costs.fouled_unit import fouled_unit
from calibration.costs.fouling_shown import KeptFouling
from calibration.costs.growth_fit import level_points
from calibration.costs.likely_growth import last_known_state, likely_growth
from calibration.costs.quasi_draws import evenly_spread
from calibration.costs.season_case import season_case
from calibration.estimate import Estimate
from calibration.heating.heating_fouling import ODDS, heating_shown, known_together
from model.cycle.faults import HEALTHY, Faults
from tests.calibration.heating.test_heating_fit import CASE, cooling, fitted
from tests.calibration.heating.test_heating_match import as_read

CLEANED, WINTER = dt.date(2026, 5, 5), dt.date(2027, 1, 20)
FOULED = replace(as_read(Faults(condenser_blocked=0.6)), date=WINTER, label="winter")


def with_winter(*visits, **changes):
    """The case with its cooling visits and these in heating."""
    return replace(CASE, heating_visits=visits, **changes)


ALONE = with_winter(FOULED, visits=CASE.clean_visits)
"""Nothing as found but the visit in heating."""


@lru_cache
def unit_of(case, today=WINTER):
    return fouled_unit(case, cooling(), season_case(case), today, draws=16)


def plain(day, value, probability, mode="heating", half=0.05):
    visit = replace(FOULED, date=day, label=day.isoformat(), mode=mode)
    return KeptFouling(visit, Estimate(value, value - half, value + half), probability, False, True)


def test_a_fouled_coil_found_in_heating_is_the_level_of_that_day():
    unit = unit_of(ALONE)
    assert unit.level == pytest.approx(0.6, abs=0.1)
    assert np.quantile(unit.levels, 0.05) < 0.6 < np.quantile(unit.levels, 0.95)
    assert unit.is_proven and unit.has_readings and not unit.if_fouled
    assert "visit winter of 2027-01-20" in unit.level_from


def test_it_is_a_point_of_the_growth():
    """Without a rate of the case the growth is fitted to it: 0.6 in 260 days since the cleaning."""
    open_rate = replace(ALONE, cleaning=replace(ALONE.cleaning, growth_rate=None))
    shown = heating_shown(open_rate, cooling(), fitted(), WINTER)
    (point,) = level_points(open_rate, tuple(shown.values()))
    assert (point.visit, point.cleaned, point.found) == ("winter", CLEANED, WINTER)
    assert point.low < 0.6 < point.high
    inputs, chance = season_case(open_rate), evenly_spread(1, 16, 1)[0]
    grown, prior = (likely_growth(open_rate, inputs, one, chance) for one in (tuple(shown.values()), ()))
    assert float(grown.likely.rate) > 1.5 * float(prior.likely.rate)
    assert grown.source.startswith("fitted to 1 as-found visit")


def test_a_clean_visit_in_heating_ends_what_was_known():
    clean = replace(FOULED, coil="clean", date=dt.date(2027, 2, 1), label="washed")
    case = with_winter(FOULED, clean)
    later = dt.date(2027, 3, 1)
    assert last_known_state(case, later, ("winter",)) == (dt.date(2027, 2, 1), "")
    assert clean.date in case.clean_dates


def test_a_visit_that_points_elsewhere_says_nothing_of_the_coil():
    other = replace(as_read(Faults(charge_change=-0.3)), date=WINTER, label="winter")
    case = with_winter(other)
    assert heating_shown(case, cooling(), fitted(), WINTER) == {}
    assert last_known_state(case, WINTER).found == CASE.found_visits[-1].label


def test_later_visits_and_units_without_a_fit_show_nothing():
    assert heating_shown(ALONE, cooling(), fitted(), dt.date(2026, 12, 1)) == {}
    assert heating_shown(ALONE, cooling(), None, WINTER) == {}


def test_what_was_known_before_is_weighed_with_it():
    """Two levels of one error each give their mean; odds multiply, each over the odds beforehand."""
    first, second = plain(dt.date(2026, 9, 1), 0.40, 0.9, "cooling"), plain(WINTER, 0.50, 0.6)
    shown = {one.visit.label: one for one in (first, second)}
    both = known_together(shown, second.visit.label, CLEANED, lambda level, start, days: level)
    assert both.blocked.value == pytest.approx(0.45)
    assert both.blocked.high - both.blocked.value == pytest.approx(0.05 / np.sqrt(2.0))
    odds = 9.0 * 1.5 / ODDS
    assert both.probability_of_fouling == pytest.approx(odds / (1.0 + odds))
    assert both.claims_fouling


def test_the_earlier_level_grows_until_then_and_not_across_a_cleaning():
    first, second = plain(dt.date(2026, 9, 1), 0.40, 0.9, "cooling"), plain(WINTER, 0.50, 0.6)
    shown = {one.visit.label: one for one in (first, second)}
    days = (WINTER - dt.date(2026, 9, 1)).days

    def grow(level, start, passed):
        assert (start, passed) == (dt.date(2026, 9, 1), days)
        return level + 0.06

    assert known_together(shown, second.visit.label, CLEANED, grow).blocked.value == pytest.approx(0.48)
    assert known_together(shown, second.visit.label, dt.date(2026, 10, 1), grow) is second
    assert known_together(shown, first.visit.label, CLEANED, grow) is first


def test_readings_of_a_clean_coil_take_the_summer_s_level_down():
    """Known as fouled in September with a probability of 0.93, and read as clean in January."""
    shown = heating_shown(
        with_winter(replace(as_read(HEALTHY), date=WINTER, label="winter")), cooling(), fitted(), WINTER
    )
    summer = plain(dt.date(2026, 9, 1), 0.5, 0.93, "cooling", 0.15)
    shown[summer.visit.label] = summer
    both = known_together(shown, "winter", CLEANED, lambda level, start, days: level)
    assert both.probability_of_fouling < 0.9
    assert both.blocked.value < 0.42
    assert both.blocked.high - both.blocked.low < 0.3
