"""Is this cleaning worth it: break-even price, the value of measuring first, and what moves the advice.

A cleaning may change nothing: nine field-dirty condensers, measured before and after, changed by -7 to +7 %
and by about zero on average (Mehrabi and Yuill 2018). Its benefit is therefore a spread of outcomes, some of
them nil, and a measurement taken first is worth what it saves in cleanings that would not have paid.

Assumptions: whoever decides minds the expected money only. A measurement errs normally with a known standard
error.

References
----------
Mehrabi, M. and Yuill, D., Purdue IRACC paper 1884, 2018. Raiffa, H. and Schlaifer, R., Applied Statistical
Decision Theory, 1961, for the expected value of perfect and of sample information (form from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array
from model.maintenance.cumulative_cost import CumulativeCost, course_costs
from model.maintenance.growth import FoulingGrowth, GrowthSteps, growth_steps, level_path
from model.maintenance.interval import Cleaning, IntervalCosts, interval_costs_of_each
from model.maintenance.policies import weights
from model.maintenance.running_cost import RunningCost, cost_of_step, matched

MOST_OUTCOMES = 2000
"""Outcomes for which a measurement is simulated [-]: each is compared with every other."""
FACTORS: Mapping[str, tuple[float, float]] = {
    "electricity price": (0.5, 2.0),
    "cleaning price": (0.5, 2.0),
    "dirt rate": (0.5, 2.0),
}
"""Factors by which `sensitivities` varies each input [-]."""
RESTORATIONS = (0.5, 1.0)
"""Shares of the level removed between which `sensitivities` varies a cleaning [-]."""


@dataclass(frozen=True)
class MeasuringFirst:
    """What knowing more before a cleaning is worth; all in money of today, for one cleaning.

    Attributes
    ----------
    expected_benefit : float
        Mean of what the cleaning saves, its price not taken off.
    chance_it_pays : float
        Probability that it saves more than its price [-].
    without_measuring : float
        Expected gain of the better of cleaning and leaving, decided now.
    perfect_knowledge : float
        Expected gain if the benefit were known before deciding.
    with_measuring : float
        Expected gain if it is measured first, the measurement's price taken off.
    worth_of_measuring : float
        Most that the measurement may cost.
    advice : str
        "clean now", "leave it" or "measure first".
    """

    expected_benefit: float
    chance_it_pays: float
    without_measuring: float
    perfect_knowledge: float
    with_measuring: float
    worth_of_measuring: float
    advice: str


@dataclass(frozen=True)
class BreakEven:
    """Prices of a cleaning at which it is no better than leaving the coil alone.

    Attributes
    ----------
    within_a_year : float
        A cleaning today pays back within twelve months below this price [money].
    ever : float
        Above this price no single cleaning in the years ahead pays [money].
    """

    within_a_year: float
    ever: float


@dataclass(frozen=True)
class Sensitivity:
    """How the advice moves with one input.

    Attributes
    ----------
    name : str
        The input.
    low, high : float
        Its two values, as a factor on the input or as the value itself [-].
    interval_low, interval_high : float
        Advised interval at each [a], whole years on their best day included; inf is never.
    cost_low, cost_high : float
        Its cost at each [money/a].
    regret_low, regret_high : float
        What it costs to keep the unchanged interval when the input is really that [money/a].
    """

    name: str
    low: float
    high: float
    interval_low: float
    interval_high: float
    cost_low: float
    cost_high: float
    regret_low: float
    regret_high: float


def cleaning_benefits(
    running: RunningCost,
    growth: GrowthSteps,
    level_today: ArrayLike,
    today: int,
    restoration: float = 1.0,
    years: float = 1.0,
) -> Array:
    """Running cost that a cleaning today saves, sample by sample.

    Parameters
    ----------
    running, growth : RunningCost, GrowthSteps
        One sample or as many as `level_today`.
    level_today : array_like, shape () or (samples,)
        Fouling today [-].
    today : int
        Day of the year, 0 to 364.
    restoration : float
        Share of the level removed [-].
    years : float
        Time over which the saving counts [a].

    Returns
    -------
    ndarray, shape (samples,)
        Money saved.
    """
    level = np.atleast_1d(np.asarray(level_today, dtype=float))
    running, growth = matched(running, growth)
    first, length = today // running.days_per_step, max(round(years * running.steps), 1)
    left = level_path(growth, level, first, length)
    cleaned = level_path(growth, (1.0 - restoration) * level, first, length)
    steps = (first + np.arange(length)) % running.steps
    middle_left, middle_cleaned = (0.5 * (path[:, :-1] + path[:, 1:]) for path in (left, cleaned))
    saved = cost_of_step(running, steps, middle_left) - cost_of_step(running, steps, middle_cleaned)
    return np.asarray(saved.sum(axis=1))


def measuring_first(
    benefits: ArrayLike,
    price: float,
    standard_error: float,
    measurement_price: float = 0.0,
    no_effect: float = 0.0,
) -> MeasuringFirst:
    """Whether to clean now, to leave it, or to measure first.

    Parameters
    ----------
    benefits : array_like, shape (samples,)
        What the cleaning may save [money], equally likely; negative where it would make things worse.
    price : float
        Price of the cleaning [money].
    standard_error : float
        Standard error of the benefit as measured [money], > 0.
    measurement_price : float
        Price of the measurement [money].
    no_effect : float
        Probability, besides the samples, that the dirt changes nothing [-], in [0, 1).

    Returns
    -------
    MeasuringFirst

    Raises
    ------
    ValueError
        Where `standard_error` is not above 0 or `no_effect` outside [0, 1).

    References
    ----------
    Raiffa and Schlaifer 1961 (form from memory): 0 <= value of the sample <= value of perfect information.
    """
    gain, chance = _gains(benefits, price, no_effect)
    if not standard_error > 0.0:
        raise ValueError(f"standard_error must be above 0, got {standard_error:g}")
    now = max(float(chance @ gain), 0.0)
    perfect = float(chance @ np.maximum(gain, 0.0))
    sample = min(max(_expected_after_measuring(gain, chance, standard_error), now), perfect)
    measured = sample - measurement_price
    if measured > now:
        advice = "measure first"
    else:
        advice = "clean now" if chance @ gain > 0.0 else "leave it"
    return MeasuringFirst(
        expected_benefit=float(chance @ gain) + price,
        chance_it_pays=float(chance @ (gain > 0.0)),
        without_measuring=now,
        perfect_knowledge=perfect,
        with_measuring=measured,
        worth_of_measuring=sample - now,
        advice=advice,
    )


def _gains(benefits: ArrayLike, price: float, no_effect: float) -> tuple[Array, Array]:
    """Outcomes of cleaning [money, price taken off] and their probabilities [-]."""
    outcomes = np.sort(np.atleast_1d(np.asarray(benefits, dtype=float)))
    if not 0.0 <= no_effect < 1.0:
        raise ValueError(f"no_effect must lie in [0, 1), got {no_effect:g}")
    if outcomes.size > MOST_OUTCOMES:
        middle = (np.arange(MOST_OUTCOMES) + 0.5) / MOST_OUTCOMES
        outcomes = np.quantile(outcomes, middle)
    gain = np.append(outcomes, 0.0) - price
    chance = np.append(np.full(outcomes.size, (1.0 - no_effect) / outcomes.size), no_effect)
    return gain, chance


def _expected_after_measuring(gain: Array, chance: Array, standard_error: float) -> float:
    """Expected gain when a normal measurement of it comes first, by integrating over what it may show."""
    low, high = gain.min() - 5.0 * standard_error, gain.max() + 5.0 * standard_error
    points = int(np.clip((high - low) / (0.2 * standard_error), 200, 4000))
    shown = np.linspace(low, high, points)
    likelihood = np.exp(-0.5 * ((shown[:, None] - gain) / standard_error) ** 2)
    weight = likelihood @ chance
    expected = likelihood @ (chance * gain)
    return float(np.maximum(expected, 0.0).sum() / weight.sum())


def break_even(cumulated: CumulativeCost) -> BreakEven:
    """Prices below which a cleaning pays: today's within a year, and any one in the years ahead.

    Parameters
    ----------
    cumulated : CumulativeCost
        Costs since a cleaning; of draws, the mean over them.

    Returns
    -------
    BreakEven
        Prices [money] below which cleaning today pays within a year, and any one cleaning in the years
        ahead.
    """
    upkeep = cumulated.upkeep
    outlook = upkeep.outlook
    within = cleaning_benefits(
        upkeep.running, upkeep.growth, upkeep.levels_today, outlook.today, upkeep.cleaning.restoration
    )
    plans = np.concatenate([np.zeros((1, upkeep.length), dtype=bool), np.eye(upkeep.length, dtype=bool)])
    costs = course_costs(cumulated, plans)
    _, cash = weights(upkeep)
    # One unit of price, paid in each step in turn, in the same even yearly money as the costs.
    one = cash / (cash.sum() / upkeep.running.steps)
    saved = costs[0] - (costs[1:] - one * upkeep.cleaning.price)
    return BreakEven(float(within.mean()), float(np.max(saved / one)))


def sensitivities(
    running: RunningCost,
    growth: FoulingGrowth,
    cleaning: Cleaning,
    factors: Mapping[str, tuple[float, float]] = FACTORS,
    restorations: tuple[float, float] = RESTORATIONS,
) -> tuple[IntervalCosts, tuple[Sensitivity, ...]]:
    """Best interval, and how it moves with price, dirt rate and restoration, the widest swing first.

    Parameters
    ----------
    running : RunningCost
        With one sample.
    growth : FoulingGrowth
        With one sample.
    cleaning : Cleaning
    factors : mapping of str to (float, float)
        Low and high factor on "electricity price", "cleaning price" and "dirt rate" [-].
    restorations : (float, float)
        Low and high share of the level removed [-].

    Returns
    -------
    base : IntervalCosts
        The unchanged advice.
    swings : tuple of Sensitivity
        For a tornado chart: by the width of the swing in cleanings a year.
    """
    inputs = [(name, low_high) for name, low_high in factors.items()] + [("restoration", restorations)]
    ends = [_varied(running, growth, cleaning, name, end) for name, low_high in inputs for end in low_high]
    varied = interval_costs_of_each(
        [
            (one, growth_steps(grown, one.days_per_step), cleaned)
            for one, grown, cleaned in [(running, growth, cleaning), *ends]
        ]
    )
    base, swings = varied[0], []
    for number, (name, (low, high)) in enumerate(inputs):
        pair = varied[1 + 2 * number : 3 + 2 * number]
        regret = [
            end.cost_at(float(base.advised_interval[0])) - float(end.advised_per_year[0]) for end in pair
        ]
        interval = [float(end.advised_interval[0]) for end in pair]
        cost = [float(end.advised_per_year[0]) for end in pair]
        swings.append(Sensitivity(name, low, high, *interval, *cost, *(max(r, 0.0) for r in regret)))
    return base, tuple(sorted(swings, key=lambda s: -abs(1.0 / s.interval_low - 1.0 / s.interval_high)))


def _varied(
    running: RunningCost, growth: FoulingGrowth, cleaning: Cleaning, name: str, value: float
) -> tuple[RunningCost, FoulingGrowth, Cleaning]:
    """The three inputs with one of them changed."""
    if name == "electricity price":
        return running.scaled(value), growth, cleaning
    if name == "cleaning price":
        return running, growth, replace(cleaning, price=cleaning.price * value)
    if name == "dirt rate":
        return running, replace(growth, rate=growth.rate * value), cleaning
    if name == "restoration":
        return running, growth, replace(cleaning, restoration=value)
    raise ValueError(f"factors must be of {', '.join(FACTORS)}, got {name!r}")
