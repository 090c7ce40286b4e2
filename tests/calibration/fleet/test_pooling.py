"""Pooled growth rates: a new unit leans on its site, a well-read one on itself, an odd one is left alone."""

import datetime as dt

import numpy as np
import pytest

from calibration.costs.growth_fit import LevelPoint, shrunk_fit
from calibration.fleet.pooling import (
    MOST_POOLED,
    PRIOR_MIDDLE,
    STEP,
    UnitGrowth,
    learnt_rates,
    pooled_growth,
    shown_growth,
)
from model.maintenance.growth import NORMAL_95


def site_of(rate, name="site", count=8, error=0.03, years=2.0):
    draw = np.random.default_rng(int(1000 * rate))
    return [
        UnitGrowth(name, "road", rate * years + error * draw.standard_normal(), error, years)
        for _ in range(count)
    ]


def rates_of(units):
    """Rates that units have in the end: by what the others say, and by their own readings."""
    return [rate_of(one, prior) for one, prior in zip(units, pooled_growth(units).priors, strict=True)]


def rate_of(one, prior):
    return prior.rate if one.level is None else shrunk_fit([point_of(one)], prior).rate


def point_of(one):
    cleaned = dt.date(2020, 1, 1)
    reach = NORMAL_95 * one.error
    found = cleaned + dt.timedelta(days=round(365 * one.years))
    return LevelPoint("found", cleaned, found, one.level, one.level - reach, one.level + reach)


def test_a_unit_never_read_has_the_rate_of_its_site():
    fast, slow = site_of(0.15, "fast"), site_of(0.04, "slow")
    rates = rates_of([*fast, *slow, UnitGrowth("fast", "road"), UnitGrowth("slow", "road")])
    new_fast, new_slow = rates[-2:]
    assert new_fast.value == pytest.approx(0.15, rel=0.3)
    assert new_slow.value == pytest.approx(0.04, rel=0.4)
    assert new_fast.low > new_slow.value


def test_a_site_that_is_new_has_the_rate_of_its_surroundings():
    units = [one for number in range(5) for one in site_of(0.12 + 0.01 * number, f"site {number}")]
    road, roof = rates_of([*units, UnitGrowth("another", "road"), UnitGrowth("another", "roof")])[-2:]
    assert road.value == pytest.approx(0.14, rel=0.3)
    assert roof.high / roof.low > road.high / road.low


def test_a_poor_reading_leans_on_the_site_and_a_good_one_does_not():
    site = site_of(0.05, count=12)
    poor, good = UnitGrowth("site", "road", 0.2, 0.1, 2.0), UnitGrowth("site", "road", 0.2, 0.01, 2.0)
    assert rates_of([*site, poor])[-1].value < 0.085
    assert rates_of([*site, good])[-1].value == pytest.approx(0.1, rel=0.17)


def test_an_odd_unit_keeps_its_own_rate_and_does_not_bend_its_site():
    site = site_of(0.05, count=10)
    odd = UnitGrowth("site", "road", 0.5, 0.04, 2.0)
    before, after = pooled_growth(site), pooled_growth([*site, odd])
    assert rates_of([*site, odd])[-1].value == pytest.approx(0.25, rel=0.1)
    assert after.weights[-1] < 0.4
    for one, other in zip(before.priors, after.priors, strict=False):
        assert other.middle == pytest.approx(one.middle, abs=0.15 + STEP)


def test_an_odd_unit_that_is_hardly_fouled_yet_is_not_dragged_to_its_site():
    site = site_of(0.02, count=12)
    level, error, years = 0.15, 0.05, 1.5
    rate = rates_of([*site, UnitGrowth("site", "road", level, error, years)])[-1]
    spread = np.hypot(error, 0.03)
    assert (level - spread) / years <= 1.01 * rate.value < level / years
    assert rate.low < 0.03
    assert rate.high > 0.08


def test_a_usual_unit_in_a_crowd_of_its_kind_is_hardly_taken_for_an_odd_one():
    units = [one for number in range(6) for one in site_of(0.08 + 0.01 * number, f"site {number}")]
    assert pooled_growth(units).weights.min() > 0.8


def test_a_unit_never_read_may_be_an_odd_one():
    site = site_of(0.05, count=30, error=0.005)
    new = rates_of([*site, UnitGrowth("site", "road")])[-1]
    assert new.high / new.value == pytest.approx(new.value / new.low, rel=0.02)
    assert new.high / new.value > np.exp(1.645 * pooled_growth(site).unit_spread)


def test_a_clean_coil_has_a_small_rate_and_nothing_at_all_the_published_one():
    assert rates_of([UnitGrowth("a", "b", 0.0, 0.03, 3.0)])[0].value < np.exp(PRIOR_MIDDLE)
    assert pooled_growth([UnitGrowth("", "")]).priors[0].middle == pytest.approx(PRIOR_MIDDLE, abs=STEP)


def test_several_levels_say_as_much_as_one_that_is_as_exact_as_all_of_them():
    cleaned = dt.date(2020, 1, 1)
    points = [
        LevelPoint(
            str(years),
            cleaned,
            cleaned + dt.timedelta(days=365 * years),
            0.1 * years,
            0.1 * years - 0.05,
            0.1 * years + 0.05,
        )
        for years in (1, 2, 3)
    ]
    one, three = shown_growth("s", "e", points[2:]), shown_growth("s", "e", points)
    assert three.level == pytest.approx(0.3)
    assert three.error == pytest.approx(one.error * 3.0 / np.sqrt(14.0))
    assert shown_growth("s", "e", []).level is None
    soon = LevelPoint("soon", cleaned, cleaned + dt.timedelta(days=4), 0.1, 0.05, 0.15)
    assert shown_growth("s", "e", [soon]).level is None


def test_what_a_unit_learns_is_of_the_others_alone():
    site, own = site_of(0.05, count=6), UnitGrowth("site", "road", 0.6, 0.01, 2.0)
    new = UnitGrowth("site", "road")
    of_read, of_new = learnt_rates([*site, own])[-1], learnt_rates([*site, new])[-1]
    assert of_read.prior.rate.value == pytest.approx(of_new.prior.rate.value, rel=0.25)
    assert (of_read.others, of_read.here) == (of_new.others, of_new.here) == (6, 6)


def test_without_others_that_were_read_nothing_is_learnt():
    assert learnt_rates([site_of(0.05)[0], UnitGrowth("site", "road")])[0] is None
    assert learnt_rates([UnitGrowth("a", ""), UnitGrowth("b", "")]) == [None, None]


def test_large_fleets_are_pooled_in_parts(monkeypatch):
    units = [UnitGrowth(f"site {number // 3}", "roof", 0.1, 0.03, 2.0) for number in range(9)]
    sizes = []
    monkeypatch.setattr("calibration.fleet.pooling.MOST_POOLED", 4)
    monkeypatch.setattr(
        "calibration.fleet.pooling.pooled_growth",
        lambda units: sizes.append(len(units)) or pooled_growth(units),
    )
    assert [one.others for one in learnt_rates(units)] == [2] * 9
    assert sizes == [3, 3, 3]
    assert MOST_POOLED > 4


def test_a_rate_that_a_case_gives_is_a_reading_of_its_unit():
    given = shown_growth("site", "road", [], 0.2)
    low, high = (given.level + side * NORMAL_95 * given.error for side in (-1.0, 1.0))
    assert given.years == 1.0
    assert high - low == pytest.approx(2.0 * 0.2 * np.log(1.5))
    learnt = learnt_rates([given, UnitGrowth("site", "road"), UnitGrowth("other", "roof")])
    assert learnt[1].prior.rate.value > learnt[2].prior.rate.value > np.exp(PRIOR_MIDDLE)
    assert learnt[0] is None
