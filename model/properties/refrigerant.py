"""Thermodynamic properties of the working fluid, fast on whole arrays.

All properties come from piecewise-cubic tables that `model.properties.refrigerant_tables` builds from
CoolProp once and `model.properties.property_cache` keeps; reading them needs NumPy alone. Bubble and dew
lines are kept apart for blends: superheat counts from the dew point, subcooling from the bubble point, both
at the pressure in hand.

Assumptions: the composition of a blend stays as charged; liquid off the bubble line follows from the
saturated liquid of the same temperature and a linear term in pressure. Left of the dew line the functions of
entropy and enthalpy go on as in the two-phase region, dh = T_dew ds (exact for a pure fluid; for a blend the
glide is left out). Beyond the pressures and superheats of the tables all functions go on in a straight line
of the table's own coordinate (constant from a tenth above the critical pressure): finite numbers for a solver
that passes through, not properties.

Sources: see `model.properties.refrigerant_tables`. Enthalpy and entropy have CoolProp's zero; use differences
only.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, IndexArray
from model.properties import property_cache, refrigerant_tables
from model.properties.refrigerant_tables import FLUIDS, HIGHEST_SUPERHEAT, SUPERHEAT_NODES, SUPERHEAT_SHIFT

KNOWN_REFRIGERANTS: tuple[str, ...] = tuple(FLUIDS)

POINTS_AT_A_TIME = 2048
"""Longer arrays are evaluated in blocks of this many points, which stay in the processor's cache."""
HIGHEST_REDUCED_PRESSURE = 1.1
"""Pressures above this multiple of the critical pressure count as this multiple of it [-]."""
LOWEST_TEMPERATURE = 150.0
"""Temperatures below this count as this in the functions of temperature [K]."""
HIGHEST_REDUCED_TEMPERATURE = 1.1
"""Temperatures above this multiple of the critical temperature count as this multiple of it [-]."""

ZERO, ONE = np.array(0.0), np.array(1.0)
SUPERHEAT_SHIFT_ARRAY = np.array(SUPERHEAT_SHIFT)
SUPERHEAT_CELLS = np.array(refrigerant_tables.Y_CELLS)
LAST_PRESSURE_CELL = np.array(refrigerant_tables.P_CELLS - 1.0)
LAST_SUPERHEAT_CELL = np.array(refrigerant_tables.Y_CELLS - 1.0)
LAST_TEMPERATURE_CELL = np.array(refrigerant_tables.T_CELLS - 1.0)


@dataclass(frozen=True, slots=True)
class Saturation:
    """Saturated liquid and vapour at the same pressure; every field has the shape of the pressure.

    Temperatures in K, pressure in Pa, enthalpies in J/kg, entropies and heat capacities (at constant
    pressure) in J/(kg K), densities in kg/m3.
    """

    pressure: Array
    bubble_temperature: Array
    dew_temperature: Array
    liquid_enthalpy: Array
    vapour_enthalpy: Array
    liquid_density: Array
    vapour_density: Array
    liquid_entropy: Array
    vapour_entropy: Array
    liquid_heat_capacity: Array
    vapour_heat_capacity: Array


@dataclass(frozen=True, slots=True)
class Vapour:
    """Superheated vapour: temperature [K], enthalpy [J/kg], density [kg/m3], entropy [J/(kg K)]."""

    temperature: Array
    enthalpy: Array
    density: Array
    entropy: Array


@cache
def refrigerant(name: str) -> Refrigerant:
    """Properties of one refrigerant, from its kept tables or, where there are none, from CoolProp.

    Parameters
    ----------
    name : str
        One of `KNOWN_REFRIGERANTS`; capitals, blanks and hyphens do not matter ("r-410a").

    Returns
    -------
    Refrigerant
        The same object for the same name.

    Raises
    ------
    ValueError
        If the refrigerant is not known.

    References
    ----------
    CoolProp, through the tables of `model.properties.refrigerant_tables`.
    """
    known = canonical_name(name)
    if known != name:
        return refrigerant(known)
    file = property_cache.file_of(known, refrigerant_tables.GRID_VERSION)
    tables = property_cache.load(file, refrigerant_tables.SHAPES)
    if tables is None:
        tables = refrigerant_tables.build(known)
        property_cache.store(file, tables)
    return Refrigerant(known, tables)


def canonical_name(name: str) -> str:
    """Name of a known refrigerant as written in `KNOWN_REFRIGERANTS`.

    Parameters
    ----------
    name : str
        Name in any mixture of capitals, blanks and hyphens.

    Returns
    -------
    str
        One of `KNOWN_REFRIGERANTS`.

    Raises
    ------
    ValueError
        If the refrigerant is not known.

    References
    ----------
    Designations of ANSI/ASHRAE Standard 34 (from memory).
    """
    plain = name.replace("-", "").replace(" ", "").upper()
    for known in KNOWN_REFRIGERANTS:
        if known.upper() == plain:
            return known
    raise ValueError(f"refrigerant must be one of {', '.join(KNOWN_REFRIGERANTS)}, got {name!r}")


class Refrigerant:
    """Property functions of one refrigerant; make it with `refrigerant(name)`.

    Attributes
    ----------
    name : str
    safety_class : str
        After ASHRAE Standard 34: "A1" (no flame propagation), "A2L" (lower flammability), "A3" (flammable).
    molar_mass : float
        [kg/mol]
    critical_temperature, critical_pressure : float
        [K], [Pa]
    minimum_pressure, maximum_pressure : float
        Ends of the tables [Pa], bubble point 220 K and dew point 0.99 of the critical temperature.
    """

    def __init__(self, name: str, tables: dict[str, Array]) -> None:
        constants = [float(value) for value in tables["constants"]]
        self.name = name
        self.safety_class = FLUIDS[name].safety_class
        self.molar_mass, self.critical_temperature, self.critical_pressure = constants[:3]
        self.minimum_pressure, self.maximum_pressure = constants[3:5]
        self._tables = tables
        self._set_axes(*constants[5:])
        sat, liquid = tables["saturation"], tables["by_temperature"]
        self._bubble_temperature, self._dew_temperature = _rows(sat, 0), _rows(sat, 1)
        self._dew_enthalpy, self._dew_entropy = _rows(sat, 3), _rows(sat, 7)
        self._bubble_pressure, self._dew_pressure = _rows(liquid, 0), _rows(liquid, 1)
        self._liquid_density, self._liquid_enthalpy = _rows(liquid, 2), _rows(liquid, 0, 3, 4, 5)
        self._liquid, self._enthalpies = _rows(liquid, 2, 0, 3, 4, 5), _rows(sat, 2, 3)

    def _set_axes(
        self,
        top: float,
        first_root: float,
        root_step: float,
        first_inverse: float,
        inverse_step: float,
        entropy_step: float,
        enthalpy_step: float,
    ) -> None:
        """Constants of the axes; arrays without dimension, which NumPy combines faster than Python's numbers.

        Every axis counts cells from 0 for the one before the first node, hence the ones that are added.
        """
        self._highest = np.array(HIGHEST_REDUCED_PRESSURE * self.critical_pressure)
        self._log_top = np.array(np.log(top))
        self._root_scale = np.array(1 / root_step**2)
        self._root_offset = np.array(1 - first_root / root_step)
        self._warmest = np.array(HIGHEST_REDUCED_TEMPERATURE * self.critical_temperature)
        self._coldest = np.array(LOWEST_TEMPERATURE)
        self._inverse_scale = np.array(1 / inverse_step)
        self._inverse_offset = np.array(1 - first_inverse / inverse_step)
        self._per_entropy, self._per_enthalpy = np.array(1 / entropy_step), np.array(1 / enthalpy_step)
        root = np.sqrt(SUPERHEAT_SHIFT)
        step = (np.sqrt(HIGHEST_SUPERHEAT + SUPERHEAT_SHIFT) - root) / (SUPERHEAT_NODES - 1)
        self._superheat_scale = np.array(1 / step**2)
        self._superheat_offset = np.array(1 - root / step)

    def __repr__(self) -> str:
        return f"refrigerant({self.name!r})"

    def saturation(self, pressure: ArrayLike) -> Saturation:
        """Saturated liquid and vapour at a pressure, all properties in one go.

        Parameters
        ----------
        pressure : array_like, any shape
            Absolute pressure [Pa], > 0; the tables reach from `minimum_pressure` to `maximum_pressure`.

        Returns
        -------
        Saturation
            Fields of the shape of `pressure`.

        Raises
        ------
        ValueError
            If a pressure is not above zero or not a number.

        References
        ----------
        CoolProp, through the tables of `model.properties.refrigerant_tables`.
        """
        p = np.asarray(pressure, dtype=np.float64)
        flat = p.ravel()
        rows = self._along_pressure(self._tables["saturation"], flat)
        rows[5] = flat / rows[5]
        return Saturation(p, *(rows if p.ndim == 1 else rows.reshape(10, *p.shape)))

    def saturated_enthalpies(self, pressure: ArrayLike) -> tuple[Array, Array]:
        """Enthalpies of saturated liquid and vapour [J/kg] at an absolute pressure [Pa], > 0, any shape.

        Source: CoolProp, through the tables of `model.properties.refrigerant_tables`.
        """
        p = np.asarray(pressure, dtype=np.float64)
        liquid, vapour = self._along_pressure(self._enthalpies, p.ravel()).reshape(2, *p.shape)
        return liquid, vapour

    def bubble_temperature(self, pressure: ArrayLike) -> Array:
        """Bubble-point temperature [K] at an absolute pressure [Pa], > 0, any shape.

        Source: CoolProp, through the tables of `model.properties.refrigerant_tables`.
        """
        return self._saturation_temperature(self._bubble_temperature, pressure)

    def dew_temperature(self, pressure: ArrayLike) -> Array:
        """Dew-point temperature [K] at an absolute pressure [Pa], > 0, any shape.

        Source: CoolProp, through the tables of `model.properties.refrigerant_tables`.
        """
        return self._saturation_temperature(self._dew_temperature, pressure)

    def _saturation_temperature(self, table: Array, pressure: ArrayLike) -> Array:
        p = np.asarray(pressure, dtype=np.float64)
        return self._along_pressure(table, p.ravel()).reshape(p.shape)

    def _along_pressure(self, table: Array, pressure: Array) -> Array:
        return _in_blocks(lambda part: _line(table, *self._pressure_cell(part)), table.shape[1], pressure)

    def bubble_pressure(self, temperature: ArrayLike) -> Array:
        """Bubble-point pressure [Pa] at a temperature [K], 220 K to 0.99 of the critical, any shape.

        Source: CoolProp, through the tables of `model.properties.refrigerant_tables`.
        """
        return self._saturation_pressure(self._bubble_pressure, temperature)

    def dew_pressure(self, temperature: ArrayLike) -> Array:
        """Dew-point pressure [Pa] at a temperature [K], 220 K to 0.99 of the critical, any shape.

        Source: CoolProp, through the tables of `model.properties.refrigerant_tables`.
        """
        return self._saturation_pressure(self._dew_pressure, temperature)

    def _saturation_pressure(self, table: Array, temperature: ArrayLike) -> Array:
        t = np.asarray(temperature, dtype=np.float64)
        row = _in_blocks(lambda part: np.exp(_line(table, *self._temperature_cell(part))), 1, t.ravel())
        return row.reshape(t.shape)

    def vapour(self, pressure: ArrayLike, superheat: ArrayLike) -> Vapour:
        """Superheated vapour at a pressure and a superheat over the dew point, all properties in one go.

        Parameters
        ----------
        pressure : array_like
            Absolute pressure [Pa], > 0.
        superheat : array_like
            Temperature over the dew point at that pressure [K], 0 to 180; below 0 counts as 0.

        Returns
        -------
        Vapour
            Fields of the shape of both arguments broadcast together.

        Raises
        ------
        ValueError
            If a pressure is not above zero or an argument is not finite.

        References
        ----------
        CoolProp, through the tables of `model.properties.refrigerant_tables`.
        """
        p, excess = _broadcast(pressure, superheat)
        rows = _in_blocks(self._vapour_rows, 4, p.ravel(), excess.ravel())
        return Vapour(*(rows if p.ndim == 1 else rows.reshape(4, *p.shape)))

    def _vapour_rows(self, pressure: Array, superheat: Array) -> Array:
        """Temperature, enthalpy, density and entropy as rows."""
        cell, place = self._pressure_cell(pressure)
        above = np.maximum(superheat, ZERO)
        coordinate = above + SUPERHEAT_SHIFT_ARRAY
        coordinate *= self._superheat_scale
        np.sqrt(coordinate, out=coordinate)
        coordinate += self._superheat_offset
        rows = np.empty((4, pressure.size))
        np.add(_line(self._dew_temperature, cell, place)[0], above, out=rows[0])
        rows[1:] = _surface(self._tables["vapour"], cell, place, coordinate)
        np.divide(pressure, rows[2], out=rows[2])
        return rows

    def isentropic_enthalpy(self, pressure: ArrayLike, entropy: ArrayLike) -> Array:
        """Enthalpy at a pressure and an entropy, such as at the end of a loss-free compression.

        Parameters
        ----------
        pressure : array_like
            Absolute pressure [Pa], > 0.
        entropy : array_like
            Specific entropy [J/(kg K)]; below that of the dew point the two-phase line dh = T_dew ds.

        Returns
        -------
        ndarray
            Specific enthalpy [J/kg], of the shape of both arguments broadcast together.

        Raises
        ------
        ValueError
            If a pressure is not above zero or an argument is not finite.

        References
        ----------
        CoolProp, through the tables of `model.properties.refrigerant_tables`. Left of the dew line dh = T_dew
        ds: definition.
        """
        return self._over_dew("isentropic_enthalpy", self._dew_entropy, self._per_entropy, pressure, entropy)

    def vapour_temperature(self, pressure: ArrayLike, enthalpy: ArrayLike) -> Array:
        """Temperature at a pressure and an enthalpy; the dew point where the enthalpy is below that of dew.

        Parameters
        ----------
        pressure : array_like
            Absolute pressure [Pa], > 0.
        enthalpy : array_like
            Specific enthalpy [J/kg].

        Returns
        -------
        ndarray
            Temperature [K], of the shape of both arguments broadcast together.

        Raises
        ------
        ValueError
            If a pressure is not above zero or an argument is not finite.

        References
        ----------
        CoolProp, through the tables of `model.properties.refrigerant_tables`.
        """
        return self._over_dew(
            "vapour_temperature", self._dew_enthalpy, self._per_enthalpy, pressure, enthalpy
        )

    def vapour_entropy(self, pressure: ArrayLike, enthalpy: ArrayLike) -> Array:
        """Entropy at a pressure and an enthalpy; the two-phase line ds = dh / T_dew below the dew point.

        Parameters
        ----------
        pressure : array_like
            Absolute pressure [Pa], > 0.
        enthalpy : array_like
            Specific enthalpy [J/kg].

        Returns
        -------
        ndarray
            Specific entropy [J/(kg K)], of the shape of both arguments broadcast together.

        Raises
        ------
        ValueError
            If a pressure is not above zero or an argument is not finite.

        References
        ----------
        CoolProp, through the tables of `model.properties.refrigerant_tables`. Left of the dew line dh = T_dew
        ds: definition.
        """
        return self._over_dew("vapour_entropy", self._dew_enthalpy, self._per_enthalpy, pressure, enthalpy)

    def isobar(self, pressure: ArrayLike) -> Isobar:
        """Vapour at one pressure [Pa], > 0, any shape, for more than one question about it.

        Source: CoolProp, through the tables of `model.properties.refrigerant_tables`.
        """
        p = np.asarray(pressure, dtype=np.float64)
        return Isobar(self, p.shape, *self._pressure_cell(p.ravel()))

    def _over_dew(self, name: str, dew: Array, per: Array, pressure: ArrayLike, second: ArrayLike) -> Array:
        """Quantity over pressure and what a second argument has above its value at the dew point."""
        p, other = _broadcast(pressure, second)

        def rows(part: Array, value: Array) -> Array:
            return self._over_dew_in(name, dew, per, *self._pressure_cell(part), value)

        return _in_blocks(rows, 1, p.ravel(), other.ravel()).reshape(p.shape)

    def _over_dew_in(
        self, name: str, dew: Array, per: Array, cell: IndexArray, place: Array, value: Array
    ) -> Array:
        """As `_over_dew`, at the place of the pressure in its axis; flat arrays."""
        coordinate = value - _line(dew, cell, place)[0]
        coordinate *= per
        coordinate += ONE
        return _surface(self._tables[name], cell, place, coordinate)

    def liquid_enthalpy(self, pressure: ArrayLike, temperature: ArrayLike) -> Array:
        """Enthalpy of subcooled liquid.

        Parameters
        ----------
        pressure : array_like
            Absolute pressure [Pa].
        temperature : array_like
            Temperature [K], 220 K to the bubble point.

        Returns
        -------
        ndarray
            Specific enthalpy [J/kg], saturated liquid of that temperature plus a linear term in pressure, of
            the shape of both arguments broadcast together.

        Raises
        ------
        ValueError
            If an argument is not a number or a temperature is not above zero.

        References
        ----------
        CoolProp, through the tables of `model.properties.refrigerant_tables`; the term in pressure is derived
        here.
        """
        p, t = _broadcast(pressure, temperature)

        def rows(part: Array, value: Array) -> Array:
            log_bubble, saturated, slope, bend = _line(self._liquid_enthalpy, *self._temperature_cell(value))
            extra = part - np.exp(log_bubble)
            return np.asarray(saturated + extra * (slope + extra * bend))[np.newaxis]

        return _in_blocks(rows, 1, p.ravel(), t.ravel()).reshape(p.shape)

    def liquid(self, pressure: ArrayLike, temperature: ArrayLike) -> tuple[Array, Array]:
        """Enthalpy [J/kg] and density [kg/m3] of subcooled liquid, as the functions for each, in one go.

        Source: As `liquid_enthalpy` and `liquid_density`.
        """
        p, t = _broadcast(pressure, temperature)
        rows = _line(self._liquid, *self._temperature_cell(t.ravel())).reshape(5, *p.shape)
        extra = p - np.exp(rows[1])
        return rows[2] + extra * (rows[3] + extra * rows[4]), rows[0]

    def liquid_density(self, temperature: ArrayLike) -> Array:
        """Density of saturated liquid [kg/m3] at a temperature [K], any shape; serves for subcooled too.

        Source: CoolProp, through the tables of `model.properties.refrigerant_tables`. That it serves for
        subcooled liquid too is an assumption made here.
        """
        t = np.asarray(temperature, dtype=np.float64)
        table = self._liquid_density
        row = _in_blocks(lambda part: _line(table, *self._temperature_cell(part)), 1, t.ravel())
        return row.reshape(t.shape)

    def _pressure_cell(self, pressure: Array) -> tuple[IndexArray, Array]:
        """Number of the cell that holds each pressure, and the place within the cell."""
        if not _all_above_zero(pressure):
            raise ValueError(f"pressure must be above 0 Pa, got {np.min(pressure):.6g}")
        x = np.minimum(pressure, self._highest)
        np.log(x, out=x)
        np.subtract(self._log_top, x, out=x)
        x *= self._root_scale
        np.sqrt(x, out=x)
        np.subtract(self._root_offset, x, out=x)
        return _cell(x, LAST_PRESSURE_CELL)

    def _temperature_cell(self, temperature: Array) -> tuple[IndexArray, Array]:
        """Number of the cell that holds each temperature, and the place within the cell."""
        if not _all_above_zero(temperature):
            raise ValueError(f"temperature must be above 0 K, got {np.min(temperature):.6g}")
        x = np.minimum(temperature, self._warmest)
        np.maximum(x, self._coldest, out=x)
        np.divide(self._inverse_scale, x, out=x)
        x += self._inverse_offset
        return _cell(x, LAST_TEMPERATURE_CELL)


class Isobar:
    """Vapour at one pressure; made by `Refrigerant.isobar`."""

    def __init__(self, fluid: Refrigerant, shape: tuple[int, ...], cell: IndexArray, place: Array) -> None:
        self._fluid, self._shape, self._cell, self._place = fluid, shape, cell, place

    def isentropic_enthalpy(self, entropy: Array) -> Array:
        """As `Refrigerant.isentropic_enthalpy`, for entropies of the shape of the pressure.

        Source: CoolProp, through the tables of `model.properties.refrigerant_tables`. Left of the dew line dh
        = T_dew ds: definition.
        """
        fluid = self._fluid
        row = fluid._over_dew_in(
            "isentropic_enthalpy", fluid._dew_entropy, fluid._per_entropy,
            self._cell, self._place, entropy.ravel(),
        )  # fmt: skip
        return row.reshape(self._shape)

    def vapour_temperature(self, enthalpy: Array) -> Array:
        """As `Refrigerant.vapour_temperature`, for enthalpies of the shape of the pressure.

        Source: CoolProp, through the tables of `model.properties.refrigerant_tables`.
        """
        fluid = self._fluid
        row = fluid._over_dew_in(
            "vapour_temperature", fluid._dew_enthalpy, fluid._per_enthalpy,
            self._cell, self._place, enthalpy.ravel(),
        )  # fmt: skip
        return row.reshape(self._shape)


def _rows(table: Array, *quantities: int) -> Array:
    """Some quantities of a line table, side by side in memory."""
    return np.ascontiguousarray(table[:, quantities])


def _broadcast(first: ArrayLike, second: ArrayLike) -> tuple[Array, Array]:
    """Two arguments as arrays of one shape, the second checked to be numbers."""
    a, b = np.asarray(first, dtype=np.float64), np.asarray(second, dtype=np.float64)
    # the sum of squares is finite only if every value is
    if not np.isfinite(np.vdot(b, b)):
        raise ValueError(
            f"superheat, entropy, enthalpy and temperature must be finite, got {b[~np.isfinite(b)]}"
        )
    if a.shape != b.shape:
        a, b = np.broadcast_arrays(a, b)
    return a, b


def _all_above_zero(values: Array) -> bool:
    """Whether all values are numbers above zero."""
    # the least of values with one that is not a number is not a number, and is not above zero either
    return not values.size or bool(values.min() > 0)


def _in_blocks(rows: Callable[..., Array], count: int, *arguments: Array) -> Array:
    """Rows of a function of flat arrays, shape (count, points), long arrays block by block."""
    size = arguments[0].size
    if size <= POINTS_AT_A_TIME:
        return rows(*arguments)
    result = np.empty((count, size))
    for start in range(0, size, POINTS_AT_A_TIME):
        part = slice(start, start + POINTS_AT_A_TIME)
        result[:, part] = rows(*(argument[part] for argument in arguments))
    return result


def _cell(coordinate: Array, last: Array) -> tuple[IndexArray, Array]:
    """Cell number and place within it, from a coordinate that rises by 1 a cell from the start of cell 0.

    The first and the last cell have no outer end. The coordinate is overwritten.
    """
    bounded = np.maximum(coordinate, ZERO)
    np.minimum(bounded, last, out=bounded)
    number = bounded.astype(np.intp)
    coordinate -= number
    return number, coordinate


def _line(table: Array, cell: IndexArray, place: Array) -> Array:
    """Quantities of a table along one axis, shape (quantities, points)."""
    return _polynomial(table.take(cell, 2), place)


def _surface(table: Array, cell: IndexArray, place: Array, coordinate: Array) -> Array:
    """Quantities of a table over pressure and a second coordinate, shape (quantities, points)."""
    number, along = _cell(coordinate, LAST_SUPERHEAT_CELL)
    number += cell * SUPERHEAT_CELLS
    return _polynomial(_polynomial(table.take(number, 3), along), place)


def _polynomial(coefficients: Array, place: Array) -> Array:
    """Cubics with the coefficients along axis 0, highest power first; the coefficients are overwritten."""
    result, second, third, last = coefficients
    result *= place
    result += second
    result *= place
    result += third
    result *= place
    result += last
    return np.asarray(result)
