"""Fouling over the time of a log with its 90 % range, the weather, and days on which something changed."""

import datetime as dt
from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from calibration.case.units import TEMPERATURE, System
from calibration.track.kept import KeptTrack
from dashboard.charts import style
from dashboard.charts.chart import Axis, Band, Chart, Curve, Layer, Note
from dashboard.results.costs.season_cost import MONTHS
from dashboard.results.track import change_words
from dashboard.texts.translate import tr
from model.arrays import Array, BoolArray

LONGEST_LINE = 30.0
"""Days without a steady stretch from which on the line is broken [d]: a month says little about the next."""
MOST_TICKS = 12
DAY = 86_400.0
FIRST = dt.date(1970, 1, 1)
CHANGE = style.Role("", style.SIENNA, (1.2, 1.6), "^", 1.0)


def days_shown(track: KeptTrack) -> tuple[dt.date, dt.date]:
    """First and last day of a track, a day apart at least.

    Parameters
    ----------
    track : KeptTrack

    Returns
    -------
    (date, date)
    """
    first, last = (_date(float(track.seconds[place]) / DAY) for place in (0, -1))
    return first, max(last, first + dt.timedelta(days=1))


def track_chart(track: KeptTrack, shown: tuple[dt.date, dt.date] | None = None) -> Chart:
    """Level of fouling day by day.

    Parameters
    ----------
    track : KeptTrack
    shown : (date, date), optional
        First and last day that are drawn; all where left out.

    Returns
    -------
    Chart
        Days since 1970 along x, marked by month; blocked share of the face in per cent along y. Each change
        is a line across at its day, with the date above it.
    """
    first, last = _ends(track, shown)
    days, seen = _within(track, (first, last))
    level, low, high = (100.0 * part[seen] for part in (track.level, track.low, track.high))
    top = max(1.25 * float(np.max(high)), 5.0)
    layers: list[Layer] = []
    for number, piece in enumerate(_pieces(days)):
        names = (tr("90 % range"), tr("most likely level")) if number == 0 else ("", "")
        layers.append(Band(days[piece], low[piece], high[piece], style.EXPECTED, names[0]))
        layers.append(Curve(days[piece], level[piece], style.EXPECTED, names[1]))
    changes = [one for one in track.changes if first <= (one[0] - FIRST).days <= last]
    for number, change in enumerate(changes):
        layers += _change(change, top, number)
    odd = track.flagged[seen]
    if odd.any():
        layers.append(
            Curve(days[odd], level[odd], style.BACKGROUND, tr("day that fits no level"), False, True)
        )
    words = "; ".join(f"{day}: {change_words(kinds)}" for day, kinds in changes)
    return Chart(
        title=tr("Fouling over time"),
        description=tr(
            "Blocked share of the condenser's face, {first} % on {begin} and {last} % (90 % range {ends} %) "
            "on {end}. Changes: {changes}.",
            first=f"{level[0]:.0f}",
            begin=_date(days[0]),
            last=f"{level[-1]:.0f}",
            ends=tr("{low} to {high}", low=f"{low[-1]:.0f}", high=f"{high[-1]:.0f}"),
            end=_date(days[-1]),
            changes=words or tr("none"),
        ),
        x=Axis("", "", first, last, ticks=_ticks(first, last)),
        y=Axis(tr("blocked share of the face"), "%", 0.0, top),
        layers=tuple(layers),
    )


def warmth_chart(track: KeptTrack, system: System, shown: tuple[dt.date, dt.date] | None = None) -> Chart:
    """Outdoor air while the unit was steady, day by day, under the same days as `track_chart`.

    Parameters
    ----------
    track : KeptTrack
    system : {"US", "SI"}
        Of the temperature.
    shown : (date, date), optional
        First and last day that are drawn; all where left out.

    Returns
    -------
    Chart
        Days since 1970 along x, temperature along y, changes as lines across.
    """
    first, last = _ends(track, shown)
    days, seen = _within(track, (first, last))
    warm = np.array([TEMPERATURE.from_si(float(one), system) for one in track.outdoor[seen]])
    there = np.isfinite(warm)
    low, high = (float(np.min(warm[there])), float(np.max(warm[there]))) if there.any() else (0.0, 1.0)
    bottom, top = low - 2.0, high + 2.0
    layers: list[Layer] = [
        Curve(days[piece], warm[piece], style.MEASURED, "" if number else tr("outdoor air while steady"))
        for number, piece in enumerate(_pieces(days))
    ]
    for date, kinds in track.changes:
        day = float((date - FIRST).days)
        if first <= day <= last:
            words = (change_words(kinds),) * 2
            layers.append(Curve(np.full(2, day), np.array([bottom, top]), CHANGE, labels=words))
    unit = TEMPERATURE.label(system)
    return Chart(
        title=tr("Weather and changes"),
        description=tr(
            "Outdoor air while the unit was steady: {low} to {high} {unit}.",
            low=f"{low:.0f}",
            high=f"{high:.0f}",
            unit=unit,
        ),
        x=Axis("", "", first, last, ticks=_ticks(first, last)),
        y=Axis(tr("outdoor air"), unit, bottom, top),
        layers=tuple(layers),
    )


def _ends(track: KeptTrack, shown: tuple[dt.date, dt.date] | None) -> tuple[float, float]:
    """Both ends of the axis, days since 1970."""
    if shown is None:
        return float(track.seconds[0]) / DAY - 0.5, float(track.seconds[-1]) / DAY + 0.5
    first, last = (float((day - FIRST).days) for day in shown)
    return first, last + 1.0


def _within(track: KeptTrack, ends: tuple[float, float]) -> tuple[Array, BoolArray]:
    """Days of a track within the ends of the axis, and which they are; the nearest where there is none."""
    days = track.seconds / DAY
    seen = (days >= ends[0]) & (days <= ends[1])
    if not seen.any():
        seen[int(np.argmin(np.abs(days - 0.5 * (ends[0] + ends[1]))))] = True
    return days[seen], seen


def _change(change: tuple[dt.date, str], top: float, number: int) -> list[Layer]:
    """Line of one change and its date; every other date is lower, so that neighbours stay apart."""
    date, kinds = change
    day = float((date - FIRST).days)
    height = (0.97, 0.91)[number % 2] * top
    line = Curve(
        np.full(2, day),
        np.array([0.0, height]),
        CHANGE,
        "" if number else tr("something changed"),
        labels=(change_words(kinds),) * 2,
    )
    return [line, Note(day, height, f"{date.day} {MONTHS[date.month - 1]}")]


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
