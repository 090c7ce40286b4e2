"""A machine that cools and heats: which of its parts does what in winter.

The reversing valve turns the circuit round: the indoor coil condenses, the outdoor coil evaporates. Air sides
keep their conductances, a coil's refrigerant side its order of size. The balances of `model.cycle.balances`
hold as they are: in heating they get a `Unit` whose condenser is the indoor coil and whose evaporator is the
outdoor one.

What a reversing machine has besides: an expansion device for heating in the outdoor section, sized here for
the heating rating; the reversing valve, which costs pressure on both sides and lets heat over from the hot
gas to the cold; and hot gas instead of cold in the line to the house, which loses heat to the outdoor air.

Charge: indoor coils hold less liquid than outdoor ones, so that less refrigerant is at work in heating. The
working charge is that which gives the design subcooling at the rating; the rest, which rests in a charge
compensator, in the device that is bypassed or in the coil, is the same mass in every weather. A loss or
excess of charge acts on what works. With an accumulator, wet gas fills it first and dry gas empties it.

References
----------
AHRI 210/240, heating test H1: outdoor 47/43 degF, return 70 degF (from memory). Size of the coils' and the
valve's losses: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from model.arrays import Array, Number
from model.components import expansion as device
from model.components.charge import Circuit
from model.components.compressor import volumetric_flow
from model.components.condenser import Condenser
from model.components.evaporator import Evaporator
from model.components.expansion import Expansion, ExpansionKind
from model.components.unit import StartingPoint, Unit
from model.properties.refrigerant import Refrigerant, refrigerant

RATING_OUTDOOR, RATING_RETURN = 281.483, 294.261
"""Outdoor and return dry bulb of heating test H1 [K]: 47 and 70 degF."""
DESIGN_EVAPORATING, DESIGN_CONDENSING = 273.0, 316.0
"""Usual evaporating and condensing temperature at that test [K]: some 15 degF under the outdoor air, 40 degF
over the return air (common practice, no source). They size the expansion device and start the solver."""
DESIGN_SUPERHEAT = {"TXV": 5.0, "fixed orifice": 3.0}
"""Superheat at the outdoor coil there [K] (common practice, no source)."""
DESIGN_SUBCOOLING = 8.0
"""Subcooling of the liquid that leaves the indoor coil there [K] (common practice, no source)."""
STATIC_SUPERHEAT = 3.0
"""Superheat at which a heating valve starts to open [K] (common practice, no source)."""
VALVE_PRESSURE_SHARE = 0.012
"""Pressure that the reversing valve takes from the cold gas at the cooling rating, over the low pressure
[-]: 1 to 2 psi of R-410A (common practice, no source)."""
VALVE_GAIN = 0.035
"""Share of the way from the evaporator's exit to the condensing temperature that the reversing valve warms
the gas [-]: some 1.5 K, 1 % of the heating capacity (common practice, no source)."""
HOT_GAS_LOSS = 0.03
"""Share of the way to outdoor air that the insulated line to the house cools the hot gas [-]: some 2 K over
25 feet, 1 to 2 % of the heating capacity (common practice, no source)."""
COLDEST_SUCTION = 238.7
"""Saturation temperature of the low-pressure limit in heating [K]: -30 degF. A heat pump's switch is set far
below that of an air conditioner, or bypassed in heating (common practice, no source)."""
OUTDOOR_EXPONENT_WET = 1.0
"""Air-side conductance of the frosting or wet outdoor coil over that of the dry one [-]: the outdoor coil's
plain fins gain little from wetness (common practice, no source)."""


@dataclass(frozen=True)
class HeatPump:
    """One machine in both its modes; numbers may be arrays, one a unit.

    Attributes
    ----------
    cooling : Unit
        As it cools.
    heating : Unit
        As it heats: `condenser` is the indoor coil, `evaporator` the outdoor one; the fans stay where they
        are. `circuit.charge` is what works in heating.
    valve_gain, hot_gas_loss : float or array
        As in `model.cycle.boundary.Surroundings` [-].
    """

    cooling: Unit
    heating: Unit
    valve_gain: Number = VALVE_GAIN
    hot_gas_loss: Number = HOT_GAS_LOSS


def turned(unit: Unit, expansion: ExpansionKind = "TXV", accumulator_volume: Number = 0.0) -> HeatPump:
    """The heat pump that a cooling unit is, sized but for its working charge.

    Parameters
    ----------
    unit : Unit
        As it cools, from the nameplate or fitted.
    expansion : str
        Kind of the heating device.
    accumulator_volume : float or array
        Of a suction accumulator [m3]; 0 without one.

    Returns
    -------
    HeatPump
        `model.heating.solve.with_working_charge` completes it.
    """
    fluid = refrigerant(unit.refrigerant)
    low = fluid.dew_pressure(np.asarray(DESIGN_EVAPORATING))
    high = fluid.bubble_pressure(np.asarray(DESIGN_CONDENSING))
    flow = _design_flow(unit, fluid, low, high)
    heating = replace(
        unit,
        condenser=_indoor_coil(unit),
        evaporator=_outdoor_coil(unit),
        expansion=_heating_device(fluid, flow, (low, high), expansion),
        circuit=_heating_circuit(unit, accumulator_volume),
        rated_flow=flow,
        rated_pressure_difference=high - low,
        low_pressure_limit=float(fluid.dew_pressure(COLDEST_SUCTION)),
        start=StartingPoint(
            DESIGN_EVAPORATING,
            DESIGN_CONDENSING - RATING_RETURN,
            np.log1p(DESIGN_SUPERHEAT[expansion] / (RATING_OUTDOOR - DESIGN_EVAPORATING)),
            -np.log1p(-DESIGN_SUBCOOLING / (DESIGN_CONDENSING - RATING_RETURN)),
        ),
    )
    return HeatPump(unit, heating)


def _design_flow(unit: Unit, fluid: Refrigerant, low: Array, high: Array) -> Array:
    """Flow that the compressor draws at the heating design [kg/s]."""
    gas = fluid.vapour(low, np.asarray(DESIGN_SUPERHEAT["TXV"]))
    return np.asarray(volumetric_flow(unit.compressor, np.asarray(high / low)) * gas.density)


def _indoor_coil(unit: Unit) -> Condenser:
    """The indoor coil as a condenser: its air side dry, its refrigerant side as it boils."""
    coil = unit.evaporator
    return Condenser(
        air_conductance=np.asarray(coil.air_conductance) * np.asarray(coil.dry_ratio),
        air_exponent=coil.air_exponent,
        vapour_conductance=coil.vapour_conductance,
        condensing_conductance=coil.boiling_conductance,
        liquid_conductance=coil.vapour_conductance,
        rated_flow=coil.rated_flow,
        volume=coil.volume,
        pressure_drop=np.asarray(unit.condenser.pressure_drop) + _valve_drop(unit),
        rated_pressure=unit.condenser.rated_pressure,
    )


def _outdoor_coil(unit: Unit) -> Evaporator:
    """The outdoor coil as an evaporator: as much refrigerant-side conductance as it condenses with."""
    coil = unit.condenser
    return Evaporator(
        air_conductance=np.asarray(coil.air_conductance) * OUTDOOR_EXPONENT_WET,
        air_exponent=coil.air_exponent,
        boiling_conductance=coil.condensing_conductance,
        vapour_conductance=coil.vapour_conductance,
        rated_flow=coil.rated_flow,
        rated_airflow=unit.outdoor_fan.airflow,
        volume=coil.volume,
        pressure_drop=unit.evaporator.pressure_drop,
        dry_ratio=1.0,
    )


def _valve_drop(unit: Unit) -> Array:
    """Coefficient of the reversing valve's pressure drop, k m^2 / density [1/m4]."""
    fluid = refrigerant(unit.refrigerant)
    low = fluid.dew_pressure(np.asarray(unit.start.evaporating, dtype=float))
    density = fluid.saturation(low).vapour_density
    return np.asarray(VALVE_PRESSURE_SHARE * low * density / np.asarray(unit.rated_flow) ** 2)


def _heating_circuit(unit: Unit, accumulator_volume: Number) -> Circuit:
    """Lines in heating: cold gas only crosses the outdoor section, through the reversing valve."""
    circuit = unit.circuit
    return replace(
        circuit,
        suction_drop=_valve_drop(unit),
        suction_line_ntu=0.0,
        accumulator_volume=accumulator_volume,
    )


def _heating_device(
    fluid: Refrigerant, flow: Array, pressures: tuple[Array, Array], kind: ExpansionKind
) -> Expansion:
    """The device that passes the design's flow at its superheat and subcooling."""
    low, high = pressures
    before, behind = 0.96 * high, 1.05 * low
    liquid = np.asarray(DESIGN_CONDENSING - DESIGN_SUBCOOLING)
    density = fluid.liquid_density(liquid)
    if kind == "TXV":
        area = flow / np.sqrt(2.0 * density * (before - behind))
        return Expansion(kind, area, STATIC_SUPERHEAT, DESIGN_SUPERHEAT[kind] - STATIC_SUPERHEAT)
    line = fluid.saturation(before)
    enthalpy = fluid.liquid_enthalpy(high, liquid)
    latent = line.vapour_enthalpy - line.liquid_enthalpy
    upstream = device.Upstream(
        before, fluid.bubble_pressure(liquid), line.bubble_temperature - liquid,
        (enthalpy - line.liquid_enthalpy) / latent, density, line.vapour_density,
        fluid.critical_pressure, fluid.critical_temperature,
    )  # fmt: skip
    orifice = Expansion(kind, 1.0)
    return replace(orifice, area=flow / device.orifice_flow(orifice, np.array(1.0), upstream, behind))
