"""A calibrated unit and its fouling as a performance table: most likely, and as draws of what is not known.

Draws of the unit come from the clean fit's posterior; draws of the fouling from the level found on the
last visit or on the last day of a log, whichever is later, grown on until today, or from nothing where the
coil was cleaned after it; draws of its growth from `calibration.costs.likely_growth`. The model's own error
in what a fouling takes is drawn too, of the size that `calibration.clean_fit.prediction` gives it; so are the
load, the year's weather and the setting of the high-pressure switch.

Assumptions: draws are independent of each other. A level's lower and upper half each follow a normal
distribution that fits its 90 % range; the coil is clean with the probability that the visit's finding leaves
for it. Where the readings point to something other than a fouled coil, the costs are those of a fouling that
is only supposed (`if_fouled`). The random state is fixed: the same case gives the same answer.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from calibration.case.records import Case
from calibration.clean_fit.baseline import Baseline
from calibration.clean_fit.parameters import SPREADS, adjusted
from calibration.clean_fit.prediction import CHANGE_SPREAD
from calibration.clean_fit.sensitivities import PARAMETER_STEPS, slopes, stepped
from calibration.costs.fouling_shown import FoulingShown
from calibration.costs.growth_fit import day_of_year
from calibration.costs.indoor_side import IndoorSide, indoor_side
from calibration.costs.likely_growth import KnownState, found_until, last_known_state, likely_growth
from calibration.costs.quasi_draws import evenly_spread, normal_scores
from calibration.costs.rate_prior import RatePrior
from calibration.costs.season_case import SeasonCase
from calibration.diagnosis.finding import Finding, find
from calibration.estimate import Estimate
from calibration.heating.heating_fit import heating_fit_of, heats
from calibration.heating.heating_fouling import heating_shown, known_together
from calibration.heating.winter_cost import WinterCase, has_winter, winter_case
from calibration.said import said
from model.arrays import Array
from model.cycle.sizing import high_pressure_spread
from model.maintenance.growth import NORMAL_95, FoulingGrowth, growth_steps, level_path
from model.season.cycle_table import table_of_speeds
from model.season.performance_table import QUANTITIES, PerformanceTable
from model.season.year_by_level import Scenarios

DRAWS = 256
"""Draws of unit, level and growth together [-]."""
DRAWN_OUTDOOR: Array = np.linspace(285.0, 325.0, 9)
"""Outdoor temperatures of their tables [K]: for the width of an interval a coarse grid will do."""
DRAWN_LEVEL: Array = np.linspace(0.0, 0.8, 13)
"""Levels of their tables [-]."""
SURE = 0.99
"""Probability of a fouled condenser against a clean one from which on nobody asks for the rest [-]."""
RANDOM_STATE = 20261
"""State from which every draw starts."""
DRAWN = ("change", "trip", "growth", "weather", "load", "level", "fouled at all")
"""What is drawn beside the parameters of the unit, those that make the dearest years of the demo first."""
SCORED = (*DRAWN, "unit")
"""The first rows of what is drawn, by name."""
ASSUMED_LOAD, GIVEN_LOAD = 0.25, 0.10
"""Standard deviation of the logarithm of the load, assumed or given by the case [-]; judgement, no source."""
WEATHER_SPREAD = 0.7
"""Standard deviation of a season's mean outdoor temperature about the typical year's [K]; judgement, no
source: year-to-year deviations of summer means are of this size in temperate climates."""
TRIP_SPREAD = 0.02
"""Standard deviation of a high-pressure switch over its setting [-]; what is not known of the setting comes
on top (`model.cycle.sizing.high_pressure_spread`); common practice, no source."""


LONGEST_GROWTH = 50
"""Years from the last known state of a coil to today, at most: no unit stands longer."""


@dataclass(frozen=True)
class FouledUnit:
    """A unit, its fouling today and how it grows: most likely, and as draws.

    Attributes
    ----------
    table : PerformanceTable
        The most likely unit.
    level : float
        Blocked share of the condenser's face today [-]: the middle of what the readings leave open, that the
        coil is clean among it.
    growth : FoulingGrowth
        Most likely growth.
    tables : PerformanceTable
        Draws of the unit.
    levels : ndarray, shape (draws,)
        Draws of today's level [-].
    growths : FoulingGrowth
        Draws of the growth.
    scenarios : Scenarios
        Draws of load and weather.
    scores : mapping of str to ndarray, shape (draws,)
        Standard normal score of every draw by what is drawn, and "unit", the direction that moves it most.
    load_spread : float
        Standard deviation of the logarithm of the load [-].
    growth_from : str
        What the growth rests on, in a few words.
    today : date
    severity_from : str
        What today's level rests on, as a sentence.
    finding : FoulingShown or None
        What the last visit as found shows that it rests on; None without one since the last cleaning.
    winter : WinterCase or None
        Heating seasons of a heat pump; None where winter is in no figure.
    billed_factor : float or None
        Load that a bill stands for over the one that was assumed or given [-]; None without a bill.
    indoor : IndoorSide or None
        Indoor coil and filter; None where only the condenser is to be cleaned.
    """

    table: PerformanceTable
    level: float
    growth: FoulingGrowth
    tables: PerformanceTable
    levels: Array
    growths: FoulingGrowth
    scenarios: Scenarios
    scores: Mapping[str, Array]
    load_spread: float
    growth_from: str
    today: dt.date
    level_from: str
    finding: FoulingShown | None
    billed_factor: float | None = None
    indoor: IndoorSide | None = None
    winter: WinterCase | None = None

    @property
    def whole_finding(self) -> Finding | None:
        """The finding of that visit; None where there is none, or not all of it was kept."""
        return self.finding if isinstance(self.finding, Finding) else None

    @property
    def has_readings(self) -> bool:
        """Whether it rests on readings of the coil as found."""
        return self.finding is not None

    @property
    def is_proven(self) -> bool:
        """Whether these claim a fouled condenser coil."""
        return self.finding is not None and self.finding.claims_fouling

    @property
    def if_fouled(self) -> bool:
        """Whether the readings point to something else, so that a fouling is only supposed."""
        return self.finding is not None and not self.finding.shows_condenser

    @property
    def day(self) -> int:
        """Today's day of the year, 0 to 364."""
        return day_of_year(self.today)


def fouled_unit(
    case: Case,
    baseline: Baseline,
    inputs: SeasonCase,
    today: dt.date | None = None,
    progress: Callable[[float], None] | None = None,
    draws: int = DRAWS,
    findings: Mapping[str, FoulingShown] | None = None,
    prior: RatePrior | None = None,
) -> FouledUnit:
    """The unit of a case with its fouling as of today.

    Parameters
    ----------
    case : Case
    baseline : Baseline
        `calibration.clean_fit.baseline.baseline_of(case)`.
    inputs : SeasonCase
        `calibration.costs.season_case.season_case(case)`.
    today : date, optional
        Left out, the date of the last visit.
    progress : callable, optional
        Called with the fraction done.
    draws : int
        How many draws to make [-], 2 or more.
    findings : mapping of str to FoulingShown, optional
        What is already known of its visits, by their labels.
    prior : RatePrior, optional
        What other units of a fleet show of its growth.

    Returns
    -------
    FouledUnit

    Raises
    ------
    ValueError
        Where there is neither a date nor a visit with one, or the table cannot be made.
    """
    if draws < 2:
        raise ValueError(f"draws must be 2 or more, got {draws}")
    tell = progress or (lambda done: None)
    today = today or _last_dated(case)
    _check_within_growth(case, today)
    table = table_of_speeds(baseline.unit, inputs.rooms)
    chance = evenly_spread(len(DRAWN) + SPREADS.size, draws, RANDOM_STATE)
    tables = _drawn_tables(baseline, inputs, chance)
    tell(0.9)
    heating = heating_fit_of(case, baseline) if heats(case.unit) else None
    winter = heating_shown(case, baseline, heating, today)
    found: dict[str, FoulingShown] = {
        label: (findings or {}).get(label) or find(case, case.visit(label), baseline=baseline)
        for _, label in found_until(case, today)
    } | winter
    growth = likely_growth(case, inputs, tuple(found.values()), chance[_place("growth")], prior)
    known, last = _known_last(case, last_known_state(case, today, winter), found, growth.likely)
    start, level_found, words = _starting_point(case, known, last, today)
    share, days = _probability(start, last), (today - start).days
    drawn = _drawn_levels(level_found, share, chance)
    largest, middle = float(table.level[-1]), np.array([_middle_level(level_found, share)])
    level = min(float(grown(growth.likely, middle, start, days)[0]), largest)
    tell(1.0)
    return FouledUnit(
        table=table,
        level=level,
        growth=growth.likely,
        tables=tables,
        levels=np.minimum(grown(growth.drawn, drawn, start, days), largest),
        growths=growth.drawn,
        scenarios=_scenarios(_load_spread(case), chance),
        scores=dict(zip(SCORED, normal_scores(chance), strict=False)),
        load_spread=_load_spread(case),
        growth_from=growth.source,
        today=today,
        level_from=words,
        finding=last,
        indoor=indoor_side(case, baseline.unit, inputs.rooms, today),
        winter=winter_case(case, heating, inputs, draws) if heating and has_winter(case, inputs) else None,
    )


def _probability(start: dt.date, last: FoulingShown | None) -> float:
    """Probability that the coil is fouled at all [-]; 1 where a later log or no visit says how dirty."""
    if last is None or not last.shows_condenser or start > (last.visit.date or start):
        return 1.0
    return last.probability_of_fouling


def _known_last(
    case: Case, known: KnownState | None, found: Mapping[str, FoulingShown], growth: FoulingGrowth
) -> tuple[KnownState | None, FoulingShown | None]:
    """The state and what its visit shows of the coil; one in heating with what was known before it."""
    if known is None or not known.found:
        return known, None
    cleaned = case.cleaning.last_cleaned if case.cleaning is not None else None
    clean = [date for date in (*case.clean_dates, cleaned) if date is not None and date <= known.day]

    def grow(level: Array, start: dt.date, days: int) -> Array:
        return grown(growth, level, start, days)

    return known, known_together(found, known.found, max(clean, default=None), grow)


def _check_within_growth(case: Case, today: dt.date) -> None:
    """Refuse a day so far ahead of the last known state of the coil that nothing is known of it."""
    cleaned = case.cleaning.last_cleaned if case.cleaning is not None else None
    known = max((date for date in (case.last_date, cleaned) if date is not None), default=today)
    years = today.year - known.year
    if years > LONGEST_GROWTH:
        raise ValueError(
            f"today is {today}, {years} years after {known}, the last date of the case; at most "
            f"{LONGEST_GROWTH} are expected"
        )


def _last_dated(case: Case) -> dt.date:
    if case.last_date is None:
        raise ValueError("no visit has a date; one is expected at a visit, or for today")
    return case.last_date


def _place(name: str) -> int:
    """Row of a drawn quantity among the probabilities."""
    return DRAWN.index(name)


def _load_spread(case: Case) -> float:
    """How sure the load is: given by the case, or assumed."""
    season = case.season
    given = season is not None and (season.design_load is not None or season.load_file is not None)
    return GIVEN_LOAD if given else ASSUMED_LOAD


def _scenarios(load_spread: float, chance: Array) -> Scenarios:
    """Draws of load and weather."""
    load, weather = normal_scores(chance[[_place("load"), _place("weather")]])
    return Scenarios(np.exp(load_spread * load), WEATHER_SPREAD * weather)


def _drawn_tables(baseline: Baseline, inputs: SeasonCase, chance: Array) -> PerformanceTable:
    """Tables of units drawn from the posterior, through the slopes of the table by each parameter.

    What a fouling takes and where the high-pressure switch opens is drawn too.
    """
    columns = stepped(baseline.values, PARAMETER_STEPS)
    family = adjusted(baseline.generic, columns.reshape(*columns.shape, 1, 1, 1))
    table = table_of_speeds(family, inputs.rooms, level=DRAWN_LEVEL, outdoor_temperature=DRAWN_OUTDOOR)
    root = _in_order_of_effect(baseline.covariance, slopes(table.values, PARAMETER_STEPS))
    away = root @ normal_scores(chance[len(DRAWN) :])
    change, trip = normal_scores(chance[[_place("change"), _place("trip")]]).reshape(2, -1, 1, 1, 1, 1)
    factor = np.maximum(1.0 + CHANGE_SPREAD * change, 0.0)
    setting = float(np.hypot(TRIP_SPREAD, high_pressure_spread(baseline.unit)))
    shift = setting * float(np.mean(baseline.unit.high_pressure_limit)) * trip[..., 0]

    def drawn_from(family_values: Array) -> Array:
        by_parameter = slopes(family_values, PARAMETER_STEPS)
        _hold_past_trip(by_parameter, family_values)
        drawn = family_values[0] + np.tensordot(away, by_parameter, axes=(0, 0))
        clean = drawn[:, :, :1]
        found = clean + (drawn - clean) * factor
        found[..., QUANTITIES.index("trip_margin")] += shift
        return np.asarray(found)

    return table.changed(drawn_from)


def _hold_past_trip(by_parameter: Array, family_values: Array) -> None:
    """Where a unit of the family trips, take the slopes of the last cooler weather in which none does.

    Past the trip nothing is solved, values are carried on or bridged (`model.season.cycle_table`), and the
    difference of two units of which one trips is no slope: drawn units would run on negative power there.
    """
    margin = family_values[..., QUANTITIES.index("trip_margin")]
    trips = np.asarray(np.any(margin < 0.0, axis=0))
    for column in range(trips.shape[-1]):
        before = by_parameter[..., column - 1, :] if column else 0.0
        held = trips[..., column, None]
        by_parameter[..., column, :] = np.where(held, before, by_parameter[..., column, :])


def _in_order_of_effect(covariance: Array, by_parameter: Array) -> Array:
    """Root of a covariance whose columns move the table's quantities most first: draws are most even there.

    Each quantity counts by what the parameters leave open of it, mean over the table.
    """
    values, vectors = np.linalg.eigh(covariance)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    moved = by_parameter.reshape(len(root), -1, len(QUANTITIES))
    effect = np.einsum("pc,pnq->cnq", root, moved)
    effect /= np.maximum(np.sqrt((effect**2).sum(axis=0).mean(axis=0)), 1e-300)
    _, directions = np.linalg.eigh(np.einsum("cnq,dnq->cd", effect, effect))
    return np.asarray(root @ directions[:, ::-1])


def _starting_point(
    case: Case, known: KnownState | None, last: FoulingShown | None, today: dt.date
) -> tuple[dt.date, Estimate, str]:
    """Day from which the fouling grows on, its level then, and what that rests on.

    The last day of a log counts where it is later than the last visit or cleaning.
    """
    clean = Estimate(0.0, 0.0, 0.0)
    logged = [day for day in case.track if day.date <= today]
    if logged and (known is None or logged[-1].date > known.day):
        day = logged[-1]
        level = Estimate(day.level, day.level_low, day.level_high)
        return day.date, level, said("the log until {date}, grown on until today", date=day.date.isoformat())
    if known is None:
        return today, clean, said("a clean coil: no visit as found and no date of a cleaning is known")
    if last is None:
        return known.day, clean, said("growth since the last cleaning, {date}", date=known.day.isoformat())
    words = said(
        "visit {visit} of {date}, grown on until today", visit=known.found, date=known.day.isoformat()
    )
    if not last.shows_condenser:
        words = said("{source}, supposing that its coil is fouled", source=words)
    elif last.probability_of_fouling < SURE:
        words = said(
            "{source}, the coil clean with a probability of {percent} %",
            source=words,
            percent=f"{100.0 * (1.0 - last.probability_of_fouling):.0f}",
        )
    return known.day, last.blocked, words


def _drawn_levels(found: Estimate, share: float, chance: Array) -> Array:
    """Draws of a level that is there with a probability, each half of its range as wide as it is."""
    levels = _at_score(found, normal_scores(chance[_place("level")]))
    is_clean = chance[_place("fouled at all")] > share
    return np.where(is_clean, 0.0, levels)


def _middle_level(found: Estimate, share: float) -> float:
    """Median of the same: none where a clean coil is as probable."""
    if share <= 0.5:
        return 0.0
    return float(_at_score(found, np.array(NormalDist().inv_cdf(1.0 - 0.5 / share))))


def _at_score(found: Estimate, score: Array) -> Array:
    """Level so many standard deviations from its median."""
    half = np.where(score > 0.0, found.high - found.value, found.value - found.low)
    return np.asarray(np.clip(found.value + half / NORMAL_95 * score, 0.0, 1.0))


def grown(growth: FoulingGrowth, level: Array, start: dt.date, days: int) -> Array:
    """Levels some days later without a cleaning.

    Parameters
    ----------
    growth : FoulingGrowth
        Of one sample or as many as levels.
    level : ndarray, shape (draws,)
        Levels at the start [-].
    start : date
        Day from which they grow.
    days : int
        How long [d].

    Returns
    -------
    ndarray, shape (draws,)
        Levels [-].
    """
    if days == 0:
        return level
    path = level_path(growth_steps(growth), level, day_of_year(start), days)
    return np.asarray(path[:, -1])
