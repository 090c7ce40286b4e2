"""The steady operating point of a unit at any weather and with any causes, for whole arrays at once.

The three balances of `model.balances` are solved by `model.newton`, from a start that follows the weather.
The few points that stall are led there from an easy day in small steps. A point whose steady state would lie
beyond the high- or low-pressure limit does not exist in the field: the switch opens on the way there. Such a
point is held at the limit and named. Other limit states (flooded suction, flash gas, a freezing coil, hot
discharge) are real operating points and only named.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model import balances, nested, newton
from model.causes import HEALTHY, Causes
from model.first_guess import first_guess
from model.operating_point import STATE_CODES, STATES, OperatingPoint, operating_point
from model.refrigerant import Refrigerant, refrigerant
from model.surroundings import Conditions, Surroundings, surroundings
from model.unit import Unit

__all__ = ["STATES", "STATE_CODES", "OperatingPoint", "charge_at", "design_charge", "solve"]

Array = NDArray[np.float64]

TOLERANCE = 1e-9
"""Largest relative imbalance of a converged point [-]."""
LOWEST = np.array([[10.0], [-7.0], [-6.0]])
HIGHEST = np.array([[15.2], [6.0], [2.0]])
"""Bounds of the unknowns: evaporators from 22 kPa to 4 MPa, approaches down to a thousandth of the
limit's."""
LONGEST_STEP = np.array([[0.15], [0.5], [0.4]])
"""Longest step of each unknown."""
POINTS_AT_A_TIME = 1024
"""Points solved together: enough to hide the cost of a call, few enough to stay in the processor's cache."""
EASY_DAY = Conditions(300.0, 299.8, 0.0112)
"""Where the way to a point that stalled begins."""
STAGES = (4, 24, 120)
"""Numbers of steps of that way; the next is tried with the points that the last one did not bring."""


def solve(
    unit: Unit, conditions: Conditions, causes: Causes = HEALTHY, start: ArrayLike | None = None
) -> OperatingPoint:
    """Operating points of a unit.

    Parameters
    ----------
    unit : Unit
        May hold arrays; they broadcast with the conditions.
    conditions : Conditions
    causes : Causes
    start : array (3, ...), optional
        Unknowns to start from, e.g. those of a neighbouring point; from the unit's design point if not given.

    Returns
    -------
    OperatingPoint
        Every point either converged (residual under 1e-6), held at a pressure limit and named, or named "not
        converged".

    Raises
    ------
    ValueError
        Where an input is out of its range; see `surroundings` and `Causes`.
    """
    fluid = refrigerant(unit.refrigerant)
    shape = nested.common_shape(unit, conditions, causes)
    inputs = nested.flattened(_Inputs(unit, conditions, causes), shape)
    begin = None if start is None else _stretched(start, shape)
    count = int(np.prod(shape, dtype=int))
    pieces = _pieces(count)
    whole: dict[str, Any] = {}
    with np.errstate(all="ignore"):  # a wild trial point may overflow; it is then simply not accepted
        for piece in pieces:
            part = nested.chosen(inputs, piece) if len(pieces) > 1 else inputs
            values = _solved(
                part, fluid, None if begin is None else begin[:, piece], piece.stop - piece.start
            )
            if len(pieces) == 1:
                whole = values
            for name, value in values.items() if len(pieces) > 1 else ():
                if name not in whole:
                    whole[name] = np.empty((*value.shape[:-1], count), dtype=value.dtype)
                whole[name][..., piece] = value
    return OperatingPoint(**{name: value.reshape(value.shape[:-1] + shape) for name, value in whole.items()})


class _Inputs(NamedTuple):
    unit: Unit
    conditions: Conditions
    causes: Causes


class _Problem(NamedTuple):
    """Points to solve, flat: the unit and what is given."""

    unit: Unit
    given: Surroundings


_Balance = Callable[[Array, _Problem, newton.Index], Array]


def _stretched(start: ArrayLike, shape: tuple[int, ...]) -> Array:
    values = np.asarray(start, dtype=float)
    values = values.reshape(3, *(1,) * (len(shape) - values.ndim + 1), *values.shape[1:])
    return np.broadcast_to(values, (3, *shape)).reshape(3, -1)


def _pieces(count: int) -> list[slice]:
    size = POINTS_AT_A_TIME
    return [slice(begin, min(begin + size, count)) for begin in range(0, max(count, 1), size)]


def _solved(inputs: _Inputs, fluid: Refrigerant, start: Array | None, count: int) -> dict[str, Array]:
    """Fields of the operating points of one piece, by name."""
    unit, conditions, causes = inputs
    given = surroundings(unit, conditions, causes)
    problem = _Problem(unit, given)
    first = first_guess(unit, fluid, given, count) if start is None else start
    result = _newton(problem, first, _steady(fluid))
    unknowns = result.unknowns
    stalled = np.flatnonzero(~result.converged)
    if stalled.size:
        unknowns[:, stalled] = _led_there(problem, fluid, stalled)
    return operating_point(unknowns, unit, fluid, given)


def _steady(fluid: Refrigerant) -> _Balance:
    def balance(x: Array, part: _Problem, _: newton.Index) -> Array:
        return balances.residuals(x, part.unit, fluid, part.given)

    return balance


def _newton(problem: _Problem, start: Array, balance: _Balance) -> newton.Solution:
    """Roots of a balance of unknowns and of the problem of the points with given indices."""
    last: tuple[newton.Index, _Problem] = (None, problem)

    def system(x: Array, index: newton.Index) -> Array:
        nonlocal last
        if index is not last[0]:
            last = (index, problem if index is None else nested.chosen(problem, index))
        return balance(x, last[1], index)

    walls = np.zeros(start.shape)
    walls[0] = problem.given.log_low_pressure
    return newton.solve(system, start, newton.Box(LOWEST, HIGHEST, LONGEST_STEP, walls), TOLERANCE)


def _led_there(problem: _Problem, fluid: Refrigerant, points: NDArray[np.intp]) -> Array:
    """Unknowns of points that stalled, found on the way from an easy day."""
    unknowns = np.empty((3, points.size))
    left = np.arange(points.size)
    for stages in STAGES:
        hard = nested.chosen(problem, points[left])
        easy = _Problem(hard.unit, surroundings(hard.unit, EASY_DAY))
        x = _newton(easy, first_guess(easy.unit, fluid, easy.given, left.size), _steady(fluid)).unknowns
        for share in np.linspace(0.0, 1.0, stages + 1)[1:]:
            between = _Problem(hard.unit, _between(easy.given, hard.given, share))
            result = _newton(between, x, _steady(fluid))
            x = result.unknowns
        unknowns[:, left] = result.unknowns
        left = left[~result.converged]
        if left.size == 0:
            break
    return unknowns


def _between(first: Any, second: Any, share: float) -> Any:
    """Numbers on the straight way from one nest of named tuples to another."""
    if isinstance(first, tuple):
        items = [_between(a, b, share) for a, b in zip(first, second, strict=True)]
        return type(first)(*items) if hasattr(first, "_fields") else tuple(items)
    return first + share * (second - first)


def design_charge(unit: Unit, conditions: Conditions) -> Array:
    """Refrigerant mass [kg] that gives the unit its design subcooling, shape of the unit's numbers.

    Parameters
    ----------
    unit : Unit
        With its design point in `unit.start`; the charge in it does not matter.
    conditions : Conditions
        Of the rating.
    """
    fluid, design = refrigerant(unit.refrigerant), unit.start
    shape = nested.common_shape(unit, conditions)
    flat = nested.flattened(_Inputs(unit, conditions, HEALTHY), shape)
    problem = _Problem(flat.unit, surroundings(flat.unit, flat.conditions))
    wanted = nested.flattened(np.asarray(design.subcooling_decay, dtype=float), shape)
    first = first_guess(problem.unit, fluid, problem.given, int(np.prod(shape, dtype=int)))

    def balance(x: Array, part: _Problem, index: newton.Index) -> Array:
        decay = wanted if index is None or wanted.ndim == 0 else wanted[index]
        return balances.residuals_at_subcooling(x, part.unit, fluid, part.given, decay)

    with np.errstate(all="ignore"):
        found = _newton(problem, first, balance).unknowns
        return balances.trial_point(found, problem.unit, fluid, problem.given).charge.reshape(shape)


def charge_at(unit: Unit, conditions: Conditions, unknowns: Array) -> Array:
    """Refrigerant mass [kg] that the circuit holds at given unknowns (3, ...)."""
    given = surroundings(unit, conditions)
    return balances.trial_point(unknowns, unit, refrigerant(unit.refrigerant), given).charge
