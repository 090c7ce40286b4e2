"""A visit made into rows and latent numbers: what was read, how well, and what is known beforehand.

See `calibration.diagnosis.visit_model` for what the rows and numbers are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from calibration.case.meters import Instruments, standard_accuracies, standard_accuracy
from calibration.case.records import Visit
from calibration.clean_fit.baseline import Baseline
from calibration.clean_fit.observation import (
    AIRFLOWS,
    MODEL_SPREAD,
    SUPPLY_HUMIDITIES,
    nothing_to_explain,
    observation,
)
from calibration.clean_fit.parameters import (
    NAMES,
    rated_standard_airflow,
    standard_airflow,
)
from calibration.diagnosis.visit_model import BLOWER, DAY_TO_DAY, PARAMETERS, STANDING, Scene, shown_rows
from model.arrays import Array
from model.cycle.faults import HEALTHY
from model.properties import moist_air
from model.properties.moist_air import STANDARD_PRESSURE
from model.properties.refrigerant import refrigerant

DAY_TO_DAY_AIRFLOW = 0.04
"""The same of the indoor airflow, a share of it [-]: filter, registers and doors."""
UNMEASURED_AIRFLOW = 0.12
"""Spread of a unit's own airflow around its nameplate's where no clean visit measured it [-]: 350 to 450 cfm
a ton."""
OTHER_STAGE_AIRFLOW = 0.30
"""The same where the compressor's speed is not that of the clean visits and the blower's may differ too
[-]."""
STANDING_TEMPERATURE_SPREAD = 0.5
"""How far an idle unit may be from the air around it, added to the thermometer's error [K]."""
POINT_ROWS = (
    "suction_pressure",
    "liquid_pressure",
    "discharge_pressure",
    "suction_temperature",
    "liquid_temperature",
    "discharge_temperature",
    "supply_db",
    "condenser_leaving_db",
    "outdoor_power",
    "outdoor_fan_power",
)
"""Readings of the running unit that can always be asked for."""
BLOWER_SPREAD_KNOWN = 0.06
"""Standard deviation of a blower's power around that of the clean visits, airflow taken into account [-]:
judgement, no source."""
BLOWER_SPREAD_UNKNOWN = 0.35
"""The same around the nameplate's or the usual power of its airflow [-]: judgement, no source."""


def scene(baseline: Baseline, clean_visits: Sequence[Visit], visit: Visit, instruments: Instruments) -> Scene:
    """A visit as rows and latent numbers.

    Parameters
    ----------
    baseline : Baseline
        Of the clean visits.
    clean_visits : sequence of Visit
        Those it was fitted to: their airflow is the unit's own.
    visit : Visit
        To be explained.
    instruments : Instruments
        Meters.

    Returns
    -------
    Scene

    Raises
    ------
    ValueError
        Where the visit has no reading that the model could explain.
    """
    seen = observation(visit, instruments)
    if not seen.names and visit.standing_pressure is None:
        raise ValueError(nothing_to_explain(visit.label))
    settings = {name: value for name, value in seen.settings.items() if name not in AIRFLOWS}
    others = tuple(name for name in settings if name != BLOWER)
    blower = (BLOWER,) if BLOWER in settings else ()
    latent = (*others, *blower)
    own = _own_airflow(baseline, clean_visits, visit, instruments)
    humidity = () if set(SUPPLY_HUMIDITIES) & set(seen.names) else ("supply_wb",)
    points = tuple(dict.fromkeys((*POINT_ROWS, *humidity, *seen.names)))
    blank = Scene(
        baseline=baseline,
        visit=visit,
        settings=settings,
        setting_names=latent,
        names=(*points, _airflow_key(visit), STANDING, *blower, *others),
        point_names=points,
        taken=np.zeros(0, dtype=bool),
        values=np.zeros(0),
        meter=np.zeros(0),
        own=np.zeros(0),
        prior_mean=np.concatenate([baseline.values, np.zeros(1 + len(latent))]),
        # The blower's meter stands beside its row, so the latent number only carries the slopes.
        prior_covariance=_prior_covariance(
            baseline, own, [seen.setting_spreads[name] if name != BLOWER else 0.0 for name in latent]
        ),
        own_airflow=own.flow,
        standing_temperature=visit.outdoor_db
        if visit.standing_temperature is None
        else visit.standing_temperature,
    )
    return _with_rows(blank, clean_visits, instruments, own)


class _OwnAirflow(NamedTuple):
    """Dry-air flow [kg/s]; spread of the day's around it; spread of what its meter should show besides."""

    flow: float
    day: float
    level: float


def _own_airflow(
    baseline: Baseline, clean_visits: Sequence[Visit], visit: Visit, instruments: Instruments
) -> _OwnAirflow:
    measured = [flow for flow in map(standard_airflow, clean_visits) if flow is not None]
    if measured:
        flow = float(np.mean(measured)) * moist_air.STANDARD_AIR_DENSITY
        level = standard_accuracy("indoor_airflow", 1.0, instruments) / len(measured) ** 0.5
    else:
        flow = rated_standard_airflow(baseline.generic)
        flow *= moist_air.STANDARD_AIR_DENSITY * visit.ambient_pressure / STANDARD_PRESSURE
        level = UNMEASURED_AIRFLOW
    day = DAY_TO_DAY_AIRFLOW
    if not clean_visits:
        # Without a clean visit nothing has absorbed the difference: it moves all readings.
        day, level = float(np.hypot(day, level)), 0.0
    if any(clean.compressor_speed != visit.compressor_speed for clean in clean_visits):
        day = OTHER_STAGE_AIRFLOW
    return _OwnAirflow(flow, day, level)


def _airflow_key(visit: Visit) -> str:
    return next((name for name in AIRFLOWS if getattr(visit, name) is not None), "indoor_airflow_standard")


def _prior_covariance(baseline: Baseline, own: _OwnAirflow, spreads: Sequence[float]) -> Array:
    drift = np.array([DAY_TO_DAY.get(name, 0.0) for name in NAMES])
    count = PARAMETERS + 1 + len(spreads)
    covariance = np.zeros((count, count))
    covariance[:PARAMETERS, :PARAMETERS] = baseline.covariance + np.diag(drift**2)
    rest = np.array([own.day, *spreads])
    covariance[range(PARAMETERS, count), range(PARAMETERS, count)] = np.maximum(rest, 1e-9) ** 2
    return covariance


def _with_rows(
    blank: Scene, clean_visits: Sequence[Visit], instruments: Instruments, own: _OwnAirflow
) -> Scene:
    """The scene with what was read, each meter's error and each row's own."""
    visit, names = blank.visit, blank.names
    readings = visit.readings()
    accuracies = standard_accuracies(readings, instruments)
    clean = shown_rows(blank, HEALTHY)[:, 0]
    taken = np.array([name in readings for name in names])
    values, meter, spread = np.zeros(len(names)), np.zeros(len(names)), np.zeros(len(names))
    for row, name in enumerate(names):
        shown = readings.get(name, blank.settings.get(name, float(clean[row])))
        values[row] = shown if taken[row] else 0.0
        meter[row] = accuracies[name] if taken[row] else standard_accuracy(name, shown, instruments)
        if name in MODEL_SPREAD:
            share, fixed = MODEL_SPREAD[name]
            spread[row] = np.hypot(share * shown, fixed)
    row = blank.airflow_row
    if taken[row]:
        values[row] = np.log(_dry_air_flow(visit) / blank.own_airflow)
    meter[row], spread[row] = standard_accuracy("indoor_airflow", 1.0, instruments), own.level
    row = blank.standing_row
    taken[row] = visit.standing_pressure is not None and visit.standing_temperature is not None
    values[row] = values[row] if taken[row] else 0.0
    spread[row] = _standing_spread(blank, instruments)
    if BLOWER in names:
        known = any(one.indoor_power is not None for one in clean_visits)
        row = names.index(BLOWER)
        spread[row] = (BLOWER_SPREAD_KNOWN if known else BLOWER_SPREAD_UNKNOWN) * clean[row]
    return replace(blank, taken=taken, values=values, meter=meter, own=spread)


def _dry_air_flow(visit: Visit) -> float:
    """Measured indoor airflow as dry air [kg/s]; half-saturated air stands in where no humidity was read."""
    if visit.indoor_airflow_standard is not None:
        return visit.indoor_airflow_standard * moist_air.STANDARD_AIR_DENSITY
    standard = standard_airflow(visit)
    if standard is not None:
        return standard * moist_air.STANDARD_AIR_DENSITY
    humidity = moist_air.humidity_ratio_from_relative_humidity(visit.return_db, 0.5, visit.ambient_pressure)
    flow = moist_air.dry_air_mass_flow(
        visit.indoor_airflow or 0.0, visit.return_db, humidity, visit.ambient_pressure
    )
    return float(flow)


def _standing_spread(blank: Scene, instruments: Instruments) -> float:
    fluid = refrigerant(blank.baseline.generic.refrigerant)
    temperature = blank.standing_temperature
    slope = float(fluid.bubble_pressure(temperature + 0.5) - fluid.bubble_pressure(temperature - 0.5))
    error = standard_accuracy("standing_temperature", temperature, instruments)
    return slope * float(np.hypot(error, STANDING_TEMPERATURE_SPREAD))
