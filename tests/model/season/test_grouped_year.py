"""Hours of a year in groups: nothing is lost, and what is alike is together."""

from dataclasses import replace

import numpy as np
import pytest

from model.season.grouped_year import LOAD_STEP, TEMPERATURE_STEP, grouped_year
from model.season.tariff import carbon_by_entry, energy_price
from tests.model.synthetic_unit import synthetic_setting

SETTING = synthetic_setting()
GROUPED = grouped_year(SETTING, 5)


def test_hours_prices_and_carbon_are_all_counted():
    year, counted = SETTING.year, GROUPED.counted
    assert counted.hours.sum() == pytest.approx(8760.0)
    assert counted.price.sum() == pytest.approx(energy_price(SETTING.tariff, year).sum())
    assert counted.carbon.sum() == pytest.approx(carbon_by_entry(SETTING.tariff, year).sum())
    assert counted.hours.sum(axis=0) == pytest.approx(np.bincount(GROUPED.stretch))


def test_load_and_temperature_keep_their_sums():
    counted, hours = GROUPED.counted, GROUPED.counted.hours.sum(axis=1)
    assert counted.load.total @ hours == pytest.approx(SETTING.load.total.sum())
    assert counted.year.temperature @ hours == pytest.approx(SETTING.year.temperature.sum())


def test_a_group_is_of_one_temperature_and_load():
    cooled = SETTING.load.total > 0.0
    group = GROUPED.group[cooled]
    for values, step in (
        (SETTING.year.temperature[cooled], TEMPERATURE_STEP),
        (SETTING.load.total[cooled], LOAD_STEP * SETTING.load.total.max()),
    ):
        order = np.argsort(group, kind="stable")
        starts = np.unique(group[order], return_index=True)[1]
        width = np.maximum.reduceat(values[order], starts) - np.minimum.reduceat(values[order], starts)
        assert width.max() <= step * (1.0 + 1e-9)


def test_groups_are_far_fewer_than_hours():
    assert GROUPED.counted.hours.shape[0] < 600
    assert GROUPED.step.size == 82  # 73 steps, nine of which lie in two months


def test_an_indoor_wet_bulb_by_hour_parts_groups():
    bulb = np.where(np.arange(8760) % 2 == 0, 290.0, 294.0)
    parted = grouped_year(replace(SETTING, wet_bulb=bulb), 5)
    assert parted.counted.hours.shape[0] > 1.5 * GROUPED.counted.hours.shape[0]
    assert set(np.round(parted.counted.wet_bulb, 6)) == {290.0, 294.0}
