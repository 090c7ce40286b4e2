"""What the heating cycle takes as given: weather, air streams, limits and what the faults do to them.

The outdoor coil's faults are those of `model.cycle.faults` under the names that they have in cooling: fouling
found in summer is the same fouling in winter. A blocked face takes its tubes out of service too: nothing
boils where no air comes. Air that the outdoor coil has blown out and draws in again is not fresh: it counts
as so much less air of outdoor temperature through the same coil.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array
from model.components import condenser as coils
from model.components import evaporator as boiling
from model.components import fans
from model.components.condenser import AirStream
from model.components.evaporator import MoistStream
from model.components.expansion import BULB_OFFSET
from model.components.unit import Unit
from model.cycle.boundary import (
    BLOWER_AIR_DENSITY,
    FAN_AIR_DENSITY,
    FOG,
    Surroundings,
    density_corrected,
    pressure_limits,
    superheating,
)
from model.cycle.faults import HEALTHY, Faults
from model.heating.heat_pump import RATING_OUTDOOR, RATING_RETURN, HeatPump
from model.properties import moist_air
from model.properties.moist_air import STANDARD_PRESSURE

ROOM_HUMIDITY_RATIO = 0.006
"""Humidity ratio of heated rooms' air in its heat capacity and density [kg/kg]: 0.3 % of them from dry to
humid rooms. No water condenses on a warm coil."""
RATING_WET_BULB, FROST_OUTDOOR, FROST_WET_BULB = 279.261, 274.817, 273.706
"""Outdoor wet bulb of test H1, outdoor dry and wet bulb of test H2 [K]: 43, 35 and 33 degF."""
COLD_OUTDOOR, COLD_WET_BULB = 264.817, 263.706
"""Outdoor dry and wet bulb of test H3 [K]: 17 and 15 degF (AHRI 210/240, from memory, as all of these)."""


@dataclass(frozen=True)
class HeatingConditions:
    """Weather and settings of heating points; everything broadcasts.

    Attributes
    ----------
    outdoor_temperature : air entering the outdoor coil [K].
    outdoor_humidity_ratio : of that air [kg/kg dry air], above 0.
    return_temperature : air entering the indoor coil [K].
    ambient_pressure : [Pa].
    indoor_airflow : dry-air flow through the indoor coil [kg/s]; the unit's own if None.
    indoor_power : blower [W]; the unit's own if None.
    compressor_speed, outdoor_fan_speed, indoor_fan_speed : over full speed [-], above 0.
    """

    outdoor_temperature: ArrayLike
    outdoor_humidity_ratio: ArrayLike
    return_temperature: ArrayLike = RATING_RETURN
    ambient_pressure: ArrayLike = STANDARD_PRESSURE
    indoor_airflow: ArrayLike | None = None
    indoor_power: ArrayLike | None = None
    compressor_speed: ArrayLike = 1.0
    outdoor_fan_speed: ArrayLike = 1.0
    indoor_fan_speed: ArrayLike = 1.0


def heating_test(
    outdoor: ArrayLike = RATING_OUTDOOR, wet_bulb: ArrayLike = RATING_WET_BULB
) -> HeatingConditions:
    """Conditions of a heating test of AHRI 210/240, at the unit's own airflow and at sea level.

    Parameters
    ----------
    outdoor, wet_bulb : array_like
        Outdoor dry and wet bulb [K]; those of H1 where left out.

    Returns
    -------
    HeatingConditions
        With return air of 70 degF.
    """
    humidity = moist_air.humidity_ratio_from_wet_bulb(outdoor, wet_bulb, STANDARD_PRESSURE)
    return HeatingConditions(outdoor, humidity)


def heating_surroundings(
    pump: HeatPump, conditions: HeatingConditions, faults: Faults = HEALTHY
) -> tuple[Unit, Surroundings]:
    """The parts at work in heating, and what the balances take as given.

    Parameters
    ----------
    pump : HeatPump
        The machine.
    conditions : HeatingConditions
        Weather, return air, speeds.
    faults : Faults
        What is wrong with it.

    Returns
    -------
    (Unit, Surroundings)
        `pump.heating` with what a blocked face leaves of the outdoor coil; shapes broadcast.

    Raises
    ------
    ValueError
        Where weather is not a number, the outdoor air holds more water than air can or none at all, or a
        speed or airflow is not above zero.
    """
    _require_numbers(conditions)
    unit = _open_part(pump.heating, faults)
    outdoor, volume, fan_power = _outdoor_side(pump, conditions, faults)
    indoor, blower_power = _indoor_side(unit, conditions, faults)
    circuit, speed = unit.circuit, np.asarray(conditions.compressor_speed, dtype=float)
    overfeed = np.asarray(faults.valve_overfeed, dtype=float)
    swept = np.asarray(unit.compressor.displacement * np.asarray(unit.compressor.displacement_scale) * speed)
    rated = np.asarray(unit.rated_pressure_difference) / np.asarray(unit.rated_flow) ** 2
    suction_drop = np.asarray(circuit.suction_drop * swept**2)
    other_gas = np.asarray(faults.noncondensable, dtype=float)
    missing = np.asarray(pump.cooling.circuit.charge) * np.asarray(faults.charge_change)
    given = Surroundings(
        condenser_air=indoor,
        evaporator_air=outdoor,
        ambient_temperature=outdoor.temperature,
        outdoor_airflow=volume,
        outdoor_fan_power=fan_power,
        blower_power=blower_power,
        compressor_speed=speed,
        charge=np.maximum(circuit.charge + missing, 0.05 * np.asarray(circuit.charge)),
        noncondensable=other_gas,
        leakage=np.asarray(faults.compressor_leakage, dtype=float),
        valve_factor=1.0 + overfeed,
        bulb_offset=BULB_OFFSET * overfeed,
        superheating=superheating(unit, outdoor) / swept,
        suction_drop=suction_drop,
        suction_gain=np.asarray(-np.expm1(-np.asarray(circuit.suction_line_ntu))),
        discharge_drop=np.asarray(unit.condenser.pressure_drop * swept**2),
        liquid_drop=np.asarray(circuit.liquid_line_drop, dtype=float),
        restriction=np.asarray(faults.liquid_restriction * rated),
        valve_gain=np.asarray(pump.valve_gain, dtype=float),
        hot_gas_loss=np.asarray(pump.hot_gas_loss, dtype=float),
        **pressure_limits(unit, indoor.temperature, other_gas, suction_drop),
    )
    return unit, given


def _require_numbers(conditions: HeatingConditions) -> None:
    for name in ("outdoor_temperature", "outdoor_humidity_ratio", "return_temperature", "ambient_pressure"):
        values = np.asarray(getattr(conditions, name))
        finite = np.isfinite(values)
        if not finite.all():
            raise ValueError(f"{name} must be a number, got {values[~finite].flat[0]}")
    for name in (
        "outdoor_humidity_ratio",
        "compressor_speed",
        "outdoor_fan_speed",
        "indoor_fan_speed",
        "indoor_airflow",
    ):
        value = getattr(conditions, name)
        if value is not None and np.any(~(np.asarray(value) > 0)):
            raise ValueError(f"{name} must be above 0, got {np.min(value):g}")


def _open_part(unit: Unit, faults: Faults) -> Unit:
    """The unit with the refrigerant side of the outdoor coil that still gets air."""
    blocked = np.asarray(faults.condenser_blocked, dtype=float)
    if not np.any(blocked):
        return unit
    coil = unit.evaporator
    left = 1.0 - blocked
    return replace(
        unit,
        evaporator=replace(
            coil,
            boiling_conductance=np.asarray(coil.boiling_conductance * left),
            vapour_conductance=np.asarray(coil.vapour_conductance * left),
        ),
    )


def _outdoor_side(
    pump: HeatPump, conditions: HeatingConditions, faults: Faults
) -> tuple[MoistStream, Array, Array]:
    """Outdoor air at the coil, its volume flow [m3/s] and the fan's power [W]."""
    fan = pump.heating.outdoor_fan
    temperature = np.asarray(conditions.outdoor_temperature, dtype=float)
    humidity = np.asarray(conditions.outdoor_humidity_ratio, dtype=float)
    pressure = np.asarray(conditions.ambient_pressure, dtype=float)
    dew_point = moist_air.dew_point(humidity, pressure)
    if np.any(dew_point - temperature > FOG):
        raise ValueError("outdoor_humidity_ratio must be at most that of saturated air")
    speed = np.asarray(conditions.outdoor_fan_speed) * (1.0 - np.asarray(faults.condenser_fan_slow))
    blocked, dust = faults.condenser_blocked, faults.condenser_dust
    balance = fans.airflow_ratio(fan, blocked, dust, speed)
    ratio = np.asarray(balance * (1.0 - np.asarray(faults.condenser_airflow_lost)))
    volume = np.asarray(fan.airflow * ratio)
    dry_air = np.asarray(volume / moist_air.specific_volume(temperature, humidity, pressure))
    coil = replace(pump.cooling.condenser, air_conductance=pump.heating.evaporator.air_conductance)
    conductance = coils.air_side_conductance(coil, density_corrected(ratio, dry_air, volume), blocked, dust)
    air = MoistStream(
        flow=np.asarray(dry_air * (1.0 - np.asarray(faults.condenser_recirculation))),
        temperature=temperature,
        humidity_ratio=humidity,
        dew_point=dew_point,
        enthalpy=moist_air.enthalpy(temperature, humidity),
        heat_capacity=moist_air.heat_capacity(humidity),
        pressure=pressure,
        conductance=conductance,
    )
    drop = fans.resistance(fan, balance, blocked, dust) if fan.constant_airflow else balance
    density = np.asarray(dry_air / volume / FAN_AIR_DENSITY)
    power = np.asarray(fan.power * fans.fan_power_ratio(fan, balance, drop, speed) * density)
    return air._replace(moisture_slope=boiling.moisture_slope(air)), volume, power


def _indoor_side(unit: Unit, conditions: HeatingConditions, faults: Faults) -> tuple[AirStream, Array]:
    """Room air at the indoor coil, and the blower's power [W]."""
    fan, speed = unit.indoor_fan, np.asarray(conditions.indoor_fan_speed)
    temperature = np.asarray(conditions.return_temperature, dtype=float)
    balance = fans.airflow_ratio(fan, 0.0, faults.evaporator_dust, speed)
    left = 1.0 - np.asarray(faults.evaporator_airflow_lost)
    density = 1.0 / moist_air.specific_volume(temperature, ROOM_HUMIDITY_RATIO, conditions.ambient_pressure)
    if conditions.indoor_airflow is None:
        flow = np.asarray(fan.airflow * balance * left * density)
    else:
        flow = np.asarray(np.asarray(conditions.indoor_airflow) * left * balance / speed)
    if conditions.indoor_power is None:
        ratio = balance * left
        drop = fans.resistance(fan, ratio, 0.0, faults.evaporator_dust) if fan.constant_airflow else balance
        power = np.asarray(fan.power * fans.fan_power_ratio(fan, ratio, drop, speed))
        power = np.asarray(power * density / BLOWER_AIR_DENSITY)
    else:
        power = np.asarray(conditions.indoor_power, dtype=float)
    rated = np.asarray(fan.airflow) * BLOWER_AIR_DENSITY
    air = AirStream(
        heat_capacity_rate=np.asarray(flow * moist_air.heat_capacity(ROOM_HUMIDITY_RATIO)),
        temperature=temperature,
        conductance=coils.air_side_conductance(
            unit.condenser, np.asarray(flow / rated), 0.0, faults.evaporator_dust
        ),
        open_face=np.ones_like(flow),
    )
    return air, power
