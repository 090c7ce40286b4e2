"""Expansion device: the flow a thermostatic valve or a fixed orifice passes.

Both are a nozzle, flow = area * sqrt(2 * density * pressure difference). They differ in what sets the area
and in what limits the flow:

* the *thermostatic valve* opens with the superheat at its bulb above the static superheat of its spring, and
  levels off towards fully open, half above its rated opening: then it is starved and superheat rises freely;
* the *fixed orifice* has its area, and flow through it is nearly choked: the pressure it feels downstream is
  close to the saturation pressure of the liquid, so subcooling, not suction pressure, sets the flow.

Flash gas at the inlet thins the mixture and cuts the flow of both.

Both can feed too much. An orifice does so by its area alone. A valve's area it makes good itself by closing,
so what shows is the superheat at which it does: a bulb loose or uninsulated reads warmer than the pipe, a
slack spring opens at a lower superheat, and both let the valve regulate that much lower, at last on wet gas.

References
----------
Aaron and Domanski, Experimentation, analysis, and correlation of R-22 flow through short tube restrictors,
ASHRAE Transactions 96(1), 1990 (choking near the liquid's saturation pressure, subcooling dependence; form
from memory). Static superheat of 3 to 5 K and a reserve of 20 to 50 % over rated flow: common practice, no
source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Number = float | Array

ExpansionKind = Literal["TXV", "fixed orifice"]

FLASH_GAS_PENALTY = 9.0
"""Fall of the flow with inlet quality [-]: Aaron and Domanski 1990 found 12.6 for short tubes (from memory),
a valve's seat is shorter; homogeneous density alone would give about 4."""

CLOSING_SPAN = 0.5
"""Superheat over which a valve's closing point is rounded [K]: a valve has no corner there."""
BULB_OFFSET = 10.0
"""What the bulb of an overfeeding valve reads too much for each whole excess of area [K]: half an excess is a
bulb that hangs half loose, or a spring some turns slack (common practice, no source)."""
NEARLY_OPEN = 0.9
"""Share of the reserve up to which a valve's superheat says how far it is open [-]."""

SMOOTHING_QUALITY = 0.004
"""Quality over which the onset of flash gas is rounded off [-], worth 0.4 K of subcooling: bubbles neither
appear nor collapse all at once."""

SMOOTHING_PRESSURE = 2.0e4
"""Width over which a vanishing pressure difference is rounded off [Pa]; far below any working difference."""


@dataclass(frozen=True)
class Expansion:
    """What one expansion device is; numbers may be arrays, one a unit.

    Attributes
    ----------
    kind : "TXV" or "fixed orifice"
    area : float or array
        Effective flow area, discharge coefficient included [m2]: of the orifice, or of the valve at rated
        opening.
    static_superheat : float or array
        Superheat at which the valve starts to open [K].
    opening_superheat : float or array
        Superheat above static at rated opening [K].
    reserve : float or array
        Fully open over rated opening [-], above 1.
    choking : float or array
        Share of the way from evaporator pressure to the liquid's saturation pressure that a choked orifice
        feels downstream [-].
    """

    kind: ExpansionKind
    area: Number
    static_superheat: Number = 5.0
    opening_superheat: Number = 3.0
    reserve: Number = 1.5
    choking: Number = 0.85


def valve_opening(expansion: Expansion, superheat: Array) -> Array:
    """Opening of a thermostatic valve over its rated opening, between 0 and the reserve; smooth.

    The curve is exponential towards the reserve, through 1 at the rated superheat.

    Parameters
    ----------
    expansion : Expansion
        The valve.
    superheat : ndarray
        At its bulb [K].

    Returns
    -------
    ndarray
        Opening [-], shape of the broadcast inputs.
    """
    above = superheat - np.asarray(expansion.static_superheat)
    rounded = 0.5 * (above + np.sqrt(above * above + CLOSING_SPAN**2))
    return np.asarray(expansion.reserve * -np.expm1(-valve_stiffness(expansion) * rounded))


def superheat_for_opening(expansion: Expansion, opening: Array, stiffness: Array | None = None) -> Array:
    """Superheat over static that opens a valve so far; inverse of `valve_opening`.

    No superheat opens a valve beyond its reserve: from `NEARLY_OPEN` of it on the curve goes on in a straight
    line, so that a solver sees by how much a starved valve falls short.

    Parameters
    ----------
    expansion : Expansion
        The valve.
    opening : ndarray
        Over the rated opening [-], above 0.
    stiffness : ndarray, optional
        `valve_stiffness` where it is known already [1/K].

    Returns
    -------
    ndarray
        Superheat over the static one [K], shape of the broadcast inputs.
    """
    stiffness = valve_stiffness(expansion) if stiffness is None else stiffness
    share = np.asarray(opening / expansion.reserve)
    regular = np.minimum(share, NEARLY_OPEN)
    rounded = -np.log1p(-regular) / stiffness
    above = rounded - (0.25 * CLOSING_SPAN**2) / rounded
    return np.asarray(above + (share - regular) / ((1.0 - NEARLY_OPEN) * stiffness))


def valve_stiffness(expansion: Expansion) -> Array:
    """Share of the closed rest of a valve that a kelvin of superheat opens.

    Parameters
    ----------
    expansion : Expansion
        The valve.

    Returns
    -------
    ndarray
        Stiffness [1/K], shape of the valve's numbers.
    """
    reserve = np.asarray(expansion.reserve)
    return np.asarray(np.log(reserve / (reserve - 1.0)) / expansion.opening_superheat)


def flash_gas_factor(quality: Array) -> Array:
    """Share of the liquid's flow that passes with flash gas at the inlet.

    A mixture flashes on in the throat and chokes earlier than its mean density alone would say.

    Parameters
    ----------
    quality : ndarray
        At the inlet [-]; below 0 the liquid is subcooled.

    Returns
    -------
    ndarray
        Factor on the flow [-], 1 for subcooled liquid, shape of `quality`.
    """
    flash = 0.5 * (quality + np.sqrt(quality * quality + SMOOTHING_QUALITY**2))
    return np.asarray(1.0 / (1.0 + FLASH_GAS_PENALTY * flash))


def nozzle_flow(area: Array, density: Array, pressure_difference: Array) -> Array:
    """Flow through an effective area; rounded to a small flow where the pressure difference vanishes.

    Parameters
    ----------
    area : ndarray
        Effective area [m2].
    density : ndarray
        At the inlet [kg/m3].
    pressure_difference : ndarray
        Inlet less outlet [Pa].

    Returns
    -------
    ndarray
        Flow [kg/s], area times sqrt(2 density difference), shape of the broadcast inputs.
    """
    difference = 0.5 * (
        pressure_difference + np.sqrt(pressure_difference * pressure_difference + SMOOTHING_PRESSURE**2)
    )
    return np.asarray(area * np.sqrt(2.0 * density * difference))


def choking_pressure(expansion: Expansion, saturation_pressure: Array, evaporator_pressure: Array) -> Array:
    """Pressure that an orifice feels downstream: between that of the evaporator and the liquid's saturation.

    Parameters
    ----------
    expansion : Expansion
        The device, for its share of choking.
    saturation_pressure : ndarray
        Saturation pressure of the entering liquid [Pa].
    evaporator_pressure : ndarray
        Pressure behind the device [Pa].

    Returns
    -------
    ndarray
        Pressure [Pa], shape of the broadcast inputs.
    """
    choking = np.asarray(expansion.choking)
    return np.asarray(evaporator_pressure + choking * (saturation_pressure - evaporator_pressure))
