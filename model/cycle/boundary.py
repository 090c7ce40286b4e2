"""What the solver takes as given: weather, air streams, speeds, limits and what the faults do to them.

Airflows follow from fan and coil before the cycle is solved (`model.components.fans`), so everything here is
explicit.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array
from model.components import condenser as condensing
from model.components import evaporator as boiling
from model.components import fans
from model.components.condenser import AirStream
from model.components.evaporator import MoistStream
from model.components.expansion import BULB_OFFSET
from model.components.unit import Unit
from model.cycle.faults import HEALTHY, Faults
from model.properties import moist_air
from model.properties.moist_air import STANDARD_PRESSURE
from model.properties.refrigerant import refrigerant

NEAR_CRITICAL = 0.97
"""Reduced condensing pressure from which the two-phase picture of the condenser is no longer trusted [-]."""
LEAST_OWN_SHARE = 0.3
"""Share of the high-pressure limit that is left to the refrigerant however much other gas there is [-]."""
OWN_SHARE_PASSES = 4
"""Passes to that share: the gas's part follows the temperature, which follows the share; each passes on a
thirtieth of the error."""
SMALLEST_APPROACH = 0.5
"""Condensing approach at the high-pressure limit where the day alone is hotter than the limit [K]."""
BLOWER_AIR_DENSITY, FAN_AIR_DENSITY = 1.1566, 1.1274
"""Dry air in a cubic metre at the rating, return 80 / 67 degF and outdoor 95 degF at sea level [kg/m3]. The
powers of blower and condenser fan refer to it: thinner air takes less for the same volume (fan laws)."""
FOG = 2.0
"""Dew point over dry bulb up to which return air passes [K]: a slip of a wet-bulb meter, not a mistake."""
OUTDOOR_HUMIDITY_RATIO = 0.010
"""Humidity ratio of outdoor air in the condenser's heat capacity [kg/kg]: 0.2 % of it from dry to humid
weather."""


@dataclass(frozen=True)
class Conditions:
    """Weather and settings of operating points; everything broadcasts.

    Attributes
    ----------
    outdoor_temperature : air entering the condenser [K].
    return_temperature : air entering the indoor coil [K].
    return_humidity_ratio : of that air [kg/kg dry air].
    ambient_pressure : [Pa].
    indoor_airflow : dry-air flow through the indoor coil [kg/s]; the unit's own if None.
    indoor_power : blower [W]; the unit's own if None.
    compressor_speed, outdoor_fan_speed, indoor_fan_speed : over full speed [-], above 0.
    """

    outdoor_temperature: ArrayLike
    return_temperature: ArrayLike
    return_humidity_ratio: ArrayLike
    ambient_pressure: ArrayLike = STANDARD_PRESSURE
    indoor_airflow: ArrayLike | None = None
    indoor_power: ArrayLike | None = None
    compressor_speed: ArrayLike = 1.0
    outdoor_fan_speed: ArrayLike = 1.0
    indoor_fan_speed: ArrayLike = 1.0


NONE = np.array(0.0)
"""What a machine that only cools has of a reversing valve."""


class Surroundings(NamedTuple):
    """Everything the cycle takes as given; arrays or scalars that broadcast. SI throughout.

    condenser_air, evaporator_air: the two streams; in cooling the first is outdoor air, in heating the
    second. outdoor_airflow [m3/s], outdoor_fan_power, blower_power [W]. ambient_temperature: outdoor air
    around lines and shell [K].
    compressor_speed [-]. charge [kg]. noncondensable [Pa at 40 degC]. leakage [-]. valve_factor: area of
    the expansion device over healthy [-]. bulb_offset: superheat that a valve's bulb reads too much [K].
    superheating: conductance of the evaporator, were all of it superheating at rated flow, over the
    compressor's volume flow [W s/(K m3)].

    Pressure drops, each a coefficient: suction_drop [Pa over kg/m3] and discharge_drop [Pa over kg/m3, times
    the ratio of suction to discharge density] at the compressor's volume flow; liquid_drop [Pa s2/(kg m3)];
    restriction, what a fault adds to it [Pa s2/kg2]. suction_gain: share of the way to outdoor temperature
    that the suction line warms its gas [-]. Of a machine that reverses, while it heats: valve_gain, share of
    the way to the condensing temperature that the reversing valve warms it [-]; hot_gas_loss, share of the
    way to outdoor temperature that the line to the condenser cools the discharge gas [-].

    Limits: air_bubble_pressure, bubble pressure at the temperature of the condenser's air [Pa];
    limit_approach, condensing approach at the high-pressure limit [K]; limit_rise, ln of the pressure there
    over air_bubble_pressure [-]; log_low_pressure, ln of the evaporator's exit pressure [Pa] at the low one.
    """

    condenser_air: AirStream
    evaporator_air: MoistStream
    ambient_temperature: Array
    outdoor_airflow: Array
    outdoor_fan_power: Array
    blower_power: Array
    compressor_speed: Array
    charge: Array
    noncondensable: Array
    leakage: Array
    valve_factor: Array
    bulb_offset: Array
    superheating: Array
    suction_drop: Array
    suction_gain: Array
    discharge_drop: Array
    liquid_drop: Array
    restriction: Array
    air_bubble_pressure: Array
    limit_approach: Array
    limit_rise: Array
    log_low_pressure: Array
    valve_gain: Array = NONE
    hot_gas_loss: Array = NONE


def surroundings(unit: Unit, conditions: Conditions, faults: Faults = HEALTHY) -> Surroundings:
    """Air streams, fan powers and fault terms of operating points.

    Parameters
    ----------
    unit : Unit
        What the unit is.
    conditions : Conditions
        Weather, return air, speeds.
    faults : Faults
        What is wrong with it.

    Returns
    -------
    Surroundings
        Everything that the balances take as given [SI]; shapes broadcast.

    Raises
    ------
    ValueError
        Where weather is not a number, the return air holds more water than air can, a speed or airflow is not
        above zero, or a fault out of its range.
    """
    for name in ("outdoor_temperature", "return_temperature", "return_humidity_ratio", "ambient_pressure"):
        values = np.asarray(getattr(conditions, name))
        finite = np.isfinite(values)
        if not finite.all():
            raise ValueError(f"{name} must be a number, got {values[~finite].flat[0]}")
    for name in ("compressor_speed", "outdoor_fan_speed", "indoor_fan_speed", "indoor_airflow"):
        value = getattr(conditions, name)
        if value is not None and np.any(~(np.asarray(value) > 0)):
            raise ValueError(f"{name} must be above 0, got {np.min(value):g}")
    outdoor_air, volume, fan_power = _outdoor_side(unit, conditions, faults)
    indoor_air, blower_power = _indoor_side(unit, conditions, faults)
    circuit, speed = unit.circuit, np.asarray(conditions.compressor_speed, dtype=float)
    overfeed = np.asarray(faults.valve_overfeed, dtype=float)
    swept = np.asarray(unit.compressor.displacement * np.asarray(unit.compressor.displacement_scale) * speed)
    rated = np.asarray(unit.rated_pressure_difference) / np.asarray(unit.rated_flow) ** 2
    suction_drop = np.asarray(circuit.suction_drop * swept**2)
    limits = pressure_limits(
        unit, outdoor_air.temperature, np.asarray(faults.noncondensable, dtype=float), suction_drop
    )
    return Surroundings(
        condenser_air=outdoor_air,
        evaporator_air=indoor_air,
        ambient_temperature=outdoor_air.temperature,
        outdoor_airflow=volume,
        outdoor_fan_power=fan_power,
        blower_power=blower_power,
        compressor_speed=speed,
        charge=np.asarray(circuit.charge * (1.0 + np.asarray(faults.charge_change))),
        noncondensable=np.asarray(faults.noncondensable, dtype=float),
        leakage=np.asarray(faults.compressor_leakage, dtype=float),
        valve_factor=1.0 + overfeed,
        bulb_offset=BULB_OFFSET * overfeed,
        superheating=superheating(unit, indoor_air) / swept,
        suction_drop=suction_drop,
        suction_gain=np.asarray(-np.expm1(-np.asarray(circuit.suction_line_ntu))),
        discharge_drop=np.asarray(unit.condenser.pressure_drop * swept**2),
        liquid_drop=np.asarray(circuit.liquid_line_drop, dtype=float),
        restriction=np.asarray(faults.liquid_restriction * rated),
        **limits,
    )


def pressure_limits(unit: Unit, air: Array, noncondensable: Array, suction_drop: Array) -> dict[str, Array]:
    """Fields of `Surroundings` that belong to the pressure limits.

    Parameters
    ----------
    unit : Unit
        For its limits and its refrigerant.
    air : ndarray
        Temperature of the air that enters the condenser [K].
    noncondensable : ndarray
        Partial pressure of other gas at 40 degC [Pa].
    suction_drop : ndarray
        As in `Surroundings` [Pa over kg/m3].

    Returns
    -------
    dict of str to ndarray
        Four fields by name; shapes broadcast.
    """
    fluid = refrigerant(unit.refrigerant)
    high = np.minimum(unit.high_pressure_limit, NEAR_CRITICAL * fluid.critical_pressure)
    temperature = fluid.bubble_temperature(high)
    # The switch feels non-condensable gas too; the refrigerant's own share of the limit is what the coil is
    # held at.
    if np.any(noncondensable):
        for _ in range(OWN_SHARE_PASSES):
            own = high - condensing.partial_pressure(noncondensable, temperature)
            temperature = fluid.bubble_temperature(np.maximum(own, LEAST_OWN_SHARE * high))
    approach = np.maximum(temperature - air, SMALLEST_APPROACH)
    air_pressure = fluid.bubble_pressure(air)
    low = np.asarray(unit.low_pressure_limit, dtype=float)
    # The switch sits at the suction port, a small drop behind the coil's exit that goes with the density.
    drop = np.minimum(suction_drop * fluid.saturation(low).vapour_density / low, 0.5)
    return {
        "air_bubble_pressure": air_pressure,
        "limit_approach": approach,
        "limit_rise": np.log(fluid.bubble_pressure(air + approach) / air_pressure),
        "log_low_pressure": np.log(low / (1.0 - drop)),
    }


def superheating(unit: Unit, air: MoistStream) -> Array:
    """Conductance of the evaporator, were all of it superheating at rated flow.

    Parameters
    ----------
    unit : Unit
        With its evaporator.
    air : MoistStream
        What enters it.

    Returns
    -------
    ndarray
        [W/K], shape of the broadcast inputs.
    """
    rate = air.flow * air.heat_capacity
    vapour = np.asarray(unit.evaporator.vapour_conductance, dtype=float)
    return np.asarray(rate * condensing.effectiveness(air.conductance, vapour, rate))


def _outdoor_side(unit: Unit, conditions: Conditions, faults: Faults) -> tuple[AirStream, Array, Array]:
    fan = unit.outdoor_fan
    speed = np.asarray(conditions.outdoor_fan_speed) * (1.0 - np.asarray(faults.condenser_fan_slow))
    balance = fans.airflow_ratio(fan, faults.condenser_blocked, faults.condenser_dust, speed)
    ratio = balance * (1.0 - np.asarray(faults.condenser_airflow_lost))
    volume = np.asarray(fan.airflow * ratio)
    temperature = np.asarray(conditions.outdoor_temperature, dtype=float)
    dry_air = volume / moist_air.specific_volume(
        temperature, OUTDOOR_HUMIDITY_RATIO, conditions.ambient_pressure
    )
    air = AirStream(
        heat_capacity_rate=np.asarray(dry_air * moist_air.heat_capacity(OUTDOOR_HUMIDITY_RATIO)),
        temperature=temperature,
        conductance=condensing.air_side_conductance(
            unit.condenser,
            density_corrected(ratio, dry_air, volume),
            faults.condenser_blocked,
            faults.condenser_dust,
        ),
        open_face=1.0 - np.asarray(faults.condenser_blocked, dtype=float),
        recirculation=np.asarray(faults.condenser_recirculation, dtype=float),
    )
    # Only a motor that holds the airflow pays for the pressure it makes.
    constant = fan.constant_airflow
    pressure = (
        fans.resistance(fan, balance, faults.condenser_blocked, faults.condenser_dust)
        if constant
        else balance
    )
    density = np.asarray(dry_air / volume / FAN_AIR_DENSITY)
    power = np.asarray(fan.power * fans.fan_power_ratio(fan, balance, pressure, speed) * density)
    return air, volume, power


def density_corrected(ratio: Array, dry_air: Array, volume: Array) -> Array:
    """Velocity ratio over that of standard air with the same mass velocity, which conductance follows.

    Parameters
    ----------
    ratio : ndarray
        Volume flow over the clean unit's [-].
    dry_air, volume : ndarray
        Flow of dry air [kg/s] and of air [m3/s].

    Returns
    -------
    ndarray
        [-], shape of the broadcast inputs.
    """
    return np.asarray(ratio * dry_air / volume / moist_air.STANDARD_AIR_DENSITY)


def _indoor_side(unit: Unit, conditions: Conditions, faults: Faults) -> tuple[MoistStream, Array]:
    fan = unit.indoor_fan
    temperature = np.asarray(conditions.return_temperature, dtype=float)
    humidity = np.asarray(conditions.return_humidity_ratio, dtype=float)
    pressure = np.asarray(conditions.ambient_pressure, dtype=float)
    balance = fans.airflow_ratio(fan, 0.0, faults.evaporator_dust, conditions.indoor_fan_speed)
    left = 1.0 - np.asarray(faults.evaporator_airflow_lost)
    dew_point = moist_air.dew_point(humidity, pressure)
    _require_air(temperature, dew_point)
    density = 1.0 / moist_air.specific_volume(temperature, humidity, pressure)
    if conditions.indoor_airflow is None:
        flow = np.asarray(fan.airflow * balance * left * density)
    else:
        flow = np.asarray(
            np.asarray(conditions.indoor_airflow) * left * balance / np.asarray(conditions.indoor_fan_speed)
        )
    if conditions.indoor_power is None:
        drop = (
            fans.resistance(fan, balance * left, 0.0, faults.evaporator_dust)
            if fan.constant_airflow
            else balance
        )
        ratio = fans.fan_power_ratio(fan, balance * left, drop, conditions.indoor_fan_speed)
        power = np.asarray(fan.power * ratio * density / BLOWER_AIR_DENSITY)
    else:
        power = np.asarray(conditions.indoor_power, dtype=float)
    air = MoistStream(
        flow=flow,
        temperature=temperature,
        humidity_ratio=humidity,
        dew_point=dew_point,
        enthalpy=moist_air.enthalpy(temperature, humidity),
        heat_capacity=moist_air.heat_capacity(humidity),
        pressure=pressure,
        conductance=boiling.air_side_conductance(unit.evaporator, flow, faults.evaporator_dust),
    )
    return air._replace(moisture_slope=boiling.moisture_slope(air)), power


def _require_air(temperature: Array, dew_point: Array) -> None:
    """Raise for return air with more water in it than air can hold."""
    over = dew_point - temperature
    if np.any(over > FOG):
        worst = np.unravel_index(np.argmax(over), over.shape)
        dew, dry = (float(np.broadcast_to(each, over.shape)[worst]) for each in (dew_point, temperature))
        raise ValueError(
            "return_humidity_ratio must be at most that of saturated air, "
            f"got a dew point of {dew:g} K at a dry bulb of {dry:g} K"
        )
