"""Daily visits as one linear system: the level day by day, and everything that all days have in common.

What a day reads is what the cycle expects at its level, plus

* the unit's parameters and the day's airflow and return air, as far as the fit leaves them open,
* an offset of every reading that never changes (its meter's and the model's error), and one that follows the
  outdoor temperature (the model's error again: seasons must not look like growth),
* a slow drift of every sensor, an error of what the fault changes in each reading, and one of the level,
* what changes from day to day, and scatter.

Only the last averages away over the days; all others are unknowns of their own, with the spreads of the
diagnosis. The system is linear around the present level of each day.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import PchipInterpolator

from calibration.clean_fit.parameters import NAMES
from calibration.diagnosis.scene import DAY_TO_DAY_AIRFLOW
from calibration.diagnosis.visit_model import DAY_TO_DAY, PARAMETERS, RESPONSE_SPREAD
from calibration.track.days import LEVELS, Days, own_spreads
from model.arrays import Array, BoolArray, IntArray

DRIFT = 0.3
"""Drift of a sensor in a year that nobody would notice, over its standard accuracy [-]; common practice, no
source."""
SEASON_SHARE = 0.5
"""Share of the model's own error that follows 10 K of outdoor temperature [-]; judgement, no source."""
SEASON_SPAN = 10.0
"""[K]"""
REPEATABILITY = 0.2
"""Error of a reading that changes from day to day, over its standard accuracy [-]; common practice, no
source."""
COMMON_RESPONSE = 0.1
"""Error of the level itself, as a share of it [-]: how the outdoor fan answers to a blocked face differs from
fan to fan, so that all readings change as at another level. The units of `calibration.studies.true_units`
differ by 0.1 (own trials)."""
AIRFLOW = "airflow"
UNREAD_DAILY = 0.7
"""DatedChange from day to day of return air that was not read, over its spread [-]; judgement, no source."""


@dataclass(frozen=True)
class System:
    """The days of all stages, sorted by time, around the present level of each.

    Attributes
    ----------
    seconds, years : ndarray, shape (n,)
        Since 1970 [s], [a].
    node : ndarray of int, shape (n,)
        Place of the day among the different days.
    level : ndarray, shape (n,)
        Around which it is linear [-].
    off : ndarray, shape (n, rows)
        Readings less what is expected at level 0 along the line; over the noise.
    slope : ndarray, shape (n, rows)
        By the level, over the noise.
    columns : ndarray, shape (n, rows, unknowns)
        By what all days have in common, over the noise.
    precision : ndarray, shape (unknowns, unknowns)
        Inverse of the prior covariance of those; their prior mean is 0.
    directions : dict of str to ndarray, shape (n, rows)
        What one unit more of a reading, a setting or a parameter does, over the noise.
    count : ndarray of int, shape (n,)
        Readings of each day.
    """

    seconds: Array
    years: Array
    node: IntArray
    level: Array
    off: Array
    slope: Array
    columns: Array
    precision: Array
    directions: dict[str, Array]
    count: IntArray


def linear_system(
    stages: Sequence[Days],
    levels: Sequence[Array],
    forms: Sequence[Array],
    wide: Sequence[Array],
    rough: Sequence[Array],
) -> System:
    """The system around given levels.

    Parameters
    ----------
    stages : sequence of Days
        At least one.
    levels : sequence of ndarray, shape (n,) each
        Level of each day [-].
    forms : sequence of ndarray, shape (n,) each
        The same without its wander [-].
    wide : sequence of ndarray, shape (n,) each
        Factor on the noise of each day [-], 1 for a day like any other.
    rough : sequence of ndarray, shape (rows, rows) each
        Covariance of the noise over the model's [-], `calibration.track.track.shown_noise`.

    Returns
    -------
    System
        All stages together.
    """
    parts = [_part(*one) for one in zip(stages, levels, forms, wide, rough, strict=True)]
    rows = max(part.off.shape[1] for part in parts)
    own = [part.columns.shape[2] - PARAMETERS for part in parts]
    total = PARAMETERS + sum(own)
    names = dict.fromkeys(name for part in parts for name in part.directions)
    seconds = np.concatenate([days.seconds for days in stages])
    order = np.argsort(seconds, kind="stable")
    columns = np.zeros((len(seconds), rows, total))
    precision = np.zeros((total, total))
    precision[:PARAMETERS, :PARAMETERS] = parts[0].precision[:PARAMETERS, :PARAMETERS]
    first, begin = 0, PARAMETERS
    for part, width in zip(parts, own, strict=True):
        place = slice(first, first + len(part.off))
        columns[place, : part.off.shape[1], :PARAMETERS] = part.columns[..., :PARAMETERS]
        columns[place, : part.off.shape[1], begin : begin + width] = part.columns[..., PARAMETERS:]
        precision[begin : begin + width, begin : begin + width] = part.precision[PARAMETERS:, PARAMETERS:]
        first, begin = first + len(part.off), begin + width

    def joined(arrays: list[Array]) -> Array:
        padded = [np.pad(array, ((0, 0), (0, rows - array.shape[1]))) for array in arrays]
        return np.concatenate(padded)[order]

    day = np.concatenate([days.day for days in stages])[order]
    return System(
        seconds=seconds[order],
        years=np.concatenate([days.years for days in stages])[order],
        node=np.unique(day, return_inverse=True)[1],
        level=np.concatenate(list(levels))[order],
        off=joined([part.off for part in parts]),
        slope=joined([part.slope for part in parts]),
        columns=columns[order],
        precision=precision,
        directions={
            name: joined([part.directions.get(name, np.zeros_like(part.off)) for part in parts])
            for name in names
        },
        count=np.concatenate([days.there.sum(axis=1) for days in stages])[order],
    )


@dataclass(frozen=True)
class _Part:
    """One stage of the system."""

    off: Array
    slope: Array
    columns: Array
    precision: Array
    directions: dict[str, Array]


def _part(days: Days, level: Array, form: Array, wide: Array, rough: Array) -> _Part:
    """One stage around its levels, over the noise of each day."""
    expected, steep = _at_level(days.expected, level)
    slopes = _between(days.slopes, level)
    there = days.there
    raw, spreads = _common(days, form, (steep, slopes))
    model = np.linalg.cholesky(_noise(days, slopes))
    noise = model @ rough @ np.swapaxes(model, 1, 2)
    noise = np.where(there[:, :, None] & there[:, None, :], noise, np.eye(there.shape[1]))
    factor = np.linalg.cholesky(noise * wide[:, None, None] ** 2)
    off = days.values - expected + steep * level[:, None]
    aimed = _directions(days, slopes)
    stacked = np.concatenate([off[..., None], steep[..., None], raw, np.stack(list(aimed.values()), -1)], -1)
    stacked = np.linalg.solve(factor, np.where(there[..., None], stacked, 0.0))
    width = raw.shape[2]
    place = days.stage.place
    covariance = np.diag(np.asarray(spreads) ** 2)
    covariance[:PARAMETERS, :PARAMETERS] = place.baseline.covariance
    return _Part(
        off=stacked[..., 0],
        slope=stacked[..., 1],
        columns=stacked[..., 2 : 2 + width],
        precision=np.linalg.inv(covariance),
        directions={name: stacked[..., 2 + width + number] for number, name in enumerate(aimed)},
    )


def _at_level(expected: Array, level: Array) -> tuple[Array, Array]:
    """Expected readings and their slope by the level (n, rows), by piecewise cubics."""
    curve = PchipInterpolator(LEVELS, expected, axis=1)
    at_nodes = curve.derivative()(LEVELS)
    low = np.clip(np.searchsorted(LEVELS, level) - 1, 0, len(LEVELS) - 2)
    width = (LEVELS[low + 1] - LEVELS[low])[:, None]
    t = (level - LEVELS[low])[:, None] / width
    row = np.arange(len(level))
    f0, f1 = expected[row, low], expected[row, low + 1]
    d0, d1 = at_nodes[row, low] * width, at_nodes[row, low + 1] * width
    value = (
        (2 * t**3 - 3 * t**2 + 1) * f0
        + (t**3 - 2 * t**2 + t) * d0
        + (3 * t**2 - 2 * t**3) * f1
        + (t**3 - t**2) * d1
    )
    steep = (6 * t**2 - 6 * t) * (f0 - f1) + (3 * t**2 - 4 * t + 1) * d0 + (3 * t**2 - 2 * t) * d1
    return value, steep / width


def _between(table: Array, level: Array) -> Array:
    """Table (n, levels, ...) at the level of each day, along straight lines."""
    low = np.clip(np.searchsorted(LEVELS, level) - 1, 0, len(LEVELS) - 2)
    share = (level - LEVELS[low]) / (LEVELS[low + 1] - LEVELS[low])
    row = np.arange(len(level))
    share = share.reshape(-1, *(1,) * (table.ndim - 2))
    return np.asarray((1.0 - share) * table[row, low] + share * table[row, low + 1])


def _common(days: Days, form: Array, lines: tuple[Array, Array]) -> tuple[Array, list[float]]:
    """Columns of what all days have in common (n, rows, unknowns), and their spreads."""
    place = days.stage.place
    steep, slopes = lines
    # errors of the response follow the smooth form: with the wander in them, they would take its place
    response = _at_level(days.expected, form)[0] - days.expected[:, 0]
    count, rows, latents = slopes.shape
    own, meter = own_spreads(days), place.meter[place.readings]
    warm = ((days.outdoor - days.outdoor.mean()) / SEASON_SPAN)[:, None, None]
    year = (days.years - days.years.mean())[:, None, None]
    unit = np.broadcast_to(np.eye(rows), (count, rows, rows))
    spreads = np.sqrt(np.diag(place.prior_covariance))
    settings = np.arange(PARAMETERS + 1, latents)
    unread = np.array([place.setting_names.index(name) for name in days.stage.unread], dtype=int)
    unread += PARAMETERS + 1
    unread_air = [(slopes[..., unread] * warm, spreads[unread])]
    groups = [
        (slopes, spreads),  # the unit
        (unit, np.hypot(own, meter)),  # what never changes
        (unit * warm, SEASON_SHARE * own),
        (unit * year, DRIFT * meter),
        (slopes[..., settings] * year, DRIFT * spreads[settings]),
        *unread_air,
        (response[:, :, None] * unit, np.full(rows, RESPONSE_SPREAD)),
        ((steep * form[:, None])[:, :, None], np.array([COMMON_RESPONSE])),
    ]
    columns = np.concatenate([group for group, _ in groups], axis=2)
    return columns, [float(max(size, 1e-9)) for _, group in groups for size in group]


def _noise(days: Days, slopes: Array) -> Array:
    """Covariance of what changes from day to day, and of scatter (n, rows, rows)."""
    place = days.stage.place
    daily = np.zeros(slopes.shape[2])
    daily[:PARAMETERS] = [DAY_TO_DAY.get(name, 0.0) for name in NAMES]
    daily[PARAMETERS] = DAY_TO_DAY_AIRFLOW
    spreads = np.sqrt(np.diag(place.prior_covariance))
    for number, name in enumerate(place.setting_names):
        share = UNREAD_DAILY if name in days.stage.unread else REPEATABILITY
        daily[PARAMETERS + 1 + number] = share * spreads[PARAMETERS + 1 + number]
    moved = slopes * daily
    meter = REPEATABILITY * place.meter[place.readings]
    noise = moved @ np.swapaxes(moved, 1, 2)
    places = np.arange(noise.shape[1])
    noise[:, places, places] += days.scatter**2 + meter**2
    return np.asarray(noise)


def _directions(days: Days, slopes: Array) -> dict[str, Array]:
    """What may change on one day, as changes of measured less expected (n, rows)."""
    place = days.stage.place
    found = {}
    meter = place.meter[place.readings]
    for row, name in enumerate(days.names):
        aimed = np.zeros(slopes.shape[:2])
        aimed[:, row] = meter[row]
        found[name] = aimed
    spreads = np.sqrt(np.diag(place.prior_covariance))
    for number, name in enumerate(place.setting_names):
        if name not in days.stage.unread:
            # a sensor that reads too high makes the model expect too much
            found[name] = -slopes[..., PARAMETERS + 1 + number] * spreads[PARAMETERS + 1 + number]
    found["charge"] = slopes[..., NAMES.index("charge")]
    found["condenser_airflow"] = slopes[..., NAMES.index("condenser_airflow")]
    found[AIRFLOW] = slopes[..., PARAMETERS]
    return found


def single_misfit(days: Days, most: int = 60) -> Array:
    """χ² per reading of single days at the level that fits each best, everything else being open.

    Parameters
    ----------
    days : Days
        Of one stage.
    most : int
        How many days to look at, spread evenly [-].

    Returns
    -------
    ndarray, shape (up to most,)
        About 1 for a unit that the case describes [-].
    """
    chosen = np.unique(np.linspace(0, len(days.day) - 1, min(most, len(days.day))).astype(int))
    place = days.stage.place
    slopes = days.slopes[chosen]
    own, meter = own_spreads(days), place.meter[place.readings]
    covariance = slopes @ place.prior_covariance @ np.swapaxes(slopes, -1, -2)
    rows = np.arange(len(meter))
    change = days.expected[chosen] - days.expected[chosen][:, :1]
    covariance[..., rows, rows] += own**2 + meter**2 + (RESPONSE_SPREAD * change) ** 2
    there: BoolArray = days.there[chosen][:, None, :]
    covariance = np.where(there[..., None] & there[..., None, :], covariance, np.eye(len(meter)))
    off = np.where(there, days.values[chosen][:, None, :] - days.expected[chosen], 0.0)
    squares = np.einsum("dlr,dlr->dl", off, np.linalg.solve(covariance, off[..., None])[..., 0])
    return np.asarray(squares.min(axis=1) / np.maximum(days.there[chosen].sum(axis=1), 1))
