"""From a visit's weather to what its meters should show: the bridge between readings and model.

Readings that set the operating point (weather, return air, airflow, blower) become the model's conditions;
all others are what the model must reproduce. A visit is handled as many slightly changed visits at once, so
that the same call gives the slopes with respect to parameters and to the settings' own errors.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from calibration.case.meters import Instruments, standard_accuracies
from calibration.case.records import Visit
from calibration.measured.performance import humidity_ratio
from model.arrays import Array
from model.cycle.boundary import Conditions
from model.cycle.solve import OperatingPoint
from model.properties import moist_air

HUMIDITIES = ("return_wb", "return_dewpoint", "return_rh")
SUPPLY_HUMIDITIES = ("supply_wb", "supply_dewpoint", "supply_rh")
AIRFLOWS = ("indoor_airflow_standard", "indoor_airflow")
SETTINGS = ("outdoor_db", "return_db", *HUMIDITIES, *AIRFLOWS, "indoor_power")
"""Readings that set an operating point."""

UNREAD_RETURN_HUMIDITY = 0.50
"""Relative humidity of the return air where none was read [-]: common practice in a cooled house."""
UNREAD_HUMIDITY_SPREAD = 0.08
"""Its standard deviation [-]."""


def _supply_relative_humidity(point: OperatingPoint, pressure: Array) -> Array:
    return moist_air.relative_humidity(point.supply_temperature, point.supply_humidity_ratio, pressure)


def _supply_dew_point(point: OperatingPoint, pressure: Array) -> Array:
    return moist_air.dew_point(point.supply_humidity_ratio, pressure)


READINGS_OF_POINT: dict[str, Callable[[OperatingPoint, Array], Array]] = {
    "suction_pressure": lambda point, _: point.suction_pressure,
    "liquid_pressure": lambda point, _: point.liquid_pressure,
    "discharge_pressure": lambda point, _: point.discharge_pressure,
    "suction_temperature": lambda point, _: point.suction_temperature,
    "liquid_temperature": lambda point, _: point.liquid_temperature,
    "discharge_temperature": lambda point, _: point.discharge_temperature,
    "supply_db": lambda point, _: point.supply_temperature,
    "supply_wb": lambda point, _: point.supply_wet_bulb,
    "supply_rh": _supply_relative_humidity,
    "supply_dewpoint": _supply_dew_point,
    "condenser_leaving_db": lambda point, _: point.condenser_leaving_temperature,
    "outdoor_power": lambda point, _: point.outdoor_power,
    "compressor_power": lambda point, _: point.compressor_power,
    "outdoor_fan_power": lambda point, _: point.outdoor_fan_power,
}
"""What each meter shows at an operating point [SI], with the ambient pressure [Pa]."""
RATED_FIGURES: dict[str, Callable[[OperatingPoint, Array], Array]] = {
    "rated_capacity": lambda point, _: point.net_capacity,
    "rated_eer": lambda point, _: point.eer,
    "rated_subcooling": lambda point, _: point.subcooling,
    "rated_superheat": lambda point, _: point.superheat,
    "rated_outdoor_power": lambda point, _: point.outdoor_power,
}
"""What a maker prints of a point [SI]; see `calibration.clean_fit.nameplate`."""

MODEL_SPREAD: dict[str, tuple[float, float]] = {
    "suction_pressure": (0.005, 0.0),
    "liquid_pressure": (0.008, 0.0),
    "discharge_pressure": (0.008, 0.0),
    "suction_temperature": (0.0, 0.6),
    "liquid_temperature": (0.0, 0.5),
    "discharge_temperature": (0.0, 0.9),
    "supply_db": (0.0, 0.2),
    "supply_wb": (0.0, 0.15),
    "supply_rh": (0.0, 0.02),
    "supply_dewpoint": (0.0, 0.25),
    "condenser_leaving_db": (0.0, 0.3),
    "outdoor_power": (0.012, 0.0),
    "compressor_power": (0.012, 0.0),
    "outdoor_fan_power": (0.03, 0.0),
}
"""Standard deviation of the model itself, as a share of the reading and as a fixed part [SI]: of the size of
the errors in the published tests of NISTIR 7350 (`coiltoll study laboratory`)."""


@dataclass(frozen=True)
class Observation:
    """One visit, ready to be compared with the model.

    Attributes
    ----------
    label : str
    settings : mapping of str to float
        Readings that set the operating point [SI].
    setting_spreads : mapping of str to float
        Their standard errors [SI].
    names : tuple of str
        Readings that the model must reproduce.
    values, spreads : arrays, one a name
        Those readings and their standard errors [SI]; the meter's alone.
    ambient_pressure : float
        [Pa]
    compressor_speed, outdoor_fan_speed : float
        Fractions of full speed [-].
    assumed : tuple of str
        Settings that nobody read.
    common : array (names, causes) or None
        Standard deviations that these readings have in common with others of the same causes [SI]; with
        them, `spreads` holds only what is their own.
    """

    label: str
    settings: Mapping[str, float]
    setting_spreads: Mapping[str, float]
    names: tuple[str, ...]
    values: Array
    spreads: Array
    ambient_pressure: float
    compressor_speed: float
    outdoor_fan_speed: float
    assumed: tuple[str, ...] = ()
    common: Array | None = None


def observation(visit: Visit, instruments: Instruments) -> Observation:
    """A visit as settings and readings with their standard errors.

    Parameters
    ----------
    visit : Visit
        Readings [SI].
    instruments : Instruments
        Meters of the case.

    Returns
    -------
    Observation
        What sets the operating point, and what the model must reproduce.
    """
    readings = visit.readings()
    accuracies = standard_accuracies(readings, instruments)
    settings, spreads = _settings(readings, accuracies)
    names = tuple(name for name in READINGS_OF_POINT if name in readings)
    if {"outdoor_power", "outdoor_fan_power"} <= set(names):
        names = tuple(name for name in names if name != "compressor_power")
    return Observation(
        label=visit.label,
        settings=settings,
        setting_spreads=spreads,
        names=names,
        values=np.array([readings[name] for name in names]),
        spreads=np.array([accuracies[name] for name in names]),
        ambient_pressure=visit.ambient_pressure,
        compressor_speed=visit.compressor_speed,
        outdoor_fan_speed=visit.outdoor_fan_speed,
        assumed=tuple(name for name in settings if name not in readings),
    )


def nothing_to_explain(label: str) -> str:
    """Sentence about a visit that has no reading which the model must reproduce.

    Parameters
    ----------
    label : str
        Of the visit.

    Returns
    -------
    str
        Where, what is missing, what is expected.
    """
    return f"visit {label}: has no pressure, pipe temperature, supply air or power; at least one is expected"


def _settings(
    readings: Mapping[str, float], accuracies: Mapping[str, float]
) -> tuple[dict[str, float], dict[str, float]]:
    """One humidity and one airflow of those read; an assumed humidity where none was."""
    chosen = ["outdoor_db", "return_db"]
    chosen += [name for name in HUMIDITIES if name in readings][:1]
    chosen += [name for name in AIRFLOWS if name in readings][:1]
    chosen += ["indoor_power"] if "indoor_power" in readings else []
    settings = {name: readings[name] for name in chosen}
    spreads = {name: accuracies[name] for name in chosen}
    if not any(name in settings for name in HUMIDITIES):
        settings["return_rh"] = UNREAD_RETURN_HUMIDITY
        spreads["return_rh"] = UNREAD_HUMIDITY_SPREAD
    return settings, spreads


def conditions(
    settings: Mapping[str, Array | float],
    ambient_pressure: Array | float,
    compressor_speed: Array | float = 1.0,
    outdoor_fan_speed: Array | float = 1.0,
) -> Conditions:
    """The model's conditions from settings by their case keys.

    Parameters
    ----------
    settings : mapping of str to ndarray or float
        Outdoor and return temperature, one humidity, optional airflow and blower power [SI].
    ambient_pressure : ndarray or float
        Barometric pressure [Pa].
    compressor_speed : ndarray or float
        Over full speed [-].
    outdoor_fan_speed : ndarray or float
        Over full speed [-].

    Returns
    -------
    Conditions
        Of the broadcast shape.
    """
    columns = {name: np.asarray(value, dtype=float) for name, value in settings.items()}
    humidity = humidity_ratio(columns, "return", ambient_pressure)  # type: ignore[arg-type]
    flow: Array | None = None
    if "indoor_airflow_standard" in columns:
        flow = columns["indoor_airflow_standard"] * moist_air.STANDARD_AIR_DENSITY
    elif "indoor_airflow" in columns:
        flow = moist_air.dry_air_mass_flow(
            columns["indoor_airflow"], columns["return_db"], humidity, ambient_pressure
        )
    return Conditions(
        outdoor_temperature=columns["outdoor_db"],
        return_temperature=columns["return_db"],
        return_humidity_ratio=humidity,
        ambient_pressure=np.asarray(ambient_pressure, dtype=float),
        indoor_airflow=flow,
        indoor_power=columns.get("indoor_power"),
        compressor_speed=np.asarray(compressor_speed, dtype=float),
        outdoor_fan_speed=np.asarray(outdoor_fan_speed, dtype=float),
    )


def point_readings(point: OperatingPoint, names: tuple[str, ...], ambient_pressure: Array | float) -> Array:
    """What the named meters show at operating points.

    Parameters
    ----------
    point : OperatingPoint
        Solved points, any shape.
    names : tuple of str
        Keys of `READINGS_OF_POINT` or `RATED_FIGURES`.
    ambient_pressure : ndarray or float
        Barometric pressure [Pa].

    Returns
    -------
    ndarray, shape (names, ...)
        Readings [SI].
    """
    pressure = np.asarray(ambient_pressure, dtype=float)
    shown = READINGS_OF_POINT | RATED_FIGURES
    return np.stack([shown[name](point, pressure) for name in names])


def model_spreads(names: tuple[str, ...], values: Array) -> Array:
    """Standard deviation of the model's own error for each named reading.

    Parameters
    ----------
    names : tuple of str
        Keys of `MODEL_SPREAD`; figures of a nameplate have no error of the model beside their own.
    values : ndarray, shape (names,)
        The readings [SI].

    Returns
    -------
    ndarray, shape (names,)
        Standard deviations [SI].
    """
    shares = np.array([MODEL_SPREAD.get(name, (0.0, 0.0)) for name in names]).reshape(-1, 2)
    return np.asarray(np.hypot(shares[:, 0] * np.abs(values), shares[:, 1]))
