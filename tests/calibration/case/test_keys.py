"""The table of keys holds together: units, ranges, examples and the names used elsewhere."""

import dataclasses

import pytest

from calibration.case import records
from calibration.case.keys import SECTIONS, find_key, keys_of
from calibration.case.meters import METER_OF_READING, Instruments
from calibration.case.units import SYSTEMS
from calibration.measured.performance import NEEDS
from model.cycle.faults import Faults

ALL = [key for section in SECTIONS for key in keys_of(section).values()]


@pytest.mark.parametrize("key", [k for k in ALL if k.limits], ids=lambda k: f"{k.section}.{k.name}")
def test_example_is_typical_and_typical_is_possible(key):
    assert key.limits[0] <= key.typical[0] < key.typical[1] <= key.limits[1]
    assert key.typical[0] <= key.example <= key.typical[1]


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_number_has_a_label_and_an_example_in_both_systems(system):
    for key in ALL:
        if key.form == "number" and key.section != "result":
            assert key.words in key.label(system)
            assert float(key.example_in(system)) == pytest.approx(
                key.quantity.from_si(key.example, system),
                abs=0.51 * 10 ** -key.quantity.scale(system).decimals,
            )


def test_units_stand_in_the_label():
    assert find_key("suction_pressure").label("US") == "Suction pressure [psi]"
    assert find_key("suction_pressure").label("SI") == "Suction pressure [kPa]"
    assert find_key("compressor_speed").label("US") == "Compressor speed, share of full"


@pytest.mark.parametrize(
    ("section", "record"),
    [
        ("unit", records.UnitDescription),
        ("capacity_table", records.CapacityRow),
        ("visit", records.Visit),
        ("season", records.Season),
        ("tariff", records.TariffEntry),
        ("period", records.TariffPeriod),
        ("bill", records.BillEntry),
        ("block", records.TariffBlock),
        ("cleaning", records.CleaningEntry),
        ("instruments", Instruments),
    ],
)
def test_sections_and_records_have_the_same_entries(section, record):
    inner = {"compressor_map", "capacity_table", "ambient_pressure", "tariff", "periods", "blocks", "bill"}
    fields = {field.name for field in dataclasses.fields(record)} - inner
    assert fields == set(keys_of(section)) - {"stated_as"}


def test_fault_columns_are_the_faults_of_the_model():
    assert set(keys_of("fault")) == {field.name for field in dataclasses.fields(Faults)}


def test_every_meter_and_figure_is_in_the_table():
    assert set(METER_OF_READING) <= set(keys_of("visit"))
    assert set(METER_OF_READING.values()) == set(keys_of("instruments")) - {"stated_as"}
    assert all(find_key(name) for name in NEEDS)


def test_lookup_by_name():
    assert find_key("outdoor_fan_power").section == "visit"
    assert find_key("outdoor_fan_power", "unit").section == "unit"
    assert find_key("no_such_key") is None
    assert find_key("superheat", "visit") is None
    assert keys_of("no such section") == {}
