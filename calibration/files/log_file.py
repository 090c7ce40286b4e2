"""A logged CSV: times and readings of a unit, as arrays.

Any sampling rate, gaps and bad rows: a row without a time or of another length is left out, an entry that is
no number or cannot be true is missing. Times may be dates with clocks, clocks alone, or numbers of seconds
(or minutes or hours where the header says so). Headers are those of `calibration.files.headers`. Files are
read in pieces, so that a million rows take a few seconds and little memory.
"""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from calibration.case.units import GAUGE_PRESSURE, System
from calibration.files.log_layout import (
    Clock,
    LogLayout,
    clock_of,
    log_layout,
    log_refused,
    numbers_of,
    possible_values,
    table_pieces,
)
from model.arrays import Array
from model.properties.moist_air import STANDARD_PRESSURE

Progress = Callable[[float], None]

HOUR_BACK = (-3600.0, -2700.0)
"""Step back of a clock that goes over from summer time [s]: an hour, less the pause between two rows."""
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
        When the file cannot be read, has no time column, no reading, or is longer than the bounds of
        `calibration.files.log_layout`.
    """
    source = Path(path)
    layout = log_layout(source)
    times: list[Array] = []
    values: dict[str, list[Array]] = {column.key.name: [] for column in layout.columns.values()}
    spoken: Clock | None = None
    rows = 0
    for piece, share in table_pieces(source, layout):
        if spoken is None:
            spoken = clock_of(piece[layout.time], layout, system)
        seconds = spoken.seconds(piece[layout.time])
        if not times and not np.isfinite(seconds).any():
            break
        # a row with more entries than headers may hold every one of them in the wrong place
        good = np.isfinite(seconds) & np.asarray(piece[len(layout.headers)].isna())
        rows += len(seconds)
        times.append(seconds[good])
        for place, column in layout.columns.items():
            numbers = column.to_si(numbers_of(piece[place])[good], system, ambient_pressure)
            values[column.key.name].append(possible_values(numbers, column))
        if progress is not None:
            progress(share)
    if spoken is None or not sum(map(len, times)):
        name = layout.headers[layout.time]
        raise log_refused(source, f"no row has a time that can be read in column {name!r}")
    log = _log(times, values, layout, (spoken, rows))
    return replace(log, ambient_pressure=ambient_pressure, gauges=_gauges(layout))


def _gauges(layout: LogLayout) -> frozenset[str]:
    """Pressures that were read from gauges."""
    columns = layout.columns.values()
    return frozenset(c.key.name for c in columns if c.key.quantity is GAUGE_PRESSURE and not c.absolute)


def _log(
    times: list[Array], values: dict[str, list[Array]], layout: LogLayout, read: tuple[Clock, int]
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
