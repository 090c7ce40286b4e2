"""What the readings of one visit say about one another: only what cannot be is refused.

Saturation of the unit's refrigerant at the gauge readings is the yardstick: a running coil evaporates below
the air it cools and condenses above the air it heats, vapour is not colder than its dew point, liquid not
hotter than its bubble point. Readings that are merely unlikely are accepted; the heat balance and the fault
match judge those.

In heating all is the other way round: the outdoor coil evaporates below the outdoor air, the indoor coil
condenses above the return air, and the supply is warmer than the return.

Superheat and subcooling may come out below zero, because flooded suction and flash gas read zero give or
take whatever gauge and probe are off by. They are refused where gauge and probe would both have to be grossly
wrong, because then another refrigerant, unit or line was meant.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import isnan, nan
from typing import Any

from calibration.case.errors import Path, Problems, in_unit, number_text
from calibration.case.keys import find_key
from calibration.case.meters import METER_OF_READING
from calibration.case.records import UnitDescription, Visit
from calibration.case.units import (
    BAROMETRIC_PRESSURE,
    GAUGE_PRESSURE,
    PSI,
    SYSTEMS,
    TEMPERATURE,
    TEMPERATURE_DIFFERENCE,
    System,
)
from model.properties.moist_air import wet_bulb
from model.properties.refrigerant import Refrigerant, refrigerant

EVAPORATING_SLACK = 3.0
"""How far the evaporating temperature may read above the return air [K]: errors of both meters."""
CONDENSING_SLACK = 5.0
"""How far the condensing temperature may read below the outdoor air [K]: as above, and sun."""
WARMEST_OUTDOOR = 297.04
"""Outdoor air above which nothing is heated [K]: 75 degF."""
SUPPLY_SLACK = 1.0
"""How far the supply may read below the return [K]: errors of both thermometers."""
SATURATION_SLACK = 10.0
"""How far a pipe may read beyond saturation, vapour below its dew point or liquid above its bubble point [K]:
a gauge 15 psi off, which is 3 to 9 K of saturation on the suction side, and a probe off besides; judgement,
no source."""
COLDEST_EVAPORATING = 248.15
"""Evaporating temperature below which a comfort unit does not run on [K]: a cut-out opens first."""
HIGHEST_APPROACH = 35.0
"""Condensing over outdoor temperature that a unit may reach [K], used only to guess a mistaken unit."""
BAROMETER_SLACK = 8000.0
"""Weather's spread of barometric pressure around the standard atmosphere [Pa]."""

_RETURN_HUMIDITY = ("return_wb", "return_rh", "return_dewpoint")
_SUPPLY_HUMIDITY = ("supply_wb", "supply_rh", "supply_dewpoint")


@dataclass(frozen=True)
class _Desk:
    """One visit on the desk with all that is needed to judge it."""

    visit: Visit
    unit: UnitDescription
    system: System
    path: Path
    problems: Problems

    def refuse(self, name: str, sentence: str) -> None:
        """Note a fault of one reading, beginning with what it is."""
        self.problems.add((*self.path, name), f"is {self.shown(name)}; {sentence}")

    def shown(self, name: str) -> str:
        """A reading as it was typed, with its unit."""
        key = find_key(name, "visit")
        if key is None or key.quantity is None:
            return str(getattr(self.visit, name))
        ambient = self.visit.ambient_pressure
        number = key.quantity.from_si(getattr(self.visit, name), self.system, ambient)
        return in_unit(number, key.quantity, self.system)

    def temperature(self, kelvin: float) -> str:
        """A temperature in words of the system."""
        return f"{TEMPERATURE.shown(kelvin, self.system)} {TEMPERATURE.label(self.system)}"

    def difference(self, kelvin: float) -> str:
        """A temperature difference in words of the system."""
        quantity = TEMPERATURE_DIFFERENCE
        return f"{quantity.shown(kelvin, self.system)} {quantity.label(self.system)}"


def note_double_readings(raw: dict[str, object], path: Path, problems: Problems) -> None:
    """Note readings that were given twice in different forms, and the humidity that no visit can do without.

    Parameters
    ----------
    raw : dict
        Entries of the visit as typed.
    path : tuple
        Place of the visit in the document.
    problems : Problems
        Where they are noted.
    """
    groups = (
        _RETURN_HUMIDITY,
        _SUPPLY_HUMIDITY,
        ("indoor_airflow", "indoor_airflow_standard"),
        ("outdoor_wb", "outdoor_rh"),
    )
    for group in groups:
        given = [name for name in group if raw.get(name) is not None]
        if len(given) > 1:
            problems.add((*path, given[1]), f"is given beside {given[0]}; one of the two is expected")
    read = [name for name in _RETURN_HUMIDITY if raw.get(name) is not None]
    if raw.get("return_humidity") and read:
        problems.add((*path, "return_humidity"), f"is given beside {read[0]}; one of the two is expected")
    elif not raw.get("return_humidity") and not read and raw.get("mode") != "heating":
        choices = ", ".join(_RETURN_HUMIDITY)
        problems.add(
            (*path, "return_wb"), f'is missing; one of {choices}, or return_humidity = "unknown", is expected'
        )
    for side in ("outdoor", "indoor"):
        parts = [f"{side}_{part}" for part in ("volts", "amps", "power_factor")]
        if raw.get(f"{side}_power") is not None and all(raw.get(part) is not None for part in parts):
            sentence = f"is given beside {', '.join(parts)}; either watts or the others are expected"
            problems.add((*path, f"{side}_power"), sentence)


def note_impossible_readings(
    visit: Visit, case: tuple[UnitDescription, System], path: Path, problems: Problems
) -> None:
    """Note what cannot be true in the readings of one visit.

    Parameters
    ----------
    visit : Visit
        Readings [SI].
    case : tuple
        The unit, and the system in which sentences are written.
    path : tuple
        Place of the visit in the document.
    problems : Problems
        Where they are noted.
    """
    desk = _Desk(visit, *case, path, problems)
    _check_barometer(desk)
    _check_air(desk, "return")
    _check_air(desk, "supply")
    if any(name.endswith("_pressure") for name in visit.readings()):
        _check_refrigerant(desk)


def impossible_so_far(
    readings: Mapping[str, float], case: tuple[UnitDescription, System], ambient_pressure: float
) -> dict[str, str]:
    """What cannot be true in the readings that there are while a visit is still being typed.

    Parameters
    ----------
    readings : mapping of str to float
        Some readings of a visit [SI], each possible by itself.
    case : tuple
        The unit as far as it is known, with its refrigerant, and the system in which sentences are written.
    ambient_pressure : float
        Local barometric pressure [Pa].

    Returns
    -------
    dict of str to str
        Sentences by reading; what would need a reading that is not there is not said.
    """
    outdoor, returned = (readings.get(name, nan) for name in ("outdoor_db", "return_db"))
    visit = Visit("", "as found", outdoor, returned, ambient_pressure=ambient_pressure)
    taken: dict[str, Any] = {name: value for name, value in readings.items() if name in METER_OF_READING}
    visit = replace(visit, **taken)
    problems = Problems({})
    note_impossible_readings(visit, case, ("visit", 0), problems)
    return {str(problem.path[-1]): problem.sentence for problem in problems.found}


def _check_barometer(desk: _Desk) -> None:
    """Refuse a barometer reading that was reduced to sea level."""
    barometer, altitude = desk.visit.barometer, desk.unit.altitude
    if barometer is None or not altitude:
        return
    expected = desk.unit.ambient_pressure
    if abs(barometer - expected) > BAROMETER_SLACK:
        quantity = BAROMETRIC_PRESSURE
        usual = f"{quantity.shown(expected, desk.system)} {quantity.label(desk.system)}"
        words = "station pressure, not reduced to sea level"
        desk.refuse("barometer", f"about {usual} is expected at the unit's altitude ({words})")


def _check_air(desk: _Desk, side: str) -> None:
    """Refuse air wetter than saturated or drier than dry."""
    dry: float | None = getattr(desk.visit, f"{side}_db")
    wet = getattr(desk.visit, f"{side}_wb")
    dew = getattr(desk.visit, f"{side}_dewpoint")
    if dry is None or isnan(dry):
        return
    words = f"at most the dry bulb {side}_db, {desk.shown(f'{side}_db')}, is expected"
    if wet is not None and wet > dry:
        desk.refuse(f"{side}_wb", f"{words} (a wet bulb is never above its dry bulb)")
    elif wet is not None and wet < wet_bulb(dry, 0.0, desk.visit.ambient_pressure):
        desk.refuse(
            f"{side}_wb", f"a wet bulb nearer to {side}_db is expected (even bone-dry air would read higher)"
        )
    if dew is not None and dew > dry:
        desk.refuse(f"{side}_dewpoint", f"{words} (a dew point is never above its dry bulb)")


def _check_refrigerant(desk: _Desk) -> None:
    """Refuse pressures and pipe temperatures that no running unit can show."""
    fluid = refrigerant(desk.unit.refrigerant)
    visit = desk.visit
    names = [name for name in visit.readings() if name.endswith("_pressure")]
    outside = [name for name in names if not _within_saturation(desk, fluid, name)]
    if outside:
        return
    suction, liquid, discharge = visit.suction_pressure, visit.liquid_pressure, visit.discharge_pressure
    for name, pressure in (("liquid_pressure", liquid), ("discharge_pressure", discharge)):
        if suction is not None and pressure is not None and pressure <= suction:
            low, guess = desk.shown("suction_pressure"), _guess(desk, fluid, name)
            hint = guess or " (are the gauges swapped?)"
            desk.refuse(name, f"more than suction_pressure, {low}, is expected{hint}")
            return
    _check_evaporating(desk, fluid)
    for name in ("liquid_pressure", "discharge_pressure"):
        _check_condensing(desk, fluid, name)


def _within_saturation(desk: _Desk, fluid: Refrigerant, name: str) -> bool:
    """Whether a pressure is below the critical point and above the coldest saturation that is tabulated."""
    pressure = getattr(desk.visit, name)
    if fluid.minimum_pressure <= pressure < fluid.critical_pressure:
        return True
    ambient = desk.visit.ambient_pressure
    low, high = (
        GAUGE_PRESSURE.shown(limit, desk.system, ambient)
        for limit in (fluid.minimum_pressure, fluid.critical_pressure)
    )
    unit = GAUGE_PRESSURE.label(desk.system)
    sentence = f"{low} to {high} {unit} is expected, where {fluid.name} has a saturation temperature"
    desk.refuse(name, sentence + _guess(desk, fluid, name))
    return False


def _check_evaporating(desk: _Desk, fluid: Refrigerant) -> None:
    """Refuse a suction side that evaporates too warm or far too cold, or vapour below its dew point."""
    visit = desk.visit
    if visit.suction_pressure is None:
        return
    name, evaporating = "suction_pressure", float(fluid.dew_temperature(visit.suction_pressure))
    guess = _guess(desk, fluid, name)
    if evaporating > visit.return_db + EVAPORATING_SLACK:
        at, air = desk.temperature(evaporating), desk.temperature(visit.return_db)
        sentence = f"{fluid.name} evaporates there at {at}; below the return air, {air}, is expected"
        desk.refuse(name, sentence + guess)
        return
    if evaporating < COLDEST_EVAPORATING and guess:
        at = desk.temperature(evaporating)
        desk.refuse(name, f"{fluid.name} evaporates there at {at}; more is expected of a running unit{guess}")
        return
    if visit.suction_temperature is None:
        return
    superheat = visit.suction_temperature - evaporating
    if superheat < -SATURATION_SLACK:
        dew, below = desk.temperature(evaporating), desk.difference(superheat)
        words = f"the dew point of {fluid.name} at suction_pressure, {dew}, or more is expected"
        desk.refuse("suction_temperature", f"{words} (superheat would be {below})")


def _check_condensing(desk: _Desk, fluid: Refrigerant, name: str) -> None:
    """Refuse a high side that condenses below the outdoor air, or liquid above its bubble point."""
    visit, pressure = desk.visit, getattr(desk.visit, name)
    if pressure is None:
        return
    condensing = float(fluid.bubble_temperature(pressure))
    if condensing < visit.outdoor_db - CONDENSING_SLACK:
        at, air = desk.temperature(condensing), desk.temperature(visit.outdoor_db)
        sentence = f"{fluid.name} condenses there at {at}; above the outdoor air, {air}, is expected"
        desk.refuse(name, sentence + _guess(desk, fluid, name))
        return
    if name != "liquid_pressure" or visit.liquid_temperature is None:
        return
    subcooling = condensing - visit.liquid_temperature
    if subcooling < -SATURATION_SLACK:
        bubble, below = desk.temperature(condensing), desk.difference(subcooling)
        words = f"the bubble point of {fluid.name} at liquid_pressure, {bubble}, or less is expected"
        desk.refuse("liquid_temperature", f"{words} (subcooling would be {below})")


def _guess(desk: _Desk, fluid: Refrigerant, name: str) -> str:
    """Words about another unit in which a pressure would be an ordinary one, or an empty text."""
    visit = desk.visit
    if isnan(visit.return_db if name == "suction_pressure" else visit.outdoor_db):
        return ""
    number = GAUGE_PRESSURE.from_si(getattr(visit, name), desk.system, visit.ambient_pressure)
    if name == "suction_pressure":
        low = float(fluid.dew_pressure(COLDEST_EVAPORATING + 10.0))
        high = float(fluid.dew_pressure(visit.return_db))
    else:
        low = float(fluid.bubble_pressure(visit.outdoor_db))
        high = float(fluid.bubble_pressure(visit.outdoor_db + HIGHEST_APPROACH))
    own = GAUGE_PRESSURE.scale(desk.system)
    others = [GAUGE_PRESSURE.scale(other) for other in SYSTEMS if other != desk.system]
    candidates = [
        (f"absolute {own.label}", number * own.factor),
        *((scale.label, number * scale.factor + visit.ambient_pressure) for scale in others),
        ("bar", number * 1e5 + visit.ambient_pressure),
        ("absolute Pa", number),
        ("absolute psi", number * PSI),
        ("absolute kPa", number * 1000.0),
    ]
    for label, pressure in candidates:
        if low <= pressure <= high:
            return f" ({number_text(number)} looks like {label})"
    return ""


def note_impossible_heating(
    visit: Visit, case: tuple[UnitDescription, System], path: Path, problems: Problems
) -> None:
    """Note what cannot be true in the readings of a visit in heating.

    Parameters
    ----------
    visit : Visit
        Readings [SI].
    case : tuple
        The unit, and the system in which sentences are written.
    path : tuple
        Place of the visit in the document.
    problems : Problems
        Where they are noted.
    """
    desk = _Desk(visit, *case, path, problems)
    if not desk.unit.heat_pump:
        problems.add((*path, "mode"), "is heating; heat_pump = true under [unit] is expected then")
        return
    if (desk.unit.circuits or 1) > 1:
        problems.add((*path, "mode"), "is heating; a unit of one circuit is expected then")
        return
    if visit.outdoor_db > WARMEST_OUTDOOR:
        desk.refuse("outdoor_db", f"{desk.temperature(WARMEST_OUTDOOR)} or less is expected in heating")
    if visit.outdoor_wb is not None and visit.outdoor_wb > visit.outdoor_db + SUPPLY_SLACK:
        desk.refuse("outdoor_wb", f"outdoor_db, {desk.shown('outdoor_db')}, or less is expected")
    if visit.supply_db is not None and visit.supply_db < visit.return_db - SUPPLY_SLACK:
        desk.refuse("supply_db", f"more than return_db, {desk.shown('return_db')}, is expected in heating")
    fluid = refrigerant(desk.unit.refrigerant)
    _check_outdoor_coil(desk, fluid)
    for name in ("liquid_pressure", "discharge_pressure"):
        _check_indoor_coil(desk, fluid, name)


def _check_outdoor_coil(desk: _Desk, fluid: Refrigerant) -> None:
    """Refuse an outdoor coil warmer than the air that it takes heat from, or vapour below its dew point."""
    visit = desk.visit
    if visit.suction_pressure is None:
        return
    evaporating = float(fluid.dew_temperature(visit.suction_pressure))
    if evaporating > visit.outdoor_db + EVAPORATING_SLACK:
        at, air = desk.temperature(evaporating), desk.temperature(visit.outdoor_db)
        sentence = f"{fluid.name} evaporates there at {at}; below the outdoor air, {air}, is expected"
        desk.refuse("suction_pressure", sentence)
    elif visit.suction_temperature is not None:
        superheat = visit.suction_temperature - evaporating
        if superheat < -SATURATION_SLACK:
            dew, below = desk.temperature(evaporating), desk.difference(superheat)
            words = f"the dew point of {fluid.name} at suction_pressure, {dew}, or more is expected"
            desk.refuse("suction_temperature", f"{words} (superheat would be {below})")


def _check_indoor_coil(desk: _Desk, fluid: Refrigerant, name: str) -> None:
    """Refuse an indoor coil colder than the room that it heats, or liquid above its bubble point."""
    visit, pressure = desk.visit, getattr(desk.visit, name)
    if pressure is None:
        return
    condensing = float(fluid.bubble_temperature(pressure))
    if condensing < visit.return_db - CONDENSING_SLACK:
        at, air = desk.temperature(condensing), desk.temperature(visit.return_db)
        sentence = f"{fluid.name} condenses there at {at}; above the return air, {air}, is expected"
        desk.refuse(name, sentence)
    elif name == "liquid_pressure" and visit.liquid_temperature is not None:
        subcooling = condensing - visit.liquid_temperature
        if subcooling < -SATURATION_SLACK:
            bubble, below = desk.temperature(condensing), desk.difference(subcooling)
            words = f"the bubble point of {fluid.name} at liquid_pressure, {bubble}, or less is expected"
            desk.refuse("liquid_temperature", f"{words} (subcooling would be {below})")
