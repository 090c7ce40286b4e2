"""The day when cleaning pays, from a track: its level and growth in place of assumed ones.

Costs, dates and advice are those of `calibration.costs` for the same case; only today's fouling and its
growth are measured.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from calibration.case.records import Case, CleaningEntry
from calibration.clean_fit.baseline import Baseline
from calibration.costs.cleaning_interval import INTERVAL_DRAWS, interval_of_unit
from calibration.costs.fouled_unit import fouled_unit
from calibration.costs.recommendation import Recommendation, recommendation
from calibration.costs.season_case import season_case
from calibration.track.track import Track

RATE_DIGITS = 3
"""Decimals of a growth rate that is taken over: a thousandth of the face a year is less than can be seen."""


def with_growth(case: Case, found: Track) -> Case:
    """The case with the measured growth rate in place of its own; all else stays.

    Parameters
    ----------
    case : Case
        With or without a cleaning.
    found : Track
        Of a log of its unit.

    Returns
    -------
    Case
    """
    cleaning = case.cleaning or CleaningEntry()
    return replace(case, cleaning=replace(cleaning, growth_rate=round(found.rate, RATE_DIGITS)))


def cleaning_day(
    case: Case, baseline: Baseline, found: Track, progress: Callable[[float], None] | None = None
) -> Recommendation | None:
    """What to do about the condenser on the last day of a track.

    Parameters
    ----------
    case : Case
        Its season, tariff and cleaning.
    baseline : Baseline
        `calibration.clean_fit.baseline.baseline_of(case)`.
    found : Track
        Of its logs.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    Recommendation or None
        None where the case gives no price of a cleaning.
    """
    if case.cleaning is None or case.cleaning.price is None:
        return None
    today = dt.date(1970, 1, 1) + dt.timedelta(seconds=float(found.seconds[-1]))
    growing = replace(with_growth(case, found), visits=case.clean_visits)
    inputs = season_case(growing)
    unit = fouled_unit(growing, baseline, inputs, today, draws=INTERVAL_DRAWS)
    share = (np.arange(INTERVAL_DRAWS) + 0.5) / INTERVAL_DRAWS
    ends = [float(found.low[-1]), float(found.level[-1]), float(found.high[-1])]
    levels = np.interp(share, [0.05, 0.5, 0.95], ends)
    unit = replace(unit, level=ends[1], levels=levels, level_from="tracked")
    return recommendation(interval_of_unit(inputs, unit, progress=progress))
