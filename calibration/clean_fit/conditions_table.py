"""A whole table of operating points in, the same table with predictions out (CSV).

The header names settings by the case file's keys (`outdoor_db`, `return_db`, one of `return_wb`, `return_rh`,
`return_dewpoint`, optional airflow, blower power, barometer and speeds) and, optionally, faults by the fields
of `model.cycle.faults.Faults`; numbers are in the units of the case. Other columns are kept as they are. Out
come the columns as they were and what the fitted unit does there, in the same units; a column that came in
under the name of a result, or of `state`, gives way to the prediction.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass, fields
from pathlib import Path

import numpy as np

from calibration.case.keys import find_key
from calibration.case.units import System
from calibration.clean_fit.baseline import Baseline
from calibration.clean_fit.observation import HUMIDITIES, conditions
from calibration.clean_fit.observation import SETTINGS as READ_SETTINGS
from calibration.files.atomic_file import write_whole
from calibration.files.input_file import input_bytes
from calibration.files.spreadsheet_text import harmless_cell, is_number
from model.arrays import Array
from model.cycle.faults import RANGES, Faults
from model.cycle.solve import OperatingPoint, solve

SETTINGS = (*READ_SETTINGS, "barometer", "compressor_speed", "outdoor_fan_speed")
FAULTS = tuple(field.name for field in fields(Faults))
RESULTS = {
    "suction_pressure": "suction_pressure",
    "liquid_pressure": "liquid_pressure",
    "discharge_pressure": "discharge_pressure",
    "evaporating_temperature": "evaporating_temperature",
    "condensing_temperature": "condensing_temperature",
    "superheat": "superheat",
    "subcooling": "subcooling",
    "suction_temperature": "suction_temperature",
    "liquid_temperature": "liquid_temperature",
    "discharge_temperature": "discharge_temperature",
    "supply_db": "supply_temperature",
    "supply_wb": "supply_wet_bulb",
    "capacity": "net_capacity",
    "gross_capacity": "gross_capacity",
    "sensible_capacity": "sensible_capacity",
    "compressor_power": "compressor_power",
    "outdoor_power": "outdoor_power",
    "total_power": "total_power",
    "eer": "eer",
    "cop": "cop",
    "refrigerant_flow": "refrigerant_flow",
}
"""Columns that come out, and the field of `OperatingPoint` that each shows; `state` follows."""

SIGNIFICANT_DIGITS = 7
LARGEST_TABLE = 100_000_000
"""Bytes that a table may have."""
MOST_ROWS = 500_000
"""Rows that a table may have."""
LONGEST_LINE = 1_000_000
"""Bytes that a line of it may have."""
MOST_COLUMNS = 200
"""Columns that a table may have."""


@dataclass(frozen=True)
class ConditionsTable:
    """A table of operating points.

    Attributes
    ----------
    header : tuple of str
        Columns as they stood.
    rows : tuple of tuples of str
        Cells as they stood.
    values : mapping of str to array
        Columns that mean something, in SI; gauge pressures do not occur.
    """

    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    values: Mapping[str, Array]


def read_conditions(path: Path, system: System) -> ConditionsTable:
    """Read a table of operating points.

    Parameters
    ----------
    path : Path
        CSV with a header.
    system : {"US", "SI"}
        Units of its numbers.

    Returns
    -------
    ConditionsTable

    Raises
    ------
    ValueError
        One sentence: which column or row, what is there, what is expected.
    OSError
        Where the file cannot be read.
    """
    lines = _lines(path)
    if len(lines) < 2:
        raise ValueError(f"{path}: has no rows; a header and at least one operating point are expected")
    header = tuple(cell.strip() for cell in lines[0])
    _check_header(path, header)
    for number, row in enumerate(lines[1:], start=2):
        if len(row) != len(header):
            raise ValueError(f"{path}: row {number} has {len(row)} cells; {len(header)} are expected")
    columns = {name: [row[place] for row in lines[1:]] for place, name in enumerate(header)}
    wanted = [name for name in header if name in SETTINGS or name in FAULTS]
    values = {name: _numbers(path, name, columns[name], system) for name in wanted}
    _check_values(path, values, system)
    return ConditionsTable(header, tuple(tuple(row) for row in lines[1:]), values)


def _lines(path: Path) -> list[list[str]]:
    """Cells of every line that has any; a file out of all proportion is refused before it is taken apart."""
    raw = input_bytes(path, LARGEST_TABLE + 1)
    if len(raw) > LARGEST_TABLE:
        raise ValueError(f"{path}: is longer than the {LARGEST_TABLE} bytes of a table; cut it into several")
    count = max(raw.count(b"\n"), raw.count(b"\r")) - 1
    if count > MOST_ROWS:
        raise ValueError(f"{path}: has {count} rows; at most {MOST_ROWS} are expected")
    if b"\n" not in raw:
        raw = raw.replace(b"\r", b"\n")
    if any(len(line) > LONGEST_LINE for line in io.BytesIO(raw)):
        raise ValueError(f"{path}: has a line of more than {LONGEST_LINE} bytes; a CSV is expected")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ValueError(f"{path}: is not a text file in UTF-8; a CSV with a header is expected") from None
    del raw
    try:
        rows = csv.reader(io.StringIO(text, newline=""), strict=True)
        return [row for row in rows if row and (row[0].strip() or any(map(str.strip, row)))]
    except csv.Error as problem:
        raise ValueError(f"{path}: is not a readable CSV ({problem})") from None


def _check_header(path: Path, header: tuple[str, ...]) -> None:
    if len(header) > MOST_COLUMNS:
        raise ValueError(f"{path}: has {len(header)} columns; at most {MOST_COLUMNS} are expected")
    twice = {name for name in header if header.count(name) > 1}
    if twice:
        raise ValueError(f"{path}: column {sorted(twice)[0]} stands twice; once is expected")
    for name in ("outdoor_db", "return_db"):
        if name not in header:
            raise ValueError(f"{path}: column {name} is missing; it is expected in every table of conditions")
    given = [name for name in HUMIDITIES if name in header]
    if len(given) != 1:
        found = " and ".join(given) if given else "none"
        raise ValueError(f"{path}: exactly one of {', '.join(HUMIDITIES)} is expected, got {found}")
    if "indoor_airflow" in header and "indoor_airflow_standard" in header:
        raise ValueError(f"{path}: one of indoor_airflow and indoor_airflow_standard is expected, got both")


def _numbers(path: Path, name: str, cells: list[str], system: System) -> Array:
    key = find_key(name, "visit") or find_key(name, "fault") or find_key(name)
    quantity = key.quantity if key else None
    try:
        numbers = np.array([float(cell) for cell in cells])
    except ValueError:
        numbers = None
    if numbers is None or any("_" in cell for cell in cells):
        bad = next(i for i, cell in enumerate(cells) if not is_number(cell))
        raise ValueError(f"{path}: {name} in row {bad + 2} is {cells[bad][:40]!r}; a number is expected")
    if not np.all(np.isfinite(numbers)):
        bad = int(np.flatnonzero(~np.isfinite(numbers))[0])
        raise ValueError(
            f"{path}: {name} in row {bad + 2} is {cells[bad][:40]!r}; a finite number is expected"
        )
    return numbers if quantity is None else quantity.to_si(numbers, system)


def _check_values(path: Path, values: Mapping[str, Array], system: System) -> None:
    for name, column in values.items():
        key = find_key(name, "visit") or find_key(name, "fault")
        limits = RANGES.get(name) or (key.limits if key else None)
        if limits is None:
            continue
        low, high = limits
        outside = np.flatnonzero(~((column >= low) & (column <= high)))
        if outside.size:
            row = int(outside[0])
            quantity = key.quantity if key else None
            unit = f" {quantity.label(system)}" if quantity and quantity.label(system) else ""
            shown = [
                f"{quantity.from_si(v, system) if quantity else v:.4g}"
                for v in (float(column[row]), low, high)
            ]
            raise ValueError(
                f"{path}: {name} in row {row + 2} is {shown[0]}{unit}; "
                f"{shown[1]} to {shown[2]}{unit} is expected"
            )
    if "return_wb" in values:
        over = np.flatnonzero(values["return_wb"] > values["return_db"])
        if over.size:
            raise ValueError(
                f"{path}: return_wb in row {over[0] + 2} is above return_db; at or below it is expected"
            )
    if "return_dewpoint" in values:
        over = np.flatnonzero(values["return_dewpoint"] > values["return_db"])
        if over.size:
            raise ValueError(
                f"{path}: return_dewpoint in row {over[0] + 2} is above return_db; at or below it is expected"
            )


def predicted_table(baseline: Baseline, table: ConditionsTable, ambient_pressure: float) -> OperatingPoint:
    """Operating points of a table.

    Parameters
    ----------
    baseline : Baseline
        Fitted clean unit.
    table : ConditionsTable
        Conditions and faults.
    ambient_pressure : float
        Where the table has no barometer [Pa].

    Returns
    -------
    OperatingPoint, shape (rows,)
        In SI.

    Raises
    ------
    ValueError
        Which row has air without any moisture.
    """
    values = table.values
    settings = {name: values[name] for name in values if name in READ_SETTINGS}
    weather = conditions(
        settings,
        values.get("barometer", np.asarray(ambient_pressure)),
        values.get("compressor_speed", np.asarray(1.0)),
        values.get("outdoor_fan_speed", np.asarray(1.0)),
    )
    dry = np.flatnonzero(np.asarray(weather.return_humidity_ratio) <= 0.0)
    if dry.size:
        (name,) = (one for one in HUMIDITIES if one in values)
        raise ValueError(
            f"{name} in row {dry[0] + 2} of the conditions is that of bone-dry air or less; more is expected"
        )
    return solve(baseline.unit, weather, Faults(**{name: values[name] for name in values if name in FAULTS}))


def write_predictions(
    path: Path,
    table: ConditionsTable,
    point: OperatingPoint,
    system: System,
    ambient_pressure: float,
    units_in_header: bool = False,
) -> None:
    """Write the table with its predictions; the file is there whole or not at all.

    Parameters
    ----------
    path : Path
        CSV file, new or old.
    table : ConditionsTable
        Columns as they came in.
    point : OperatingPoint, shape (rows,)
        What the unit does there [SI].
    system : System
        Units of the numbers.
    ambient_pressure : float
        Where the table has no barometer [Pa].
    units_in_header : bool
        Whether each name in the header is followed by its unit in brackets.

    Raises
    ------
    OSError
        Where it cannot be written.
    """
    pressure = table.values.get("barometer", np.asarray(ambient_pressure))
    shown = []
    for name, attribute in RESULTS.items():
        key = find_key(name, "result") or find_key(name)
        quantity = key.quantity if key else None
        values = np.asarray(getattr(point, attribute))
        shown.append(values if quantity is None else quantity.from_si(values, system, pressure))
    names = [name for name in table.header if name not in (*RESULTS, "state")]
    keep = [table.header.index(name) for name in names]
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    header = [*(harmless_cell(name) for name in names), *RESULTS, "state"]
    writer.writerow([_with_unit(name, system) for name in header] if units_in_header else header)
    states = point.state_names()
    for number, row in enumerate(table.rows):
        results = [f"{column[number]:.{SIGNIFICANT_DIGITS}g}" for column in shown]
        writer.writerow([*(harmless_cell(row[place]) for place in keep), *results, states[number]])
    write_whole(path, buffer.getvalue().encode("utf-8"))


def _with_unit(name: str, system: System) -> str:
    """Name of a column with its unit in brackets, as far as it has one."""
    key = find_key(name, "result") if name in RESULTS else None
    key = key or find_key(name)
    unit = key.quantity.label(system) if key and key.quantity else ""
    return f"{name} [{unit}]" if unit else name
