"""Every route from the readings of a visit to the capacity of the coil, for many readings and units at once.

Readings and the unit's numbers are arrays of one shape, so that one call gives the slopes too. The compressor
works between the measured suction and discharge states; the suction line's heat gain is the unit's.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from calibration.measured.performance import figures_of_readings
from model.arrays import Array
from model.components import compressor as machine
from model.components.compressor import Suction
from model.components.unit import Unit
from model.cycle.balances import rated_suction
from model.cycle.boundary import OUTDOOR_HUMIDITY_RATIO
from model.properties import moist_air
from model.properties.refrigerant import Refrigerant, refrigerant

Readings = Mapping[str, Array]


@dataclass(frozen=True)
class Routes:
    """Readings of a visit and a unit, both with slightly changed copies of themselves.

    Attributes
    ----------
    readings : mapping of str to array
        By key [SI], of one shape; `outdoor_db` and a blower's power among them.
    unit : Unit
        Its numbers broadcast with the readings.
    ambient_pressure : float
        [Pa]
    compressor_speed, outdoor_fan_speed : float
        Over full speed [-].
    """

    readings: Readings
    unit: Unit
    ambient_pressure: float
    compressor_speed: float = 1.0
    outdoor_fan_speed: float = 1.0

    @cached_property
    def fluid(self) -> Refrigerant:
        """The unit's refrigerant."""
        return refrigerant(self.unit.refrigerant)

    @cached_property
    def air_side(self) -> Array:
        """Coil's capacity by the air's enthalpy [W]."""
        figures = figures_of_readings(
            self.readings, self.ambient_pressure, self.unit.refrigerant, ["gross_capacity"]
        )
        return figures["gross_capacity"]

    @cached_property
    def refrigerant_side(self) -> Array:
        """Coil's capacity by the compressor's displacement [W]."""
        return np.asarray(self.flow_and_power[0] * self.rise)

    @cached_property
    def compressor_balance(self) -> Array:
        """Coil's capacity by the flow that the compressor's power heats [W]."""
        pressure = self.discharge_pressure
        superheat = self.readings["discharge_temperature"] - self.fluid.dew_temperature(pressure)
        gas = self.fluid.vapour(pressure, superheat)
        heat = self.power_read - self.shell_loss
        return np.asarray(heat / (gas.enthalpy - self.suction.enthalpy) * self.rise)

    @cached_property
    def condenser_side(self) -> Array:
        """Coil's capacity by the heat that the condenser's clean airflow takes up [W]."""
        given = self.power_read - self.shell_loss + self.fan_power
        return np.asarray(self.condenser_rate * self.condenser_air_rise - given - self.line_heat)

    @cached_property
    def condenser_airflow(self) -> Array:
        """Condenser's airflow over the clean one's that carries the refrigerant side's heat away [-]."""
        heat = self.refrigerant_side + self.line_heat + self.power_read - self.shell_loss + self.fan_power
        return np.asarray(heat / (self.condenser_rate * self.condenser_air_rise))

    @cached_property
    def condenser_rate(self) -> Array:
        """Heat capacity rate of the condenser's air, coil clean [W/K]."""
        volume = np.asarray(self.unit.outdoor_fan.airflow) * self.outdoor_fan_speed
        specific = moist_air.specific_volume(
            self.readings["outdoor_db"], OUTDOOR_HUMIDITY_RATIO, self.ambient_pressure
        )
        return np.asarray(volume / specific * moist_air.heat_capacity(OUTDOOR_HUMIDITY_RATIO))

    @cached_property
    def condenser_air_rise(self) -> Array:
        """Leaving over entering condenser air [K]."""
        return np.asarray(self.readings["condenser_leaving_db"] - self.readings["outdoor_db"])

    @cached_property
    def shell_loss(self) -> Array:
        """Heat that the compressor's shell gives away [W]."""
        return machine.shell_heat(self.unit.compressor, self.power_read, self.compressor_speed)

    @cached_property
    def fan_power(self) -> Array:
        """Condenser fan, as read or as the unit's [W]."""
        own = np.asarray(self.unit.outdoor_fan.power) * self.outdoor_fan_speed**3
        return np.asarray(self.readings.get("outdoor_fan_power", own))

    @cached_property
    def power_read(self) -> Array:
        """Compressor's power as read [W]."""
        if "compressor_power" in self.readings:
            return np.asarray(self.readings["compressor_power"])
        return np.asarray(self.readings["outdoor_power"] - self.fan_power)

    @cached_property
    def suction(self) -> Suction:
        """State at the suction port; a reading below the dew point counts as the dew point."""
        pressure = np.asarray(self.readings["suction_pressure"])
        dew = self.fluid.dew_temperature(pressure)
        superheat = np.maximum(self.readings["suction_temperature"] - dew, 0.0)
        gas = self.fluid.vapour(pressure, superheat)
        return Suction(pressure, gas.density, gas.enthalpy, dew, superheat)

    @cached_property
    def discharge_pressure(self) -> Array:
        """As read, or the liquid line's with the coil's drop [Pa]."""
        if "discharge_pressure" in self.readings:
            return np.asarray(self.readings["discharge_pressure"])
        pressure = self.readings["liquid_pressure"]
        flow = self._swept * self.suction.density
        drop = np.asarray(self.unit.condenser.pressure_drop) * flow**2
        return np.asarray(pressure + drop / self.fluid.saturation(pressure).vapour_density)

    @cached_property
    def _swept(self) -> Array:
        part = self.unit.compressor
        volume = np.asarray(part.displacement) * np.asarray(part.displacement_scale)
        return np.asarray(volume * self.compressor_speed)

    @cached_property
    def flow_and_power(self) -> tuple[Array, Array]:
        """Flow [kg/s] and power [W] of the unit's compressor between the measured states."""
        part, suction, speed = self.unit.compressor, self.suction, self.compressor_speed
        ratio = self.discharge_pressure / suction.pressure
        gas = self.fluid.vapour(suction.pressure, suction.superheat)
        rise = self.fluid.isentropic_enthalpy(self.discharge_pressure, gas.entropy) - suction.enthalpy
        if part.rating_map is None:
            flow = machine.volumetric_flow(part, ratio, speed) * suction.density
            return flow, machine.compression_power(part, flow, rise, ratio, speed)
        dew = self.fluid.dew_temperature(self.discharge_pressure)
        rated = rated_suction(part.rating_map, suction.dew_temperature, dew, self.fluid)
        flow, power = machine.mapped_flow_and_power(part, suction.density, rise, rated)
        return flow * speed, power * speed

    @cached_property
    def rise(self) -> Array:
        """Rise of enthalpy in the coil [J/kg]: liquid line to coil's exit, before the suction line."""
        high = self.readings["liquid_pressure"]
        liquid = np.minimum(self.readings["liquid_temperature"], self.fluid.bubble_temperature(high))
        return np.asarray(self.coil_exit_enthalpy - self.fluid.liquid_enthalpy(high, liquid))

    @cached_property
    def line_heat(self) -> Array:
        """Heat that the suction line takes up [W]; none where the compressor's states were not read."""
        if not {"suction_pressure", "suction_temperature", "liquid_pressure"} <= set(self.readings):
            return np.zeros(())
        return np.asarray(self.flow_and_power[0] * (self.suction.enthalpy - self.coil_exit_enthalpy))

    @cached_property
    def coil_exit_enthalpy(self) -> Array:
        """Enthalpy of the gas leaving the coil [J/kg], before the suction line's drop and heat."""
        share = -np.expm1(-np.asarray(self.unit.circuit.suction_line_ntu))
        outdoor = self.readings["outdoor_db"]
        temperature = (self.readings["suction_temperature"] - share * outdoor) / (1.0 - share)
        drop = np.asarray(self.unit.circuit.suction_drop) * self.suction.density * self._swept**2
        pressure = self.suction.pressure + drop
        superheat = np.maximum(temperature - self.fluid.dew_temperature(pressure), 0.0)
        return np.asarray(self.fluid.vapour(pressure, superheat).enthalpy)
