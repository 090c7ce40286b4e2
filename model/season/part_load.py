"""How a unit of one or more speeds meets a load: what it can give, how long it runs at each speed, its power.

A unit of one speed cycles. One of two or more stages cycles at its lowest where that is enough, alternates
between the two stages on either side of the load where it is not, and stays at the highest where that is too
little. A unit of variable speed does the same, except that between its tabulated speeds it runs all the time
at the speed that just meets the load, its efficiency a straight line over the load between the two.

A blower that never stops heats the room while the compressor is off: the unit then has to remove that too, so
it runs (L + B) / (Q + B) of the time for a load L, a capacity Q net of the blower, and a blower of B watts.

Assumptions: a unit of stages that trips at the stage it is asked for is off for that hour; a drive of
variable speed slows down to the speed at which it just does not trip.

Sources: AHRI 210/240-2023, 11.2.1, and Appendix M1 to subpart B of 10 CFR 430, 4.1.2 to 4.1.4 (cycling, two
stages, variable speed; form from memory, that for two stages seen second-hand in open code).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, BoolArray
from model.season.performance_table import Performance

BetweenSpeeds = Literal["alternates", "varies"]

SMALLEST_CAPACITY = 1.0
"""Capacity under which a unit is taken to give nothing [W]."""


class Ability(NamedTuple):
    """What a unit can give.

    Attributes
    ----------
    by_speed : ndarray, shape (speeds, ...)
        Capacity at each speed, slowest first, never falling [W].
    capacity : ndarray
        The most that it can give [W]; 0 where it trips.
    tripped : ndarray of bool
        Whether it trips under the load asked for.
    """

    by_speed: Array
    capacity: Array
    tripped: BoolArray


class Use(NamedTuple):
    """How a load was met.

    Attributes
    ----------
    shares : ndarray, shape (speeds, ...)
        Share of the time at each speed, slowest first [-].
    run : ndarray
        Share of the time that the compressor runs [-].
    power : ndarray
        Electrical power of compressor, fans and blower while the compressor runs, mean over the time [W].
    """

    shares: Array
    run: Array
    power: Array


def part_load_factor(load_fraction: ArrayLike, cycling_coefficient: float) -> Array:
    """Efficiency while cycling over efficiency while running steadily.

    Parameters
    ----------
    load_fraction : array_like
        Load over capacity [-], in [0, 1], any shape.
    cycling_coefficient : float
        Degradation coefficient Cd [-].

    Returns
    -------
    ndarray
        Factor [-], shape of `load_fraction`.

    References
    ----------
    AHRI 210/240, PLF(X) = 1 - Cd (1 - X).
    """
    return 1.0 - cycling_coefficient * (1.0 - np.asarray(load_fraction, dtype=float))


def ability(
    points: Sequence[Performance],
    wanted: Array,
    answers_to: Literal["total", "sensible"] = "total",
    between_speeds: BetweenSpeeds = "alternates",
) -> Ability:
    """The most that a unit can give without tripping.

    Parameters
    ----------
    points : sequence of Performance
        At each speed, slowest first.
    wanted : ndarray
        Load [W]; trips count where it is above 0.
    answers_to : "total" or "sensible"
        The capacity that counts.
    between_speeds : "alternates" or "varies"
        Whether it has stages or a variable speed.

    Returns
    -------
    Ability
    """
    name = f"{answers_to}_capacity"
    able = np.maximum(np.stack([getattr(point, name) for point in points]), SMALLEST_CAPACITY)
    by_speed = np.maximum.accumulate(able, axis=0)
    over = points[0].tripped & (wanted > 0.0)
    ceiling = np.where(over, 0.0, by_speed[0])
    varies = between_speeds == "varies"
    tripped = over
    for slow, fast, below, above in zip(points, points[1:], by_speed, by_speed[1:], strict=False):
        now_over = over | (fast.tripped & (wanted > 0.0))
        reached = _limit_between(slow, fast, below, above) if varies else below
        ceiling = np.where(now_over, np.where(over, ceiling, reached), above)
        over = now_over
    if not varies:
        tripped = over & (wanted > ceiling)
    return Ability(by_speed, np.where(tripped, 0.0, ceiling), tripped)


def _limit_between(slow: Performance, fast: Performance, below: Array, above: Array) -> Array:
    """Capacity [W] at the speed between two at which the margin to the high-pressure limit is used up."""
    fall = slow.trip_margin - fast.trip_margin
    share = np.divide(slow.trip_margin, fall, out=np.zeros_like(fall), where=fall > 0.0)
    return np.asarray(below + np.clip(share, 0.0, 1.0) * (above - below))


def use(
    points: Sequence[Performance],
    able: Ability,
    served: Array,
    cycling_coefficient: float,
    between_speeds: BetweenSpeeds = "alternates",
    blower_heat: ArrayLike = 0.0,
) -> Use:
    """Time at each speed and power of a unit that gives a cooling.

    Parameters
    ----------
    points : sequence of Performance
        At each speed, slowest first.
    able : Ability
        From `ability` with the same points.
    served : ndarray
        Cooling given [W], not above its capacity.
    cycling_coefficient : float
        Cd [-].
    between_speeds : "alternates" or "varies"
        Whether it has stages or a variable speed.
    blower_heat : array_like
        Power of a blower that runs while the compressor is off [W].

    Returns
    -------
    Use

    References
    ----------
    Appendix M1 to subpart B of 10 CFR 430, 4.1.3.1 to 4.1.3.4 for stages: X1 = BL / Q1 and PLF where
    BL <= Q1; X1 = (Q2 - BL) / (Q2 - Q1) and X2 = 1 - X1 where Q1 < BL < Q2. 4.1.4.2 for variable speed: EER
    between two speeds on a straight line over capacity. From memory.
    """
    slowest = able.by_speed[0]
    heat = np.where(served > 0.0, blower_heat, 0.0)
    may_run = ~able.tripped
    fraction = np.divide(served + heat, slowest + heat, out=np.zeros_like(served), where=may_run)
    fraction = np.minimum(fraction, 1.0)
    shares = [fraction / part_load_factor(fraction, cycling_coefficient)]
    upward = []
    for below, above in zip(able.by_speed, able.by_speed[1:], strict=False):
        span = above - below
        part = np.divide(served - below, span, out=np.zeros_like(served), where=may_run & (span > 0.0))
        upward.append(np.clip(part, 0.0, 1.0))
        last = shares[-1]
        shares[-1:] = [last * (1.0 - upward[-1]), last * upward[-1]]
    power = np.asarray(sum(share * point.total_power for share, point in zip(shares, points, strict=True)))
    if between_speeds == "varies":
        steady = may_run & (served > slowest)
        power = np.where(steady, served / _cop_between(points, able.by_speed, upward), power)
    run = np.asarray(sum(shares[1:], start=shares[0]))
    return Use(np.stack(shares), run, power)


def _cop_between(points: Sequence[Performance], by_speed: Array, upward: Sequence[Array]) -> Array:
    """Capacity over power [-] on straight lines over the capacity between tabulated speeds."""
    each = [capacity / point.total_power for capacity, point in zip(by_speed, points, strict=True)]
    cop = each[0]
    for slow, fast, part in zip(each, each[1:], upward, strict=False):
        cop = cop + part * (fast - slow)
    return np.asarray(cop)
