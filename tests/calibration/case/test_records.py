"""The records of a case."""

import dataclasses
from math import sqrt

import pytest

from calibration.case.records import (
    USUAL_CURRENCY,
    Case,
    Season,
    TariffEntry,
    TariffPeriod,
    UnitDescription,
    Visit,
    electrical_power,
)

UNIT = UnitDescription("u", "R410A", "TXV", 10e3)


def visit(label="v", coil="clean", **readings):
    return Visit(label, coil, 305.0, 299.0, **readings)


def test_watts_are_worked_out_from_volts_and_amperes():
    one = visit(outdoor_volts=240.0, outdoor_amps=10.0, outdoor_power_factor=0.9)
    assert one.outdoor_power == pytest.approx(2160.0)
    three = visit(outdoor_volts=400.0, outdoor_amps=10.0, outdoor_power_factor=0.9, outdoor_phases=3)
    assert three.outdoor_power == pytest.approx(sqrt(3) * 3600.0)
    assert visit(indoor_volts=240.0, indoor_amps=2.0).indoor_power is None


def test_watts_that_were_read_are_kept():
    assert visit(outdoor_power=2000.0, outdoor_volts=240.0, outdoor_amps=10.0).outdoor_power == 2000.0
    assert electrical_power(visit(outdoor_power=2000.0), "outdoor") is None


def test_readings_are_numbers_that_were_taken():
    readings = visit(suction_pressure=1e6, settled_minutes=20.0, outdoor_phases=1, notes="n").readings()
    assert readings == {"outdoor_db": 305.0, "return_db": 299.0, "suction_pressure": 1e6}


def test_visits_by_coil_and_label():
    case = Case("US", UNIT, (visit("a"), visit("b", "as found"), visit("c")))
    assert [v.label for v in case.clean_visits] == ["a", "c"]
    assert [v.label for v in case.found_visits] == ["b"]
    assert case.visit("b").coil == "as found"
    with pytest.raises(KeyError, match="no visit 'x'; visits: a, b, c"):
        case.visit("x")


def test_ambient_pressure_falls_with_altitude():
    # US Bureau of Reclamation, Design Guide for HVAC Systems, Table 6a: density 0.832 of sea level at 5000 ft
    high = dataclasses.replace(UNIT, altitude=5000 * 0.3048)
    assert UNIT.ambient_pressure == 101325.0
    assert high.ambient_pressure / 101325.0 == pytest.approx(0.832, abs=0.004)


@pytest.mark.parametrize(
    ("hours", "expected"),
    [
        ((14, 20), (14, 15, 16, 17, 18, 19)),
        ((22, 2), (0, 1, 22, 23)),
        (None, tuple(range(24))),
        ((5, 5), tuple(range(24))),
        ((0, 24), tuple(range(24))),
    ],
)
def test_hours_of_a_tariff_period(hours, expected):
    assert TariffPeriod(0.3, hours=hours).hours_of_day == expected


def test_the_currency_is_that_of_the_tariff_or_the_usual_one():
    priced = Season(tariff=TariffEntry(0.2, currency="EUR"))
    assert Case("US", UNIT, season=priced).currency == "EUR"
    assert Case("US", UNIT, season=Season()).currency == Case("US", UNIT).currency == USUAL_CURRENCY
