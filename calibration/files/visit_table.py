"""Tables of visits from a spreadsheet: which column is which reading, and the entries of each visit.

A table has one visit a row, or, as on paper, one visit a column; the way that names more readings is taken.
Headers are matched to the keys of the case file, by the key itself, by its words, or by words that people use
(a unit in brackets is heeded); whoever imports can change every match. Cells become the texts that a person
would have typed, so that one way of checking serves both.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from calibration.case.entries import EARLIEST_YEAR, LATEST_YEAR, number_of
from calibration.case.errors import CaseError, Problem
from calibration.case.keys import keys_of
from calibration.case.units import System
from calibration.files.headers import Column
from calibration.files.matching import column_named, matched
from model.properties.moist_air import STANDARD_PRESSURE

MOST_ROWS, MOST_COLUMNS = 500, 400
"""Rows and columns of a table that are read; more is refused."""
LARGEST_TABLE = 20_000_000
"""Bytes of a file."""
LARGEST_SHEETS = 4_000_000
"""Bytes of a spreadsheet's parts when they are unpacked; pictures in it do not count."""
MOST_PARTS = 500
"""Parts of a spreadsheet, pictures and all: each sheet is one or two."""
MOST_CELLS = 50_000
"""Cells of a spreadsheet that are read; more is refused."""
LONGEST_CELL = 4000
"""Characters of a cell that are kept."""

_COILS = {
    "clean": ("clean", "cleaned", "after", "new"),
    "as found": ("as found", "found", "dirty", "fouled", "before"),
}
_DATES = (
    "%Y-%m-%d",
    "%Y/%m/%d",
    "%Y.%m.%d",
    "%Y%m%d",
    "%m/%d/%Y",
    "%m/%d/%y",
    "%m-%d-%Y",
    "%d.%m.%Y",
    "%d.%m.%y",
    "%d/%m/%Y",
    "%d/%m/%y",
    "%d-%m-%Y",
    *(f"%d{mark}{month}{mark}{year}" for year in ("%Y", "%y") for month in ("%b", "%B") for mark in " -"),
    *(f"{month} %d{mark}%Y" for month in ("%b", "%B") for mark in (", ", " ")),
)
"""Forms of dates; where day and month are both numbers, the month first."""
_DAY_ZERO = dt.date(1899, 12, 30)
"""Day from which spreadsheets number the days."""


@dataclass(frozen=True)
class VisitTable:
    """Cells of a table, one visit a row.

    Attributes
    ----------
    headers : tuple of str
        Of the columns; unnamed ones are numbered.
    rows : tuple of tuples of str
        Cells as texts, as long as the headers.
    """

    headers: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def read_visit_table(content: bytes, name: str) -> VisitTable:
    """Table of a file.

    Parameters
    ----------
    content : bytes
        Content of a CSV file (commas, semicolons or tabs) or of an XLSX spreadsheet (the first sheet
        that is not hidden).
    name : str
        Name of the file: its ending says which.

    Returns
    -------
    VisitTable
        Empty rows and columns left out, turned so that a visit is a row.

    Raises
    ------
    CaseError
        When it is no table, has no row under its header, or is too large.
    """
    if len(content) > LARGEST_TABLE:
        raise _refused(name, f"is longer than the {LARGEST_TABLE} bytes of a table of visits")
    if name.lower().endswith((".xlsx", ".xlsm")):
        cells = _spreadsheet(content, name)
    else:
        cells = _separated(content, name)
    cells = [row for row in cells if any(row)]
    if len(cells) < 2:
        raise _refused(name, "has no row under its header; a header and one row a visit are expected")
    width = max(map(len, cells))
    most = MOST_ROWS + 1 if width > MOST_ROWS + 1 else MOST_ROWS + MOST_COLUMNS
    if len(cells) > most:
        raise _refused(name, f"has {len(cells)} rows; at most {MOST_ROWS} visits are expected")
    square = [[*row, *[""] * (width - len(row))] for row in cells]
    ways = [_table(square), _table([list(row) for row in zip(*square, strict=True)])]
    fitting = [way for way in ways if len(way.rows) <= MOST_ROWS and len(way.headers) <= MOST_COLUMNS]
    if not fitting:
        raise _refused(
            name,
            f"has {len(ways[0].rows)} visits and {len(ways[0].headers)} columns; at most {MOST_ROWS} and "
            f"{MOST_COLUMNS} are expected",
        )
    return max(fitting, key=lambda way: len(_matches(way.headers)))


def _refused(name: str, sentence: str) -> CaseError:
    return CaseError([Problem((), name[:80], sentence)])


def _separated(content: bytes, name: str) -> list[list[str]]:
    """Cells of a text whose cells are parted by commas, semicolons or tabs."""
    if b"\0" in content[:65536] and not content.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _refused(name, "is no table of text; a CSV or XLSX file is expected")
    text = decoded(content)
    first = text.split("\n", 1)[0]
    separator = max(",;\t", key=first.count)
    cells: list[list[str]] = []
    try:
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=separator):
            cells.append([cell.strip()[:LONGEST_CELL] for cell in row[: MOST_ROWS + MOST_COLUMNS]])
            if len(cells) > MOST_ROWS + MOST_COLUMNS:
                break
    except csv.Error as error:
        raise _refused(name, f"cannot be read as a table ({error})") from error
    return cells


def decoded(content: bytes) -> str:
    """Text of a file in one of the encodings that spreadsheets write.

    Parameters
    ----------
    content : bytes
        UTF-16 with its mark, UTF-8, else Latin-1.

    Returns
    -------
    str
    """
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return content.decode("utf-16", errors="replace")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("latin-1")


def _spreadsheet(content: bytes, name: str) -> list[list[str]]:
    """Cells of the first sheet that is not hidden; formulas count by the value that was saved with them."""
    from openpyxl import load_workbook

    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            parts = archive.infolist()
        if len(parts) > MOST_PARTS:
            sentence = f"has {len(parts)} parts; at most {MOST_PARTS} are expected; save its sheet as CSV"
            raise _refused(name, sentence)
        if sum(part.file_size for part in parts if "/media/" not in part.filename) > LARGEST_SHEETS:
            sentence = "unpacks to far more than a table of visits; save its sheet as CSV"
            raise _refused(name, sentence)
        book = load_workbook(io.BytesIO(content), read_only=True, data_only=True)
        sheet = next((one for one in book.worksheets if one.sheet_state == "visible"), None)
        if sheet is None:
            raise _refused(name, "has no sheet that is shown; one with the visits is expected")
        most = MOST_ROWS + MOST_COLUMNS
        found = sheet.iter_rows(max_row=most + 1, max_col=most, values_only=True)
        cells: list[list[str]] = []
        for row in found:
            cells.append([cell_text(value) for value in row])
            if len(cells) * len(cells[-1]) > MOST_CELLS:
                raise _refused(name, f"has more than {MOST_CELLS} cells; cut it to the visits")
        book.close()
    except CaseError:
        raise
    except Exception as error:  # a broken spreadsheet fails in as many ways as it has parts
        raise _refused(name, f"cannot be read as a spreadsheet ({type(error).__name__})") from error
    return cells


def cell_text(value: Any) -> str:
    """A spreadsheet's cell as a text.

    Parameters
    ----------
    value : object
        Text, number, date, time or nothing.

    Returns
    -------
    str
        Dates as year-month-day, numbers with twelve digits; at most `LONGEST_CELL` characters.
    """
    if value is None:
        return ""
    if isinstance(value, dt.datetime):
        midnight = value.time() == dt.time()
        return value.date().isoformat() if midnight else value.isoformat(" ", "minutes")
    if isinstance(value, dt.date | dt.time):
        return value.isoformat()
    if isinstance(value, float):
        return f"{value:.12g}"
    return str(value).strip()[:LONGEST_CELL]


def _table(cells: Sequence[Sequence[str]]) -> VisitTable:
    """First row as header, the others as visits; columns without anything left out."""
    kept = [place for place in range(len(cells[0])) if any(row[place] for row in cells[1:])]
    headers = tuple(cells[0][place] or f"column {place + 1}" for place in kept)
    rows = tuple(tuple(row[place] for place in kept) for row in cells[1:])
    return VisitTable(headers, tuple(row for row in rows if any(row)))


def guessed_keys(table: VisitTable) -> list[str | None]:
    """Key of the reading that each column seems to hold.

    Parameters
    ----------
    table : VisitTable
        With its headers.

    Returns
    -------
    list of str or None
        One for each column; None where nothing is like its header. No key comes twice.
    """
    matches = _matches(table.headers)
    if 0 not in matches and "label" not in matches.values():
        matches[0] = "label"  # what a column of names is for
    return [matches.get(place) for place in range(len(table.headers))]


def _matches(headers: Sequence[str]) -> dict[int, str]:
    """Places of headers and keys of the readings that they name."""
    found = matched([(header,) for header in headers], keys_of("visit").values())
    return {place: key.name for place, key in found.items()}


def visit_entries(
    table: VisitTable,
    keys: Sequence[str | None],
    system: System,
    ambient_pressure: float = STANDARD_PRESSURE,
) -> list[dict[str, str]]:
    """Entries of each visit as they would be typed in one system.

    Parameters
    ----------
    table : VisitTable
        Cells.
    keys : sequence of str or None
        Key of each column; None leaves it out.
    system : {"US", "SI"}
        System of the entries, and of columns whose header names no unit.
    ambient_pressure : float
        Local barometric pressure, for columns of absolute pressures [Pa].

    Returns
    -------
    list of dict of str to str
        Texts by key; empty cells left out. What cannot be understood stays as it is, for the form to complain
        of.

    Raises
    ------
    CaseError
        When one key is given to two columns, or a header names a unit that the reading does not have.
    """
    chosen = [name for name in keys if name]
    twice = next((name for name in chosen if chosen.count(name) > 1), None)
    if twice is not None:
        raise _refused(
            "columns", f"two columns are matched to {keys_of('visit')[twice].words}; one is expected"
        )
    columns = {place: _column(table.headers[place], name) for place, name in enumerate(keys) if name}
    visits = []
    for row in table.rows:
        entries = {
            column.key.name: _typed(row[place], column, system, ambient_pressure)
            for place, column in columns.items()
            if row[place]
        }
        if "coil" not in entries and coil_of(entries.get("label", "")) in _COILS:
            entries["coil"] = coil_of(entries["label"])
        visits.append(entries)
    return visits


def _column(header: str, name: str) -> Column:
    """What a column holds, with the unit at the end of its header where it is one of the reading."""
    try:
        return column_named(header, keys_of("visit")[name])
    except ValueError as error:
        raise _refused("columns", str(error)) from error


def _typed(cell: str, column: Column, system: System, ambient_pressure: float) -> str:
    """Text of a cell as a form in one system takes it."""
    key = column.key
    if key.form == "date":
        return iso_date(cell, system)
    if key.form == "choice":
        return coil_of(cell)
    if key.form != "number" or key.quantity is None or (column.scale is None and not column.absolute):
        return cell
    try:
        number = number_of(cell)
    except ValueError:
        return cell
    value = column.to_si(np.array([number]), system, ambient_pressure)[0]
    return f"{key.quantity.from_si(float(value), system, ambient_pressure):.9g}"


def iso_date(cell: str, system: System) -> str:
    """A date in any usual form as year-month-day.

    Parameters
    ----------
    cell : str
        Such as "14.5.2026", "8/12/26", "12-Aug-2026", "Aug 12, 2026" or a spreadsheet's number of a day.
    system : {"US", "SI"}
        The day comes before the month, where both are numbers, in SI.

    Returns
    -------
    str
        The cell as it is where it is no date.
    """
    forms = list(_DATES)
    if system == "SI":
        forms.sort(key=lambda form: not form.startswith("%d"))
    day = cell.split(" ")[0].split("T")[0] if re.match(r"\d{4}-", cell) else cell
    day = re.sub(r"^(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*\.?,?\s+", "", day.strip(), flags=re.IGNORECASE)
    day = re.sub(r"(?<=\d)(?:st|nd|rd|th)\b", "", day)
    if re.fullmatch(r"[34567]\d{4}", day):
        return (_DAY_ZERO + dt.timedelta(days=int(day))).isoformat()
    for form in forms:
        try:
            found = dt.datetime.strptime(day, form).date()
        except ValueError:
            continue
        if EARLIEST_YEAR <= found.year <= LATEST_YEAR:
            return found.isoformat()
    return cell


def coil_of(cell: str) -> str:
    """State of the coil in the words of a case file.

    Parameters
    ----------
    cell : str
        Such as "dirty" or "after".

    Returns
    -------
    str
        "clean", "as found", or the cell as it is.
    """
    plain = cell.strip().lower()
    return next((coil for coil, words in _COILS.items() if plain in words), cell)
