"""Build the tables of a refrigerant's properties from CoolProp.

Every table is a piecewise cubic on cells of unit width, kept as the polynomial coefficients of each cell,
so that `model.properties.refrigerant` evaluates it with NumPy alone. Pressure is counted in sqrt(ln(p_top /
p)), which packs the cells towards the critical point, where the saturation lines bend; superheat in
sqrt(superheat + 4 K), which packs them towards the dew line. Outside the grid every table goes on in a
straight line.

Assumptions: blends have a fixed composition; their bubble and dew lines are kept apart. CoolProp's
pseudo-pure fluids serve R410A, R407C and R404A; R454B exists as a mixture only, whose saturation calls fail
in narrow bands. The saturation lines are therefore splines of ln p against 1/T through the calls that
succeed, and every other property comes from pressure-temperature calls with the phase imposed, which hardly
ever fail.

Sources: CoolProp 8 (Bell, Wronski, Quoilin, Lemort, Ind. Eng. Chem. Res. 53 (2014) 2498) and the equations of
state that it names; safety classes from ANSI/ASHRAE Standard 34 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from model.arrays import Array

GRID_VERSION = 1
"""Raised whenever the grid, the order or the meaning of a table changes."""

PRESSURE_NODES = 120
SUPERHEAT_NODES = 44
TEMPERATURE_NODES = 240
SATURATION_SAMPLES = 140
LOWEST_TEMPERATURE = 220.0
"""Coldest bubble point of the tables [K]."""
HIGHEST_REDUCED_TEMPERATURE = 0.99
"""Warmest dew point of the tables over the critical temperature [-]."""
TOP_PRESSURE = 1.25
"""Pressure at which the pressure coordinate is zero, over the critical pressure [-]."""
SUPERHEAT_SHIFT = 4.0
"""Shift of the superheat coordinate [K]."""
HIGHEST_SUPERHEAT = 180.0
"""End of the superheat axis [K]: discharge at 490 K from a condenser at 310 K."""
WORST_SATURATION_ERROR = 1e-3
"""Saturation calls further than this off a smooth curve in ln p are thrown away [-]."""
APPROACH_STEPS = (8.0, 6.0, 4.0, 3.0, 2.0, 1.0, 0.5, 0.2, 0.0)
"""Distances at which a failing single-phase state is approached [K]."""
COMPRESSIONS = (0.08, 0.3)
"""Pressures above that of the bubble point at which liquid is sampled, over the critical pressure [-]."""

SATURATION_QUANTITIES = 10
VAPOUR_QUANTITIES = 3
TEMPERATURE_QUANTITIES = 6


class Fluid(NamedTuple):
    """What CoolProp calls a refrigerant, and its safety class after ASHRAE Standard 34."""

    coolprop_name: str
    safety_class: str


FLUIDS = {
    "R410A": Fluid("R410A", "A1"),
    "R32": Fluid("R32", "A2L"),
    "R454B": Fluid("R454B.mix", "A2L"),
    "R407C": Fluid("R407C", "A1"),
    "R22": Fluid("R22", "A1"),
    "R134a": Fluid("R134a", "A1"),
    "R290": Fluid("R290", "A3"),
    "R404A": Fluid("R404A", "A1"),
}

P_CELLS = PRESSURE_NODES + 1
Y_CELLS = SUPERHEAT_NODES + 1
T_CELLS = TEMPERATURE_NODES + 1

SHAPES: dict[str, tuple[int, ...]] = {
    "constants": (12,),
    "saturation": (4, SATURATION_QUANTITIES, P_CELLS),
    "vapour": (4, 4, VAPOUR_QUANTITIES, P_CELLS * Y_CELLS),
    "isentropic_enthalpy": (4, 4, 1, P_CELLS * Y_CELLS),
    "vapour_temperature": (4, 4, 1, P_CELLS * Y_CELLS),
    "vapour_entropy": (4, 4, 1, P_CELLS * Y_CELLS),
    "by_temperature": (4, TEMPERATURE_QUANTITIES, T_CELLS),
}
"""Names and shapes of the arrays of one refrigerant.

A line has (power, quantity, cell), a surface (power of the second axis, power of pressure, quantity, cell),
the highest power first; cells of a surface run through the second axis first.
"""


@dataclass(frozen=True)
class _Grid:
    """Pressures, saturation temperatures and superheats of the nodes."""

    pressure: Array
    bubble_temperature: Array
    dew_temperature: Array
    superheat: Array
    inverse_temperature: Array
    bubble_log_pressure: Array
    dew_log_pressure: Array
    constants: Array


def build(name: str) -> dict[str, Array]:
    """Tables of one refrigerant, computed from CoolProp.

    Parameters
    ----------
    name : str
        One of `FLUIDS`.

    Returns
    -------
    dict of ndarray
        Arrays named and shaped as in `SHAPES`.

    Raises
    ------
    RuntimeError
        Where CoolProp cannot give the saturation line or a single-phase state.

    References
    ----------
    CoolProp 8 (Bell, Wronski, Quoilin, Lemort, Ind. Eng. Chem. Res. 53 (2014) 2498).
    """
    import CoolProp
    from CoolProp.CoolProp import AbstractState

    state = AbstractState("HEOS", FLUIDS[name].coolprop_name)
    grid = _grid(state)
    bubble = _states(state, CoolProp.iphase_liquid, grid.pressure, grid.bubble_temperature)
    pressure, superheat = np.meshgrid(grid.pressure, grid.superheat, indexing="ij")
    gas = _states(state, CoolProp.iphase_gas, pressure, grid.dew_temperature[:, None] + superheat)
    by_entropy, by_enthalpy_temperature, by_enthalpy_entropy, constants = _inverse_tables(grid, gas)
    return {
        "constants": constants,
        "saturation": _line_table(_saturation_nodes(grid, bubble, gas)),
        "vapour": _vapour_table(grid, gas),
        "isentropic_enthalpy": by_entropy,
        "vapour_temperature": by_enthalpy_temperature,
        "vapour_entropy": by_enthalpy_entropy,
        "by_temperature": _line_table(_temperature_nodes(state, grid)),
    }


class _States(NamedTuple):
    """Single-phase properties at an array of states."""

    temperature: Array
    enthalpy: Array
    entropy: Array
    density: Array
    heat_capacity: Array


def _states(state: Any, phase: int, pressure: Array, temperature: Array) -> _States:
    """Properties of the imposed phase at each pressure and temperature."""
    import CoolProp

    state.specify_phase(phase)
    rows = np.empty((pressure.size, 4))
    for row, p, t in zip(rows, pressure.ravel().tolist(), temperature.ravel().tolist(), strict=True):
        try:
            state.update(CoolProp.PT_INPUTS, p, t)
        except ValueError:
            _approach(state, p, t, away=1.0 if phase == CoolProp.iphase_gas else -1.0)
        row[:] = state.hmass(), state.smass(), state.rhomass(), state.cpmass()
    state.unspecify_phase()
    shape = pressure.shape
    return _States(temperature, *(column.reshape(shape) for column in rows.T))


def _approach(state: Any, pressure: float, temperature: float, away: float) -> None:
    """Set a state near the critical point whose direct call fails, by steps from farther into its phase."""
    import CoolProp

    guess = CoolProp.CoolProp.PyGuessesStructure()
    state.update(CoolProp.PT_INPUTS, pressure, temperature + away * APPROACH_STEPS[0])
    for step in APPROACH_STEPS[1:]:
        guess.rhomolar = state.rhomolar()
        state.update_with_guesses(CoolProp.PT_INPUTS, pressure, temperature + away * step, guess)


def _grid(state: Any) -> _Grid:
    """Nodes of all tables, and the constants that turn arguments into cell numbers."""
    from scipy.interpolate import CubicSpline

    critical_temperature, critical_pressure = _critical_point(state)
    hottest = HIGHEST_REDUCED_TEMPERATURE * critical_temperature
    inverse = np.linspace(1 / LOWEST_TEMPERATURE, 1 / hottest, TEMPERATURE_NODES)
    lines = [_saturation_line(state, quality, hottest) for quality in (0, 1)]
    bubble, dew = (CubicSpline(inverse_t[::-1], log_p[::-1])(inverse) for inverse_t, log_p in lines)
    lowest, highest = np.exp(bubble[0]), np.exp(dew[-1])
    top = TOP_PRESSURE * critical_pressure
    coordinate = np.linspace(np.sqrt(np.log(top / lowest)), np.sqrt(np.log(top / highest)), PRESSURE_NODES)
    pressure = top * np.exp(-(coordinate**2))
    temperatures = [1 / CubicSpline(log_p, inverse_t)(np.log(pressure)) for inverse_t, log_p in lines]
    root = np.sqrt(SUPERHEAT_SHIFT)
    step = (np.sqrt(HIGHEST_SUPERHEAT + SUPERHEAT_SHIFT) - root) / (SUPERHEAT_NODES - 1)
    superheat = (root + step * np.arange(SUPERHEAT_NODES)) ** 2 - SUPERHEAT_SHIFT
    constants = np.array(
        [
            state.molar_mass(),
            critical_temperature,
            critical_pressure,
            pressure[0],
            pressure[-1],
            top,
            coordinate[0],
            coordinate[1] - coordinate[0],
            inverse[0],
            inverse[1] - inverse[0],
        ]
    )
    return _Grid(pressure, temperatures[0], temperatures[1], superheat, inverse, bubble, dew, constants)


def _critical_point(state: Any) -> tuple[float, float]:
    """Critical temperature [K] and pressure [Pa]; of a mixture, the stable one of those CoolProp finds."""
    if len(state.fluid_names()) == 1:
        return float(state.T_critical()), float(state.p_critical())
    found = [(point.T, point.p) for point in state.all_critical_points() if point.stable]
    if not found:
        raise RuntimeError("CoolProp found no stable critical point of the mixture")
    temperature, pressure = max(found)
    return float(temperature), float(pressure)


def _saturation_line(state: Any, quality: int, hottest: float) -> tuple[Array, Array]:
    """Inverse temperature [1/K] falling and ln of pressure rising along one saturation line.

    Calls that fail are left out, and so are calls that succeed with a pressure off the smooth line.
    """
    import CoolProp

    inverse, log_pressure = [], []
    for temperature in np.linspace(LOWEST_TEMPERATURE - 12, hottest + 1.2, SATURATION_SAMPLES):
        try:
            state.update(CoolProp.QT_INPUTS, quality, temperature)
        except ValueError:
            continue
        inverse.append(1 / temperature)
        log_pressure.append(np.log(state.p()))
    x, y = np.array(inverse), np.array(log_pressure)
    if x.size < SATURATION_SAMPLES // 2:
        raise RuntimeError(f"CoolProp gave {x.size} of {SATURATION_SAMPLES} saturation states")
    u = (x - x.mean()) / np.ptp(x)
    good = np.abs(np.polynomial.Polynomial.fit(u, y, 8)(u) - y) < WORST_SATURATION_ERROR
    return x[good], y[good]


def _saturation_nodes(grid: _Grid, bubble: _States, gas: _States) -> Array:
    """Quantities of the saturation table at its nodes, in the order in which they are read."""
    return np.stack(
        [
            grid.bubble_temperature,
            grid.dew_temperature,
            bubble.enthalpy,
            gas.enthalpy[:, 0],
            bubble.density,
            # p v is nearly constant where density spans two decades
            grid.pressure / gas.density[:, 0],
            bubble.entropy,
            gas.entropy[:, 0],
            bubble.heat_capacity,
            gas.heat_capacity[:, 0],
        ]
    )


def _temperature_nodes(state: Any, grid: _Grid) -> Array:
    """Saturation pressures and saturated liquid at the nodes of 1/T.

    The last two quantities are the coefficients of a parabola, enthalpy of compressed over saturated liquid
    against pressure over bubble pressure [J/(kg Pa), J/(kg Pa2)], through two pressures.
    """
    import CoolProp

    pressure, temperature = np.exp(grid.bubble_log_pressure), 1 / grid.inverse_temperature
    liquid = _states(state, CoolProp.iphase_liquid, pressure, temperature)
    near, far = (share * grid.constants[2] for share in COMPRESSIONS)
    rise_near, rise_far = (
        (_states(state, CoolProp.iphase_liquid, pressure + extra, temperature).enthalpy - liquid.enthalpy)
        / extra
        for extra in (near, far)
    )
    bend = (rise_far - rise_near) / (far - near)
    slope = rise_near - bend * near
    dew_log_pressure = grid.dew_log_pressure
    return np.stack(
        [grid.bubble_log_pressure, dew_log_pressure, liquid.density, liquid.enthalpy, slope, bend]
    )


def _vapour_table(grid: _Grid, gas: _States) -> Array:
    """Enthalpy, p v and entropy over pressure and superheat."""
    per_cell = 2 * np.sqrt(SUPERHEAT_SHIFT) * (np.sqrt(grid.superheat[1] + SUPERHEAT_SHIFT) - 2.0)
    slope = gas.heat_capacity[:, 0] * per_cell
    tables = [
        _surface_table(gas.enthalpy, slope),
        _surface_table(grid.pressure[:, None] / gas.density, None),
        _surface_table(gas.entropy, slope / grid.dew_temperature),
    ]
    return np.ascontiguousarray(np.concatenate(tables, axis=2))


def _inverse_tables(grid: _Grid, gas: _States) -> tuple[Array, Array, Array, Array]:
    """Tables over (pressure, entropy above dew) and (pressure, enthalpy above dew), and the constants.

    Left of the dew line the straight continuation has the slope of the two-phase region, dh = T_dew ds;
    temperature stays at the dew point.
    """
    entropy = gas.entropy - gas.entropy[:, :1]
    enthalpy = gas.enthalpy - gas.enthalpy[:, :1]
    entropy_axis = np.linspace(0, entropy[:, -1].min(), SUPERHEAT_NODES)
    enthalpy_axis = np.linspace(0, enthalpy[:, -1].min(), SUPERHEAT_NODES)
    h_of_s, t_of_h, s_of_h = (np.empty(gas.enthalpy.shape) for _ in range(3))
    for i in range(PRESSURE_NODES):
        t, h, s, cp = gas.temperature[i], gas.enthalpy[i], gas.entropy[i], gas.heat_capacity[i]
        h_of_s[i] = _hermite(entropy_axis, entropy[i], h, t)
        t_of_h[i] = _hermite(enthalpy_axis, enthalpy[i], t, 1 / cp)
        s_of_h[i] = _hermite(enthalpy_axis, enthalpy[i], s, 1 / t)
    dew, cp = grid.dew_temperature, gas.heat_capacity[:, 0]
    constants = np.append(grid.constants, [entropy_axis[1], enthalpy_axis[1]])
    return (
        _surface_table(h_of_s, dew * entropy_axis[1]),
        _surface_table(t_of_h, enthalpy_axis[1] / cp, flat_below=True),
        _surface_table(s_of_h, enthalpy_axis[1] / dew),
        constants,
    )


def _hermite(x: Array, nodes: Array, values: Array, slopes: Array) -> Array:
    """Cubic through values and slopes at rising nodes."""
    i = np.clip(np.searchsorted(nodes, x, side="right") - 1, 0, nodes.size - 2)
    width = nodes[i + 1] - nodes[i]
    t = (x - nodes[i]) / width
    rise = (values[i + 1] - values[i]) / width
    a = slopes[i] - rise
    b = slopes[i + 1] - rise
    bend = t * (1 - t) * (a * (1 - t) - b * t)
    return np.asarray(values[i] + width * (t * rise + bend))


def _surface_table(values: Array, first_slope: Array | None, flat_below: bool = False) -> Array:
    """Bicubic coefficients of a quantity over (pressure, second axis), shape (4, 4, 1, cells).

    Parameters
    ----------
    values : ndarray
        Values at the nodes, shape (pressure nodes, nodes of the second axis).
    first_slope : ndarray or None
        Slope along the second axis at its first node, per cell, where it is known exactly.
    flat_below : bool
        Whether the quantity stays constant below the second axis, rather than going on in a straight line.
    """
    from scipy.interpolate import CubicSpline

    start: Any = "not-a-knot" if first_slope is None else (1, first_slope)
    along = CubicSpline(np.arange(values.shape[1]), values, axis=1, bc_type=(start, "not-a-knot")).c
    along = _with_straight_ends(along)
    if flat_below:
        along[3, 0] += along[2, 0]
        along[2, 0] = 0.0
    # (power of y, cell of y, node of p) -> (power of p, cell of p, power of y, cell of y)
    both = CubicSpline(np.arange(values.shape[0]), along, axis=2).c
    both = _with_straight_ends(both)
    return np.ascontiguousarray(both.transpose(2, 0, 1, 3)).reshape(4, 4, 1, -1)


def _line_table(values: Array) -> Array:
    """Cubic coefficients of several quantities along one axis, shape (4, quantities, cells)."""
    from scipy.interpolate import CubicSpline

    along = _with_straight_ends(CubicSpline(np.arange(values.shape[1]), values, axis=1).c)
    return np.ascontiguousarray(along.transpose(0, 2, 1))


def _with_straight_ends(coefficients: Array) -> Array:
    """Add a straight cell before the first and after the last cell; axis 0 is the power, axis 1 the cell."""
    first, last = coefficients[:, 0], coefficients[:, -1]
    below, above = np.zeros_like(first), np.zeros_like(last)
    below[2], below[3] = first[2], first[3] - first[2]
    above[2], above[3] = 3 * last[0] + 2 * last[1] + last[2], last.sum(axis=0)
    return np.concatenate([below[:, None], coefficients, above[:, None]], axis=1)
