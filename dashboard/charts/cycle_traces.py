"""Refrigerant cycles and air processes as traces for the property diagrams: expected and measured ones."""

import numpy as np

from calibration.case.records import Visit
from calibration.measured.performance import humidity_ratio
from dashboard.charts.property_diagrams import CycleTrace
from dashboard.charts.style import Role
from dashboard.texts.translate import tr
from model.cycle.solve import OperatingPoint
from model.properties.refrigerant import refrigerant

CYCLE_LABELS = ("compressor inlet", "compressor outlet", "before the expansion device", "evaporator inlet")
AIR_LABELS = ("return air", "supply air")


def expected_cycle(point: OperatingPoint, role: Role, name: str) -> CycleTrace:
    """Cycle of one operating point.

    Parameters
    ----------
    point : OperatingPoint
        Of one point, not of an array.
    role : Role
        How it is drawn.
    name : str
        Name in the legend.

    Returns
    -------
    CycleTrace
        Four states.
    """
    enthalpies = [
        point.suction_enthalpy,
        point.discharge_enthalpy,
        point.liquid_enthalpy,
        point.liquid_enthalpy,
    ]
    pressures = [
        point.suction_pressure,
        point.discharge_pressure,
        point.liquid_pressure,
        point.evaporator_pressure,
    ]
    return CycleTrace(name, role, _flat(enthalpies), _flat(pressures), _labels(CYCLE_LABELS))


def _labels(names: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(tr(one) for one in names)


def _flat(values: list[np.ndarray]) -> np.ndarray:
    return np.array([float(value) for value in values])


def measured_cycle(visit: Visit, refrigerant_name: str, role: Role, name: str) -> CycleTrace | None:
    """Cycle of a visit's gauges and pipe thermometers.

    Parameters
    ----------
    visit : Visit
        Readings [SI].
    refrigerant_name : str
        Refrigerant of the unit.
    role : Role
        How it is drawn.
    name : str
        Name in the legend.

    Returns
    -------
    Trace or None
        Four states; without a discharge temperature the compressor's outlet is not known, and the line runs
        from the liquid line over the valve to the suction line and is not closed. None where suction
        or liquid line was not read with gauge and thermometer. A discharge pressure that was not read is
        taken as that of the liquid line.
    """
    suction, liquid = (
        (visit.suction_pressure, visit.suction_temperature),
        (visit.liquid_pressure, visit.liquid_temperature),
    )
    if None in suction or None in liquid:
        return None
    fluid = refrigerant(refrigerant_name)
    low, high = float(visit.suction_pressure or 0.0), float(visit.liquid_pressure or 0.0)
    top = visit.discharge_pressure or high

    def gas(pressure: float, temperature: float) -> float:
        superheat = temperature - float(fluid.dew_temperature(pressure))
        return float(fluid.vapour(pressure, superheat).enthalpy)

    after = float(fluid.liquid_enthalpy(high, visit.liquid_temperature or 0.0))
    names = _labels(CYCLE_LABELS)
    states = [(after, high, names[2]), (after, low, names[3])]
    suction_state = (gas(low, visit.suction_temperature or 0.0), low, names[0])
    if visit.discharge_temperature is None:
        states.append(suction_state)
    else:
        states = [suction_state, (gas(top, visit.discharge_temperature), top, names[1]), *states]
    enthalpy, pressure, labels = zip(*states, strict=True)
    closed = visit.discharge_temperature is not None
    return CycleTrace(name, role, np.array(enthalpy), np.array(pressure), labels, closed)


def measured_air(visit: Visit, role: Role, name: str) -> CycleTrace | None:
    """Air through the indoor coil as it was read.

    Parameters
    ----------
    visit : Visit
        Readings [SI].
    role : Role
        How it is drawn.
    name : str
        Name in the legend.

    Returns
    -------
    Trace or None
        Return and supply air; None where the supply air was not read dry and wet.
    """
    humidities = (visit.supply_wb, visit.supply_rh, visit.supply_dewpoint)
    if visit.supply_db is None or all(one is None for one in humidities):
        return None
    temperatures = np.array([visit.return_db, visit.supply_db])
    moisture = np.array([_moisture(visit, side) for side in ("return", "supply")])
    return CycleTrace(name, role, temperatures, moisture, _labels(AIR_LABELS))


def _moisture(visit: Visit, side: str) -> float:
    readings = {key: np.asarray(value) for key, value in visit.readings().items()}
    return float(humidity_ratio(readings, side, visit.ambient_pressure))
