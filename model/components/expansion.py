"""Expansion device: the flow a thermostatic valve or a fixed orifice passes.

* the *thermostatic valve* is a nozzle, flow = area * sqrt(2 * density * pressure difference), that opens with
  the superheat at its bulb above the static superheat of its spring, and levels off towards fully open, half
  above its rated opening: then it is starved and superheat rises freely. Flash gas at its inlet cuts
  the flow;
* the *fixed orifice* is a short tube in which the liquid flashes and chokes, so that upstream pressure,
  subcooling or quality set its flow, and the evaporator hardly. Its mass flux follows the correlation of
  Payne and O'Neal in dimensionless groups, one for subcooled liquid and a factor for flash gas at the inlet,
  here joined without a corner where the first bubbles appear.

Both can feed too much. An orifice does so by its area alone. A valve's area it makes good itself by closing,
so what shows is the superheat at which it does: a bulb loose or uninsulated reads warmer than the pipe, a
slack spring opens at a lower superheat, and both let the valve regulate that much lower, at last on wet gas.

References
----------
Payne and O'Neal, A mass flow rate correlation for refrigerants and refrigerant mixtures flowing through short
tubes, HVAC&R Research 10(1), 2004: about 1,200 points of R-12, R-134a, R-502, R-22, R-407C and R-410A. Its
coefficients were read second-hand, not in the paper. What could be checked of them is in
`tests/model/components/test_expansion.py`: the two laws meet at the bubble point, the flow grows by 1.6 to
2.4 % a kelvin of subcooling, and a 3-ton unit gets a bore of the size that such units have.
Static superheat of 3 to 5 K and a reserve of 20 to 50 % over rated flow: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np

from model.arrays import Array, Number

ExpansionKind = Literal["TXV", "fixed orifice"]

FLASH_GAS_PENALTY = 7.0
"""Fall of a valve's flow with inlet quality [-]: no published value was found. Mean density of a homogeneous
mixture alone would give 4 to 6, and of 7, 8 and 9 the first comes closest to the low charges of NIST
TN 1848."""

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

SMOOTHING_SUBCOOLING = 0.4
"""Subcooling over which the same is rounded off [K]."""

SMOOTHING_PRESSURE = 2.0e4
"""Width over which a vanishing pressure difference is rounded off [Pa]; far below any working difference."""


LENGTH_RATIO = 7.0
"""Length of a piston's bore over its diameter where none is known [-]: 1/2 inch over 0.07 (common practice,
no source)."""
CORRELATED_SUBCOOLING = 14.0
"""Subcooling up to which the correlation is taken at its word [K], about where its data end (from memory);
beyond it the flux goes on by `SUBCOOLING_SLOPE`, where the formula itself would run away."""
SUBCOOLING_SLOPE = 0.02
"""Rise of the flux beyond it, over that at its end [1/K]: the middle of the slopes within the data."""
SUBCOOLING_ROUNDING = 2.0
"""Width over which that end is rounded off [K]."""
SMALLEST_GROUP = 0.02
"""Numerator of the flux below which it is rounded off [-]; 0.3 to 0.8 in use."""
REDUCED_PRESSURES = 0.2, 0.95
"""Reduced upstream pressures beyond which the flash-gas factor is taken at the nearer one [-]: colder than
air conditioners condense, and next to the critical point."""
LARGEST_DENSITY_RATIO = 30.0
"""Liquid over vapour density beyond which the flash-gas factor is taken at it [-]; R-134a at 30 degC."""
LARGEST_QUALITY = 0.7
"""Inlet quality beyond which the flash-gas factor stays as it is [-]."""
CHOKED_SHARE = 0.1
"""Pressure difference over upstream pressure in whose multiples a tube becomes choked [-]: at 3 it passes 97
% (common practice, no source; the correlation is of choked tubes)."""


@dataclass(frozen=True)
class Expansion:
    """What one expansion device is; numbers may be arrays, one a unit.

    Attributes
    ----------
    kind : "TXV" or "fixed orifice"
    area : float or array
        Cross-section of an orifice's bore, or a valve's effective area at rated opening, discharge
        coefficient included [m2].
    static_superheat : float or array
        Superheat at which the valve starts to open [K].
    opening_superheat : float or array
        Superheat above static at rated opening [K].
    reserve : float or array
        Fully open over rated opening [-], above 1.
    length_ratio : float or array
        Length of an orifice's bore over its diameter [-].
    """

    kind: ExpansionKind
    area: Number
    static_superheat: Number = 5.0
    opening_superheat: Number = 3.0
    reserve: Number = 1.5
    length_ratio: Number = LENGTH_RATIO


class Upstream(NamedTuple):
    """Refrigerant before an orifice; arrays that broadcast.

    pressure [Pa]; saturation_pressure: of the liquid at its temperature, raised by what
    `correlated_subcooling` leaves out [Pa]; subcooling: bubble point less temperature [K], quality [-], each
    negative where the other is not; liquid_density [kg/m3]; vapour_density: of dew gas at `pressure` [kg/m3];
    critical_pressure [Pa] and critical_temperature [K] of the refrigerant.
    """

    pressure: Array
    saturation_pressure: Array
    subcooling: Array
    quality: Array
    liquid_density: Array
    vapour_density: Array
    critical_pressure: Number
    critical_temperature: Number


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

    References
    ----------
    Levelling off above the rated opening: common practice, no source. The exponential form is derived here.
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

    References
    ----------
    Derived here, as the inverse of `valve_opening`.
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

    References
    ----------
    Derived here from `valve_opening` being 1 at the rated superheat.
    """
    reserve = np.asarray(expansion.reserve)
    return np.asarray(np.log(reserve / (reserve - 1.0)) / expansion.opening_superheat)


def flash_gas_factor(quality: Array) -> Array:
    """Share of the liquid's flow that passes a valve with flash gas at the inlet.

    A mixture flashes on in the throat and chokes earlier than its mean density alone would say.

    Parameters
    ----------
    quality : ndarray
        At the inlet [-]; below 0 the liquid is subcooled.

    Returns
    -------
    ndarray
        Factor on the flow [-], 1 for subcooled liquid, shape of `quality`.

    References
    ----------
    Form derived here; its size is that of `FLASH_GAS_PENALTY`.
    """
    return np.asarray(1.0 / (1.0 + FLASH_GAS_PENALTY * _rounded(quality, SMOOTHING_QUALITY)))


def _rounded(value: Array, width: float) -> Array:
    """The value where it is positive and nothing elsewhere, without a corner."""
    return np.asarray(0.5 * (value + np.sqrt(value * value + width * width)))


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

    References
    ----------
    Bernoulli's equation: definition of an effective area. The rounding is derived here.
    """
    difference = _rounded(pressure_difference, SMOOTHING_PRESSURE)
    return np.asarray(area * np.sqrt(2.0 * density * difference))


def orifice_flow(expansion: Expansion, area: Array, upstream: Upstream, downstream_pressure: Array) -> Array:
    """Flow through a fixed orifice, above 0 and smooth for any state before and behind it.

    Parameters
    ----------
    expansion : Expansion
        For the length of its bore.
    area : ndarray
        Cross-section of the bore [m2].
    upstream : Upstream
        State before it.
    downstream_pressure : ndarray
        Behind it [Pa].

    Returns
    -------
    ndarray
        Flow [kg/s], shape of the broadcast inputs.

    References
    ----------
    Payne and O'Neal, HVAC&R Research 10(1), 2004 (second-hand), as joined in this module.
    """
    log_length = np.log(np.asarray(expansion.length_ratio))
    flux = subcooled_flux(upstream, log_length) * quality_factor(upstream, log_length)
    difference = _rounded(upstream.pressure - downstream_pressure, SMOOTHING_PRESSURE)
    choked = np.sqrt(-np.expm1(-difference / (CHOKED_SHARE * upstream.pressure)))
    return np.asarray(area * flux * choked)


def correlated_subcooling(subcooling: Array) -> tuple[Array, Array]:
    """Subcooling that the correlation is asked for, and what lies beyond its data.

    Parameters
    ----------
    subcooling : ndarray
        Before the orifice [K], negative where bubbles enter.

    Returns
    -------
    (ndarray, ndarray)
        Both [K], above 0, their sum the subcooling with its corners rounded off.

    References
    ----------
    Derived here from the range of the data of Payne and O'Neal 2004.
    """
    beyond = _rounded(subcooling - CORRELATED_SUBCOOLING, SUBCOOLING_ROUNDING)
    return _rounded(subcooling, SMOOTHING_SUBCOOLING) - beyond, beyond


def subcooled_flux(upstream: Upstream, log_length: Array) -> Array:
    """Mass flux of a choked short tube fed with liquid; that at the bubble point where bubbles enter.

    Parameters
    ----------
    upstream : Upstream
        State before the tube.
    log_length : ndarray
        ln of its length over its diameter [-].

    Returns
    -------
    ndarray
        Flux [kg/(m2 s)], shape of the broadcast inputs.

    References
    ----------
    Payne and O'Neal 2004, groups 3, 6, 9 and 10 (coefficients second-hand).
    """
    subcooling, beyond = correlated_subcooling(upstream.subcooling)
    difference = _rounded(upstream.pressure - upstream.saturation_pressure, SMOOTHING_PRESSURE)
    pi3 = difference / upstream.critical_pressure
    pi9 = subcooling / upstream.critical_temperature
    # Its densities are those of saturation at the liquid's temperature; gas thins about with its pressure.
    pi6 = upstream.vapour_density / upstream.liquid_density * (1.0 - difference / upstream.pressure)
    group = 0.38811 + 11.427 * pi3 - 14.194 * pi9 + 1.0703 * pi6 - 0.091928 * log_length
    # Far below any condensing pressure a long bore's group would vanish.
    group = _rounded(group, SMALLEST_GROUP) / (1.0 + 21.425 * pi3 - 581.95 * pi9 * pi9)
    scale = np.sqrt(upstream.liquid_density * upstream.critical_pressure)
    return np.asarray(group * scale * (1.0 + SUBCOOLING_SLOPE * beyond))


def quality_factor(upstream: Upstream, log_length: Array) -> Array:
    """Flux of a choked short tube fed with liquid and bubbles over that at the bubble point.

    The published factor comes within some per cent of 1 at the bubble point and is held at 1 where it lies
    above; here it is divided by its own value there, so that it begins at 1 for every refrigerant.

    Parameters
    ----------
    upstream : Upstream
        State before the tube.
    log_length : ndarray
        ln of its length over its diameter [-].

    Returns
    -------
    ndarray
        Factor [-], 1 for subcooled liquid, shape of the broadcast inputs.

    References
    ----------
    Payne and O'Neal 2004, groups 6, 28, 32, 34 and 35 (coefficients second-hand). In a mixture of liquid and
    vapour the saturation pressure is the pressure, so that groups 32 and 35 are one.
    """
    quality = np.minimum(_rounded(upstream.quality, SMOOTHING_QUALITY), LARGEST_QUALITY)
    reduced = np.clip(upstream.pressure / upstream.critical_pressure, *REDUCED_PRESSURES)
    densities = np.minimum(upstream.liquid_density / upstream.vapour_density, LARGEST_DENSITY_RATIO)
    mean = 1.0 / (1.0 + quality * (densities - 1.0))
    pi34 = quality / (1.0 - quality) * np.sqrt(densities)
    log_mean, log_rest = np.log(mean), np.log(1.0 - reduced)
    constant = (9.8401 - 14.639) * log_rest * log_rest - 0.019798 * log_length * log_length
    cubic = 1.0 - 17.195 * reduced * reduced * reduced
    above = 1.1831 * mean - 1.468 * mean * mean - 0.15285 * log_mean * log_mean + constant
    below = cubic - 1.5348 * mean - 2.0533 * pi34
    return np.asarray(above / below * ((cubic - 1.5348) / (1.1831 - 1.468 + constant)))
