"""Typical years and hourly loads from files."""

from importlib.resources import files
from pathlib import Path

import numpy as np
import pandas as pd
import psychrolib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pvlib.iotools import read_tmy3

from calibration.files import weather_file as reading
from calibration.files.weather_file import read_hourly_load, read_weather
from model.season.simulation import hourly_season, season_totals
from tests.model.synthetic_unit import BLOWER_POWER, operating_point, synthetic_table

DATA = Path(str(files("pvlib") / "data"))
GREENSBORO_FILE = DATA / "723170TYA.CSV"
MIAMI_FILE = DATA / "12839.tm2"
GREENSBORO = read_weather(GREENSBORO_FILE)


def greensboro_table() -> pd.DataFrame:
    """The same file by pandas alone: the second line is the header."""
    return pd.read_csv(GREENSBORO_FILE, skiprows=1)


def test_degree_hours_against_pandas():
    """Cooling degree-hours over 65 degF of Greensboro, TMY3, from the file's own column."""
    frame = greensboro_table()
    base = (65.0 - 32.0) / 1.8
    expected = (frame["Dry-bulb (C)"] - base).clip(lower=0.0).sum()
    over = np.maximum(GREENSBORO.temperature - 273.15 - base, 0.0) * GREENSBORO.duration
    assert over.sum() == pytest.approx(expected, rel=1e-12)
    assert 15_000 < expected < 30_000


def test_energy_of_the_year_against_pandas():
    """Load line, closed-form unit, cycling and power row by row in a data frame, over the weather file."""
    from model.season.load import line_load

    frame = greensboro_table()
    frame["air"] = frame["Dry-bulb (C)"] + 273.15
    frame["month"] = frame["Date (MM/DD/YYYY)"].str[:2].astype(int)
    # the last hour of a month is stamped 24:00 of its last day, so the month is the file's own
    level = 0.25
    point = operating_point(frame["air"].to_numpy(), level)
    frame["load"] = (7000.0 * (frame["air"] - 291.15) / (308.15 - 291.15)).clip(lower=0.0)
    part = frame["load"] / point.total_capacity
    assert part.max() < 1.0
    run = part / (1.0 - 0.20 * (1.0 - part))
    frame["joules"] = 3600.0 * run * (point.outdoor_power + BLOWER_POWER)
    expected = frame.groupby("month")["joules"].sum()
    load = line_load(GREENSBORO.temperature, 291.15, 308.15, 7000.0)
    table = synthetic_table()
    hourly = hourly_season(table, GREENSBORO, load, level)
    totals = season_totals(hourly, table, GREENSBORO, load, level)
    assert np.allclose(totals.energy[0], expected, rtol=1e-3, atol=1.0)
    assert totals.energy.sum() == pytest.approx(expected.sum(), rel=5e-4)


def test_tmy3_by_the_readers_own_columns():
    data, _ = read_tmy3(str(GREENSBORO_FILE), map_variables=True)
    assert np.allclose(GREENSBORO.temperature, data["temp_air"].to_numpy() + 273.15)
    assert np.allclose(GREENSBORO.pressure, 100.0 * data["pressure"].to_numpy())
    assert GREENSBORO.place == "Greensboro Piedmont Triad Int NC"
    psychrolib.SetUnitSystem(psychrolib.SI)
    for hour in (12, 4000, 5000):
        dew = min(data["temp_dew"].iloc[hour], data["temp_air"].iloc[hour])
        exact = psychrolib.GetHumRatioFromTDewPoint(dew, GREENSBORO.pressure[hour])
        assert GREENSBORO.humidity_ratio[hour] == pytest.approx(exact, rel=2e-3)


def test_tmy2_is_in_tenths_of_a_degree():
    miami = read_weather(MIAMI_FILE)
    rows = MIAMI_FILE.read_text().splitlines()[1:]
    dry_bulb = np.array([float(row[67:71]) for row in rows])  # columns 68 to 71 of the format
    assert np.allclose(miami.temperature, dry_bulb / 10.0 + 273.15)
    assert miami.temperature.mean() > GREENSBORO.temperature.mean() + 8.0
    assert miami.place == "Miami FL"


def test_weekdays_are_those_of_the_calendar_year():
    stamps = pd.date_range("2025-01-01", periods=8760, freq="h")
    year = read_weather(GREENSBORO_FILE, 2025)
    assert np.array_equal(year.weekday, stamps.day_of_week)
    assert np.array_equal(year.month, stamps.month)


def epw_lines(hours=8760, temperature=25.0, dew=15.0, pressure=98000, altitude=300.0):
    """A made-up EPW file: header of eight lines, 35 columns."""
    head = [f"LOCATION,Somewhere,ZZ,USA,made up,000000,40.0,-90.0,-6.0,{altitude}"] + ["COMMENT"] * 7
    rest = ",".join(["0"] * 25)
    stamps = pd.date_range("2023-01-01" if hours == 8760 else "2024-01-01", periods=hours, freq="h")
    rows = [
        f"{t.year},{t.month},{t.day},{t.hour + 1},0,x,{temperature},{dew},{50},{pressure},{rest}"
        for t in stamps
    ]
    return head + rows


def written(tmp_path, lines, name="made_up.epw"):
    file = tmp_path / name
    file.write_text("\n".join(lines) + "\n")
    return file


def test_epw(tmp_path):
    year = read_weather(written(tmp_path, epw_lines()))
    assert np.allclose(year.temperature, 298.15)
    assert np.allclose(year.pressure, 98000.0)
    assert year.place == "Somewhere ZZ"
    psychrolib.SetUnitSystem(psychrolib.SI)
    assert year.humidity_ratio[0] == pytest.approx(
        psychrolib.GetHumRatioFromTDewPoint(15.0, 98000.0), rel=2e-3
    )


def test_epw_with_gaps_and_codes_for_missing(tmp_path):
    lines = epw_lines(dew=99.9, pressure=999999)
    lines[8 + 100] = lines[8 + 100].replace(",25.0,", ",99.9,")
    year = read_weather(written(tmp_path, lines))
    assert year.temperature[100] == pytest.approx(298.15)
    # standard atmosphere at 300 m: 97.77 kPa (ASHRAE Fundamentals 2017, ch. 1, eq. 3)
    assert np.allclose(year.pressure, 97773.0, atol=15.0)
    psychrolib.SetUnitSystem(psychrolib.SI)
    exact = psychrolib.GetHumRatioFromRelHum(25.0, 0.5, year.pressure[0])
    assert year.humidity_ratio[0] == pytest.approx(exact, rel=2e-3)


def test_a_leap_day_is_dropped(tmp_path):
    lines = epw_lines(hours=8784)
    for hour in range(59 * 24, 60 * 24):
        lines[8 + hour] = lines[8 + hour].replace(",25.0,", ",40.0,")
    year = read_weather(written(tmp_path, lines))
    assert np.allclose(year.temperature, 298.15)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda p: p / "none.epw", "weather file none.epw does not exist"),
        (lambda p: written(p, ["a"], "a.txt"), "weather file must end in .epw, .csv, .tm2, got a.txt"),
        (lambda p: written(p, ["not,a,weather,file"], "a.csv"), "weather file a.csv cannot be read as TMY3"),
        (lambda p: written(p, [""], "a.epw"), "weather file a.epw cannot be read as EPW"),
        (lambda p: written(p, ["x"] * 5, "a.tm2"), "weather file a.tm2 cannot be read as TMY2"),
        (lambda p: written(p, epw_lines()[:2000]), "a whole year of 8760 hours is needed, got 1992 rows"),
        (lambda p: written(p, epw_lines(temperature=99.9)), "dry bulb is missing for 8760 hours on end"),
        (lambda p: written(p, epw_lines(temperature=-95.0)), "temperature must lie in"),
    ],
)
def test_files_that_are_no_year_are_refused(tmp_path, make, message):
    with pytest.raises(ValueError, match=message):
        read_weather(make(tmp_path))


def test_a_file_far_too_large_is_not_read(tmp_path, monkeypatch):
    monkeypatch.setattr(reading, "LARGEST_FILE", 1000)
    with pytest.raises(ValueError, match=r"weather file made_up\.epw is larger than"):
        read_weather(written(tmp_path, epw_lines()))


@given(content=st.binary(max_size=400), ending=st.sampled_from([".epw", ".csv", ".tm2"]))
@settings(derandomize=True, deadline=None, max_examples=40)
def test_random_bytes_are_refused_in_a_sentence(tmp_path_factory, content, ending):
    file = tmp_path_factory.mktemp("bytes") / f"noise{ending}"
    file.write_bytes(content)
    with pytest.raises(ValueError, match=r"^(weather|load) file noise"):
        read_weather(file)
    if ending == ".csv":
        with pytest.raises(ValueError, match=r"^load file noise"):
            read_hourly_load(file, "SI")


def load_file(tmp_path, header="load", row="1200", rows=8760):
    return written(tmp_path, [header] + [row] * rows, "load.csv")


def test_hourly_load_in_the_systems_unit_or_its_own(tmp_path):
    assert np.allclose(read_hourly_load(load_file(tmp_path), "SI").total, 1200.0)
    assert np.allclose(read_hourly_load(load_file(tmp_path), "US").total, 1200.0 * 0.29307107)
    tons = load_file(tmp_path, "hour,Load [ton],latent [kW]", "0,2,1.5")
    load = read_hourly_load(tons, "SI")
    assert np.allclose(load.total, 2.0 * 3516.853)
    assert np.allclose(load.latent, 1500.0)
    gaps = written(tmp_path, ["load", ""] + ["1200"] * 8760 + ["", ""], "load.csv")
    assert np.allclose(read_hourly_load(gaps, "SI").total, 1200.0)
    leap = read_hourly_load(load_file(tmp_path, rows=8784), "SI")
    assert leap.total.size == 8760


@pytest.mark.parametrize(
    ("header", "row", "rows", "message"),
    [
        ("power", "1", 8760, "line 1: a column named load is needed"),
        ("load [hp]", "1", 8760, "unit of load must be one of W, kW, Btu/h, kBtu/h, ton, got 'hp'"),
        ("load", "many", 8760, "line 2: load must be a number, got 'many'"),
        ("load", "-3", 8760, "line 2: load must be 0 or more, got -3"),
        ("load", "nan", 8760, "line 2: load must be 0 or more, got nan"),
        ("load,latent", "5", 8760, "line 2: latent must be a number, got ''"),
        ("load,latent", "5,6", 8760, "latent must lie between 0 W and the total load"),
        ("load", "1", 8000, "a whole year of 8760 hours is needed, got 8000 rows"),
        ("load", "1", 9000, "a whole year of 8760 hours is needed, got more rows"),
    ],
)
def test_loads_that_are_none_are_refused(tmp_path, header, row, rows, message):
    with pytest.raises(ValueError, match=message):
        read_hourly_load(load_file(tmp_path, header, row, rows), "SI")


def rearranged(change):
    """The made-up file with its rows after the header changed."""
    lines = epw_lines()
    return lines[:8] + change(lines[8:])


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (
            lambda rows: [*rows[:100], rows[101], rows[100], *rows[102:]],
            "line 109 is of month 1, day 5, 05:00",
        ),
        (lambda rows: [*rows[:100], rows[99], *rows[101:]], "line 109 is .* day 5, 03:00"),
        (lambda rows: [row for row in rows for _ in range(2)], "line 10 is .* day 1, 00:00"),
        (lambda rows: [row for row in rows[:4380] for _ in range(2)], "line 10 is .* day 1, 00:00"),
        (
            lambda rows: [*rows[744:], *rows[:744]],
            "line 9 is of month 2, day 1, 00:00 to 01:00; month 1,",
        ),
    ],
    ids=["swapped", "one doubled", "every row doubled", "half-hourly, half a year", "from February"],
)
def test_rows_that_are_not_the_hours_of_a_year_in_order_are_refused(tmp_path, change, words):
    with pytest.raises(ValueError, match=words):
        read_weather(written(tmp_path, rearranged(change)))


def test_a_leap_year_without_its_last_day_is_refused_and_a_whole_one_read(tmp_path):
    lines = epw_lines(8784)
    assert read_weather(written(tmp_path, lines)).temperature.size == 8760
    with pytest.raises(
        ValueError, match="ends with month 12, day 30, 23:00 to 24:00; a whole leap year of 8784"
    ):
        read_weather(written(tmp_path, lines[:-24]))
