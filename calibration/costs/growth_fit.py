"""How fast this unit fouls, from the levels of its as-found visits.

Three forms of growth from clean are fitted: linear, asymptotic after Kern and Seaton, and a step each spring
(all of a year's growth within a few weeks of seed fluff). The posterior of rate and limit is summed on a
grid: the prior of the rate is the published span of growth, or what other units show
(`calibration.costs.rate_prior`), that of the limit is even. Forms are compared by how well each explains the
levels over its whole prior, so that the asymptotic form's second number has to earn its keep; with one or two
visits none stands out, and the interval says so.

What other units show moves a unit with visits of its own by `MOST_MOVED` standard errors of its own rate at
most (limited translation). An odd unit that is hardly fouled yet looks like its neighbours to any rule that
goes by its readings, and this keeps it from being dragged along; it costs the usual units little.

References
----------
Efron, B. and Morris, C., Limiting the risk of Bayes and empirical Bayes estimators, part II, JASA 67, 1972
(limited translation, from memory).
Kern, D. Q. and Seaton, R. E., A theoretical analysis of thermal surface fouling, British Chemical Engineering
4(5), 1959 (form from memory).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from calibration.case.records import Case
from calibration.costs.fouling_shown import FoulingShown
from calibration.costs.rate_prior import PUBLISHED, RatePrior
from calibration.estimate import Estimate
from model.arrays import Array
from model.maintenance.growth import (
    LARGEST_LEVEL,
    NORMAL_95,
    SEED_FLUFF,
    Burst,
    asymptotic_level,
    daily_share,
    linear_level,
)
from model.season.weather_year import DAYS_IN_MONTH, DAYS_PER_YEAR

Form = Literal["linear", "asymptotic", "a step each spring"]

FORMS: tuple[Form, ...] = ("linear", "asymptotic", "a step each spring")
SPRING = Burst("spring", SEED_FLUFF.middle_day, SEED_FLUFF.spread_days, 1.0)
"""All of a year's growth around the end of May: seed fluff (common practice, no source)."""
RATES = np.geomspace(0.002, 3.0, 600)
"""Rates from clean over which the sums go [1/a]."""
LIMITS = np.linspace(0.05, LARGEST_LEVEL, 71)
"""Limits of asymptotic growth over which the sums go [-]."""
OWN_SPREAD = 0.03
"""Level that a coil may be off any smooth form: rain, a door left open [-]; common practice, no source."""
MOST_MOVED = 1.0
"""Furthest that other units move a unit's rate off its own, in standard errors of that [-]; a choice."""
FORM_VISITS = 3
"""Visits from which on a unit in a fleet may grow otherwise than linearly, as the fleet's rates are [-]."""


@dataclass(frozen=True)
class LevelPoint:
    """One visit: when the coil was last clean, when it was read, how severe the fouling was [-] (90 %)."""

    visit: str
    cleaned: dt.date
    found: dt.date
    value: float
    low: float
    high: float

    def __post_init__(self) -> None:
        """Refuse a visit before its cleaning and bounds that do not hold the value."""
        if self.found < self.cleaned:
            raise ValueError(
                f"visit {self.visit}: found on {self.found} before the cleaning on {self.cleaned}"
            )
        if not self.low <= self.value <= self.high:
            raise ValueError(f"visit {self.visit}: {self.value:g} must lie in [{self.low:g}, {self.high:g}]")

    @property
    def years(self) -> float:
        """Time since clean [a]."""
        return (self.found - self.cleaned).days / DAYS_PER_YEAR


@dataclass(frozen=True)
class GrowthFit:
    """One form of growth fitted to the visits.

    Attributes
    ----------
    form : str
        One of `FORMS`.
    rate : Estimate
        Growth from clean [1/a].
    limit : Estimate or None
        What asymptotic growth tends to [-].
    time_constant : Estimate or None
        Its time constant [a].
    probability : float
        Of this form among all, each as likely beforehand [-].
    misfit : float
        Sum of squared standardised differences at the likeliest numbers [-].
    rates, limits, weights : arrays
        The posterior as a grid.
    """

    form: Form
    rate: Estimate
    limit: Estimate | None
    time_constant: Estimate | None
    probability: float
    misfit: float
    rates: Array = field(repr=False, compare=False)
    limits: Array = field(repr=False, compare=False)
    weights: Array = field(repr=False, compare=False)

    def level(self, cleaned: dt.date, day: dt.date) -> Estimate:
        """Level on a day after a cleaning [-], with its 90 % range."""
        exposure = exposure_between(self.form, cleaned, day)
        return _bounded(level_of(self.form, exposure, self.rates, self.limits), self.weights)


def exposure_between(form: Form, cleaned: dt.date, found: dt.date) -> float:
    """Years' worth of growth between two dates: whole years count one, parts by the form's season.

    Parameters
    ----------
    form : Form
        How the coil fouls over the year.
    cleaned : dt.date
        When it was clean.
    found : dt.date
        When it was found.

    Returns
    -------
    float
        Exposure [a].

    Raises
    ------
    ValueError
        Where `found` is before `cleaned`.
    """
    if found < cleaned:
        raise ValueError(f"found must not be before {cleaned}, got {found}")
    if form != "a step each spring":
        return (found - cleaned).days / DAYS_PER_YEAR
    grown = np.concatenate([[0.0], np.cumsum(daily_share((SPRING,)))])
    return float(found.year - cleaned.year + grown[day_of_year(found)] - grown[day_of_year(cleaned)])


def day_of_year(date: dt.date) -> int:
    """Day of a year without a leap day; 29 February counts as the 28th.

    Parameters
    ----------
    date : dt.date
        Any date.

    Returns
    -------
    int
        0 to 364.
    """
    return sum(DAYS_IN_MONTH[: date.month - 1]) + min(date.day, DAYS_IN_MONTH[date.month - 1]) - 1


def level_of(form: Form, exposure: ArrayLike, rate: ArrayLike, limit: ArrayLike) -> Array:
    """Level after an exposure.

    Parameters
    ----------
    form : Form
        Linear, asymptotic or in steps.
    exposure : array_like
        Years' worth of growth [a].
    rate : array_like
        Growth from clean [1/a].
    limit : array_like
        Level that is reached in the end [-].

    Returns
    -------
    ndarray
        Level [-], shape of the broadcast inputs.
    """
    if form == "asymptotic":
        return asymptotic_level(exposure, limit, np.asarray(limit) / np.asarray(rate))
    return np.minimum(linear_level(exposure, rate), limit)


def level_points(case: Case, findings: Sequence[FoulingShown]) -> tuple[LevelPoint, ...]:
    """As-found visits with a date and a known cleaning before it, in order of time.

    The coil counts as clean on the date of the last clean visit, or of the last cleaning that the case
    names, on a day before the visit. A visit whose readings point to something other than a fouled coil says
    nothing about its fouling and is left out.

    Parameters
    ----------
    case : Case
        For clean visits and the last cleaning.
    findings : sequence of FoulingShown
        Of as-found visits, in cooling and in heating.

    Returns
    -------
    tuple of LevelPoint
        Exposure, level and its error of each.
    """
    clean = case.clean_dates
    if case.cleaning is not None and case.cleaning.last_cleaned is not None:
        clean.append(case.cleaning.last_cleaned)
    points = []
    for one in findings:
        found = one.visit.date
        before = [date for date in clean if found is not None and date < found]
        if found is None or not before or one.visit.coil == "clean" or not one.shows_condenser:
            continue
        blocked = one.blocked
        points.append(
            LevelPoint(one.visit.label, max(before), found, blocked.value, blocked.low, blocked.high)
        )
    return tuple(sorted(points, key=lambda point: point.found))


def growth_fits(points: Sequence[LevelPoint], prior: RatePrior = PUBLISHED) -> tuple[GrowthFit, ...]:
    """Every form of growth fitted to levels, the likeliest first.

    Parameters
    ----------
    points : sequence of LevelPoint
        None gives the prior.
    prior : RatePrior
        What is known of the rate without them.

    Returns
    -------
    tuple of GrowthFit
    """
    fits = [_fitted(form, points, prior) for form in FORMS]
    evidence = np.array([logarithm for _, logarithm in fits])
    shares = np.exp(evidence - evidence.max())
    shares /= shares.sum()
    weighed = [
        GrowthFit(
            form=fit.form,
            rate=fit.rate,
            limit=fit.limit,
            time_constant=fit.time_constant,
            probability=float(share),
            misfit=fit.misfit,
            rates=fit.rates,
            limits=fit.limits,
            weights=fit.weights,
        )
        for (fit, _), share in zip(fits, shares, strict=True)
    ]
    return tuple(sorted(weighed, key=lambda fit: -fit.probability))


def shrunk_fit(points: Sequence[LevelPoint], prior: RatePrior) -> GrowthFit:
    """Growth of a unit that has visits of its own, and of which other units say something too.

    Parameters
    ----------
    points : sequence of LevelPoint
        At least one.
    prior : RatePrior
        What the others say.

    Returns
    -------
    GrowthFit
        Linear growth, or the likeliest of all forms from `FORM_VISITS` visits on.
    """
    if len(points) < FORM_VISITS:
        fit = replace(_fitted("linear", points, prior)[0], probability=1.0)
    else:
        fit = growth_fits(points, prior)[0]
    own, error = own_rate(points)
    reach = MOST_MOVED * error
    factor = float(np.clip(fit.rate.value, own - reach, own + reach)) / fit.rate.value
    if factor == 1.0:
        return fit
    rates = _moved(fit, factor)
    ends = _bounded(rates, fit.weights)
    return replace(fit, rate=replace(ends, value=fit.rate.value * factor), rates=rates)


def _moved(fit: GrowthFit, factor: float) -> Array:
    """Rates of a posterior whose median takes a factor; the end that the others make likely stays."""
    held = np.cumsum(fit.weights) - 0.5 * fit.weights  # rates rise along the grid
    beyond = np.clip((2.0 * held - 1.0) * (1.0 if factor < 1.0 else -1.0), 0.0, 1.0)
    return np.asarray(fit.rates * factor ** (1.0 - beyond))


def own_rate(points: Sequence[LevelPoint]) -> tuple[float, float]:
    """Rate that a unit's own visits show, and its standard error [1/a].

    Weighted least squares through a clean coil.

    Parameters
    ----------
    points : sequence of LevelPoint
        At least one some time after its cleaning.

    Returns
    -------
    (float, float)
    """
    years, levels = np.array([(one.years, max(one.value, 0.0)) for one in points]).T
    errors = np.array([np.hypot((one.high - one.low) / (2.0 * NORMAL_95), OWN_SPREAD) for one in points])
    weight = float(np.sum((years / errors) ** 2))
    return float(np.sum(years * levels / errors**2)) / weight, weight**-0.5


def _fitted(
    form: Form, points: Sequence[LevelPoint], known: RatePrior = PUBLISHED
) -> tuple[GrowthFit, float]:
    """Fit of one form, and the logarithm of how well it explains the points over its prior."""
    limits = LIMITS if form == "asymptotic" else LIMITS[-1:]
    rate, limit = (grid.ravel() for grid in np.meshgrid(RATES, limits, indexing="ij"))
    rate_prior = known.density(RATES)
    prior = np.repeat(rate_prior / rate_prior.sum(), len(limits)) / len(limits)
    squares = np.zeros_like(rate)
    for point in points:
        exposure = exposure_between(form, point.cleaned, point.found)
        squares += _squares(point, level_of(form, exposure, rate, limit))
    density = prior * np.exp(-0.5 * (squares - squares.min()))
    weights = density / density.sum()
    fit = GrowthFit(
        form=form,
        rate=_bounded(rate, weights),
        limit=_bounded(limit, weights) if form == "asymptotic" else None,
        time_constant=_bounded(limit / rate, weights) if form == "asymptotic" else None,
        probability=0.0,
        misfit=float(squares[int(np.argmax(weights))]),
        rates=rate,
        limits=limit,
        weights=weights,
    )
    return fit, float(np.log(density.sum()) - 0.5 * squares.min())


def _squares(point: LevelPoint, level: Array) -> Array:
    """Squared standardised distance to a point, by the standard error of the side that it lies on."""
    below = np.hypot((point.value - point.low) / NORMAL_95, OWN_SPREAD)
    above = np.hypot((point.high - point.value) / NORMAL_95, OWN_SPREAD)
    off = level - point.value
    return np.asarray((off / np.where(off < 0.0, below, above)) ** 2)


def _bounded(values: Array, weights: Array) -> Estimate:
    order = np.argsort(values)
    held = np.cumsum(weights[order])
    median, low, high = np.interp([0.5, 0.05, 0.95], held, values[order])
    return Estimate(float(median), float(low), float(high))
