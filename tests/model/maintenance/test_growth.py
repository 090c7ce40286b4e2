"""Growth of fouling: closed forms, seasons, rain, published rates."""

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model.maintenance.growth import (
    CONDENSER_RATE_HIGH,
    CONDENSER_RATE_LOW,
    HARVEST,
    POLLEN,
    SEED_FLUFF,
    Burst,
    FoulingGrowth,
    RainWash,
    asymptotic_level,
    coming_year,
    daily_share,
    default_growth,
    growth_steps,
    level_path,
    linear_level,
    rate_at_score,
)

REFERENCE = Path(__file__).parents[2] / "reference"
BURSTS = (SEED_FLUFF, POLLEN, HARVEST)


def published(quantity):
    with (REFERENCE / "fouling_growth_and_upkeep.csv").open() as stream:
        return next(float(r["value"]) for r in csv.DictReader(stream) if quantity in r["quantity"])


def test_kern_and_seaton():
    """Kern and Seaton 1959 (form from memory): 63.2 % of the limit after one time constant."""
    assert asymptotic_level(2.0, 0.5, 2.0) == pytest.approx(0.5 * 0.6321205588)
    assert asymptotic_level(1e3, 0.5, 2.0) == pytest.approx(0.5)
    early = asymptotic_level(1e-6, 0.5, 2.0)
    assert early == pytest.approx(linear_level(1e-6, 0.25), rel=1e-5)


@pytest.mark.parametrize("days_per_step", [1, 5, 73])
def test_steps_reproduce_the_closed_forms(days_per_step):
    years = np.arange(3 * 365 // days_per_step + 1) * days_per_step / 365
    linear = growth_steps(FoulingGrowth(0.1, limit=0.9), days_per_step)
    path = level_path(linear, 0.0, 0, years.size - 1)
    assert np.allclose(path[0], linear_level(years, 0.1))
    towards = growth_steps(FoulingGrowth(0.3, limit=0.6, law="asymptotic"), days_per_step)
    path = level_path(towards, 0.0, 0, years.size - 1)
    assert np.allclose(path[0], asymptotic_level(years, 0.6, 2.0))


def test_long_steps_equal_short_ones():
    growth = FoulingGrowth(0.2, 0.7, "asymptotic", BURSTS, RainWash((10.0,) * 12, 0.004))
    daily = level_path(growth_steps(growth, 1), 0.1)
    fives = level_path(growth_steps(growth, 5), 0.1)
    assert np.allclose(daily[:, ::5], fives, rtol=1e-12)


def test_bursts_come_in_their_weeks_and_add_to_the_year():
    share = daily_share(BURSTS)
    assert share.sum() == pytest.approx(1.0)
    near = np.abs(np.arange(365) - SEED_FLUFF.middle_day) <= 2 * SEED_FLUFF.spread_days
    assert share[near].sum() > 0.9 * SEED_FLUFF.share
    wrapped = daily_share((Burst("new year", 0, 5.0, 1.0),))
    assert wrapped[360] == pytest.approx(wrapped[5], rel=1e-9)


def test_rain_settles_below_dry_growth():
    wet = growth_steps(FoulingGrowth(0.2, 0.9, wash=RainWash((12.0,) * 12, 0.01)))
    dry = growth_steps(FoulingGrowth(0.2, 0.9))
    washed, left = level_path(wet, 0.0, 0, 3650)[0], level_path(dry, 0.0, 0, 3650)[0]
    assert np.all(washed[1:] < left[1:])
    # growth of 0.2 a year against 144 days that each take 1 %: level near 0.2 / 1.44
    assert washed[-365:].mean() == pytest.approx(0.2 / 1.44, rel=0.02)


@given(
    rate=st.floats(0.0, 2.0),
    limit=st.floats(0.1, 0.9),
    start=st.floats(0.0, 0.9),
    law=st.sampled_from(["linear", "asymptotic"]),
)
@settings(derandomize=True, deadline=None, max_examples=40)
def test_level_stays_within_its_limit_and_faster_dirt_is_dirtier(rate, limit, start, law):
    path = level_path(growth_steps(FoulingGrowth(rate, limit, law, BURSTS), 5), start)[0]
    assert np.all((path >= 0.0) & (path <= max(limit, start) + 1e-12))
    faster = level_path(growth_steps(FoulingGrowth(2.0 * rate, limit, law, BURSTS), 5), min(start, limit))[0]
    slower = level_path(growth_steps(FoulingGrowth(rate, limit, law, BURSTS), 5), min(start, limit))[0]
    assert np.all(faster >= slower - 1e-12)


def test_samples_equal_single_runs():
    rate = np.array([0.05, 0.1, 0.4])
    together = level_path(growth_steps(FoulingGrowth(rate, bursts=BURSTS)), 0.1)
    for k in range(3):
        alone = level_path(growth_steps(FoulingGrowth(float(rate[k]), bursts=BURSTS)), 0.1)
        assert np.allclose(together[k], alone[0])


def test_coming_year_starts_today():
    year = coming_year(FoulingGrowth(0.365), 0.2, 100)
    assert year.shape == (1, 365)
    assert year[0, 100] == pytest.approx(0.2)
    assert year[0, 101] == pytest.approx(0.201)
    assert year[0, 99] == pytest.approx(0.2 + 0.364)


def test_default_rates_hold_the_published_span():
    """Ends from Fenaughty and Parker 2018 and Mehrabi and Yuill 2018, through Breuker and Braun 1998."""
    fast = published("loss of whole-system") / 100 * 0.56 / 0.179
    assert fast == pytest.approx(CONDENSER_RATE_HIGH)
    rates = rate_at_score("condenser", np.random.default_rng(3).standard_normal(20000))
    low, middle, high = np.quantile(rates, [0.05, 0.5, 0.95])
    assert low == pytest.approx(CONDENSER_RATE_LOW, rel=0.05)
    assert high == pytest.approx(CONDENSER_RATE_HIGH, rel=0.05)
    assert middle == pytest.approx(float(default_growth("condenser").rate), rel=0.03)
    # the deemed saving of a condenser cleaning (New Jersey TRM) is reached in about four years
    saving = published("deemed saving of condenser cleaning") / 100
    years = saving * 0.56 / 0.179 / middle
    assert years == pytest.approx(4.0, abs=0.3)


def test_evaporator_doubles_its_pressure_drop_in_the_published_time():
    """Siegel, Walker and Sherman 2002: 7.5 years."""
    growth = default_growth("evaporator")
    years = published("time for evaporator air pressure drop to double")
    assert linear_level(years, growth.rate) == pytest.approx(1.0)
    rates = rate_at_score("evaporator", np.random.default_rng(3).standard_normal(20000))
    assert np.median(rates) == pytest.approx(1.0 / years, rel=0.02)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: FoulingGrowth(-0.1), "rate must be 0 or more a year, got -0.1"),
        (lambda: FoulingGrowth(0.1, limit=0.0), "limit must be above 0, got 0"),
        (lambda: FoulingGrowth(0.1, law="cubic"), "law must be 'linear' or 'asymptotic'"),
        (lambda: FoulingGrowth(0.1, bursts=(Burst("a", 1, 1.0, 0.7), Burst("b", 2, 1.0, 0.7))), "got 1.4"),
        (lambda: Burst("a", 365, 1.0, 0.5), "middle_day must lie in 0..364, got 365"),
        (lambda: Burst("a", 1, 0.0, 0.5), "spread_days must be above 0 d"),
        (lambda: Burst("a", 1, 1.0, 0.0), r"share must lie in \(0, 1\]"),
        (lambda: RainWash((1.0,) * 11, 0.1), "wet_days must be 12 numbers"),
        (lambda: RainWash((1.0,) * 12, 1.0), r"removed must lie in \[0, 1\)"),
        (lambda: growth_steps(FoulingGrowth(0.1), 7), "days_per_step must divide 365, got 7"),
        (lambda: coming_year(FoulingGrowth(0.1), 0.0, 365), "today must lie in 0..364"),
        (lambda: default_growth("radiator"), "coil must be 'condenser' or 'evaporator'"),
        (lambda: rate_at_score("radiator", 0.0), "coil must be"),
    ],
)
def test_growth_that_cannot_be_is_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
