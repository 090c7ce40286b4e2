"""What a household generates itself, and what the unit's electricity is worth then, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from model.season.fouling_cost import season_outcomes
from model.season.own_generation import day_course, surplus_power
from model.season.tariff import Tariff, bill
from model.season.weather_year import bin_year, hourly_year
from model.season.year_by_level import outcome_at, year_by_level
from tests.model.synthetic_unit import synthetic_setting, synthetic_table

KWH = 3.6e6
YEAR = hourly_year(np.full(8760, 295.0))
GENERATION = tuple(KWH * kwh for kwh in (250, 300, 450, 550, 650, 700, 700, 620, 500, 380, 260, 220))
OTHER = (KWH * 400.0,) * 12


def test_a_month_comes_to_what_is_generated():
    power = surplus_power(GENERATION, (), YEAR)
    months = np.bincount(YEAR.month - 1, power) * 3600.0
    np.testing.assert_allclose(months, GENERATION, rtol=1e-12)


def test_the_sun_stands_highest_at_noon_and_is_up_longest_in_june():
    course = day_course()
    np.testing.assert_allclose(course.sum(axis=1), 1.0)
    assert np.all(np.isin(course.argmax(axis=1), (11, 12)))
    assert np.all(course[:, [0, 1, 2, 22, 23]] == 0.0)
    up = (course > 0.0).sum(axis=1)
    assert up[5] == up.max() > up[11] == up.min()


def test_an_hour_by_hand():
    """In June of 700 kWh, 30 days: the hour from noon is its share of 23.3 kWh, less 400 kWh / 720 h."""
    power = surplus_power(GENERATION, OTHER, YEAR)
    noon = np.flatnonzero((YEAR.month == 6) & (YEAR.hour == 12))
    by_hand = 700e3 / 30.0 * day_course()[5, 12] - 400e3 / (30.0 * 24.0)
    np.testing.assert_allclose(power[noon], by_hand, rtol=1e-12)
    assert np.all(power[(YEAR.hour < 3)] == 0.0)


def test_a_bill_by_hand():
    """Below the surplus a kilowatt-hour is worth the export price, beyond it what it costs to buy."""
    tariff = Tariff(0.30, generation=GENERATION, other_use=OTHER, export_price=0.08)
    power = np.full(8760, 1500.0)
    exported = np.minimum(power, surplus_power(GENERATION, OTHER, YEAR))
    money = 0.30 * (power - exported) / 1e3 + 0.08 * exported / 1e3
    by_month = np.bincount(YEAR.month - 1, money)
    np.testing.assert_allclose(bill(tariff, YEAR, power).energy_cents, 100.0 * by_month, atol=0.51)
    plain = bill(Tariff(0.30), YEAR, power)
    assert 0.5 * plain.year_cents < bill(tariff, YEAR, power).year_cents < 0.95 * plain.year_cents


def test_without_more_than_the_house_uses_nothing_is_exported():
    little = tuple(0.05 * one for one in GENERATION)
    tariff = Tariff(0.30, generation=little, other_use=OTHER, export_price=0.08)
    power = np.full(8760, 1500.0)
    assert bill(tariff, YEAR, power).year_cents == bill(Tariff(0.30), YEAR, power).year_cents


@pytest.mark.parametrize("design_load", [7800.0, 14000.0])
def test_a_year_at_every_level_is_that_of_the_hours(design_load):
    """Also of a unit that makes up for what it owes in the evening, when nothing is generated."""
    tariff = Tariff(0.30, generation=GENERATION, other_use=OTHER, export_price=0.08)
    setting = synthetic_setting(tariff, design_load)
    exact = season_outcomes(synthetic_table(), setting, 0.4).bill.energy_cents[0]
    found = outcome_at(year_by_level(synthetic_table(), setting), [[0.4]]).bill.energy_cents[0]
    np.testing.assert_allclose(found, exact, rtol=2e-3, atol=5)
    plain = season_outcomes(synthetic_table(), synthetic_setting(Tariff(0.30), design_load), 0.4)
    assert exact.sum() < 0.9 * plain.bill.energy_cents[0].sum()


def test_what_cannot_be_is_refused():
    with pytest.raises(ValueError, match="generation needs an hourly weather file"):
        surplus_power(GENERATION, (), bin_year(1000.0))
    with pytest.raises(ValueError, match="generation must have 12 months, got 2"):
        Tariff(0.3, generation=(1.0, 2.0))
    with pytest.raises(ValueError, match="export_price must be 0 or more, got -1"):
        Tariff(0.3, export_price=-1.0)
    with pytest.raises(ValueError, match=r"demand_minutes must lie in \[5, 60\], got 1"):
        Tariff(0.3, demand_minutes=1.0)
