"""Every reading beside what clean unit and faults would show."""

import numpy as np
import pytest

from calibration.case.records import Case, UnitDescription, Visit
from calibration.clean_fit.baseline import fit_baseline
from calibration.clean_fit.observation import conditions
from calibration.clean_fit.prediction import predicted
from calibration.diagnosis.finding import find
from model.properties.refrigerant import refrigerant
from tests.calibration.matched_visits import found


def rows_of(key, level):
    return {row.name: row for row in found(key, level).rows}


def test_every_reading_has_a_row_and_derived_figures_follow():
    rows = rows_of("undercharge", 0.5)
    finding = found("undercharge", 0.5)
    assert [row.derived for row in finding.rows] == sorted(row.derived for row in finding.rows)
    assert sum(not row.derived for row in finding.rows) == finding.readings
    derived = {"superheat", "subcooling", "approach", "evaporating_temperature", "air_drop"}
    assert derived <= set(rows)
    assert all(row.weight is None for row in finding.rows if row.derived)


def test_derived_figures_are_worked_out_from_the_readings():
    rows, visit = rows_of("undercharge", 0.5), found("undercharge", 0.5).visit
    fluid = refrigerant("R410A")
    dew = float(fluid.dew_temperature(visit.suction_pressure))
    assert rows["superheat"].measured == pytest.approx(visit.suction_temperature - dew)
    bubble = float(fluid.bubble_temperature(visit.liquid_pressure))
    assert rows["subcooling"].measured == pytest.approx(bubble - visit.liquid_temperature)
    assert rows["approach"].measured == pytest.approx(bubble - visit.outdoor_db)
    assert rows["approach"].clean_error == pytest.approx(rows["condensing_temperature"].clean_error, rel=1e-6)


def test_arrows_point_where_an_undercharge_moves_things():
    rows = rows_of("undercharge", 0.5)
    assert rows["subcooling"].arrow == "↓↓"
    assert rows["superheat"].arrow == "↑↑"
    assert rows["superheat"].first_arrow == "↑↑"
    assert rows["indoor_airflow"].arrow == "→"
    for row in rows.values():
        assert np.sign(row.standardised) == np.sign(row.measured - row.clean)


def test_the_first_fault_lies_nearer_than_clean_where_it_matters():
    rows = rows_of("undercharge", 0.5)
    for name in ("superheat", "subcooling"):
        row = rows[name]
        assert abs(row.first_standardised) < 1.5 < abs(row.standardised)
    # A valve makes up for most of what a low charge takes from the suction pressure.
    pressure = rows["suction_pressure"]
    assert abs(pressure.first_standardised) < abs(pressure.standardised)


def test_what_decides_is_weighed():
    finding = found("indoor_airflow_low", 0.5)
    rows = {row.name: row for row in finding.rows}
    assert rows["indoor_airflow"].arrow.startswith("↓")
    assert rows["indoor_airflow"].weight > 1.0
    assert rows["indoor_airflow"].first == pytest.approx(rows["indoor_airflow"].measured, rel=0.05)
    assert finding.rival != "indoor_airflow_low"
    fan = {row.name: row for row in found("condenser_fan_slow", 0.6).rows}
    assert max(fan, key=lambda name: fan[name].weight or 0.0) == "outdoor_fan_power"


def test_errors_are_those_of_the_unit_as_it_was_known():
    """By the nameplate alone: measured less clean over the meters' and the prediction's error together."""
    description = UnitDescription("Invented unit", "R410A", "fixed orifice", 10_550.0, rated_eer=3.22)
    visit = Visit(
        label="found", coil="as found", outdoor_db=308.15, return_db=298.15, return_wb=290.93,
        suction_pressure=984e3, liquid_pressure=3240e3, suction_temperature=286.5, liquid_temperature=317.6,
    )  # fmt: skip
    rows = {row.name: row for row in find(Case("SI", description, (visit,)), visit).rows}
    head = rows["liquid_pressure"]
    known = predicted(fit_baseline(description), conditions(visit.readings(), visit.ambient_pressure))
    assert head.clean == pytest.approx(float(known.point.liquid_pressure), rel=0.01)
    assert head.clean_error == pytest.approx(float(known.standard_errors["liquid_pressure"]), rel=0.2)
    assert head.arrow == rows["condensing_temperature"].arrow == "↑"
