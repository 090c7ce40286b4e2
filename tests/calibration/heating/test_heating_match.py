"""Faults put into the fitted heat pump come out of its readings; what is not weighed is not claimed."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import pytest

from calibration.heating.heating_match import HEATING_FAULTS, NO_FAULT, find_in_heating
from model.cycle.faults import HEALTHY, Faults
from model.heating.boundary import HeatingConditions
from model.heating.solve import solve_heating
from model.properties import moist_air
from tests.calibration.heating.test_heating_fit import CASE, cooling, fitted

(VISIT,) = CASE.heating_visits


def as_read(faults):
    """The visit with the readings that the fitted unit shows with faults, without errors of meters."""
    humidity = moist_air.humidity_ratio_from_relative_humidity(
        VISIT.outdoor_db, VISIT.outdoor_rh, VISIT.ambient_pressure
    )
    air = HeatingConditions(
        VISIT.outdoor_db, humidity, VISIT.return_db, VISIT.ambient_pressure, indoor_power=VISIT.indoor_power
    )
    point = solve_heating(fitted().pump, air, faults)
    volume = moist_air.specific_volume(VISIT.return_db, 0.006, VISIT.ambient_pressure)
    names = ("suction_pressure", "liquid_pressure", "suction_temperature", "liquid_temperature",
             "discharge_temperature", "outdoor_power")  # fmt: skip
    return replace(
        VISIT,
        supply_db=float(point.supply_temperature),
        indoor_airflow=float(point.indoor_airflow * volume),
        **{name: float(getattr(point, name)) for name in names},
    )


@lru_cache
def found(faults):
    return find_in_heating(CASE, as_read(faults), cooling(), fitted())


def test_a_clean_unit_has_no_fault():
    one = found(HEALTHY)
    assert one.verdict == "no_fault"
    assert one.claimed == ""
    assert sum(one.probabilities.values()) == pytest.approx(1.0)
    assert one.misfit < 0.1
    for name, value in one.expected.items():
        assert one.measured[name] == pytest.approx(value, rel=2e-3)


@pytest.mark.parametrize(
    ("key", "faults", "level"),
    [
        ("condenser_blocked", Faults(condenser_blocked=0.68), 0.68),
        ("indoor_airflow_low", Faults(evaporator_airflow_lost=0.36), 0.36),
        ("undercharge", Faults(charge_change=-0.24), -0.24),
        ("overcharge", Faults(charge_change=0.16), 0.16),
    ],
)
def test_each_fault_is_named_with_its_level(key, faults, level):
    one = found(faults)
    assert one.verdict == "fault"
    assert one.claimed == one.likeliest == key
    assert one.level.low <= level <= one.level.high
    assert one.level.value == pytest.approx(level, abs=0.08)


def test_a_slight_fault_is_not_claimed():
    assert found(Faults(condenser_blocked=0.2)).claimed == ""


@pytest.mark.parametrize("faults", [Faults(compressor_leakage=0.4), Faults(liquid_restriction=2.5)])
def test_a_fault_that_is_not_weighed_is_not_called_no_fault(faults):
    assert found(faults).verdict in ("none_of_these", "inconclusive")


def test_one_wrong_reading_is_no_fault_of_the_unit():
    wrong = replace(as_read(HEALTHY), liquid_temperature=VISIT.liquid_temperature + 12.0)
    one = find_in_heating(CASE, wrong, cooling(), fitted())
    assert one.verdict != "fault"
    assert max(one.suspects, key=one.suspects.get) == "liquid_temperature"
    assert max(found(HEALTHY).suspects.values()) < 0.1


def test_few_readings_decide_little_and_none_is_refused():
    few = replace(
        as_read(Faults(condenser_blocked=0.68)), **dict.fromkeys(
            ("liquid_pressure", "suction_temperature", "liquid_temperature", "discharge_temperature",
             "outdoor_power", "supply_db", "indoor_airflow"))
    )  # fmt: skip
    assert set(find_in_heating(CASE, few, cooling(), fitted()).expected) == {"suction_pressure"}
    with pytest.raises(ValueError, match="no reading that the heating cycle could explain"):
        find_in_heating(CASE, replace(few, suction_pressure=None), cooling(), fitted())


def test_odds_beforehand_leave_most_to_no_fault():
    assert sum(HEATING_FAULTS.values()) < 0.55
    assert NO_FAULT not in HEATING_FAULTS
