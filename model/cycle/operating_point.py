"""What a solved point means to a technician: pressures, temperatures, capacities, powers, and a named state.

Everything follows from the trial point of `model.cycle.balances` without a further equation. Heats are kept
apart by where they are exchanged, so that the first law can be checked part by part.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from model.arrays import Array, IntArray
from model.components.condenser import partial_pressure
from model.components.evaporator import boiling_area
from model.components.unit import Unit
from model.cycle.balances import Trial, overfed, overfilled
from model.cycle.boundary import NEAR_CRITICAL, Surroundings
from model.properties import moist_air
from model.properties.refrigerant import Refrigerant, refrigerant

STATES = (
    "ok",
    "flash gas",
    "flooded suction",
    "coil below freezing",
    "discharge too hot",
    "low-pressure trip",
    "high-pressure trip",
    "near-critical condensing",
    "device overfeeds",
    "not converged",
)
"""Names of the states, the graver one winning where several hold; `OperatingPoint.state` is the index.

Where the condenser is full of liquid at the high-pressure limit and still holds less than the charge, the
switch opens. Where the device passes more than the compressor draws though liquid alone leaves the
evaporator, or nothing keeps the two pressures apart any more, there is no steady state: "device overfeeds".
"""
STATE_CODES = {name: code for code, name in enumerate(STATES)}

CONVERGED = 1e-6
"""Largest relative imbalance of a point that counts as solved [-]."""
FLASH_QUALITY = 1e-4
"""Quality at the expansion device from which flash gas is named [-]."""
WET_SUPERHEAT = 1e-3
"""Suction counts as flooded where the superheat there is below minus this [K]."""


@dataclass(frozen=True)
class OperatingPoint:
    """Steady operating points; every field an array of the shape of the broadcast inputs.

    Pressures are absolute [Pa], temperatures [K], powers, heats and capacities [W], flows [kg/s] but
    airflows: indoor dry air [kg/s], outdoor [m3/s]. `evaporating_temperature` is the dew point at the suction
    port, `condensing_temperature` the bubble point at the liquid port, `superheat` and `subcooling` [K] what
    gauges and a pipe probe show there (`subcooling` counts from the pressure a gauge shows, non-condensable
    gas included). `device_quality` [-] is the quality at the expansion device, negative where subcooled.
    `state` indexes `STATES`; `residual` is the largest relative imbalance [-]; `unknowns` (3, ...) start the
    solver at a neighbouring point.

    Heats: `heat_rejected` by the refrigerant in the condenser, `condenser_air_heat` given to its air (less
    where a point is held at the high-pressure limit: the coil is still warming), `evaporator_air_heat` given
    by the indoor air according to the coil's conductances (less where held at the low one), `suction_gain` of
    the suction line, `shell_loss` of the compressor.
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
    supply_humidity_ratio: Array
    supply_wet_bulb: Array
    condenser_leaving_temperature: Array
    net_capacity: Array
    gross_capacity: Array
    sensible_capacity: Array
    latent_capacity: Array
    compressor_power: Array
    outdoor_fan_power: Array
    blower_power: Array
    outdoor_power: Array
    total_power: Array
    eer: Array
    cop: Array
    refrigerant_flow: Array
    indoor_airflow: Array
    outdoor_airflow: Array
    evaporator_superheat: Array
    surface_temperature: Array
    device_quality: Array
    suction_enthalpy: Array
    discharge_enthalpy: Array
    liquid_enthalpy: Array
    evaporator_pressure: Array
    heat_rejected: Array
    condenser_air_heat: Array
    evaporator_air_heat: Array
    suction_gain: Array
    shell_loss: Array
    state: IntArray
    residual: Array
    unknowns: Array

    def state_names(self) -> NDArray[np.str_]:
        """Names of the states, shape of the point."""
        return np.asarray(np.array(STATES)[self.state])


def operating_point(
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
        What the unit is.
    fluid : Refrigerant
        Its refrigerant.
    given : Surroundings
        Air streams, charge and faults.

    Returns
    -------
    dict of str to ndarray, shape (n,)
        Fields of `OperatingPoint` by name [SI].
    """
    heats = heat_flows(trial, fluid)
    residual = imbalance(trial, given)
    values: dict[str, Any] = {
        **refrigerant_side(trial, given, fluid),
        **_performance(trial, given, heats),
        "state": state_codes(trial, unknowns, residual, unit, given),
        "residual": residual,
    }
    return completed(values, unknowns)


def completed(values: dict[str, Any], unknowns: Array) -> dict[str, Array]:
    """Every value in the shape of the points, and the unknowns.

    Parameters
    ----------
    values : dict of str to ndarray
        Shapes that broadcast to that of the points.
    unknowns : ndarray, shape (3, ...)
        Solved ones.

    Returns
    -------
    dict of str to ndarray
        The same names, and "unknowns".
    """
    shape = unknowns.shape[1:]
    nothing = np.zeros(shape)
    shaped = {n: v if v.shape == shape else v + nothing for n, v in values.items()}
    return {**shaped, "unknowns": unknowns}


class Heats(NamedTuple):
    """Heat flows [W]: gross capacity, the superheating zone's part of it, condenser's, suction line's."""

    gross: Array
    superheating: Array
    rejected: Array
    suction: Array


def heat_flows(trial: Trial, fluid: Refrigerant) -> Heats:
    """Heats of the refrigerant in coils and suction line.

    Parameters
    ----------
    trial : Trial
        States around the circuit.
    fluid : Refrigerant
        The refrigerant.

    Returns
    -------
    Heats
        [W], of the trial's shape.
    """
    # Superheated gas has its own enthalpy, wet gas that of the boiling zone's end.
    line, superheat = trial.inlet.saturation, np.maximum(trial.inlet.exit_superheat, 0.0)
    superheated = fluid.vapour(line.pressure, superheat).enthalpy - line.vapour_enthalpy
    return Heats(
        gross=trial.evaporator_flow * (trial.inlet.boiled_enthalpy + superheated - trial.liquid.enthalpy),
        superheating=trial.evaporator_flow * superheated,
        rejected=trial.compression.flow * (trial.arriving.enthalpy - trial.liquid.enthalpy),
        suction=trial.compression.flow
        * (trial.inlet.suction.enthalpy - trial.inlet.boiled_enthalpy - superheated),
    )


def refrigerant_side(trial: Trial, given: Surroundings, fluid: Refrigerant) -> dict[str, Array]:
    """What gauges, probes and the compressor's meter show, by the names of `OperatingPoint`.

    Parameters
    ----------
    trial : Trial
        States around the circuit.
    given : Surroundings
        For non-condensable gas.
    fluid : Refrigerant
        The refrigerant.

    Returns
    -------
    dict of str to ndarray
        [SI], of the trial's shape.
    """
    inlet, liquid, compression = trial.inlet, trial.liquid, trial.compression
    own = trial.condensing.bubble_temperature
    partial = partial_pressure(given.noncondensable, own)
    gauge = trial.condensing.pressure + partial
    condensing = fluid.bubble_temperature(gauge) if np.any(given.noncondensable) else own
    superheat = np.maximum(inlet.suction.superheat, 0.0)
    return {
        "suction_pressure": inlet.suction.pressure,
        "liquid_pressure": gauge,
        "discharge_pressure": compression.pressure,
        "evaporating_temperature": inlet.suction.dew_temperature,
        "condensing_temperature": condensing,
        "superheat": superheat,
        "subcooling": np.maximum(condensing - liquid.temperature, 0.0),
        "suction_temperature": inlet.suction.dew_temperature + superheat,
        "liquid_temperature": liquid.temperature,
        "discharge_temperature": compression.temperature,
        "compressor_power": compression.power,
        "refrigerant_flow": compression.flow,
        "evaporator_superheat": inlet.exit_superheat,
        "surface_temperature": trial.zone.surface_temperature,
        "device_quality": liquid.device_quality,
        "suction_enthalpy": inlet.suction.enthalpy,
        "discharge_enthalpy": compression.enthalpy,
        "liquid_enthalpy": liquid.enthalpy,
        "evaporator_pressure": inlet.saturation.pressure,
        "shell_loss": compression.shell_loss,
    }


def _performance(trial: Trial, given: Surroundings, heats: Heats) -> dict[str, Array]:
    air = _air_leaving(trial, given, heats.gross)
    net = heats.gross - given.blower_power
    outdoor_power = trial.compression.power + given.outdoor_fan_power
    total = outdoor_power + given.blower_power
    # Held at the high-pressure limit, the areas that the heat would need add up to more than the coil has.
    to_air = heats.rejected / np.maximum(trial.areas.total, 1.0)
    # All of the heat goes with the air that is not drawn back.
    fresh = given.condenser_air.heat_capacity_rate * (1.0 - np.asarray(given.condenser_air.recirculation))
    rise = (to_air + given.outdoor_fan_power) / fresh
    efficiency = net / total
    return {
        "supply_temperature": air.temperature,
        "supply_humidity_ratio": air.humidity,
        "supply_wet_bulb": moist_air.wet_bulb(air.temperature, air.humidity, given.evaporator_air.pressure),
        "condenser_leaving_temperature": given.condenser_air.temperature + rise,
        "net_capacity": net,
        "gross_capacity": heats.gross,
        "sensible_capacity": net - air.latent,
        "latent_capacity": air.latent,
        "outdoor_fan_power": given.outdoor_fan_power,
        "blower_power": given.blower_power,
        "outdoor_power": outdoor_power,
        "total_power": total,
        "eer": efficiency,
        "cop": efficiency,
        "indoor_airflow": given.evaporator_air.flow,
        "outdoor_airflow": given.outdoor_airflow,
        "heat_rejected": heats.rejected,
        "condenser_air_heat": to_air,
        "evaporator_air_heat": trial.boiling_heat + heats.superheating,
        "suction_gain": heats.suction,
    }


class _AirLeaving(NamedTuple):
    temperature: Array
    humidity: Array
    latent: Array


def _air_leaving(trial: Trial, given: Surroundings, gross: Array) -> _AirLeaving:
    """Air after both zones of the coil and the blower."""
    air, zone = given.evaporator_air, trial.zone
    touched = boiling_area(trial.superheating_area) * (1.0 - zone.bypass)
    saturated = moist_air.saturation_humidity_ratio(zone.surface_temperature, air.pressure)
    condensed = np.where(zone.wet, np.maximum(air.humidity_ratio - saturated, 0.0), 0.0) * touched
    humidity = air.humidity_ratio - condensed
    # Enthalpy of the leaving air from the heat balance, temperature from enthalpy and humidity: energy closes
    # exactly.
    enthalpy = air.enthalpy - (gross - given.blower_power) / air.flow
    temperature = moist_air.temperature_from_enthalpy(enthalpy, humidity)
    return _AirLeaving(
        temperature, humidity, np.asarray(air.flow * condensed * moist_air.VAPORISATION_ENTHALPY)
    )


def imbalance(trial: Trial, given: Surroundings) -> Array:
    """Largest of what the heat, flow and charge balances miss by.

    Parameters
    ----------
    trial : Trial
        States around the circuit.
    given : Surroundings
        For the charge.

    Returns
    -------
    ndarray
        Relative [-], of the trial's shape.
    """
    inlet = trial.inlet
    boiled = inlet.boiled_enthalpy - trial.liquid.enthalpy
    heat = trial.boiling_heat / (trial.evaporator_flow * boiled) - 1.0
    flow = trial.device_capacity * trial.device_opening / trial.evaporator_flow - 1.0
    return np.maximum(np.maximum(np.abs(heat), np.abs(flow)), np.abs(trial.charge / given.charge - 1.0))


def state_codes(trial: Trial, unknowns: Array, residual: Array, unit: Unit, given: Surroundings) -> IntArray:
    """Code in `STATES` of every point.

    Parameters
    ----------
    trial : Trial
        States around the circuit.
    unknowns : ndarray, shape (3, n)
        Solved ones.
    residual : ndarray, shape (n,)
        From `imbalance` [-].
    unit, given
        As for `operating_point`.

    Returns
    -------
    ndarray of int, shape (n,)
        The graver state where several hold.
    """
    high, fluid = unknowns[1] > 0.0, refrigerant(unit.refrigerant)
    critical = np.asarray(unit.high_pressure_limit) >= NEAR_CRITICAL * fluid.critical_pressure
    solved = residual < CONVERGED
    full = ~solved & overfilled(unknowns) & (trial.charge < given.charge)
    tests = (
        trial.liquid.device_quality > FLASH_QUALITY,
        trial.inlet.suction.superheat < -WET_SUPERHEAT,
        trial.zone.wet & (trial.zone.surface_temperature < moist_air.ZERO_CELSIUS),
        trial.compression.temperature > np.asarray(unit.discharge_limit),
        unknowns[0] < given.log_low_pressure,
        high,
        high & critical & (solved | full),
        ~solved & ~full & overfed(unknowns),
        ~solved & ~full & ~overfed(unknowns),
    )
    codes = np.zeros((len(STATES), unknowns.shape[1]), dtype=np.int64)
    for code, holds in enumerate(tests, start=1):
        np.multiply(holds, code, out=codes[code])
    return np.asarray(codes.max(axis=0))


def suction_wetness(point: OperatingPoint, fluid: Refrigerant) -> Array:
    """Enthalpy that wet suction gas lacks to the dew line, over the gas's heat capacity.

    Parameters
    ----------
    point : OperatingPoint
    fluid : Refrigerant
        Its refrigerant.

    Returns
    -------
    ndarray
        [K], shape of the point's numbers; 0 where the gas is superheated.
    """
    sat = fluid.saturation(point.suction_pressure)
    lacking = np.maximum(sat.vapour_enthalpy - point.suction_enthalpy, 0.0)
    return np.asarray(lacking / sat.vapour_heat_capacity)


def liquid_flash(point: OperatingPoint, fluid: Refrigerant) -> Array:
    """Enthalpy of a liquid line that does not condense whole over its liquid's, over the heat capacity.

    Parameters
    ----------
    point : OperatingPoint
    fluid : Refrigerant
        Its refrigerant.

    Returns
    -------
    ndarray
        [K], shape of the point's numbers; 0 where the liquid is subcooled.
    """
    sat = fluid.saturation(point.liquid_pressure)
    liquid = fluid.liquid_enthalpy(point.liquid_pressure, point.liquid_temperature)
    return np.asarray(np.maximum(point.liquid_enthalpy - liquid, 0.0) / sat.liquid_heat_capacity)
