"""Did the unit reach steady state? The longest steady stretch of a log, and its averages as a visit.

A log is averaged in blocks of 20 s (or of its own interval where that is longer). A window of 15 minutes
(common practice before readings are taken) is steady when in every reading

* the fitted line changes by no more than one standard accuracy of the usual meter
  (`calibration.case.meters`), and
* the blocks scatter about the line by no more than three of them: a valve that hunts evenly may be averaged.

A stretch is steady when all windows in it are and the 15-minute average has not moved by more than two
standard accuracies from one end to the other. Blocks in which the unit does not run never count.

The standard error of an average takes into account that neighbouring blocks are alike: the sum of
autocorrelations is cut where a pair of them falls below zero.

References
----------
Geyer, Practical Markov chain Monte Carlo, Statistical Science 7(4), 1992: initial positive sequence.
The tolerances are common practice, no source.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from calibration.case.meters import METER_OF_READING, Instruments, standard_accuracy
from calibration.case.records import Coil, Visit
from calibration.estimate import Estimate, with_error
from calibration.files.log_file import Log
from calibration.measured.windows import longest_steady, true_runs, window_lines
from model.arrays import Array, BoolArray

GUIDANCE = 900.0
"""Length of a window that must be steady [s]."""
BLOCK = 20.0
"""Length over which a log is averaged first [s]."""
FEWEST_BLOCKS = 4
"""Blocks that a window must have, for a line and a scatter about it."""
LONGEST_SPAN = 1.3
"""Time that the blocks of a window may span with gaps, over its length without [-]."""
FEWEST_SHARE = 0.7
"""Share of a window's blocks in which a reading must be there [-]."""
SCATTER_ALLOWED = 3.0
"""Scatter allowed about the line, in standard accuracies [-]."""
TRAVEL_ALLOWED = 2.0
"""Move allowed over the whole stretch, in standard accuracies [-]."""
RUNNING_SHARE = 0.3
"""Share of its usual high outdoor power above which a unit runs [-]."""
RUNNING_PRESSURE_RATIO = 1.3
"""Liquid over suction pressure above which a unit runs [-]."""
RUNNING_AIR_DROP = 3.0
"""Return over supply air above which a unit runs [K]."""
TRACE_POINTS = 1200
"""Points of a trace for drawing."""

_ONE_OF = (
    ("return_wb", "return_dewpoint", "return_rh"),
    ("supply_wb", "supply_dewpoint", "supply_rh"),
    ("indoor_airflow_standard", "indoor_airflow"),
)
_NEEDED = ("outdoor_db", "return_db")


@dataclass(frozen=True)
class Drift:
    """How steady one reading is.

    Attributes
    ----------
    key : str
        The reading.
    change : float
        Change of the fitted line in 15 minutes [SI].
    scatter : float
        Standard deviation of the blocks about the line [SI].
    allowed_change, allowed_scatter : float
        Bounds of both [SI].
    """

    key: str
    change: float
    scatter: float
    allowed_change: float
    allowed_scatter: float

    @property
    def is_steady(self) -> bool:
        """Whether the reading is steady."""
        return abs(self.change) <= self.allowed_change and self.scatter <= self.allowed_scatter


@dataclass(frozen=True)
class Trace:
    """One reading over the whole log for drawing: mean, lowest and highest of each piece of time [SI]."""

    key: str
    seconds: Array
    mean: Array
    low: Array
    high: Array


@dataclass(frozen=True)
class SteadyRecord:
    """The longest steady stretch of a log.

    Attributes
    ----------
    begin, end : float or None
        Steady stretch since the first row [s]; None where there is none.
    averages : mapping of str to Estimate
        Mean of each reading over the stretch and its standard error from the scatter alone [SI]; the meters'
        own accuracy comes on top. Empty where there is none.
    visit : Visit or None
        The averages as a visit; None without a steady stretch, or where a reading that every visit needs is
        not logged.
    lacking : tuple of str
        Readings that a visit needs and the log does not have.
    drifts : tuple of Drift
        The tests over the stretch; without a steady stretch those over the last 15 running minutes.
    reason : str
        Why there is no steady stretch; empty where there is one.
    traces : tuple of Trace
        For drawing.
    """

    begin: float | None
    end: float | None
    averages: Mapping[str, Estimate]
    visit: Visit | None
    lacking: tuple[str, ...]
    drifts: tuple[Drift, ...]
    reason: str
    traces: tuple[Trace, ...]

    @property
    def is_steady(self) -> bool:
        """Whether there is a steady stretch."""
        return self.begin is not None

    @property
    def minutes(self) -> float:
        """Length of the steady stretch [min], 0 without one."""
        return 0.0 if self.begin is None or self.end is None else (self.end - self.begin) / 60.0


class _Blocks(NamedTuple):
    """Averages over equal lengths of time, empty ones left out."""

    width: float
    seconds: Array
    means: dict[str, Array]
    running: BoolArray


class _Stretch(NamedTuple):
    """Blocks from the first to before the last."""

    first: int
    last: int


def steady_record(log: Log, coil: Coil = "as found", label: str = "from a log") -> SteadyRecord:
    """Longest steady stretch of a log, and its averages as a visit.

    Parameters
    ----------
    log : Log
        Readings over time [SI].
    coil : str
        State of the condenser coil, for the visit.
    label : str
        Name of the visit.

    Returns
    -------
    SteadyRecord
        In SI.
    """
    blocks = _blocks(log)
    tested = [name for name in blocks.means if _is_logged(blocks, name) and _can_be_tested(blocks, name)]
    window = max(round(GUIDANCE / blocks.width), FEWEST_BLOCKS)
    stretch = _longest_stretch(blocks, tested, window)
    traces = tuple(_trace(log, name) for name in log.readings)
    lacking = _lacking(blocks)
    if stretch is None:
        recent = _recent(blocks, window)
        drifts = () if recent is None else _drifts(blocks, tested, recent)
        reason = _reason(blocks, tested, window, drifts)
        return SteadyRecord(None, None, {}, None, lacking, drifts, reason, traces)
    begin = float(blocks.seconds[stretch.first])
    end = float(blocks.seconds[stretch.last - 1] + blocks.width)
    averages = _averages(blocks, stretch)
    about: dict[str, Any] = {"label": label, "coil": coil, "settled_minutes": (end - begin) / 60.0}
    if log.start is not None:
        start = log.start + dt.timedelta(seconds=begin)
        about |= {"date": start.date(), "time": start.time().replace(microsecond=0)}
    visit = None if lacking else _visit(averages, log, about)
    drifts = _drifts(blocks, tested, stretch)
    return SteadyRecord(begin, end, averages, visit, lacking, drifts, "", traces)


def _blocks(log: Log) -> _Blocks:
    """Averages of a log over equal lengths of time."""
    steps = np.diff(log.seconds)
    usual = float(np.median(steps[steps > 0])) if np.any(steps > 0) else BLOCK
    width = max(BLOCK, usual)
    number = np.floor(log.seconds / width + 1e-9)
    starts = np.flatnonzero(np.diff(number, prepend=-1.0))
    means = {}
    for name, values in log.readings.items():
        there = np.isfinite(values)
        count = np.add.reduceat(there, starts, dtype=np.float64)
        total = np.add.reduceat(np.where(there, values, 0.0), starts)
        means[name] = np.divide(total, count, out=np.full(total.shape, np.nan), where=count > 0)
    return _Blocks(width, number[starts] * width, means, _running(means, len(starts)))


def _running(means: Mapping[str, Array], count: int) -> BoolArray:
    """Blocks in which the unit runs, by its power, else its pressures, else its air; else all."""
    power = means.get("outdoor_power", means.get("compressor_power"))
    if power is not None and np.isfinite(power).any():
        return np.nan_to_num(power) > RUNNING_SHARE * np.nanpercentile(power, 95)
    if {"liquid_pressure", "suction_pressure"} <= means.keys():
        ratio = means["liquid_pressure"] / means["suction_pressure"]
        return np.nan_to_num(ratio) > RUNNING_PRESSURE_RATIO
    if {"return_db", "supply_db"} <= means.keys():
        return np.nan_to_num(means["return_db"] - means["supply_db"]) > RUNNING_AIR_DROP
    return np.ones(count, dtype=bool)


def _is_logged(blocks: _Blocks, name: str) -> bool:
    """Whether a reading is there for more than half of the time that the unit runs."""
    there = np.isfinite(blocks.means[name][blocks.running])
    return bool(there.size) and float(there.mean()) > 0.5


def _can_be_tested(blocks: _Blocks, name: str) -> bool:
    """Whether a reading has a meter with an error; a wattmeter that usually shows nothing has none."""
    return name in METER_OF_READING and _allowed(name, blocks.means[name]) > 0.0


def _lacking(blocks: _Blocks) -> tuple[str, ...]:
    """Readings that every visit needs and that are not logged."""
    lacking = [name for name in _NEEDED if name not in blocks.means or not _is_logged(blocks, name)]
    if not any(name in blocks.means and _is_logged(blocks, name) for name in _ONE_OF[0]):
        lacking.append(_ONE_OF[0][0])
    return tuple(lacking)


def _allowed(name: str, values: Array) -> float:
    """Standard accuracy of the usual meter at the usual size of a reading [SI]."""
    return standard_accuracy(name, float(np.nanmedian(values)), Instruments())


def _longest_stretch(blocks: _Blocks, tested: list[str], window: int) -> _Stretch | None:
    """Longest steady stretch, None where there is none."""
    if len(blocks.seconds) < window or not tested:
        return None
    passes = _contiguous(blocks, window)
    averages: dict[str, Array] = {}
    for name in tested:
        values = blocks.means[name]
        line = window_lines(values, window)
        bound = _allowed(name, values)
        still = np.abs(line.slope) * (GUIDANCE / blocks.width) <= bound
        passes &= still & (line.scatter <= SCATTER_ALLOWED * bound) & (line.share >= FEWEST_SHARE)
        averages[name] = line.mean / (TRAVEL_ALLOWED * bound)
    best: _Stretch | None = None
    for first, last in sorted(true_runs(passes), key=lambda run: run[0] - run[1]):
        if best is not None and last - first <= best.last - best.first - window + 1:
            break
        begin, count = longest_steady([average[first:last] for average in averages.values()])
        found = _Stretch(first + begin, first + begin + count + window - 1)
        if best is None or found.last - found.first > best.last - best.first:
            best = found
    return best


def _contiguous(blocks: _Blocks, window: int) -> BoolArray:
    """Windows without a long gap in which the unit runs all the time, by their first block."""
    span = blocks.seconds[window - 1 :] - blocks.seconds[: len(blocks.seconds) - window + 1] + blocks.width
    stopped = np.convolve(~blocks.running, np.ones(window), "valid") > 0.5
    return (span <= LONGEST_SPAN * window * blocks.width) & ~stopped


def _recent(blocks: _Blocks, window: int) -> _Stretch | None:
    """Last blocks in which the unit runs, at most a window of them; None where it never runs."""
    runs = true_runs(blocks.running)
    if not runs:
        return None
    first, last = runs[-1]
    return _Stretch(max(first, last - window), last)


def _drifts(blocks: _Blocks, tested: list[str], stretch: _Stretch) -> tuple[Drift, ...]:
    """Line and scatter of every reading over a stretch, the least steady first."""
    seconds = blocks.seconds[stretch.first : stretch.last]
    drifts = []
    for name in tested:
        values = blocks.means[name][stretch.first : stretch.last]
        there = np.isfinite(values)
        if there.sum() < FEWEST_BLOCKS - 1:
            continue
        time, value = seconds[there] - seconds.mean(), values[there]
        slope, level = np.polyfit(time, value, 1)
        scatter = float(np.std(value - level - slope * time, ddof=2))
        bound = _allowed(name, blocks.means[name])
        drifts.append(Drift(name, float(slope) * GUIDANCE, scatter, bound, SCATTER_ALLOWED * bound))
    return tuple(sorted(drifts, key=_restlessness, reverse=True))


def _restlessness(drift: Drift) -> float:
    """How far a reading is from steady: over 1 it is not."""
    return max(abs(drift.change) / drift.allowed_change, drift.scatter / drift.allowed_scatter)


def _reason(blocks: _Blocks, tested: list[str], window: int, drifts: tuple[Drift, ...]) -> str:
    """Why there is no steady stretch."""
    needed = window * blocks.width / 60.0
    length = float(blocks.seconds[-1] - blocks.seconds[0] + blocks.width) / 60.0
    if not blocks.running.any():
        return "the unit does not run in this log"
    if not tested:
        return "every reading is missing for more than half of the running time"
    if length < needed:
        return f"the log lasts {length:.0f} min; at least {needed:.0f} min of running are needed"
    moving = [drift.key for drift in drifts if not drift.is_steady]
    if moving:
        return f"still changing in the last {GUIDANCE / 60:.0f} min of running: {', '.join(moving)}"
    return f"the unit never runs for {needed:.0f} min without a gap, a stop or a change of conditions"


def _averages(blocks: _Blocks, stretch: _Stretch) -> dict[str, Estimate]:
    """Mean of every reading over a stretch and its standard error from scatter."""
    averages = {}
    for name, means in blocks.means.items():
        values = means[stretch.first : stretch.last]
        values = values[np.isfinite(values)]
        if len(values) >= FEWEST_BLOCKS:
            averages[name] = with_error(float(np.mean(values)), standard_error_of_mean(values))
    return averages


def standard_error_of_mean(values: Array) -> float:
    """Standard error of the mean of a series whose neighbours are alike.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Evenly spaced, n >= 2.

    Returns
    -------
    float
        Standard error, in the unit of the values: sqrt(variance times autocorrelation time over n).

    References
    ----------
    Geyer 1992, Statistical Science 7(4), section 3.3.
    """
    count = len(values)
    centred = values - np.mean(values)
    variance = float(np.mean(centred**2))
    if variance == 0.0:
        return 0.0
    size = 2 ** int(np.ceil(np.log2(2 * count)))
    spectrum = np.abs(np.fft.rfft(centred, size)) ** 2
    correlation = np.fft.irfft(spectrum, size)[:count] / (count * variance)
    pairs = correlation[: count // 2 * 2].reshape(-1, 2).sum(axis=1)
    stop = int(np.argmax(pairs <= 0)) if np.any(pairs <= 0) else len(pairs)
    time = max(2.0 * float(np.sum(pairs[:stop])) - 1.0, 1.0 / count)
    return float(np.sqrt(variance * count / (count - 1) * time / count))


def _visit(averages: Mapping[str, Estimate], log: Log, about: Mapping[str, object]) -> Visit:
    """Visit of the averages; of two humidities or airflows of the same air the first of `_ONE_OF`."""
    values = {name: average.value for name, average in averages.items() if name != "settled_minutes"}
    for group in _ONE_OF:
        for spare in [name for name in group if name in values][1:]:
            del values[spare]
    ambient = values.get("barometer", log.ambient_pressure)
    for name in log.gauges & values.keys():
        values[name] += ambient - log.ambient_pressure
    entries: dict[str, Any] = {**values, **about, "ambient_pressure": ambient}
    for name in ("outdoor_phases", "indoor_phases"):
        if name in entries:
            entries[name] = round(entries[name])
    return Visit(**entries)


def _trace(log: Log, name: str) -> Trace:
    """One reading thinned out for drawing."""
    values = log.readings[name]
    width = max(float(log.seconds[-1]) / TRACE_POINTS, 1e-9)
    number = np.minimum(np.floor(log.seconds / width), TRACE_POINTS - 1)
    starts = np.flatnonzero(np.diff(number, prepend=-1.0))
    there = np.isfinite(values)
    count = np.add.reduceat(there, starts, dtype=np.float64)
    total = np.add.reduceat(np.where(there, values, 0.0), starts)
    low = np.minimum.reduceat(np.where(there, values, np.inf), starts)
    high = np.maximum.reduceat(np.where(there, values, -np.inf), starts)
    full = count > 0
    mean = total[full] / count[full]
    return Trace(name, log.seconds[starts][full], mean, low[full], high[full])
