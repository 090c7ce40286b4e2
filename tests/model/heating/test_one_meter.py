"""Blocks, demand and own generation of both seasons on one meter, by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from model.heating.one_meter import on_one_meter
from model.heating.winter import HeatingRules, HeatingTable, winter_by_level
from model.season.fouling_cost import Setting
from model.season.load import line_load
from model.season.metered_draw import share_seen
from model.season.own_generation import surplus_power
from model.season.performance_table import Performance, build_table
from model.season.tariff import Block, DemandRate, Tariff
from model.season.weather_year import HOURS_PER_YEAR, hourly_year
from model.season.year_by_level import outcome_at, year_by_level

KWH = 3.6e6
WARM, COLD, NO_LOAD = 300.0, 276.0, 291.0
CAPACITY, LOAD = 10e3, 5e3
LEVEL = np.linspace(0.0, 0.8, 5)
"""Every hour of odd days is warm with a cooling load of 5 kW, of even days cold with as much of heat."""
DAYS = np.arange(HOURS_PER_YEAR) // 24
YEAR = hourly_year(np.where(DAYS % 2 == 1, WARM, COLD), 0.002)
RULES = HeatingRules(no_load=NO_LOAD, design_outdoor=COLD, design_load=LOAD, cycling=0.0)
HEATING_POWER, COOLING_POWER = 4000.0, 3000.0


def heating_power(level):
    """Power at work [W]: half of it at half load."""
    return HEATING_POWER * (1.0 + level)


def cooling_power(level):
    return COOLING_POWER * (1.0 + 2.0 * level)


def heating_table():
    outdoor, humidity = np.linspace(245.0, 292.0, 5), np.linspace(0.3, 1.0, 3)
    shape = (1, LEVEL.size, 3, 5)
    power = np.broadcast_to(heating_power(LEVEL)[None, :, None, None], shape)
    return HeatingTable(outdoor, humidity, LEVEL, np.full(shape, CAPACITY), power)


def cooling_table():
    def point(outdoor, level, bulb):
        whole = np.broadcast_arrays(outdoor, level, bulb, np.zeros((1, 1, 1, 1)))[0].shape
        flat = np.full(whole, CAPACITY)
        power = np.broadcast_to(cooling_power(level), whole)
        return Performance(flat, 0.75 * flat, power, 0.0 * flat, 10.0 + 0.0 * flat, 100.0 + 0.0 * flat)

    return build_table(point, np.linspace(285.0, 320.0, 8), LEVEL, np.array([292.0]))


def seasons(tariff):
    """Cooling and heating of the year, the latter without and with the charges of whole months."""
    load = line_load(YEAR.temperature, 295.0, WARM, LOAD)
    running = replace(Setting(YEAR, load, tariff).running, cycling_coefficient=0.0)
    cooling = year_by_level(cooling_table(), Setting(YEAR, load, tariff, running))
    heating = winter_by_level(heating_table(), YEAR, RULES, tariff)
    return cooling, heating, on_one_meter(heating, cooling)


def both(tariff, level):
    """Money of both seasons by month."""
    cooling, _, winter = seasons(tariff)
    summer = outcome_at(cooling, [[level]]).bill.month_cents[0] / 100.0
    return summer + winter.year([[level]]).money[0]


def days(odd):
    """Odd or even days of each month."""
    first = np.flatnonzero(np.arange(HOURS_PER_YEAR) % 24 == 0)
    return np.bincount(YEAR.month[first[(DAYS[first] % 2 == 1) == odd]] - 1, minlength=12)


def used(level):
    """Electricity of each month [kWh]: half of the power at work, all day."""
    return 12e-3 * (days(True) * cooling_power(level) + days(False) * heating_power(level))


@pytest.mark.parametrize("level", [0.0, 0.4])
def test_blocks_are_filled_by_both_seasons(level):
    """0.15 a kWh, 0.10 more above 900 kWh of the meter, 500 of which something else uses."""
    tariff = Tariff(0.15, blocks=(Block(900.0, 0.10),), other_use=(500.0 * KWH,) * 12)
    kwh = used(level)
    assert np.all(500.0 + 12e-3 * days(True) * cooling_power(0.0) > 900.0)
    by_hand = 0.15 * kwh + 0.10 * (500.0 + kwh - 900.0)
    np.testing.assert_allclose(both(tariff, level), by_hand, atol=0.006)


def test_cooling_fills_the_lower_blocks_first():
    """A threshold that cooling alone does not reach is all the heating's."""
    tariff = Tariff(0.15, blocks=(Block(800.0, 0.10),))
    cooling, plain, winter = seasons(tariff)
    assert outcome_at(cooling, [[0.0]]).bill.year_cents[0] / 100.0 == pytest.approx(
        0.15 * 12e-3 * days(True).sum() * COOLING_POWER, abs=0.06
    )
    beyond = np.maximum(used(0.0) - 800.0, 0.0)
    added = winter.year([[0.0]]).money[0] - plain.year([[0.0]]).money[0]
    np.testing.assert_allclose(added, 0.10 * beyond, rtol=1e-9)
    assert np.all(beyond > 0.0)


@pytest.mark.parametrize("level", [0.0, 0.8])
def test_demand_is_that_of_the_dearer_season(level):
    """Mean power of an hour: half of 4 kW (1 + level) in heating, of 3 kW (1 + 2 level) in cooling."""
    tariff = Tariff(0.15, (), (DemandRate(12.0),))
    peak = 0.5e-3 * max(heating_power(level), cooling_power(level))
    np.testing.assert_allclose(both(tariff, level), 0.15 * used(level) + 12.0 * peak, atol=0.011)
    _, plain, winter = seasons(tariff)
    added = (winter.year([[level]]).money - plain.year([[level]]).money).sum()
    extra = 0.5e-3 * max(heating_power(level) - cooling_power(level), 0.0)
    assert float(added) == pytest.approx(12.0 * 12.0 * extra, abs=1e-9)


def test_a_quarter_hourly_meter_sees_the_heat_pump_at_work():
    tariff = Tariff(0.15, (), (DemandRate(12.0),), demand_minutes=15.0)
    seen = 1e-3 * HEATING_POWER * float(share_seen(0.5, 15.0))
    np.testing.assert_allclose(both(tariff, 0.0), 0.15 * used(0.0) + 12.0 * seen, atol=0.011)


def test_own_generation_is_worth_its_export_price_in_winter_too():
    generation = (900.0 * KWH,) * 12
    tariff = Tariff(0.30, generation=generation, export_price=0.05)
    power = np.where(DAYS % 2 == 1, 0.5 * COOLING_POWER, 0.5 * HEATING_POWER) / 1e3
    exported = np.minimum(power, surplus_power(generation, (), YEAR) / 1e3)
    by_hand = np.bincount(YEAR.month - 1, 0.30 * (power - exported) + 0.05 * exported)
    np.testing.assert_allclose(both(tariff, 0.0), by_hand, atol=0.006)


def test_electric_backup_is_on_the_meter_and_gas_is_not():
    """Half of the capacity: what is short is drawn as it is."""
    tariff = Tariff(0.15, (), (DemandRate(12.0),))
    small = replace(heating_table(), capacity=np.full((1, LEVEL.size, 3, 5), 3000.0))
    electric = winter_by_level(small, YEAR, RULES, tariff)
    assert electric.demand[0, 0, 0, 0] == pytest.approx(HEATING_POWER + 2000.0)
    gas = winter_by_level(small, YEAR, replace(RULES, backup_price=0.06), tariff)
    assert gas.demand[0, 0, 0, 0] == pytest.approx(HEATING_POWER)
    assert gas.metered.sum() == pytest.approx(gas.amounts.electricity.sum())


def test_a_flat_tariff_leaves_the_winter_as_it_is():
    _, plain, winter = seasons(Tariff(0.15))
    assert winter is plain
