"""The numbers of a unit that a clean visit may change, what is known of them beforehand, and how they act.

Each parameter is zero for the generic unit sized from the nameplate (`model.cycle.sizing`) and has a standard
spread: how far real units of that nameplate lie from it. Most are logarithms of a factor. The spreads are
common practice, no source, checked as a whole by the coverage study (`calibration.studies.coverage`):
ranges that follow from them must hold the truth as often as they say.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from calibration.case import units
from calibration.case.records import PrintedMap, UnitDescription, Visit
from calibration.measured.performance import humidity_ratio
from model.arrays import Array
from model.components.compressor import (
    USUAL_DISCHARGE_RANGE,
    USUAL_SUCTION_RANGE,
    Compressor,
    CompressorMap,
    map_value,
)
from model.components.unit import Unit
from model.cycle.boundary import BLOWER_AIR_DENSITY
from model.cycle.sizing import RATING_OUTDOOR, RATING_RETURN, nominal_unit
from model.properties import moist_air
from model.properties.moist_air import STANDARD_PRESSURE

DEFAULT_EER = 3.4
"""Rated efficiency where the nameplate gives none [W/W]: EER 11.6, common practice."""
USUAL_MAP_SUPERHEAT = 11.1
"""Superheat of a compressor map that tells none [K]: 20 degF, common practice."""
MAP_SUCTION = 283.15
"""Suction dew point at which a map's return-gas temperature is turned into a superheat [K]: 10 degC."""
MAP_POINT = (280.35, 327.55)
"""Suction and discharge dew point at which a map is checked [K]: 45 and 130 degF, as many are rated."""
MAP_SPECIFIC_CAPACITY = 160e3
"""Heat that refrigerant takes up there [J/kg], whichever it is, within a factor of two."""
LARGEST_EFFICIENCY, CAP_SHARPNESS = 0.86, 80.0
"""Isentropic efficiency at the built-in ratio that no fit exceeds [-], a little over the best that makers
reach (`model.cycle.sizing.BEST_EFFICIENCY`), and how sharply it is held."""
MAP_FACTOR = 4.0
"""How far a map's flow and power may lie from those of the nameplate, as a factor [-]."""


@dataclass(frozen=True)
class Parameter:
    """One adjustable number.

    Attributes
    ----------
    name, meaning : str
    spread : float
        Standard deviation before any visit [-] (of the logarithm; in K for the static superheat).
    apply : callable
        Unit and value (a number or an array that broadcasts) to the changed unit.
    """

    name: str
    meaning: str
    spread: float
    apply: Callable[[Unit, ArrayLike], Unit]


def _scaled(part: str, *names: str) -> Callable[[Unit, ArrayLike], Unit]:
    def apply(unit: Unit, value: ArrayLike) -> Unit:
        old = getattr(unit, part)
        factor = np.exp(np.asarray(value))
        new = replace(old, **{name: np.asarray(getattr(old, name)) * factor for name in names})
        return replace(unit, **{part: new})

    return apply


def _efficiency(unit: Unit, value: ArrayLike) -> Unit:
    # A mapped compressor has no efficiency of its own: a better one simply draws less power than the map
    # says.
    machine = unit.compressor
    if machine.rating_map is None:
        free = np.asarray(machine.efficiency) * np.exp(np.asarray(value))
        reached = free * _within_best(free) / _within_best(np.asarray(machine.efficiency))
        return replace(unit, compressor=replace(machine, efficiency=np.asarray(reached)))
    return _scaled("compressor", "power_scale")(unit, -np.asarray(value))


def _within_best(efficiency: Array) -> Array:
    """Share of an efficiency that is left so that none exceeds `LARGEST_EFFICIENCY`, without a corner."""
    return np.asarray((1.0 + (efficiency / LARGEST_EFFICIENCY) ** CAP_SHARPNESS) ** (-1.0 / CAP_SHARPNESS))


def _static_superheat(unit: Unit, value: ArrayLike) -> Unit:
    static = np.asarray(unit.expansion.static_superheat) + np.asarray(value)
    return replace(unit, expansion=replace(unit.expansion, static_superheat=np.maximum(static, 0.5)))


PARAMETERS = (
    Parameter("displacement", "compressor's flow", 0.25, _scaled("compressor", "displacement_scale")),
    Parameter("efficiency", "compressor's efficiency", 0.20, _efficiency),
    Parameter(
        "leakage_slope", "fall of flow with pressure ratio", 0.30, _scaled("compressor", "leakage_slope")
    ),
    Parameter("built_in_ratio", "ratio of best efficiency", 0.08, _scaled("compressor", "built_in_ratio")),
    Parameter("shell_loss", "heat lost by the shell", 0.50, _scaled("compressor", "shell_loss")),
    Parameter(
        "condenser_conductance",
        "condenser's conductance",
        0.40,
        _scaled(
            "condenser",
            "air_conductance",
            "vapour_conductance",
            "condensing_conductance",
            "liquid_conductance",
        ),
    ),
    Parameter("condenser_airflow", "condenser's airflow", 0.15, _scaled("outdoor_fan", "airflow")),
    Parameter("condenser_exponent", "power of velocity", 0.12, _scaled("condenser", "air_exponent")),
    Parameter("fan_power", "condenser fan's power", 0.20, _scaled("outdoor_fan", "power")),
    Parameter(
        "boiling_conductance",
        "indoor coil, refrigerant side",
        0.70,
        _scaled("evaporator", "boiling_conductance"),
    ),
    Parameter(
        "coil_conductance",
        "indoor coil, air side",
        0.40,
        _scaled("evaporator", "air_conductance", "vapour_conductance"),
    ),
    Parameter("dry_ratio", "dry over wet conductance", 0.08, _scaled("evaporator", "dry_ratio")),
    Parameter("evaporator_volume", "indoor coil's volume", 0.30, _scaled("evaporator", "volume")),
    Parameter("condenser_volume", "condenser's volume", 0.50, _scaled("condenser", "volume")),
    Parameter("charge", "refrigerant charge", 0.12, _scaled("circuit", "charge")),
    Parameter("expansion_area", "expansion device's area", 0.30, _scaled("expansion", "area")),
    Parameter("static_superheat", "valve's static superheat", 2.0, _static_superheat),
    Parameter(
        "length_ratio", "length of the orifice over its bore", 0.35, _scaled("expansion", "length_ratio")
    ),
    Parameter(
        "liquid_line_drop", "liquid line's pressure drop", 0.50, _scaled("circuit", "liquid_line_drop")
    ),
    Parameter("suction_line", "suction line's heat gain", 0.40, _scaled("circuit", "suction_line_ntu")),
)
"""Every adjustable number, in the order of the fit's vector."""

NAMES = tuple(parameter.name for parameter in PARAMETERS)
SPREADS = np.array([parameter.spread for parameter in PARAMETERS])


def adjusted(unit: Unit, values: Array) -> Unit:
    """The unit with its parameters moved.

    Parameters
    ----------
    unit : Unit
        The generic one.
    values : ndarray, shape (parameters, ...)
        One row a parameter; the rest becomes the shape of the unit's numbers.

    Returns
    -------
    Unit
        Of that shape.
    """
    for parameter, value in zip(PARAMETERS, values, strict=True):
        unit = parameter.apply(unit, value)
    return unit


def generic_unit(description: UnitDescription, visits: Sequence[Visit] = ()) -> Unit:
    """The generic unit of a nameplate, with the fans as they were measured on clean visits where they were.

    Parameters
    ----------
    description : UnitDescription
        The nameplate.
    visits : sequence of Visit
        Clean visits, for the fans as they were measured.

    Returns
    -------
    Unit
        Sized from the nameplate.

    Raises
    ------
    ValueError
        Where the nameplate is out of range, or its compressor map is of a machine of another size.
    """
    airflow = _mean([_over(standard_airflow(visit), _blower_air(visit)) for visit in visits])
    blower = _mean([_over(visit.indoor_power, _blower_air(visit)) for visit in visits])
    fan = _mean([_over(visit.outdoor_fan_power, _fan_air(visit)) for visit in visits])
    unit = nominal_unit(
        description.refrigerant,
        description.rated_capacity,
        description.rated_eer or DEFAULT_EER,
        expansion=description.expansion,
        compressor=description.compressor,
        indoor_blower=description.indoor_blower,
        outdoor_fan=description.outdoor_fan,
        coil_type=description.coil_type,
        indoor_airflow=airflow if airflow is not None else description.rated_indoor_airflow,
        indoor_power=blower if blower is not None else description.indoor_blower_power,
        outdoor_fan_power=fan if fan is not None else description.outdoor_fan_power,
    )
    limits = {
        name: getattr(description, name)
        for name in ("high_pressure_limit", "low_pressure_limit")
        if getattr(description, name) is not None
    }
    if description.compressor_map is not None:
        unit = replace(unit, compressor=_mapped(unit.compressor, description, description.compressor_map))
    return replace(unit, **limits)


def _mapped(machine: Compressor, description: UnitDescription, printed: PrintedMap) -> Compressor:
    """The compressor with its maker's map, which must be one of a machine of this size."""
    rating = si_map(printed)
    suction, discharge = (np.asarray(temperature - 273.15) for temperature in MAP_POINT)
    usual_flow = description.rated_capacity / MAP_SPECIFIC_CAPACITY
    usual_power = description.rated_capacity / (description.rated_eer or DEFAULT_EER)
    for name, coefficients, usual in (
        ("mass_flow", rating.flow_coefficients, usual_flow),
        ("power", rating.power_coefficients, usual_power),
    ):
        ratio = float(map_value(coefficients, suction, discharge)) / usual
        if not 1.0 / MAP_FACTOR <= ratio <= MAP_FACTOR:
            raise ValueError(
                f"[unit.compressor_map] {name}: gives {ratio:.3g} times what the rated capacity asks for at "
                f"45 degF suction and 130 degF discharge; 1/{MAP_FACTOR:g} to {MAP_FACTOR:g} times is "
                "expected: check form, order and number of phases or compressors"
            )
    return replace(machine, rating_map=rating)


def _blower_air(visit: Visit) -> float:
    """Density of a visit's return air over the rating's: the blower moves the same volume in both [-]."""
    return visit.ambient_pressure / STANDARD_PRESSURE * RATING_RETURN / visit.return_db


def _fan_air(visit: Visit) -> float:
    """Density of a visit's outdoor air over the rating's [-]."""
    return visit.ambient_pressure / STANDARD_PRESSURE * RATING_OUTDOOR / visit.outdoor_db


def _over(value: float | None, ratio: float) -> float | None:
    return None if value is None else value / ratio


@lru_cache(maxsize=1024)
def standard_airflow(visit: Visit) -> float | None:
    """Airflow of a visit in standard air [m3/s]; None where it or the return air's humidity was not read.

    Kept for each visit: judging every visit by the others asks for the same ones again and again.

    Parameters
    ----------
    visit : Visit
        Readings [SI].

    Returns
    -------
    float, optional
        Airflow of standard air [m3/s]; None where it or the return air's humidity was not read.
    """
    if visit.indoor_airflow_standard is not None:
        return visit.indoor_airflow_standard
    if visit.indoor_airflow is None:
        return None
    readings = {name: np.asarray(value) for name, value in visit.readings().items()}
    if not {"return_wb", "return_rh", "return_dewpoint"} & set(readings):
        return None
    humidity = humidity_ratio(readings, "return", visit.ambient_pressure)
    flow = moist_air.dry_air_mass_flow(
        visit.indoor_airflow, visit.return_db, humidity, visit.ambient_pressure
    )
    return float(flow / moist_air.STANDARD_AIR_DENSITY)


def rated_standard_airflow(unit: Unit) -> float:
    """Airflow of a unit's own blower at the rating, in standard air [m3/s].

    Parameters
    ----------
    unit : Unit
        A single one, not a family.

    Returns
    -------
    float
        Airflow of standard air [m3/s].
    """
    volume = float(np.asarray(unit.indoor_fan.airflow))
    return volume * BLOWER_AIR_DENSITY / moist_air.STANDARD_AIR_DENSITY


def si_map(printed: PrintedMap) -> CompressorMap:
    """The maker's map in SI, for `model.components.compressor`.

    Parameters
    ----------
    printed : PrintedMap
        Coefficients as printed.

    Returns
    -------
    model.components.compressor.CompressorMap
        Of temperatures [degC], mass flow [kg/s] and power [W]. A map rated at a fixed return-gas temperature
        is used at the superheat that it has at a suction dew point of 10 degC.
    """
    per_second = (units.POUND if printed.form == "US" else 1.0) / units.HOUR
    flow = units.celsius_coefficients(printed.mass_flow, printed.form)
    power = units.celsius_coefficients(printed.power, printed.form)
    superheat = printed.superheat
    if superheat is None:
        gas = printed.return_gas_temperature
        superheat = USUAL_MAP_SUPERHEAT if gas is None else max(gas - MAP_SUCTION, 1.0)
    return CompressorMap(
        tuple(per_second * term for term in flow),
        power,
        superheat,
        printed.suction_range or USUAL_SUCTION_RANGE,
        printed.discharge_range or USUAL_DISCHARGE_RANGE,
    )


def _mean(values: Sequence[float | None]) -> float | None:
    taken = [value for value in values if value is not None]
    return sum(taken) / len(taken) if taken else None
