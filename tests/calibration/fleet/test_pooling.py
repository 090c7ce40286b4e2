"""Pooled growth rates: a new unit leans on its site, a well-read one on itself, an odd one is left alone."""

import numpy as np
import pytest

from calibration.fleet.pooling import (
    MOST_POOLED,
    PRIOR_MIDDLE,
    UnitGrowth,
    growth_of_row,
    pooled_growth,
    with_pooled_rates,
)


def site_of(rate, name="site", count=8, error=0.03, years=2.0):
    draw = np.random.default_rng(int(1000 * rate))
    return [
        UnitGrowth(name, "road", rate * years + error * draw.standard_normal(), error, years)
        for _ in range(count)
    ]


def test_a_unit_never_read_has_the_rate_of_its_site():
    fast, slow = site_of(0.15, "fast"), site_of(0.04, "slow")
    pooled = pooled_growth([*fast, *slow, UnitGrowth("fast", "road"), UnitGrowth("slow", "road")])
    new_fast, new_slow = pooled.rates[-2:]
    assert new_fast.value == pytest.approx(0.15, rel=0.3)
    assert new_slow.value == pytest.approx(0.04, rel=0.4)
    assert new_fast.low > new_slow.value


def test_a_site_that_is_new_has_the_rate_of_its_surroundings():
    units = [one for number in range(5) for one in site_of(0.12 + 0.01 * number, f"site {number}")]
    pooled = pooled_growth([*units, UnitGrowth("another", "road"), UnitGrowth("another", "roof")])
    assert pooled.rates[-2].value == pytest.approx(0.14, rel=0.3)
    assert pooled.rates[-1].high - pooled.rates[-1].low > pooled.rates[-2].high - pooled.rates[-2].low


def test_a_poor_reading_leans_on_the_site_and_a_good_one_does_not():
    site = site_of(0.05, count=12)
    poor, good = UnitGrowth("site", "road", 0.2, 0.1, 2.0), UnitGrowth("site", "road", 0.2, 0.01, 2.0)
    assert pooled_growth([*site, poor]).rates[-1].value < 0.075
    assert pooled_growth([*site, good]).rates[-1].value == pytest.approx(0.1, rel=0.07)


def test_an_odd_unit_keeps_its_own_rate_and_does_not_bend_its_site():
    site = site_of(0.05, count=10)
    odd = UnitGrowth("site", "road", 0.5, 0.04, 2.0)
    before, after = pooled_growth(site), pooled_growth([*site, odd])
    assert after.rates[-1].value == pytest.approx(0.25, rel=0.1)
    assert after.weights[-1] < 0.4
    for one, other in zip(before.rates, after.rates, strict=False):
        assert other.value == pytest.approx(one.value, rel=0.15)


def test_an_odd_unit_that_is_hardly_fouled_yet_is_not_dragged_to_its_site():
    site = site_of(0.02, count=12)
    level, error, years = 0.15, 0.05, 1.5
    rate = pooled_growth([*site, UnitGrowth("site", "road", level, error, years)]).rates[-1]
    assert (level - error) / years <= 1.0001 * rate.value < level / years
    assert rate.low < 0.03
    assert rate.high > 0.08


def test_a_usual_unit_in_a_crowd_of_its_kind_is_hardly_taken_for_an_odd_one():
    units = [one for number in range(6) for one in site_of(0.08 + 0.01 * number, f"site {number}")]
    assert pooled_growth(units).weights.min() > 0.8


def test_a_unit_never_read_may_be_an_odd_one():
    site = site_of(0.05, count=30, error=0.005)
    new = pooled_growth([*site, UnitGrowth("site", "road")]).rates[-1]
    assert new.high / new.value == pytest.approx(new.value / new.low, rel=0.02)
    assert new.high / new.value > np.exp(1.645 * pooled_growth(site).unit_spread)


def test_a_clean_coil_has_a_small_rate_and_nothing_at_all_the_published_one():
    assert pooled_growth([UnitGrowth("a", "b", 0.0, 0.03, 3.0)]).rates[0].value < np.exp(PRIOR_MIDDLE)
    assert pooled_growth([UnitGrowth("", "")]).rates[0].value == pytest.approx(np.exp(PRIOR_MIDDLE), rel=1e-6)


def test_rows_of_the_table_of_results():
    row = {"site": "s", "exposure": "e", "years_since_clean": 2.0, "grown_level": 0.2, "grown_level_low": 0.1,
           "grown_level_high": 0.3}  # fmt: skip
    assert growth_of_row(row).level == 0.2
    assert growth_of_row(row | {"years_since_clean": None}).level is None
    assert growth_of_row(row | {"years_since_clean": 0.01}).level is None
    (shown,) = with_pooled_rates([row])
    assert shown["pooled_rate_low"] < shown["pooled_rate"] < shown["pooled_rate_high"]


def test_large_fleets_are_pooled_in_parts(monkeypatch):
    rows = [{"site": f"site {number // 3}", "exposure": "roof"} for number in range(9)]
    sizes = []
    monkeypatch.setattr("calibration.fleet.pooling.MOST_POOLED", 4)
    monkeypatch.setattr(
        "calibration.fleet.pooling.pooled_growth",
        lambda units: sizes.append(len(units)) or pooled_growth(units),
    )
    assert len(with_pooled_rates(rows)) == 9
    assert sizes == [3, 3, 3]
    assert MOST_POOLED > 4
