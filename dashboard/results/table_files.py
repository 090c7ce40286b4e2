"""Tables of results as files, CSV and spreadsheet: numbers, units and 90 % ranges in cells of their own.

What a table shows on a screen as text is a number here where it is one, so that it can be worked with. Texts
that a spreadsheet would run as formulas are marked as text. The same tables give the same bytes.
"""

import csv
import datetime as dt
import io
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from calibration.files.spreadsheet_text import harmless_cell
from dashboard.results.figures import Figure, Struck, merged

Cell = str | float | None
ENDINGS = (".csv", ".xlsx")
LONGEST_SHEET_NAME = 31
"""Characters that a spreadsheet takes as the name of a sheet (ECMA-376)."""
_NO_DAY = dt.datetime(1980, 1, 1)  # the first that a ZIP archive can say; files carry no date


@dataclass(frozen=True)
class Sheet:
    """One table.

    Attributes
    ----------
    title : str
        Over the table.
    headings : tuple of str
        One a column.
    rows : tuple of tuples
        Cells: texts, numbers, None for empty ones.
    """

    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


def figures_sheet(title: str, columns: Sequence[tuple[str, Sequence[Figure]]]) -> Sheet:
    """Figures side by side, one row for each key, value and ends of the 90 % range in columns of their own.

    Parameters
    ----------
    title : str
        Over the table.
    columns : sequence of (str, sequence of Figure)
        Heading and figures of each column.

    Returns
    -------
    Sheet
        In the units and digits that are shown; a suspect figure is followed by the supported one.
    """
    headings, every = ["", "unit"], merged([figures for _, figures in columns])
    rows: list[list[Cell]] = [[one.label, one.unit] for one in every]
    for name, figures in columns:
        by_key = {one.key: one for one in figures}
        of_what = name or "value"
        ranged = any(one.best.low is not None for one in figures)
        suspect = any(one.supported is not None for one in figures)
        headings += [of_what, *([f"{of_what}, 90 % from", f"{of_what}, 90 % to"] if ranged else [])]
        headings += [f"{of_what}, suspect, as read"] if suspect else []
        for one, row in zip(every, rows, strict=True):
            row += _cells(by_key.get(one.key), ranged, suspect)
    return Sheet(title, tuple(headings), tuple(tuple(row) for row in rows))


def _cells(one: Figure | None, ranged: bool, suspect: bool) -> list[Cell]:
    if one is None:
        return [None] * (1 + 2 * ranged + suspect)
    best = one.best
    cells: list[Cell] = [_rounded(best.value, best.decimals)]
    if ranged:
        cells += [_rounded(best.low, best.decimals), _rounded(best.high, best.decimals)]
    if suspect:
        cells.append(_rounded(one.value, one.decimals) if one.supported is not None else None)
    return cells


def _rounded(value: float | str | None, decimals: int) -> Cell:
    return round(value, decimals) + 0.0 if isinstance(value, int | float) else value


def text_sheet(title: str, headings: Sequence[str], rows: Sequence[Sequence[str]]) -> Sheet:
    """A table of texts; those that are numbers become numbers.

    Parameters
    ----------
    title, headings, rows
        As they are shown.
    """
    return Sheet(title, tuple(headings), tuple(tuple(_number_or_text(one) for one in row) for row in rows))


def _number_or_text(text: str) -> Cell:
    if isinstance(text, Struck):
        return f"{text.read} (suspect), supported {text.supported}"
    plain = text.replace(",", "")
    if plain.strip("+-").replace(".", "", 1).isdecimal():
        return float(plain)
    return text


def file_of(sheets: Sequence[Sheet], ending: str) -> bytes:
    """Tables as one file.

    Parameters
    ----------
    sheets : sequence of Sheet
        In their order.
    ending : {".csv", ".xlsx"}
        Kind of file: in a CSV the tables stand under one another, each under its title.

    Returns
    -------
    bytes
    """
    return _workbook(sheets) if ending == ".xlsx" else _csv(sheets)


def check_ending(output: Path) -> None:
    """Refuse a name of a file of another kind.

    Raises
    ------
    ValueError
        Unless it ends like a CSV or a spreadsheet.
    """
    if output.suffix.lower() not in ENDINGS:
        raise ValueError(f"-o: is {output}; a file ending in {' or '.join(ENDINGS)} is expected")


def _csv(sheets: Sequence[Sheet]) -> bytes:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    for number, sheet in enumerate(sheets):
        if number:
            writer.writerow([])
        if len(sheets) > 1:
            writer.writerow([harmless_cell(sheet.title)])
        for row in (sheet.headings, *sheet.rows):
            writer.writerow([_written(one) for one in row])
    return out.getvalue().encode("utf-8")


def _written(one: Cell) -> str:
    if one is None:
        return ""
    return harmless_cell(one) if isinstance(one, str) else f"{one:.12g}"


def _workbook(sheets: Sequence[Sheet]) -> bytes:
    from openpyxl import Workbook

    book = Workbook()
    del book[book.sheetnames[0]]
    book.properties.created = book.properties.modified = _NO_DAY
    names: set[str] = set()
    for sheet in sheets:
        page = book.create_sheet(_sheet_name(sheet.title, names))
        for row in ((sheet.title,), sheet.headings, *sheet.rows):
            page.append([harmless_cell(one) if isinstance(one, str) else one for one in row])
        page.column_dimensions["A"].width = 44
    out = io.BytesIO()
    book.save(out)
    return _without_dates(out.getvalue())


def _sheet_name(title: str, taken: set[str]) -> str:
    """Name of a sheet that no other has, without the signs that a spreadsheet refuses."""
    plain = "".join(" " if sign in "[]:*?/\\" else sign for sign in title).strip(" '") or "table"
    name, number = plain[:LONGEST_SHEET_NAME], 2
    while name.lower() in taken:
        end = f" {number}"
        name, number = plain[: LONGEST_SHEET_NAME - len(end)] + end, number + 1
    taken.add(name.lower())
    return name


def _without_dates(archive: bytes) -> bytes:
    """The same spreadsheet with no moment of writing in it."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(archive)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in sorted(old.namelist(), key=lambda name: name != "[Content_Types].xml"):
            content = old.read(name)
            if name == "docProps/core.xml":
                content = _CORE
            new.writestr(zipfile.ZipInfo(name, _NO_DAY.timetuple()[:6]), content)
    return out.getvalue()


_CORE = (
    b'<?xml version="1.0" encoding="UTF-8"?><cp:coreProperties xmlns:cp='
    b'"http://schemas.openxmlformats.org/package/2006/metadata/core-properties"/>'
)
"""Properties of a document that says nothing of when and by whom (ECMA-376, part 2)."""
