"""What a track costs and when cleaning pays: its level and growth in place of assumed ones.

Costs, dates and advice are those of `calibration.costs` for the same case; only the fouling of the log's
days, that of today and its growth are measured.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from calibration.case.records import Case
from calibration.clean_fit.baseline import Baseline
from calibration.costs.cleaning_interval import INTERVAL_DRAWS, interval_of_unit
from calibration.costs.fouled_unit import FouledUnit, fouled_unit
from calibration.costs.growth_fit import day_of_year
from calibration.costs.recommendation import Recommendation, recommendation
from calibration.costs.season_case import SeasonCase, season_case
from calibration.estimate import Estimate
from calibration.heating.winter_cost import with_winter
from calibration.track.kept import DAY, FIRST_DATE, KeptTrack, with_track
from model.arrays import Array
from model.maintenance.growth import growth_steps, level_path
from model.maintenance.running_cost import RunningCost, cost_of_step, running_cost
from model.season.weather_year import DAYS_PER_YEAR


@dataclass(frozen=True)
class TrackCosts:
    """What the fouling of a track costs, and what to do about it.

    Attributes
    ----------
    so_far : Estimate
        From the first to the last day of the log, in a typical year's weather [money]; the ends of its range
        are those of the level throughout.
    to_come : Estimate
        In the twelve months after the last day, if nobody cleans [money].
    advised : Recommendation
        What to do about the condenser on the last day.
    """

    so_far: Estimate
    to_come: Estimate
    advised: Recommendation


def track_costs(
    case: Case, baseline: Baseline, found: KeptTrack, progress: Callable[[float], None] | None = None
) -> TrackCosts | None:
    """Cost of the fouling of a track, and what to do about the condenser on its last day.

    Parameters
    ----------
    case : Case
        Its season, tariff and cleaning.
    baseline : Baseline
        `calibration.clean_fit.baseline.baseline_of(case)`.
    found : KeptTrack
        Of its logs.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    TrackCosts or None
        None where the case gives no price of a cleaning.
    """
    if case.cleaning is None or case.cleaning.price is None:
        return None
    growing = replace(with_track(case, found), visits=case.clean_visits)
    inputs = season_case(growing)
    unit = fouled_unit(growing, baseline, inputs, found.last_day, draws=INTERVAL_DRAWS)
    advised = recommendation(interval_of_unit(inputs, unit, progress=progress))
    running = with_winter(running_cost(unit.table, inputs.setting), unit.winter)
    return TrackCosts(cost_so_far(running, found), _cost_to_come(running, found, inputs, unit), advised)


def cost_so_far(running: RunningCost, found: KeptTrack) -> Estimate:
    """Cost of the fouling over the days of a track.

    Parameters
    ----------
    running : RunningCost
        Of the unit, by step of the year and level.
    found : KeptTrack
        Levels between its days lie on straight lines.

    Returns
    -------
    Estimate
        [money]
    """
    first, last = (int(found.seconds[place] // DAY) for place in (0, -1))
    days = np.arange(first, last + 1)
    levels = [
        np.interp(days + 0.5, found.seconds / DAY, part) for part in (found.low, found.level, found.high)
    ]
    return _cost_of_days(running, FIRST_DATE + dt.timedelta(days=first), np.stack(levels))


def _cost_to_come(running: RunningCost, found: KeptTrack, inputs: SeasonCase, unit: FouledUnit) -> Estimate:
    """Cost of the fouling in the twelve months after a track, growing on."""
    start = np.array([float(part[-1]) for part in (found.low, found.level, found.high)])
    rates = np.array([found.rate_low, found.rate, found.rate_high])
    limit = np.maximum(np.asarray(inputs.growth.limit), start)
    growth = replace(inputs.growth, rate=rates, limit=limit)
    levels = level_path(growth_steps(growth), start, day_of_year(unit.today), DAYS_PER_YEAR)[:, 1:]
    return _cost_of_days(running, unit.today + dt.timedelta(days=1), levels)


def _cost_of_days(running: RunningCost, first: dt.date, levels: Array) -> Estimate:
    """Cost of low, likely and high levels (3, days) over that of a clean coil, from a day on."""
    dates = [first + dt.timedelta(days=number) for number in range(levels.shape[1])]
    step = np.array([day_of_year(one) for one in dates]) // running.days_per_step
    cost = [
        cost_of_step(running, step, one[None]) - cost_of_step(running, step, np.zeros_like(one)[None])
        for one in levels
    ]
    low, likely, high = (float(one.sum()) / running.days_per_step for one in cost)
    return Estimate(likely, min(low, likely), max(high, likely))
