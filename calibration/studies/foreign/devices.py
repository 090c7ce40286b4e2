"""Expansion devices by other laws than the product's model.

* *Burnell's orifice*: liquid does not flash before the pressure has fallen to a share of the saturation
  pressure, and the mouth chokes there. It weighs subcooling two to three times as much as the tests of short
  tubes do; the product's model used it once.
* *Leung's orifice*: homogeneous flow in equilibrium, with a specific volume that grows in proportion to the
  fall of pressure below saturation. The critical flow is the largest over all throat pressures.
* *Valve in balance of forces*: the pressure of the bulb's own charge opens it, evaporating pressure and
  spring close it. So the superheat at which it opens grows as the evaporator gets colder.

References
----------
Burnell, Flow of boiling water through nozzles, orifices and pipes, Engineering 164, 1947. Leung, A
generalized correlation for one-component homogeneous equilibrium flashing choked flow, AIChE Journal 32,
1986; Leung, Grolmes, A generalized correlation for flashing choked flow of initially subcooled liquid, AIChE
Journal 34, 1988. The valve: ASHRAE Handbook Refrigeration, chapter Refrigerant-control devices. All from
memory.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from model.arrays import Array, Number
from model.properties.refrigerant import Refrigerant

FLASHING_SHARE = 0.85
"""Share of the saturation pressure at which Burnell's mouth chokes [-]."""
THROATS = np.linspace(0.3, 0.999, 60)
"""Throat pressures over the inlet's that are tried for the largest flow [-]."""
SOFT = 2.0e4
"""Pressure difference under which flows are rounded off [Pa]."""
SOFT_SUPERHEAT = 0.03
"""Force, over that at rated opening, over which the valve's closing point is rounded [-]."""


class BeforeDevice(NamedTuple):
    """Before a device.

    Pressure [Pa], temperature of the liquid [K], quality [-] (below 0 where subcooled), density of the liquid
    [kg/m3] and its heat capacity [J/(kg K)].
    """

    pressure: Array
    temperature: Array
    quality: Array
    density: Array
    heat_capacity: Array


def burnell_flux(fluid: Refrigerant, inlet: BeforeDevice) -> Array:
    """Mass flux of an orifice that chokes at a share of the saturation pressure.

    Parameters
    ----------
    fluid : Refrigerant
        The refrigerant.
    inlet : BeforeDevice
        Before it.

    Returns
    -------
    ndarray
        [kg/(m2 s)], shape of the inlet; a discharge coefficient is left to its area.

    References
    ----------
    Burnell 1947 (from memory).
    """
    saturation = np.minimum(fluid.bubble_pressure(inlet.temperature), inlet.pressure)
    difference = inlet.pressure - FLASHING_SHARE * saturation
    return np.asarray(np.sqrt(2.0 * _mixture(fluid, inlet) * np.maximum(difference, SOFT)))


def leung_flux(fluid: Refrigerant, inlet: BeforeDevice) -> Array:
    """Critical mass flux of homogeneous flow in equilibrium from subcooled liquid or a mixture.

    Parameters
    ----------
    fluid : Refrigerant
        The refrigerant.
    inlet : BeforeDevice
        Before it.

    Returns
    -------
    ndarray
        [kg/(m2 s)], shape of the inlet.

    References
    ----------
    Leung 1986; Leung, Grolmes 1988 (from memory).
    """
    flashing = np.minimum(fluid.bubble_pressure(inlet.temperature), inlet.pressure)
    line = fluid.saturation(flashing)
    volume = 1.0 / _mixture(fluid, inlet)
    growth = 1.0 / line.vapour_density - 1.0 / inlet.density
    latent = line.vapour_enthalpy - line.liquid_enthalpy
    quality = np.maximum(inlet.quality, 0.0)
    omega = (
        quality * growth / volume
        + inlet.heat_capacity * inlet.temperature * flashing / volume * (growth / latent) ** 2
    )
    throat = THROATS.reshape(-1, *(1,) * np.ndim(inlet.pressure)) * inlet.pressure
    below = np.minimum(throat, flashing)
    swollen = omega * (flashing / below - 1.0) + 1.0
    work = inlet.pressure - np.maximum(throat, flashing)
    work = work + omega * flashing * np.log(flashing / below) - (omega - 1.0) * (flashing - below)
    flux = np.sqrt(2.0 * np.maximum(work, 0.0) / volume) / swollen
    return np.asarray(flux.max(axis=0))


def _mixture(fluid: Refrigerant, inlet: BeforeDevice) -> Array:
    """Density of liquid and bubbles moving together [kg/m3]."""
    quality = np.maximum(inlet.quality, 0.0)
    gas = fluid.saturation(inlet.pressure).vapour_density
    return np.asarray(1.0 / (quality / gas + (1.0 - quality) / inlet.density))


class Spring(NamedTuple):
    """What sets a valve: the spring closed, what opens it to its rating [Pa], fully open over rated."""

    closed: Number
    rated: Number
    reserve: Number


def valve_opening(fluid: Refrigerant, evaporating: Array, bulb: Array, spring: Spring) -> Array:
    """Opening of a valve over its rated one by the forces on its diaphragm.

    Parameters
    ----------
    fluid : Refrigerant
        The refrigerant, which is the bulb's charge too.
    evaporating : ndarray
        Pressure at the coil's exit [Pa].
    bulb : ndarray
        Temperature that the bulb feels [K].
    spring : Spring
        How it is set.

    Returns
    -------
    ndarray
        Opening [-], above 0, shape of the broadcast inputs.

    References
    ----------
    ASHRAE Handbook Refrigeration (balance of forces; from memory); how it levels off is set here.
    """
    force = (fluid.dew_pressure(bulb) - evaporating - spring.closed) / spring.rated
    above = 0.5 * (force + np.sqrt(force * force + SOFT_SUPERHEAT**2))
    return np.asarray(spring.reserve * np.tanh(above * np.arctanh(1.0 / np.asarray(spring.reserve))))
