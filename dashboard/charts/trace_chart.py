"""The traces of a log: one lane for each reading over one axis of time, the steady stretch shaded.

Each lane is scaled to its own reading; its lowest and highest value are beside it.
"""

from itertools import pairwise

import numpy as np

from calibration.case.keys import find_key
from calibration.case.units import System
from calibration.files.log_file import Log
from calibration.measured.steady_state import SteadyRecord, Trace
from dashboard.charts import style
from dashboard.charts.chart import Axis, Band, Chart, Curve, Layer
from model.arrays import Array

LANE = 0.8
"""Height of a trace in its lane [lanes]."""
GAP = 5.0
"""Time between two points of a trace, over the usual one, from which the line is broken [-]."""
MOST_LANES = 24
"""Readings drawn; those that move most come first."""


def trace_chart(record: SteadyRecord, log: Log, system: System) -> Chart:
    """Every reading of a log over time.

    Parameters
    ----------
    record : SteadyRecord
        Traces, and the steady stretch [SI].
    log : Log
        The log that they are from.
    system : {"US", "SI"}
        Units of the values at the side.

    Returns
    -------
    Chart
        Minutes along x; one lane of height 1 for each reading along y, the first at the top.
    """
    still = {drift.key: drift.is_steady for drift in record.drifts}
    traces = [trace for trace in record.traces if trace.seconds.size and find_key(trace.key) is not None]
    traces = sorted(traces, key=lambda trace: still.get(trace.key, True))[:MOST_LANES]
    layers: list[Layer] = []
    ticks: list[tuple[float, str]] = []
    named: set[str] = set()
    if record.begin is not None and record.end is not None:
        ends = np.array([record.begin, record.end]) / 60.0
        edge = np.full(2, len(traces) - 0.5)
        layers.append(Band(ends, np.full(2, -0.5), edge, style.CLEAN, "steady stretch"))
    for trace, place in zip(traces, range(len(traces) - 1, -1, -1), strict=True):
        moving = not still.get(trace.key, True)
        role, name = (style.SECOND, "still changing") if moving else (style.MEASURED, "reading")
        layers += _lane(trace, float(place), role, "" if name in named else name)
        ticks.append((float(place), _beside(trace, log, system)))
        named.add(name)
    length = float(log.seconds[-1]) / 60.0
    steady = f"steady for {record.minutes:.0f} min" if record.is_steady else "no steady state"
    return Chart(
        title="Readings over time",
        description=f"{len(traces)} readings over {length:.0f} min, each in its own lane: {steady}.",
        x=Axis("time since the first row", "min", 0.0, max(length, 1e-3)),
        y=Axis("", low=-0.5, high=max(len(traces), 1) - 0.5, ticks=tuple(ticks)),
        layers=tuple(layers),
    )


def _lane(trace: Trace, place: float, role: style.Role, name: str) -> list[Layer]:
    """Spread and mean of one reading, scaled into its lane."""
    low, high = float(np.min(trace.low)), float(np.max(trace.high))
    size = LANE / (high - low) if high > low else 0.0
    middle = (low + high) / 2.0
    lower, mean, upper = (place + size * (part - middle) for part in (trace.low, trace.mean, trace.high))
    minutes = trace.seconds / 60.0
    thin = style.Role(role.label, role.colour, role.dash, role.marker, 1.0)
    pieces = _pieces(minutes)
    curves: list[Layer] = []
    for number, piece in enumerate(pieces):
        curves.append(Band(minutes[piece], lower[piece], upper[piece], thin))
        curves.append(Curve(minutes[piece], mean[piece], thin, name if number == 0 else ""))
    return curves


def _pieces(minutes: Array) -> list[slice]:
    """Stretches of a trace without a gap."""
    steps = np.diff(minutes)
    if not steps.size:
        return [slice(0, 1)]
    cuts = np.flatnonzero(steps > GAP * np.median(steps)) + 1
    return [slice(first, last) for first, last in pairwise([0, *cuts.tolist(), len(minutes)])]


def _beside(trace: Trace, log: Log, system: System) -> str:
    """Words of a reading, and its lowest and highest value."""
    key = find_key(trace.key)
    if key is None or key.quantity is None:
        return trace.key if key is None else key.words
    low, high = (
        key.quantity.shown(float(value), system, log.ambient_pressure)
        for value in (np.min(trace.low), np.max(trace.high))
    )
    unit = key.quantity.label(system)
    return f"{key.words}\n{low} to {high} {unit}".rstrip()
