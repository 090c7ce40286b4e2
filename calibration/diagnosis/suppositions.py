"""All readings of a visit under every supposition about the unit: healthy, or one fault at one level.

Each supposition gives the differences between readings and model and their covariance, to which meters,
settings (weather, return air, airflow), the model itself and what is not known of the unit contribute. The
cycle is solved on a coarse grid of levels, all columns for the slopes in one call, and filled in by
monotone cubics.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.case.records import Case, Visit
from calibration.case.units import STANDARD_ATMOSPHERE
from calibration.clean_fit.baseline import (
    PARAMETER_STEP,
    SETTING_STEP,
    Baseline,
    baseline_without,
    fit_baseline,
)
from calibration.clean_fit.observation import (
    HUMIDITIES,
    Observation,
    conditions,
    model_spreads,
    point_readings,
)
from calibration.clean_fit.parameters import SPREADS, adjusted, rated_standard_airflow, standard_airflow
from calibration.diagnosis.monotone_cubic import monotone_cubic
from calibration.measured.performance import Estimate
from model.components.fans import fan_power_ratio
from model.cycle.faults import FAULTS, Fault, Faults, at_level
from model.cycle.solve import solve

Array = NDArray[np.float64]

HEALTHY_SHARE = 0.3
"""Chance that a unit as it was found has nothing wrong with it [-]; common practice, no source."""
LEVELS = (0.08, 0.18, 0.3, 0.42, 0.55, 0.7, 0.85, 1.0)
"""Levels at which the cycle is solved for each fault [-]."""
SLOPE_LEVELS = (0.3, 0.7)
"""Levels at which the slopes are taken; beyond the last they are held."""
KINDS = {
    "blocked condenser face": "condenser starved of air",
    "condenser dust layer": "condenser starved of air",
    "slow condenser fan": "condenser starved of air",
}
"""Faults that readings can hardly tell apart, under one name; every other fault goes by its own."""
FINE_LEVELS = np.linspace(0.0125, 1.0, 80)
"""Levels over which the sums go [-]."""
BLOWER_SPREAD_KNOWN = 0.06
"""Standard deviation of a blower's power around that of the clean visits, airflow taken into account [-]."""
BLOWER_SPREAD_UNKNOWN = 0.35
"""The same around the nameplate's or the usual power of its airflow [-]."""


@dataclass(frozen=True)
class Reference:
    """What one visit is judged by: the unit as it is known without that visit.

    Attributes
    ----------
    baseline : Baseline
        Fitted without the visit.
    around : array (parameters,)
        Parameters at which the model is taken to be linear.
    blower : Estimate
        Power that the blower should draw at this visit [W].
    """

    baseline: Baseline
    around: Array
    blower: Estimate


def reference_for(case: Case, visit: Visit, baseline: Baseline | None = None) -> Reference:
    """The unit without the visit that is to be judged: a reading must not vouch for itself.

    Parameters
    ----------
    case : Case
        Nameplate, meters and all visits.
    visit : Visit
    baseline : Baseline, optional
        `calibration.clean_fit.baseline.baseline_of(case)`, if it is at hand.
    """
    others = [clean for clean in case.clean_visits if clean != visit]
    baseline = baseline_without(case, visit, baseline)
    around = baseline.values
    if not baseline.visits:
        # The nameplate alone is far from many a unit: slopes are taken where this visit itself would put it.
        around = fit_baseline(case.unit, [visit], case.instruments).values
    known = [clean for clean in others if clean.indoor_power is not None]
    return Reference(baseline, around, _blower_power(baseline, visit, bool(known)))


def _blower_power(baseline: Baseline, visit: Visit, known: bool) -> Estimate:
    fan = baseline.generic.indoor_fan
    airflow = standard_airflow(visit)
    density = visit.ambient_pressure / STANDARD_ATMOSPHERE
    ratio = 1.0
    if airflow is not None and not fan.constant_airflow:
        ratio = airflow / density / rated_standard_airflow(baseline.generic)
    power = float(np.asarray(fan.power) * fan_power_ratio(fan, ratio, 1.0)) * density
    return Estimate(power, power * (BLOWER_SPREAD_KNOWN if known else BLOWER_SPREAD_UNKNOWN))


@dataclass(frozen=True)
class Suppositions:
    """All readings of one visit under many suppositions about the unit: its faults and their levels.

    Attributes
    ----------
    names : tuple of str
        Candidates: readings and settings.
    off : array (suppositions, rows)
        Measured less expected [SI].
    spread : array (suppositions, rows, rows)
        Covariance of `off`.
    directions : array (suppositions, rows, candidates)
        What an error of one SI unit in each candidate does to `off`.
    accuracy, values : arrays (candidates,)
        Standard errors and readings [SI].
    weights : array (suppositions,)
        Prior probabilities, adding to one.
    faults : tuple of str or None
        Fault of each supposition.
    levels : array (suppositions,)
    """

    names: tuple[str, ...]
    off: Array
    spread: Array
    directions: Array
    accuracy: Array
    values: Array
    weights: Array
    faults: tuple[str | None, ...]
    levels: Array


def suppositions(reference: Reference, seen: Observation, as_found: bool) -> Suppositions:
    """All readings of one visit under every single fault and level (healthy alone for a clean visit).

    Parameters
    ----------
    reference : Reference
        Unit that the visit is judged by.
    seen : Observation
        Settings and readings of the visit [SI].
    as_found : bool
        Whether anything may be wrong with the unit.

    Returns
    -------
    Suppositions
        One row a supposition: healthy first, then each fault at `FINE_LEVELS`.
    """
    tried = tried_faults(seen) if as_found else ()
    expected, slopes, settings = _slopes_on_grid(reference, seen, tried)
    labels: list[str | None] = [None]
    levels, weights = [0.0], [HEALTHY_SHARE if tried else 1.0]
    for fault in tried:
        labels += [fault.name] * len(FINE_LEVELS)
        levels += list(FINE_LEVELS)
        weights += [(1.0 - HEALTHY_SHARE) / len(tried) / len(FINE_LEVELS)] * len(FINE_LEVELS)
    baseline = reference.baseline
    off = seen.values - expected - slopes @ (baseline.values - reference.around)
    directions = np.concatenate(
        [np.broadcast_to(np.eye(len(seen.names)), (len(off), *(len(seen.names),) * 2)), -settings], axis=2
    )
    own = np.diag(seen.spreads**2 + model_spreads(seen.names, seen.values) ** 2)
    setting_spread = np.array([seen.setting_spreads[name] for name in seen.settings])
    own, off, directions, slopes = _with_blower(reference, seen, own, off, directions, slopes)
    moved = directions[:, :, len(seen.names) :] * setting_spread
    spread = own + moved @ np.swapaxes(moved, 1, 2)
    spread = spread + slopes @ baseline.covariance @ np.swapaxes(slopes, 1, 2)
    names = (*seen.names, *seen.settings)
    # What was assumed and not read nobody can have read wrongly.
    read = [place for place, name in enumerate(names) if name not in seen.assumed]
    return Suppositions(
        names=tuple(names[i] for i in read),
        off=off,
        spread=spread,
        directions=directions[:, :, read],
        accuracy=np.concatenate([seen.spreads, setting_spread])[read],
        values=np.concatenate([seen.values, np.array(list(seen.settings.values()))])[read],
        weights=np.array(weights),
        faults=tuple(labels),
        levels=np.array(levels),
    )


def tried_faults(seen: Observation) -> tuple[Fault, ...]:
    """Every single fault; low airflow only where no airflow was read, for else the reading says it.

    Parameters
    ----------
    seen : Observation
        Settings and readings of the visit.

    Returns
    -------
    tuple of Fault
        In the order of `model.cycle.faults.FAULTS`.
    """
    read = {"indoor_airflow", "indoor_airflow_standard"} & set(seen.settings)
    return tuple(c for c in FAULTS if not (read and c.field == "evaporator_airflow_lost"))


def _slopes_on_grid(
    reference: Reference, seen: Observation, tried: tuple[Fault, ...]
) -> tuple[Array, Array, Array]:
    """Expected readings and slopes: (points, rows), (points, rows, parameters), (points, rows, settings).

    Points: healthy first, then each fault at `FINE_LEVELS`. Slopes change slowly with level: they are
    taken at `SLOPE_LEVELS` alone.
    """
    healthy = _columns(reference, seen, Faults(), None)
    if not tried:
        return _slopes(seen, healthy[0])
    rows = {levels: faults_at(tried, np.array(levels)) for levels in (LEVELS, SLOPE_LEVELS)}
    expected, unknowns = _columns(reference, seen, rows[LEVELS], healthy[1], slopes=False)
    known = [index for index in range(unknowns.shape[1]) if LEVELS[index % len(LEVELS)] in SLOPE_LEVELS]
    sloped = _columns(reference, seen, rows[SLOPE_LEVELS], unknowns[:, known])[0]
    first = _slopes(seen, healthy[0])
    others = _slopes(seen, sloped)
    return (
        filled_in(first[0], expected[:, 0], LEVELS, len(tried)),
        filled_in(first[1], others[1], SLOPE_LEVELS, len(tried)),
        filled_in(first[2], others[2], SLOPE_LEVELS, len(tried)),
    )


def faults_at(tried: tuple[Fault, ...], levels: Array) -> Faults:
    """Each fault at each level, one fault after the other.

    Parameters
    ----------
    tried : tuple of Fault
        At least one.
    levels : ndarray, shape (n,)
        0 healthy to 1 gravest [-].

    Returns
    -------
    Faults
        Of shape (faults × n, 1).
    """
    rows = [at_level(fault, levels) for fault in tried]
    fields = {fault.field for fault in tried}
    values = {
        name: np.concatenate([np.broadcast_to(getattr(row, name), levels.shape) for row in rows])
        for name in fields
    }
    return Faults(**{name: value[:, None] for name, value in values.items()})


def _steps(seen: Observation) -> Array:
    """Step of each setting for its slope, towards drier air where it is a humidity.

    A humidity already at saturation must not be moved beyond it.
    """
    return np.array(
        [
            (-1.0 if name in HUMIDITIES else 1.0) * max(SETTING_STEP * spread, 1e-9)
            for name, spread in seen.setting_spreads.items()
        ]
    )


def _columns(
    reference: Reference, seen: Observation, faults: Faults, start: Array | None, slopes: bool = True
) -> tuple[Array, Array]:
    """Readings (points, columns, rows): the centre, a unit a parameter, a visit a setting; and unknowns."""
    parameters, settings = len(SPREADS), list(seen.settings)
    columns = 1 + parameters + len(settings) if slopes else 1
    table = np.repeat(reference.around[:, None], columns, axis=1)
    moved = {name: np.full(columns, value) for name, value in seen.settings.items()}
    if slopes:
        table[np.arange(parameters), 1 + np.arange(parameters)] += PARAMETER_STEP * SPREADS
        for index, (name, step) in enumerate(zip(settings, _steps(seen), strict=True)):
            moved[name][1 + parameters + index] += step
    weather = conditions(moved, seen.ambient_pressure, seen.compressor_speed, seen.outdoor_fan_speed)
    point = solve(adjusted(reference.baseline.generic, table), weather, faults, start)
    shown = np.moveaxis(point_readings(point, seen.names, seen.ambient_pressure), 0, -1)
    return shown.reshape(-1, columns, len(seen.names)), point.unknowns[..., :1]


def _slopes(seen: Observation, shown: Array) -> tuple[Array, Array, Array]:
    """Readings of the centre, slopes by parameter and by setting."""
    parameters = len(SPREADS)
    expected = shown[:, 0]
    by_parameter = (shown[:, 1 : 1 + parameters] - expected[:, None]) / (PARAMETER_STEP * SPREADS)[:, None]
    by_setting = (shown[:, 1 + parameters :] - expected[:, None]) / _steps(seen)[:, None]
    return expected, np.swapaxes(by_parameter, 1, 2), np.swapaxes(by_setting, 1, 2)


def filled_in(healthy: Array, values: Array, levels: tuple[float, ...], faults: int) -> Array:
    """Values at the fine levels of each fault, healthy first; monotone cubics, which do not overshoot.

    Parameters
    ----------
    healthy : array (1, ...)
    values : array (faults x levels, ...)
    levels : tuple of float
    faults : int
    """
    count = len(levels)
    parts = [healthy]
    for index in range(faults):
        own = np.concatenate([healthy, values[index * count : (index + 1) * count]])
        parts.append(monotone_cubic((0.0, *levels), own, FINE_LEVELS))
    return np.concatenate(parts)


def _with_blower(
    reference: Reference, seen: Observation, own: Array, off: Array, directions: Array, slopes: Array
) -> tuple[Array, Array, Array, Array]:
    """The same with one row more: the blower's watts beside what this blower should draw."""
    if "indoor_power" not in seen.settings:
        return own, off, directions, slopes
    blower, count = reference.blower, len(off)
    row = np.zeros((count, 1, directions.shape[2]))
    row[:, :, len(seen.names) + list(seen.settings).index("indoor_power")] = 1.0
    return (
        np.diag([*np.diag(own), blower.standard_error**2]),
        np.column_stack([off, np.full(count, seen.settings["indoor_power"] - blower.value)]),
        np.concatenate([directions, row], axis=1),
        np.concatenate([slopes, np.zeros((count, 1, slopes.shape[2]))], axis=1),
    )
