"""A bill that the model made gives its load back, and its errors widen the range by as much as they must."""

import datetime as dt
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from calibration.case.records import BillEntry
from calibration.costs.billed_load import MONTH_SPREAD, YEAR_SPREAD, billed_load, with_billed_load
from calibration.costs.fouled_unit import fouled_unit
from calibration.costs.season_case import season_case
from calibration.costs.season_cost import cost_estimates, season_of_unit
from model.season.simulation import hourly_season
from model.season.weather_year import MONTH_OF_DAY
from tests.calibration.demo_in_bins import HOURLY, baseline

DRAWS = 32
SUMMER = (6, 7, 8)


@cache
def made():
    """Inputs and unit of the demo in its typical year."""
    inputs = season_case(HOURLY)
    return inputs, fouled_unit(HOURLY, baseline(), inputs, draws=DRAWS)


def bill_of(load_factor, level, days, warmer=0.0):
    """Electricity that the most likely unit uses on some days of the year, simulated hour by hour [J]."""
    inputs, unit = made()
    setting = inputs.setting
    load = setting.load
    gain = load.gain_coefficient
    total = np.maximum(load.total + np.where(load.total > 0.0, gain * warmer, 0.0), 0.0) * load_factor
    larger = replace(load, sensible=0.75 * total, latent=0.25 * total)
    found = hourly_season(unit.table, setting.year, larger, level, None, setting.running, warmer)
    return float(found.power[0] @ days[setting.year.day] * 3600.0)


def assumed(design_load):
    """The demo with another design load in its case, and the bill's unit."""
    return season_case(replace(HOURLY, season=replace(HOURLY.season, design_load=design_load)))


@pytest.mark.parametrize("true_factor", [0.6, 1.3])
def test_a_bill_made_by_the_model_gives_its_load_back(true_factor):
    inputs, unit = made()
    days = np.isin(MONTH_OF_DAY, SUMMER).astype(float)
    bill = BillEntry(kwh=bill_of(true_factor, unit.level, days), months=SUMMER)
    found = billed_load(HOURLY, bill, inputs, unit)
    assert found.factor == pytest.approx(true_factor, rel=0.01)
    # It does not matter what load was assumed before.
    wrong = assumed(2.0 * HOURLY.season.design_load)
    assert 2.0 * billed_load(HOURLY, bill, wrong, unit).factor == pytest.approx(true_factor, rel=0.01)


def test_a_bill_of_days_is_of_the_fouling_of_those_days():
    """Three weeks from two weeks after the cleaning, when little had grown; a week is not a whole step."""
    inputs, unit = made()
    first, last = dt.date(2026, 6, 3), dt.date(2026, 6, 23)
    days = np.zeros(365)
    days[153:174] = 1.0
    level = 0.1
    young = replace(unit, growth=replace(unit.growth, rate=level / (25.0 / 365.0), bursts=()))
    bill = BillEntry(kwh=bill_of(0.9, level, days), first_day=first, last_day=last)
    assert billed_load(HOURLY, bill, inputs, young).factor == pytest.approx(0.9, rel=0.02)


def test_a_mean_temperature_takes_the_weather_out():
    """A July 2 K warmer than usual: the bill that says so gives the load back, the one that does not errs."""
    inputs, unit = made()
    days = (MONTH_OF_DAY == 7).astype(float)
    energy = bill_of(1.0, unit.level, days, warmer=2.0)
    usual = float(np.average(inputs.setting.year.temperature, weights=days[inputs.setting.year.day]))
    known = billed_load(HOURLY, BillEntry(energy, months=(7,), mean_outdoor=usual + 2.0), inputs, unit)
    unknown = billed_load(HOURLY, BillEntry(energy, months=(7,)), inputs, unit)
    assert known.factor == pytest.approx(1.0, rel=0.02)
    assert unknown.factor > 1.1
    assert np.std(np.log(known.drawn)) < 0.7 * np.std(np.log(unknown.drawn))


def test_draws_are_as_wide_as_weather_and_years_make_them():
    """By hand: July is about 8 K above the balance temperature, 1.4 K of it unknown; 5 % from year to year.
    The unit's own efficiency adds a little, with the other sign.
    """
    inputs, unit = made()
    days = (MONTH_OF_DAY == 7).astype(float)
    bill = BillEntry(kwh=bill_of(1.0, unit.level, days), months=(7,))
    drawn = billed_load(HOURLY, bill, inputs, unit).drawn
    air = inputs.setting.year.temperature[(inputs.setting.year.month == 7)]
    above = float(np.maximum(air - HOURLY.season.balance_temperature, 0.0).mean())
    expected = np.hypot(1.2 * MONTH_SPREAD / above, YEAR_SPREAD)  # warmer air also costs efficiency
    assert np.std(np.log(drawn)) == pytest.approx(expected, rel=0.25)


def test_a_bill_narrows_the_cost_of_an_assumed_load():
    """Without a design load the load is known to a quarter; a summer's bill with its weather much better."""
    case = replace(HOURLY, season=replace(HOURLY.season, design_load=None))
    inputs = season_case(case)
    unit = fouled_unit(case, baseline(), inputs, draws=DRAWS)
    days = np.isin(MONTH_OF_DAY, SUMMER).astype(float)
    year = inputs.setting.year
    mean = float(np.average(year.temperature, weights=days[year.day]))
    bill = BillEntry(kwh=bill_of(1.0, unit.level, days), months=SUMMER, mean_outdoor=mean)
    billed = replace(case, season=replace(case.season, bill=bill))
    spread = []
    for season, drawn in ((inputs, unit), with_billed_load(billed, inputs, unit)):
        energy = season_of_unit(season, drawn).today_drawn.clean.totals.energy.sum(axis=1)
        spread.append(np.std(np.log(energy)))
    assert spread[1] < 0.7 * spread[0]
    found, _ = with_billed_load(billed, inputs, unit)
    assert not any("design load" in one for one in found.assumptions)
    assert any("nothing else" in one for one in found.assumptions)


def test_what_is_not_the_units_own_is_taken_off():
    inputs, unit = made()
    days = (MONTH_OF_DAY == 7).astype(float)
    energy = bill_of(1.0, unit.level, days)
    bill = BillEntry(kwh=energy + 1.8e9, other_kwh=1.8e9, months=(7,))
    found = billed_load(HOURLY, bill, inputs, unit)
    assert found.factor == pytest.approx(1.0, rel=0.01)
    most = BillEntry(kwh=energy + 1.8e10, other_kwh=1.8e10, months=(7,))
    assert np.std(billed_load(HOURLY, most, inputs, unit).drawn) > 1.5 * np.std(found.drawn)
    half = replace(HOURLY, share=0.5)
    assert billed_load(half, bill, inputs, unit).factor < 0.6


def test_no_bill_changes_nothing_and_an_impossible_one_is_refused():
    inputs, unit = made()
    assert with_billed_load(HOURLY, inputs, unit) == (inputs, unit)
    with pytest.raises(ValueError, match=r"season.bill.kwh less other_kwh is 90000 kWh; the unit can only"):
        billed_load(HOURLY, BillEntry(kwh=90_000 * 3.6e6, months=(7,)), inputs, unit)


def test_cost_of_fouling_follows_the_bill():
    """Half the electricity is about half the cost of fouling."""
    inputs, unit = made()
    days = np.isin(MONTH_OF_DAY, SUMMER).astype(float)
    energy = bill_of(0.5, unit.level, days)
    case = replace(HOURLY, season=replace(HOURLY.season, bill=BillEntry(energy, months=SUMMER)))
    whole = season_of_unit(inputs, unit)
    half = season_of_unit(*with_billed_load(case, inputs, unit))
    assert half.today.energy.sum() == pytest.approx(0.5 * whole.today.energy.sum(), rel=0.1)
    money = cost_estimates(half.today_drawn)["money"]
    assert money.low < half.today.year_cents[0] / 100 < money.high
