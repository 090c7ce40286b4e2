"""A table of many units, one visit a row, as an office keeps it: its header, and what each column holds.

CSV (commas, semicolons or tabs), the first visible sheet of an XLSX file, or Parquet. Above the rows there
may be titles, a header of up to three lines with merged cells, and a line of units. The lines that name most
keys are the header; each column may be worded by its last line, or by all of them together. Merged cells
count for every row that they span. Matches are made by `calibration.files.matching`, the one matcher of all
tables.

Assumption: the first sheet that is shown holds the table, and nothing below the header but visits, headings
that span a row, and the header again.
"""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from calibration.case.errors import CaseError, Problem
from calibration.case.keys import Key, keys_of
from calibration.files.headers import Column, is_unit, scale_of
from calibration.files.input_file import input_bytes
from calibration.files.matching import OTHER_WORDS, SURE, matched, unit_at_end
from calibration.files.visit_table import LONGEST_CELL, MOST_PARTS, cell_text, decoded

LARGEST_TABLE = 400_000_000
"""Bytes of a file."""
LARGEST_SHEETS = 120_000_000
"""Bytes of a spreadsheet's parts when they are unpacked."""
MOST_ROWS, MOST_COLUMNS = 200_000, 200
"""Rows and columns that are read; more is refused."""
MOST_SHEET_ROWS = 20_000
"""Rows of a spreadsheet, which costs far more to open than a text of the same size."""
LOOKED_AT = 15
"""Lines at the head of a table in which the header is looked for."""
DEEPEST_HEADER = 3
"""Lines that a header may have."""
FEWEST_KEYS = 4
"""Keys that a header names at least: a unit, its refrigerant and capacity, and one reading."""

UNITS = Key("fleet", "units", "Units of the row", "choice", choices=("US", "SI"))
ROW = Key("fleet", "row", "Row of the table before", "text")
"""Row of the table that a row was taken from and that it replaces when both are read together."""
_SECTIONS = ("visit", "unit", "cleaning", "season", "tariff")
_FORMS = ("number", "whole", "text", "choice", "date", "time")
KEYS: tuple[Key, ...] = (
    UNITS,
    ROW,
    *(key for section in _SECTIONS for key in keys_of(section).values() if key.form in _FORMS),
)
"""What a column may hold."""
WORDS: dict[tuple[str, str], tuple[str, ...]] = {
    **{("visit", name): tuple(w for w in words if w != "name") for name, words in OTHER_WORDS.items()},
    ("fleet", "units"): ("unit system", "us or si"),
    ("unit", "name"): ("unit", "unit name", "name", "tag", "asset", "unit id", "unit no", "equipment"),
    ("unit", "site"): ("building", "location", "property", "store"),
    ("unit", "exposure"): ("exposure", "surroundings", "stands"),
    ("unit", "refrigerant"): ("gas", "ref type", "refrigerant type"),
    ("unit", "expansion"): ("metering device", "metering", "expansion valve"),
    ("unit", "compressor"): ("compressor type",),
    ("unit", "rated_capacity"): (
        "capacity",
        "nominal capacity",
        "cooling capacity",
        "size",
        "tons",
        "tonnage",
    ),
    ("unit", "rated_eer"): ("eer", "nameplate eer", "rated cop"),
    ("unit", "altitude"): ("elevation",),
    ("unit", "charge"): ("factory charge", "nameplate charge", "charge"),
    ("cleaning", "price"): ("cleaning price", "price of cleaning", "cost of cleaning", "price"),
    ("cleaning", "last_cleaned"): ("last cleaning", "cleaned on", "date cleaned", "coil cleaned"),
    ("tariff", "energy_price"): ("electricity price", "electricity", "price per kwh", "tariff"),
    ("season", "weather"): ("weather", "weather station", "climate"),
    ("season", "cooling_hours"): ("cooling hours", "run hours"),
    ("visit", "date"): ("date of visit", "visited", "visit date", "day"),
    ("visit", "called_for"): ("reason", "called for"),
}
"""Words in use for columns; common practice, no source."""


@dataclass(frozen=True)
class FleetTable:
    """Rows of a table of units and what its columns hold.

    Attributes
    ----------
    name : str
        Name of the file.
    headers : tuple of str
        Of all columns, in words that are matched to the same keys when they are read again.
    columns : dict of int to Column
        Those that hold a key, by place.
    rows : tuple of (int, tuple of str)
        Number of the row in the file, from 1, and its cells.
    """

    name: str
    headers: tuple[str, ...]
    columns: dict[int, Column]
    rows: tuple[tuple[int, tuple[str, ...]], ...]

    def named(self, key: Key) -> int | None:
        """Place of the column of a key; None where there is none."""
        return next((place for place, one in self.columns.items() if one.key == key), None)


def read_fleet_table(path: Path) -> FleetTable:
    """Table of a file.

    Parameters
    ----------
    path : Path
        CSV, XLSX or Parquet, by its ending.

    Returns
    -------
    FleetTable

    Raises
    ------
    CaseError
        When it is no such table, is too large, or a header names a unit that the reading does not have.
    """
    try:
        content = input_bytes(path, LARGEST_TABLE + 1)
    except OSError as error:
        reason = "there is no such file" if isinstance(error, FileNotFoundError) else str(error.strerror)
        raise _refused(path.name, reason) from error
    return fleet_table(content, path.name)


def fleet_table(content: bytes, name: str) -> FleetTable:
    """Table of a file's content.

    Parameters
    ----------
    content : bytes
        CSV, XLSX or Parquet.
    name : str
        Name of the file: its ending says which.

    Returns
    -------
    FleetTable

    Raises
    ------
    CaseError
        As `read_fleet_table`.
    """
    if len(content) > LARGEST_TABLE:
        raise _refused(name, f"is longer than the {LARGEST_TABLE} bytes of a table of units")
    ending = name.lower().rpartition(".")[2]
    if ending == "parquet":
        cells = _parquet(content, name)
    elif ending in ("xlsx", "xlsm"):
        cells = _spreadsheet(content, name)
    else:
        cells = _separated(content, name)
    if len(cells) > MOST_ROWS or max(map(len, cells), default=0) > MOST_COLUMNS:
        raise _refused(name, f"has more than {MOST_ROWS} rows or {MOST_COLUMNS} columns; split it")
    return table_of_cells(cells, name)


def _refused(name: str, sentence: str) -> CaseError:
    return CaseError([Problem((), name[:80], sentence)])


def _separated(content: bytes, name: str) -> list[list[str]]:
    """Cells of a text whose cells are parted by commas, semicolons or tabs."""
    if b"\0" in content[:65536] and not content.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise _refused(name, "is no table of text; a CSV, XLSX or Parquet file is expected")
    text = decoded(content)
    head = text.split("\n", LOOKED_AT)[:LOOKED_AT]
    separator = max(",;\t", key=lambda mark: max(line.count(mark) for line in head))
    cells: list[list[str]] = []
    try:
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=separator):
            cells.append([cell.strip()[:LONGEST_CELL] for cell in row[: MOST_COLUMNS + 1]])
            if len(cells) > MOST_ROWS:
                break
    except csv.Error as error:
        raise _refused(name, f"cannot be read as a table ({error})") from error
    return cells


def _parquet(content: bytes, name: str) -> list[list[str]]:
    """Names and cells of the columns of a Parquet file."""
    import pyarrow as pa
    from pyarrow import parquet

    try:
        file = parquet.ParquetFile(pa.BufferReader(content))
        if file.metadata.num_rows > MOST_ROWS or file.metadata.num_columns > MOST_COLUMNS:
            raise _refused(name, f"has more than {MOST_ROWS} rows or {MOST_COLUMNS} columns; split it")
        table = file.read()
        columns = [[cell_text(value) for value in column.to_pylist()] for column in table.columns]
    except (pa.ArrowException, OSError) as error:
        raise _refused(name, f"cannot be read as a Parquet file ({type(error).__name__})") from error
    return [list(table.column_names), *(list(row) for row in zip(*columns, strict=True))]


def _spreadsheet(content: bytes, name: str) -> list[list[str]]:
    """Cells of the first sheet that is shown, merged cells filled; formulas count by their saved value."""
    from openpyxl import load_workbook

    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            parts = archive.infolist()
        size = sum(part.file_size for part in parts if "/media/" not in part.filename)
        if len(parts) > MOST_PARTS or size > LARGEST_SHEETS:
            raise _refused(name, "unpacks to far more than a table of units; save its sheet as CSV")
        book = load_workbook(io.BytesIO(content), data_only=True)
        sheet = next((one for one in book.worksheets if one.sheet_state == "visible"), None)
        if sheet is None:
            raise _refused(name, "has no sheet that is shown; one with the visits is expected")
        if sheet.max_row > MOST_SHEET_ROWS or sheet.max_column > MOST_COLUMNS:
            sentence = f"has more than {MOST_SHEET_ROWS} rows or {MOST_COLUMNS} columns; save it as CSV"
            raise _refused(name, sentence)
        cells = [[cell_text(value) for value in row] for row in sheet.iter_rows(values_only=True)]
        for span in sheet.merged_cells.ranges:
            _fill(cells, span.bounds)
    except CaseError:
        raise
    except Exception as error:  # a broken spreadsheet fails in as many ways as it has parts
        raise _refused(name, f"cannot be read as a spreadsheet ({type(error).__name__})") from error
    return cells


def _fill(cells: list[list[str]], bounds: tuple[int, int, int, int]) -> None:
    """Give every cell of a merged range the text of its first."""
    first_column, first_row, last_column, last_row = bounds
    text = cells[first_row - 1][first_column - 1]
    for row in cells[first_row - 1 : last_row]:
        row[first_column - 1 : last_column] = [text] * (last_column - first_column + 1)


def table_of_cells(cells: Sequence[Sequence[str]], name: str) -> FleetTable:
    """Header and rows of the cells of a sheet.

    Parameters
    ----------
    cells : sequence of sequences of str
        Line by line.
    name : str
        Of the file, for sentences.

    Returns
    -------
    FleetTable

    Raises
    ------
    CaseError
        Where no line names units and readings, nothing stands under it, or a unit in it is unknown.
    """
    width = max(map(len, cells), default=0)
    square = [(*row, *[""] * (width - len(row))) for row in cells]
    last, depth = _header(square, name)
    wordings = _wordings(square, last, depth)
    found = matched(wordings, KEYS, WORDS)
    below = square[last + 1] if last + 1 < len(square) else ()
    has_units = sum(map(is_unit, below)) * 2 > sum(map(bool, below)) > 0
    units = below if has_units else ("",) * width
    columns = {
        place: _column(key, wordings[place], units[place], name) for place, key in sorted(found.items())
    }
    rows = tuple(_rows(square, last + 1 + has_units, square[last]))
    if not rows:
        raise _refused(name, "has no row under its header; a header and one row a visit are expected")
    headers = [
        _header_again(place, wordings[place], units[place], columns.get(place)) for place in range(width)
    ]
    return FleetTable(name, tuple(headers), columns, rows)


def _header(square: Sequence[tuple[str, ...]], name: str) -> tuple[int, int]:
    """Place of the header's last line and how many lines it has."""
    best = (0, 0, 0)
    for last, row in enumerate(square[:LOOKED_AT]):
        texts = [cell for cell in row if cell]
        if len(texts) < FEWEST_KEYS or sum(map(_is_number, texts)) * 2 > len(texts):
            continue
        for depth in range(1, min(DEEPEST_HEADER, last + 1) + 1):
            keys = len(matched(_wordings(square, last, depth), KEYS, WORDS, SURE))
            best = max(best, (keys, -last, -depth))
    if best[0] < FEWEST_KEYS:
        raise _refused(
            name,
            "has no header that names units and readings, such as unit, refrigerant, capacity [tons], "
            "suction pressure [psig]",
        )
    return -best[1], -best[2]


def _is_number(text: str) -> bool:
    return re.fullmatch(r"[+-]?[\d.,/: -]+", text) is not None


def _wordings(square: Sequence[tuple[str, ...]], last: int, depth: int) -> list[tuple[str, ...]]:
    """Wordings of each column: its lines together, then its last line, then the others from below."""
    lines = [square[place] for place in range(last - depth + 1, last + 1)]
    upper = [_spread(line) for line in lines[:-1]]
    wordings = []
    for place in range(len(lines[-1])):
        parts = [line[place] for line in (*upper, lines[-1])]
        parts = [part for number, part in enumerate(parts) if part and part not in parts[:number]]
        wordings.append(tuple(dict.fromkeys([" ".join(parts), *reversed(parts)])))
    return wordings


def _spread(line: Sequence[str]) -> list[str]:
    """A line above the last one of a header, each text spread over the empty cells to its right."""
    spread, text = [], ""
    for cell in line:
        text = cell or text
        spread.append(text)
    return spread


def _column(key: Key, wordings: Sequence[str], unit: str, name: str) -> Column:
    """What a column holds, with the unit of its header or of the line under it."""
    if key.form != "number" or key.quantity is None:
        return Column(key)
    said = [one for wording in wordings for one in re.findall(r"[\[(]\s*([^\])]*?)\s*[\])]", wording)]
    said += [unit.strip().strip("[]()"), *(unit_at_end(wording) for wording in wordings)]
    for one in said:
        scale, absolute = scale_of(one, key.quantity)
        if scale is not None:
            return Column(key, scale, absolute)
    foreign = next((one for one in said if one and is_unit(one)), None)
    if foreign is not None:
        raise _refused(name, f"column {wordings[0]!r}: {foreign!r} is no unit of {key.words.lower()}")
    return Column(key)


def _rows(
    square: Sequence[tuple[str, ...]], first: int, header: tuple[str, ...]
) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Rows that hold something of their own: no empty line, no heading over all columns, no header again."""
    for number, row in enumerate(square[first:], start=first + 1):
        if len(set(filter(None, row))) > 1 and row != header:
            yield number, row


def _header_again(place: int, wordings: Sequence[str], unit: str, column: Column | None) -> str:
    """Header of a column that means the same when it is read again as a single line."""
    text = wordings[0] if wordings and wordings[0] else f"column {place + 1}"
    if column is None:
        return text
    if unit and column.scale is not None:
        text = f"{text} [{unit.strip().strip('[]()')}]"
    if matched([(text,)], KEYS, WORDS).get(0) == column.key:
        return text
    label = column.scale.label if column.scale is not None else ""
    absolute = " abs" if column.absolute else ""
    return f"{column.key.name} [{label}{absolute}]" if label else column.key.name
