"""How the fouling of a case grows: the most likely growth and draws of it.

A rate that the case gives is taken with its 90 % range, as a log measured it, else with a usual one. Where
it gives none, its as-found visits speak, by `calibration.costs.growth_fit`, in the form that explains them
best; where there is no such visit with a date and a cleaning before it, or the case asks for bursts in months
of its own, the published span of growth is drawn from. In a fleet, what its other units show takes the place
of the published span (`calibration.fleet.pooling`).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from calibration.case.records import Case
from calibration.costs.fouling_shown import FoulingShown
from calibration.costs.growth_fit import SPRING, GrowthFit, growth_fits, level_points, shrunk_fit
from calibration.costs.quasi_draws import normal_scores
from calibration.costs.rate_prior import RatePrior
from calibration.costs.season_case import SeasonCase
from calibration.said import said
from model.arrays import Array
from model.maintenance.growth import LARGEST_LEVEL, NORMAL_95, FoulingGrowth, rate_at_score

GIVEN_RATE_SPREAD = 1.5
"""Factor either way that holds nine in ten of the rates that a case's own rate stands for [-]; a choice."""


@dataclass(frozen=True)
class LikelyGrowth:
    """Growth of a case's fouling.

    Attributes
    ----------
    likely : FoulingGrowth
        Most likely.
    drawn : FoulingGrowth
        Draws of it, arrays of shape (draws,).
    source : str
        What it rests on, in a few words.
    """

    likely: FoulingGrowth
    drawn: FoulingGrowth
    source: str


def likely_growth(
    case: Case,
    inputs: SeasonCase,
    found: Sequence[FoulingShown],
    probability: Array,
    prior: RatePrior | None = None,
) -> LikelyGrowth:
    """Growth of a case's fouling.

    Parameters
    ----------
    case : Case
    inputs : SeasonCase
        `calibration.costs.season_case.season_case(case)`.
    found : sequence of FoulingShown
        Of its as-found visits until today.
    probability : ndarray, shape (draws,)
        Where in the distribution of growth each draw lies [-].
    prior : RatePrior, optional
        What other units of a fleet show; left out, the published span.

    Returns
    -------
    LikelyGrowth
    """
    growth = inputs.growth
    if not inputs.rate_is_assumed:
        rates = _given_rates(case, float(np.asarray(growth.rate)), normal_scores(probability))
        return LikelyGrowth(growth, _at_rates(growth, rates), _given_by(case))
    points = level_points(case, found)
    if not points or (growth.bursts and prior is None):
        return _without_visits(growth, probability, prior)
    best = growth_fits(points)[0] if prior is None else shrunk_fit(points, prior)
    words = said("fitted to {number} as-found visits, {form}", number=len(points), form=said(best.form))
    if len(points) == 1:
        words = said("fitted to 1 as-found visit, {form}", form=said(best.form))
    if prior is not None:
        words = said("{source}, and to other units of the fleet", source=words)
    likely, drawn = _fitted(best, probability)
    if growth.bursts:  # a year's growth is what was fitted; when it comes is what the case says
        likely, drawn = (replace(growth, rate=one.rate) for one in (likely, drawn))
    return LikelyGrowth(likely, drawn, words)


def _without_visits(growth: FoulingGrowth, probability: Array, prior: RatePrior | None) -> LikelyGrowth:
    """Growth that no visit of the unit's own speaks of."""
    if prior is None:
        rates = rate_at_score("condenser", normal_scores(probability))
        return LikelyGrowth(growth, _at_rates(growth, rates), said("the published span, widely uncertain"))
    likely = _at_rates(growth, np.array([prior.rate.value]))
    likely = replace(likely, rate=prior.rate.value, limit=float(np.ravel(likely.limit)[0]))
    return LikelyGrowth(likely, _at_rates(growth, prior.at(probability)), said("other units of the fleet"))


def _given_rates(case: Case, rate: float, score: Array) -> Array:
    """Draws of a rate that the case gives, each half of its range as wide as it is in the logarithm."""
    entry = case.cleaning
    low, high = rate / GIVEN_RATE_SPREAD, rate * GIVEN_RATE_SPREAD
    if entry is not None and entry.growth_rate_low is not None and entry.growth_rate_high is not None:
        low, high = entry.growth_rate_low, entry.growth_rate_high
    if rate <= 0.0:
        return np.zeros_like(score)
    half = np.log([rate / low, high / rate])[(score > 0.0).astype(int)]
    return np.asarray(rate * np.exp(half / NORMAL_95 * score))


def _given_by(case: Case) -> str:
    """Who says a rate that the case gives."""
    ranged = case.cleaning is not None and case.cleaning.growth_rate_low is not None
    if ranged and case.track:
        return said("measured by a log until {date}", date=case.track[-1].date.isoformat())
    return said("as the case says")


def _at_rates(growth: FoulingGrowth, rates: Array) -> FoulingGrowth:
    """The growth at other rates; asymptotic growth keeps its time constant, linear growth its limit."""
    limit = float(np.asarray(growth.limit))
    if growth.law == "linear" or not np.any(growth.rate):
        return replace(growth, rate=rates, limit=limit)
    limits = np.minimum(limit * rates / np.asarray(growth.rate), 0.95)
    return replace(growth, rate=rates, limit=np.asarray(limits))


def _fitted(fit: GrowthFit, probability: Array) -> tuple[FoulingGrowth, FoulingGrowth]:
    """Most likely growth and draws of it from a fit."""
    held = np.cumsum(fit.weights)  # rates rise along the grid
    chosen = np.minimum(np.searchsorted(held, probability * held[-1]), held.size - 1)
    if fit.form == "asymptotic" and fit.limit is not None:
        likely = FoulingGrowth(fit.rate.value, fit.limit.value, "asymptotic")
        return likely, replace(likely, rate=fit.rates[chosen], limit=fit.limits[chosen])
    bursts = (SPRING,) if fit.form == "a step each spring" else ()
    likely = FoulingGrowth(fit.rate.value, LARGEST_LEVEL, "linear", bursts)
    return likely, replace(likely, rate=fit.rates[chosen])


def found_until(case: Case, today: dt.date) -> list[tuple[dt.date, str]]:
    """Dates and labels of the as-found visits in cooling until today; one without a date is of today.

    Of several on one day the last in the file comes last.

    Parameters
    ----------
    case : Case
        Its visits.
    today : dt.date
        Until when.

    Returns
    -------
    list of tuple[dt.date, str]
        Dates and labels, rising.
    """
    dated = [(visit.date or today, visit.label) for visit in case.found_visits]
    return sorted((one for one in dated if one[0] <= today), key=lambda one: one[0])


class KnownState(NamedTuple):
    """State of a coil on the day for which it is known last: label of the visit as found, empty if clean."""

    day: dt.date
    found: str


def last_known_state(case: Case, today: dt.date, in_heating: Collection[str] = ()) -> KnownState | None:
    """State of the coil as it is known last until today, by a visit or by the date of a cleaning.

    Of two visits on one day the later one in the file counts; a visit as found counts over a cleaning on the
    same day that has no visit of its own.

    Parameters
    ----------
    case : Case
        Its visits and the last cleaning that it names.
    today : dt.date
        Until when; a visit as found without a date is of today.
    in_heating : collection of str
        Labels of the as-found visits in heating that say how dirty the coil is; the others do not count.

    Returns
    -------
    KnownState or None
        None where nothing is known until today.
    """
    cleaned = case.cleaning.last_cleaned if case.cleaning is not None else None
    known = [KnownState(cleaned, "")] if cleaned is not None else []
    for visit in (*case.visits, *case.heating_visits):
        if visit.coil == "as found" and visit.mode == "heating" and visit.label not in in_heating:
            continue
        if visit.coil == "as found":
            known.append(KnownState(visit.date or today, visit.label))
        elif visit.date is not None:
            known.append(KnownState(visit.date, ""))
    rising = sorted((one for one in known if one.day <= today), key=lambda one: one.day)
    return rising[-1] if rising else None
