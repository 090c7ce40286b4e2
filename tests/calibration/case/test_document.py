"""Tables to a case in SI and back."""

import dataclasses
import datetime as dt
import tomllib
from math import sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.case import document as case_document
from calibration.case.document import case_from_document, document_of
from calibration.case.entries import Writing, shortest_number
from calibration.case.errors import CaseError
from calibration.case.file import case_text, parse_case
from calibration.case.keys import keys_of
from calibration.case.records import Case, PrintedMap, Visit
from calibration.case.units import DEGREE_F, PSI, SYSTEMS, TEMPERATURE
from tests.calibration.sample_case import SAMPLE, changed


def sample() -> Case:
    return case_from_document(tomllib.loads(SAMPLE))


def test_numbers_are_in_si():
    case = sample()
    first, second = case.visits
    assert case.unit.rated_capacity == pytest.approx(36000 * 0.2930711, rel=2e-7)
    assert case.unit.rated_eer == pytest.approx(12 / 3.412142, rel=1e-6)
    assert first.outdoor_db == pytest.approx(305.3722, abs=1e-4)
    assert first.indoor_airflow == pytest.approx(1180 * 4.719474e-4, rel=1e-6)
    assert second.return_rh == 0.51
    assert second.outdoor_power == pytest.approx(238 * 14.2 * 0.95)
    assert case.instruments.liquid_gauge == pytest.approx(2 * PSI)
    assert case.season.tariff.periods[0].weekdays == (0, 1, 2)
    assert case.cleaning.last_cleaned == dt.date(2025, 4, 2)
    assert case.unit.compressor_map.superheat == pytest.approx(20 * DEGREE_F)


def test_gauge_pressures_count_from_the_barometer_else_from_the_altitude():
    first, second = sample().visits
    assert first.ambient_pressure == pytest.approx(29.1 * 3386.389)
    assert first.suction_pressure == pytest.approx(130.5 * PSI + 29.1 * 3386.389)
    assert second.ambient_pressure == sample().unit.ambient_pressure
    assert second.suction_pressure == pytest.approx(133 * PSI + sample().unit.ambient_pressure)
    assert sample().unit.high_pressure_limit == pytest.approx(610 * PSI + sample().unit.ambient_pressure)


def test_the_least_that_a_case_needs():
    case = case_from_document(
        {
            "units": "SI",
            "unit": {
                "name": "a",
                "refrigerant": "r-22",
                "expansion": "Fixed Orifice",
                "rated_capacity": 9000,
            },
        }
    )
    assert (case.unit.refrigerant, case.unit.expansion, case.visits) == ("R22", "fixed orifice", ())
    assert (case.season, case.cleaning) == (None, None)


def test_a_visit_of_pressures_and_temperatures_alone():
    document = tomllib.loads(SAMPLE)
    keep = ("coil", "outdoor_db", "return_db", "return_wb", "suction_pressure", "liquid_pressure")
    document["visit"] = [{name: document["visit"][0][name] for name in keep}]
    visit = case_from_document(document).visits[0]
    assert visit.label == "clean"
    assert visit.outdoor_power is None


def test_a_text_that_is_left_empty_is_not_given():
    document = tomllib.loads(SAMPLE)
    document["season"]["tariff"]["currency"] = ""
    document["visit"][0]["label"] = ""
    case = case_from_document(document)
    assert case.season.tariff.currency == "USD"
    assert case.visits[0].label == "2026-05-14 clean"
    document["unit"]["name"] = " "
    with pytest.raises(CaseError, match="a name on one line is expected"):
        case_from_document(document)


def test_limits_of_error_become_standard_deviations():
    document = tomllib.loads(SAMPLE)
    document["instruments"] = {"stated_as": "limits", "suction_gauge": 3.5, "airflow": 0.07}
    instruments = case_from_document(document).instruments
    assert instruments.suction_gauge == pytest.approx(3.5 * PSI / sqrt(3))
    assert instruments.airflow == pytest.approx(0.07 / sqrt(3))


@pytest.mark.parametrize("system", SYSTEMS)
def test_written_and_read_again_it_is_the_same_case(system):
    case = dataclasses.replace(sample(), units=system)
    again = case_from_document(document_of(case))
    if system == "US":
        assert again == case
    assert document_of(again, "US") == document_of(sample()) | {"units": "US"}


def test_typed_numbers_come_out_as_they_were_typed():
    assert document_of(sample()) == tomllib.loads(SAMPLE)


AS_RATED = {
    "outdoor_power": (9000.0, 11_000.0),
    "compressor_power": (7000.0, 8500.0),
    "outdoor_volts": (230.0, 240.0),
    "outdoor_amps": (40.0, 45.0),
    "outdoor_power_factor": (0.9, 1.0),
    "compressor_speed": (0.8, 1.0),
}


@pytest.mark.parametrize("system", SYSTEMS)
@given(data=st.data())
@settings(derandomize=True, deadline=None, max_examples=60)
def test_any_reading_survives_the_round_trip(system, data):
    entries = {"coil": "clean", "return_rh": 50.0}
    for name, key in keys_of("visit").items():
        if key.form == "number" and not name.startswith(("return_", "supply_", "indoor_airflow")):
            low, high = (key.quantity.from_si(limit, system) for limit in key.typical)
            # Of a unit whose nameplate means some 10 kW.
            low, high = AS_RATED.get(name, (low, high))
            if name.endswith(("_pressure", "_temperature")) or name == "outdoor_db":
                continue
            if data.draw(st.booleans(), label=name):
                entries[name] = data.draw(st.floats(low, high), label=name)
    entries["outdoor_db"] = data.draw(st.floats(*(TEMPERATURE.from_si(t, system) for t in (285.0, 320.0))))
    entries["return_db"] = data.draw(st.floats(*(TEMPERATURE.from_si(t, system) for t in (290.0, 305.0))))
    if "outdoor_rh" in entries:
        entries.pop("outdoor_wb", None)
    if all(entries.get(f"outdoor_{part}") for part in ("volts", "amps", "power_factor")):
        entries.pop("outdoor_power", None)
    if all(entries.get(f"indoor_{part}") for part in ("volts", "amps", "power_factor")):
        entries.pop("indoor_power", None)
    base = tomllib.loads(SAMPLE)["unit"] | {"altitude": 100.0}
    for name in ("compressor_map", "charge", "high_pressure_limit", "low_pressure_limit"):
        base.pop(name)
    base["rated_eer"] = 3.5
    entries.pop("barometer", None)
    case = case_from_document({"units": system, "unit": base, "visit": [entries]})
    assert case_from_document(document_of(case)) == case


@given(st.floats(200.0, 400.0), st.sampled_from(SYSTEMS))
@settings(derandomize=True, deadline=None)
def test_shortest_number_means_the_same(value, system):
    number = shortest_number(value, TEMPERATURE, Writing(system))
    assert TEMPERATURE.to_si(number, system) == pytest.approx(value, rel=4e-16)
    typed = round(number, 2)
    assert shortest_number(TEMPERATURE.to_si(typed, system), TEMPERATURE, Writing(system)) == typed


def test_a_map_rated_at_a_return_gas_temperature():
    document = tomllib.loads(SAMPLE)
    table = document["unit"]["compressor_map"]
    del table["superheat"]
    table["return_gas_temperature"] = 65.0
    case = case_from_document(document)
    assert isinstance(case.unit.compressor_map, PrintedMap)
    assert case.unit.compressor_map.return_gas_temperature == pytest.approx(291.483, abs=1e-3)
    assert case_from_document(document_of(case)) == case


TABLE_LINE = {"outdoor_db": 105.0, "return_wb": 67.0, "capacity": 33600.0, "outdoor_power": 3250.0}


def with_lines(*lines: dict[str, float]) -> dict:
    document = tomllib.loads(SAMPLE)
    document["unit"]["capacity_table"] = list(lines)
    return document


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_capacity_table_is_read_and_written(system):
    """33,600 Btu/h are 9847 W (0.29307 W each), 105 degF are 313.71 K; what is not printed stays out."""
    case = case_from_document(with_lines(TABLE_LINE, TABLE_LINE | {"return_db": 75.0}))
    first, second = case.unit.capacity_table
    assert (first.capacity, first.outdoor_db) == pytest.approx((9847.2, 313.706), rel=1e-5)
    assert first.return_db is None
    assert second.return_db == pytest.approx(297.039, abs=1e-3)
    assert case_from_document(document_of(case)) == case
    shown = document_of(case, system)["unit"]["capacity_table"][0]
    assert shown == (TABLE_LINE if system == "US" else document_of(case, "SI")["unit"]["capacity_table"][0])
    assert parse_case(case_text(case)) == case


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"capacity": None}, "capacity: is missing; a number in Btu/h, for example 36000, is expected"),
        ({"return_wb": 85.0}, "return_wb: at most the dry bulb of the return air is expected"),
        ({"outdoor_db": 41e3}, "outdoor_db: is 41000 degF; 40 to 130 degF is expected"),
        (
            {"watts": 3250.0},
            "watts: is not known here; known are outdoor_db, return_db, return_wb, "
            "indoor_airflow_standard, capacity, outdoor_power",
        ),
    ],
)
def test_a_line_at_fault_is_one_sentence(change, sentence):
    line = {name: value for name, value in (TABLE_LINE | change).items() if value is not None}
    with pytest.raises(CaseError) as caught:
        case_from_document(with_lines(TABLE_LINE, line))
    (said,) = str(caught.value).splitlines()
    assert said.startswith("[unit.capacity_table] 2, ")
    assert said.endswith(sentence)


def test_a_table_of_too_many_lines_is_refused_whole():
    with pytest.raises(CaseError, match="has 201 lines; at most 200 are expected"):
        case_from_document(with_lines(*[TABLE_LINE] * 201))


def test_the_envelope_of_a_map_is_read_and_written():
    """10 and 45 degF are 260.93 and 280.37 K."""
    document = tomllib.loads(SAMPLE)
    document["unit"]["compressor_map"] |= {"suction_range": [10.0, 45.0], "discharge_range": [80.0, 150.0]}
    case = case_from_document(document)
    assert case.unit.compressor_map.suction_range == pytest.approx((260.928, 280.372), abs=1e-3)
    assert case_from_document(document_of(case)) == case
    assert document_of(case)["unit"]["compressor_map"]["discharge_range"] == [80.0, 150.0]


@pytest.mark.parametrize("ends", [[45.0, 10.0], [10.0], [10.0, 20.0, 30.0]])
def test_an_envelope_that_does_not_rise_is_refused(ends):
    document = tomllib.loads(SAMPLE)
    document["unit"]["compressor_map"]["suction_range"] = ends
    with pytest.raises(CaseError, match="lowest and highest saturated temperature are expected"):
        case_from_document(document)


def test_an_older_schema_is_migrated_with_a_remark(monkeypatch):
    def renamed(document):
        document["unit"]["rated_capacity"] = document["unit"].pop("size")
        return document, "size is now called rated_capacity"

    monkeypatch.setitem(case_document.MIGRATIONS, 0, renamed)
    old = tomllib.loads(changed(("schema = 1", "schema = 0"), ("rated_capacity", "size")))
    case = case_from_document(old)
    assert case == sample()
    assert case.remarks == ("size is now called rated_capacity",)
    assert sample().remarks == ()


@pytest.mark.parametrize(
    ("schema", "sentence"),
    [
        (2, "schema: is 2, of a newer version of this program; 1 or less is expected"),
        (-1, "schema: is -1; a whole number up to 1 is expected"),
        (True, "schema: is true; a whole number up to 1 is expected"),
        ("1", "schema: is '1'; a whole number up to 1 is expected"),
    ],
)
def test_schemas_that_are_not_known(schema, sentence):
    with pytest.raises(CaseError) as caught:
        case_from_document({"schema": schema, "units": "US"})
    assert str(caught.value) == sentence


def test_speeds_and_a_heat_pump_read_back():
    unit = dataclasses.replace(
        sample().unit,
        stages=(),
        speed_range=(0.3, 1.2),
        outdoor_fan_speeds=(1.0, 1.0),
        blower_speeds=(0.5, 1.0),
        heat_pump=True,
    )
    again = case_from_document(document_of(Case("US", unit))).unit
    assert again == unit
    assert "heat_pump" not in document_of(Case("US", dataclasses.replace(unit, heat_pump=False)))["unit"]


def test_a_whole_visit_in_python_reads_back(tmp_path):
    unit = dataclasses.replace(sample().unit, stages=(), compressor_map=None)
    visit = Visit(
        "typed in Python",
        "clean",
        308.0,
        300.0,
        return_dewpoint=288.0,
        ambient_pressure=unit.ambient_pressure,
    )
    again = case_from_document(document_of(Case("SI", unit, (visit,)))).visits[0]
    assert again.return_dewpoint == pytest.approx(288.0, rel=1e-15)
    assert again.ambient_pressure == visit.ambient_pressure


def test_weather_is_bins_a_file_or_a_place_that_is_known():
    def weather(name):
        tables = tomllib.loads(SAMPLE)
        tables["season"]["weather"] = name
        return case_from_document(tables).season.weather

    for name in ("bins", "Miami FL", "here.epw", "there.CSV"):
        assert weather(name) == name
    with pytest.raises(
        CaseError, match=r"weather: is 'Grensboro'; bins, monthly means, a file .*\(Greensboro NC\)"
    ):
        weather("Grensboro")
