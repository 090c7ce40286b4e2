"""A track as a case keeps it: weeks with their level and range, days of changes, the growth rate.

Kept is what a page, a report and the costs need when the log is not at hand: one day of every week or, of a
long log, of every few weeks, and the days on which something changed.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from calibration.case.records import Case, CleaningEntry, TrackedDay
from calibration.case.units import TEMPERATURE, System
from calibration.track.events import ALIKE
from calibration.track.track import Track, TrackEvent
from model.arrays import Array, BoolArray

MOST_KEPT = 160
"""Days that are kept at most, or two of each change."""
WEEK = 7.0
"""Length of the stretches of which one day is kept, where that is not too many [d]."""
DAY = 86_400.0
RATE_DIGITS, LEVEL_DIGITS = 3, 4
"""Decimals that are kept: a thousandth of the face a year is less than can be seen."""
JOINT = " or "
"""Between the kinds of a change that cannot be told apart."""
FIRST_DATE = dt.date(1970, 1, 1)


@dataclass(frozen=True)
class KeptTrack:
    """Fouling over the time of a log.

    Attributes
    ----------
    seconds : ndarray, shape (n,)
        Since 1970 [s], rising.
    level, low, high : ndarray, shape (n,)
        Blocked share of the face and its 90 % range [-].
    outdoor : ndarray, shape (n,)
        Outdoor air while steady [K], NaN where it is not known.
    flagged : ndarray of bool, shape (n,)
        Days whose readings fit no level.
    changes : tuple of (date, str)
        Days on which something changed, and its kinds, those that cannot be told apart joined by `JOINT`.
    rate, rate_low, rate_high : float
        Growth between cleanings [1/a], 90 % range.
    """

    seconds: Array
    level: Array
    low: Array
    high: Array
    outdoor: Array
    flagged: BoolArray
    changes: tuple[tuple[dt.date, str], ...]
    rate: float
    rate_low: float
    rate_high: float

    @property
    def last_day(self) -> dt.date:
        """Day of the last level."""
        return _date_of(float(self.seconds[-1]))


def _date_of(seconds: float) -> dt.date:
    return FIRST_DATE + dt.timedelta(seconds=seconds)


def track_to_keep(found: Track) -> KeptTrack:
    """A track with every day of it.

    Parameters
    ----------
    found : Track

    Returns
    -------
    KeptTrack
    """
    return KeptTrack(
        seconds=found.seconds,
        level=found.level,
        low=found.low,
        high=found.high,
        outdoor=found.outdoor,
        flagged=found.flagged,
        changes=tuple((event.day, kinds_alike(event)) for event in found.events),
        rate=found.rate,
        rate_low=found.rate_low,
        rate_high=found.rate_high,
    )


def kinds_alike(event: TrackEvent) -> str:
    """Kinds of a change that the readings cannot tell apart, the most probable first.

    Parameters
    ----------
    event : TrackEvent

    Returns
    -------
    str
        Joined by `JOINT`.
    """
    likely = [kind for kind, share in event.kinds if share >= ALIKE] or [event.kind]
    return JOINT.join(likely)


def with_track(case: Case, found: KeptTrack) -> Case:
    """The case with the growth and the level of a track in place of its own; all else stays.

    Parameters
    ----------
    case : Case
        With or without a cleaning.
    found : KeptTrack
        Of a log of its unit.

    Returns
    -------
    Case
    """
    least = 10.0**-RATE_DIGITS
    rate = max(round(found.rate, RATE_DIGITS), least)
    low, high = max(round(found.rate_low, RATE_DIGITS), least), round(found.rate_high, RATE_DIGITS)
    grown = replace(
        case.cleaning or CleaningEntry(),
        growth_rate=rate,
        growth_rate_low=min(low, rate),
        growth_rate_high=max(high, rate),
    )
    return replace(case, cleaning=grown, track=tuple(kept_days(found, case.units)))


def kept_days(found: KeptTrack, system: System) -> list[TrackedDay]:
    """Days of a track that a case keeps.

    Parameters
    ----------
    found : KeptTrack
    system : {"US", "SI"}
        In which temperatures are rounded.

    Returns
    -------
    list of TrackedDay
        The last day of every week or few weeks, the day of each change and the one before it.
    """
    days = np.floor(found.seconds / DAY)
    most = max(MOST_KEPT - len(found.changes), 1)
    step = WEEK
    while len(np.unique(days // step)) + len(found.changes) > most:
        step += WEEK
    good = np.flatnonzero(~found.flagged) if not found.flagged.all() else np.arange(len(days))
    places = [int(good[0]), *(int(good[place]) for place in _last_of_each(days[good] // step))]
    places += [int(good[place]) for place in _last_before(days[good], found.changes)]
    kept = {(one := _kept_day(found, place, system)).date: one for place in places}
    for day, kinds in found.changes:
        place = int(np.searchsorted(days, (day - FIRST_DATE).days).clip(0, len(days) - 1))
        one = kept.get(day) or replace(_kept_day(found, place, system), date=day)
        kept[day] = replace(one, event="; ".join(filter(None, (one.event, kinds))))
    return [kept[day] for day in sorted(kept)]


def _last_of_each(number: Array) -> list[int]:
    """Place of the last entry of each number, which rise."""
    return [int(place) for place in np.flatnonzero(np.diff(number, append=np.inf))]


def _last_before(days: Array, changes: Sequence[tuple[dt.date, str]]) -> list[int]:
    """Place of the last day before each change, where there is one."""
    places = np.searchsorted(days, [(day - FIRST_DATE).days for day, _ in changes]) - 1
    return [int(place) for place in places if place >= 0]


def _kept_day(found: KeptTrack, place: int, system: System) -> TrackedDay:
    low, level, high = (
        round(float(part[place]), LEVEL_DIGITS) for part in (found.low, found.level, found.high)
    )
    warm = TEMPERATURE.to_si(round(TEMPERATURE.from_si(float(found.outdoor[place]), system), 1), system)
    return TrackedDay(
        date=_date_of(float(found.seconds[place])),
        level=level,
        level_low=min(low, level),
        level_high=max(high, level),
        outdoor_db=warm if np.isfinite(warm) else None,
    )


def kept_track(case: Case) -> KeptTrack | None:
    """The track that a case keeps.

    Parameters
    ----------
    case : Case

    Returns
    -------
    KeptTrack or None
        None where it keeps none, or no growth rate with its range.
    """
    entry = case.cleaning
    if not case.track or entry is None or entry.growth_rate is None:
        return None
    if entry.growth_rate_low is None or entry.growth_rate_high is None:
        return None
    days = case.track
    return KeptTrack(
        seconds=np.array([((day.date - FIRST_DATE).days + 0.5) * DAY for day in days]),
        level=np.array([day.level for day in days]),
        low=np.array([day.level_low for day in days]),
        high=np.array([day.level_high for day in days]),
        outdoor=np.array([np.nan if day.outdoor_db is None else day.outdoor_db for day in days]),
        flagged=np.zeros(len(days), dtype=bool),
        changes=_changes(days),
        rate=entry.growth_rate,
        rate_low=entry.growth_rate_low,
        rate_high=entry.growth_rate_high,
    )


def _changes(days: Sequence[TrackedDay]) -> tuple[tuple[dt.date, str], ...]:
    return tuple((day.date, kinds) for day in days for kinds in filter(None, day.event.split("; ")))
