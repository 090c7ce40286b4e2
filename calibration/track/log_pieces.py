"""A log of any length as a stream of pieces, so that memory stays flat: CSV by rows, Parquet by batches.

Headers and units are those of `calibration.files.headers`. Only what has a date can be followed over months:
a log with clocks alone or with seconds since its start is refused. Times stay as the clock showed them; where
it falls back is left to the reader of the pieces.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from calibration.case.units import System
from calibration.files.log_layout import (
    PIECE,
    SINCE_1970,
    Clock,
    LogLayout,
    clock_of,
    log_layout,
    log_refused,
    numbers_of,
    possible_values,
    table_pieces,
    understood_headers,
)
from model.arrays import Array

if TYPE_CHECKING:
    import pandas as pd
    import pyarrow as pa
    import pyarrow.parquet as pq

STOPPED = "power|speed|airflow"
"""Readings that fall to nearly zero while a unit stands: less than a running one can have is no mistake."""
PARQUET = b"PAR1"
"""First bytes of a Parquet file (Apache Parquet format specification)."""
LARGEST_CHUNK = 1_000_000_000
"""Bytes that one column of a row group may have uncompressed: a page of it is in memory as a whole."""


@dataclass(frozen=True)
class Piece:
    """Rows of a log in the order of the file.

    Attributes
    ----------
    seconds : ndarray, shape (n,)
        Time since 1970 by the log's own clock [s].
    readings : dict of str to ndarray, shape (n,)
        Values by key [SI], NaN where a row has none.
    left_out : int
        Rows without a time, or of another length than the header.
    impossible : dict of str to int
        Entries of each reading that are numbers but cannot be true.
    share : float
        Share of the file that is read [-].
    """

    seconds: Array
    readings: dict[str, Array]
    left_out: int = 0
    impossible: dict[str, int] = field(default_factory=dict)
    share: float = 1.0


def log_pieces(path: Path, system: System, ambient_pressure: float) -> Iterator[Piece]:
    """Pieces of a log, one after the other.

    Parameters
    ----------
    path : Path
        CSV or Parquet, told apart by their first bytes.
    system : {"US", "SI"}
        System of columns whose header names no unit.
    ambient_pressure : float
        Local barometric pressure, for gauge readings [Pa].

    Yields
    ------
    Piece
        Of about `calibration.files.log_layout.PIECE` rows.

    Raises
    ------
    CaseError
        When the file cannot be read as a log with dates, in a sentence.
    """
    clock: Clock | None = None
    found = False
    for frame, layout, share in _frames(path):
        if clock is None:
            clock = _dated_clock(path, frame[layout.time], layout, system)
        seconds = _seconds(frame[layout.time], clock)
        good = np.isfinite(seconds)
        if len(layout.headers) in frame:  # entries beyond the last header may stand in the wrong place
            good &= np.asarray(frame[len(layout.headers)].isna())
        found = found or bool(good.any())
        readings, impossible = {}, {}
        for place, column in layout.columns.items():
            numbers = column.to_si(numbers_of(frame[place])[good], system, ambient_pressure)
            possible = possible_values(numbers, column)
            if re.search(STOPPED, column.key.name):
                low = column.key.limits[0] if column.key.limits else 0.0
                possible = np.where((numbers >= 0.0) & (numbers < low), numbers, possible)
            readings[column.key.name] = possible
            impossible[column.key.name] = int(np.sum(np.isfinite(numbers) & ~np.isfinite(possible)))
        yield Piece(seconds[good], readings, int(np.sum(~good)), impossible, share)
    if not found:
        raise log_refused(path, "no row has a time that can be read")


def _frames(path: Path) -> Iterator[tuple[pd.DataFrame, LogLayout, float]]:
    """Tables with columns named by their place, how the file is written, and the share read."""
    try:
        with path.open("rb") as file:
            is_parquet = file.read(len(PARQUET)) == PARQUET
    except OSError as error:
        words = "there is no such file" if isinstance(error, FileNotFoundError) else str(error.strerror)
        raise log_refused(path, words) from error
    if is_parquet:
        yield from _parquet_frames(path)
        return
    layout = log_layout(path, bounded=False)
    for frame, share in table_pieces(path, layout):
        yield frame, layout, share


def _parquet_frames(path: Path) -> Iterator[tuple[pd.DataFrame, LogLayout, float]]:
    import pyarrow as pa
    import pyarrow.parquet as pq

    try:
        with pq.ParquetFile(path) as file:
            headers = tuple(file.schema_arrow.names)
            time, columns = understood_headers(path, headers)
            _check_columns(path, file, (time, *columns))
            layout = LogLayout(",", ".", "utf-8", 0, headers, time, columns)
            rows, done = max(file.metadata.num_rows, 1), 0
            for batch in file.iter_batches(PIECE, columns=[headers[place] for place in (time, *columns)]):
                frame = batch.to_pandas()
                frame.columns = [headers.index(name) for name in frame.columns]
                done += len(frame)
                yield frame, layout, done / rows
    except (pa.ArrowException, OSError) as error:
        raise log_refused(path, f"cannot be read as Parquet ({str(error).splitlines()[0]})") from error


def _check_columns(path: Path, file: pq.ParquetFile, places: tuple[int, ...]) -> None:
    """Refuse columns in which there can be no time or number, or that unpack without end."""
    names = set()
    for place in places:
        column = file.schema_arrow.field(place)
        names.add(column.name)
        if _is_no_value(column.type):
            words = (
                f"column {column.name!r} is of type {str(column.type)[:40]}; times or numbers are expected"
            )
            raise log_refused(path, words)
    for number in range(file.metadata.num_row_groups):
        group = file.metadata.row_group(number)
        for place in range(group.num_columns):
            chunk = group.column(place)
            if chunk.path_in_schema in names and chunk.total_uncompressed_size > LARGEST_CHUNK:
                words = (
                    f"column {chunk.path_in_schema!r} has {chunk.total_uncompressed_size} bytes in one row"
                )
                raise log_refused(path, f"{words} group; at most {LARGEST_CHUNK} are expected")


def _is_no_value(kind: pa.DataType) -> bool:
    """Whether entries of a type are lists, structures or bytes."""
    import pyarrow.types as types

    bare = kind.value_type if types.is_dictionary(kind) else kind
    tests = (types.is_nested, types.is_binary, types.is_large_binary, types.is_fixed_size_binary)
    return any(test(bare) for test in tests)


def _dated_clock(path: Path, column: pd.Series, layout: LogLayout, system: System) -> Clock:
    """How times are written; refused where they have no date."""
    if column.dtype.kind == "M":
        return Clock(None, "", True)
    clock = clock_of(column, layout, system)
    if clock.unit is not None:
        middle = float(np.nanmedian(numbers_of(column) * clock.unit))
        if not SINCE_1970[0] <= middle <= SINCE_1970[1]:
            header = layout.headers[layout.time]
            raise log_refused(path, f"times in {header!r} have no date; dates with clocks are expected")
    elif not clock.dated:
        header = layout.headers[layout.time]
        raise log_refused(path, f"times in {header!r} have no date; dates with clocks are expected")
    return clock


def _seconds(column: pd.Series, clock: Clock) -> Array:
    """Seconds since 1970, NaN where there is no time."""
    if column.dtype.kind != "M":
        return clock.seconds(column)
    plain = column.dt.tz_localize(None) if getattr(column.dt, "tz", None) is not None else column
    stamps = plain.to_numpy("datetime64[us]")
    return np.asarray((stamps - np.datetime64("1970-01-01", "us")) / np.timedelta64(1, "s"), dtype=float)
