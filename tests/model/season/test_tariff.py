"""Bills: windows, demand, escalation, and money that adds up to the cent."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model.season.tariff import (
    ALL_HOURS,
    Block,
    DemandRate,
    EnergyRate,
    Tariff,
    Window,
    bill,
    block_charge,
    carbon_by_entry,
    energy_price,
    holds,
)
from model.season.weather_year import bin_year, hourly_year

YEAR = hourly_year(np.full(8760, 290.0), first_weekday=3)
SUMMER_PEAK = Window((6, 7, 8, 9), (0, 1, 2, 3, 4), (14, 15, 16, 17, 18))
RNG = np.random.default_rng(5)
POWER = RNG.uniform(0.0, 3000.0, 8760)


def test_flat_price():
    found = bill(Tariff(0.15, carbon_intensity=0.5), YEAR, POWER)
    kilowatt_hours = POWER.sum() / 1e3
    assert found.year_cents == pytest.approx(kilowatt_hours * 15.0, abs=6.0)
    assert found.carbon.sum() == pytest.approx(0.5 * kilowatt_hours)
    assert np.all(found.demand_cents == 0)


def test_time_of_use_against_pandas():
    tariff = Tariff(0.12, (EnergyRate(0.34, SUMMER_PEAK), EnergyRate(0.08, Window(hours=tuple(range(6))))))
    frame = pd.DataFrame({"kwh": POWER / 1e3}, index=pd.date_range("2026-01-01", periods=8760, freq="h"))
    frame["price"] = 0.12
    night = frame.index.hour < 6
    peak = (
        frame.index.month.isin([6, 7, 8, 9])
        & (frame.index.day_of_week < 5)
        & frame.index.hour.isin(range(14, 19))
    )
    frame.loc[night, "price"], frame.loc[peak, "price"] = 0.08, 0.34
    monthly = (frame["kwh"] * frame["price"]).groupby(frame.index.month).sum()
    assert np.array_equal(bill(tariff, YEAR, POWER).energy_cents, (monthly * 100).round().astype(int))


def test_the_first_rate_that_holds_counts():
    everywhere = Tariff(0.1, (EnergyRate(0.2, SUMMER_PEAK), EnergyRate(0.3, Window())))
    price = energy_price(everywhere, YEAR)
    assert np.all(price[holds(SUMMER_PEAK, YEAR)] == 0.2)
    assert np.all(price[~holds(SUMMER_PEAK, YEAR)] == 0.3)


def test_demand_charge_against_pandas():
    tariff = Tariff(0.0, demand_rates=(DemandRate(12.0), DemandRate(5.0, SUMMER_PEAK, coincidence=0.5)))
    series = pd.Series(POWER / 1e3, index=pd.date_range("2026-01-01", periods=8760, freq="h"))
    peak = series.groupby(series.index.month).max()
    inside = series[holds(SUMMER_PEAK, YEAR)]
    summer = inside.groupby(inside.index.month).max().reindex(range(1, 13), fill_value=0.0)
    expected = (12.0 * peak + 0.5 * 5.0 * summer) * 100
    assert np.array_equal(bill(tariff, YEAR, POWER).demand_cents, expected.round().astype(int))


def test_prices_escalate():
    tariff = Tariff(0.15, demand_rates=(DemandRate(9.0),), escalation=0.03)
    now, later = bill(tariff, YEAR, POWER), bill(tariff, YEAR, POWER, years_ahead=10)
    assert later.year_cents / now.year_cents == pytest.approx(1.03**10, rel=1e-4)
    assert np.array_equal(now.carbon, later.carbon)


@given(
    price=st.floats(0.0, 2.0),
    peak=st.floats(0.0, 40.0),
    scale=st.floats(0.0, 5.0),
)
@settings(derandomize=True, deadline=None, max_examples=40)
def test_months_add_up_to_the_cent(price, peak, scale):
    found = bill(
        Tariff(price, (EnergyRate(2 * price, SUMMER_PEAK),), (DemandRate(peak),)), YEAR, POWER * scale
    )
    assert found.year_cents == sum(int(c) for c in found.energy_cents) + sum(
        int(c) for c in found.demand_cents
    )
    assert found.month_cents.dtype == np.int64
    assert found.month_cents.sum() == found.year_cents


def test_doubled_prices_double_the_bill():
    tariff = Tariff(0.15, (EnergyRate(0.3, SUMMER_PEAK),), (DemandRate(9.0),))
    once, twice = bill(tariff, YEAR, POWER), bill(tariff.scaled(2.0), YEAR, POWER)
    assert np.all(np.abs(twice.month_cents - 2 * once.month_cents) <= 2)


def test_samples_are_billed_each():
    both = bill(Tariff(0.15, demand_rates=(DemandRate(9.0),)), YEAR, np.stack([POWER, 0.5 * POWER]))
    assert np.array_equal(both.energy_cents[0], bill(Tariff(0.15), YEAR, POWER).energy_cents)
    assert both.year_cents.shape == (2,)


def test_bins_know_the_month_but_not_the_hour():
    year = bin_year(1000.0)
    by_month = Tariff(0.1, (EnergyRate(0.2, Window(months=(7, 8))),))
    assert set(energy_price(by_month, year)[np.isin(year.month, (7, 8))]) == {0.2}
    with pytest.raises(ValueError, match="a rate by hour needs an hourly weather file"):
        energy_price(Tariff(0.1, (EnergyRate(0.2, Window(hours=(17,))),)), year)
    with pytest.raises(ValueError, match="a rate by weekday needs an hourly weather file"):
        energy_price(Tariff(0.1, (EnergyRate(0.2, Window(weekdays=(5, 6))),)), year)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: Window(months=(0,)), r"months must be some of 1..12, got \(0,\)"),
        (lambda: Window(weekdays=()), "weekdays must be some of 0..6"),
        (lambda: Window(hours=(*ALL_HOURS, 24)), "hours must be some of 0..23"),
        (lambda: EnergyRate(-0.1, Window()), "price_per_kwh must be 0 or more, got -0.1"),
        (lambda: DemandRate(float("nan")), "price_per_kw must be 0 or more"),
        (lambda: DemandRate(1.0, coincidence=1.1), r"coincidence must lie in \[0, 1\], got 1.1"),
        (lambda: Tariff(0.1, escalation=-1.0), "escalation must be above -1"),
        (lambda: Tariff(0.1, carbon_intensity=-1.0), "carbon_intensity must be 0 or more"),
    ],
)
def test_tariffs_that_cannot_be_are_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()


def test_blocks_by_hand():
    """700 kWh of the unit beside 300 of the rest: 400 above 600 at 5 cents, none above 1,100.

    In a month where the rest alone fills the first block all of it is above.
    """
    other = [300.0] * 11 + [800.0]
    tariff = Tariff(
        0.1, blocks=(Block(600.0, 0.05), Block(1100.0, 0.08)), other_use=tuple(3.6e6 * np.array(other))
    )
    charge = block_charge(tariff, np.full((2, 12), 700.0 * 3.6e6))
    assert charge.shape == (2, 12)
    assert np.allclose(charge[:, :11], 0.05 * 400.0)
    assert np.allclose(charge[:, 11], 0.05 * 700.0 + 0.08 * 400.0)
    assert np.allclose(block_charge(tariff.scaled(2.0), np.full(12, 700.0 * 3.6e6)), 2.0 * charge[0])
    assert np.all(block_charge(Tariff(0.1), np.full(12, 1e9)) == 0.0)


def test_blocks_are_on_the_bill():
    year = hourly_year(np.full(8760, 300.0))
    plain, stepped = Tariff(0.1), Tariff(0.1, blocks=(Block(500.0, 0.1),))
    power = np.full(8760, 1000.0)  # 744 kWh in January
    more = bill(stepped, year, power).energy_cents - bill(plain, year, power).energy_cents
    assert more[0] == 2440
    assert more[1] == 1720


def test_carbon_by_the_hour_counts_when_it_is_used():
    """A sun that takes the grid to nothing at noon, and a unit that runs at noon only."""
    clean_noon = np.where(np.arange(8760) % 24 == 12, 0.0, 0.5)
    tariff = Tariff(0.1, carbon_by_hour=tuple(clean_noon.tolist()))
    year = hourly_year(np.full(8760, 300.0))
    noon = np.where(np.arange(8760) % 24 == 12, 1000.0, 0.0)
    assert bill(tariff, year, noon).carbon.sum() == 0.0
    assert bill(tariff, year, np.full(8760, 1000.0)).carbon.sum() == pytest.approx(0.5 * 8395.0)
    with pytest.raises(ValueError, match="temperature bins have no hours"):
        carbon_by_entry(tariff, bin_year(1000.0))


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"other_use": (1.0,) * 3}, "other_use must have 12 months, got 3"),
        ({"carbon_by_hour": (1.0,)}, "carbon_by_hour must have 8760, got 1"),
    ],
)
def test_months_and_hours_are_whole(given, words):
    with pytest.raises(ValueError, match=words):
        Tariff(0.1, **given)


def test_a_block_that_cannot_be_is_refused():
    with pytest.raises(ValueError, match="above_kwh must be 0 or more"):
        Block(-1.0, 0.1)
    with pytest.raises(ValueError, match="adds must be a number"):
        Block(1.0, float("nan"))
