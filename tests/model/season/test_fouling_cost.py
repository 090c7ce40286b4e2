"""The toll of fouling, sample by sample and to the cent."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model.maintenance.running_cost import running_cost
from model.season.fouling_cost import (
    daily_to_entries,
    extra_power_by_hour,
    season_outcomes,
)
from model.season.simulation import hourly_season
from model.season.tariff import Tariff, unmet_cooling_cents
from model.season.weather_year import bin_year
from tests.model.synthetic_unit import TARIFF, season_fouling_cost, synthetic_setting, synthetic_table

TABLE = synthetic_table()
SETTING = synthetic_setting()
GROWING = np.linspace(0.1, 0.4, 365)


def test_a_clean_unit_pays_no_toll():
    taken = season_fouling_cost(TABLE, SETTING, 0.0)
    for part in (taken.energy, taken.cents, taken.carbon, taken.run_hours, taken.trip_hours):
        assert np.all(part == 0)


@given(level=st.floats(0.0, 0.6), more=st.floats(0.05, 0.2))
@settings(derandomize=True, deadline=None, max_examples=15)
def test_months_add_up_to_the_cent_and_dirtier_pays_more(level, more):
    one, other = season_fouling_cost(TABLE, SETTING, level), season_fouling_cost(TABLE, SETTING, level + more)
    for taken in (one, other):
        months = [int(c) for c in taken.cents[0]]
        assert sum(months) == int(taken.year_cents[0])
        parts = taken.fouled.bill.energy_cents - taken.clean.bill.energy_cents
        parts = parts + taken.fouled.bill.demand_cents - taken.clean.bill.demand_cents
        assert np.array_equal(parts + taken.unmet_cents, taken.cents)
        assert taken.year_cents == (taken.fouled.month_cents - taken.clean.month_cents).sum()
    assert other.energy.sum() > one.energy.sum()
    assert other.year_cents >= one.year_cents


def tripping_table(lower: float):
    """The unit with a high-pressure limit that lies so many kelvin lower."""
    table = replace(TABLE, values=TABLE.values.copy())
    table.values[..., -1] -= lower
    return table


@pytest.mark.parametrize("tariff", [TARIFF, Tariff(0.17)], ids=["by hours and demand", "flat"])
@pytest.mark.parametrize("lower", [20.0, 24.0, 30.0])
def test_a_tripping_unit_never_shows_a_negative_cost(tariff, lower):
    """It draws nothing while it is off: unmet cooling has its price, or neglect would look like a saving."""
    setting = synthetic_setting(tariff, 9500.0)
    taken = season_fouling_cost(tripping_table(lower), setting, np.array([[0.1], [0.3], [0.5], [0.8]]))
    assert taken.trip_hours[-1].sum() > 2000.0
    assert taken.energy[-1].sum() < 0.0  # the electricity alone would be a saving
    assert np.all(taken.year_cents > 0)


def test_unmet_cooling_has_the_price_by_which_a_cleaning_is_timed():
    """By hand: a kilowatt-hour of cooling lost a month at five times 0.17 is 85 cents, three are 255."""
    lost = np.full(12, 3.6e6)
    assert unmet_cooling_cents(Tariff(0.17), lost).tolist() == [85] * 12
    assert unmet_cooling_cents(Tariff(0.17), 3.0 * lost).tolist() == [255] * 12
    setting = synthetic_setting(Tariff(0.17), 9500.0)
    table = tripping_table(24.0)
    year = season_outcomes(table, setting, float(table.level[-1]))
    cost = running_cost(table, setting).cost[0, :, -1].sum()
    assert year.unmet_cents.sum() > 100_000
    assert year.month_cents.sum() / 100 == pytest.approx(cost, abs=0.15)  # both in whole cents a month


def test_growing_fouling_lies_between_its_ends():
    growing = season_fouling_cost(TABLE, SETTING, GROWING).energy.sum()
    assert (
        season_fouling_cost(TABLE, SETTING, 0.1).energy.sum()
        < growing
        < season_fouling_cost(TABLE, SETTING, 0.4).energy.sum()
    )


def test_samples_equal_single_runs_across_chunks():
    samples = 19  # more than two chunks
    rng = np.random.default_rng(2)
    scale, level = rng.normal(1.0, 0.05, samples), rng.uniform(0.1, 0.5, (samples, 1)) * np.ones(365)
    table, done = synthetic_table(scale), []
    together = season_fouling_cost(table, SETTING, level, done.append)
    assert together.cents.shape == (samples, 12)
    assert done[-1] == pytest.approx(1.0)
    assert done == sorted(done)
    for k in (0, 8, 18):
        alone = season_fouling_cost(table.take([k]), SETTING, level[k])
        assert np.array_equal(alone.cents[0], together.cents[k])
        assert np.allclose(alone.energy[0], together.energy[k])
        assert alone.energy_share[0] == pytest.approx(together.energy_share[k])


def test_one_unit_with_many_levels_and_the_other_way_round():
    many_levels = season_outcomes(TABLE, SETTING, np.array([[0.1], [0.2], [0.3]]))
    assert many_levels.totals.energy.shape == (3, 12)
    many_units = season_outcomes(synthetic_table([0.9, 1.0]), SETTING, 0.2)
    assert many_units.bill.energy_cents.shape == (2, 12)
    with pytest.raises(ValueError, match="table has 2 samples, level 3: give one or as many"):
        season_outcomes(synthetic_table([0.9, 1.0]), SETTING, np.full((3, 1), 0.1))


def test_intervals_widen_with_what_is_not_known():
    rng = np.random.default_rng(4)
    level = rng.normal(0.3, 0.05, (60, 1)).clip(0.0)
    sure = season_fouling_cost(TABLE, SETTING, level)
    unsure = season_fouling_cost(TABLE, SETTING, (level - 0.3) * 2.0 + 0.3)
    ends = [np.quantile(t.year_cents, [0.05, 0.95]) for t in (sure, unsure)]
    assert np.ptp(ends[1]) > 1.5 * np.ptp(ends[0])
    assert ends[0][0] < season_fouling_cost(TABLE, SETTING, 0.3).year_cents[0] < ends[0][1]


def test_map_of_extra_power_adds_up_to_the_extra_energy():
    clean = hourly_season(TABLE, SETTING.year, SETTING.load, 0.0)
    fouled = hourly_season(TABLE, SETTING.year, SETTING.load, daily_to_entries(SETTING.year, GROWING))
    extra = extra_power_by_hour(clean, fouled)
    assert extra.shape == (365, 24)
    assert extra.sum() * 3600.0 == pytest.approx(season_fouling_cost(TABLE, SETTING, GROWING).energy.sum())


def test_bins_have_no_map_but_a_toll():
    from model.season.load import ahri_load

    year = bin_year(1200.0)
    flat = replace(TARIFF, energy_rates=())
    setting = replace(SETTING, year=year, load=ahri_load(year.temperature, 8000.0), tariff=flat)
    assert season_fouling_cost(TABLE, setting, 0.3).year_cents[0] > 0
    hourly = hourly_season(TABLE, year, setting.load, 0.0)
    with pytest.raises(ValueError, match="needs an hourly year, got 1224 entries"):
        extra_power_by_hour(hourly, hourly)


def test_level_by_the_wrong_number_of_days_is_refused():
    with pytest.raises(ValueError, match="level must have 1 or 365 days"):
        daily_to_entries(SETTING.year, np.zeros(12))
