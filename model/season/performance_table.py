"""A unit's performance on a regular grid of weather and fouling, read off for whole years at once.

Solving the cycle costs tens of microseconds a point; a year has 8,760 hours and an interval needs a thousand
years. The cycle is solved once on a grid of outdoor temperature × fouling level (× indoor wet bulb, ×
samples of the unit's uncertain parameters), and a year is read off by linear interpolation between the grid's
points.

A unit of several speeds has one table for each: that of the fastest carries the others.

Assumptions: between two grid points every quantity is a straight line (2.5 K and 0.05 level keep that
within a few tenths of a percent of a smooth cycle). Outside the grid the edge is used; a year whose hot hours
leave the grid is refused by `model.season.simulation`, not extrapolated. How the points are found is none of
this module's business: it takes a callable.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, BoolArray, IntArray


@dataclass(frozen=True)
class Performance:
    """Operating points of one unit; every field has the same shape.

    Attributes
    ----------
    total_capacity, sensible_capacity : ndarray
        Cooling capacity net of the blower [W].
    outdoor_power, indoor_power : ndarray
        Electrical power of compressor and outdoor fan, and of the blower, while running [W].
    approach : ndarray
        Condensing temperature over the outdoor air [K].
    trip_margin : ndarray
        What is left to the high-pressure limit, in any unit; below 0 the unit trips.
    """

    total_capacity: Array
    sensible_capacity: Array
    outdoor_power: Array
    indoor_power: Array
    approach: Array
    trip_margin: Array

    @property
    def tripped(self) -> BoolArray:
        """Whether the unit is over its high-pressure limit."""
        return self.trip_margin < 0.0

    @property
    def total_power(self) -> Array:
        """Electrical power of the whole unit while running [W]."""
        return self.outdoor_power + self.indoor_power


QUANTITIES = tuple(field.name for field in fields(Performance))
"""What a table holds, in the order of its last axis."""


@dataclass(frozen=True)
class PerformanceTable:
    """A unit's performance on a regular grid.

    Attributes
    ----------
    outdoor_temperature : ndarray, shape (outdoor,)
        Outdoor dry bulb [K], equal steps, at least two.
    level : ndarray, shape (levels,)
        Level of the fouling [-], equal steps from 0, at least two.
    wet_bulb : ndarray, shape (wet_bulbs,)
        Indoor wet bulb [K], equal steps; one value means that it is held there.
    values : ndarray, shape (samples, wet_bulbs, levels, outdoor, len(QUANTITIES))
        The quantities at the grid's points, SI.
    slower : tuple of PerformanceTable
        The same unit at its lower speeds, slowest first, on the same grid; empty for a single speed.
    """

    outdoor_temperature: Array
    level: Array
    wet_bulb: Array
    values: Array
    slower: tuple[PerformanceTable, ...] = ()

    @property
    def samples(self) -> int:
        """Number of samples of the unit's parameters [-], 1 for a single unit."""
        return int(self.values.shape[0])

    def at(
        self, outdoor_temperature: ArrayLike, level: ArrayLike, wet_bulb: ArrayLike | None = None
    ) -> Performance:
        """Performance between the grid's points, by straight lines; outside the grid its edge.

        Parameters
        ----------
        outdoor_temperature : array_like
            Outdoor dry bulb [K].
        level : array_like
            Of the fouling [-].
        wet_bulb : array_like, optional
            Indoor wet bulb [K]; left out, the middle of the table's range.

            The three broadcast. A table with more than one sample requires the samples along their first
            axis: shape (samples, ...) or (1, ...).

        Returns
        -------
        Performance
            Arrays of the broadcast shape; of shape (samples, ...) for a table with samples.

        Raises
        ------
        ValueError
            Where a table with samples is given another first axis.
        """
        bulb = self.wet_bulb[self.wet_bulb.size // 2] if wet_bulb is None else wet_bulb
        outdoor, fouling, indoor = (np.asarray(v, dtype=float) for v in (outdoor_temperature, level, bulb))
        column, east = _cell(outdoor, self.outdoor_temperature)
        row, north = _cell(fouling, self.level)
        layer, up = _cell(indoor, self.wet_bulb)
        rows, columns = self.level.size, self.outdoor_temperature.size
        flat = self.values.reshape(-1, len(QUANTITIES))
        first = (layer * rows + row) * columns + column
        if self.samples > 1:
            if first.ndim == 0 or first.shape[0] not in (1, self.samples):
                raise ValueError(
                    f"a table of {self.samples} samples requires them along the first axis, "
                    f"got shape {first.shape}"
                )
            sample = np.arange(self.samples).reshape(-1, *([1] * (first.ndim - 1)))
            first = first + sample * (self.wet_bulb.size * rows * columns)
        found = _plane(flat, first, columns, north, east)
        if self.wet_bulb.size > 1:
            above = _plane(flat, first + rows * columns, columns, north, east)
            found += up[..., None] * (above - found)
        return Performance(*np.moveaxis(found, -1, 0))

    def take(self, samples: ArrayLike) -> PerformanceTable:
        """The same table with some of its samples.

        Parameters
        ----------
        samples : array_like of int, shape (n,)
            Which; repeats are allowed.

        Returns
        -------
        PerformanceTable
            Of n samples.
        """
        chosen = np.atleast_1d(np.asarray(samples, dtype=np.int64))
        return self.changed(lambda values: values[chosen])

    def middle(self) -> PerformanceTable:
        """The table of the mean over the samples, with one sample."""
        return self.changed(lambda values: values.mean(axis=0, keepdims=True))

    def changed(self, change: Callable[[Array], Array]) -> PerformanceTable:
        """The same table with other values, at every speed.

        Parameters
        ----------
        change : callable
            From the values of a table to its new ones; only the number of samples may differ.

        Returns
        -------
        PerformanceTable
        """
        slower = tuple(table.changed(change) for table in self.slower)
        return replace(self, values=change(self.values), slower=slower)

    def at_speeds(
        self, outdoor_temperature: ArrayLike, level: ArrayLike, wet_bulb: ArrayLike | None = None
    ) -> tuple[Performance, ...]:
        """As `at`, for every speed, slowest first."""
        tables = (*self.slower, self)
        return tuple(table.at(outdoor_temperature, level, wet_bulb) for table in tables)


def _cell(values: Array, grid: Array) -> tuple[IntArray, Array]:
    """Index of the grid cell that holds each value, and how far in it lies [-], clamped to the grid."""
    if grid.size == 1:
        return np.zeros(values.shape, dtype=np.int64), np.zeros(values.shape)
    place = np.clip((values - grid[0]) * ((grid.size - 1) / (grid[-1] - grid[0])), 0.0, grid.size - 1.0)
    index = np.minimum(place.astype(np.int64), grid.size - 2)
    return index, place - index


def _plane(flat: Array, first: IntArray, columns: int, north: Array, east: Array) -> Array:
    """Bilinear interpolation of rows of `flat`, from the four corners of each cell."""
    shape = np.broadcast_shapes(first.shape, north.shape, east.shape)
    corner = np.broadcast_to(first, shape)
    north, east = np.broadcast_to(north, shape)[..., None], np.broadcast_to(east, shape)[..., None]
    low = flat.take(corner, axis=0)  # a copy, also for a single point
    low += east * (flat.take(corner + 1, axis=0) - low)
    high = flat.take(corner + columns, axis=0)
    high += east * (flat.take(corner + columns + 1, axis=0) - high)
    high -= low
    high *= north
    low += high
    return low


def build_table(
    operating_point: Callable[[Array, Array, Array], Performance],
    outdoor_temperature: ArrayLike,
    level: ArrayLike,
    wet_bulb: ArrayLike,
) -> PerformanceTable:
    """A table filled by solving the unit at every point of a grid.

    Parameters
    ----------
    operating_point : callable
        Called once as ``operating_point(outdoor_temperature, level, wet_bulb)`` with arrays of shapes
        (outdoor,), (levels, 1) and (wet_bulbs, 1, 1); returns a `Performance` whose fields have the shape
        (wet_bulbs, levels, outdoor), or the samples of an uncertain unit as one more leading axis.
    outdoor_temperature, level, wet_bulb : array_like, one axis each
        The grid [K], [-], [K], in equal steps; level from 0.

    Returns
    -------
    PerformanceTable

    Raises
    ------
    ValueError
        Where the grid is not regular, or a point comes back without a finite value.
    """
    outdoor = _regular_grid("outdoor_temperature", outdoor_temperature, 2)
    fouling = _regular_grid("level", level, 2)
    indoor = _regular_grid("wet_bulb", wet_bulb, 1)
    if fouling[0] != 0.0:
        raise ValueError(f"level must start at 0, got {fouling[0]:g}")
    point = operating_point(outdoor, fouling[:, None], indoor[:, None, None])
    grid = (indoor.size, fouling.size, outdoor.size)
    columns = [np.asarray(getattr(point, name), dtype=float) for name in QUANTITIES]
    shape = np.broadcast_shapes((1, *grid), *(column.shape for column in columns))
    if len(shape) != 4 or shape[1:] != grid:
        raise ValueError(f"operating_point must return shape (samples, {grid}), got {shape}")
    values = np.stack([np.broadcast_to(column, shape) for column in columns], axis=-1)
    for name, column in zip(QUANTITIES, np.moveaxis(values, -1, 0), strict=True):
        if not np.all(np.isfinite(column)):
            raise ValueError(f"operating_point returned a {name} that is not finite")
    return PerformanceTable(outdoor, fouling, indoor, np.ascontiguousarray(values))


def _regular_grid(name: str, values: ArrayLike, at_least: int) -> Array:
    """One axis of a table, checked to rise in equal steps."""
    grid = np.atleast_1d(np.asarray(values, dtype=float))
    if grid.ndim != 1 or grid.size < at_least:
        raise ValueError(f"{name} must be one axis of at least {at_least} values, got shape {grid.shape}")
    steps = np.diff(grid)
    if grid.size > 1 and not (steps[0] > 0.0 and np.allclose(steps, steps[0], rtol=1e-6)):
        raise ValueError(f"{name} must rise in equal steps")
    return grid


def trip_temperature(table: PerformanceTable, level: ArrayLike, wet_bulb: float | None = None) -> Array:
    """Outdoor temperature of the high-pressure trip, at full speed.

    Parameters
    ----------
    table : PerformanceTable
        The unit.
    level : array_like, shape () or (samples,)
        Level of the fouling [-].
    wet_bulb : float, optional
        Indoor wet bulb [K].

    Returns
    -------
    ndarray, shape (samples,)
        Outdoor temperature [K]; ``inf`` where the unit still runs at the table's hottest, the coldest of the
        table where it trips even there.
    """
    outdoor = table.outdoor_temperature
    fouling = np.atleast_1d(np.asarray(level, dtype=float))[:, None]
    margin = table.at(outdoor, fouling, wet_bulb).trip_margin
    trips = margin < 0.0
    last = np.maximum(np.argmax(trips, axis=1), 1)
    rows = np.arange(margin.shape[0])
    left, right = margin[rows, last - 1], margin[rows, last]
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(left > right, left / (left - right), 0.0)
    crossing = outdoor[last - 1] + np.clip(share, 0.0, 1.0) * (outdoor[last] - outdoor[last - 1])
    return np.where(trips.any(axis=1), crossing, np.inf)


def approach_at(table: PerformanceTable, level: ArrayLike, outdoor_temperature: ArrayLike) -> Array:
    """Condensing temperature over ambient of a fouled coil.

    Parameters
    ----------
    table : PerformanceTable
        The unit, one sample or many.
    level : array_like
        Level of the fouling [-].
    outdoor_temperature : array_like
        Outdoor dry bulb [K].

    Returns
    -------
    ndarray
        Approach [K], samples first, then the shape of the broadcast inputs.
    """
    return table.at(outdoor_temperature, level).approach
