"""What meters show on a machine of another structure, in the form of the product's operating points."""

from __future__ import annotations

from dataclasses import fields

import numpy as np

from calibration.studies.foreign.machine import Around, Given, Machine
from model.arrays import Array
from model.cycle.operating_point import STATE_CODES, OperatingPoint
from model.properties import moist_air
from model.properties.refrigerant import refrigerant


def operating_point(found: Around, given: Given, unknowns: Array, machine: Machine) -> OperatingPoint:
    """What meters show of solved states, in the form of the product's model; NaN what nobody reads.

    Parameters
    ----------
    found : Around
    given : Given
    unknowns : ndarray, shape (3, m)
        NaN where there is no steady state.
    machine : Machine

    Returns
    -------
    OperatingPoint
        Of shape (m,); "not converged" where there is no steady state.
    """
    fluid, nothing = refrigerant(machine.refrigerant), np.full(unknowns.shape[1:], np.nan)
    values: dict[str, Array] = {one.name: nothing for one in fields(OperatingPoint)}
    gross = found.boiled.path.heat
    net, total = gross - given.blower_power, found.power + given.fan_power + given.blower_power
    dew = fluid.dew_temperature(found.suction_pressure)
    condensing = fluid.bubble_temperature(found.gauge)
    enthalpy = given.indoor.enthalpy - net / given.indoor.flow
    supply = moist_air.temperature_from_enthalpy(enthalpy, found.boiled.humidity_ratio)
    rejected = found.flow * (found.discharge_enthalpy - found.liquid_enthalpy)
    values |= _refrigerant_side(found, dew, condensing) | {
        "supply_temperature": supply,
        "supply_humidity_ratio": found.boiled.humidity_ratio,
        "supply_wet_bulb": moist_air.wet_bulb(supply, found.boiled.humidity_ratio, given.indoor.pressure),
        "condenser_leaving_temperature": given.outdoor + (rejected + given.fan_power) / given.outdoor_rate,
        "net_capacity": net,
        "gross_capacity": gross,
        "compressor_power": found.power,
        "outdoor_fan_power": given.fan_power,
        "blower_power": given.blower_power,
        "outdoor_power": found.power + given.fan_power,
        "total_power": total,
        "eer": net / total,
        "cop": net / total,
        "indoor_airflow": given.indoor.flow,
        "outdoor_airflow": given.outdoor_airflow,
    }
    lost = np.isnan(unknowns).any(axis=0)
    shaped = {name: np.where(lost, np.nan, value + 0.0 * given.outdoor) for name, value in values.items()}
    state = np.where(lost, STATE_CODES["not converged"], STATE_CODES["ok"])
    return OperatingPoint(**{**shaped, "state": state, "residual": nothing, "unknowns": unknowns})


def _refrigerant_side(found: Around, dew: Array, condensing: Array) -> dict[str, Array]:
    """What gauges and pipe probes show."""
    return {
        "suction_pressure": found.suction_pressure,
        "liquid_pressure": found.gauge,
        "discharge_pressure": found.discharge_pressure,
        "evaporating_temperature": dew,
        "condensing_temperature": condensing,
        "superheat": found.suction_temperature - dew,
        "subcooling": condensing - found.liquid_temperature,
        "suction_temperature": found.suction_temperature,
        "liquid_temperature": found.liquid_temperature,
        "discharge_temperature": found.discharge_temperature,
        "refrigerant_flow": found.flow,
        "evaporator_superheat": found.exit_superheat,
        "device_quality": found.inlet.quality,
        "suction_enthalpy": found.suction_enthalpy,
        "discharge_enthalpy": found.discharge_enthalpy,
        "liquid_enthalpy": found.liquid_enthalpy,
    }
