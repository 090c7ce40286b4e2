"""How good a track is: invented years of invented units with known fouling, tracked, counted.

Units are those of `calibration.studies.true_units`: they differ from the model in structure. Each has one
clean visit, read with meters of its own, and the steady stretches of `SEASONS` cooling seasons (three a day
from April to October), read with sensors that have a constant offset within their documented limits, a drift
over the years, scatter, and a unit that is a little different each day. The coil fouls at a rate drawn evenly
in its logarithm between `SLOWEST` and `FASTEST`, wanders about it, and is cleaned once on a day that nobody
reports in `CLEANED` of the logs: any day of a season but the first and the last weeks. Counted is how often
the 90 % range contains the true level, the error of the rate, cleanings found within three days (all, and
those that removed `WORTH_CLEANING` or more), and other changes that were reported though there were none.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from calibration.case.meters import LIMIT_TO_STANDARD, Instruments, standard_accuracies
from calibration.case.records import Case, CleaningEntry
from calibration.clean_fit.baseline import baseline_of
from calibration.clean_fit.observation import READINGS_OF_POINT
from calibration.clean_fit.parameters import NAMES, adjusted
from calibration.diagnosis.scene import DAY_TO_DAY_AIRFLOW
from calibration.diagnosis.visit_model import DAY_TO_DAY
from calibration.studies.true_units import (
    TrueUnit,
    another_day,
    drawn_unit,
    drawn_weather,
    read_visit,
    true_point,
)
from calibration.track.stretches import Stretches
from calibration.track.track import Track, fouling_track
from model.arrays import Array, IntArray
from model.cycle.boundary import Conditions
from model.cycle.faults import Faults
from model.cycle.solve import STATES, solve
from model.properties import moist_air
from model.properties.moist_air import STANDARD_PRESSURE
from model.season.weather_year import DAYS_PER_YEAR

SEED = 20_261_129
FIRST_DAY = dt.date(2025, 4, 1)
DAYS = 200
"""Of a cooling season."""
SEASONS = 2
A_DAY = 3
SLOWEST, FASTEST = 0.1, 0.4
"""Growth of the blocked share of the face [1/a]."""
CLEANED = 0.5
"""Share of the years with a cleaning."""
WANDER = 0.01
"""Spread of the true level about its line [-]."""
DRIFT = 0.3
"""Spread of a sensor's drift in a year, over its standard accuracy [-]."""
SCATTER = 0.15
"""Spread of a stretch's mean, over the standard accuracy [-]."""
CLOSE = 3
"""Days within which a cleaning counts as found."""
LAST_WEEKS = 30
"""Days at the end of the log without a cleaning."""
WORTH_CLEANING = 0.1
"""Blocked share of the face from which on a cleaning counts among the larger ones [-]."""
FULL = (
    "outdoor_db",
    "return_db",
    "return_wb",
    "supply_db",
    "suction_pressure",
    "liquid_pressure",
    "suction_temperature",
    "liquid_temperature",
    "outdoor_power",
)
SETS: dict[str, tuple[str, ...]] = {
    "pressures, temperatures, watts": FULL,
    "pressures and outdoor temperature alone": ("outdoor_db", "suction_pressure", "liquid_pressure"),
}
"""Readings that a log has."""


@dataclass(frozen=True)
class TrueYear:
    """An invented log: the case, its stretches, what the coil really did.

    Attributes
    ----------
    case : Case
    stretches : Stretches
    level : ndarray, shape (days,)
        True level of each day from `FIRST_DAY` on [-].
    rate : float
        [1/a]
    cleaned : date or None
    removed : float
        What that cleaning removed [-].
    """

    case: Case
    stretches: Stretches
    level: Array
    rate: float
    cleaned: dt.date | None
    removed: float = 0.0


@dataclass(frozen=True)
class TrackScore:
    """Counts over the years of one set of readings.

    Attributes
    ----------
    years : int
    coverage : float
        Share of days whose true level lies in its 90 % range [-].
    level_error : float
        Root mean square error of the level [-].
    width : float
        Mean width of the 90 % range [-].
    rate_error : float
        Median of the rate's error over the true rate [-].
    rate_coverage : float
        Share of years whose true rate lies in its 90 % range [-].
    cleanings, found : int
        Cleanings, and those found within `CLOSE` days.
    larger, larger_found : int
        Those that removed `WORTH_CLEANING` or more.
    false_events : float
        Other changes reported, a year [-].
    """

    years: int
    coverage: float
    level_error: float
    width: float
    rate_error: float
    rate_coverage: float
    cleanings: int
    found: int
    larger: int
    larger_found: int
    false_events: float


def track_study(
    years: int, seed: int = SEED, progress: Callable[[float], None] | None = None
) -> dict[str, TrackScore]:
    """Track invented years and count.

    Parameters
    ----------
    years : int
        How many, each of another unit.
    seed : int
        Of the draws.
    progress : callable, optional
        Called with the share done [-].

    Returns
    -------
    dict of str to TrackScore
        By the keys of `SETS`.
    """
    tracks: dict[str, list[tuple[TrueYear, Track]]] = {name: [] for name in SETS}
    for number in range(years):
        true = drawn_year(np.random.default_rng([seed, number]))
        baseline = baseline_of(true.case)
        for name, readings in SETS.items():
            values = {key: true.stretches.values[key] for key in readings}
            scatter = {key: true.stretches.scatter[key] for key in readings}
            part = replace(true.stretches, values=values, scatter=scatter)
            tracks[name].append((true, fouling_track(true.case, baseline, part)))
        if progress is not None:
            progress((number + 1) / years)
    return {name: scored(pairs) for name, pairs in tracks.items()}


def drawn_year(draw: np.random.Generator) -> TrueYear:
    """An invented year of an invented unit.

    Parameters
    ----------
    draw : numpy.random.Generator
        Of everything.

    Returns
    -------
    TrueYear
    """
    true = drawn_unit(draw)
    rate = float(np.exp(draw.uniform(np.log(SLOWEST), np.log(FASTEST))))
    day = np.arange(DAYS_PER_YEAR * (SEASONS - 1) + DAYS)
    level = rate * day / DAYS_PER_YEAR + _wander(draw, len(day))
    cleaned, removed = None, 0.0
    if draw.random() < CLEANED:
        at = int(draw.choice(logged_days()[DAYS // 4 : -LAST_WEEKS]))
        removed = draw.uniform(0.85, 1.0) * rate * at / DAYS_PER_YEAR
        level[at:] -= removed
        cleaned = FIRST_DAY + dt.timedelta(days=at)
    level = np.clip(level, 0.0, 0.7)
    weather = drawn_weather(draw)
    today = another_day(true, draw)
    visit = read_visit(today, weather, true_point(today, weather), draw, label="clean")
    visit = replace(visit, date=FIRST_DAY)
    case = Case(
        units="SI", unit=true.description, visits=(visit,), cleaning=CleaningEntry(last_cleaned=FIRST_DAY)
    )
    return TrueYear(case, _true_stretches(true, level, draw), level, rate, cleaned, removed)


def logged_days() -> IntArray:
    """Days with stretches, counted from `FIRST_DAY`.

    Returns
    -------
    ndarray of int
        `DAYS` of each season.
    """
    return np.asarray((DAYS_PER_YEAR * np.arange(SEASONS)[:, None] + np.arange(DAYS)).ravel())


def _wander(draw: np.random.Generator, days: int) -> Array:
    """Level about its line: forgets within some twenty days, zero on the first."""
    keep = np.exp(-1.0 / 20.0)
    steps = WANDER * np.sqrt(1.0 - keep**2) * draw.standard_normal(days)
    wander = np.zeros(days)
    for day in range(1, days):
        wander[day] = keep * wander[day - 1] + steps[day]
    return wander


def _true_stretches(true: TrueUnit, level: Array, draw: np.random.Generator) -> Stretches:
    """What the sensors of a log show over the days."""
    logged = logged_days()
    days = len(logged)
    count = days * A_DAY
    day = np.repeat(logged, A_DAY)
    hour = np.tile(np.linspace(11.0, 18.0, A_DAY), days)
    season = 298.0 + 7.0 * np.sin(np.pi * (day % DAYS_PER_YEAR + 15) / 230.0)
    season = season + np.repeat(3.0 * draw.standard_normal(days), A_DAY)
    outdoor = season + 3.0 * np.sin(np.pi * (hour - 9.0) / 12.0)
    back = 296.5 + 0.8 * draw.standard_normal(count)
    wet = np.clip(0.5 + 0.06 * np.repeat(draw.standard_normal(days), A_DAY), 0.3, 0.7)
    ratio = moist_air.humidity_ratio_from_relative_humidity(back, wet, STANDARD_PRESSURE)
    changes = np.array([DAY_TO_DAY.get(name, 0.0) for name in NAMES])[:, None]
    changes = np.repeat(changes * draw.standard_normal((len(NAMES), days)), A_DAY, axis=1)
    flow = true.airflow * np.exp(DAY_TO_DAY_AIRFLOW * np.repeat(draw.standard_normal(days), A_DAY))
    flow = flow / moist_air.specific_volume(back, ratio, STANDARD_PRESSURE)
    point = solve(
        adjusted(true.unit, changes),
        Conditions(outdoor, back, ratio, indoor_airflow=flow),
        Faults(condenser_blocked=level[day]),
    )
    pressure = np.asarray(STANDARD_PRESSURE)
    exact: dict[str, Any] = {
        name: READINGS_OF_POINT[name](point, pressure) for name in FULL if name in READINGS_OF_POINT
    }
    exact |= {"outdoor_db": outdoor, "return_db": back}
    exact["return_wb"] = moist_air.wet_bulb(back, ratio, STANDARD_PRESSURE)
    usual = {name: float(np.median(series)) for name, series in exact.items()}
    spreads = standard_accuracies(usual, Instruments())
    runs = np.isin(point.state, [STATES.index("ok")])
    values = {}
    for name, series in exact.items():
        offset = spreads[name] / LIMIT_TO_STANDARD * draw.uniform(-1.0, 1.0)
        drift = DRIFT * spreads[name] * draw.standard_normal() * day / DAYS_PER_YEAR
        noise = SCATTER * spreads[name] * draw.standard_normal(count)
        values[name] = np.where(runs, series + offset + drift + noise, np.nan)
    values["return_wb"] = np.minimum(values["return_wb"], values["return_db"])
    start = (FIRST_DAY - dt.date(1970, 1, 1)).days
    begin = (start + day) * 86_400.0 + hour * 3600.0
    scatter = {name: np.full(count, SCATTER * spreads[name]) for name in exact}
    return Stretches(begin, begin + 1800.0, values, scatter, count, 0, ())


def scored(pairs: list[tuple[TrueYear, Track]]) -> TrackScore:
    """Counts over tracked years.

    Parameters
    ----------
    pairs : list of (TrueYear, Track)
        At least one.

    Returns
    -------
    TrackScore
    """
    inside, errors, widths, rates, held = [], [], [], [], []
    cleanings = hits = larger = larger_hits = false = 0
    first = (FIRST_DAY - dt.date(1970, 1, 1)).days
    for true, track in pairs:
        level = true.level[np.floor(track.seconds / 86_400.0).astype(int) - first]
        inside.append(np.mean((level >= track.low - 1e-3) & (level <= track.high + 1e-3)))
        errors.append(np.mean((track.level - level) ** 2))
        widths.append(np.mean(track.high - track.low))
        rates.append(abs(track.rate / true.rate - 1.0))
        held.append(track.rate_low <= true.rate <= track.rate_high)
        near = [
            event
            for event in track.events
            if event.kind in ("cleaned", "washed")
            and true.cleaned is not None
            and abs((event.day - true.cleaned).days) <= CLOSE
        ]
        cleanings += true.cleaned is not None
        hits += bool(near)
        larger += true.removed >= WORTH_CLEANING
        larger_hits += bool(near) and true.removed >= WORTH_CLEANING
        false += len([event for event in track.events if event.kind != "known_cleaning"]) - len(near[:1])
    return TrackScore(
        years=len(pairs),
        coverage=float(np.mean(inside)),
        level_error=float(np.sqrt(np.mean(errors))),
        width=float(np.mean(widths)),
        rate_error=float(np.median(rates)),
        rate_coverage=float(np.mean(held)),
        cleanings=cleanings,
        found=hits,
        larger=larger,
        larger_found=larger_hits,
        false_events=false / len(pairs) / SEASONS,
    )
