"""Steady stretches of a log of any length, found while it is read.

The tests are those of `calibration.measured.steady_state`: blocks of 20 s or of the log's own interval,
windows of 15 minutes whose line and scatter stay within the usual meters' accuracy, stretches over which no
15-minute average moves by more than two of them. A run of good windows is cut into stretches of an hour at
most, each of which is a thin visit. Rows behind the last finished stretch are carried into the next piece, a
little more than an hour of them, so that the work is linear in rows and memory does not grow with the log.

A stretch never goes over a step back of the clock. Where a piece has many, its rows are out of order and are
sorted. Stretches that lie in the time of an earlier one (a log given twice) are left out.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from calibration.case.errors import CaseError, Problem
from calibration.case.meters import METER_OF_READING, Instruments, standard_accuracy
from calibration.case.records import Case
from calibration.clean_fit.parameters import DEFAULT_EER
from calibration.measured.steady_state import (
    BLOCK,
    FEWEST_BLOCKS,
    FEWEST_SHARE,
    GUIDANCE,
    LONGEST_SPAN,
    RUNNING_AIR_DROP,
    RUNNING_PRESSURE_RATIO,
    SCATTER_ALLOWED,
    TRAVEL_ALLOWED,
)
from calibration.measured.windows import reach_of, true_runs, window_lines
from calibration.track.log_pieces import Piece, log_pieces
from model.arrays import Array, BoolArray, IntArray

LONGEST_STRETCH = 3600.0
"""Length of a stretch at most [s]."""
RUNNING_POWER = 0.25
"""Share of the nameplate's outdoor power above which a unit runs [-]; common practice, no source."""
SPEED_ALLOWED = 0.02
"""DatedChange of a compressor's or fan's speed that a stretch may have [-]."""
SPEEDS = ("compressor_speed", "outdoor_fan_speed")
MOST_STEPS_BACK = 20
"""Steps back of a clock in one piece from which on its rows count as out of order [-]."""
SLOWER = 1.5
"""Factor on the usual interval of a log from which on its blocks are made longer [-]."""
STUCK_STRETCHES, STUCK_TIME = 6, 43_200.0
"""Stretches in a row, and the time that they span [s], with one unchanging value: the sensor is stuck."""
DISTORTED = 0.5
"""Share of a reading's entries that cannot be true from which on its unit is mistaken [-]."""


@dataclass(frozen=True)
class Stretches:
    """Steady stretches, sorted by time.

    Attributes
    ----------
    begin, end : ndarray, shape (n,)
        Since 1970 by the log's clock [s].
    values : dict of str to ndarray, shape (n,)
        Mean of each reading [SI], NaN where it is missing.
    scatter : dict of str to ndarray, shape (n,)
        Standard deviation of its blocks [SI].
    rows, left_out : int
        Rows read, and those that could not be used.
    remarks : tuple of str
        What was made of clocks, stuck sensors and entries that cannot be true.
    """

    begin: Array
    end: Array
    values: dict[str, Array]
    scatter: dict[str, Array]
    rows: int
    left_out: int
    remarks: tuple[str, ...]

    def __len__(self) -> int:
        """How many there are."""
        return len(self.begin)


@dataclass
class _Found:
    """What is found so far: stretches one by one, counts, and where clocks fell back."""

    stretches: list[tuple[float, float, dict[str, float], dict[str, float]]] = field(default_factory=list)
    rows: int = 0
    left_out: int = 0
    ran: bool = False
    entries: dict[str, int] = field(default_factory=dict)
    impossible: dict[str, int] = field(default_factory=dict)
    falls: list[float] = field(default_factory=list)
    disordered: int = 0


def steady_stretches(
    logs: Sequence[Path], case: Case, progress: Callable[[float], None] | None = None
) -> Stretches:
    """Every steady stretch of some logs of one unit.

    Parameters
    ----------
    logs : sequence of Path
        CSV or Parquet files.
    case : Case
        For its units, its altitude and its nameplate's power.
    progress : callable, optional
        Called with the share of the logs that is read [-].

    Returns
    -------
    Stretches
        At least one.

    Raises
    ------
    CaseError
        When a log cannot be read, the unit never runs in it, or it never is steady.
    """
    power = case.unit.rated_capacity / (case.unit.rated_eer or DEFAULT_EER)
    found = _Found()
    for number, path in enumerate(logs):
        finder = _Finder(RUNNING_POWER * power, found)
        for piece in log_pieces(path, case.units, case.unit.ambient_pressure):
            finder.feed(piece)
            if progress is not None:
                progress((number + piece.share) / len(logs))
        finder.flush()
    name = ", ".join(map(str, logs))
    _check_units(name, found)
    if not found.ran:
        raise _refused(name, "the unit does not run in this log")
    if not found.stretches:
        raise _refused(name, f"the unit is never steady for {GUIDANCE / 60:.0f} min without a stop or a gap")
    return _gathered(found)


def _refused(name: str, sentence: str) -> CaseError:
    return CaseError([Problem((), name, sentence)])


def _check_units(name: str, found: _Found) -> None:
    """Refuse a log whose readings mostly cannot be true in the unit that they are taken for."""
    wrong = [key for key, count in found.impossible.items() if count > DISTORTED * max(found.entries[key], 1)]
    if wrong:
        share = found.impossible[wrong[0]] / found.entries[wrong[0]]
        raise _refused(
            name,
            f"{100 * share:.0f} % of the entries of {wrong[0]} cannot be true; "
            f"the right unit in the brackets of its header is expected",
        )


class _Finder:
    """Finds the stretches of one log, fed with its pieces."""

    def __init__(self, running_power: float, found: _Found) -> None:
        self.running_power = running_power
        self.found = found
        self.width = 0.0
        self.seconds = np.zeros(0)
        self.readings: dict[str, Array] = {}

    def feed(self, piece: Piece) -> None:
        """Find what is finished with one more piece."""
        found = self.found
        found.rows += len(piece.seconds) + piece.left_out
        found.left_out += piece.left_out
        for name, values in piece.readings.items():
            wrong = piece.impossible.get(name, 0)
            found.impossible[name] = found.impossible.get(name, 0) + wrong
            there = int(np.isfinite(values).sum()) + wrong
            found.entries[name] = found.entries.get(name, 0) + there
        if not len(piece.seconds):
            return
        seconds, readings = piece.seconds, piece.readings
        back = np.flatnonzero(np.diff(seconds) < 0.0) + 1
        if len(back) > MOST_STEPS_BACK:
            order = np.argsort(seconds, kind="stable")
            seconds = seconds[order]
            readings = {name: values[order] for name, values in readings.items()}
            found.disordered += len(back)
            back = back[:0]
        for first, last in zip([0, *back], [*back, len(seconds)], strict=True):
            part = slice(int(first), int(last))
            if first > 0 or (len(self.seconds) and seconds[0] < self.seconds[-1]):
                found.falls.append(float(seconds[first - 1] if first > 0 else self.seconds[-1]))
                self.flush()
            self._extend(seconds[part], {name: values[part] for name, values in readings.items()})
            self._find(last=False)

    def _extend(self, seconds: Array, readings: dict[str, Array]) -> None:
        steps = np.diff(seconds)
        usual = float(np.median(steps[steps > 0])) if np.any(steps > 0) else 0.0
        if usual > SLOWER * self.width and self.width:
            self.flush()
            self.width = 0.0
        if not self.width:
            self.width = max(BLOCK, usual)
        self.seconds = np.concatenate([self.seconds, seconds])
        before = self.readings or {name: np.zeros(0) for name in readings}
        self.readings = {name: np.concatenate([before[name], values]) for name, values in readings.items()}

    def flush(self) -> None:
        """Find what is left, and begin anew."""
        if len(self.seconds):
            self._find(last=True)
        self.seconds, self.readings = np.zeros(0), {}

    def _find(self, last: bool) -> None:
        """Stretches in the rows at hand; what may go on in the next piece is carried over."""
        window = max(round(GUIDANCE / self.width), FEWEST_BLOCKS)
        number = np.floor(self.seconds / self.width + 1e-9)
        starts = np.flatnonzero(np.diff(number, prepend=-1.0))
        means = {name: _block_means(values, starts) for name, values in self.readings.items()}
        times = number[starts] * self.width
        running = self._running(means, len(starts))
        self.found.ran = self.found.ran or bool(running.any())
        carried = max(len(starts) - window, 0)
        for first, stop in _cut(times, means, running, (window, self.width)):
            if not last and stop > len(starts) - 2:
                carried = min(carried, first)
                break
            self._add(times, means, slice(first, stop))
            carried = max(carried, stop) if stop > len(starts) - window else carried
        if not last:
            row = int(starts[carried]) if carried < len(starts) else len(self.seconds)
            self.seconds = self.seconds[row:].copy()
            self.readings = {name: values[row:].copy() for name, values in self.readings.items()}

    def _running(self, means: dict[str, Array], count: int) -> BoolArray:
        """Blocks in which the unit runs: by its power, its pressures and its air, whichever are there."""
        runs = np.ones(count, dtype=bool)
        power = means.get("outdoor_power", means.get("compressor_power"))
        if power is not None:
            runs &= ~(power < self.running_power)
        if {"liquid_pressure", "suction_pressure"} <= means.keys():
            runs &= ~(means["liquid_pressure"] / means["suction_pressure"] < RUNNING_PRESSURE_RATIO)
        elif power is None and {"return_db", "supply_db"} <= means.keys():
            runs &= ~(means["return_db"] - means["supply_db"] < RUNNING_AIR_DROP)
        return runs

    def _add(self, times: Array, means: dict[str, Array], place: slice) -> None:
        values, scatter = {}, {}
        for name, series in means.items():
            there = series[place][np.isfinite(series[place])]
            enough = len(there) >= FEWEST_BLOCKS
            values[name] = float(there.mean()) if enough else np.nan
            scatter[name] = float(there.std()) if enough else np.nan
        begin, end = float(times[place][0]), float(times[place][-1] + self.width)
        self.found.stretches.append((begin, end, values, scatter))


def _block_means(values: Array, starts: IntArray) -> Array:
    """Mean of each block, NaN where it has no entry."""
    there = np.isfinite(values)
    count = np.add.reduceat(there, starts, dtype=np.float64)
    total = np.add.reduceat(np.where(there, values, 0.0), starts)
    return np.asarray(np.divide(total, count, out=np.full(total.shape, np.nan), where=count > 0))


def _cut(
    times: Array, means: dict[str, Array], running: BoolArray, size: tuple[int, float]
) -> list[tuple[int, int]]:
    """First and past-the-last block of every steady stretch, in order."""
    window, width = size
    if len(times) < window or not running.any():
        return []
    span = times[window - 1 :] - times[: len(times) - window + 1] + width
    stopped = np.convolve(~running, np.ones(window), "valid") > 0.5
    passes = (span <= LONGEST_SPAN * window * width) & ~stopped
    reach = np.minimum(
        np.arange(len(passes)) + max(round(LONGEST_STRETCH / width) - window + 1, 1), len(passes)
    )
    for name, values in means.items():
        there = np.isfinite(values)
        if not there[running].mean() > DISTORTED:
            continue
        bound = _allowed(name, float(np.median(values[there & running])))
        if not bound > 0.0:
            continue
        line = window_lines(values, window)
        still = np.abs(line.slope) * (GUIDANCE / width) <= bound
        passes &= still & (line.scatter <= SCATTER_ALLOWED * bound) & (line.share >= FEWEST_SHARE)
        reach = np.minimum(reach, reach_of(line.mean / (TRAVEL_ALLOWED * bound)))
    found = []
    for first, stop in true_runs(passes):
        start = first
        while start < stop:
            end = min(int(reach[start]), stop) + window - 1
            found.append((start, end))
            start = end
    return found


def _allowed(name: str, value: float) -> float:
    """Standard accuracy of the usual meter at that reading [SI]; 0 for what is not tested."""
    if name in SPEEDS:
        return SPEED_ALLOWED
    return standard_accuracy(name, value, Instruments()) if name in METER_OF_READING else 0.0


def _gathered(found: _Found) -> Stretches:
    """Stretches in order of time, without those that come twice and without stuck sensors."""
    entries = sorted(found.stretches, key=lambda one: one[0])
    kept, until, twice = [], -np.inf, 0
    for one in entries:
        if one[0] < until - 1.0:
            twice += 1
            continue
        kept.append(one)
        until = one[1]
    names = dict.fromkeys(name for one in kept for name in one[2])
    values = {name: np.array([one[2].get(name, np.nan) for one in kept]) for name in names}
    scatter = {name: np.array([one[3].get(name, np.nan) for one in kept]) for name in names}
    begin, end = np.array([one[0] for one in kept]), np.array([one[1] for one in kept])
    remarks = _clock_remarks(found, twice)
    for name in values:
        stuck = _stuck(begin, values[name], scatter[name]) if name in METER_OF_READING else None
        if stuck is not None and stuck.any():
            values[name] = np.where(stuck, np.nan, values[name])
            remarks.append(
                f"{name} shows one unchanging value from {_day(begin[stuck][0])} to {_day(begin[stuck][-1])} "
                f"({int(stuck.sum())} stretches): stuck, not used there"
            )
    return Stretches(begin, end, values, scatter, found.rows, found.left_out, tuple(remarks))


def _stuck(begin: Array, values: Array, scatter: Array) -> BoolArray:
    """Stretches in which a reading stands still for longer than any real one."""
    same = (np.diff(values, prepend=np.nan) == 0.0) & (scatter == 0.0)
    stuck = np.zeros(len(values), dtype=bool)
    for first, last in true_runs(same):
        begins = first - 1
        if last - begins >= STUCK_STRETCHES and begin[last - 1] - begin[begins] >= STUCK_TIME:
            stuck[begins:last] = True
    return stuck


def _clock_remarks(found: _Found, twice: int) -> list[str]:
    remarks = []
    if found.falls:
        count = f"{len(found.falls)} time{'s' if len(found.falls) > 1 else ''}"
        remarks.append(
            f"the clock falls back {count}, first after {_day(found.falls[0])}; no stretch goes over it"
        )
    if found.disordered:
        remarks.append(f"{found.disordered} rows are out of order; they were sorted")
    if twice:
        remarks.append(f"{twice} stretches lie in the time of an earlier one and count once")
    return remarks


def _day(seconds: float) -> str:
    return f"{dt.datetime(1970, 1, 1) + dt.timedelta(seconds=float(seconds)):%Y-%m-%d %H:%M}"
