"""Fouling over months from a trend log: level day by day, growth, and what changed on which day.

Steady stretches become daily visits (`calibration.track.days`), these one linear system
(`calibration.track.system`) that is solved around its own answer (`calibration.track.smoother`), and changes
are added one by one (`calibration.track.events`). Known to be clean are the day of the case's last cleaning
and of its clean visits. A day whose readings fit no level while its neighbours' do is flagged and counts
little; a log that fits no level at all is refused.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from calibration.case.errors import CaseError, Problem
from calibration.case.records import Case
from calibration.clean_fit.baseline import Baseline
from calibration.costs.season_case import TIME_CONSTANT, bursts_of
from calibration.track.days import DAY, Days, daily_visits
from calibration.track.events import MOST_EVENTS, Found, dated_again, most_probable, possible_changes
from calibration.track.ranges import Ranges, ranges
from calibration.track.smoother import LONGEST_BACK, READ_CLEAN, Anchor, DatedChange, Smoothed, smoothed
from calibration.track.stretches import Stretches
from calibration.track.system import System, linear_system, single_misfit
from model.arrays import Array, BoolArray, IntArray
from model.maintenance.growth import daily_share
from model.season.weather_year import DAYS_PER_YEAR

ROUNDS = 4
"""How often the system is solved around its own answer."""
LARGEST_LEVEL = 0.8
"""Level around which it may be solved at most [-]."""
NO_LEVEL = 9.0
"""χ² per reading from which on readings fit no level [-]: errors of three standard deviations each."""
NEIGHBOURS = 3
"""Days on either side by which a day is judged."""
NEAR = 10.0
"""Days within which it must have some on both sides for that [d]."""
FEWEST_DAYS = 5
"""Days with a steady stretch that a track needs."""
LONGEST_GAP = 200.0
"""Time without a steady stretch that is reported [d]: longer than a winter."""
NORMAL_MEDIAN = 1.0 / (0.6745 * 2.0**0.5)
"""Standard deviation over the median change from one day to the next, for normal noise [-]."""
OUTLYING = 3.0
"""Standard deviations beyond which a change from one day to the next counts as so many [-]."""
NOISE_DAYS = 10.0
"""Days of log that say as much of the noise as the model does [-]; judgement, no source."""
MOST_DATINGS = 3
"""How often found changes are dated anew at most, after each one found."""
CLEANING_SIZE = 0.3
"""Spread of what a known cleaning removes [-]."""


@dataclass(frozen=True)
class TrackEvent:
    """A change that began on a day.

    Attributes
    ----------
    kind : str
        Key of `calibration.track.events.Kind`, or "known_cleaning".
    day, first, last : date
        Most probable day and its 90 % range.
    probability : float
        That something changed about then [-].
    kinds : tuple of (str, float)
        What it may be, the most probable first, with the probability of each.
    size : float
        In the unit of its kind.
    """

    kind: str
    day: dt.date
    first: dt.date
    last: dt.date
    probability: float
    kinds: tuple[tuple[str, float], ...]
    size: float


@dataclass(frozen=True)
class Track:
    """Fouling over the time of a log.

    Attributes
    ----------
    seconds : ndarray, shape (n,)
        Middle of each day's stretches, since 1970 [s].
    level, low, high : ndarray, shape (n,)
        Blocked share of the face and its 90 % range [-].
    outdoor : ndarray, shape (n,)
        Outdoor air in that day's stretches [K].
    stretches : ndarray of int, shape (n,)
        Steady stretches of that day.
    flagged : ndarray of bool, shape (n,)
        Days whose readings fit no level.
    rate, rate_low, rate_high : float
        Growth between cleanings [1/a], 90 % range.
    events : tuple of TrackEvent
        In order of time.
    readings : tuple of str
        What was used.
    assumed : tuple of str
        Air that was not read.
    known_clean : tuple of date
        Days on which the coil was known to be clean.
    misfit : float
        χ² per reading of the whole track [-].
    remarks : tuple of str
        What was made of the log.
    rows, left_out : int
        Rows of the log, and those that could not be used.
    """

    seconds: Array
    level: Array
    low: Array
    high: Array
    outdoor: Array
    stretches: IntArray
    flagged: BoolArray
    rate: float
    rate_low: float
    rate_high: float
    events: tuple[TrackEvent, ...]
    readings: tuple[str, ...]
    assumed: tuple[str, ...]
    known_clean: tuple[dt.date, ...]
    misfit: float
    remarks: tuple[str, ...]
    rows: int
    left_out: int


def fouling_track(
    case: Case, baseline: Baseline, found: Stretches, progress: Callable[[float], None] | None = None
) -> Track:
    """Level over time, growth and changes, from the steady stretches of a unit's logs.

    Parameters
    ----------
    case : Case
        Clean visits, last cleaning, meters, season of growth.
    baseline : Baseline
        `calibration.clean_fit.baseline.baseline_of(case)`.
    found : Stretches
        `calibration.track.stretches.steady_stretches`.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    Track

    Raises
    ------
    CaseError
        When the log lacks what is needed, or its readings fit no level of this unit's fouling.
    """
    stages = daily_visits(case, baseline, found)
    days = len(np.unique(np.concatenate([one.day for one in stages])))
    if days < FEWEST_DAYS:
        raise _refused(f"steady stretches lie on {days} day{'s' * (days > 1)}; {FEWEST_DAYS} are needed")
    _check_fit(stages)
    clean = known_clean_days(case)
    solver = _Solver(case, stages, clean)
    system, answer, events = solver.searched(progress or (lambda done: None))
    summed = solver.summed(system, answer)
    order = np.argsort(np.concatenate([one.seconds for one in stages]), kind="stable")
    wide = np.concatenate(solver.wide)[order]
    squares = np.sum(answer.residual**2, axis=1) / np.maximum(system.count, 1)
    return Track(
        seconds=system.seconds,
        level=summed.level,
        low=summed.low,
        high=summed.high,
        outdoor=np.concatenate([one.outdoor for one in stages])[order],
        stretches=np.concatenate([one.stretches for one in stages])[order],
        flagged=wide > 1.0,
        rate=summed.rate,
        rate_low=summed.rate_low,
        rate_high=summed.rate_high,
        events=events,
        readings=tuple(dict.fromkeys(name for one in stages for name in one.names)),
        assumed=tuple(dict.fromkeys(name for one in stages for name in one.stage.unread)),
        known_clean=tuple(clean),
        misfit=float(np.mean(squares[wide <= 1.0])) if np.any(wide <= 1.0) else float("inf"),
        remarks=(*found.remarks, *_gap_remarks(system.seconds)),
        rows=found.rows,
        left_out=found.left_out,
    )


def _refused(sentence: str) -> CaseError:
    return CaseError([Problem((), "log", sentence)])


def _check_fit(stages: Sequence[Days]) -> None:
    """Refuse readings that fit no level of fouling of this unit."""
    misfit = float(np.median(np.concatenate([single_misfit(one) for one in stages])))
    if misfit > NO_LEVEL:
        raise _refused(
            f"the readings fit no level of fouling of this unit (χ² {misfit:.0f} per reading; about 1 is "
            "expected from measurement error alone): another unit, or a unit in the brackets of a header is "
            "mistaken"
        )


def known_clean_days(case: Case) -> list[dt.date]:
    """Days on which the case says that the coil was clean, in order.

    Parameters
    ----------
    case : Case
        Its last cleaning and clean visits.

    Returns
    -------
    list of date
    """
    days = {visit.date for visit in case.clean_visits if visit.date is not None}
    if case.cleaning is not None and case.cleaning.last_cleaned is not None:
        days.add(case.cleaning.last_cleaned)
    return sorted(days)


def _years_of(day: dt.date) -> float:
    return (day - dt.date(1970, 1, 1)).days / DAYS_PER_YEAR


def _date_of(years: float) -> dt.date:
    return dt.date(1970, 1, 1) + dt.timedelta(days=int(np.floor(years * DAYS_PER_YEAR + 1e-6)))


def shown_noise(residual: Array, there: BoolArray) -> Array:
    """Covariance of what changes from one day to the next, over that of the model.

    Parameters
    ----------
    residual : ndarray, shape (n, rows)
        What is left of the days of one stage, over the noise of the model.
    there : ndarray of bool, shape (n, rows)
        Readings that a day has.

    Returns
    -------
    ndarray, shape (rows, rows)
        The unit matrix where the model's noise is right; led to it by `NOISE_DAYS` days' worth.
    """
    whole: BoolArray = np.asarray(there.all(axis=1))
    pairs: BoolArray = whole[1:] & whole[:-1]
    changes = np.diff(residual, axis=0)[pairs]
    rows = residual.shape[1]
    if len(changes) < FEWEST_DAYS:
        return np.eye(rows)
    usual = np.median(np.abs(changes), axis=0) * NORMAL_MEDIAN
    bound = OUTLYING * 2.0**0.5 * np.maximum(usual, 1e-3)
    changes = np.clip(changes, -bound, bound) / 2.0**0.5
    return np.asarray((changes.T @ changes + NOISE_DAYS * np.eye(rows)) / (len(changes) + NOISE_DAYS))


def _gap_remarks(seconds: Array) -> list[str]:
    gaps = np.diff(seconds) / DAY
    return [
        f"no steady stretch for {gaps[place]:.0f} days after {_date_of(seconds[place] / DAY / DAYS_PER_YEAR)}"
        for place in np.flatnonzero(gaps > LONGEST_GAP)
    ]


def _misfit(system: System, answer: Smoothed) -> Array:
    """χ² per reading of each day (n,): beside a gap that of the day's own level, which may be another one."""
    squares = np.sum(answer.residual**2, axis=1)
    own = np.sum(system.slope * answer.residual, axis=1) ** 2 / np.sum(system.slope**2, axis=1)
    gaps = np.diff(system.seconds, prepend=-np.inf, append=np.inf) / DAY
    beside_gap = np.maximum(gaps[:-1], gaps[1:]) > NEAR
    return np.asarray(np.where(beside_gap, squares - own, squares) / np.maximum(system.count, 1))


class _Solver:
    """Solves the system around its own answer, with more and more changes."""

    def __init__(self, case: Case, stages: Sequence[Days], clean: Sequence[dt.date]) -> None:
        self.stages = stages
        start = min(float(one.years.min()) for one in stages)
        self.exposure_at, self.fading = _exposure(case, start), _fading(case)
        end = max(float(one.years.max()) for one in stages)
        known = [_years_of(day) for day in clean if _years_of(day) < end]
        before = [years for years in known if years <= start]
        within = [years for years in known if years > start]
        self.known = bool(before)
        read = {_years_of(visit.date) for visit in case.clean_visits if visit.date is not None}
        self.known_anchors = [
            self._anchor(years + 0.9 / DAYS_PER_YEAR, READ_CLEAN if years in read else ())
            for years in [*before[-1:], *within]
        ]
        # the coil is known to be clean in the evening of that day
        self.known_changes = [
            DatedChange("known_cleaning", "", "step", years + 0.9 / DAYS_PER_YEAR, CLEANING_SIZE)
            for years in within
        ]
        self.changes, self.anchors = self._explained([])
        self.wide = [np.ones(len(one.day)) for one in stages]
        self.rough = [np.eye(len(one.names)) for one in stages]
        self.levels = [np.full(len(one.day), 0.1) for one in stages]
        self.forms = list(self.levels)

    def _anchor(self, years: float, known: Sequence[float] = ()) -> Anchor:
        return Anchor(years, float(self.exposure_at(np.array([years]))[0]), *known)

    def solved(self, rounds: int) -> tuple[System, Smoothed]:
        """Around the answer of the last time, some rounds."""
        order = np.argsort(np.concatenate([one.seconds for one in self.stages]), kind="stable")
        ends = np.cumsum([len(one.day) for one in self.stages])[:-1]
        for _ in range(rounds):
            system = linear_system(self.stages, self.levels, self.forms, self.wide, self.rough)
            exposure = self.exposure_at(system.years)
            answer = smoothed(system, exposure, self.changes, self.anchors, self.known, self.fading)
            around = np.empty((2, len(order)))
            around[:, order] = np.clip([answer.middle, answer.smooth_level], 0.0, LARGEST_LEVEL)
            self.levels, self.forms = (np.split(one, ends) for one in around)
        return system, answer

    def _flag(self, system: System, answer: Smoothed) -> bool:
        """Give days that fit no level while their neighbours do a wide error; whether they are others."""
        order = np.argsort(np.concatenate([one.seconds for one in self.stages]), kind="stable")
        wide = np.concatenate(self.wide)[order]
        squares = wide**2 * _misfit(system, answer)
        padded = np.pad(squares, NEIGHBOURS, mode="reflect") if len(squares) > NEIGHBOURS else squares
        around = np.median(np.lib.stride_tricks.sliding_window_view(padded, 2 * NEIGHBOURS + 1), axis=1)
        new = (squares > NO_LEVEL) & (around < NO_LEVEL / 3.0)
        factor = np.empty(len(order))
        factor[order] = np.where(new, 3.0 * np.sqrt(squares), 1.0)
        ends = np.cumsum([len(one.day) for one in self.stages])[:-1]
        before, self.wide = self.wide, np.split(factor, ends)
        return any(np.any((one > 1.0) != (old > 1.0)) for one, old in zip(self.wide, before, strict=True))

    def _roughen(self, answer: Smoothed) -> None:
        """Take the noise of readings from day to day as the log itself shows it."""
        order = np.argsort(np.concatenate([one.seconds for one in self.stages]), kind="stable")
        residual = np.empty_like(answer.residual)
        residual[order] = answer.residual
        ends = np.cumsum([len(one.day) for one in self.stages])[:-1]
        for number, part in enumerate(np.split(residual, ends)):
            rows = len(self.stages[number].names)
            self.rough[number] = shown_noise(part[:, :rows], self.stages[number].there)

    def searched(self, tell: Callable[[float], None]) -> tuple[System, Smoothed, tuple[TrackEvent, ...]]:
        """The answer with every probable change."""
        self._roughen(self.solved(ROUNDS)[1])
        system, answer = self.solved(2)
        if self._flag(system, answer):
            system, answer = self.solved(2)
        found: list[Found] = []
        while len(found) < MOST_EVENTS:
            tell(len(found) / MOST_EVENTS)
            one = most_probable(system, answer, self.changes)
            if one is None:
                break
            found.append(one)
            system, answer = self._with_changes(found)
            for _ in range(MOST_DATINGS):
                again = self._dated_again(system, found)
                moved = any(new.change != old.change for new, old in zip(again, found, strict=True))
                found = again
                if not moved:
                    break
                system, answer = self._with_changes(found)
        tell(1.0)
        return system, answer, self._events(found, answer)

    def _with_changes(self, found: Sequence[Found]) -> tuple[System, Smoothed]:
        """The answer with found changes beside the known ones."""
        self.changes, self.anchors = self._explained(found)
        system, answer = self.solved(ROUNDS)
        return self.solved(2) if self._flag(system, answer) else (system, answer)

    def _explained(self, found: Sequence[Found]) -> tuple[list[DatedChange], list[Anchor]]:
        """Known and found changes, and the moments at which they leave a clean coil."""
        cleaned = [self._anchor(one.change.years) for one in found if one.change.kind == "cleaned"]
        return [*self.known_changes, *(one.change for one in found)], [*self.known_anchors, *cleaned]

    def _dated_again(self, system: System, found: Sequence[Found]) -> list[Found]:
        """Every found change on its most probable day, given the others."""
        exposure = self.exposure_at(system.years)
        again = list(found)
        for number, one in enumerate(found):
            changes, anchors = self._explained([*again[:number], *again[number + 1 :]])
            without = smoothed(system, exposure, changes, anchors, self.known, self.fading)
            again[number] = dated_again(system, without, one, changes)
        return again

    def summed(self, system: System, answer: Smoothed) -> Ranges:
        """Ranges over the answer and the ones with a change that is possible as well."""
        exposure = self.exposure_at(system.years)
        answers, shares = [answer], []
        for one in possible_changes(system, answer, self.changes):
            anchors = [self._anchor(one.change.years)] if one.change.kind == "cleaned" else []
            changes, known = [*self.changes, one.change], [*self.anchors, *anchors]
            answers.append(smoothed(system, exposure, changes, known, self.known, self.fading))
            shares.append(one.probability)
        return ranges(answers, [1.0 - sum(shares), *shares])

    def _events(self, found: Sequence[Found], answer: Smoothed) -> tuple[TrackEvent, ...]:
        known = len(self.changes) - len(found)
        events = []
        for number, (change, size) in enumerate(zip(self.changes, answer.sizes, strict=True)):
            one = found[number - known] if number >= known else None
            day = _date_of(change.years)
            events.append(
                TrackEvent(
                    kind=change.kind,
                    day=day,
                    first=min(_date_of(one.first), day) if one else day,
                    last=max(_date_of(one.last), day) if one else day,
                    probability=one.probability if one else 1.0,
                    kinds=one.kinds if one else ((change.kind, 1.0),),
                    size=float(size),
                )
            )
        return tuple(sorted(events, key=lambda event: event.day))


def _fading(case: Case) -> float:
    """Inverse of the time constant of growth towards a limit [1/a]; 0 without one."""
    entry = case.cleaning
    if entry is None or entry.growth_form != "asymptotic":
        return 0.0
    return 1.0 / (TIME_CONSTANT if entry.time_constant is None else entry.time_constant)


def _exposure(case: Case, start: float) -> Callable[[Array], Array]:
    """Years' worth of growth from a start to a time, in the form that the case names."""
    entry, fading = case.cleaning, _fading(case)
    if fading > 0.0:

        def slowing(years: Array) -> Array:
            return -np.expm1(-np.maximum(fading * (years - start), -LONGEST_BACK)) / fading

        return slowing
    bursts = bursts_of(entry.bursts) if entry is not None and entry.growth_form == "bursts" else ()
    grown = np.concatenate([[0.0], np.cumsum(daily_share(bursts))])

    def since_1970(years: Array) -> Array:
        dates = np.datetime64("1970-01-01", "s") + (years * DAYS_PER_YEAR * DAY).astype("timedelta64[s]")
        year = dates.astype("datetime64[Y]")
        day = (dates - year.astype("datetime64[s]")) / np.timedelta64(1, "D")
        return np.asarray(year.astype(int) + np.interp(day, np.arange(DAYS_PER_YEAR + 1), grown))

    first = float(since_1970(np.array([start]))[0])
    return lambda years: since_1970(years) - first
