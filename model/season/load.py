"""Cooling load of the building that one unit serves, entry by entry of a weather year.

Three ways to state it: a straight line from the outdoor temperature at which no cooling is needed to the load
on the design day; the load line of AHRI 210/240; or the user's own hourly values.

Assumptions: the load follows the outdoor temperature of the same entry (no sun, no storage); its latent part
is a fixed share unless it is given. Loads are net of the indoor blower's heat, as the net capacity is.

Sources: AHRI 210/240, building load line BL(T) = (T - 65) / (95 - 65) Q(95) / 1.1, degF (seen second-hand in
open code).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array

AHRI_BALANCE_TEMPERATURE = (65.0 + 459.67) / 1.8
"""Outdoor temperature of no load [K] (AHRI 210/240: 65 degF)."""
AHRI_DESIGN_TEMPERATURE = (95.0 + 459.67) / 1.8
"""Outdoor temperature at which the rated capacity is taken [K] (AHRI 210/240: 95 degF)."""
AHRI_SIZING_FACTOR = 1.1
"""Rated capacity over the building's load at the design temperature [-] (AHRI 210/240)."""
LATENT_SHARE = 0.25
"""Latent share of a cooling load where none is given [-]; common practice, no source."""


@dataclass(frozen=True)
class CoolingLoad:
    """Heat and moisture that the unit has to remove.

    Attributes
    ----------
    sensible : ndarray, shape (entries,)
        Sensible load [W], not below 0.
    latent : ndarray, shape (entries,)
        Latent load [W], not below 0.
    gain_coefficient : float
        Rise of the load with the indoor-outdoor temperature difference [W/K]; 0 where it is not known. It
        turns a shortfall of cooling into a rise of the room temperature.
    """

    sensible: Array
    latent: Array
    gain_coefficient: float = 0.0

    @property
    def total(self) -> Array:
        """Sensible and latent load [W], shape (entries,)."""
        return self.sensible + self.latent


def line_load(
    temperature: ArrayLike,
    balance_temperature: float,
    design_temperature: float,
    design_load: float,
    latent_share: float = LATENT_SHARE,
) -> CoolingLoad:
    """Load on a straight line through the balance temperature and the design day.

    Parameters
    ----------
    temperature : array_like, shape (entries,)
        Outdoor dry-bulb temperature [K].
    balance_temperature : float
        Outdoor temperature at and below which no cooling is needed [K].
    design_temperature : float
        Outdoor temperature of the design day [K], above `balance_temperature`.
    design_load : float
        Total load on the design day [W], > 0.
    latent_share : float
        Latent part of the total load [-], in [0, 1).

    Returns
    -------
    CoolingLoad

    Raises
    ------
    ValueError
        Where the line does not rise or a value is out of range.
    """
    if not design_temperature > balance_temperature:
        raise ValueError(
            f"design_temperature must lie above balance_temperature ({balance_temperature:g} K), "
            f"got {design_temperature:g}"
        )
    if not (design_load > 0.0 and np.isfinite(design_load)):
        raise ValueError(f"design_load must be above 0 W, got {design_load:g}")
    slope = design_load / (design_temperature - balance_temperature)
    air = np.asarray(temperature, dtype=float)
    return _split(slope * np.maximum(air - balance_temperature, 0.0), latent_share, slope)


def _split(total: Array, latent_share: float, total_slope: float) -> CoolingLoad:
    """A total load [W] parted into sensible and latent."""
    if not 0.0 <= latent_share < 1.0:
        raise ValueError(f"latent_share must lie in [0, 1), got {latent_share:g}")
    return CoolingLoad(total * (1.0 - latent_share), total * latent_share, total_slope)


def ahri_load(
    temperature: ArrayLike, rated_capacity: float, latent_share: float = LATENT_SHARE
) -> CoolingLoad:
    """Load line of the rating standard.

    Parameters
    ----------
    temperature : array_like, shape (entries,)
        Outdoor dry bulb [K].
    rated_capacity : float
        Capacity of the unit at 95 degF outdoors [W], above 0.
    latent_share : float
        Latent part of the total [-].

    Returns
    -------
    CoolingLoad
        Load of each entry [W].

    Raises
    ------
    ValueError
        Where the capacity is not above 0.

    References
    ----------
    AHRI 210/240, BL(T) = (T - 65) / (95 - 65) Q(95) / 1.1 with T in degF.
    """
    if not (rated_capacity > 0.0 and np.isfinite(rated_capacity)):
        raise ValueError(f"rated_capacity must be above 0 W, got {rated_capacity:g}")
    return line_load(
        temperature,
        AHRI_BALANCE_TEMPERATURE,
        AHRI_DESIGN_TEMPERATURE,
        rated_capacity / AHRI_SIZING_FACTOR,
        latent_share,
    )


def given_load(
    total: ArrayLike, latent: ArrayLike | None = None, latent_share: float = LATENT_SHARE
) -> CoolingLoad:
    """Load from the user's own values.

    Parameters
    ----------
    total : array_like, shape (entries,)
        Total load [W], not below 0.
    latent : array_like, shape (entries,), optional
        Latent load [W], between 0 and `total`; left out, `latent_share` of the total.
    latent_share : float
        Latent part of the total load [-], in [0, 1), where `latent` is left out.

    Returns
    -------
    CoolingLoad
        With no `gain_coefficient`: the values do not define it.

    Raises
    ------
    ValueError
        Where a load is negative, not finite, or its latent part larger than the whole.
    """
    load = np.asarray(total, dtype=float)
    if not (np.all(np.isfinite(load)) and np.all(load >= 0.0)):
        raise ValueError(f"total must be 0 W or more everywhere, got {load.min():g}")
    if latent is None:
        return _split(load, latent_share, 0.0)
    moisture = np.asarray(latent, dtype=float)
    if not np.all((moisture >= 0.0) & (moisture <= load)):
        raise ValueError("latent must lie between 0 W and the total load in every entry")
    return CoolingLoad(load - moisture, moisture, 0.0)


def without_economiser_hours(load: CoolingLoad, temperature: ArrayLike, changeover: float) -> CoolingLoad:
    """What is left for the compressor where outdoor air cools below a changeover temperature.

    Parameters
    ----------
    load : CoolingLoad
        Of every entry.
    temperature : array_like, shape (entries,)
        Outdoor dry bulb [K].
    changeover : float
        Outdoor temperature below which the economiser takes the whole load [K].

    Returns
    -------
    CoolingLoad
        0 in the entries that are colder.
    """
    left = np.asarray(temperature, dtype=float) >= changeover
    return replace(load, sensible=load.sensible * left, latent=load.latent * left)


def drawn_load(
    load: CoolingLoad, temperature: ArrayLike, factor: ArrayLike, warmer: ArrayLike
) -> CoolingLoad:
    """A load larger by a factor, in air that is warmer.

    Where the load has a `gain_coefficient`, warmer air adds to it, also in entries a little below the
    temperature of no load; a load given hour by hour only takes the factor.

    Parameters
    ----------
    load : CoolingLoad
        As it is.
    temperature : array_like, shape (entries,)
        Outdoor temperature for which it holds [K].
    factor : array_like, shape () or (samples, 1)
        Load over that load [-], above 0.
    warmer : array_like, shape () or (samples, 1)
        Rise of the outdoor temperature [K].

    Returns
    -------
    CoolingLoad
        Of shape (entries,) or (samples, entries).

    Raises
    ------
    ValueError
        Where a factor is not above 0.
    """
    times, rise = np.asarray(factor, dtype=float), np.asarray(warmer, dtype=float)
    if not np.all(times > 0.0):
        raise ValueError(f"factor must be above 0, got {times.min():g}")
    total, gain, air = load.total, load.gain_coefficient, np.asarray(temperature, dtype=float)
    cooled = total > 0.0
    if gain > 0.0 and cooled.any() and np.any(rise != 0.0):
        balance = float(np.mean(air[cooled] - total[cooled] / gain))
        line = np.where(cooled, total, np.minimum(gain * (air - balance), 0.0))
        total = np.maximum(line + gain * rise, 0.0)
    whole = float(load.total.sum())
    usual = float(load.latent.sum()) / whole if whole > 0.0 else 0.0
    share = np.divide(load.latent, load.total, out=np.full(load.total.shape, usual), where=cooled)
    return CoolingLoad(times * total * (1.0 - share), times * total * share, gain * float(np.mean(times)))
