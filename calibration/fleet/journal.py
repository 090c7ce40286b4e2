"""Results of a fleet on the disk as they come, so that a stopped run goes on where it was.

One line a unit: its key and its row as JSON, safe on the disk before the next is waited for. A line that was
cut off by a crash is not counted and its unit is worked out again. The table of results is made from these
lines at the end, in the order of the fleet, and takes the place of an older one in one step.
"""

from __future__ import annotations

import csv
import io
import json
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from itertools import islice
from pathlib import Path
from typing import Any

from calibration.files.atomic_file import CAN_LOCK, write_whole
from calibration.files.spreadsheet_text import harmless_cell
from calibration.fleet.unit_row import COLUMNS, UnitRow

if CAN_LOCK:
    import fcntl

ENDING = ".journal"
"""What the name of the journal has after that of the table of results."""
FORMATS = (".csv", ".parquet")
"""Endings of a table of results."""
ROWS_A_GROUP = 5000
"""Rows of a Parquet file that are put together at once."""


class Journal:
    """Rows that were worked out, by their keys; kept open and locked by one run.

    Parameters
    ----------
    path : Path
        File of the journal.
    handle : int
        It, open for reading and appending.
    """

    def __init__(self, path: Path, handle: int) -> None:
        self.path = path
        self._handle = handle
        self._places: dict[str, tuple[int, int]] = {}
        self._end = 0
        self._read()

    def _read(self) -> None:
        """Find the whole lines; what follows the last of them was cut off and is overwritten."""
        with self.path.open("rb") as file:
            for line in file:
                entry = None
                with suppress(ValueError):
                    entry = json.loads(line) if line.endswith(b"\n") else None
                if isinstance(entry, dict) and isinstance(entry.get("row"), dict):
                    self._places[str(entry.get("key"))] = (self._end, len(line))
                elif not line.endswith(b"\n"):
                    break
                self._end += len(line)
        os.truncate(self._handle, self._end)

    def __contains__(self, key: object) -> bool:
        """Whether the row of a key is there."""
        return key in self._places

    def add(self, key: str, row: Mapping[str, Any]) -> None:
        """Write one row and make it safe on the disk."""
        line = json.dumps({"key": key, "row": dict(row)}, ensure_ascii=True, allow_nan=False).encode() + b"\n"
        os.lseek(self._handle, self._end, os.SEEK_SET)
        written = 0
        while written < len(line):
            written += os.write(self._handle, line[written:])
        os.fsync(self._handle)
        self._places[key] = (self._end, len(line))
        self._end += len(line)

    def rows(self, keys: Iterable[str]) -> Iterator[dict[str, Any]]:
        """Rows of some keys, in their order, read one at a time."""
        with self.path.open("rb") as file:
            for key in keys:
                place, length = self._places[key]
                file.seek(place)
                row: dict[str, Any] = json.loads(file.read(length))["row"]
                yield row

    def keep_only(self, keys: Sequence[str]) -> None:
        """Forget rows of cases that have changed or are gone."""
        wanted = dict.fromkeys(keys)
        if set(self._places) <= set(wanted):
            return
        content = [
            json.dumps({"key": key, "row": row}, ensure_ascii=True, allow_nan=False)
            for key, row in zip(wanted, self.rows(wanted), strict=True)
        ]
        write_whole(self.path, ("\n".join(content) + "\n").encode())


@contextmanager
def open_journal(table: Path) -> Iterator[Journal]:
    """The journal beside a table of results, locked against a second run.

    Parameters
    ----------
    table : Path
        Where the results will be.

    Returns
    -------
    context manager of Journal

    Raises
    ------
    ValueError
        When another run is writing it.
    OSError
        When it cannot be written.
    """
    path = table.with_name(table.name + ENDING)
    handle = os.open(path, os.O_RDWR | os.O_CREAT | getattr(os, "O_BINARY", 0), 0o666)
    try:
        if CAN_LOCK:
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                raise ValueError(
                    f"{table}: another run is writing it; wait for it or stop it first"
                ) from None
        try:
            yield Journal(path, handle)
        finally:
            if os.fstat(handle).st_size == 0:  # nothing came of it
                path.unlink(missing_ok=True)
    finally:
        os.close(handle)


def write_table(path: Path, rows: Iterable[Mapping[str, Any]]) -> None:
    """Table of results in one step.

    Parameters
    ----------
    path : Path
        Ending in .csv or .parquet.
    rows : iterable of mapping
        Values by column of `calibration.fleet.unit_row.COLUMNS`.

    Raises
    ------
    OSError
        When it cannot be written; what was there is as it was.
    """
    content = _parquet(rows) if path.suffix.lower() == ".parquet" else _csv(rows)
    write_whole(path, content)


def _csv(rows: Iterable[Mapping[str, Any]]) -> bytes:
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow(COLUMNS)
    for row in rows:
        writer.writerow([_cell(row.get(name)) for name in COLUMNS])
    return buffer.getvalue().encode("utf-8")


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return harmless_cell(value) if isinstance(value, str) else repr(value)


def _parquet(rows: Iterable[Mapping[str, Any]]) -> bytes:
    import pyarrow as pa
    from pyarrow import parquet

    kinds = {"str": pa.string(), "bool": pa.bool_(), "int": pa.int64(), "float": pa.float64()}
    schema = pa.schema(
        [(name, kinds[str(kind).split(" ")[0]]) for name, kind in UnitRow.__annotations__.items()]
    )
    sink = pa.BufferOutputStream()
    with parquet.ParquetWriter(sink, schema) as writer:
        remaining = iter(rows)
        while listed := list(islice(remaining, ROWS_A_GROUP)):
            columns = [
                pa.array([row.get(name) for row in listed], schema.field(name).type) for name in COLUMNS
            ]
            writer.write_table(pa.Table.from_arrays(columns, schema=schema))
    return bytes(sink.getvalue())
