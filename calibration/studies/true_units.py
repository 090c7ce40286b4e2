"""Invented units that differ from the model that is fitted to them, and what meters show on them.

A fit looks better than it is where the truth has the form of the model. The units here have other numbers
wherever the fit takes a number as known (fan curves, exponents, volumes, the valve's curve, pressure drops),
half of them a compressor of another form (clearance volume and an efficiency curved in the logarithm of the
pressure ratio, by way of a ten-coefficient map), a charge weighed in by its effect, and changes between
visits of their own. Readings carry errors equally likely between the meters' documented limits. All of it is
invented; sizes of the differences are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from calibration.case.meters import LIMIT_TO_STANDARD, Instruments, standard_accuracies
from calibration.case.records import UnitDescription, Visit
from calibration.clean_fit.nameplate import as_rated
from calibration.clean_fit.observation import READINGS_OF_POINT
from calibration.clean_fit.parameters import DEFAULT_EER, NAMES, SPREADS, adjusted
from calibration.diagnosis.scene import DAY_TO_DAY_AIRFLOW
from calibration.diagnosis.visit_model import DAY_TO_DAY, NONCONDENSABLE_TEMPERATURE
from calibration.studies.other_compressor import MapRange, other_compressor
from model.arrays import Array
from model.components.unit import Unit
from model.cycle.boundary import Conditions
from model.cycle.faults import HEALTHY, Faults
from model.cycle.sizing import nominal_unit, rating_conditions
from model.cycle.solve import STATES, OperatingPoint, solve
from model.properties import moist_air
from model.properties.moist_air import STANDARD_PRESSURE
from model.properties.refrigerant import refrigerant

Generator = np.random.Generator

REFRIGERANTS = ("R410A", "R454B")
SMALLEST, LARGEST = 5275.0, 70337.0
"""Rated capacities [W]: 1.5 to 20 tons."""
PARAMETER_SHARE = 0.7
"""Spread of the drawn parameters over the fit's prior [-]: a fit should not be surprised by ordinary
units."""
CHARGE_FACTORS = np.linspace(0.8, 1.3, 9)
"""Charges tried to find the one that shows the wanted subcooling or superheat, over the generic unit's
[-]."""
MAP_RANGE = MapRange((-22.0, 24.0), (18.0, 66.0), (18.0, 22.0), 1.0 / 1.1, (2.2, 3.3))
"""Of compressors of another form: where units of this study run."""
MOST_DRAWS = 50
"""Draws of a unit before giving up on finding one that runs well when clean."""


@dataclass(frozen=True)
class TrueUnit:
    """A unit as it really is, what its nameplate says, and the airflow that its ducts let through [m3/s]."""

    unit: Unit
    description: UnitDescription
    airflow: float


@dataclass(frozen=True)
class Weather:
    """Air around a unit: outdoor and return dry bulb [K], return humidity ratio [kg/kg]."""

    outdoor: float
    back: float
    humidity_ratio: float


def drawn_unit(draw: Generator) -> TrueUnit:
    """A unit that runs well when clean.

    Parameters
    ----------
    draw : numpy.random.Generator
        Of everything.

    Returns
    -------
    TrueUnit
        Of one of `REFRIGERANTS`, `SMALLEST` to `LARGEST` W.

    Raises
    ------
    RuntimeError
        Where `MOST_DRAWS` draws found none.
    """
    for _ in range(MOST_DRAWS):
        description = _drawn_nameplate(draw)
        generic = nominal_unit(
            description.refrigerant,
            description.rated_capacity,
            description.rated_eer or DEFAULT_EER,
            expansion=description.expansion,
            compressor=description.compressor,
            indoor_blower=description.indoor_blower,
        )
        shape = adjusted(generic, PARAMETER_SHARE * SPREADS * draw.standard_normal(len(SPREADS)))
        charged = _charged(_other_numbers(shape, draw), draw)
        if charged is not None:
            point = solve(charged, rating_conditions())
            description = as_rated(description, float(point.net_capacity), float(point.eer), draw)
            airflow = float(np.asarray(charged.indoor_fan.airflow))
            return TrueUnit(charged, description, airflow)
    raise RuntimeError(f"no unit that runs well was found in {MOST_DRAWS} draws")


def _drawn_nameplate(draw: Generator) -> UnitDescription:
    return UnitDescription(
        name="invented",
        refrigerant=str(draw.choice(REFRIGERANTS)),
        expansion="TXV" if draw.random() < 0.6 else "fixed orifice",
        rated_capacity=float(np.exp(draw.uniform(np.log(SMALLEST), np.log(LARGEST)))),
        compressor="scroll" if draw.random() < 0.75 else "reciprocating",
        indoor_blower="fixed speed" if draw.random() < 0.7 else "constant airflow",
        rated_eer=float(draw.uniform(2.7, 4.1)),
    )


def _other_numbers(unit: Unit, draw: Generator) -> Unit:
    """Numbers that the fit takes as known, somewhere else."""

    def around(value: object, spread: float) -> Array:
        return np.asarray(np.asarray(value, dtype=float) * np.exp(spread * draw.standard_normal()))

    circuit, evaporator, condenser, valve = unit.circuit, unit.evaporator, unit.condenser, unit.expansion
    unit = replace(
        unit,
        outdoor_fan=replace(
            unit.outdoor_fan, curve_slope=draw.uniform(1.6, 3.6), coil_share=draw.uniform(0.45, 0.75)
        ),
        indoor_fan=replace(
            unit.indoor_fan,
            airflow=around(unit.indoor_fan.airflow, 0.08),
            curve_slope=draw.uniform(1.0, 2.2),
            coil_share=draw.uniform(0.25, 0.5),
        ),
        circuit=replace(
            circuit,
            liquid_line_volume=around(circuit.liquid_line_volume, 0.35),
            suction_volume=around(circuit.suction_volume, 0.3),
            suction_drop=around(circuit.suction_drop, 0.4),
        ),
        evaporator=replace(
            evaporator,
            air_exponent=np.asarray(evaporator.air_exponent) + draw.uniform(-0.08, 0.08),
            pressure_drop=around(evaporator.pressure_drop, 0.4),
        ),
        condenser=replace(
            condenser,
            volume=around(condenser.volume, 0.2),
            pressure_drop=around(condenser.pressure_drop, 0.4),
        ),
        expansion=replace(
            valve,
            reserve=draw.uniform(1.3, 1.8),
            opening_superheat=np.asarray(valve.opening_superheat) * draw.uniform(0.7, 1.4),
        ),
    )
    return replace(unit, compressor=other_compressor(unit, draw, MAP_RANGE)) if draw.random() < 0.5 else unit


def _charged(unit: Unit, draw: Generator) -> Unit | None:
    """The unit with the charge that a careful hand would weigh in; None where it runs well with none."""
    charges = np.asarray(unit.circuit.charge) * CHARGE_FACTORS
    family = replace(unit, circuit=replace(unit.circuit, charge=charges))
    point = solve(family, rating_conditions())
    valve = unit.expansion.kind == "TXV"
    wanted = draw.uniform(3.5, 8.0) if valve else draw.uniform(4.0, 10.0)
    shown = point.subcooling if valve else -point.superheat
    wanted = wanted if valve else -wanted
    if not (shown[0] < wanted < shown[-1]):
        return None
    charge = float(np.interp(wanted, shown, charges))
    found = replace(unit, circuit=replace(unit.circuit, charge=charge))
    check = solve(found, rating_conditions())
    fine = (
        STATES[int(check.state)] == "ok"
        and float(check.subcooling) > 2.0
        and float(check.superheat) > 2.0
        and 0.75 < float(check.net_capacity) / float(np.asarray(unit.rated_capacity)) < 1.3
        and float(check.condensing_temperature) < 331.0
    )
    return found if fine else None


def drawn_weather(draw: Generator) -> Weather:
    """Weather of a visit: outdoor 68 to 109 degF, return 70 to 82 degF at 35 to 65 % humidity.

    Parameters
    ----------
    draw : numpy.random.Generator
        Of each, equally likely between its ends.

    Returns
    -------
    Weather
        At sea level.
    """
    outdoor, back = draw.uniform(293.0, 316.0), draw.uniform(294.3, 301.0)
    humidity = moist_air.humidity_ratio_from_relative_humidity(
        back, draw.uniform(0.35, 0.65), STANDARD_PRESSURE
    )
    return Weather(outdoor, back, float(humidity))


def another_day(true: TrueUnit, draw: Generator) -> TrueUnit:
    """The same unit on another day: everything a little different, nothing wrong.

    Parameters
    ----------
    true : TrueUnit
        As it was on the first day.
    draw : numpy.random.Generator
        Of the changes, as wide as `calibration.diagnosis.visit_model.DAY_TO_DAY`.

    Returns
    -------
    TrueUnit
        With the same nameplate.
    """
    changes = np.array([DAY_TO_DAY.get(name, 0.0) for name in NAMES]) * draw.standard_normal(len(NAMES))
    airflow = true.airflow * float(np.exp(DAY_TO_DAY_AIRFLOW * draw.standard_normal()))
    return replace(true, unit=adjusted(true.unit, changes), airflow=airflow)


def true_point(true: TrueUnit, weather: Weather, faults: Faults = HEALTHY) -> OperatingPoint:
    """What the unit really does.

    Parameters
    ----------
    true : TrueUnit
        The unit and its airflow.
    weather : Weather
        Of the day.
    faults : Faults
        What is really wrong.

    Returns
    -------
    OperatingPoint
        Of no shape [SI].
    """
    flow = true.airflow / moist_air.specific_volume(weather.back, weather.humidity_ratio, STANDARD_PRESSURE)
    return solve(
        true.unit,
        Conditions(weather.outdoor, weather.back, weather.humidity_ratio, indoor_airflow=flow),
        faults,
    )


def read_visit(
    true: TrueUnit,
    weather: Weather,
    point: OperatingPoint,
    draw: Generator,
    *,
    faults: Faults = HEALTHY,
    label: str = "found",
) -> Visit:
    """Every reading that a visit can have, each with an error between its meter's documented limits.

    Parameters
    ----------
    true : TrueUnit
        The unit.
    weather : Weather
        Of the day.
    point : OperatingPoint
        `true_point` with the same weather and faults.
    draw : numpy.random.Generator
        Of the errors, equally likely between the limits.
    faults : Faults
        What is wrong; only non-condensables show with the unit off.
    label : str
        "clean" makes it a clean visit.

    Returns
    -------
    Visit
        [SI], wet bulbs not above dry bulbs.
    """
    pressure = np.asarray(STANDARD_PRESSURE)
    exact = {
        name: float(READINGS_OF_POINT[name](point, pressure))
        for name in READINGS_OF_POINT
        if name not in ("supply_rh", "supply_dewpoint", "compressor_power")
    }
    volume = moist_air.specific_volume(weather.back, weather.humidity_ratio, STANDARD_PRESSURE)
    standing = weather.outdoor - draw.uniform(0.0, 2.0)
    share = draw.uniform(0.75, 1.0) if true.unit.expansion.kind == "TXV" else draw.uniform(0.4, 0.8)
    gas = float(np.asarray(faults.noncondensable)) * standing / NONCONDENSABLE_TEMPERATURE * share
    exact |= {
        "outdoor_db": weather.outdoor,
        "return_db": weather.back,
        "return_wb": float(moist_air.wet_bulb(weather.back, weather.humidity_ratio, STANDARD_PRESSURE)),
        "indoor_airflow": float(point.indoor_airflow * volume),
        "indoor_power": float(point.blower_power),
        "standing_temperature": standing,
        "standing_pressure": float(refrigerant(true.unit.refrigerant).bubble_pressure(standing)) + gas,
    }
    spreads = standard_accuracies(exact, Instruments())
    read: dict[str, Any] = {
        name: value + spreads[name] / LIMIT_TO_STANDARD * draw.uniform(-1.0, 1.0)
        for name, value in exact.items()
    }
    read["supply_wb"] = min(read["supply_wb"], read["supply_db"])
    read["return_wb"] = min(read["return_wb"], read["return_db"])
    return Visit(label=label, coil="clean" if label == "clean" else "as found", **read)


def with_readings_only(visit: Visit, names: frozenset[str]) -> Visit:
    """The visit with those of its readings only.

    Parameters
    ----------
    visit : Visit
        With any readings.
    names : frozenset of str
        Keys of the readings that stay.

    Returns
    -------
    Visit
        All other readings None.
    """
    kept = {"label", "coil", "ambient_pressure", "compressor_speed", "outdoor_fan_speed", "notes"}
    gone: dict[str, Any] = {entry.name: None for entry in fields(visit) if entry.name not in names | kept}
    return replace(visit, **gone)


def with_all_errors_larger(visit: Visit, draw: Generator) -> Visit:
    """The visit with all errors about three times their size.

    Parameters
    ----------
    visit : Visit
        With both wet bulbs.
    draw : numpy.random.Generator
        Of the errors.

    Returns
    -------
    Visit
        [SI]
    """
    readings = visit.readings()
    spreads = standard_accuracies(readings, Instruments())
    merged: dict[str, Any] = {
        name: value + 2.8 * spreads[name] * draw.standard_normal() for name, value in readings.items()
    }
    for side in ("return", "supply"):
        merged[f"{side}_wb"] = min(merged[f"{side}_wb"], merged[f"{side}_db"])
    return replace(visit, **merged)
