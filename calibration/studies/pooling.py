"""What pooling growth rates brings: invented fleets with known rates, read with the errors of a visit.

Rates are drawn as in `calibration.studies.invented_fleet`, levels are rate times time read with the error of
a usual finding. Estimates are compared with the truth: the unit's own level alone, the same weighed with the
published span of rates (as one unit is judged), the pooled one, and the best of one who knows how the fleet
was drawn (`calibration.studies.pooling_bound`). Apart are units without a level
at a site that has others, and odd units that foul far faster than their site.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from calibration.costs.growth_fit import OWN_SPREAD, LevelPoint, shrunk_fit
from calibration.fleet.pooling import PRIOR_MIDDLE, PRIOR_SPREAD, UnitGrowth, pooled_growth, shown_growth
from calibration.studies.invented_fleet import (
    EXPOSURES,
    LONGEST_LEVEL,
    ODD_FACTOR,
    ODD_SHARE,
    SITE_SPREAD,
    UNIT_SPREAD,
    UNITS_A_SITE,
)
from calibration.studies.pooling_bound import best_logarithms
from model.arrays import Array, BoolArray
from model.maintenance.growth import NORMAL_95
from model.season.weather_year import DAYS_PER_YEAR

READ_ERROR = 0.04
"""Standard error of a level that a usual finding gives [-]."""
YEARS = (0.8, 4.0)
"""Time since the last cleaning, equally likely between its ends [a]."""
CLEANED = dt.date(2022, 4, 1)
"""Day on which every unit was cleaned."""
CLEAR = 4.0
"""A level of more of its errors shows by itself how fast a unit fouls [-]."""
NEW_SHARE = 0.1
"""Units without a level [-]."""


@dataclass(frozen=True)
class PoolingStudy:
    """Root mean square errors of the logarithm of growth rates [-].

    Attributes
    ----------
    units, new, odd : int
        Usual units with a level, units without one, odd units with a clear one.
    own, published, pooled : float
        Of usual units: by their own level, weighed with the published span, pooled.
    new_published, new_pooled : float
        Of units without a level.
    odd_own, odd_published, odd_pooled : float
        Of odd units whose level is over `CLEAR` of its errors.
    faint, faint_own, faint_published, faint_pooled : int, float, float, float
        Odd units whose level is less, which no reading tells from their neighbours; their errors.
    odd_read_own, odd_read_pooled : float
        Of all odd units that were read, clear or not.
    best, new_best, odd_best, faint_best, odd_read_best : float
        Of the best that one can do who knows how the fleet was drawn.
    inside : float
        Share of usual units whose true rate lies in the pooled 90 % range [-].
    """

    units: int
    new: int
    odd: int
    own: float
    published: float
    pooled: float
    new_published: float
    new_pooled: float
    odd_own: float
    odd_published: float
    odd_pooled: float
    faint: int
    faint_own: float
    faint_published: float
    faint_pooled: float
    odd_read_own: float
    odd_read_pooled: float
    inside: float
    best: float
    new_best: float
    odd_best: float
    faint_best: float
    odd_read_best: float


def pooling_study(
    fleets: int = 10,
    units: int = 100,
    seed: int = 20_261_130,
    progress: Callable[[float], None] | None = None,
) -> PoolingStudy:
    """Errors of growth rates over invented fleets.

    Parameters
    ----------
    fleets, units : int
        How many fleets of how many units each.
    seed : int
        Of the draws.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    PoolingStudy
    """
    draw = np.random.default_rng(seed)
    found = []
    for number in range(fleets):
        found.append(_one_fleet(units, draw))
        if progress is not None:
            progress((number + 1) / fleets)
    off, is_new, is_odd, is_clear, inside = (np.concatenate(parts) for parts in zip(*found, strict=True))
    usual = ~is_new & ~is_odd
    odd, faint = is_odd & is_clear, is_odd & ~is_new & ~is_clear
    usual_errors, new_errors = _errors(off[usual]), _errors(off[is_new])
    odd_errors, faint_errors = _errors(off[odd]), _errors(off[faint])
    read_errors = _errors(off[is_odd & ~is_new])
    return PoolingStudy(
        units=int(usual.sum()),
        new=int(is_new.sum()),
        odd=int(odd.sum()),
        own=usual_errors[0],
        published=usual_errors[1],
        pooled=usual_errors[2],
        new_published=new_errors[1],
        new_pooled=new_errors[2],
        odd_own=odd_errors[0],
        odd_published=odd_errors[1],
        odd_pooled=odd_errors[2],
        faint=int(faint.sum()),
        faint_own=faint_errors[0],
        faint_published=faint_errors[1],
        faint_pooled=faint_errors[2],
        odd_read_own=read_errors[0],
        odd_read_pooled=read_errors[2],
        inside=float(inside[usual].mean()),
        best=usual_errors[3],
        new_best=new_errors[3],
        odd_best=odd_errors[3],
        faint_best=faint_errors[3],
        odd_read_best=read_errors[3],
    )


def _errors(off: Array) -> tuple[float, ...]:
    """Root mean square of each column."""
    return tuple(float(one) for one in np.sqrt(np.mean(off**2, axis=0))) if len(off) else (0.0,) * 4


def _one_fleet(
    units: int, draw: np.random.Generator
) -> tuple[Array, BoolArray, BoolArray, BoolArray, BoolArray]:
    """Errors (units, 4) of own, published, pooled and best; which are new, odd, clear, and inside."""
    true: list[float] = []
    seen: list[UnitGrowth] = []
    points: list[LevelPoint | None] = []
    is_new: list[bool] = []
    is_odd: list[bool] = []
    site = 0
    while len(seen) < units:
        site += 1
        exposure = str(draw.choice(list(EXPOSURES)))
        base = PRIOR_MIDDLE + np.log(EXPOSURES[exposure]) + SITE_SPREAD * draw.standard_normal()
        for _ in range(min(1 + draw.poisson(UNITS_A_SITE - 1.0), units - len(seen))):
            odd = bool(draw.random() < ODD_SHARE)
            rate = float(np.exp(base + UNIT_SPREAD * draw.standard_normal())) * (ODD_FACTOR if odd else 1.0)
            new = bool(draw.random() < NEW_SHARE)
            growth = UnitGrowth(f"site {site}", exposure)
            true.append(np.log(rate))
            read, point = (growth, None) if new else _seen(growth, rate, draw)
            seen.append(read)
            points.append(point)
            is_new.append(new)
            is_odd.append(odd)
    logs, priors = np.array(true), pooled_growth(seen).priors
    pooled = [
        prior.rate if point is None else shrunk_fit([point], prior).rate
        for prior, point in zip(priors, points, strict=True)
    ]
    own = np.array([PRIOR_MIDDLE if one.level is None else _own(one) for one in seen])
    published = np.array([_with_published(one) for one in seen])
    together = np.log(np.array([one.value for one in pooled]))
    inside = np.array([one.low <= np.exp(t) <= one.high for one, t in zip(pooled, logs, strict=True)])
    off = np.stack([own, published, together, best_logarithms(seen)], axis=1) - logs[:, None]
    clear = np.array([one.level is not None and one.level > CLEAR * one.error for one in seen])
    return off, np.array(is_new), np.array(is_odd), clear, inside


def _own(one: UnitGrowth) -> float:
    """Logarithm of a unit's rate by its level alone, of which the least is half an error."""
    return float(np.log(max(one.level or 0.0, 0.5 * one.error) / one.years))


def _with_published(one: UnitGrowth) -> float:
    """The same with the published span as its prior, mean over a grid."""
    if one.level is None:
        return float(PRIOR_MIDDLE)
    grid = np.linspace(PRIOR_MIDDLE - 4.0 * PRIOR_SPREAD, PRIOR_MIDDLE + 4.0 * PRIOR_SPREAD, 400)
    squares = ((one.level - np.exp(grid) * one.years) / one.error) ** 2
    squares += ((grid - PRIOR_MIDDLE) / PRIOR_SPREAD) ** 2
    weights = np.exp(-0.5 * (squares - squares.min()))
    return float(np.sum(grid * weights) / np.sum(weights))


def _seen(growth: UnitGrowth, rate: float, draw: np.random.Generator) -> tuple[UnitGrowth, LevelPoint]:
    """What a visit shows of a unit."""
    years = min(float(draw.uniform(*YEARS)), LONGEST_LEVEL / rate)
    true = rate * years + OWN_SPREAD * draw.standard_normal()
    level = max(true + READ_ERROR * draw.standard_normal(), 0.0)
    reach = NORMAL_95 * READ_ERROR
    found = CLEANED + dt.timedelta(days=round(years * DAYS_PER_YEAR))
    point = LevelPoint("found", CLEANED, found, level, level - reach, level + reach)
    return shown_growth(growth.site, growth.exposure, [point]), point
