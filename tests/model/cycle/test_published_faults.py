"""Faults on the solved cycle against published measurements and correlations (`tests/reference`).

Two units stand in for the published ones: the laboratory unit of NISTIR 7350 (R-410A, scroll, thermostatic
valve), fitted to its fault-free test 5 alone, and a generic R-22 unit of 10.55 kW with fixed orifice and
reciprocating compressor. Nothing here was fitted to a fault. Where the model and a publication part, the test
says by how much.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from model.components.condenser import air_side_conductance
from model.cycle.boundary import Conditions
from model.cycle.faults import Faults, at_level, fault_of
from model.cycle.sizing import nominal_unit, rating_conditions
from model.cycle.solve import OperatingPoint, solve
from model.properties import moist_air
from model.properties.moist_air import STANDARD_PRESSURE
from tests.model.laboratory_unit import (
    laboratory_conditions,
    laboratory_tests,
    laboratory_unit,
    predicted,
    readings,
    reference_rows,
)

ORIFICE_UNIT = nominal_unit("R22", 10_550.0, 2.8, expansion="fixed orifice", compressor="reciprocating")
LABORATORY_AIRFLOW = float(laboratory_conditions(laboratory_tests()[5]).indoor_airflow)
INDOOR_DEW_POINT = {26.7: 15.8, 21.1: 10.2}
"""Dew point of the two indoor settings of NISTIR 7350's wet tests, on which the charge correlation rests
[degC].
"""


def laboratory_weather(outdoor: float, indoor: float = 26.7, dew_point: float | None = None) -> Conditions:
    """Weather [degC] with the laboratory unit's airflow and blower power."""
    dew_point = INDOOR_DEW_POINT[indoor] if dew_point is None else dew_point
    humidity = moist_air.humidity_ratio_from_dew_point(dew_point + 273.15, STANDARD_PRESSURE)
    return Conditions(
        outdoor + 273.15, indoor + 273.15, humidity, STANDARD_PRESSURE, LABORATORY_AIRFLOW, 417.0
    )


def rating_weather(outdoor: float = 35.0) -> Conditions:
    """Return air of 26.7 / 19.4 degC (80 / 67 degF) with the laboratory unit's airflow."""
    humidity = moist_air.humidity_ratio_from_wet_bulb(299.82, 292.59, STANDARD_PRESSURE)
    return Conditions(outdoor + 273.15, 299.82, humidity, STANDARD_PRESSURE, LABORATORY_AIRFLOW, 417.0)


def change(unit, conditions: Conditions, faults: Faults, *names: str) -> list[np.ndarray]:
    """Change of quantities of the operating point by the faults [%]."""
    healthy, faulty = solve(unit, conditions), solve(unit, conditions, faults)
    assert np.all(faulty.residual < 1e-6)
    return [100.0 * (getattr(faulty, name) / getattr(healthy, name) - 1.0) for name in names]


def measured(source: str, fault: str, quantity: str, level: str | None = None) -> tuple[float, float]:
    """Printed range of one row of `coil_fouling_measurements.csv`."""
    for row in reference_rows("coil_fouling_measurements.csv"):
        if (
            row["source"].startswith(source)
            and row["fault"].startswith(fault)
            and row["quantity"] == quantity
            and (level is None or row["level"] == level)
        ):
            return float(row["low"]), float(row["high"])
    raise LookupError(f"{source}, {fault}, {quantity}, {level}")


# The stand-in unit


def test_laboratory_unit_reproduces_the_test_it_was_fitted_to():
    """NISTIR 7350, Appendix D, test 5: temperatures within 0.5 K (discharge 1 K), powers within 1 %."""
    row = laboratory_tests()[5]
    shown, seen = predicted(solve(laboratory_unit(), laboratory_conditions(row))), readings(row)
    for name in ("evaporating", "condensing", "superheat", "subcooling"):
        assert shown[name] == pytest.approx(seen[name], abs=0.5), name
    assert shown["discharge"] == pytest.approx(seen["discharge"], abs=1.0)
    for name in ("gross_capacity", "compressor_power"):
        assert shown[name] == pytest.approx(seen[name], rel=0.01), name


# Charge


def published_charge_change(quantity: str, deviation: float, indoor: float, outdoor: float) -> float:
    """Correlation of Domanski, Henderson, Payne 2014, NIST TN 1848 (Cho, Heo, Payne, Domanski 2014) [%]."""
    fault = "undercharge" if deviation < 0 else "overcharge"
    for row in reference_rows("charge_fault_correlation.csv"):
        if (row["fault"], row["quantity"]) == (fault, quantity):
            a1, a2, a3, a4 = (float(row[f"a{i}"]) for i in range(1, 5))
            return 100.0 * (a1 + a2 * indoor + a3 * outdoor + a4 * deviation) * deviation
    raise LookupError(fault)


CHARGE_WEATHER = [(26.7, 27.8), (26.7, 35.0), (21.1, 35.0)]
"""Indoor and outdoor temperatures at which the charge correlation is asked [degC]."""


def capacity_with_wrong_charge(deviation, indoor: float, outdoor: float):
    """Change of gross capacity with a charge deviation, of the model and as published [%]."""
    faults = Faults(charge_change=deviation)
    (capacity,) = change(laboratory_unit(), laboratory_weather(outdoor, indoor), faults, "gross_capacity")
    return capacity, published_charge_change("gross_capacity_ratio", deviation, indoor, outdoor)


def test_nine_points_of_low_charge():
    """NIST TN 1848: 10, 20 and 30 % low in three weathers, root mean square within 2 points; found 1.95."""
    pairs = [
        capacity_with_wrong_charge(d, *weather) for d in (-0.3, -0.2, -0.1) for weather in CHARGE_WEATHER
    ]
    off = [model - published for model, published in pairs]
    assert np.sqrt(np.mean(np.square(off))) < 2.0


@pytest.mark.parametrize(("indoor", "outdoor"), CHARGE_WEATHER)
@pytest.mark.parametrize("deviation", [-0.3, -0.2, -0.1])
def test_capacity_with_low_charge(deviation, indoor, outdoor):
    """NIST TN 1848: between half of each published loss and seven quarters of it.

    No accuracy is printed beside the coefficients, which average several units. At 26.7 degC indoors the
    model loses 59 to 104 % of what they say. At 21.1 degC their indoor term halves the loss, the model keeps
    more of it: 127 to 165 %.
    """
    capacity, published = capacity_with_wrong_charge(deviation, indoor, outdoor)
    assert 0.5 < capacity / published < 1.75


@pytest.mark.parametrize(("indoor", "outdoor"), CHARGE_WEATHER)
@pytest.mark.parametrize("deviation", [0.1, 0.2, 0.3])
def test_capacity_with_high_charge(deviation, indoor, outdoor):
    """NIST TN 1848: a gain, within 0.4 points of the published 1.2 to 2.8 % at 26.7 degC indoors.

    At 21.1 degC the model gains up to 0.9 points more than the 0.6 to 0.8 % of the correlation.
    """
    capacity, published = capacity_with_wrong_charge(deviation, indoor, outdoor)
    assert capacity > 0.0
    assert -0.4 < capacity - published < (0.45 if indoor > 25.0 else 1.0)


@pytest.mark.parametrize("outdoor", [27.8, 35.0])
@pytest.mark.parametrize("deviation", [-0.3, -0.2, -0.1, 0.1, 0.2, 0.3])
def test_power_with_wrong_charge(deviation, outdoor):
    """NIST TN 1848; whether its power has the blower in it is uncertain, so the whole unit's is compared.

    Of the same sign, and 1.3 to 2.1 times as much: 4.9 to 5.3 against 3.4 to 3.5 % at +20 %, 9 to 10
    against 6 % at +30 %. An overcharged condenser fills faster in the model.
    """
    faults = Faults(charge_change=deviation)
    (power,) = change(laboratory_unit(), laboratory_weather(outdoor), faults, "total_power")
    published = published_charge_change("power_ratio", deviation, 26.7, outdoor)
    assert 1.2 < power / published < 2.2


ORIFICE_UNITS = {
    name: nominal_unit(name, 10_550.0, 3.2, expansion="fixed orifice") for name in ("R410A", "R22")
}


def reported_charge_effect(expansion: str, deviation: float, quantity: str) -> tuple[float, float]:
    """Reported range of one row of `charge_effects_reported.csv` [%]."""
    for row in reference_rows("charge_effects_reported.csv"):
        if (row["expansion"], row["quantity"]) == (expansion, quantity) and float(
            row["charge_change_pct"]
        ) == 100.0 * deviation:
            return float(row["low_pct"]), float(row["high_pct"])
    raise LookupError(expansion, deviation, quantity)


@pytest.mark.parametrize("outdoor", [27.8, 35.0])
@pytest.mark.parametrize("name", ORIFICE_UNITS)
def test_reported_charge_effects_on_an_orifice(name, outdoor):
    """Home Energy May/June 2002 (summary seen): EER -11 % at -15 % charge, 0 to -2 % at +15 %; RP-1173 as
    summed up by ORNL (abstract seen): noticeable loss only below 90 % of the charge.

    The model loses 5 to 8 % of EER at -15 %, half to three quarters of what was reported, and changes by
    -1.7 to +0.9 % at +15 %. A tenth less charge costs 2.7 to 3.7 % of EER.
    """
    conditions = replace(rating_conditions(), outdoor_temperature=outdoor + 273.15)
    faults = Faults(charge_change=np.array([-0.15, -0.1, 0.15]))
    (eer,) = change(ORIFICE_UNITS[name], conditions, faults, "eer")
    low, high = reported_charge_effect("orifice", -0.15, "EER")
    assert low == high == -11.0
    assert 0.45 < eer[0] / low < 1.1
    assert -4.0 < eer[1] < 0.0
    assert abs(eer[2]) < -reported_charge_effect("orifice", 0.15, "EER")[0]


def test_undercharge_ends_subcooling_and_overcharge_adds_to_it():
    deviations = np.array([-0.3, -0.1, 0.0, 0.1, 0.3])
    point = solve(laboratory_unit(), laboratory_weather(27.8), Faults(charge_change=deviations))
    assert np.all(np.diff(point.subcooling) > 0)
    assert point.subcooling[0] < 0.1
    assert point.state_names()[0] == "flash gas"
    assert point.superheat[0] > point.superheat[2] + 3.0


# Indoor airflow


@pytest.mark.parametrize("airflow", [0.75, 0.875, 1.125, 1.25])
def test_capacity_and_power_ratio_with_indoor_airflow(airflow):
    """Cutler, Winkler, Kruis, Christensen, Brandemuehl 2013, NREL/TP-5500-56354, at 35 / 26.7 / 19.4 degC.

    Both ratios are of gross quantities: capacity before the blower's heat, and the outdoor unit's power
    (compressor and its fan, no blower) over that capacity; so building-energy programs use these
    coefficients, and so they are compared. Tolerance 1.5 points: the fit to makers' tables spreads by about
    that (from memory).
    """
    rows = {row["quantity"]: row for row in reference_rows("indoor_airflow_correlation.csv")}
    capacity, ratio = (
        sum(float(rows[name][f"c{i}"]) * airflow**i for i in range(3))
        for name in ("capacity_ratio", "eir_ratio")
    )
    rated = rating_weather()
    changed = replace(rated, indoor_airflow=airflow * LABORATORY_AIRFLOW)
    before, after = (solve(laboratory_unit(), conditions) for conditions in (rated, changed))
    assert after.gross_capacity / before.gross_capacity == pytest.approx(capacity, abs=0.015)
    power_ratio = (after.outdoor_power / after.gross_capacity) / (
        before.outdoor_power / before.gross_capacity
    )
    assert power_ratio == pytest.approx(ratio, abs=0.015)


def test_a_quarter_less_indoor_airflow_as_a_fault_is_the_same_machine():
    rated = rating_weather()
    (lost,) = change(laboratory_unit(), rated, Faults(evaporator_airflow_lost=0.25), "gross_capacity")
    less = solve(laboratory_unit(), replace(rated, indoor_airflow=0.75 * LABORATORY_AIRFLOW))
    healthy = solve(laboratory_unit(), rated)
    assert lost == pytest.approx(
        float(100.0 * (less.gross_capacity / healthy.gross_capacity - 1.0)), abs=1e-6
    )
    assert -7.0 < lost < -3.0


def test_half_of_the_indoor_airflow_hardly_changes_power():
    """Rodriguez, O'Neal, Davis, Kondepudi 1996 (abstract): less than 4 % less, at 35 to 49 degC outdoors.

    The laboratory unit's outdoor power is compared; its blower's own saving would come on top.
    """
    low, high = measured("Rodriguez", "evaporator airflow lost", "power change")
    for outdoor in (35.0, 40.0, 45.0):
        faults = Faults(evaporator_airflow_lost=0.5)
        (power,) = change(laboratory_unit(), rating_weather(outdoor), faults, "outdoor_power")
        assert low <= power <= high


def test_half_of_the_indoor_airflow_costs_an_orifice_more_than_a_valve():
    """Rodriguez et al. 1996: at 35 degC the short-tube unit loses more capacity than the valve; power falls.

    Disagreement, not asserted: they found under 4 % less power on the short tube too, the model says 7 to
    8 %. Half of the airflow floods the suction of the generic orifice unit, which lowers its suction pressure
    and with it its power.
    """
    valve_unit = nominal_unit("R22", 10_550.0, 2.8, compressor="reciprocating")
    faults, conditions = Faults(evaporator_airflow_lost=0.5), rating_conditions()
    orifice, power = change(ORIFICE_UNIT, conditions, faults, "gross_capacity", "outdoor_power")
    (valve,) = change(valve_unit, conditions, faults, "gross_capacity")
    assert power < 0.0
    assert orifice < valve - 0.5


def test_a_third_of_the_indoor_airflow_lost_costs_what_makers_tables_say():
    """Cutler et al. 2013 carried on to 0.64 of the airflow: 7.2 % of capacity, to a quarter of it either way.

    The fit to makers' tables spreads by 1.5 points (from memory), and 0.64 lies a little beyond it; a generic
    unit is no particular one. Disagreement, not asserted: Breuker, Braun 1998 measured 19.4 % on a rooftop
    unit with 36 % less airflow; Siegel, Walker, Sherman 2002 find fouled coils typically under 5 %. The two
    kinds of source disagree, and the model stands with makers' tables: 9 %.
    """
    (row,) = (
        row for row in reference_rows("indoor_airflow_correlation.csv") if row["quantity"] == "capacity_ratio"
    )
    table = 100.0 * (sum(float(row[f"c{i}"]) * 0.64**i for i in range(3)) - 1.0)
    faults = Faults(evaporator_airflow_lost=0.36)
    capacity, eer = change(ORIFICE_UNIT, rating_conditions(), faults, "gross_capacity", "eer")
    assert capacity / table == pytest.approx(1.0, abs=0.25)
    assert capacity < eer < 0.0


def test_a_typical_fouled_indoor_coil_costs_under_a_twentieth():
    """Siegel, Walker, Sherman 2002 (LBNL-49757, abstract): capacity and COP typically under 5 % down.

    Typical: pressure drop of the coil half again as high, less than the doubling that they expect in 7.5
    years.
    """
    low, high = measured("Siegel", "typical fouled coil", "capacity and COP change")
    conditions = replace(rating_weather(), indoor_power=None)
    capacity, eer = change(laboratory_unit(), conditions, Faults(evaporator_dust=0.5), "net_capacity", "eer")
    assert low <= capacity <= high
    assert low <= eer <= high


# Condenser


@pytest.mark.parametrize("lost", [0.3, 0.5])
def test_a_kelvin_more_condensing_temperature_costs_what_a_warmer_day_does(lost):
    """NISTIR 7350: its unit loses 2.4 to 3.1 % of COP a kelvin of warmer outdoor air (5 to 7, 4 to 8).

    A condensing temperature higher by that kelvin for want of air is the same machine.
    Nobody printed a halved airflow of a condenser.
    """
    tests = laboratory_tests()
    slopes = [
        np.log(tests[hot]["net_COP"] / tests[cool]["net_COP"])
        / (tests[hot]["outdoor_db_C"] - tests[cool]["outdoor_db_C"])
        for cool, hot in ((5, 7), (4, 8))
    ]
    weather = rating_weather()
    before, after = (
        solve(laboratory_unit(), weather, each) for each in (Faults(), Faults(condenser_airflow_lost=lost))
    )
    rise = after.condensing_temperature - before.condensing_temperature
    assert rise > 2.0
    assert min(slopes) < float(np.log(after.eer / before.eer) / rise) < max(slopes) < 0.0


def test_halved_airflow_carries_the_heat_at_twice_the_air_rise():
    """First law on the condenser's air: nearly the same heat in half of the air."""
    weather = rating_weather()
    before, after = (
        solve(laboratory_unit(), weather, c) for c in (Faults(), Faults(condenser_airflow_lost=0.5))
    )
    heats = [point.heat_rejected + point.outdoor_fan_power for point in (before, after)]
    rises = [point.condenser_leaving_temperature - 308.15 for point in (before, after)]
    assert rises[1] / rises[0] == pytest.approx(float(2.0 * heats[1] / heats[0]), rel=1e-9)
    assert np.all(after.condenser_leaving_temperature < after.condensing_temperature)


@pytest.mark.parametrize("outdoor", [27.8, 35.0])
def test_blocked_face_of_a_rooftop_unit(outdoor):
    """Breuker, Braun 1998: 56 % of the face blocked cost 10.9 % of capacity and 17.9 % of COP (COP from
    memory).

    3-ton R-22 rooftop unit, fixed orifice, reciprocating; the generic unit is no particular one and their
    weather is not printed, hence 4 points either way. The model says -8 to -12 % and -20 to -22 %.
    """
    faults = Faults(condenser_blocked=0.56)
    conditions = replace(rating_conditions(), outdoor_temperature=outdoor + 273.15)
    capacity, eer = change(ORIFICE_UNIT, conditions, faults, "gross_capacity", "eer")
    assert capacity == pytest.approx(measured("Breuker", "condenser face", "capacity change")[0], abs=4.0)
    assert eer == pytest.approx(measured("Breuker", "condenser face", "COP change")[0], abs=4.0)


def test_flattened_fins_on_three_fifths_of_the_area():
    """IMECE2007-43009 (abstract): fins flat on 60 % of the area -4 % capacity, -9 % SEER; on 100 %, -27 and
    -34 %.

    Flat fins are not a closed face (a unit with a closed face trips), so one number, the closed share of a
    flattened area, is taken from the EER at 100 %: about 0.74. Three fifths of it then give the 60 % row, at
    the 27.8 degC that sets a SEER. Tolerance 2 points, the printed whole per cents and the SEER's
    mild-weather weight.

    Disagreement, not asserted: at 100 % the model pairs 34 % of EER with 14 % of capacity, they found 27 %.
    """
    fins = {
        (level, name): measured("IMECE2007", "condenser fins", f"{name} change", f"{level} % of area")[0]
        for level in (60, 100)
        for name in ("capacity", "SEER")
    }
    weather, blocked = rating_weather(27.8), np.linspace(0.3, 0.8, 41)
    capacity, eer = change(
        laboratory_unit(), weather, Faults(condenser_blocked=blocked), "net_capacity", "eer"
    )
    closed = float(np.interp(-fins[100, "SEER"], -eer, blocked))
    assert 0.65 < closed < 0.8
    assert np.interp(0.6 * closed, blocked, capacity) == pytest.approx(fins[60, "capacity"], abs=2.0)
    assert np.interp(0.6 * closed, blocked, eer) == pytest.approx(fins[60, "SEER"], abs=2.0)


def test_dust_at_thirty_per_cent_more_pressure_drop():
    """Pak, Groll, Braun 2005 (abstract): 28 to 31 % more pressure drop with 7 to 12 % less heat on one row;
    on two rows 22 to 37 % with 4 to 5 %.

    One row has few transfer units, so that its heat goes with its conductance. Two rows of about 1.2 transfer
    units (common practice, no source) take nearly all that the air can give, and lose half as much.
    """
    coil = laboratory_unit().condenser
    clean, dusty = (float(air_side_conductance(coil, np.array(1.0), dust=d)) for d in (0.0, 0.3))
    low, high = measured("Pak", "dust", "heat transfer change")
    assert low <= 100.0 * (dusty / clean - 1.0) <= high
    two_rows = np.expm1(-1.2 * dusty / clean) / np.expm1(-1.2) - 1.0
    assert -5.0 <= 100.0 * two_rows <= -4.0


def test_dust_that_the_field_shows_costs_little():
    """Mehrabi, Yuill 2018 (summary): cleaning nine field-dirty coils changed performance by -7 to +7 %."""
    low, high = measured("Mehrabi", "cleaning of real", "performance change on cleaning")
    for dust in (0.3, 1.0):
        capacity, eer = change(
            laboratory_unit(), rating_weather(), Faults(condenser_dust=dust), "net_capacity", "eer"
        )
        assert low <= eer < capacity < 0.0 < high


# Signs

FAULT_AS_PRINTED = {
    "undercharge": "undercharge",
    "compressor valve leakage": "compressor_leakage",
    "liquid-line restriction": "liquid_line_restriction",
    "condenser fouling": "condenser_blocked",
    "evaporator fouling": "indoor_airflow_low",
}
SIGNS = [
    (row["fault"], reading, sign)
    for row in reference_rows("fault_signs_fixed_orifice.csv")
    for reading, sign in row.items()
    if reading != "fault"
]


def signed_readings(point: OperatingPoint) -> dict[str, np.ndarray]:
    return {
        "evaporating_T": point.evaporating_temperature,
        "superheat": point.superheat,
        "condensing_T": point.condensing_temperature,
        "subcooling": point.subcooling,
        "discharge_T": point.discharge_temperature,
        "condenser_air_rise": point.condenser_leaving_temperature,
        "evaporator_air_drop": -point.supply_temperature,
    }


@pytest.fixture(scope="module")
def faulty_readings() -> dict[str, dict[str, np.ndarray]]:
    """Readings at level 0, 0.1, 0.2 and 0.3 of each fault, 35 / 26.7 / 19.4 degC."""
    level = np.array([0.0, 0.1, 0.2, 0.3])
    conditions = rating_conditions()
    points = {
        printed: solve(ORIFICE_UNIT, conditions, at_level(fault_of(name), level))
        for printed, name in FAULT_AS_PRINTED.items()
    }
    return {fault: signed_readings(point) for fault, point in points.items()}


def test_sign_table_is_whole():
    assert len(SIGNS) == 35
    assert {fault for fault, _, _ in SIGNS} == set(FAULT_AS_PRINTED)


@pytest.mark.parametrize(("fault", "reading", "sign"), SIGNS, ids=[f"{f}-{r}" for f, r, _ in SIGNS])
def test_signs_of_a_fixed_orifice_unit(faulty_readings, fault, reading, sign):
    """Rossi, Braun 1997, HVAC&R Research 3(1), as reprinted: sign of each reading's shift, every level up
    to 0.3.
    """
    values = faulty_readings[fault][reading]
    shift = values[1:] - values[0]
    assert np.all(shift > 0.01 if sign == "+" else shift < -0.01)
