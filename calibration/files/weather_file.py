"""Typical years of weather and hourly loads from files, as `model.season.simulation` takes them.

Three formats that meteorological services publish: EPW, TMY3 and TMY2, read with pvlib's readers, which are
imported only then.

Assumptions: rows are hours in order from midnight of the first of January, which month, day and hour of every
row must say; a leap day is dropped. A typical year has no weekdays of its own and takes those of a calendar
year. Gaps of a few hours are bridged by a straight line; a missing barometer is replaced by the standard
atmosphere's pressure at the station's altitude.

Sources: Wilcox and Marion, Users Manual for TMY3 Data Sets, NREL/TP-581-43156, 2008, and the EnergyPlus
documentation of EPW for the missing-value codes (from memory).
"""

from __future__ import annotations

import csv
import datetime
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from calibration.case.units import BTU_PER_HOUR, TON, System
from calibration.files.typical_years import CALENDAR_YEAR, WEATHER_ENDINGS
from model.arrays import Array, IntArray
from model.properties import moist_air
from model.properties.moist_air import ZERO_CELSIUS
from model.season.load import LATENT_SHARE, CoolingLoad, given_load
from model.season.weather_year import HOURS_PER_DAY, HOURS_PER_YEAR, WeatherYear, hourly_year

if TYPE_CHECKING:
    import pandas as pd


LARGEST_FILE = 30_000_000
"""Largest file that is read [bytes]; a typical year takes 1 to 2 million."""
LONGEST_GAP = 12
"""Longest run of missing hours that is bridged [h]; a choice of this package."""
LEAP_DAY = slice(59 * HOURS_PER_DAY, 60 * HOURS_PER_DAY)
"""Hours of 29 February in a leap year."""
READER_PROBLEMS = (ArithmeticError, AttributeError, LookupError, NameError, TypeError, ValueError, csv.Error)
"""What pvlib's readers raise on a file that is not what its name says."""
LOAD_UNITS = {"W": 1.0, "kW": 1e3, "Btu/h": BTU_PER_HOUR, "kBtu/h": 1e3 * BTU_PER_HOUR, "ton": TON}
"""Units in which an hourly load may be written, and watts in one of each."""
CARBON_UNITS = {"kg/kWh": 1.0, "g/kWh": 1e-3}
"""Units in which hourly carbon dioxide may be written, and kg/kWh in one of each."""


class _Station(NamedTuple):
    """Columns of a weather file in degC and Pa, NaN where missing, with the place and its altitude [m].

    `hours` are month, day and beginning hour of each row, shape (rows, 3); the first row's line of the file.
    """

    temperature: Array
    dew_point: Array
    relative_humidity: Array
    pressure: Array
    place: str
    altitude: float
    hours: IntArray
    first_line: int


def read_weather(path: str | Path, calendar_year: int = CALENDAR_YEAR) -> WeatherYear:
    """A year of weather from an EPW, TMY3 or TMY2 file.

    Parameters
    ----------
    path : str or Path
        File ending in .epw, .csv (TMY3) or .tm2 (TMY2).
    calendar_year : int
        Year whose weekdays the typical year takes.

    Returns
    -------
    WeatherYear

    Raises
    ------
    ValueError
        Where the file is not one of the three, is not a whole year, or has gaps that are too long; the
        message names the file and what is wrong.
    """
    file = Path(path)
    _require_file(file, WEATHER_ENDINGS, "weather")
    station = _read_station(file)
    try:
        return _year_of(station, datetime.date(calendar_year, 1, 1).weekday())
    except ValueError as problem:
        raise ValueError(f"weather file {file.name}: {problem}") from None


def _require_file(file: Path, endings: tuple[str, ...], what: str) -> None:
    """Raise where a file does not exist, has another ending or is far too large."""
    try:
        there = file.is_file()
    except OSError:  # a name that no file can have
        there = False
    if not there:
        raise ValueError(f"{what} file {file.name[:80]} does not exist")
    if file.suffix.lower() not in endings:
        raise ValueError(f"{what} file must end in {', '.join(endings)}, got {file.name}")
    if file.stat().st_size > LARGEST_FILE:
        raise ValueError(f"{what} file {file.name} is larger than {LARGEST_FILE // 1_000_000} MB")


def _read_station(file: Path) -> _Station:
    """The columns that matter, from whichever of the three formats."""
    from pvlib.iotools import read_epw, read_tmy2, read_tmy3

    kind = file.suffix.lower()
    try:
        if kind == ".epw":
            data, place = read_epw(str(file.resolve()))
            return _from_epw(data, place)
        if kind == ".csv":
            data, place = read_tmy3(str(file.resolve()), map_variables=True)
            return _from_tmy3(data, place)
        data, place = read_tmy2(str(file.resolve()))
        return _from_tmy2(data, place)
    except READER_PROBLEMS as problem:
        name = {".epw": "EPW", ".csv": "TMY3", ".tm2": "TMY2"}[kind]
        raise ValueError(
            f"weather file {file.name} cannot be read as {name}: {_first_line(problem)}"
        ) from None


def _first_line(problem: BaseException) -> str:
    """First line of an exception's message, cut to a readable length."""
    lines = str(problem).strip().splitlines()
    return (lines[0] if lines else type(problem).__name__)[:120]


def _from_epw(data: pd.DataFrame, place: dict[str, Any]) -> _Station:
    """EPW: degC, %, Pa; 99.9, 999 and 999999 where missing."""
    return _Station(
        _column(data, "temp_air", 99.0),
        _column(data, "temp_dew", 99.0),
        _column(data, "relative_humidity", 900.0),
        _column(data, "atmospheric_pressure", 900_000.0),
        f"{place['city']} {place['state-prov']}".strip(),
        float(place["altitude"]),
        np.column_stack([data["month"], data["day"], data["hour"] - 1]).astype(np.int64),
        9,
    )


def _column(data: pd.DataFrame, name: str, too_large: float) -> Array:
    """A column as numbers, NaN for the codes of a missing value."""
    values = np.asarray(data[name], dtype=float).copy()
    values[(values >= too_large) | (values <= -900.0)] = np.nan
    return values


def _from_tmy3(data: pd.DataFrame, place: dict[str, Any]) -> _Station:
    """TMY3: degC, %, mbar; -9900 where missing."""
    return _Station(
        _column(data, "temp_air", 99.0),
        _column(data, "temp_dew", 99.0),
        _column(data, "relative_humidity", 900.0),
        100.0 * _column(data, "pressure", 9000.0),
        f"{str(place['Name']).strip(chr(34)).title()} {place['State']}".strip(),
        float(place["altitude"]),
        _ending_hours(data["Date (MM/DD/YYYY)"], data["Time (HH:MM)"]),
        3,
    )


def _ending_hours(dates: Any, times: Any) -> IntArray:
    """Month, day and beginning hour of rows that are named after the end of their hour, 24:00 the last."""
    rows = zip(dates.astype(str), times.astype(str), strict=True)
    parts = [(*date.split("/")[:2], time.split(":")[0]) for date, time in rows]
    return np.asarray(np.array(parts, dtype=np.int64) - np.array([0, 0, 1]))


def _from_tmy2(data: pd.DataFrame, place: dict[str, Any]) -> _Station:
    """TMY2: tenths of degC, %, mbar; 9999 and 999 where missing."""
    return _Station(
        0.1 * _column(data, "DryBulb", 9000.0),
        0.1 * _column(data, "DewPoint", 9000.0),
        _column(data, "RHum", 900.0),
        100.0 * _column(data, "Pressure", 9000.0),
        f"{str(place['City']).title()} {place['State']}".strip(),
        float(place["altitude"]),
        np.column_stack([data["month"], data["day"], data["hour"] - 1]).astype(np.int64),
        2,
    )


def _year_of(station: _Station, first_weekday: int) -> WeatherYear:
    """A station's columns as a weather year."""
    _check_hours(station)
    celsius = _bridged("dry bulb", _without_leap_day(station.temperature))
    kelvin = celsius + ZERO_CELSIUS
    pressure = _without_leap_day(station.pressure)
    standard = float(moist_air.standard_pressure(station.altitude))
    pressure = np.where(np.isfinite(pressure), pressure, standard)
    dew = _without_leap_day(station.dew_point)
    if np.isnan(dew).all():
        humidity = _bridged("relative humidity", _without_leap_day(station.relative_humidity)) / 100.0
        moisture = moist_air.humidity_ratio_from_relative_humidity(
            kelvin, np.clip(humidity, 0.0, 1.0), pressure
        )
    else:
        dew_point = np.minimum(_bridged("dew point", dew), celsius) + ZERO_CELSIUS
        moisture = moist_air.humidity_ratio_from_dew_point(dew_point, pressure)
    return hourly_year(kelvin, moisture, pressure, station.place, first_weekday)


def _check_hours(station: _Station) -> None:
    """Refuse rows that are not the hours of one year in order, naming the first that is wrong."""
    leap = bool(np.any((station.hours[:, 0] == 2) & (station.hours[:, 1] == 29)))
    year = 2024 if leap else 2023
    days = np.arange(f"{year}-01-01", f"{year + 1}-01-01", dtype="datetime64[D]")
    months = days.astype("datetime64[M]")
    dates = np.column_stack([months.astype(np.int64) % 12 + 1, (days - months).astype(np.int64) + 1])
    wanted = np.column_stack(
        [np.repeat(dates, HOURS_PER_DAY, axis=0), np.tile(np.arange(HOURS_PER_DAY), days.size)]
    )
    count = min(len(wanted), len(station.hours))
    wrong = np.flatnonzero(np.any(station.hours[:count] != wanted[:count], axis=1))
    if wrong.size:
        found, due = (_hour_words(*rows[wrong[0]]) for rows in (station.hours, wanted))
        raise ValueError(
            f"line {wrong[0] + station.first_line} is of {found}; {due} is expected, "
            "every hour of a year once and in order"
        )
    if leap and len(station.hours) < len(wanted):
        last = _hour_words(*station.hours[-1])
        raise ValueError(f"ends with {last}; a whole leap year of {len(wanted)} hours is expected")


def _hour_words(month: int, day: int, hour: int) -> str:
    """An hour of the year in words."""
    return f"month {month}, day {day}, {hour:02d}:00 to {hour + 1:02d}:00"


def _without_leap_day(values: Array) -> Array:
    """A year of 8,760 hours; 29 February of a leap year is taken out."""
    if values.size == HOURS_PER_YEAR + HOURS_PER_DAY:
        return np.delete(values, LEAP_DAY)
    if values.size != HOURS_PER_YEAR:
        raise ValueError(f"a whole year of {HOURS_PER_YEAR} hours is needed, got {values.size} rows")
    return values


def _bridged(name: str, values: Array) -> Array:
    """A column whose short gaps are filled by straight lines."""
    missing = ~np.isfinite(values)
    if not missing.any():
        return values
    edges = np.flatnonzero(np.diff(np.concatenate([[0], missing.astype(np.int8), [0]])))
    longest = int(np.max(edges[1::2] - edges[::2]))
    if longest > LONGEST_GAP:
        raise ValueError(f"{name} is missing for {longest} hours on end, at most {LONGEST_GAP} are bridged")
    hours = np.arange(values.size)
    return np.interp(hours, hours[~missing], values[~missing])


def read_hourly_load(path: str | Path, system: System, latent_share: float = LATENT_SHARE) -> CoolingLoad:
    """A building's cooling load, hour by hour, from a CSV file.

    Parameters
    ----------
    path : str or Path
        CSV with a header and 8,760 rows from midnight of the first of January: a column ``load`` and, where
        known, a column ``latent``. A unit may follow in brackets, ``load [kW]``: W, kW, Btu/h, kBtu/h or ton.
    system : "US" or "SI"
        System of a column that names no unit: Btu/h or W.
    latent_share : float
        Latent part of the load where no column gives it [-].

    Returns
    -------
    CoolingLoad

    Raises
    ------
    ValueError
        Where the file, a column or a row is not as it should be; the message names the file and the line.
    """
    file = Path(path)
    _require_file(file, (".csv",), "load")
    try:
        with file.open(newline="", encoding="utf-8-sig") as stream:
            rows = csv.reader(stream)
            usual = "Btu/h" if system == "US" else "W"
            columns = _columns(next(rows, []), ("load", "latent"), LOAD_UNITS, usual)
            values = _values(rows, columns)
        load = {name: _without_leap_day(np.array(column)) for name, column in values.items()}
        return given_load(load["load"], load.get("latent"), latent_share)
    except UnicodeDecodeError:
        raise ValueError(f"load file {file.name} is not UTF-8 text") from None
    except (ValueError, csv.Error) as problem:
        raise ValueError(f"load file {file.name}: {_first_line(problem)}") from None


def read_hourly_carbon(path: str | Path) -> tuple[float, ...]:
    """Carbon dioxide of electricity, hour by hour, from a CSV file.

    Parameters
    ----------
    path : str or Path
        CSV with a header and 8,760 rows from midnight of the first of January: a column ``carbon`` in kg/kWh;
        a unit in brackets, ``carbon [g/kWh]``: kg/kWh or g/kWh.

    Returns
    -------
    tuple of float
        Of every hour [kg/kWh].

    Raises
    ------
    ValueError
        Where the file, the column or a row is not as it should be; the message names the file and the line.
    """
    file = Path(path)
    _require_file(file, (".csv",), "carbon")
    try:
        with file.open(newline="", encoding="utf-8-sig") as stream:
            rows = csv.reader(stream)
            columns = _columns(next(rows, []), ("carbon",), CARBON_UNITS, "kg/kWh")
            values = _values(rows, columns)["carbon"]
        hours = _without_leap_day(np.array(values))
    except UnicodeDecodeError:
        raise ValueError(f"carbon file {file.name} is not UTF-8 text") from None
    except (ValueError, csv.Error) as problem:
        raise ValueError(f"carbon file {file.name}: {_first_line(problem)}") from None
    return tuple(hours.tolist())


def _columns(
    header: list[str], names: tuple[str, ...], units: Mapping[str, float], usual: str
) -> dict[str, tuple[int, float]]:
    """Place of each named column, and the factor of its unit; the first of the names is needed."""
    found: dict[str, tuple[int, float]] = {}
    for place, title in enumerate(header):
        name, _, rest = title.partition("[")
        given, wanted = rest.partition("]")[0].strip() or usual, name.strip().lower()
        if wanted not in names:
            continue
        if given not in units:
            raise ValueError(f"unit of {wanted} must be one of {', '.join(units)}, got {given!r}")
        found[wanted] = place, units[given]
    if names[0] not in found:
        raise ValueError(f"line 1: a column named {names[0]} is needed")
    return found


def _values(rows: Any, columns: dict[str, tuple[int, float]]) -> dict[str, list[float]]:
    """Numbers of each column in SI, row by row."""
    values: dict[str, list[float]] = {name: [] for name in columns}
    for line, row in enumerate(rows, start=2):
        if not row:
            continue
        if line > HOURS_PER_YEAR + HOURS_PER_DAY + 1:
            raise ValueError(f"a whole year of {HOURS_PER_YEAR} hours is needed, got more rows")
        for name, (place, factor) in columns.items():
            text = row[place].strip() if place < len(row) else ""
            try:
                number = float(text)
            except ValueError:
                raise ValueError(f"line {line}: {name} must be a number, got {text[:40]!r}") from None
            if not 0.0 <= number < np.inf:
                raise ValueError(f"line {line}: {name} must be 0 or more, got {text[:40]}")
            values[name].append(number * factor)
    return values
