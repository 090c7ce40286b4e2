"""Headers of tables: the reading, its unit, gauge or absolute."""

import numpy as np
import pytest

from calibration.case.units import PSI
from calibration.files.headers import column_of

AIR = 98_000.0


def in_si(header, number, system="US"):
    column = column_of(header)
    assert column is not None
    return column.key.name, float(column.to_si(np.array([number]), system, AIR)[0])


@pytest.mark.parametrize(
    ("header", "number", "name", "value"),
    [
        ("suction_pressure", 100.0, "suction_pressure", 100 * PSI + AIR),
        ("suction_pressure [psi]", 100.0, "suction_pressure", 100 * PSI + AIR),
        ("suction_pressure (psig)", 100.0, "suction_pressure", 100 * PSI + AIR),
        ("suction_pressure [psia]", 114.7, "suction_pressure", 114.7 * PSI),
        ("suction_pressure [kPa abs]", 900.0, "suction_pressure", 9e5),
        ("suction_pressure [kPa]", 800.0, "suction_pressure", 8e5 + AIR),
        ("suction_pressure [bar g]", 8.0, "suction_pressure", 8e5 + AIR),
        ("liquid_pressure [MPa]", 2.4, "liquid_pressure", 2.4e6 + AIR),
        ("Suction Pressure [PSI]", 100.0, "suction_pressure", 100 * PSI + AIR),
        ("barometer [hPa]", 980.0, "barometer", 98_000.0),
        ("outdoor_db", 95.0, "outdoor_db", 308.15),
        ("outdoor-db [°C]", 35.0, "outdoor_db", 308.15),
        ("outdoor_db [K]", 308.15, "outdoor_db", 308.15),
        ("indoor_airflow [m3/h]", 1800.0, "indoor_airflow", 0.5),
        ("indoor_airflow_standard [L/s]", 500.0, "indoor_airflow_standard", 0.5),
        ("outdoor_power [kW]", 2.9, "outdoor_power", 2900.0),
        ("return_rh [%]", 51.0, "return_rh", 0.51),
        ("return_rh [fraction]", 0.51, "return_rh", 0.51),
        ("compressor_speed", 0.7, "compressor_speed", 0.7),
        ("outdoor_amps [A]", 12.0, "outdoor_amps", 12.0),
        ("outdoor_phases", 3.0, "outdoor_phases", 3.0),
    ],
)
def test_headers(header, number, name, value):
    found_name, found = in_si(header, number)
    assert found_name == name
    assert found == pytest.approx(value)


def test_without_a_unit_the_system_of_the_case_counts():
    assert in_si("outdoor_db", 35.0, "SI")[1] == 308.15
    assert in_si("suction_pressure", 800.0, "SI")[1] == 8e5 + AIR
    assert in_si("suction_pressure [psi]", 100.0, "SI")[1] == pytest.approx(100 * PSI + AIR)


@pytest.mark.parametrize(
    "header", ["", "remarks", "superheat", "label", "date", "=cmd()", "a [b", "time [s]"]
)
def test_columns_that_are_no_reading(header):
    assert column_of(header) is None


def test_any_section_can_be_asked():
    assert column_of("condenser_blocked", "fault").key.name == "condenser_blocked"
    assert column_of("superheat", None).key.section == "result"


@pytest.mark.parametrize(
    ("header", "expected"),
    [
        ("suction_pressure [degF]", "psi or kPa or bar or MPa or Pa is expected"),
        ("outdoor_db [psi]", "degF or degC or K is expected"),
        ("outdoor_power [hp]", "W or kW is expected"),
        ("outdoor_db [psia]", "degF or degC or K is expected"),
    ],
)
def test_units_that_do_not_fit(header, expected):
    with pytest.raises(ValueError, match=expected):
        column_of(header)


def test_a_text_is_no_header():
    assert column_of("suction_pressure" + " " * 100) is not None
    assert column_of("suction_pressure" + " " * 100_000) is None
    assert column_of("a " * 100_000) is None
