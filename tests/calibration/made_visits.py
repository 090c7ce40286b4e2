"""Visits made from the model of a known unit, for tests that need the truth. Every number is invented."""

from dataclasses import replace
from functools import cache

import numpy as np

from calibration.case.meters import Instruments
from calibration.case.records import UnitDescription, Visit
from calibration.clean_fit.observation import conditions
from model.components.unit import Unit
from model.cycle.faults import HEALTHY, Faults
from model.cycle.sizing import nominal_unit
from model.cycle.solve import solve
from model.properties import moist_air

FINE_METERS = Instruments(
    suction_gauge=7e3,
    liquid_gauge=14e3,
    discharge_gauge=14e3,
    pipe_thermometer=0.3,
    air_thermometer=0.2,
    wet_bulb=0.2,
)
"""Meters of a careful technician: half the usual errors or better."""
DESCRIPTION = UnitDescription("Invented unit", "R410A", "TXV", 10_500.0, rated_eer=3.5)


@cache
def true_unit(description: UnitDescription = DESCRIPTION) -> Unit:
    """A unit that differs from the generic one of its nameplate, also where the fit has no parameter."""
    unit = nominal_unit(
        description.refrigerant,
        description.rated_capacity,
        description.rated_eer,
        expansion=description.expansion,
    )
    return replace(
        unit,
        compressor=replace(
            unit.compressor,
            displacement_scale=1.04,
            efficiency=np.asarray(unit.compressor.efficiency) * 0.95,
            built_in_ratio=2.5,
        ),
        condenser=replace(unit.condenser, air_exponent=0.6),
        evaporator=replace(
            unit.evaporator, air_conductance=np.asarray(unit.evaporator.air_conductance) * 1.15
        ),
    )


def visit_of(
    unit: Unit,
    label: str = "made",
    *,
    faults: Faults = HEALTHY,
    coil: str = "clean",
    outdoor: float = 303.15,
    returned: float = 298.15,
    wet_bulb: float = 290.65,
) -> Visit:
    """What perfect meters would show."""
    airflow = float(np.asarray(unit.indoor_fan.airflow))
    power = float(np.asarray(unit.indoor_fan.power))
    settings = {
        "outdoor_db": outdoor,
        "return_db": returned,
        "return_wb": wet_bulb,
        "indoor_airflow": airflow,
        "indoor_power": power,
    }
    point = solve(unit, conditions(settings, 101_325.0), faults)
    pressure = 101_325.0
    return Visit(
        label=label,
        coil="clean" if coil == "clean" else "as found",
        **settings,
        ambient_pressure=pressure,
        supply_db=float(point.supply_temperature),
        supply_wb=float(moist_air.wet_bulb(point.supply_temperature, point.supply_humidity_ratio, pressure)),
        condenser_leaving_db=float(point.condenser_leaving_temperature),
        suction_pressure=float(point.suction_pressure),
        liquid_pressure=float(point.liquid_pressure),
        discharge_pressure=float(point.discharge_pressure),
        suction_temperature=float(point.suction_temperature),
        liquid_temperature=float(point.liquid_temperature),
        discharge_temperature=float(point.discharge_temperature),
        outdoor_power=float(point.outdoor_power),
        outdoor_fan_power=float(point.outdoor_fan_power),
    )
