"""Fouling over the time of a log, with its 90 % range and the days on which something changed."""

import datetime as dt
from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from calibration.track.track import Track, TrackEvent
from dashboard.charts import style
from dashboard.charts.chart import Axis, Band, Chart, Curve, Layer, Note
from dashboard.results.costs.season_cost import MONTHS
from dashboard.results.track import event_words
from model.arrays import Array

LONGEST_LINE = 30.0
"""Days without a steady stretch from which on the line is broken [d]: a month says little about the next."""
MOST_TICKS = 12
DAY = 86_400.0
FIRST = dt.date(1970, 1, 1)
CHANGE = style.Role("", style.SIENNA, (1.2, 1.6), "^", 1.0)


def track_chart(track: Track) -> Chart:
    """Level of fouling day by day.

    Parameters
    ----------
    track : Track

    Returns
    -------
    Chart
        Days since 1970 along x, marked by month; blocked share of the face in per cent along y. Each change
        is a line across at its day, with the date above it.
    """
    days = track.seconds / DAY
    level, low, high = (100.0 * part for part in (track.level, track.low, track.high))
    top = max(1.25 * float(np.max(high)), 5.0)
    layers: list[Layer] = []
    for number, piece in enumerate(_pieces(days)):
        names = ("90 % range", "most likely level") if number == 0 else ("", "")
        layers.append(Band(days[piece], low[piece], high[piece], style.EXPECTED, names[0]))
        layers.append(Curve(days[piece], level[piece], style.EXPECTED, names[1]))
    for number, event in enumerate(track.events):
        layers += _change(event, top, number)
    if track.flagged.any():
        odd = track.flagged
        layers.append(
            Curve(days[odd], level[odd], style.BACKGROUND, "day that fits no level", line=False, markers=True)
        )
    changes = "; ".join(f"{event.day}: {event_words(event)}" for event in track.events)
    ends = float(days[0]) - 0.5, float(days[-1]) + 0.5
    return Chart(
        title="Fouling over time",
        description=(
            f"Blocked share of the condenser's face, {level[0]:.0f} % on {_date(days[0])} and "
            f"{level[-1]:.0f} % (90 % range {low[-1]:.0f} to {high[-1]:.0f} %) on {_date(days[-1])}. "
            f"Changes: {changes or 'none'}."
        ),
        x=Axis("", "", *ends, ticks=_ticks(*ends)),
        y=Axis("blocked share of the face", "%", 0.0, top),
        layers=tuple(layers),
    )


def _change(event: TrackEvent, top: float, number: int) -> list[Layer]:
    """Line of one change and its date; every other date is lower, so that neighbours stay apart."""
    day = float((event.day - FIRST).days)
    height = (0.97, 0.91)[number % 2] * top
    line = Curve(
        np.full(2, day),
        np.array([0.0, height]),
        CHANGE,
        "" if number else "something changed",
        labels=(event_words(event),) * 2,
    )
    return [line, Note(day, height, f"{event.day.day} {MONTHS[event.day.month - 1]}")]


def _pieces(days: Array) -> Iterator[slice]:
    """Stretches of the log without a long gap."""
    cuts = np.flatnonzero(np.diff(days) > LONGEST_LINE) + 1
    for first, last in pairwise([0, *cuts.tolist(), len(days)]):
        yield slice(first, last)


def _ticks(first: float, last: float) -> tuple[tuple[float, str], ...]:
    """First days of months, of a year or of weeks where that is too much or too little, with their names."""
    begin, end = _date(first), _date(last)
    months = [
        day
        for year in range(begin.year, end.year + 1)
        for day in (dt.date(year, month, 1) for month in range(1, 13))
        if begin <= day <= end
    ]
    if len(months) < 2:
        step = max(int(last - first) // 5, 1)
        days = [begin + dt.timedelta(days=n) for n in range(1, int(last - first) + 1, step)]
        return tuple(((day - FIRST).days, f"{day.day} {MONTHS[day.month - 1]}\n{day.year}") for day in days)
    shown = months[:: -(-len(months) // MOST_TICKS)]
    years = {day.year: day for day in reversed(shown)}
    return tuple(
        (
            float((day - FIRST).days),
            MONTHS[day.month - 1] + (f"\n{day.year}" if years[day.year] == day else ""),
        )
        for day in shown
    )


def _date(day: float) -> dt.date:
    return FIRST + dt.timedelta(days=int(day))
