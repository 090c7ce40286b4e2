"""Thermodynamic properties of the working fluid, fast on whole arrays.

All properties come from piecewise-cubic tables that `model.refrigerant_tables` builds from CoolProp once and
`model.property_cache` keeps; reading them needs NumPy alone. Bubble and dew lines are kept apart for blends:
superheat counts from the dew point, subcooling from the bubble point, both at the pressure in hand.

Assumptions: the composition of a blend stays as charged; liquid off the bubble line follows from the
saturated liquid of the same temperature and a linear term in pressure. Left of the dew line the functions of
entropy and enthalpy go on as in the two-phase region, dh = T_dew ds (exact for a pure fluid; for a blend the
glide is left out). Beyond the pressures and superheats of the tables all functions go on in a straight line
of the table's own coordinate, up to a tenth above the critical pressure and down to a tenth of the lowest
pressure, and are constant from there: finite numbers for a solver that passes through, not properties.

Sources: see `model.refrigerant_tables`. Enthalpy and entropy have CoolProp's zero; use differences only.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model import property_cache, refrigerant_tables
from model.refrigerant_tables import FLUIDS, SUPERHEAT_SHIFT, Y_CELLS

Array = NDArray[np.float64]

KNOWN_REFRIGERANTS: tuple[str, ...] = tuple(FLUIDS)

POINTS_AT_A_TIME = 2048
"""Longer arrays are evaluated in blocks of this many points, which stay in the processor's cache."""
LOWEST_PRESSURE_SHARE = 0.1
"""Pressures below this share of the lowest tabulated one count as this share of it [-]."""
HIGHEST_REDUCED_PRESSURE = 1.1
"""Pressures above this multiple of the critical pressure count as this multiple of it [-]."""
LOWEST_TEMPERATURE = 150.0
"""Temperatures below this count as this in the functions of temperature [K]."""
HIGHEST_REDUCED_TEMPERATURE = 1.1
"""Temperatures above this multiple of the critical temperature count as this multiple of it [-]."""


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
        self._top_pressure, self._first_coordinate, self._coordinate_step = constants[5:8]
        self._first_inverse, self._inverse_step = constants[8:10]
        self._entropy_step, self._enthalpy_step = constants[10:12]
        self._lowest = LOWEST_PRESSURE_SHARE * self.minimum_pressure
        self._highest = HIGHEST_REDUCED_PRESSURE * self.critical_pressure
        root = float(np.sqrt(SUPERHEAT_SHIFT))
        end = float(np.sqrt(refrigerant_tables.HIGHEST_SUPERHEAT + SUPERHEAT_SHIFT))
        self._superheat_root, self._superheat_step = root, (end - root) / (Y_CELLS - 2)
        edge = tables["dew_edge"].reshape(4, 3, -1)
        self._dew_edges = [np.ascontiguousarray(edge[:, quantity]) for quantity in range(3)]
        by_temperature = tables["by_temperature"].reshape(4, 5, -1)
        self._bubble_line = np.ascontiguousarray(by_temperature[:, 0])
        self._dew_line = np.ascontiguousarray(by_temperature[:, 1])
        self._liquid_density_line = np.ascontiguousarray(by_temperature[:, 3])
        self._liquid_lines = np.ascontiguousarray(by_temperature[:, [0, 2, 4]]).reshape(12, -1)
        sat = tables["saturation"].reshape(4, 10, -1)
        self._saturation_temperatures = [np.ascontiguousarray(sat[:, quantity]) for quantity in range(2)]

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
        """
        p = np.asarray(pressure, dtype=np.float64)
        flat = p.ravel()
        table = self._tables["saturation"]
        rows = _in_blocks(lambda part: _line(table, *self._pressure_cell(part)), 10, flat)
        rows[5] = flat / rows[5]
        return Saturation(p, *rows.reshape(10, *p.shape))

    def bubble_temperature(self, pressure: ArrayLike) -> Array:
        """Bubble-point temperature [K] at an absolute pressure [Pa], > 0, any shape."""
        return self._saturation_temperature(self._saturation_temperatures[0], pressure)

    def dew_temperature(self, pressure: ArrayLike) -> Array:
        """Dew-point temperature [K] at an absolute pressure [Pa], > 0, any shape."""
        return self._saturation_temperature(self._saturation_temperatures[1], pressure)

    def _saturation_temperature(self, table: Array, pressure: ArrayLike) -> Array:
        p = np.asarray(pressure, dtype=np.float64)
        row = _in_blocks(lambda part: _line(table, *self._pressure_cell(part)), 1, p.ravel())
        return row.reshape(p.shape)

    def bubble_pressure(self, temperature: ArrayLike) -> Array:
        """Bubble-point pressure [Pa] at a temperature [K], 220 K to 0.99 of the critical, any shape."""
        return self._saturation_pressure(self._bubble_line, temperature)

    def dew_pressure(self, temperature: ArrayLike) -> Array:
        """Dew-point pressure [Pa] at a temperature [K], 220 K to 0.99 of the critical, any shape."""
        return self._saturation_pressure(self._dew_line, temperature)

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
            If a pressure is not above zero or an argument is not a number.
        """
        p, excess = _broadcast(pressure, superheat)
        rows = _in_blocks(self._vapour_rows, 4, p.ravel(), excess.ravel())
        return Vapour(*rows.reshape(4, *p.shape))

    def _vapour_rows(self, pressure: Array, superheat: Array) -> Array:
        """Temperature, enthalpy, density and entropy as rows."""
        i, t = self._pressure_cell(pressure)
        above = np.maximum(superheat, 0.0)
        coordinate = (np.sqrt(above + SUPERHEAT_SHIFT) - self._superheat_root) / self._superheat_step
        rows = np.empty((4, pressure.size))
        np.add(_line(self._dew_edges[0], i, t)[0], above, out=rows[0])
        rows[1:] = _surface(self._tables["vapour"], i, t, coordinate)
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
            If a pressure is not above zero or an argument is not a number.
        """
        return self._over_dew("isentropic_enthalpy", 2, self._entropy_step, pressure, entropy)

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
            If a pressure is not above zero or an argument is not a number.
        """
        return self._over_dew("vapour_temperature", 1, self._enthalpy_step, pressure, enthalpy)

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
            If a pressure is not above zero or an argument is not a number.
        """
        return self._over_dew("vapour_entropy", 1, self._enthalpy_step, pressure, enthalpy)

    def _over_dew(self, table: str, edge: int, step: float, pressure: ArrayLike, second: ArrayLike) -> Array:
        """Quantity over pressure and what a second argument has above its value at the dew point."""
        p, other = _broadcast(pressure, second)
        surface, dew = self._tables[table], self._dew_edges[edge]

        def rows(part: Array, value: Array) -> Array:
            i, t = self._pressure_cell(part)
            return _surface(surface, i, t, (value - _line(dew, i, t)[0]) / step)

        return _in_blocks(rows, 1, p.ravel(), other.ravel()).reshape(p.shape)

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
        """
        p, t = _broadcast(pressure, temperature)

        def rows(part: Array, value: Array) -> Array:
            log_bubble, saturated, slope = _line(self._liquid_lines, *self._temperature_cell(value))
            return np.asarray(saturated + slope * (part - np.exp(log_bubble)))

        return _in_blocks(rows, 1, p.ravel(), t.ravel()).reshape(p.shape)

    def liquid_density(self, temperature: ArrayLike) -> Array:
        """Density of saturated liquid [kg/m3] at a temperature [K], any shape; serves for subcooled too."""
        t = np.asarray(temperature, dtype=np.float64)
        table = self._liquid_density_line
        row = _in_blocks(lambda part: _line(table, *self._temperature_cell(part)), 1, t.ravel())
        return row.reshape(t.shape)

    def _pressure_cell(self, pressure: Array) -> tuple[NDArray[np.intp], Array]:
        """Number of the cell that holds each pressure, and the place within the cell."""
        # written so that a value that is not a number fails too
        if not np.minimum.reduce(pressure, initial=1.0) > 0:
            raise ValueError(f"pressure must be above 0 Pa, got {_worst(pressure)}")
        x = np.minimum(pressure, self._highest)
        np.maximum(x, self._lowest, out=x)
        np.divide(self._top_pressure, x, out=x)
        np.log(x, out=x)
        np.sqrt(x, out=x)
        x -= self._first_coordinate
        x /= self._coordinate_step
        return _cell(x, refrigerant_tables.P_CELLS)

    def _temperature_cell(self, temperature: Array) -> tuple[NDArray[np.intp], Array]:
        """Number of the cell that holds each temperature, and the place within the cell."""
        if not np.minimum.reduce(temperature, initial=1.0) > 0:
            raise ValueError(f"temperature must be above 0 K, got {_worst(temperature)}")
        x = np.minimum(temperature, HIGHEST_REDUCED_TEMPERATURE * self.critical_temperature)
        np.maximum(x, LOWEST_TEMPERATURE, out=x)
        np.reciprocal(x, out=x)
        x -= self._first_inverse
        x /= self._inverse_step
        return _cell(x, refrigerant_tables.T_CELLS)


def _worst(values: Array) -> float:
    """The first value that is not a number, else the smallest."""
    return float(np.min(values))


def _broadcast(first: ArrayLike, second: ArrayLike) -> tuple[Array, Array]:
    """Two arguments as arrays of one shape, the second checked to be numbers."""
    a, b = np.asarray(first, dtype=np.float64), np.asarray(second, dtype=np.float64)
    if a.shape != b.shape:
        a, b = np.broadcast_arrays(a, b)
    return a, b


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


def _cell(coordinate: Array, cells: int) -> tuple[NDArray[np.intp], Array]:
    """Cell number and place within it, from a coordinate that is 0 at the first node and rises by 1 a cell.

    Cell 0 lies before the first node; the first and the last cell have no outer end.
    """
    coordinate += 1.0
    bounded = np.maximum(coordinate, 0.0)
    np.minimum(bounded, cells - 1.0, out=bounded)
    number = bounded.astype(np.intp)
    coordinate -= number
    return number, coordinate


def _line(table: Array, cell: NDArray[np.intp], place: Array) -> Array:
    """Quantities of a table along one axis, shape (quantities, points)."""
    c = table.take(cell, axis=1).reshape(4, -1, cell.size)
    result = np.multiply(c[0], place, out=c[0])
    result += c[1]
    result *= place
    result += c[2]
    result *= place
    result += c[3]
    return result


def _surface(table: Array, cell: NDArray[np.intp], place: Array, coordinate: Array) -> Array:
    """Quantities of a table over pressure and a second coordinate, shape (quantities, points)."""
    number, along = _cell(coordinate, Y_CELLS)
    number += cell * Y_CELLS
    c = table.take(number, axis=1).reshape(4, -1, cell.size)
    result = np.multiply(c[0], along, out=c[0])
    result += c[1]
    result *= along
    result += c[2]
    result *= along
    result += c[3]
    c = result.reshape(4, -1, cell.size)
    result = np.multiply(c[0], place, out=c[0])
    result += c[1]
    result *= place
    result += c[2]
    result *= place
    result += c[3]
    return result
