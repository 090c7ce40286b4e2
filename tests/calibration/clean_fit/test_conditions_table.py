"""Tables of operating points: what goes in comes out, units and sentences, nothing half-written."""

import csv

import numpy as np
import pytest

from calibration.clean_fit import conditions_table
from calibration.clean_fit.baseline import fit_baseline
from calibration.clean_fit.conditions_table import (
    RESULTS,
    predicted_table,
    read_conditions,
    write_predictions,
)
from model.cycle.boundary import Conditions
from model.cycle.faults import Faults
from model.cycle.solve import solve
from model.properties.moist_air import STANDARD_PRESSURE, humidity_ratio_from_wet_bulb
from tests.calibration.made_visits import DESCRIPTION


@pytest.fixture(scope="module")
def baseline():
    return fit_baseline(DESCRIPTION)


def written(tmp_path, baseline, text, system="SI"):
    source, target = tmp_path / "in.csv", tmp_path / "out.csv"
    source.write_text(text)
    table = read_conditions(source, system)
    write_predictions(
        target, table, predicted_table(baseline, table, STANDARD_PRESSURE), system, STANDARD_PRESSURE
    )
    with target.open() as file:
        return list(csv.DictReader(file))


def test_columns_that_come_out(tmp_path, baseline):
    rows = written(tmp_path, baseline, "place,outdoor_db,return_db,return_wb\nroof,35,26.7,19.4\n")
    assert list(rows[0]) == ["place", "outdoor_db", "return_db", "return_wb", *RESULTS, "state"]
    assert rows[0]["place"] == "roof"
    assert rows[0]["state"] == "ok"
    assert float(rows[0]["capacity"]) < float(rows[0]["gross_capacity"])


def test_numbers_are_the_cycles(tmp_path, baseline):
    rows = written(
        tmp_path,
        baseline,
        "outdoor_db,return_db,return_wb,condenser_blocked\n35,26.7,19.4,0\n35,26.7,19.4,0.5\n",
    )
    humidity = humidity_ratio_from_wet_bulb(299.85, 292.55, STANDARD_PRESSURE)
    point = solve(
        baseline.unit,
        Conditions(308.15, 299.85, humidity),
        Faults(condenser_blocked=np.array([0.0, 0.5])),
    )
    for row, index in zip(rows, (0, 1), strict=True):
        assert float(row["capacity"]) == pytest.approx(float(point.net_capacity[index]), rel=1e-6)
        assert float(row["liquid_pressure"]) == pytest.approx(
            (float(point.liquid_pressure[index]) - STANDARD_PRESSURE) / 1e3, rel=1e-6
        )


def test_us_and_si_agree(tmp_path, baseline):
    us = written(tmp_path, baseline, "outdoor_db,return_db,return_wb\n95,80,67\n", "US")[0]
    si = written(tmp_path, baseline, "outdoor_db,return_db,return_wb\n35,26.66666667,19.44444444\n")[0]
    assert float(us["capacity"]) == pytest.approx(float(si["capacity"]) * 3.412142, rel=1e-5)
    assert float(us["eer"]) == pytest.approx(float(si["eer"]) * 3.412142, rel=1e-5)
    assert float(us["superheat"]) == pytest.approx(float(si["superheat"]) * 1.8, abs=1e-3)
    assert float(us["liquid_pressure"]) == pytest.approx(float(si["liquid_pressure"]) / 6.894757, rel=1e-5)


@pytest.mark.parametrize("humidity", ["return_wb,19.4", "return_rh,51.3", "return_dewpoint,15.9"])
def test_any_one_humidity_will_do(tmp_path, baseline, humidity):
    name, value = humidity.split(",")
    row = written(tmp_path, baseline, f"outdoor_db,return_db,{name}\n35,26.7,{value}\n")[0]
    assert float(row["capacity"]) == pytest.approx(10_400, rel=0.05)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("outdoor_db,return_db\n35,26\n", "exactly one of return_wb"),
        ("return_db,return_wb\n26,19\n", "column outdoor_db is missing"),
        ("outdoor_db,return_db,return_wb\n35,26,hot\n", "return_wb in row 2 is 'hot'; a number is expected"),
        ("outdoor_db,return_db,return_wb\n35,26,nan\n", "a finite number is expected"),
        ("outdoor_db,return_db,return_wb\n35,26,28\n", "return_wb in row 2 is above return_db"),
        (
            "outdoor_db,return_db,return_wb,condenser_blocked\n35,26,19,1.4\n",
            "condenser_blocked in row 2 is 1.4",
        ),
        ("outdoor_db,return_db,return_wb,indoor_airflow\n35,26,19,0\n", "indoor_airflow in row 2 is 0"),
        ("outdoor_db,return_db,return_wb\n35,26\n", "row 2 has 2 cells; 3 are expected"),
        ("outdoor_db,return_db,return_wb,return_wb\n35,26,19,19\n", "column return_wb stands twice"),
        ("outdoor_db,return_db,return_wb\n", "has no rows"),
        ("", "has no rows"),
        ("outdoor_db,return_db,return_dewpoint\n35,26,28\n", "return_dewpoint in row 2 is above return_db"),
        (
            "outdoor_db,return_db,return_wb,indoor_airflow,indoor_airflow_standard\n35,26,19,0.5,0.5\n",
            "one of indoor_airflow and indoor_airflow_standard is expected, got both",
        ),
        ('outdoor_db,return_db,return_wb\n35,26,"19\n', "is not a readable CSV"),
        ("outdoor_db,return_db,return_wb" + ",note" * 200 + "\n35,26,19\n", "has 203 columns; at most 200"),
    ],
)
def test_bad_tables_get_one_sentence(tmp_path, text, sentence):
    source = tmp_path / "in.csv"
    source.write_text(text)
    with pytest.raises(ValueError, match=sentence) as problem:
        read_conditions(source, "SI")
    assert "\n" not in str(problem.value)


def test_a_table_out_of_all_proportion_is_refused_before_it_is_read(tmp_path, monkeypatch):
    source = tmp_path / "in.csv"
    source.write_text("outdoor_db,return_db,return_wb\n" + "35,26,19\n" * 5)
    monkeypatch.setattr(conditions_table, "MOST_ROWS", 4)
    with pytest.raises(ValueError, match="has 5 rows; at most 4 are expected"):
        read_conditions(source, "SI")
    monkeypatch.setattr(conditions_table, "LARGEST_TABLE", 40)
    with pytest.raises(ValueError, match="is longer than the 40 bytes of a table"):
        read_conditions(source, "SI")


def test_a_file_that_is_not_text(tmp_path):
    source = tmp_path / "in.csv"
    source.write_bytes(b"\xff\xfe\x00\x81 nonsense")
    with pytest.raises(ValueError, match="not a text file"):
        read_conditions(source, "SI")


def test_formula_cells_are_neutralised(tmp_path, baseline):
    rows = written(
        tmp_path, baseline, "note,outdoor_db,return_db,return_wb\n=cmd,35,26.7,19.4\n-5,35,26.7,19.4\n"
    )
    assert rows[0]["note"] == "'=cmd"
    assert rows[1]["note"] == "-5"


def test_nothing_is_left_when_writing_fails(tmp_path, baseline):
    source = tmp_path / "in.csv"
    source.write_text("outdoor_db,return_db,return_wb\n35,26.7,19.4\n")
    table = read_conditions(source, "SI")
    point = predicted_table(baseline, table, STANDARD_PRESSURE)
    with pytest.raises(OSError):
        write_predictions(tmp_path / "missing" / "out.csv", table, point, "SI", STANDARD_PRESSURE)
    assert list(tmp_path.iterdir()) == [source]


def test_a_line_without_end_is_refused(tmp_path):
    source = tmp_path / "in.csv"
    source.write_text("outdoor_db,return_db,return_wb\n" + "35," * 400_000, encoding="utf-8")
    with pytest.raises(ValueError, match="has a line of more than 1000000 bytes"):
        read_conditions(source, "SI")


def test_lines_may_end_in_a_return(tmp_path):
    source = tmp_path / "in.csv"
    source.write_bytes(b"outdoor_db,return_db,return_wb\r35,27,19\r36,27,19\r")
    assert read_conditions(source, "SI").values["outdoor_db"].tolist() == [308.15, 309.15]


def test_a_column_named_state_gives_way(tmp_path, baseline):
    source, target = tmp_path / "in.csv", tmp_path / "out.csv"
    source.write_text("outdoor_db,return_db,return_wb,state\n35,27,19,mine\n", encoding="utf-8")
    table = read_conditions(source, "SI")
    write_predictions(
        target, table, predicted_table(baseline, table, STANDARD_PRESSURE), "SI", STANDARD_PRESSURE
    )
    header, row = csv.reader(target.read_text(encoding="utf-8").splitlines())
    assert header.count("state") == 1
    assert (len(row), row[-1]) == (len(header), "ok")


def test_a_row_of_bone_dry_air_is_named(tmp_path, baseline):
    source = tmp_path / "in.csv"
    source.write_text("outdoor_db,return_db,return_wb\n35,27,19\n35,27,1\n", encoding="utf-8")
    with pytest.raises(ValueError, match="return_wb in row 3 of the conditions is that of bone-dry"):
        predicted_table(baseline, read_conditions(source, "SI"), STANDARD_PRESSURE)
