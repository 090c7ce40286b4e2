"""How well each meter reads: one standard deviation for every reading of a visit.

A data sheet says "plus or minus a" and rarely what share of readings that holds. Without such a statement
every error between the limits is taken as equally likely, so one standard deviation is a / sqrt(3) (JCGM
100:2008, Guide to the expression of uncertainty in measurement, 4.3.7). Defaults below are such limits:

* pressure: 7 psi on the liquid and discharge line, 3.5 psi on the suction line; thermometers: 0.1 % of the
  reading in degF plus 1.3 degF (California Title 24, Reference Residential Appendix RA3.2, as given to this
  project);
* dew-point meter 2 degF, relative humidity 3 %, airflow 7 % of the reading, wattmeter 2 % of the reading,
  voltmeter 1 %, ammeter 2 %, power factor 0.02: common practice, no source.

Errors of different readings are taken as independent, although one thermometer may serve two of them: then
differences are better than said here. The local barometric pressure is taken as known: its day-to-day
spread of about 1 kPa moves a gauge reading less than the gauge itself does.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot, sqrt

from calibration.case.units import DEGREE_F, PSI, TEMPERATURE

LIMIT_TO_STANDARD = 1 / sqrt(3)
"""One standard deviation over the limit of error, errors between the limits equally likely (JCGM 100)."""

SUCTION_LIMIT = 3.5 * PSI
"""Limit of error of a suction gauge [Pa] (Title 24 RA3.2)."""
LIQUID_LIMIT = 7.0 * PSI
"""Limit of error of a liquid-line or discharge gauge [Pa] (Title 24 RA3.2)."""
THERMOMETER_LIMIT = 1.3 * DEGREE_F
"""Fixed part of a thermometer's limit of error [K] (Title 24 RA3.2)."""
THERMOMETER_SHARE = 0.001
"""Part of a thermometer's limit of error that grows with the reading in degF [-] (Title 24 RA3.2)."""
DEW_POINT_LIMIT = 2.0 * DEGREE_F
"""Limit of error of a dew-point meter [K] (common practice)."""
RELATIVE_HUMIDITY_LIMIT = 0.03
"""Limit of error of a relative-humidity meter [fraction] (common practice)."""
AIRFLOW_LIMIT = 0.07
"""Limit of error of an airflow meter, share of the reading [-] (common practice)."""
WATTMETER_LIMIT = 0.02
"""Limit of error of a wattmeter, share of the reading [-] (common practice)."""
VOLTMETER_LIMIT = 0.01
"""Limit of error of a voltmeter, share of the reading [-] (common practice)."""
AMMETER_LIMIT = 0.02
"""Limit of error of a clamp meter's current, share of the reading [-] (common practice)."""
POWER_FACTOR_LIMIT = 0.02
"""Limit of error of a power-factor meter [-] (common practice)."""


@dataclass(frozen=True)
class Instruments:
    """Standard accuracy (one standard deviation) of each meter; None leaves the documented default.

    Attributes
    ----------
    suction_gauge, liquid_gauge, discharge_gauge : float or None
        Pressure [Pa].
    pipe_thermometer, air_thermometer, wet_bulb, dew_point : float or None
        Temperature [K].
    relative_humidity : float or None
        Relative humidity [fraction].
    airflow, wattmeter, voltmeter, ammeter : float or None
        Share of the reading [-].
    power_factor : float or None
        Power factor [-].
    """

    suction_gauge: float | None = None
    liquid_gauge: float | None = None
    discharge_gauge: float | None = None
    pipe_thermometer: float | None = None
    air_thermometer: float | None = None
    wet_bulb: float | None = None
    dew_point: float | None = None
    relative_humidity: float | None = None
    airflow: float | None = None
    wattmeter: float | None = None
    voltmeter: float | None = None
    ammeter: float | None = None
    power_factor: float | None = None


METER_OF_READING: dict[str, str] = {
    "suction_pressure": "suction_gauge",
    "liquid_pressure": "liquid_gauge",
    "liquid_valve_pressure": "liquid_gauge",
    "standing_pressure": "liquid_gauge",
    "discharge_pressure": "discharge_gauge",
    "suction_temperature": "pipe_thermometer",
    "liquid_temperature": "pipe_thermometer",
    "discharge_temperature": "pipe_thermometer",
    "outdoor_db": "air_thermometer",
    "return_db": "air_thermometer",
    "supply_db": "air_thermometer",
    "condenser_leaving_db": "air_thermometer",
    "standing_temperature": "air_thermometer",
    "return_wb": "wet_bulb",
    "outdoor_wb": "wet_bulb",
    "supply_wb": "wet_bulb",
    "return_dewpoint": "dew_point",
    "supply_dewpoint": "dew_point",
    "return_rh": "relative_humidity",
    "outdoor_rh": "relative_humidity",
    "supply_rh": "relative_humidity",
    "indoor_airflow": "airflow",
    "indoor_airflow_standard": "airflow",
    "outdoor_power": "wattmeter",
    "indoor_power": "wattmeter",
    "outdoor_fan_power": "wattmeter",
    "compressor_power": "wattmeter",
    "outdoor_volts": "voltmeter",
    "indoor_volts": "voltmeter",
    "outdoor_amps": "ammeter",
    "indoor_amps": "ammeter",
    "outdoor_power_factor": "power_factor",
    "indoor_power_factor": "power_factor",
}
"""Meter that takes each reading. Other readings (speeds, minutes) are taken as exact."""

_SHARES = {
    "airflow": AIRFLOW_LIMIT,
    "wattmeter": WATTMETER_LIMIT,
    "voltmeter": VOLTMETER_LIMIT,
    "ammeter": AMMETER_LIMIT,
}
_FIXED = {
    "suction_gauge": SUCTION_LIMIT,
    "liquid_gauge": LIQUID_LIMIT,
    "discharge_gauge": LIQUID_LIMIT,
    "dew_point": DEW_POINT_LIMIT,
    "relative_humidity": RELATIVE_HUMIDITY_LIMIT,
    "power_factor": POWER_FACTOR_LIMIT,
}


def standard_accuracy(name: str, value: float, instruments: Instruments) -> float:
    """One standard deviation of one reading.

    Parameters
    ----------
    name : str
        Key of the reading, as in `METER_OF_READING`; any other name has no error.
    value : float
        The reading [SI].
    instruments : Instruments
        Meters of the case.

    Returns
    -------
    float
        Standard deviation in the unit of the reading [SI], 0 for a name without a meter.
    """
    meter = METER_OF_READING.get(name)
    if meter is None:
        return 0.0
    own: float | None = getattr(instruments, meter)
    if meter in _SHARES:
        share = _SHARES[meter] * LIMIT_TO_STANDARD if own is None else own
        return share * abs(value)
    if own is not None:
        return own
    if meter in _FIXED:
        return _FIXED[meter] * LIMIT_TO_STANDARD
    reading = abs(TEMPERATURE.from_si(value, "US")) * DEGREE_F
    return (THERMOMETER_LIMIT + THERMOMETER_SHARE * reading) * LIMIT_TO_STANDARD


def standard_accuracies(readings: Mapping[str, float], instruments: Instruments) -> dict[str, float]:
    """One standard deviation of every reading of a visit.

    Watts made from volts, amperes and a power factor carry those three meters' errors instead of a
    wattmeter's.

    Parameters
    ----------
    readings : mapping of str to float
        Readings that were taken [SI], by key.
    instruments : Instruments
        Meters of the case.

    Returns
    -------
    dict of str to float
        Standard deviation of each reading [SI], same keys.
    """
    accuracies = {name: standard_accuracy(name, value, instruments) for name, value in readings.items()}
    for side in ("outdoor", "indoor"):
        parts = [f"{side}_{part}" for part in ("volts", "amps", "power_factor")]
        power = f"{side}_power"
        if power in readings and all(readings.get(part) for part in parts):
            accuracies[power] = readings[power] * hypot(*(accuracies[p] / readings[p] for p in parts))
    return accuracies
