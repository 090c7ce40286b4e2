"""What a solved heating point means: pressures, temperatures, heat to the room, powers, and a named state.

Everything follows from the trial point of `model.cycle.balances` without a further equation, as in
`model.cycle.operating_point`; heats are kept apart by where they are exchanged.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from model.arrays import Array, IntArray
from model.components.evaporator import boiling_area
from model.components.unit import Unit
from model.cycle.balances import Trial
from model.cycle.boundary import Surroundings
from model.cycle.operating_point import (
    STATES,
    Heats,
    completed,
    heat_flows,
    imbalance,
    refrigerant_side,
    state_codes,
)
from model.heating.boundary import ROOM_HUMIDITY_RATIO
from model.properties import moist_air
from model.properties.refrigerant import Refrigerant

HEATING_STATES = tuple("frost forms" if name == "coil below freezing" else name for name in STATES)
"""Names of the states, the graver one winning where several hold; `HeatingPoint.state` is the index. Frost on
the outdoor coil is an ordinary winter day."""


@dataclass(frozen=True)
class HeatingPoint:
    """Steady heating points; every field an array of the shape of the broadcast inputs.

    Units and the fields named alike as in `model.cycle.operating_point.OperatingPoint`. `heating_capacity` is
    what the room gets, the blower's heat included, without frost and defrost; `cop` is that over
    `total_power`. `heat_rejected` by the refrigerant in the indoor coil, `room_air_heat` given to its air
    (less where held at the high-pressure limit), `heat_absorbed` by the refrigerant in the outdoor coil,
    `outdoor_air_heat` given by the outdoor air (less where held at the low one). Lost on the way:
    `valve_heat` from hot to cold gas in the reversing valve, `line_loss` of the hot-gas line and `shell_loss`
    of the compressor to the outdoor air; `suction_gain` is what the cold gas gains besides. `deposit` is the
    water that the outdoor coil takes out of the air [kg/s], `surface_temperature` that of its boiling zone.
    `state` indexes `HEATING_STATES`.
    """

    suction_pressure: Array
    liquid_pressure: Array
    discharge_pressure: Array
    evaporating_temperature: Array
    condensing_temperature: Array
    superheat: Array
    subcooling: Array
    suction_temperature: Array
    liquid_temperature: Array
    discharge_temperature: Array
    supply_temperature: Array
    outdoor_leaving_temperature: Array
    heating_capacity: Array
    compressor_power: Array
    outdoor_fan_power: Array
    blower_power: Array
    outdoor_power: Array
    total_power: Array
    cop: Array
    refrigerant_flow: Array
    indoor_airflow: Array
    outdoor_airflow: Array
    evaporator_superheat: Array
    surface_temperature: Array
    deposit: Array
    device_quality: Array
    suction_enthalpy: Array
    discharge_enthalpy: Array
    liquid_enthalpy: Array
    evaporator_pressure: Array
    heat_rejected: Array
    room_air_heat: Array
    heat_absorbed: Array
    outdoor_air_heat: Array
    valve_heat: Array
    line_loss: Array
    suction_gain: Array
    shell_loss: Array
    state: IntArray
    residual: Array
    unknowns: Array

    def state_names(self) -> NDArray[np.str_]:
        """Names of the states, shape of the point."""
        return np.asarray(np.array(HEATING_STATES)[self.state])


def heating_point(
    trial: Trial, unknowns: Array, unit: Unit, fluid: Refrigerant, given: Surroundings
) -> dict[str, Array]:
    """Everything that is said of solved points.

    Parameters
    ----------
    trial : Trial
        States around the circuit at the unknowns.
    unknowns : ndarray, shape (3, n)
        Solved unknowns of `model.cycle.balances`.
    unit : Unit
        The parts at work in heating.
    fluid : Refrigerant
        Its refrigerant.
    given : Surroundings
        Air streams, charge and faults.

    Returns
    -------
    dict of str to ndarray, shape (n,)
        Fields of `HeatingPoint` by name [SI].
    """
    heats = heat_flows(trial, fluid)
    residual = imbalance(trial, given)
    values: dict[str, Any] = {
        **refrigerant_side(trial, given, fluid),
        **_performance(trial, given, heats),
        **_losses(trial, heats),
        **_outdoor_air(trial, given, heats),
        "state": state_codes(trial, unknowns, residual, unit, given),
        "residual": residual,
    }
    return completed(values, unknowns)


def _performance(trial: Trial, given: Surroundings, heats: Heats) -> dict[str, Array]:
    # Held at the high-pressure limit, the areas that the heat would need add up to more than the coil has.
    to_air = heats.rejected / np.maximum(trial.areas.total, 1.0)
    capacity = to_air + given.blower_power
    outdoor_power = trial.compression.power + given.outdoor_fan_power
    total = outdoor_power + given.blower_power
    room = given.condenser_air
    return {
        "supply_temperature": room.temperature + capacity / room.heat_capacity_rate,
        "heating_capacity": capacity,
        "room_air_heat": to_air,
        "outdoor_fan_power": given.outdoor_fan_power,
        "blower_power": given.blower_power,
        "outdoor_power": outdoor_power,
        "total_power": total,
        "cop": capacity / total,
        "indoor_airflow": room.heat_capacity_rate / moist_air.heat_capacity(ROOM_HUMIDITY_RATIO),
        "outdoor_airflow": given.outdoor_airflow,
    }


def _losses(trial: Trial, heats: Heats) -> dict[str, Array]:
    """Heats on the way between the coils [W]."""
    flow = trial.compression.flow
    valve = flow * trial.inlet.valve_heat
    return {
        "valve_heat": valve,
        "line_loss": flow * (trial.compression.enthalpy - trial.arriving.enthalpy) - valve,
        "suction_gain": heats.suction - valve,
        "heat_rejected": heats.rejected,
        "heat_absorbed": heats.gross,
    }


def _outdoor_air(trial: Trial, given: Surroundings, heats: Heats) -> dict[str, Array]:
    """Outdoor air after coil and fan, and the water that it leaves on the coil."""
    air, zone = given.evaporator_air, trial.zone
    touched = boiling_area(trial.superheating_area) * (1.0 - zone.bypass)
    saturated = moist_air.saturation_humidity_ratio(zone.surface_temperature, air.pressure)
    left = np.where(zone.wet, np.maximum(air.humidity_ratio - saturated, 0.0), 0.0) * touched
    enthalpy = air.enthalpy - (heats.gross - given.outdoor_fan_power) / air.flow
    leaving = moist_air.temperature_from_enthalpy(enthalpy, air.humidity_ratio - left)
    return {
        "outdoor_leaving_temperature": leaving,
        "deposit": np.asarray(air.flow * left),
        "outdoor_air_heat": trial.boiling_heat + heats.superheating,
    }
