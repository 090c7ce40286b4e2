"""How much liquid two-phase flow holds, by two void-fraction models that the product's model does not use.

References
----------
Smith, Void fractions in two-phase flow: a correlation based upon an equal velocity head model, Proceedings of
the Institution of Mechanical Engineers 184, 1969 (entrained share 0.4; from memory). Rouhani, Axelsson,
Calculation of void volume fraction in the subcooled and quality boiling regions, International Journal of
Heat and Mass Transfer 13, 1970 (drift flux, horizontal tubes; from memory). Both slip models of the usual
surveys of charge prediction (Rice 1987, from memory).
"""

from __future__ import annotations

from typing import Literal

import numpy as np

from model.arrays import Array

Holdup = Literal["equal velocity head", "drift flux"]

HOLDUPS: tuple[Holdup, ...] = ("equal velocity head", "drift flux")
ENTRAINED = 0.4
"""Share of the liquid that travels with the gas [-] (Smith 1969)."""
GRAVITY = 9.81
SURFACE_TENSION = 6e-3
"""Of a refrigerant between evaporating and condensing [N/m]: R-410A from 8e-3 to 4e-3 (from memory); the
drift grows with its fourth root only."""
SMALLEST_QUALITY = 1e-6


def void_fraction(
    kind: Holdup, quality: Array, liquid_density: Array, vapour_density: Array, flux: Array
) -> Array:
    """Share of the volume that is vapour.

    Parameters
    ----------
    kind : str
        One of `HOLDUPS`.
    quality : ndarray
        Share of the flow that is vapour [-]; held in [0, 1].
    liquid_density, vapour_density : ndarray
        Of the saturated phases [kg/m3].
    flux : ndarray
        Mass flux in the tubes [kg/(m2 s)], above 0; the first model has no use for it.

    Returns
    -------
    ndarray
        Void fraction [-], in [0, 1], shape of the broadcast inputs.

    References
    ----------
    Smith 1969; Rouhani, Axelsson 1970 (both from memory).
    """
    share = np.minimum(np.maximum(quality, SMALLEST_QUALITY), 1.0)
    wet = 1.0 - share
    if kind == "equal velocity head":
        carried = ENTRAINED * wet / share
        head = np.sqrt((liquid_density / vapour_density + carried) / (1.0 + carried))
        slip = ENTRAINED + (1.0 - ENTRAINED) * head
        return np.asarray(share / (share + wet * slip * vapour_density / liquid_density))
    lift = (GRAVITY * SURFACE_TENSION * (liquid_density - vapour_density)) ** 0.25
    mean = (1.0 + 0.12 * wet) * (share / vapour_density + wet / liquid_density)
    drift = 1.18 * wet * lift / (flux * np.sqrt(liquid_density))
    return np.asarray(share / vapour_density / (mean + drift))
