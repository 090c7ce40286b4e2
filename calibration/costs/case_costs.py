"""What a case's fouling costs in a season and when to clean, from one and the same fouled unit."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from calibration.case.records import Case, Visit
from calibration.clean_fit.baseline import Baseline
from calibration.costs.billed_load import with_billed_load
from calibration.costs.cleaning_interval import IntervalFindings, interval_of_unit
from calibration.costs.fouled_unit import DRAWS, fouled_unit
from calibration.costs.fouling_shown import FoulingShown
from calibration.costs.rate_prior import RatePrior
from calibration.costs.recommendation import Recommendation, recommendation
from calibration.costs.season_case import season_case
from calibration.costs.season_cost import SeasonFindings, drawn_years, season_of_unit
from model.maintenance.policies import YEARS_AHEAD


@dataclass(frozen=True)
class Costs:
    """What a fouling costs, and when to clean.

    Attributes
    ----------
    season : SeasonFindings
        The cost of fouling in a year.
    interval : IntervalFindings or None
        When to clean; None where the case gives no price of a cleaning.
    recommendation : Recommendation or None
        What to do about the condenser; None there too.
    """

    season: SeasonFindings
    interval: IntervalFindings | None
    recommendation: Recommendation | None


def case_costs(
    case: Case,
    baseline: Baseline,
    today: dt.date | None = None,
    progress: Callable[[float], None] | None = None,
    draws: int = DRAWS,
    findings: Mapping[str, FoulingShown] | None = None,
    prior: RatePrior | None = None,
) -> Costs:
    """Cost of fouling and time of cleaning of a case, from one and the same fouled unit.

    Parameters
    ----------
    case : Case
    baseline : Baseline
        The fitted clean unit.
    today : date, optional
        Left out, the date of the last visit.
    progress : callable, optional
        Called with the fraction done.
    draws : int
        Draws behind the ranges [-], 2 or more.
    findings : mapping of str to FoulingShown, optional
        What is already known of its visits, by their labels.
    prior : RatePrior, optional
        What other units of a fleet show of its growth.

    Returns
    -------
    Costs

    Raises
    ------
    ValueError
        Where the season cannot be simulated.
    """
    tell = progress or (lambda done: None)
    inputs = season_case(case)
    unit = fouled_unit(case, baseline, inputs, today, lambda done: tell(0.2 * done), draws, findings, prior)
    inputs, unit = with_billed_load(case, inputs, unit)
    drawn = drawn_years(inputs, unit, lambda done: tell(0.2 + 0.2 * done))
    season = season_of_unit(inputs, unit, lambda done: tell(0.4 + 0.1 * done), drawn)
    if inputs.cleaning is None:
        return Costs(season, None, None)
    found = interval_of_unit(inputs, unit, YEARS_AHEAD, lambda done: tell(0.5 + 0.5 * done), drawn)
    return Costs(season, found, recommendation(found))


def as_of_visit(case: Case, visit: Visit) -> Case:
    """The case as it stood after one visit: clean visits, those as found on earlier days, and the visit.

    Earlier visits say how fast the fouling grows; with the last one the costs are those of the whole case.

    Parameters
    ----------
    case : Case
    visit : Visit
        One of its visits.

    Returns
    -------
    Case
    """
    kept = [one for one in case.visits if one != visit and (one.coil == "clean" or _is_before(one, visit))]
    return replace(case, visits=(*kept, visit))


def _is_before(one: Visit, other: Visit) -> bool:
    return one.date is not None and other.date is not None and one.date < other.date
