"""Which nameplates are the same: whatever units somebody typed, and whatever else is known of the unit."""

from dataclasses import replace

import pytest

from calibration.case.records import UnitDescription
from calibration.fleet.nameplates import KIND, SIZING, nameplate_of

PLATE = UnitDescription("Roof 1", "R410A", "TXV", 36_000.0 * 0.293071, rated_eer=12.0 * 0.293071)


@pytest.mark.parametrize(
    "changes",
    [
        {"name": "Roof 2", "site": "Library", "exposure": "road"},
        {"rated_capacity": 3.0 * 3516.85, "rated_eer": 3.52},
        {"charge": 3.2, "altitude": 1200.0, "high_pressure_limit": 4.2e6},
    ],
)
def test_the_same_model_typed_otherwise_is_the_same(changes):
    assert nameplate_of(replace(PLATE, **changes)) == nameplate_of(PLATE)


@pytest.mark.parametrize(
    "changes",
    [
        {"rated_capacity": 42_000.0 * 0.293071},
        {"rated_eer": None},
        {"refrigerant": "R454B"},
        {"expansion": "fixed orifice"},
        {"rated_indoor_airflow": 0.5},
        {"outdoor_fan_power": 200.0},
        {"stages": (0.7, 1.0)},
        {"heat_pump": True},
    ],
)
def test_another_model_is_another_nameplate(changes):
    assert nameplate_of(replace(PLATE, **changes)) != nameplate_of(PLATE)


def test_the_entries_are_those_of_a_case():
    assert {*SIZING, *KIND} <= set(vars(PLATE))
