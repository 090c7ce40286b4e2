"""The steady operating point of a unit at any weather and with any faults, for whole arrays at once.

The three balances of `model.cycle.balances` are solved by `model.cycle.batch_newton`, from a start that
follows the weather. The few points that stall are led there from an easy day in small steps. A point whose
steady state would lie beyond the high- or low-pressure limit does not exist in the field: the switch opens on
the way there. Such a point is held at the limit and named. Other limit states (flooded suction, flash gas, a
freezing coil, hot discharge) are real operating points and only named.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array
from model.components.unit import Unit
from model.cycle import balances, batch_arrays, batch_newton
from model.cycle.boundary import Conditions, Surroundings, surroundings
from model.cycle.faults import HEALTHY, Faults
from model.cycle.first_guess import first_guess
from model.cycle.operating_point import STATE_CODES, STATES, OperatingPoint, operating_point
from model.properties.refrigerant import Refrigerant, refrigerant

__all__ = ["STATES", "STATE_CODES", "OperatingPoint", "charge_at", "design_charge", "solve"]


TOLERANCE = 1e-9
"""Largest relative imbalance of a converged point [-]."""
LONGEST_STEP = np.array([[0.15], [0.5], [0.4]])
"""Longest step of each unknown."""
POINTS_AT_A_TIME = 4096
"""Points solved together: enough to hide the cost of a call, few enough to stay in the processor's cache."""
EASY_DAY = Conditions(300.0, 299.8, 0.0112)
"""Where the way to a point that stalled begins."""
STAGES = (4, 24, 120)
"""Numbers of steps of that way; the next is tried with the points that the last one brought some way."""
MOST_STEPS, MOST_STEPS_ON_THE_WAY = 60, 25
"""Newton's steps at a point, and at one on that way: there the next place is close by."""
MOST_MISSES = 6
"""A point without a solution on so many steps of it in a row is given up."""


def solve(
    unit: Unit,
    conditions: Conditions,
    faults: Faults = HEALTHY,
    start: ArrayLike | None = None,
    *,
    patient: bool = True,
) -> OperatingPoint:
    """Operating points of a unit.

    Parameters
    ----------
    unit : Unit
        May hold arrays; they broadcast with the conditions.
    conditions : Conditions
    faults : Faults
    start : array (3, ...), optional
        Unknowns to start from, e.g. those of a neighbouring point; from the unit's design point if not given.
    patient : bool
        Whether the few points that stall are led to their solution in many small steps, which takes seconds
        where there is none; otherwise they are named "not converged" at once.

    Returns
    -------
    OperatingPoint
        Every point either converged (residual under 1e-6), held at a pressure limit and named, or named "not
        converged".

    Raises
    ------
    ValueError
        Where an input is out of its range; see `surroundings` and `Faults`.
    """
    values = solved_fields(
        _COOLING, (unit, conditions, faults), refrigerant(unit.refrigerant), start, patient
    )
    return OperatingPoint(**values)


class Mode(NamedTuple):
    """How a machine runs: what it is given, where its solver begins, what is reported.

    machine: the parts at work and their surroundings, from the machine, its conditions and faults; guess:
    unknowns (3, n) to start from, from unit, fluid, surroundings and n; point: fields of the solved points;
    easy_day: conditions where the way to a point that stalled begins; last_starts: where points that find no
    way begin once more, as the evaporator's dew point below its air [K] and the other two unknowns.
    """

    machine: Callable[[Any, Any, Faults], tuple[Unit, Surroundings]]
    guess: Callable[[Unit, Refrigerant, Surroundings, int], Array]
    point: Callable[[balances.Trial, Array, Unit, Refrigerant, Surroundings], dict[str, Array]]
    easy_day: Any
    last_starts: tuple[tuple[float, float, float], ...] = ()


_COOLING = Mode(
    lambda unit, conditions, faults: (unit, surroundings(unit, conditions, faults)),
    first_guess,
    operating_point,
    EASY_DAY,
)


def solved_fields(
    mode: Mode, asked: tuple[Any, Any, Faults], fluid: Refrigerant, start: ArrayLike | None, patient: bool
) -> dict[str, Any]:
    """Fields of the operating points of a machine in one mode, by name.

    Parameters
    ----------
    mode : Mode
        How it runs.
    asked : tuple
        Machine, conditions and faults, nests of arrays that broadcast.
    fluid : Refrigerant
        Its refrigerant.
    start : array (3, ...) or None
        Unknowns to start from.
    patient : bool
        As for `solve`.

    Returns
    -------
    dict of str to ndarray
        Of the common shape.
    """
    inputs = _Inputs(*asked)
    shape = batch_arrays.common_shape(*inputs)
    inputs = batch_arrays.flattened(inputs, shape)
    begin = None if start is None else _stretched(start, shape)
    count = int(np.prod(shape, dtype=int))
    pieces = _pieces(count)
    whole: dict[str, Any] = {}
    with np.errstate(all="ignore"):  # a wild trial point may overflow; it is then simply not accepted
        for piece in pieces:
            part = batch_arrays.chosen(inputs, piece) if len(pieces) > 1 else inputs
            first = None if begin is None else begin[:, piece]
            values = _solved(mode, part, fluid, (first, piece.stop - piece.start), patient)
            if len(pieces) == 1:
                whole = values
            for name, value in values.items() if len(pieces) > 1 else ():
                if name not in whole:
                    whole[name] = np.empty((*value.shape[:-1], count), dtype=value.dtype)
                whole[name][..., piece] = value
    return {name: value.reshape(value.shape[:-1] + shape) for name, value in whole.items()}


class _Inputs(NamedTuple):
    unit: Any
    conditions: Any
    faults: Faults


class _Problem(NamedTuple):
    """Points to solve, flat: unit, what is given, a wanted subcooling in place of the charge or None."""

    unit: Unit
    given: Surroundings
    subcooling_decay: Array | None


def _stretched(start: ArrayLike, shape: tuple[int, ...]) -> Array:
    values = np.asarray(start, dtype=float)
    values = values.reshape(3, *(1,) * (len(shape) - values.ndim + 1), *values.shape[1:])
    return np.broadcast_to(values, (3, *shape)).reshape(3, -1)


def _pieces(count: int) -> list[slice]:
    size = POINTS_AT_A_TIME
    return [slice(begin, min(begin + size, count)) for begin in range(0, max(count, 1), size)]


def _solved(
    mode: Mode, inputs: _Inputs, fluid: Refrigerant, begin: tuple[Array | None, int], patient: bool
) -> dict[str, Array]:
    """Fields of the operating points of one piece, by name; `begin` is where from, and how many."""
    unit, given = mode.machine(*inputs)
    problem = _Problem(unit, given, None)
    start, count = begin
    first = mode.guess(unit, fluid, given, count) if start is None else start
    solver = _Solver(problem, fluid)
    result = solver.solve(first)
    unknowns = result.unknowns
    stalled = np.flatnonzero(~result.converged)
    if stalled.size and patient:
        hard = batch_arrays.chosen(_Way(inputs, problem), stalled)
        unknowns[:, stalled] = _begun_anew(mode, hard, fluid, _led_there(mode, hard, fluid, stalled.size))
    return mode.point(solver.point_at(unknowns), unknowns, unit, fluid, given)


class _Way(NamedTuple):
    """Points that stalled: what was asked for, and the problem that it makes."""

    inputs: _Inputs
    problem: _Problem


class _Solver:
    """Newton's method on a problem; remembers the last trial point, of few points the solution's."""

    def __init__(self, problem: _Problem, fluid: Refrigerant) -> None:
        self._problem, self._fluid = problem, fluid
        self._part: tuple[batch_newton.Index, _Problem] = (None, problem)
        self._last: tuple[Array, balances.Trial] | None = None

    def solve(self, start: Array, most_steps: int = MOST_STEPS) -> batch_newton.Solution:
        """Roots of the balances from a start (3, n)."""
        walls = np.zeros(start.shape)
        walls[0] = self._problem.given.log_low_pressure
        box = batch_newton.Box(balances.LOWEST, balances.HIGHEST, LONGEST_STEP, walls)
        return batch_newton.solve(self._system, start, box, TOLERANCE, most_steps=most_steps)

    def _system(self, x: Array, index: batch_newton.Index) -> Array:
        if index is not self._part[0]:
            self._part = (
                index,
                self._problem if index is None else batch_arrays.chosen(self._problem, index),
            )
        unit, given, decay = self._part[1]
        point = balances.trial_point(x, unit, self._fluid, given)
        self._last = (x, point)
        return balances.residuals(point, unit, given, decay)

    def point_at(self, unknowns: Array) -> balances.Trial:
        """Trial point at solved unknowns (3, n)."""
        if self._last is not None and np.array_equal(self._last[0][:, 0], unknowns):
            return batch_arrays.first_row(self._last[1])
        return balances.trial_point(unknowns, self._problem.unit, self._fluid, self._problem.given)


def _led_there(mode: Mode, hard: _Way, fluid: Refrigerant, count: int) -> Array:
    """Unknowns of points that stalled, found on the way from an easy day.

    Smaller steps go on from where larger ones last found a solution. A point that has none anywhere on the
    first way, not even on the easy day, is of no unit that could run: smaller steps are not tried.
    """
    _, easy = mode.machine(hard.inputs.unit, mode.easy_day, HEALTHY)
    road = _Road(easy, hard.problem)
    unknowns = mode.guess(hard.problem.unit, fluid, easy, count)
    solved = _Solved(unknowns.copy(), np.full(count, -1.0))
    left = np.arange(count)
    for stages in STAGES:
        part = _Solved(solved.unknowns[:, left], solved.reached[left])
        unknowns[:, left], part = _walked(batch_arrays.chosen(road, left), fluid, part, stages)
        solved.unknowns[:, left], solved.reached[left] = part
        left = np.flatnonzero((solved.reached >= 0.0) & (solved.reached < 1.0))
        if left.size == 0:
            break
    return unknowns


def _begun_anew(mode: Mode, hard: _Way, fluid: Refrigerant, unknowns: Array) -> Array:
    """Unknowns of the same points, those without a solution begun anew from the last starts.

    A point that has none ends at a bound that says why: see `model.cycle.operating_point.state_codes`.
    """
    air = hard.problem.given.evaporator_air.temperature
    for below, *others in mode.last_starts:
        there = _Solver(hard.problem, fluid).solve(unknowns, 1)
        left = np.flatnonzero(~there.converged & ~balances.at_a_bound(unknowns))
        if left.size == 0:
            break
        start = np.empty((3, left.size))
        start[0] = np.log(fluid.dew_pressure(np.broadcast_to(air, unknowns.shape[1:])[left] - below))
        start[1:] = np.array(others)[:, None]
        found = _Solver(batch_arrays.chosen(hard.problem, left), fluid).solve(start)
        better = found.converged | balances.at_a_bound(found.unknowns)
        unknowns[:, left[better]] = found.unknowns[:, better]
    return unknowns


class _Road(NamedTuple):
    """The way to points that stalled: an easy day, and the problem at the end."""

    easy: Surroundings
    end: _Problem


class _Solved(NamedTuple):
    """Last solutions on the way, unknowns (3, n), and the share of the way at which they are (n,)."""

    unknowns: Array
    reached: Array


def _walked(road: _Road, fluid: Refrigerant, solved: _Solved, stages: int) -> tuple[Array, _Solved]:
    """Unknowns at the end of a walk whose steps are this part of the way, and the last solutions on it.

    A point that is not solved `MOST_MISSES` times in a row has lost its way and stays where it is.
    """
    x, (last, reached) = solved.unknowns.copy(), solved
    begin = np.maximum(reached, -1.0 / stages)  # the easy day itself is the first place to be solved
    misses, going = np.zeros(reached.size, dtype=int), np.arange(reached.size)
    for step in range(1, stages + 2):
        share = np.minimum(begin + step / stages, 1.0)
        between = _Problem(road.end.unit, _between(road.easy, road.end.given, share), None)
        patience = MOST_STEPS if np.any(share[going] == 1.0) else MOST_STEPS_ON_THE_WAY
        result = _Solver(batch_arrays.chosen(between, going), fluid).solve(x[:, going], patience)
        x[:, going] = result.unknowns
        there = going[result.converged]
        last[:, there], reached[there] = x[:, there], share[there]
        misses[going] = np.where(result.converged, 0, misses[going] + 1)
        going = going[(misses[going] < MOST_MISSES) & (share[going] < 1.0)]
        if going.size == 0:
            break
    return x, _Solved(last, reached)


def _between(first: Any, second: Any, share: Array) -> Any:
    """Numbers on the straight way from one nest of named tuples to another."""
    if isinstance(first, tuple):
        items = [_between(a, b, share) for a, b in zip(first, second, strict=True)]
        return type(first)(*items) if hasattr(first, "_fields") else tuple(items)
    return first + share * (second - first)


def design_charge(unit: Unit, conditions: Conditions) -> Array:
    """Refrigerant mass that gives the unit its design subcooling.

    Parameters
    ----------
    unit : Unit
        With its design point in `unit.start`; the charge in it does not matter.
    conditions : Conditions
        Of the rating.

    Returns
    -------
    ndarray
        Mass [kg], shape of the unit's numbers.
    """
    return charge_for_subcooling(_COOLING, unit, conditions, refrigerant(unit.refrigerant))


def charge_for_subcooling(mode: Mode, machine: Any, conditions: Any, fluid: Refrigerant) -> Array:
    """Refrigerant mass that gives a machine its design subcooling in one mode.

    Parameters
    ----------
    mode : Mode
        How it runs.
    machine : nest of dataclasses
        What `mode.machine` takes.
    conditions : dataclass
        Likewise.
    fluid : Refrigerant
        Its refrigerant.

    Returns
    -------
    ndarray
        Mass [kg], shape of the machine's numbers.
    """
    shape = batch_arrays.common_shape(machine, conditions)
    flat = batch_arrays.flattened(_Inputs(machine, conditions, HEALTHY), shape)
    unit, given = mode.machine(*flat)
    solver = _Solver(_Problem(unit, given, np.asarray(unit.start.subcooling_decay)), fluid)
    with np.errstate(all="ignore"):
        found = solver.solve(mode.guess(unit, fluid, given, int(np.prod(shape, dtype=int)))).unknowns
        return solver.point_at(found).charge.reshape(shape)


def charge_at(unit: Unit, conditions: Conditions, unknowns: Array) -> Array:
    """Refrigerant mass that the circuit holds at given unknowns.

    Parameters
    ----------
    unit : Unit
        What the unit is.
    conditions : Conditions
        Weather, return air and speeds.
    unknowns : ndarray, shape (3, ...)
        Unknowns of `model.cycle.balances`.

    Returns
    -------
    ndarray
        Mass [kg], of the further shape of the unknowns.
    """
    given = surroundings(unit, conditions)
    return balances.trial_point(unknowns, unit, refrigerant(unit.refrigerant), given).charge
