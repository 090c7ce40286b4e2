"""A logged CSV: times and readings of a unit, as arrays.

Any sampling rate, gaps and bad rows: a row without a time or of another length is left out, an entry that is
no number or cannot be true is missing. Times may be dates with clocks, clocks alone, or numbers of seconds
(or minutes or hours where the header says so). Headers are those of `calibration.files.headers`. Files are
read in pieces, so that a million rows take a few seconds and little memory.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import os
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

import numpy as np

from calibration.case.entries import EARLIEST_YEAR, LATEST_YEAR
from calibration.case.errors import CaseError, Problem
from calibration.case.keys import keys_of
from calibration.case.units import GAUGE_PRESSURE, System
from calibration.files.headers import Column, column_of
from calibration.files.matching import SURE, column_named, matched
from model.arrays import Array
from model.properties.moist_air import STANDARD_PRESSURE

if TYPE_CHECKING:
    import pandas as pd
    from typing_extensions import Buffer

Progress = Callable[[float], None]

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
HOUR_BACK = (-3600.0, -2700.0)
"""Step back of a clock that goes over from summer time [s]: an hour, less the pause between two rows."""
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
_DAY = 86400.0


@dataclass(frozen=True)
class Log:
    """Readings over time, sorted by time.

    Attributes
    ----------
    seconds : ndarray, shape (n,)
        Time since the first row [s].
    readings : dict of str to ndarray, shape (n,)
        Values by key [SI], NaN where a row has none.
    start : datetime or None
        When the first row was taken, None where the log has no dates.
    left_out : int
        Rows that could not be used.
    missing : dict of str to int
        Entries of each reading that are no number or cannot be true.
    ignored : tuple of str
        Headers that name no reading.
    ambient_pressure : float
        Barometric pressure that made gauge readings absolute [Pa].
    gauges : frozenset of str
        Pressures that were gauge readings.
    remarks : tuple of str
        What was made of times that could be read in two ways.
    """

    seconds: Array
    readings: dict[str, Array]
    start: dt.datetime | None
    left_out: int
    missing: dict[str, int]
    ignored: tuple[str, ...] = ()
    ambient_pressure: float = STANDARD_PRESSURE
    gauges: frozenset[str] = frozenset()
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Layout:
    """How a file is written, at which byte its rows begin, and at which place each column stands."""

    separator: str
    decimal: str
    encoding: str
    first_row: int
    headers: tuple[str, ...]
    time: int
    columns: dict[int, Column]


def read_log(
    path: str | os.PathLike[str],
    system: System,
    ambient_pressure: float = STANDARD_PRESSURE,
    progress: Progress | None = None,
) -> Log:
    """Read a log.

    Parameters
    ----------
    path : path
        CSV with a header, separated by commas, semicolons or tabs.
    system : {"US", "SI"}
        System of columns whose header names no unit.
    ambient_pressure : float
        Local barometric pressure, for gauge readings [Pa].
    progress : callable or None
        Called with the share of the file that is read [-].

    Returns
    -------
    Log
        In SI.

    Raises
    ------
    CaseError
        When the file cannot be read, has no time column, no reading, or is longer than the bounds of this
        module.
    """
    source = Path(path)
    layout = _layout(source)
    times: list[Array] = []
    values: dict[str, list[Array]] = {column.key.name: [] for column in layout.columns.values()}
    spoken: _Clock | None = None
    rows = 0
    for piece, share in _pieces(source, layout):
        if spoken is None:
            spoken = _clock_of(piece[layout.time], layout, system)
        seconds = spoken.seconds(piece[layout.time])
        if not times and not np.isfinite(seconds).any():
            break
        # a row with more entries than headers may hold every one of them in the wrong place
        good = np.isfinite(seconds) & np.asarray(piece[len(layout.headers)].isna())
        rows += len(seconds)
        if rows > MOST_ROWS:
            raise _refused(source, f"has more than {MOST_ROWS} rows; cut it to the visit")
        times.append(seconds[good])
        for place, column in layout.columns.items():
            numbers = column.to_si(_numbers(piece[place])[good], system, ambient_pressure)
            values[column.key.name].append(_possible(numbers, column))
        if progress is not None:
            progress(share)
    if spoken is None or not sum(map(len, times)):
        name = layout.headers[layout.time]
        raise _refused(source, f"no row has a time that can be read in column {name!r}")
    log = _log(times, values, layout, (spoken, rows))
    return replace(log, ambient_pressure=ambient_pressure, gauges=_gauges(layout))


def _gauges(layout: _Layout) -> frozenset[str]:
    """Pressures that were read from gauges."""
    columns = layout.columns.values()
    return frozenset(c.key.name for c in columns if c.key.quantity is GAUGE_PRESSURE and not c.absolute)


def _refused(source: Path, sentence: str) -> CaseError:
    """Error about a log as a whole."""
    return CaseError([Problem((), str(source), sentence)])


def _layout(source: Path) -> _Layout:
    """How the file is written, by its first lines."""
    try:
        size = source.stat().st_size
        if not source.is_file():
            raise _refused(source, "is not a regular file; a CSV file is expected")
        with source.open("rb") as file:
            head = file.read(LONGEST_LINE)
    except OSError as error:
        words = "there is no such file" if isinstance(error, FileNotFoundError) else str(error.strerror)
        raise _refused(source, words) from error
    if size > LARGEST_LOG:
        raise _refused(source, f"is longer than the {LARGEST_LOG} bytes of a log; cut it to the visit")
    if b"\0" in head:
        raise _refused(source, "is not a table of text; a CSV file is expected")
    _check_lines(source, MOST_ROWS + 1)
    if size > len(head) and not re.search(rb"[\r\n]", head):
        raise _refused(source, f"has a first line of more than {LONGEST_LINE} bytes; a header is expected")
    encoding = "utf-8-sig" if _is_utf8(head) else "latin-1"
    header, end, _ = re.split(rb"(\r\n|\r|\n|\Z)", head, maxsplit=1)
    first_row = len(header) + len(end)
    first = header.decode(encoding, errors="ignore")
    rest = head[first_row:].decode(encoding, errors="ignore")
    separator = max(",;\t", key=first.count)
    decimal = "," if separator != "," and re.search(r"\d,\d", rest) else "."
    headers = tuple(next(csv.reader([first], delimiter=separator), []))
    if len(headers) > MOST_COLUMNS:
        raise _refused(source, f"has {len(headers)} columns; at most {MOST_COLUMNS} are expected")
    time, columns = _understood_headers(source, headers)
    return _Layout(separator, decimal, encoding, first_row, headers, time, columns)


def _check_lines(source: Path, most: int) -> None:
    """Refuse more lines than that, or a line without end, long before they could be read."""
    feeds = returns = 0
    with source.open("rb") as file:
        while piece := file.read(LONGEST_ROW):
            here = piece.count(b"\n"), piece.count(b"\r")  # alone, an end of line too
            feeds, returns = feeds + here[0], returns + here[1]
            if max(feeds, returns) > most:
                raise _refused(source, f"has more than {MOST_ROWS} rows; cut it to the visit")
            if not any(here) and len(piece) == LONGEST_ROW:
                raise _refused(source, f"has a line of more than {LONGEST_ROW} bytes; a CSV file is expected")


def _is_utf8(head: bytes) -> bool:
    """Whether the first bytes are UTF-8; the last character may be cut."""
    try:
        head[:-4].decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def _understood_headers(source: Path, headers: tuple[str, ...]) -> tuple[int, dict[int, Column]]:
    """Place of the time column, and what the other columns hold by their place."""
    bare = [re.sub(r"\s*[\[(].*", "", header).strip().lower().replace(" ", "_") for header in headers]
    time = next((bare.index(name) for name in _TIME_NAMES if name in bare), None)
    if time is None:
        raise _refused(source, f"has no column of times; one of {', '.join(_TIME_NAMES)} is expected")
    columns: dict[int, Column] = {}
    for place, header in enumerate(headers):
        try:
            column = column_of(header)
        except ValueError as error:
            raise _refused(source, str(error)) from error
        if column is None or place == time:
            continue
        if any(column.key.name == other.key.name for other in columns.values()):
            raise _refused(source, f"has two columns of {column.key.name}; one is expected")
        columns[place] = column
    try:
        columns |= _by_other_words(headers, columns, time)
    except ValueError as error:
        raise _refused(source, str(error)) from error
    if not columns:
        raise _refused(source, "has no column with a reading, such as suction_pressure [psi]")
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

    def __init__(self, file: BinaryIO, layout: _Layout) -> None:
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


def _pieces(source: Path, layout: _Layout) -> Iterator[tuple[pd.DataFrame, float]]:
    """Pieces of the table, columns named by their place, and the share of the file read after each."""
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
            raise _refused(source, f"cannot be read as a table ({str(error).splitlines()[0]})") from error


def _numbers(column: pd.Series) -> Array:
    """Numbers of a column, NaN for whatever is none."""
    import pandas as pd

    return np.asarray(pd.to_numeric(column, errors="coerce"), dtype=np.float64)


def _possible(values: Array, column: Column) -> Array:
    """Values with NaN for what cannot be true."""
    low, high = column.key.limits or (-np.inf, np.inf)
    return np.where((values >= low) & (values <= high), values, np.nan)


@dataclass(frozen=True)
class _Clock:
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
            return _numbers(column) * self.unit
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


def _clock_of(column: pd.Series, layout: _Layout, system: System) -> _Clock:
    """How the times of a column are written: the form that understands most of the first rows."""
    head = column.head(500)
    inside = re.search(r"[\[(]\s*(\w+)", layout.headers[layout.time])
    unit = _TIME_UNITS.get(inside[1].lower()) if inside else None
    numbers = _numbers(head)
    if np.isfinite(numbers).sum() > len(head) / 2:
        return _Clock(unit or _unit_of_numbers(numbers), "", False)
    turned = [form.replace("%m/%d", "%d/%m") for form in _FORMS]
    best, most = _Clock(None, "", True), 0
    for form in dict.fromkeys([*turned, *_FORMS] if system == "SI" else [*_FORMS, *turned]):
        clock = _Clock(None, form, not form.startswith(("%H", "%I")))
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


def _log(
    times: list[Array], values: dict[str, list[Array]], layout: _Layout, read: tuple[_Clock, int]
) -> Log:
    """Pieces put together, sorted by time; a clock without dates that falls back has passed midnight."""
    clock, rows = read
    seconds = np.concatenate(times)
    if clock.unit is None and not clock.dated:
        seconds = seconds + _DAY * np.cumsum(np.diff(seconds, prepend=seconds[0]) < -_DAY / 2)
    seconds, remarks = _without_hour_back(seconds) if clock.dated else (seconds, ())
    order = None if np.all(np.diff(seconds) >= 0) else np.argsort(seconds, kind="stable")
    readings = {}
    for name in list(values):
        whole = np.concatenate(values.pop(name))
        readings[name] = whole if order is None else whole[order]
    seconds = seconds if order is None else seconds[order]
    start = dt.datetime(1970, 1, 1) + dt.timedelta(seconds=float(seconds[0])) if clock.dated else None
    missing = {name: int(np.isnan(value).sum()) for name, value in readings.items()}
    known = {layout.time, *layout.columns}
    ignored = tuple(header for place, header in enumerate(layout.headers) if place not in known)
    if clock.unit in (1e-3, 1e-6) and "[" not in layout.headers[layout.time]:
        remarks = (f"times were read as {'milli' if clock.unit == 1e-3 else 'micro'}seconds since 1970",)
    log = Log(seconds - seconds[0], readings, start, rows - len(seconds), missing, ignored)
    return replace(log, remarks=remarks)


def _without_hour_back(seconds: Array) -> tuple[Array, tuple[str, ...]]:
    """Times that run on where the clock was set back by an hour; rows that are out of order otherwise stay.

    A clock set back is the one step back of a log that then passes the time it fell back from.
    """
    steps = np.diff(seconds)
    back = np.flatnonzero(steps < 0.0)
    if len(back) != 1 or not HOUR_BACK[0] <= steps[back[0]] <= HOUR_BACK[1]:
        return seconds, ()
    place = int(back[0])
    if not seconds[-1] > seconds[place]:
        return seconds, ()
    moved = seconds + np.where(np.arange(len(seconds)) > place, -HOUR_BACK[0], 0.0)
    fell = dt.datetime(1970, 1, 1) + dt.timedelta(seconds=float(seconds[place]))
    return moved, (
        f"the clock was set back by an hour after {fell:%Y-%m-%d %H:%M:%S}; rows stay in their order",
    )
