"""Where a unit reaches its high-pressure limit: at which outdoor temperature, and at how much of a fault.

The second unknown of `model.cycle.balances` tells how far a steady point is from the limit: below zero the
unit runs, at zero its condensing pressure is the limit, above zero it is held there and the number says by
how much its coil is too small. It rises smoothly through zero with the outdoor temperature and with whatever
starves the condenser, so both answers are the root of one rising function. A scan of the whole range, solved
in one call, brackets the first root; the secant through the last two places closes in on it, and where that
would leave the bracket, its middle.

Assumptions: the limit is felt at the liquid port, other gas in the condenser included; the room stays as it
is. Where the limit lies above what the condenser's picture of two phases bears (`NEAR_CRITICAL` of the
critical pressure), that pressure takes its place.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from model.arrays import Array, BoolArray, IndexArray, IntArray
from model.components.unit import Unit
from model.cycle import batch_arrays
from model.cycle.boundary import Conditions, surroundings
from model.cycle.faults import FAULTS, HEALTHY, RANGES, Faults
from model.cycle.operating_point import CONVERGED
from model.cycle.solve import OperatingPoint, solve

COOLEST, HOTTEST = 285.93, 333.15
"""Outdoor temperatures that are searched [K]: 55 degF to 140 degF; no weather is hotter."""
SCANNED = 13
"""Places of the first scan [-]: 4 K apart, over which the function bends little."""
MOST_STEPS, TOLERANCE = 30, 1e-5
"""Most steps of the secant, and the distance from the limit under which they end [-]: 1e-5 is 0.0003 K."""

ENDINGS = ("trips", "never trips", "always trips", "low pressure first", "not converged")
"""How a search ended; `Trip.ending` is the index. Never and always: within the range that was searched. Low
pressure first: at that place the low-pressure switch has stopped the unit already."""


@dataclass(frozen=True)
class Trip:
    """Where a unit reaches its high-pressure limit; every field of the shape of the broadcast inputs.

    Attributes
    ----------
    value : ndarray
        Outdoor temperature [K], or amount of the fault in the unit of its field. Where nothing was found, the
        end of the range from which there is no more to say: the far end where the unit never trips, the near
        one where it always does.
    ending : ndarray of int
        Index of `ENDINGS`: read it before the value.
    point : OperatingPoint
        The unit at that place.
    """

    value: Array
    ending: IntArray
    point: OperatingPoint

    @property
    def found(self) -> BoolArray:
        """Whether the unit trips at `value` and not before."""
        return np.asarray(self.ending == ENDINGS.index("trips"))

    def ending_names(self) -> NDArray[np.str_]:
        """How each search ended, in the words of `ENDINGS`."""
        return np.asarray(np.array(ENDINGS)[self.ending])


def trip_outdoor_temperature(
    unit: Unit,
    conditions: Conditions,
    faults: Faults = HEALTHY,
    between: tuple[float, float] = (COOLEST, HOTTEST),
    *,
    patient: bool = True,
) -> Trip:
    """Outdoor temperature at which a unit reaches its high-pressure limit.

    Parameters
    ----------
    unit : Unit
        May hold arrays; they broadcast with the others.
    conditions : Conditions
        Return air, barometer and speeds; the outdoor temperature is not used.
    faults : Faults
        What is the matter with it.
    between : (float, float)
        Lowest and highest temperature searched [K].
    patient : bool
        As for `model.cycle.solve.solve`; of many draws, those without a solution are better left at once.

    Returns
    -------
    Trip
        `value` in K.

    Raises
    ------
    ValueError
        Where the range does not rise, or an input is out of its own.
    """
    if not between[0] < between[1]:
        raise ValueError(f"between must rise, got {between[0]:g} to {between[1]:g}")
    anywhere = replace(conditions, outdoor_temperature=between[0])

    def place(temperature: Array) -> tuple[Conditions, Faults]:
        return replace(conditions, outdoor_temperature=temperature), faults

    shape = batch_arrays.common_shape(unit, anywhere, faults)
    return _trip(unit, place, shape, (float(between[0]), float(between[1])), patient)


def trip_level(
    unit: Unit,
    conditions: Conditions,
    field: str = "condenser_blocked",
    base: Faults = HEALTHY,
    largest: float | None = None,
) -> Trip:
    """How much of one fault brings a unit to its high-pressure limit on a given day.

    Parameters
    ----------
    unit : Unit
        May hold arrays; they broadcast with the others.
    conditions : Conditions
        The day.
    field : str
        Field of `model.cycle.faults.Faults` that grows from 0.
    base : Faults
        What else is the matter; its own `field` is not used.
    largest : float, optional
        Where the search ends, in the field's unit; below 0 for a charge that shrinks. Left out, the field's
        largest value in `FAULTS`, or the end of its range.

    Returns
    -------
    Trip
        `value` in the unit of the field.

    Raises
    ------
    ValueError
        Where there is no such field, or `largest` is 0 or out of its range.
    """
    if field not in RANGES:
        raise ValueError(f"field must be one of {', '.join(RANGES)}, got {field!r}")
    end = largest_level(field) if largest is None else float(largest)
    low, high = RANGES[field]
    if end == 0.0 or not low <= end <= high:
        raise ValueError(f"largest must lie in [{low:g}, {high:g}] and not be 0, got {end:g}")

    def place(amount: Array) -> tuple[Conditions, Faults]:
        return conditions, replace(base, **{field: amount})

    shape = batch_arrays.common_shape(unit, conditions, replace(base, **{field: 0.0}))
    return _trip(unit, place, shape, (0.0, end))


def largest_level(field: str) -> float:
    """The largest amount of a fault, in the unit of its field; of a charge, too much of it.

    Parameters
    ----------
    field : str
        Field of `model.cycle.faults.Faults`.

    Returns
    -------
    float
        From `FAULTS`; where the field is none of them, the end of its range.
    """
    largest = [fault.largest for fault in FAULTS if fault.field == field]
    return max(largest, default=RANGES[field][1])


_Place = Callable[[Array], tuple[Conditions, Faults]]
"""Conditions and faults at values of what is searched."""


class _Bracket(NamedTuple):
    """Two ends around the first root, and the unknowns there, the second of which is the function."""

    low: Array
    high: Array
    below: Array
    above: Array
    ending: IntArray


def _trip(
    unit: Unit, place: _Place, shape: tuple[int, ...], between: tuple[float, float], patient: bool = True
) -> Trip:
    bracket = _scanned(unit, place, shape, between, patient)
    value, point = _root(unit, place, bracket, patient)
    conditions, faults = place(value)
    lowest = surroundings(unit, conditions, faults).log_low_pressure
    found = bracket.ending == ENDINGS.index("trips")
    ending = np.where(
        found & (point.unknowns[0] < lowest), ENDINGS.index("low pressure first"), bracket.ending
    )
    failed = found & ~(point.residual < CONVERGED)
    return Trip(value, np.where(failed, ENDINGS.index("not converged"), ending), point)


def _scanned(
    unit: Unit, place: _Place, shape: tuple[int, ...], between: tuple[float, float], patient: bool
) -> _Bracket:
    """The first step of a regular scan on which the unit comes to its limit."""
    values = np.linspace(*between, SCANNED)
    point = solve(unit, *place(values.reshape(-1, *(1,) * len(shape))), patient=patient)
    over = np.broadcast_to(point.unknowns[1], (SCANNED, *shape))
    solved = np.broadcast_to(point.residual < CONVERGED, over.shape)
    crossing = (over[:-1] < 0.0) & (over[1:] >= 0.0) & solved[:-1] & solved[1:]
    first = crossing.argmax(axis=0)
    ending = np.select(
        [crossing.any(axis=0), ~solved.all(axis=0), over[0] >= 0.0],
        [ENDINGS.index("trips"), ENDINGS.index("not converged"), ENDINGS.index("always trips")],
        ENDINGS.index("never trips"),
    )
    # Where there is no crossing, both ends are the one that is told.
    trips = ending == ENDINGS.index("trips")
    first = np.where(trips, first, np.where(ending == ENDINGS.index("never trips"), SCANNED - 1, 0))
    last = np.where(trips, first + 1, first)

    def at(index: IndexArray, columns: Array) -> Array:
        return np.asarray(np.take_along_axis(columns, index[None], axis=0)[0])

    below, above = (
        np.array([at(index, np.broadcast_to(each, over.shape)) for each in point.unknowns])
        for index in (first, last)
    )
    return _Bracket(values[first], values[last], below, above, ending)


def _root(unit: Unit, place: _Place, bracket: _Bracket, patient: bool) -> tuple[Array, OperatingPoint]:
    """Place between the ends of a bracket at which the unit is at its limit, and the unit there."""
    low, high, under, over, ending = bracket
    searched = ending == ENDINGS.index("trips")
    value = low + _ratio(under[1], under[1] - over[1]) * (high - low)
    last, before = low, under[1]
    for _ in range(MOST_STEPS):
        # On the straight line between the ends the solver starts close to the point.
        start = under + _ratio(value - low, high - low) * (over - under)
        point = solve(unit, *place(value), start, patient=patient)
        here = point.unknowns[1]
        if not np.any(searched & (np.abs(here) > TOLERANCE)):
            break
        is_under = here < 0.0
        low, high = np.where(is_under, value, low), np.where(is_under, high, value)
        under, over = np.where(is_under, point.unknowns, under), np.where(is_under, over, point.unknowns)
        secant = value - here * _ratio(value - last, here - before)
        is_between = (secant - low) * (high - secant) >= 0.0
        last, before = value, here
        value = np.where(is_between, secant, 0.5 * (low + high))
    return np.asarray(value), point


def _ratio(part: Array, whole: Array) -> Array:
    """Part over whole, 0 where there is no whole."""
    return np.divide(part, whole, out=np.zeros(np.shape(part)), where=np.asarray(whole) != 0.0)
