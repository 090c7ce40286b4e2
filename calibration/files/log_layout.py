"""How a logged CSV is written: separators, encoding, columns and times, and its rows in pieces.

What is read here is the form alone; `calibration.files.log_file` makes one log of it and
`calibration.track.log_pieces` a stream of pieces.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

import numpy as np

from calibration.case.entries import EARLIEST_YEAR, LATEST_YEAR
from calibration.case.errors import CaseError, Problem
from calibration.case.keys import keys_of
from calibration.case.units import System
from calibration.files.headers import Column, column_of
from calibration.files.matching import SURE, column_named, matched
from model.arrays import Array

if TYPE_CHECKING:
    import pandas as pd
    from typing_extensions import Buffer

LARGEST_LOG = 1_000_000_000
"""Bytes that a log may have."""
MOST_ROWS = 2_000_000
"""Rows that a log may have: three weeks of one a second."""
MOST_COLUMNS = 400
"""Columns that a log may have."""
LONGEST_LINE = 65536
"""Bytes that the first line may have."""
LONGEST_ROW = 1 << 24
"""Bytes that any line may have, about: it has to fit into memory many times."""
PIECE = 100_000
"""Rows read at a time."""
_TIME_NAMES = ("time", "timestamp", "datetime", "date_time", "date", "elapsed")
SINCE_1970 = (6.3e8, 4.1e9)
"""Seconds since 1970 of the years 1990 to 2099 [s]; a thousand times as much are milliseconds."""
_TIME_UNITS = {
    "ms": 1e-3,
    "s": 1.0,
    "sec": 1.0,
    "seconds": 1.0,
    "min": 60.0,
    "minutes": 60.0,
    "h": 3600.0,
    "hours": 3600.0,
}


@dataclass(frozen=True)
class LogLayout:
    """How a file is written, at which byte its rows begin, and at which place each column stands."""

    separator: str
    decimal: str
    encoding: str
    first_row: int
    headers: tuple[str, ...]
    time: int
    columns: dict[int, Column]


def log_layout(source: Path, bounded: bool = True) -> LogLayout:
    """How a log is written, by its first lines.

    Parameters
    ----------
    source : Path
        CSV file.
    bounded : bool
        Whether it has to fit into memory: no more than `LARGEST_LOG` bytes and `MOST_ROWS` rows.

    Returns
    -------
    LogLayout
        For `table_pieces` and `clock_of`.

    Raises
    ------
    CaseError
        When it cannot be read as a log, in a sentence.
    """
    try:
        size = source.stat().st_size
        if not source.is_file():
            raise log_refused(source, "is not a regular file; a CSV file is expected")
        with source.open("rb") as file:
            head = file.read(LONGEST_LINE)
    except OSError as error:
        words = "there is no such file" if isinstance(error, FileNotFoundError) else str(error.strerror)
        raise log_refused(source, words) from error
    if bounded and size > LARGEST_LOG:
        raise log_refused(source, f"is longer than the {LARGEST_LOG} bytes of a log; cut it to the visit")
    if b"\0" in head:
        raise log_refused(source, "is not a table of text; a CSV file is expected")
    _check_lines(source, MOST_ROWS + 1 if bounded else None)
    if size > len(head) and not re.search(rb"[\r\n]", head):
        raise log_refused(source, f"has a first line of more than {LONGEST_LINE} bytes; a header is expected")
    encoding = "utf-8-sig" if _is_utf8(head) else "latin-1"
    header, end, _ = re.split(rb"(\r\n|\r|\n|\Z)", head, maxsplit=1)
    first_row = len(header) + len(end)
    first = header.decode(encoding, errors="ignore")
    rest = head[first_row:].decode(encoding, errors="ignore")
    separator = max(",;\t", key=first.count)
    decimal = "," if separator != "," and re.search(r"\d,\d", rest) else "."
    headers = tuple(next(csv.reader([first], delimiter=separator), []))
    if len(headers) > MOST_COLUMNS:
        raise log_refused(source, f"has {len(headers)} columns; at most {MOST_COLUMNS} are expected")
    time, columns = understood_headers(source, headers)
    return LogLayout(separator, decimal, encoding, first_row, headers, time, columns)


def _check_lines(source: Path, most: int | None) -> None:
    """Refuse more lines than that, or a line without end, long before they could be read."""
    feeds = returns = 0
    with source.open("rb") as file:
        while piece := file.read(LONGEST_ROW):
            here = piece.count(b"\n"), piece.count(b"\r")  # alone, an end of line too
            feeds, returns = feeds + here[0], returns + here[1]
            if most is not None and max(feeds, returns) > most:
                raise log_refused(source, f"has more than {MOST_ROWS} rows; cut it to the visit")
            if not any(here) and len(piece) == LONGEST_ROW:
                raise log_refused(
                    source, f"has a line of more than {LONGEST_ROW} bytes; a CSV file is expected"
                )


def _is_utf8(head: bytes) -> bool:
    """Whether the first bytes are UTF-8; the last character may be cut."""
    try:
        head[:-4].decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def understood_headers(source: Path, headers: tuple[str, ...]) -> tuple[int, dict[int, Column]]:
    """Place of the time column, and what the other columns hold by their place.

    Parameters
    ----------
    source : Path
        File, for the sentence of a refusal.
    headers : tuple of str
        First line of each column.

    Returns
    -------
    int, dict of int to Column
        Place of the times; readings by their place.

    Raises
    ------
    CaseError
        Without times or readings, with two columns of one reading, or with an unknown unit.
    """
    bare = [re.sub(r"\s*[\[(].*", "", header).strip().lower().replace(" ", "_") for header in headers]
    time = next((bare.index(name) for name in _TIME_NAMES if name in bare), None)
    if time is None:
        raise log_refused(source, f"has no column of times; one of {', '.join(_TIME_NAMES)} is expected")
    columns: dict[int, Column] = {}
    for place, header in enumerate(headers):
        try:
            column = column_of(header)
        except ValueError as error:
            raise log_refused(source, str(error)) from error
        if column is None or place == time:
            continue
        if any(column.key.name == other.key.name for other in columns.values()):
            raise log_refused(source, f"has two columns of {column.key.name}; one is expected")
        columns[place] = column
    try:
        columns |= _by_other_words(headers, columns, time)
    except ValueError as error:
        raise log_refused(source, str(error)) from error
    if not columns:
        raise log_refused(source, "has no column with a reading, such as suction_pressure [psi]")
    return time, columns


def _by_other_words(headers: tuple[str, ...], known: Mapping[int, Column], time: int) -> dict[int, Column]:
    """Columns headed by words in use for a reading, as in tables of visits; keys come first."""
    taken = {column.key.name for column in known.values()}
    keys = [key for name, key in keys_of("visit").items() if key.form == "number" and name not in taken]
    words = [("",) if place in known or place == time else (header,) for place, header in enumerate(headers)]
    found = matched(words, keys, least=SURE)
    return {place: column_named(headers[place], key) for place, key in found.items()}


class _Renumbered(io.RawIOBase):
    """A table whose header is replaced by the places of its columns and one more, for rows too long."""

    def __init__(self, file: BinaryIO, layout: LogLayout) -> None:
        super().__init__()
        file.seek(layout.first_row)
        places = map(str, range(len(layout.headers) + 1))
        self._waiting = f"{layout.separator.join(places)}\n".encode()
        self._file = file

    def readable(self) -> bool:
        """Whether it can be read: always."""
        return True

    def readinto(self, buffer: Buffer, /) -> int:
        """Fill a buffer with the next bytes and say how many they are."""
        room = memoryview(buffer)
        content = self._waiting[: len(room)] or self._file.read(len(room))
        self._waiting = self._waiting[len(room) :]
        room[: len(content)] = content
        return len(content)


def table_pieces(source: Path, layout: LogLayout) -> Iterator[tuple[pd.DataFrame, float]]:
    """Pieces of the table, and the share of the file read after each.

    Parameters
    ----------
    source : Path
        CSV file.
    layout : LogLayout
        How it is written.

    Yields
    ------
    pandas.DataFrame, float
        Columns named by their place, one more for what stands beyond the last header; share read [-].

    Raises
    ------
    CaseError
        When it is no table.
    """
    import pandas as pd

    size = max(source.stat().st_size, 1)
    with source.open("rb") as file:
        try:
            pieces = pd.read_csv(
                io.BufferedReader(_Renumbered(file, layout)),
                sep=layout.separator,
                decimal=layout.decimal,
                encoding=layout.encoding.removesuffix("-sig"),
                encoding_errors="replace",
                usecols=[str(place) for place in (layout.time, *layout.columns, len(layout.headers))],
                chunksize=PIECE,
                on_bad_lines="skip",
                low_memory=False,
                skipinitialspace=True,
            )
            for piece in pieces:
                piece.columns = pd.Index([int(name) for name in piece.columns])
                yield piece, min(file.tell() / size, 1.0)
        except (pd.errors.ParserError, pd.errors.EmptyDataError, ValueError, csv.Error) as error:
            raise log_refused(source, f"cannot be read as a table ({str(error).splitlines()[0]})") from error


def numbers_of(column: pd.Series) -> Array:
    """Numbers of a column.

    Parameters
    ----------
    column : pandas.Series
        As read.

    Returns
    -------
    ndarray
        As written, NaN for whatever is no number.
    """
    import pandas as pd

    return np.asarray(pd.to_numeric(column, errors="coerce"), dtype=np.float64)


def possible_values(values: Array, column: Column) -> Array:
    """Values without those that cannot be true.

    Parameters
    ----------
    values : ndarray
        Readings of the column [SI].
    column : Column
        Its limits count.

    Returns
    -------
    ndarray
        NaN outside the limits [SI].
    """
    low, high = column.key.limits or (-np.inf, np.inf)
    return np.where((values >= low) & (values <= high), values, np.nan)


@dataclass(frozen=True)
class Clock:
    """How times are written.

    `unit` is the number of seconds in one, for numbers; `form` a date-and-time form, empty for ISO 8601.
    """

    unit: float | None
    form: str
    dated: bool

    def seconds(self, column: pd.Series) -> Array:
        """Seconds of each row since 1970, midnight or the log's own zero; NaN where there is no time."""
        import pandas as pd

        if self.unit is not None:
            return numbers_of(column) * self.unit
        text = column.astype("str").str.strip().str.replace(r"(?:Z|[+-]\d\d:?\d\d)$", "", regex=True)
        form = self.form or "ISO8601"
        stamps = pd.to_datetime(text, format=form, errors="coerce").to_numpy("datetime64[us]")
        if self.dated:
            first, last = (np.datetime64(f"{year}-01-01", "us") for year in (EARLIEST_YEAR, LATEST_YEAR + 1))
            stamps = np.where((stamps >= first) & (stamps < last), stamps, np.datetime64("NaT"))
        seconds = (stamps - np.datetime64("1970-01-01", "us")) / np.timedelta64(1, "s")
        return np.asarray(seconds, dtype=np.float64)


_FORMS = (
    "",
    "%m/%d/%Y %H:%M:%S",
    "%m/%d/%Y %H:%M",
    "%m/%d/%Y %I:%M:%S %p",
    "%m/%d/%Y %I:%M %p",
    "%m/%d/%y %H:%M:%S",
    "%m/%d/%y %H:%M",
    "%d.%m.%Y %H:%M:%S",
    "%d.%m.%Y %H:%M",
    "%H:%M:%S.%f",
    "%H:%M:%S",
    "%H:%M",
    "%I:%M:%S %p",
)


def clock_of(column: pd.Series, layout: LogLayout, system: System) -> Clock:
    """How the times of a column are written: the form that understands most of the first rows.

    Parameters
    ----------
    column : pandas.Series
        The times as read.
    layout : LogLayout
        For a unit in the header.
    system : {"US", "SI"}
        SI files are more often written day first.

    Returns
    -------
    Clock
        To turn columns of such times into seconds.
    """
    head = column.head(500)
    inside = re.search(r"[\[(]\s*(\w+)", layout.headers[layout.time])
    unit = _TIME_UNITS.get(inside[1].lower()) if inside else None
    numbers = numbers_of(head)
    if np.isfinite(numbers).sum() > len(head) / 2:
        return Clock(unit or _unit_of_numbers(numbers), "", False)
    turned = [form.replace("%m/%d", "%d/%m") for form in _FORMS]
    best, most = Clock(None, "", True), 0
    for form in dict.fromkeys([*turned, *_FORMS] if system == "SI" else [*_FORMS, *turned]):
        clock = Clock(None, form, not form.startswith(("%H", "%I")))
        understood = int(np.isfinite(clock.seconds(head)).sum())
        if understood > most:
            best, most = clock, understood
        if understood == len(head):
            break
    return best


def _unit_of_numbers(numbers: Array) -> float:
    """Seconds in one of the numbers of a time column without a unit: less where they count from 1970."""
    middle, (low, high) = float(np.nanmedian(numbers)), SINCE_1970
    return next((unit for unit in (1e-3, 1e-6) if low <= middle * unit <= high), 1.0)


def log_refused(source: Path, sentence: str) -> CaseError:
    """Error about a log as a whole.

    Parameters
    ----------
    source : Path
        The file.
    sentence : str
        What is wrong and what is expected.

    Returns
    -------
    CaseError
        To be raised.
    """
    return CaseError([Problem((), str(source), sentence)])
