"""Gross errors: which readings may be wrong altogether, how often, and what an error in each does.

A gross error is a mistake, not the scatter of a meter: a wick that is dry, a clamp on a dirty pipe, one leg
for two, a traverse cut short. Its size e, in standard errors of the reading, is not known beforehand: it has
the density e^2 exp(-e^2 / 2 s^2) with one of the s of `SIZES`, likeliest at 1.4 s on either side and zero at
e = 0, because an error within the meter's scatter is no mistake. Beside the readings stands one state of the
unit that behaves alike: a thermostatic valve that sticks or hunts holds another superheat on this day than on
the clean visit.

How often each kind happens and how large it is: judgement, no source; `coiltoll study readings` and `coiltoll
study causes` show what they lead to. Wet bulbs, airflows and clamped probes go wrong more often than gauges.

References
----------
Cook and Weisberg, Residuals and Influence in Regression, 1982, ch. 2 (mean-shift outlier model; from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from calibration.clean_fit.parameters import NAMES
from calibration.diagnosis.visit_model import BLOWER, DAY_TO_DAY, PARAMETERS, STANDING, Scene
from model.arrays import Array, IndexArray
from model.properties import moist_air

SIZES = {8.0: 0.8, 30.0: 0.2}
"""Sizes s of gross errors, in standard errors of the reading, and the share of each [-]: four in five lie
between 5 and 20, the others are larger."""
FREE = 60.0
"""Spread of a reading that is set free, in its standard errors [-]."""
HUNTING_VALVE = "hunting_valve"
"""Key of the valve that holds another superheat than on the clean visit."""
HUNTING_PRIOR = 0.025
"""Probability of that before any reading [-]."""
PRIORS: dict[str, float] = {
    "suction_pressure": 0.010,
    "liquid_pressure": 0.010,
    "discharge_pressure": 0.010,
    STANDING: 0.020,
    "suction_temperature": 0.030,
    "liquid_temperature": 0.030,
    "discharge_temperature": 0.025,
    "outdoor_db": 0.015,
    "return_db": 0.010,
    "supply_db": 0.020,
    "condenser_leaving_db": 0.025,
    "return_wb": 0.035,
    "supply_wb": 0.040,
    "return_rh": 0.030,
    "supply_rh": 0.035,
    "return_dewpoint": 0.030,
    "supply_dewpoint": 0.035,
    "indoor_airflow": 0.040,
    "indoor_airflow_standard": 0.040,
    "outdoor_power": 0.015,
    "compressor_power": 0.015,
    "outdoor_fan_power": 0.015,
    "indoor_power": 0.015,
}
"""Probability that a reading is grossly wrong, before any reading is looked at [-]: about one visit in three
has one among some fourteen readings."""


HIGH: dict[str, float] = {"return_wb": 0.85, "supply_wb": 0.85}
"""Probability that a gross error makes the reading too high [-], where it is not one half: a dry wick or
still air makes a wet bulb read high, hardly ever low. Common practice, no source."""


@dataclass(frozen=True)
class GrossErrors:
    """What may be grossly wrong at one visit, and which way each error moves the rows.

    Attributes
    ----------
    names : tuple of str
        Keys of readings, or `HUNTING_VALVE`.
    odds : ndarray, shape (errors,)
        Prior odds of each [-].
    positive : ndarray, shape (errors,)
        Probability that the size of the error, as `directions` counts it, is positive [-].
    spread : ndarray, shape (errors,)
        Standard error of the reading, in the unit of its row or setting [SI].
    rows, latents : ndarray of int, shape (errors,)
        Row of the reading itself, and latent number that it sets; -1 for none.
    ends : ndarray, shape (errors, 2)
        Lowest and highest size that the air allows, in standard errors [-]; infinite where it allows any.
    """

    names: tuple[str, ...]
    odds: Array
    positive: Array
    spread: Array
    rows: IndexArray
    latents: IndexArray
    ends: Array

    @property
    def none_prior(self) -> float:
        """Logarithm of the probability of no gross error at all."""
        return float(-np.log1p(self.odds).sum())

    def directions(self, taken: IndexArray, slopes: Array) -> Array:
        """What an error of one standard error does to measured less expected of the rows taken.

        Parameters
        ----------
        taken : ndarray of int, shape (n,)
            Rows that count.
        slopes : ndarray, shape (points, n, latents)
            Of these rows by each latent number.

        Returns
        -------
        ndarray, shape (points, n, errors)
            In the units of the rows.
        """
        of_reading = (taken[:, None] == self.rows) * self.spread
        # A setting that was read too high makes the model expect too much: the reading's own row, where it
        # has one, moves the other way.
        side = np.where(self.rows >= 0, -1.0, 1.0) * self.spread
        of_latent = (np.arange(slopes.shape[-1])[:, None] == self.latents) * side
        by_setting = slopes.reshape(-1, len(of_latent)) @ of_latent
        return np.asarray(of_reading + by_setting.reshape(*slopes.shape[:2], len(self.names)))


def gross_errors(place: Scene) -> GrossErrors:
    """Gross errors that are possible at a visit: of every reading that was taken.

    Parameters
    ----------
    place : Scene
        The visit.

    Returns
    -------
    GrossErrors
        Readings in the order of the rows, then settings, then the valve where there is one.
    """
    found: list[tuple[str, float, float, int, int]] = []
    for row in place.readings:
        name = place.names[row]
        latent = PARAMETERS + 1 + place.setting_names.index(name) if name == BLOWER else -1
        found.append((name, PRIORS[name], place.meter[row], int(row), latent))
    first = len(place.names) - place.setting_rows
    for number, name in enumerate(place.setting_names[: place.setting_rows]):
        if place.taken[first + number]:
            found.append((name, PRIORS[name], place.meter[first + number], -1, PARAMETERS + 1 + number))
    if place.baseline.generic.expansion.kind == "TXV" and place.readings.size:
        valve = NAMES.index("static_superheat")
        found.append((HUNTING_VALVE, HUNTING_PRIOR, DAY_TO_DAY["static_superheat"], -1, valve))
    names, priors, spread, rows, latents = zip(*found, strict=True)
    share = np.array(priors)
    high = np.array([HIGH.get(name, 0.5) for name in names])
    of_reading = np.array(rows) >= 0
    return GrossErrors(
        names,
        share / (1.0 - share),
        np.where(of_reading, high, 1.0 - high),  # a setting read too high should have been lower
        np.array(spread),
        np.array(rows),
        np.array(latents),
        np.array([_ends(place, name, size) for name, size in zip(names, spread, strict=True)]),
    )


def _ends(place: Scene, name: str, spread: float) -> tuple[float, float]:
    """Sizes of an error that leave the return air between bone-dry and saturated, within a standard error."""
    if name not in ("return_db", "return_wb") or "return_wb" not in place.setting_names:
        return -np.inf, np.inf
    dry, wet = place.settings["return_db"], place.settings["return_wb"]
    pressure = place.visit.ambient_pressure
    if name == "return_wb":
        lowest, highest = float(moist_air.wet_bulb(dry, 0.0, pressure)) - wet, dry - wet
    else:
        lowest, highest = wet - dry, float(hottest_dry_bulb(wet, pressure)) - dry
    return lowest / spread - 1.0, highest / spread + 1.0


def hottest_dry_bulb(wet_bulb: ArrayLike, ambient_pressure: float) -> Array:
    """Dry bulb of bone-dry air with a wet bulb.

    Parameters
    ----------
    wet_bulb : array_like
        [K], any shape.
    ambient_pressure : float
        Barometric pressure [Pa].

    Returns
    -------
    ndarray
        [K], shape of `wet_bulb`, at most 60 K above the lowest.
    """
    wet = np.asarray(wet_bulb, dtype=float)
    line = wet.min() + np.linspace(0.0, 60.0, 121)
    return np.asarray(np.interp(wet, moist_air.wet_bulb(line, 0.0, ambient_pressure), line))
