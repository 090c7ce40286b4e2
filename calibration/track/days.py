"""Steady stretches as one thin visit a day, and what the unit should read on it at any level of fouling.

The expected readings, their slopes by what is not exactly known, and the spreads of all that are those of the
diagnosis (`calibration.diagnosis.scene`, `visit_model`). They are solved once on a grid of outdoor
temperature, return air and level, and interpolated for every stretch. The stretches of a day are averaged, as
errors of one day are alike. Return air that was not read is the case's room, with a spread.

Where the unit would not run at a level, its readings go on along the line through the two levels below.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from calibration.case.errors import CaseError, Problem
from calibration.case.meters import standard_accuracy
from calibration.case.records import Case, Visit
from calibration.clean_fit.baseline import Baseline
from calibration.clean_fit.observation import (
    AIRFLOWS,
    HUMIDITIES,
    MODEL_SPREAD,
    READINGS_OF_POINT,
    SUPPLY_HUMIDITIES,
    UNREAD_HUMIDITY_SPREAD,
    UNREAD_RETURN_HUMIDITY,
)
from calibration.diagnosis.scene import scene
from calibration.diagnosis.visit_model import PARAMETERS, Scene, solved
from calibration.measured.performance import humidity_ratio
from calibration.track.stretches import Stretches
from model.arrays import Array, BoolArray, IntArray
from model.cycle.faults import Faults
from model.properties import moist_air
from model.season.weather_year import DAYS_PER_YEAR

LEVELS: Array = np.array([0.0, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8])
"""Blocked shares of the face at which the cycle is solved [-]."""
SPACING = {"outdoor_db": 4.0, "return_db": 5.0, "return_rh": 0.25}
"""Largest distance between nodes of the grid [K, K, -]: straight lines between them are right to a tenth of a
meter's error (own trials)."""
MOST_NODES = {"outdoor_db": 9, "return_db": 3, "return_rh": 3}
ROOM_TEMPERATURE = 297.0
"""Return air where neither the log nor the case gives it [K]: 75 degF, common practice."""
ROOM_SPREAD = 1.2
"""Its standard deviation [K]; common practice, no source."""
FEWEST_SHARE = 0.2
"""Share of the stretches in which a reading must be there to be used [-]."""
STAGE_STEP = 0.05
"""Compressor speeds within this step are one stage [-]."""
MOST_STAGES = 6
TOGETHER = 500
"""Stretches that are interpolated at once."""
DAY = 86_400.0


@dataclass(frozen=True)
class Stage:
    """What a log's readings mean at one speed of the compressor.

    Attributes
    ----------
    speed : float
        Over full speed [-].
    place : Scene
        The readings as rows, and what is not exactly known.
    unread : tuple of str
        Settings that were assumed.
    """

    speed: float
    place: Scene
    unread: tuple[str, ...]


@dataclass(frozen=True)
class Days:
    """One thin visit a day of one stage.

    Attributes
    ----------
    stage : Stage
    names : tuple of str, length rows
        Readings that are explained.
    day : ndarray of int, shape (n,)
        Days since 1970.
    seconds : ndarray, shape (n,)
        Middle of the stretches [s since 1970].
    stretches : ndarray of int, shape (n,)
        How many.
    there : ndarray of bool, shape (n, rows)
        Which readings count.
    values, scatter : ndarray, shape (n, rows)
        Means and their standard errors from scatter, in the units of the rows.
    expected : ndarray, shape (n, levels, rows)
        At `LEVELS`, at the prior means.
    slopes : ndarray, shape (n, levels, rows, latents)
    outdoor : ndarray, shape (n,)
        [K]
    """

    stage: Stage
    names: tuple[str, ...]
    day: IntArray
    seconds: Array
    stretches: IntArray
    there: BoolArray
    values: Array
    scatter: Array
    expected: Array
    slopes: Array
    outdoor: Array

    @property
    def years(self) -> Array:
        """Time since 1970 [a]."""
        return np.asarray(self.seconds / (DAY * DAYS_PER_YEAR))


def daily_visits(case: Case, baseline: Baseline, found: Stretches) -> tuple[Days, ...]:
    """The stretches as daily visits, one entry for each speed of the compressor.

    Parameters
    ----------
    case : Case
        Clean visits, meters and room.
    baseline : Baseline
        `calibration.clean_fit.baseline.baseline_of(case)`.
    found : Stretches
        Of its logs.

    Returns
    -------
    tuple of Days

    Raises
    ------
    CaseError
        When the log lacks outdoor temperature, or has nothing that the model could explain.
    """
    if not np.isfinite(found.values.get("outdoor_db", np.array([np.nan]))).any():
        raise _refused("outdoor_db is not logged while the unit is steady; it is needed to track fouling")
    good = np.isfinite(found.values["outdoor_db"])
    speed = np.round(found.values.get("compressor_speed", np.ones(len(found))) / STAGE_STEP) * STAGE_STEP
    speed = np.where(np.isfinite(speed), speed, 1.0)
    kinds, counts = np.unique(speed[good], return_counts=True)
    most = kinds[np.argsort(-counts)][:MOST_STAGES]
    return tuple(_stage_days(case, baseline, found, (float(one), good & (speed == one))) for one in most)


def _refused(sentence: str) -> CaseError:
    return CaseError([Problem((), "log", sentence)])


def _stage_days(case: Case, baseline: Baseline, found: Stretches, part: tuple[float, BoolArray]) -> Days:
    """Daily visits of one stage."""
    speed, chosen = part
    values = {
        name: series[chosen]
        for name, series in found.values.items()
        if np.isfinite(series[chosen]).mean() > FEWEST_SHARE
    }
    scatter = {name: found.scatter[name][chosen] for name in values}
    settings, spreads, unread = _settings(case, values)
    stage = _stage(case, baseline, (values, settings, spreads), (speed, unread))
    rows = stage.place.readings
    names = tuple(stage.place.names[row] for row in rows)
    shown = np.stack([_shown(name, values, settings, stage.place) for name in names], axis=1)
    noise = np.stack([_noise(name, values, scatter) for name in names], axis=1)
    middle = 0.5 * (found.begin[chosen] + found.end[chosen])
    return _averaged(stage, names, middle, (settings, shown, noise))


def _settings(
    case: Case, values: Mapping[str, Array]
) -> tuple[dict[str, Array], dict[str, float], tuple[str, ...]]:
    """Outdoor and return temperature and return humidity of every stretch, spreads, and what was assumed."""
    outdoor = values["outdoor_db"]
    meters = case.instruments
    spreads = {"outdoor_db": standard_accuracy("outdoor_db", float(np.nanmedian(outdoor)), meters)}
    unread = []
    season = case.season
    room = ROOM_TEMPERATURE if season is None or season.indoor_setpoint is None else season.indoor_setpoint
    back = values.get("return_db")
    if back is None:
        back = np.full(len(outdoor), room)
        spreads["return_db"] = ROOM_SPREAD
        unread.append("return_db")
    else:
        back = np.where(np.isfinite(back), back, np.nanmedian(back))
        spreads["return_db"] = standard_accuracy("return_db", float(np.median(back)), meters)
    name = next((name for name in HUMIDITIES if name in values), None)
    pressure = case.unit.ambient_pressure
    if name is None or "return_db" in unread:
        given = None if season is None else season.indoor_rh
        humidity = np.full(len(outdoor), UNREAD_RETURN_HUMIDITY if given is None else given)
        spreads["return_rh"] = UNREAD_HUMIDITY_SPREAD
        unread.append("return_rh")
    else:
        error = standard_accuracy(name, float(np.nanmedian(values[name])), meters)
        humidity = _relative_humidity(name, values[name], back, pressure)
        moved = _relative_humidity(name, values[name] - error, back, pressure)
        spreads["return_rh"] = float(np.nanmedian(np.abs(moved - humidity)))
        humidity = np.where(np.isfinite(humidity), humidity, np.nanmedian(humidity))
    return {"outdoor_db": outdoor, "return_db": back, "return_rh": humidity}, spreads, tuple(unread)


def _relative_humidity(name: str, values: Array, back: Array, pressure: float) -> Array:
    """Relative humidity of the return air [-] from whichever humidity was read."""
    limited = values if name == "return_rh" else np.minimum(values, back)
    ratio = humidity_ratio({name: limited, "return_db": back}, "return", pressure)
    return np.clip(moist_air.relative_humidity(back, ratio, pressure), 0.02, 0.98)


def _stage(
    case: Case,
    baseline: Baseline,
    about: tuple[Mapping[str, Array], Mapping[str, Array], Mapping[str, float]],
    stage: tuple[float, tuple[str, ...]],
) -> Stage:
    """Rows and latent numbers of a usual stretch."""
    values, settings, spreads = about
    speed, unread = stage
    entries: dict[str, Any] = {name: float(np.median(series)) for name, series in settings.items()}
    supply = next((name for name in SUPPLY_HUMIDITIES if name in values), None)
    airflow = next((name for name in AIRFLOWS if name in values), None)
    for name in (*READINGS_OF_POINT, *AIRFLOWS):
        skipped = (name in SUPPLY_HUMIDITIES and name != supply) or (name in AIRFLOWS and name != airflow)
        if name in values and not skipped:
            entries[name] = float(np.nanmedian(values[name]))
    if "supply_wb" in entries and "supply_db" in entries:
        entries["supply_wb"] = min(entries["supply_wb"], entries["supply_db"])
    visit = Visit(
        label="log",
        coil="as found",
        ambient_pressure=case.unit.ambient_pressure,
        compressor_speed=speed,
        **entries,
    )
    try:
        place = scene(baseline, case.clean_visits, visit, case.instruments)
    except ValueError:
        raise _refused("no pressure, pipe temperature, supply air or power is logged while steady") from None
    covariance = place.prior_covariance.copy()
    for number, name in enumerate(place.setting_names):
        covariance[PARAMETERS + 1 + number, PARAMETERS + 1 + number] = spreads[name] ** 2
    return Stage(speed, replace(place, prior_covariance=covariance), unread)


def _shown(name: str, values: Mapping[str, Array], settings: Mapping[str, Array], place: Scene) -> Array:
    """What a row shows; the airflow's is the logarithm of measured over own dry-air flow."""
    if name not in AIRFLOWS:
        return values[name]
    flow = values[name] * moist_air.STANDARD_AIR_DENSITY
    if name == "indoor_airflow":
        pressure = place.visit.ambient_pressure
        ratio = moist_air.humidity_ratio_from_relative_humidity(
            settings["return_db"], settings["return_rh"], pressure
        )
        flow = moist_air.dry_air_mass_flow(values[name], settings["return_db"], ratio, pressure)
    return np.asarray(np.log(np.maximum(flow / place.own_airflow, 1e-3)))


def _noise(name: str, values: Mapping[str, Array], scatter: Mapping[str, Array]) -> Array:
    """Scatter of a row's blocks, in its unit."""
    return scatter[name] / values[name] if name in AIRFLOWS else scatter[name]


def _averaged(
    stage: Stage, names: tuple[str, ...], seconds: Array, data: tuple[Mapping[str, Array], Array, Array]
) -> Days:
    """Daily means of readings, expected readings and slopes."""
    settings, shown, noise = data
    axes = [_axis(name, settings[name]) for name in SPACING]
    expected, slopes = _grid(stage, axes)
    days, number = np.unique(np.floor(seconds / DAY).astype(int), return_inverse=True)
    good = np.isfinite(shown)
    sums = np.zeros((len(days), *expected.shape[1:])), np.zeros((len(days), *slopes.shape[1:]))
    for first in range(0, len(seconds), TOGETHER):
        part = slice(first, first + TOGETHER)
        place, weight = _corners(axes, [settings[name][part] for name in SPACING])
        level = np.einsum("ck,ckab->cab", weight, expected[place])
        slope = np.einsum("ck,ckabl->cabl", weight, slopes[place])
        reachable = good[part] & np.isfinite(level).all(axis=1)
        good[part] = reachable
        mask = reachable[:, None, :]
        np.add.at(sums[0], number[part], np.where(mask, level, 0.0))
        np.add.at(sums[1], number[part], np.where(mask[..., None], slope, 0.0))
    count = np.zeros((len(days), shown.shape[1]))
    total, squares = count.copy(), count.copy()
    np.add.at(count, number, good)
    np.add.at(total, number, np.where(good, shown, 0.0))
    np.add.at(squares, number, np.where(good, np.nan_to_num(noise) ** 2, 0.0))
    most = np.maximum(count, 1.0)
    stretches = np.bincount(number, minlength=len(days))
    return Days(
        stage=stage,
        names=names,
        day=days,
        seconds=np.bincount(number, weights=seconds) / stretches,
        stretches=stretches,
        there=count > 0,
        values=total / most,
        scatter=np.sqrt(squares) / most,
        expected=sums[0] / most[:, None, :],
        slopes=sums[1] / most[:, None, :, None],
        outdoor=np.bincount(number, weights=settings["outdoor_db"]) / stretches,
    )


def _axis(name: str, values: Array) -> Array:
    """Nodes over the values that occur; one where they are all the same."""
    low, high = float(values.min()), float(values.max())
    if high - low < 1e-6:
        return np.array([low])
    count = int(np.clip(np.ceil((high - low) / SPACING[name]) + 1, 2, MOST_NODES[name]))
    return np.linspace(low, high, count)


def _grid(stage: Stage, axes: list[Array]) -> tuple[Array, Array]:
    """Expected readings (nodes, levels, rows) and slopes (nodes, levels, rows, latents)."""
    place = stage.place
    rows = place.readings
    nodes = np.stack([axis.ravel() for axis in np.meshgrid(*axes, indexing="ij")])
    count = nodes.shape[1]
    latent = np.repeat(place.prior_mean[:, None], count * len(LEVELS), axis=1)
    for name, values in zip(SPACING, nodes, strict=True):
        number = PARAMETERS + 1 + place.setting_names.index(name)
        latent[number] = np.repeat(values - place.settings[name], len(LEVELS))
    response = solved(place, Faults(condenser_blocked=np.tile(LEVELS, count)), latent)
    # `solved` leads its answer back to the prior means along the slopes; here the settings stay
    back = np.einsum("prl,lp->pr", response.slopes, latent - place.prior_mean[:, None])
    expected = (response.expected + back)[:, rows].reshape(count, len(LEVELS), -1)
    slopes = response.slopes[:, rows].reshape(count, len(LEVELS), len(rows), -1)
    running = response.running.reshape(count, len(LEVELS))
    for level in range(len(LEVELS)):
        stopped = ~running[:, level]
        if level < 2:
            expected[stopped, level] = np.nan
            slopes[stopped, level] = 0.0
            continue
        step = (LEVELS[level] - LEVELS[level - 1]) / (LEVELS[level - 1] - LEVELS[level - 2])
        before = expected[stopped, level - 1]
        expected[stopped, level] = before + step * (before - expected[stopped, level - 2])
        slopes[stopped, level] = slopes[stopped, level - 1]
    return expected, slopes


def _corners(axes: list[Array], values: list[Array]) -> tuple[IntArray, Array]:
    """Nodes around each point (points, corners), and the weight of each for linear interpolation."""
    place = np.zeros((len(values[0]), 1), dtype=int)
    weight = np.ones((len(values[0]), 1))
    for axis, series in zip(axes, values, strict=True):
        if len(axis) == 1:
            continue
        low = np.clip(np.searchsorted(axis, series) - 1, 0, len(axis) - 2)
        share = ((series - axis[low]) / (axis[low + 1] - axis[low]))[:, None]
        place = np.concatenate(
            [place * len(axis) + low[:, None], place * len(axis) + low[:, None] + 1], axis=1
        )
        weight = np.concatenate([weight * (1.0 - share), weight * share], axis=1)
    return place, weight


def own_spreads(days: Days) -> Array:
    """Standard deviation of the model's own error of every row.

    Parameters
    ----------
    days : Days
        Its usual readings.

    Returns
    -------
    ndarray, shape (rows,)
        In the units of the rows; at least a fifth of the meter's error.
    """
    place = days.stage.place
    rows = place.readings
    known = np.array([name in MODEL_SPREAD for name in days.names])
    return np.where(known, place.own[rows], np.maximum(place.own[rows], 0.2 * place.meter[rows]))
