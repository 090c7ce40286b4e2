"""What a heat pump would show on a visit in heating, and how far readings may lie from that.

Readings scatter about what the heating cycle says by their meters' errors, by the model's own error in
heating, and together by the errors of outdoor and return air and by what is not known of the unit's own
airflow.

References
----------
The model's own errors in heating: judgement, no source; no heating test of a whole unit in a laboratory was
readable to check them with.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from calibration.case.meters import Instruments, standard_accuracies
from calibration.case.records import Visit
from calibration.heating.heating_visit import dry_airflow
from model.arrays import Array
from model.cycle.faults import HEALTHY, Faults
from model.heating.boundary import (
    COLD_OUTDOOR,
    COLD_WET_BULB,
    FROST_OUTDOOR,
    FROST_WET_BULB,
    RATING_WET_BULB,
    HeatingConditions,
)
from model.heating.heat_pump import RATING_OUTDOOR, HeatPump
from model.heating.heating_point import HeatingPoint
from model.heating.solve import solve_heating
from model.properties import moist_air

MODEL_ERRORS = {
    "suction_pressure": 0.03,
    "liquid_pressure": 0.025,
    "discharge_pressure": 0.03,
    "outdoor_power": 0.03,
    "airflow": 0.05,
}
"""Error of the model itself as a share of the reading [-]; judgement."""
TEMPERATURE_ERROR, SUPPLY_ERROR = 2.0, 0.7
"""The same of pipes, and of the supply air [K]; judgement."""
READINGS = (
    "suction_pressure",
    "liquid_pressure",
    "discharge_pressure",
    "suction_temperature",
    "liquid_temperature",
    "discharge_temperature",
    "supply_db",
    "outdoor_power",
    "airflow",
)
"""Readings that are weighed; the airflow as dry air."""
POINT_NAMES = {"supply_db": "supply_temperature", "airflow": "indoor_airflow"}
UNIT_AIRFLOW = 0.12
"""Standard deviation of the unit's own airflow about the nameplate's or the summer's [-]; judgement."""
SETTING_ERROR = 0.5
"""Standard error of outdoor and return air at their coils [K]; judgement, no source."""
SETTING_STEP = 0.3
"""Step of outdoor and return air for slopes [K]."""


def usual_humidity(outdoor: Array, pressure: float) -> Array:
    """Outdoor humidity of winter days, through those of the standard's heating tests.

    Parameters
    ----------
    outdoor : ndarray
        Dry bulb [K].
    pressure : float
        Of the air [Pa].

    Returns
    -------
    ndarray
        Humidity ratio [kg/kg]; beyond the tests the nearest relative humidity.
    """
    dry = np.array([COLD_OUTDOOR, FROST_OUTDOOR, RATING_OUTDOOR])
    wet = np.array([COLD_WET_BULB, FROST_WET_BULB, RATING_WET_BULB])
    sea = moist_air.STANDARD_PRESSURE
    at_tests = moist_air.relative_humidity(dry, moist_air.humidity_ratio_from_wet_bulb(dry, wet, sea), sea)
    share = np.interp(outdoor, dry, at_tests)
    return moist_air.humidity_ratio_from_relative_humidity(outdoor, share, pressure)


def heating_readings(visit: Visit, instruments: Instruments) -> tuple[dict[str, float], dict[str, float]]:
    """Readings of a visit that the heating cycle can explain, and how far each may be off by itself.

    Parameters
    ----------
    visit : Visit
        In heating.
    instruments : Instruments
        Meters.

    Returns
    -------
    (dict of str to float, dict of str to float)
        By the names of `READINGS`, in that order: readings, and standard deviations from meter and model
        [SI]; empty where none was taken.
    """
    taken = visit.readings()
    accuracies = standard_accuracies(taken, instruments)
    found = {name: taken[name] for name in READINGS if name in taken}
    errors = {name: accuracies[name] for name in found}
    read = next((name for name in ("indoor_airflow_standard", "indoor_airflow") if name in taken), None)
    if read is not None:
        found["airflow"] = dry_airflow(taken, visit.ambient_pressure)
        errors["airflow"] = found["airflow"] * accuracies[read] / taken[read]
    own = {name: float(np.hypot(errors[name], _model_error(name, found[name]))) for name in found}
    return found, own


def _model_error(name: str, value: float) -> float:
    if name in MODEL_ERRORS:
        return MODEL_ERRORS[name] * abs(value)
    return SUPPLY_ERROR if name == "supply_db" else TEMPERATURE_ERROR


def expected_readings(pump: HeatPump, visit: Visit, names: Sequence[str], faults: Faults = HEALTHY) -> Array:
    """What a heat pump shows in the weather of a visit.

    Parameters
    ----------
    pump : HeatPump
        May hold arrays.
    visit : Visit
        For weather, return air, speeds and the blower's power.
    names : sequence of str
        Of `READINGS`.
    faults : Faults
        May hold arrays.

    Returns
    -------
    ndarray, shape (readings, ...)
        [SI].
    """
    return _shown(solve_heating(pump, _weather(visit), faults), names)


def common_errors(pump: HeatPump, visit: Visit, names: Sequence[str]) -> Array:
    """Covariance of readings by outdoor and return air and by the unit's own airflow.

    Parameters
    ----------
    pump : HeatPump
        One.
    visit : Visit
        In heating.
    names : sequence of str
        Of `READINGS`.

    Returns
    -------
    ndarray, shape (readings, readings)
        [SI].
    """
    steps = np.array([0.0, SETTING_STEP])
    outdoor, room = (
        _shown(solve_heating(pump, _weather(visit, *at)), names) for at in ((steps, 0.0), (0.0, steps))
    )
    less = expected_readings(pump, visit, names, Faults(evaporator_airflow_lost=np.array([0.0, 0.02])))
    columns = [
        (outdoor[:, 1] - outdoor[:, 0]) / SETTING_STEP * SETTING_ERROR,
        (room[:, 1] - room[:, 0]) / SETTING_STEP * SETTING_ERROR,
        (less[:, 1] - less[:, 0]) / 0.02 * UNIT_AIRFLOW,
    ]
    spread = np.stack(columns, axis=1)
    return np.asarray(spread @ spread.T)


def _weather(visit: Visit, warmer: Array | float = 0.0, room: Array | float = 0.0) -> HeatingConditions:
    """Conditions of a visit, some of them moved [K]; the blower's power as it was read."""
    outdoor = visit.outdoor_db + np.asarray(warmer, dtype=float)
    pressure = visit.ambient_pressure
    if visit.outdoor_rh is not None:
        humidity = moist_air.humidity_ratio_from_relative_humidity(outdoor, visit.outdoor_rh, pressure)
    elif visit.outdoor_wb is not None:
        wet = np.minimum(visit.outdoor_wb + np.asarray(warmer), outdoor)
        humidity = np.maximum(moist_air.humidity_ratio_from_wet_bulb(outdoor, wet, pressure), 1e-5)
    else:
        humidity = usual_humidity(outdoor, pressure)
    return HeatingConditions(
        outdoor, humidity, visit.return_db + np.asarray(room, dtype=float), pressure,
        indoor_power=visit.indoor_power, compressor_speed=visit.compressor_speed,
        outdoor_fan_speed=visit.outdoor_fan_speed,
    )  # fmt: skip


def _shown(point: HeatingPoint, names: Sequence[str]) -> Array:
    """Readings of points, shape (readings, ...)."""
    return np.array([getattr(point, POINT_NAMES.get(name, name)) for name in names])
