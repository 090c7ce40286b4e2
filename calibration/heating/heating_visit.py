"""What the readings of a visit in heating say about the unit: superheat, subcooling, heat, power and COP.

The heat is the dry-air flow times heat capacity and rise of the air; no water condenses on a warm coil, and
the blower's heat is in it. An airflow at the meter is taken in the return air. Every figure is a function of
the readings; its standard error comes from each reading's slope times its meter's standard accuracy, in
squares.

References
----------
ANSI/ASHRAE 37, indoor air enthalpy method in heating (form from memory). JCGM 100:2008, eq. (10).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from calibration.case.meters import Instruments, standard_accuracies
from calibration.case.records import UnitDescription, Visit
from calibration.estimate import Estimate, with_error
from model.heating.boundary import ROOM_HUMIDITY_RATIO
from model.properties import moist_air
from model.properties.refrigerant import Refrigerant, refrigerant

HEATING_NEEDS: dict[str, tuple[tuple[str, ...], ...]] = {
    "evaporating_temperature": (("suction_pressure",),),
    "condensing_temperature": (("liquid_pressure",),),
    "superheat": (("suction_pressure",), ("suction_temperature",)),
    "subcooling": (("liquid_pressure",), ("liquid_temperature",)),
    "outdoor_difference": (("suction_pressure",), ("outdoor_db",)),
    "air_rise": (("return_db",), ("supply_db",)),
    "heating_capacity": (("return_db",), ("supply_db",), ("indoor_airflow", "indoor_airflow_standard")),
    "total_power": (("outdoor_power",), ("indoor_power",)),
    "heating_cop": (
        ("return_db",),
        ("supply_db",),
        ("indoor_airflow", "indoor_airflow_standard"),
        ("outdoor_power",),
        ("indoor_power",),
    ),
}
"""Readings that each figure needs: one of each group."""
FROSTING = (263.0, 281.0)
"""Outdoor air in which frost gathers while readings are taken [K]."""
STEADY_MINUTES = 15.0
"""Steady running, or time since the last defrost, before readings mean anything [min]; common practice."""


@dataclass(frozen=True)
class HeatingMeasured:
    """Figures of one visit in heating, by name [SI], and what is missing for the others.

    `cautions` are whole sentences about how far the readings can be trusted.
    """

    label: str
    figures: Mapping[str, Estimate]
    missing: Mapping[str, tuple[str, ...]]
    cautions: tuple[str, ...]


def heating_measured(
    visit: Visit, unit: UnitDescription, instruments: Instruments | None = None
) -> HeatingMeasured:
    """Figures of one visit in heating with their standard errors.

    Parameters
    ----------
    visit : Visit
        Readings taken while the unit heated.
    unit : UnitDescription
        For its refrigerant.
    instruments : Instruments or None
        Meters; None for the documented defaults.

    Returns
    -------
    HeatingMeasured
    """
    readings = visit.readings()
    fluid = refrigerant(unit.refrigerant)
    accuracies = standard_accuracies(readings, instruments or Instruments())
    missing = {}
    figures = {}
    for name, groups in HEATING_NEEDS.items():
        wanting = tuple(" or ".join(g) for g in groups if not any(one in readings for one in g))
        if wanting:
            missing[name] = wanting
            continue
        used = [one for group in groups for one in group if one in readings]
        value = _figure(name, readings, visit.ambient_pressure, fluid)
        squares = 0.0
        for reading in used:
            error = accuracies.get(reading, 0.0)
            moved = _figure(
                name, {**readings, reading: readings[reading] + error}, visit.ambient_pressure, fluid
            )
            squares += (moved - value) ** 2
        figures[name] = with_error(value, float(np.sqrt(squares)))
    return HeatingMeasured(visit.label, figures, missing, _cautions(visit))


def dry_airflow(readings: Mapping[str, float], pressure: float) -> float:
    """Flow of dry air through the indoor coil [kg/s], from the airflow that was read.

    Parameters
    ----------
    readings : mapping of str to float
        With `return_db` and an airflow [SI].
    pressure : float
        Barometer [Pa].

    Returns
    -------
    float
    """
    if "indoor_airflow_standard" in readings:
        return readings["indoor_airflow_standard"] * moist_air.STANDARD_AIR_DENSITY
    volume = moist_air.specific_volume(readings["return_db"], ROOM_HUMIDITY_RATIO, pressure)
    return float(readings["indoor_airflow"] / volume)


def _figure(name: str, readings: Mapping[str, float], pressure: float, fluid: Refrigerant) -> float:
    """One of `HEATING_NEEDS` from readings that have what it needs."""
    match name:
        case "evaporating_temperature":
            return float(fluid.dew_temperature(readings["suction_pressure"]))
        case "condensing_temperature":
            return float(fluid.bubble_temperature(readings["liquid_pressure"]))
        case "superheat":
            return readings["suction_temperature"] - float(
                fluid.dew_temperature(readings["suction_pressure"])
            )
        case "subcooling":
            bubble = float(fluid.bubble_temperature(readings["liquid_pressure"]))
            return bubble - readings["liquid_temperature"]
        case "outdoor_difference":
            return readings["outdoor_db"] - float(fluid.dew_temperature(readings["suction_pressure"]))
        case "air_rise":
            return readings["supply_db"] - readings["return_db"]
        case "total_power":
            return readings["outdoor_power"] + readings["indoor_power"]
        case "heating_capacity":
            rise = readings["supply_db"] - readings["return_db"]
            return (
                dry_airflow(readings, pressure) * float(moist_air.heat_capacity(ROOM_HUMIDITY_RATIO)) * rise
            )
    heat = _figure("heating_capacity", readings, pressure, fluid)
    return heat / _figure("total_power", readings, pressure, fluid)


def _cautions(visit: Visit) -> tuple[str, ...]:
    lines = [
        "Backup heat must be off while the readings are taken: its warmth would count as the heat pump's."
    ]
    if FROSTING[0] < visit.outdoor_db < FROSTING[1]:
        lines.append(
            "Frost can gather on the outdoor coil in this weather: readings hold only for a coil free of "
            f"frost, {STEADY_MINUTES:.0f} minutes or more after a defrost."
        )
    if visit.settled_minutes is not None and visit.settled_minutes < STEADY_MINUTES:
        lines.append(
            f"The unit had run for {visit.settled_minutes:.0f} minutes; {STEADY_MINUTES:.0f} or more are "
            "expected before readings mean anything."
        )
    if visit.outdoor_wb is None and visit.outdoor_rh is None:
        lines.append(
            "No humidity of the outdoor air was read: that of the standard's heating tests is assumed."
        )
    return tuple(lines)
