"""A unit's performance table from the cycle: the cycle solved on a grid of weather and fouling.

The room is held at one dry bulb; its wet bulb is an axis of the table. The fouling is one field of
`model.cycle.faults.Faults`, in that field's own unit, on top of whatever else is the matter with the unit.

Assumptions: the barometer stays where it is. Past the high-pressure limit the cycle is held at the limit; how
far a point lies past it is carried on along the outdoor temperature from the last two points below, so that
the temperature of the trip falls between grid points. A few points that did not converge take the straight
line between their neighbours in outdoor temperature; more than `MOST_BRIDGED` of them is an error.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, BoolArray
from model.components.unit import Unit
from model.cycle.boundary import Conditions
from model.cycle.faults import HEALTHY, RANGES, Faults
from model.cycle.solve import STATE_CODES, OperatingPoint, solve
from model.properties import moist_air
from model.season.performance_table import Performance, PerformanceTable, build_table

OUTDOOR_GRID: Array = np.arange(285.0, 325.1, 2.5)
"""Outdoor temperatures of a table [K]: 12 to 52 degC."""
LEVEL_POINTS = 17
"""Levels of a table [-]."""
LARGEST_LEVELS = {"condenser_blocked": 0.8, "condenser_dust": 6.0, "evaporator_dust": 6.0}
"""Level at which a table of fouling ends by default [-]; elsewhere at 0.6."""
MOST_BRIDGED = 0.02
"""Share of points that may fail to converge [-]."""
SMALLEST_MARGIN = 1.0
"""Pressure that separates running from tripped where the cycle says only which [Pa]."""


def default_levels(field: str) -> Array:
    """Levels of a table of a fault's field.

    Parameters
    ----------
    field : str
        Field of `model.cycle.faults.Faults`.

    Returns
    -------
    ndarray, shape (17,)
        Evenly from 0 to the largest that a table holds, in the field's unit.

    Raises
    ------
    ValueError
        Where there is no such field.
    """
    _require_field(field)
    return np.linspace(0.0, LARGEST_LEVELS.get(field, 0.6), LEVEL_POINTS)


def _require_field(field: str) -> None:
    """Raise for a field that is no fouling growing from 0."""
    if field not in RANGES or RANGES[field][0] != 0.0:
        names = ", ".join(name for name, (low, _) in RANGES.items() if low == 0.0)
        raise ValueError(f"field must be one of {names}, got {field!r}")


def cycle_table(
    unit: Unit,
    room: Conditions,
    field: str = "condenser_blocked",
    *,
    level: ArrayLike | None = None,
    outdoor_temperature: ArrayLike = OUTDOOR_GRID,
    wet_bulb: ArrayLike | None = None,
    base: Faults = HEALTHY,
) -> PerformanceTable:
    """The unit's performance table.

    Parameters
    ----------
    unit : Unit
        Numbers, or arrays of shape (samples, 1, 1, 1) for a family drawn from the baseline's uncertainty.
    room : Conditions
        Return air, barometer and speeds; its outdoor temperature is not used. Numbers only.
    field : str
        The field of `Faults` that grows.
    level : array_like, shape (levels,), optional
        In equal steps from 0, in the field's unit; left out, `default_levels`.
    outdoor_temperature : array_like, shape (outdoor,)
        In equal steps [K].
    wet_bulb : array_like, shape (wet_bulbs,), optional
        Indoor wet bulbs in equal steps [K]; left out, that of `room`.
    base : Faults
        What else is the matter.

    Returns
    -------
    PerformanceTable
        Capacities net of the blower.

    Raises
    ------
    ValueError
        Where a grid is not regular, the field unknown, or too many points do not converge.
    """
    _require_field(field)
    levels = default_levels(field) if level is None else np.asarray(level, dtype=float)
    dry = np.asarray(room.return_temperature, dtype=float)
    if wet_bulb is None:
        wet_bulb = moist_air.wet_bulb(dry, room.return_humidity_ratio, room.ambient_pressure)

    def operating_point(outdoor: Array, fouling: Array, indoor: Array) -> Performance:
        moisture = moist_air.humidity_ratio_from_wet_bulb(dry, indoor, room.ambient_pressure)
        conditions = replace(room, outdoor_temperature=outdoor, return_humidity_ratio=moisture)
        return _point_of(unit, solve(unit, conditions, replace(base, **{field: fouling})), outdoor)

    return build_table(operating_point, outdoor_temperature, levels, np.atleast_1d(np.asarray(wet_bulb)))


def table_of_speeds(unit: Unit, rooms: Sequence[Conditions], **grid: Any) -> PerformanceTable:
    """The unit's performance table at each of its speeds.

    Parameters
    ----------
    unit : Unit
        As for `cycle_table`.
    rooms : sequence of Conditions
        Return air, barometer, and the speeds of compressor and fans, slowest first.
    **grid
        Further arguments of `cycle_table`.

    Returns
    -------
    PerformanceTable
        Of the fastest, the others in `PerformanceTable.slower`.

    Raises
    ------
    ValueError
        As `cycle_table`, or where no speed is given.
    """
    if not rooms:
        raise ValueError("rooms must hold one speed at least, got none")
    *slower, fastest = (cycle_table(unit, room, **grid) for room in rooms)
    return replace(fastest, slower=tuple(slower))


def _point_of(unit: Unit, point: OperatingPoint, outdoor: Array) -> Performance:
    """Operating points of the grid as `build_table` needs them, points that did not converge bridged."""
    failed = point.state >= STATE_CODES["device overfeeds"]
    tripped = (point.state == STATE_CODES["high-pressure trip"]) | (
        point.state == STATE_CODES["near-critical condensing"]
    )
    # In hotter weather than that in which it trips the unit is off: nothing has to be solved there.
    beyond = failed & np.logical_or.accumulate(tripped, axis=-1)
    missing, tripped = float((failed & ~beyond).mean()), tripped | beyond
    if missing > MOST_BRIDGED:
        raise ValueError(f"{missing:.1%} of the table's points did not converge, {MOST_BRIDGED:.0%} may")
    margin = np.asarray(unit.high_pressure_limit) - point.liquid_pressure
    return Performance(
        total_capacity=_bridged(point.net_capacity, failed, outdoor),
        sensible_capacity=_bridged(point.sensible_capacity, failed, outdoor),
        outdoor_power=_bridged(point.outdoor_power, failed, outdoor),
        indoor_power=_bridged(point.blower_power, failed, outdoor),
        approach=_bridged(point.condensing_temperature - outdoor, failed, outdoor),
        trip_margin=_carried_on(_bridged(margin, failed, outdoor), tripped),
    )


def _bridged(values: Array, failed: BoolArray, outdoor: Array) -> Array:
    """Values with those that failed on the straight line between their neighbours in outdoor temperature."""
    if not failed.any():
        return values
    whole = values.reshape(-1, outdoor.size).copy()
    for row, bad in zip(whole, failed.reshape(-1, outdoor.size), strict=True):
        if bad.all():
            raise ValueError("a whole line of the table did not converge")
        row[bad] = np.interp(outdoor[bad], outdoor[~bad], row[~bad])
    return whole.reshape(values.shape)


def _carried_on(margin: Array, tripped: BoolArray) -> Array:
    """Margin to the limit [Pa], negative where the unit trips, falling on along the outdoor temperature."""
    carried = np.where(tripped, margin, np.maximum(margin, SMALLEST_MARGIN))
    for place in range(carried.shape[-1]):
        if place < 2:
            onward = np.full(carried.shape[:-1], -SMALLEST_MARGIN)
        else:
            onward = 2.0 * carried[..., place - 1] - carried[..., place - 2]
        held = tripped[..., place]
        carried[..., place] = np.where(held, np.minimum(onward, -SMALLEST_MARGIN), carried[..., place])
    return carried
