"""A generic split air conditioner sized from its nameplate.

`nominal_unit` sizes each part from the rating point (AHRI 210/240 "A" test: outdoor 35 degC, return
26.7 / 19.4 degC) by running the parts backwards: temperatures typical of the rating are assumed, and
displacement, conductances, valve area and charge follow in closed form or by bisection, so that the generic
unit meets its nameplate. Fitting it to a clean visit is `calibration.clean_fit.baseline`'s task.

References
----------
AHRI 210/240 rating conditions; 365 W of blower power per 1000 cfm for coil-only ratings (both from memory).
Airflow of 400 cfm a ton, condenser air of 850 cfm and 60 W a ton, volumes and pressure drops: common
practice, no source. Air side of microchannel coils: Chang, Wang, A generalized heat transfer correlation for
louver fin geometry, International Journal of Heat and Mass Transfer 40, 1997 (heat transfer factor as power
-0.49 of the Reynolds number; from memory); Bell, Groll, Applied Thermal Engineering 31, 2011 (abstract).
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, Number
from model.components import condenser as condenser_side
from model.components import evaporator as coils
from model.components import expansion as device
from model.components.charge import Circuit
from model.components.compressor import Compressor, compression_penalty
from model.components.condenser import AirStream, Condenser, zone_areas
from model.components.evaporator import Evaporator
from model.components.expansion import Expansion, ExpansionKind
from model.components.fans import PROPELLER_UNLOADING, Fan
from model.components.unit import CoilType, CompressorKind, FanKind, StartingPoint, Unit
from model.cycle.boundary import BLOWER_AIR_DENSITY, FAN_AIR_DENSITY, OUTDOOR_HUMIDITY_RATIO, Conditions
from model.cycle.solve import design_charge
from model.properties import moist_air
from model.properties.moist_air import STANDARD_PRESSURE
from model.properties.refrigerant import Refrigerant, refrigerant

RATING_OUTDOOR = 308.15
"""Outdoor dry bulb of the rating, AHRI 210/240 A test [K] (95 degF)."""
RATING_RETURN = 299.82
"""Return dry bulb of the rating [K] (80 degF)."""
RATING_RETURN_WET_BULB = 292.59
"""Return wet bulb of the rating [K] (67 degF)."""
BTU_PER_WH = 3.412142
"""Btu/h in a watt: EER in Btu/(W h) over W/W."""
INDOOR_AIRFLOW_PER_WATT = 0.1888 / 3516.85
"""Standard indoor airflow per rated capacity [m3/(s W)]: 400 cfm a ton."""
BLOWER_POWER_PER_AIRFLOW = np.array([365.0, 250.0, 180.0]) / 0.47195
"""Blower power per standard airflow [W s/m3]: 365 W per 1000 cfm, less at the EER of `EFFICIENT_BLOWERS`."""
EFFICIENT_BLOWERS = np.array([12.5, 15.0, 18.0]) / BTU_PER_WH
"""Rated EER at which each of these is usual [W/W]: common practice, no source."""
OUTDOOR_AIRFLOW_PER_WATT = 850.0 * 4.7195e-4 / 3516.85
"""Condenser airflow per rated capacity [m3/(s W)]: 850 cfm a ton, more where `LARGEST_EFFECTIVENESS` asks."""
OUTDOOR_FAN_POWER_PER_WATT = 60.0 / 3516.85
"""Condenser fan power per rated capacity [-]: 60 W a ton."""
CONDENSER_VOLUME_PER_WATT = {"tube and fin": 1.65e-3 / 3516.85, "microchannel": 0.75e-3 / 3516.85}
"""Refrigerant volume of the condenser per rated capacity [m3/W]: 1.65 litres a ton in round tubes, under half
of that in microchannels (common practice, no source)."""
CONDENSER_AIR_EXPONENT = {"tube and fin": 0.55, "microchannel": 0.51}
"""Power of face velocity in the condenser's air-side conductance [-]: 0.5 to 0.65 of tube-and-fin coils
(common practice, no source); of louvred fins between flat tubes 1 - 0.49 (Chang and Wang 1997)."""
CONDENSER_DUST_INSULATION = {"tube and fin": condenser_side.DUST_INSULATION, "microchannel": 0.08}
"""Rise of the condenser's air-side resistance with each unit of relative pressure-drop rise [-]. Dust lies on
the face of fine louvred fins as a mat: more than 200 % more pressure drop (Bell and Groll 2011, abstract)
with some 14 % less heat (from memory), where a tube-and-fin coil would lose nearly 40 %."""
EVAPORATOR_VOLUME_PER_WATT = {"TXV": 1.1e-3 / 3516.85, "fixed orifice": 2.05e-3 / 3516.85}
"""Refrigerant volume of the indoor coil per rated capacity [m3/W]: 1.1 litres a ton. What floods the
coil of an
orifice unit is more than the void fraction of Zivi says, and an accumulator may hold some; 2.05 litres a ton
there, chosen so that the charging rule comes out (common practice, no source)."""
LIQUID_LINE_VOLUME_PER_WATT = 0.2e-3 / 3516.85
"""Volume of the liquid line per rated capacity [m3/W]: 0.2 litres a ton."""
SUCTION_VOLUME_PER_WATT = 0.7e-3 / 3516.85
"""Volume of suction line and compressor shell per rated capacity [m3/W]: 0.7 litres a ton."""
HIGH_PRESSURE_SWITCHES = {"R410A": (610.0, 660.0), "R22": (400.0, 425.0)}
"""Gauge pressure of high-pressure switches, from and to, at sea level [psi]: common practice, no source."""
HIGH_PRESSURE_TRIP_TEMPERATURE = 341.48
"""Saturation temperature at which those of other refrigerants are taken to open [K] (155 degF): R-410A's do
at 153, R-22's at 156 degF."""
OTHER_SWITCH_SPREAD = 0.03
"""Standard deviation of these over their middle [-]: a third more than R-410A's; judgement, no source."""
PSI = 6894.757
"""[Pa]"""
LOW_PRESSURE_TRIP_TEMPERATURE = 255.37
"""Saturation temperature of the default low-pressure limit [K] (0 degF, 48 psi for R410A)."""
RATED_SUPERHEAT = {"TXV": 8.0, "fixed orifice": 4.9}
"""Superheat at the coil at the rating [K]: common practice, no source. The charging rule of orifice units,
(3 wet bulb - 80 - outdoor dry bulb) / 2 [degF], asks 7 K of the suction port there."""
STATIC_SUPERHEAT = 5.0
"""Superheat at which a thermostatic valve starts to open [K]: 3 to 5 K, common practice, no source."""
SUCTION_LINE_NTU = 0.16
"""Heat transfer units of the suction line [-]: warms its gas by some 3 K at the rating (common practice, no
source)."""
DISCHARGE_LIMIT = 394.3
"""Default limit of the discharge-line temperature [K] (250 degF)."""

BUILT_IN_RATIO = {"scroll": 2.3, "reciprocating": 3.2, "rotary": 2.8}
"""Pressure ratio of best efficiency [-]; a scroll with a built-in volume ratio near 2.1 (Winandy, Saavedra,
Lebrun 2002 found 2.3 on an air-conditioning scroll; from memory); the others common practice, no source."""
WORST_EFFICIENCY, BEST_EFFICIENCY = 0.4, 0.85
"""Isentropic efficiencies at the built-in ratio between which real compressors lie [-]: with the constant
power some 80 % overall at best, as makers of air-conditioning scrolls reach (common practice, no source)."""
CONSTANT_SHARE, SHELL_LOSS_SHARE = 0.04, 0.13
"""Constant power and heat through the shell over the power at the rating [-]: common practice, no source."""
SMALLEST_DESIGN_APPROACH, LARGEST_SUBCOOLING_SHARE = 6.0, 0.8
"""Smallest condensing approach of a rating [K], and the largest subcooling as a share of it [-]."""
LARGEST_EFFECTIVENESS = 0.85
"""Largest rise of the condenser's air over its condensing approach at a rating [-]: some two heat transfer
units, common practice, no source. An efficient unit has a closer approach by more air and not only by more
surface: without it no coil would be large enough, and none would be told from a larger one by any reading."""
APPROACH_STEPS = 4
"""Steps to the approach at which the best compressor meets the rating: within 0.01 K."""
LEAKAGE_SLOPE = {"scroll": 0.045, "reciprocating": 0.075, "rotary": 0.05}
"""Fall of the drawn-in volume with a unit of pressure ratio [-]: common practice, no source."""
LEAKING = {"scroll": 1.0, "reciprocating": 0.2, "rotary": 0.8}
"""Share of that fall that leaks between high and low side whatever the speed; the rest expands again out of
the clearance volume in every turn, of which a scroll has none [-]: common practice, no source."""


class DesignPoint(NamedTuple):
    """Refrigerant-side temperatures that a rating assumes [K]; superheat and subcooling are differences."""

    evaporating: Number
    condensing_approach: Number
    superheat: Number
    subcooling: Number


def design_point(rated_eer: ArrayLike, expansion: ExpansionKind = "TXV") -> DesignPoint:
    """Typical rating-point temperatures of a unit with a rated EER: the better, the closer.

    Common practice, no source: about 30 degF condensing over outdoor air at EER 9, 20 degF at 12.5, 15 degF
    at 15.

    Parameters
    ----------
    rated_eer : array_like
        Net efficiency at the rating point [W/W], any shape.
    expansion : str
        Kind of the device: a valve is set to some 8 K at the coil; an orifice is charged for what the
        charging rule asks of the suction port, less what the suction line adds.

    Returns
    -------
    DesignPoint
        Evaporating temperature, approach, superheat and subcooling [K], shape of `rated_eer`.
    """
    eer = np.asarray(rated_eer) * BTU_PER_WH
    approach = np.interp(eer, [7.0, 9.0, 12.5, 15.0, 18.0], [19.0, 16.7, 11.1, 8.3, 6.5])
    evaporating = np.interp(eer, [8.0, 10.0, 12.0, 14.0, 16.0], [280.4, 281.7, 283.0, 283.8, 284.3])
    return DesignPoint(evaporating, approach, RATED_SUPERHEAT[expansion], 5.5)


def nominal_unit(
    name: str,
    rated_capacity: ArrayLike,
    rated_eer: ArrayLike = 3.4,
    *,
    expansion: ExpansionKind = "TXV",
    compressor: CompressorKind = "scroll",
    indoor_blower: FanKind = "fixed speed",
    outdoor_fan: FanKind = "fixed speed",
    coil_type: CoilType = "tube and fin",
    indoor_airflow: ArrayLike | None = None,
    indoor_power: ArrayLike | None = None,
    outdoor_fan_power: ArrayLike | None = None,
    bypass_factor: ArrayLike = 0.15,
    point: DesignPoint | None = None,
) -> Unit:
    """Size a generic unit from its nameplate.

    Parameters
    ----------
    name : str
        Refrigerant, one of `model.properties.refrigerant.KNOWN_REFRIGERANTS`.
    rated_capacity : float or array
        Net cooling capacity at the rating point [W], above 0.
    rated_eer : float or array
        Net capacity over total power at the rating point [W/W], above 0.
    expansion, compressor, indoor_blower, outdoor_fan, coil_type : str
        Kinds of the parts; the last is the condenser's.
    indoor_airflow : float or array, optional
        Standard airflow [m3/s]; 400 cfm a ton if not given.
    indoor_power, outdoor_fan_power : float or array, optional
        Blower and condenser fan [W]; common practice if not given.
    bypass_factor : float or array
        Of the evaporator at the rating [-], between 0 and 1.
    point : DesignPoint, optional
        Temperatures to size for; if not given those of `design_point`, with a smaller approach where no
        real compressor would reach the rated EER there.

    Returns
    -------
    Unit
        Numbers have the broadcast shape of the inputs.

    Raises
    ------
    ValueError
        Where capacity or EER is not above 0, or the refrigerant is unknown.
    """
    capacity, eer = _positive("rated_capacity", rated_capacity), _positive("rated_eer", rated_eer)
    fluid = refrigerant(name)
    airflow, blower, fan_power = _air(capacity, eer, indoor_airflow, indoor_power, outdoor_fan_power)
    dry_air = airflow * moist_air.STANDARD_AIR_DENSITY
    indoor = Fan(dry_air / BLOWER_AIR_DENSITY, blower, 1.5, 0.35, indoor_blower == "constant airflow")
    power = np.maximum(capacity / eer - blower - fan_power, 0.12 * capacity)
    if point is None:
        point = _reachable_point(fluid, design_point(eer, expansion), capacity + blower, power, compressor)
    states = _design_states(fluid, point, capacity + blower)
    machine = _sized_compressor(states, power, compressor)
    outdoor_air = _condenser_airflow(capacity, states, power - machine.shell_loss, point)
    outdoor = Fan(outdoor_air, fan_power, 2.5, 0.6, outdoor_fan == "constant airflow", PROPELLER_UNLOADING)
    unit = Unit(
        refrigerant=name,
        rated_capacity=capacity,
        compressor=machine,
        condenser=_sized_condenser(fluid, states, power, outdoor, coil_type),
        evaporator=_sized_evaporator(states, dry_air, bypass_factor, point, expansion),
        outdoor_fan=outdoor,
        indoor_fan=indoor,
        expansion=_sized_expansion(fluid, states, expansion, point),
        circuit=_sized_circuit(capacity, states),
        rated_flow=states.flow,
        rated_pressure_difference=states.high_pressure - states.low_pressure,
        high_pressure_limit=default_high_pressure_limit(fluid),
        low_pressure_limit=float(fluid.dew_pressure(LOW_PRESSURE_TRIP_TEMPERATURE)),
        discharge_limit=DISCHARGE_LIMIT,
        start=_starting_point(states, point),
    )
    return with_design_charge(unit)


def _positive(name: str, value: ArrayLike) -> Array:
    numbers = np.asarray(value, dtype=float)
    if np.any(~(numbers > 0)):
        raise ValueError(f"{name} must be above 0, got {np.min(numbers):g}")
    return numbers


def _air(
    capacity: Array,
    eer: Array,
    indoor_airflow: ArrayLike | None,
    indoor_power: ArrayLike | None,
    outdoor_fan_power: ArrayLike | None,
) -> tuple[Array, Array, Array]:
    """Standard indoor airflow [m3/s], power of blower and of condenser fan [W]: as given, or as is common."""
    airflow = capacity * INDOOR_AIRFLOW_PER_WATT if indoor_airflow is None else indoor_airflow
    airflow = np.asarray(airflow, dtype=float)
    blower = airflow * _blower_power_per_airflow(eer) if indoor_power is None else indoor_power
    fan = capacity * OUTDOOR_FAN_POWER_PER_WATT if outdoor_fan_power is None else outdoor_fan_power
    return airflow, np.asarray(blower, dtype=float), np.asarray(fan)


def _blower_power_per_airflow(eer: Array) -> Array:
    return np.asarray(np.interp(eer, EFFICIENT_BLOWERS, BLOWER_POWER_PER_AIRFLOW))


def default_high_pressure_limit(fluid: Refrigerant) -> float:
    """High-pressure limit where none is named: the middle of what switches of this refrigerant are set to.

    Parameters
    ----------
    fluid : Refrigerant
        The refrigerant.

    Returns
    -------
    float
        Limit [Pa], absolute at sea level; of a refrigerant that is not among `HIGH_PRESSURE_SWITCHES` at most
        90 % of critical.
    """
    if fluid.name in HIGH_PRESSURE_SWITCHES:
        return float(np.mean(HIGH_PRESSURE_SWITCHES[fluid.name])) * PSI + STANDARD_PRESSURE
    return min(float(fluid.bubble_pressure(HIGH_PRESSURE_TRIP_TEMPERATURE)), 0.9 * fluid.critical_pressure)


def high_pressure_spread(unit: Unit) -> float:
    """How far the switch of a unit may be from its limit, where the limit is the one that nobody named.

    Parameters
    ----------
    unit : Unit
        One unit.

    Returns
    -------
    float
        Standard deviation over the limit [-]: of settings equally likely between the ends of
        `HIGH_PRESSURE_SWITCHES`; 0 where somebody named the limit.
    """
    limit = default_high_pressure_limit(refrigerant(unit.refrigerant))
    if not np.allclose(np.asarray(unit.high_pressure_limit), limit, rtol=1e-9):
        return 0.0
    if unit.refrigerant not in HIGH_PRESSURE_SWITCHES:
        return OTHER_SWITCH_SPREAD
    low, high = HIGH_PRESSURE_SWITCHES[unit.refrigerant]
    return float((high - low) * PSI / np.sqrt(12.0) / limit)


class _DesignStates(NamedTuple):
    evaporating: Array
    low_pressure: Array
    high_pressure: Array
    suction_density: Array
    suction_enthalpy: Array
    isentropic_rise: Array
    dew_enthalpy: Array
    liquid_enthalpy: Array
    liquid_density: Array
    vapour_heat_capacity: Array
    flow: Array
    boiling: Array
    condensing: Array
    subcooling_decay: Array


def _design_states(fluid: Refrigerant, point: DesignPoint, gross: Array) -> _DesignStates:
    evaporating = np.asarray(point.evaporating, dtype=float)
    low = fluid.dew_pressure(evaporating)
    condensing = np.asarray(RATING_OUTDOOR + np.asarray(point.condensing_approach), dtype=float)
    high = fluid.bubble_pressure(condensing)
    exit_gas = fluid.vapour(low, np.asarray(point.superheat, dtype=float))
    dew = fluid.saturation(low)
    latent = dew.vapour_enthalpy - dew.liquid_enthalpy
    slope = evaporating * (1.0 / dew.vapour_density - 1.0 / dew.liquid_density) / latent
    # The suction line warms its gas, and its pressure drop lowers the dew point that superheat counts from.
    warmed = (RATING_OUTDOOR - evaporating - np.asarray(point.superheat)) * -np.expm1(-SUCTION_LINE_NTU)
    suction = fluid.vapour(0.985 * low, np.asarray(point.superheat) + warmed + 0.015 * low * slope)
    liquid = condensing - np.asarray(point.subcooling)
    liquid_enthalpy = fluid.liquid_enthalpy(high, liquid)
    rise = fluid.isentropic_enthalpy(1.015 * high, suction.entropy) - suction.enthalpy
    flow = gross / (exit_gas.enthalpy - liquid_enthalpy)
    # Half of a pressure drop of 5 % in the coil, at the slope of the dew line, lifts the mean boiling
    # temperature.
    quality = (liquid_enthalpy - dew.liquid_enthalpy) / latent
    glide = dew.dew_temperature - dew.bubble_temperature
    boiling = evaporating + 0.5 * (0.05 * low * slope - glide * (1.0 - quality))
    return _DesignStates(
        evaporating, low, high, suction.density, suction.enthalpy, rise, dew.vapour_enthalpy, liquid_enthalpy,
        fluid.liquid_density(liquid), dew.vapour_heat_capacity, flow, boiling, condensing,
        -np.log1p(-np.asarray(point.subcooling) / np.asarray(point.condensing_approach)),
    )  # fmt: skip


def _starting_point(states: _DesignStates, point: DesignPoint) -> StartingPoint:
    """Where a solver begins: the states of the design."""
    decay = np.log1p(point.superheat / (RATING_RETURN - states.evaporating - point.superheat))
    approach = np.asarray(point.condensing_approach)
    return StartingPoint(states.evaporating, approach, decay, states.subcooling_decay)


def _sized_circuit(capacity: Array, states: _DesignStates) -> Circuit:
    return Circuit(
        charge=capacity * 2.6e-4,
        liquid_line_volume=capacity * LIQUID_LINE_VOLUME_PER_WATT,
        suction_volume=capacity * SUCTION_VOLUME_PER_WATT,
        liquid_line_drop=0.04 * states.high_pressure * states.liquid_density / states.flow**2,
        suction_drop=0.015 * states.low_pressure * states.suction_density / states.flow**2,
        suction_line_ntu=SUCTION_LINE_NTU,
    )


def _reachable_point(
    fluid: Refrigerant, point: DesignPoint, gross: Array, power: Array, kind: CompressorKind
) -> DesignPoint:
    """The design point with its approach lowered until a compressor of `BEST_EFFICIENCY` does the work.

    A rating that asks for more is a bigger condenser, not a compressor that nobody builds.
    """
    approach = np.asarray(point.condensing_approach, dtype=float)

    def at(value: Array) -> DesignPoint:
        lowered = np.minimum(point.subcooling, LARGEST_SUBCOOLING_SHARE * value)
        subcooling = np.where(value < (1.0 - 1e-9) * approach, lowered, point.subcooling)
        return point._replace(condensing_approach=value, subcooling=subcooling)

    def missing(value: Array) -> Array:
        return np.log(
            _needed_efficiency(_design_states(fluid, at(value), gross), power, kind) / BEST_EFFICIENCY
        )

    high, above = approach + 0.0 * gross, missing(approach)
    if np.all(above <= 0.0):
        return point
    low = np.minimum(SMALLEST_DESIGN_APPROACH, high)
    below = missing(low)
    for _ in range(APPROACH_STEPS):  # secant: the logarithm of the work is nearly straight in the approach
        between = np.divide(below, below - above, out=np.zeros_like(above), where=above > below)
        middle = low + np.clip(between, 0.0, 1.0) * (high - low)
        here = missing(middle)
        low, below = np.where(here < 0.0, middle, low), np.where(here < 0.0, here, below)
        high, above = np.where(here < 0.0, high, middle), np.where(here < 0.0, above, here)
    return at(np.asarray(middle))


def _needed_efficiency(states: _DesignStates, power: Array, kind: CompressorKind) -> Array:
    """Isentropic efficiency at the built-in ratio with which a compressor does the work on its power [-]."""
    work = states.flow * states.isentropic_rise * compression_penalty(_ratio(states), BUILT_IN_RATIO[kind])
    return np.asarray(work / ((1.0 - CONSTANT_SHARE) * power))


def _ratio(states: _DesignStates) -> Array:
    """Pressure ratio between the compressor's ports, with what lines and coils take [-]."""
    return np.asarray(1.015 * states.high_pressure / (0.985 * states.low_pressure))


def _sized_compressor(states: _DesignStates, power: Array, kind: CompressorKind) -> Compressor:
    slope = LEAKAGE_SLOPE[kind]
    displacement = states.flow / (states.suction_density * (1.0 - slope * (_ratio(states) - 1.0)))
    efficiency = np.clip(_needed_efficiency(states, power, kind), WORST_EFFICIENCY, BEST_EFFICIENCY)
    constant, shell = CONSTANT_SHARE * power, SHELL_LOSS_SHARE * power
    return Compressor(
        displacement, slope, efficiency, BUILT_IN_RATIO[kind], constant, shell, leaking=LEAKING[kind]
    )


def _condenser_airflow(capacity: Array, states: _DesignStates, work: Array, point: DesignPoint) -> Array:
    """Condenser airflow [m3/s]: the usual one, more where it could not carry the heat off at the approach."""
    heat = states.flow * (states.suction_enthalpy - states.liquid_enthalpy) + work
    capacity_rate = FAN_AIR_DENSITY * moist_air.heat_capacity(OUTDOOR_HUMIDITY_RATIO)
    least = heat / (capacity_rate * LARGEST_EFFECTIVENESS * np.asarray(point.condensing_approach))
    return np.asarray(np.maximum(capacity * OUTDOOR_AIRFLOW_PER_WATT, least))


def _sized_condenser(
    fluid: Refrigerant, states: _DesignStates, power: Array, fan: Fan, kind: CoilType
) -> Condenser:
    discharge = states.suction_enthalpy + (1.0 - SHELL_LOSS_SHARE) * power / states.flow
    low, high = np.full_like(states.flow, -4.0), np.full_like(states.flow, 6.0)
    dry_air = np.asarray(fan.airflow) * FAN_AIR_DENSITY
    rate = np.asarray(dry_air * moist_air.heat_capacity(OUTDOOR_HUMIDITY_RATIO))
    line = fluid.saturation(states.high_pressure)
    side = condenser_side.RefrigerantSide(
        states.flow, states.high_pressure, fluid.vapour_temperature(1.015 * states.high_pressure, discharge),
        line.dew_temperature, line.bubble_temperature, discharge, line.vapour_enthalpy, line.liquid_enthalpy,
        states.liquid_enthalpy, line.liquid_heat_capacity, states.subcooling_decay,
    )  # fmt: skip

    def coil(exponent: Array) -> Condenser:
        conductance = np.exp(exponent) * states.flow * 2.0e4
        return Condenser(
            conductance, CONDENSER_AIR_EXPONENT[kind],
            1.0 * conductance, 4.0 * conductance, 1.0 * conductance, states.flow,
            np.asarray(fan.airflow) / OUTDOOR_AIRFLOW_PER_WATT * CONDENSER_VOLUME_PER_WATT[kind],
            0.015 * states.high_pressure * line.vapour_density / states.flow**2,
            states.high_pressure, CONDENSER_DUST_INSULATION[kind],
        )  # fmt: skip

    for _ in range(60):
        middle = 0.5 * (low + high)
        too_small = zone_areas(coil(middle), _clean_air(coil(middle), rate), side).total > 1.0
        low, high = np.where(too_small, middle, low), np.where(too_small, high, middle)
    return coil(0.5 * (low + high))


def _clean_air(coil: Condenser, rate: Array) -> AirStream:
    # The coil's number is that of standard air; the rating's air is thinner.
    thinner = FAN_AIR_DENSITY / moist_air.STANDARD_AIR_DENSITY
    conductance = np.asarray(coil.air_conductance * thinner ** np.asarray(coil.air_exponent))
    return AirStream(rate, np.full_like(conductance, RATING_OUTDOOR), conductance, np.ones_like(conductance))


def _sized_evaporator(
    states: _DesignStates, dry_air: Array, bypass_factor: ArrayLike, point: DesignPoint, kind: ExpansionKind
) -> Evaporator:
    humidity = moist_air.humidity_ratio_from_wet_bulb(
        RATING_RETURN, RATING_RETURN_WET_BULB, STANDARD_PRESSURE
    )
    capacity = moist_air.heat_capacity(humidity)
    rate = dry_air * capacity
    bypass = np.asarray(bypass_factor, dtype=float)
    conductance = -np.log(bypass) * rate
    decay = np.log1p(point.superheat / (RATING_RETURN - states.evaporating - point.superheat))
    vapour = 0.5 * conductance
    superheating = states.flow * states.vapour_heat_capacity * decay
    superheating = superheating / (rate * condenser_side.effectiveness(conductance, vapour, rate))
    boiling_heat = (
        states.flow * (states.dew_enthalpy - states.liquid_enthalpy) / coils.boiling_area(superheating)
    )
    entering = moist_air.enthalpy(RATING_RETURN, humidity)
    surface_enthalpy = entering - boiling_heat / (dry_air * (1.0 - bypass))
    low, high = np.full_like(states.flow, 250.0), np.full_like(states.flow, RATING_RETURN)
    for _ in range(50):
        middle = 0.5 * (low + high)
        above = moist_air.saturation_enthalpy_and_slope(middle, STANDARD_PRESSURE)[0] > surface_enthalpy
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    # A rating that leaves the surface hardly warmer than the refrigerant gets the largest conductance that is
    # real.
    rise = np.maximum(0.5 * (low + high) - states.boiling, 0.7)
    return Evaporator(
        air_conductance=conductance,
        air_exponent=0.55,
        boiling_conductance=boiling_heat / rise,
        vapour_conductance=vapour,
        rated_flow=states.flow,
        rated_airflow=dry_air,
        volume=dry_air
        / (INDOOR_AIRFLOW_PER_WATT * moist_air.STANDARD_AIR_DENSITY)
        * EVAPORATOR_VOLUME_PER_WATT[kind],
        pressure_drop=0.05 * states.low_pressure * states.suction_density / states.flow**2,
    )


def _sized_expansion(
    fluid: Refrigerant, states: _DesignStates, kind: ExpansionKind, point: DesignPoint
) -> Expansion:
    pressure = 0.96 * states.high_pressure
    downstream = 1.05 * states.low_pressure
    if kind == "TXV":
        area = states.flow / np.sqrt(2.0 * states.liquid_density * (pressure - downstream))
        return Expansion(kind, area, STATIC_SUPERHEAT, np.asarray(point.superheat) - STATIC_SUPERHEAT)
    liquid = states.condensing - np.asarray(point.subcooling)
    line = fluid.saturation(pressure)
    latent = line.vapour_enthalpy - line.liquid_enthalpy
    upstream = device.Upstream(
        pressure, fluid.bubble_pressure(liquid), line.bubble_temperature - liquid,
        (states.liquid_enthalpy - line.liquid_enthalpy) / latent, states.liquid_density, line.vapour_density,
        fluid.critical_pressure, fluid.critical_temperature,
    )  # fmt: skip
    orifice = Expansion(kind, 1.0)
    return replace(
        orifice, area=states.flow / device.orifice_flow(orifice, np.array(1.0), upstream, downstream)
    )


def rating_conditions() -> Conditions:
    """Conditions of the rating point (AHRI 210/240 A), at the unit's own airflow.

    Returns
    -------
    Conditions
        Outdoor 95 degF, return 80 degF dry and 67 degF wet bulb, sea level [SI].
    """
    humidity = moist_air.humidity_ratio_from_wet_bulb(
        RATING_RETURN, RATING_RETURN_WET_BULB, STANDARD_PRESSURE
    )
    return Conditions(RATING_OUTDOOR, RATING_RETURN, humidity, STANDARD_PRESSURE)


def with_design_charge(unit: Unit) -> Unit:
    """The unit with the charge that gives its design subcooling at the rating point.

    Parameters
    ----------
    unit : Unit
        With its design point in `unit.start`.

    Returns
    -------
    Unit
        The same with another charge in its circuit.
    """
    charge = design_charge(unit, rating_conditions())
    return replace(unit, circuit=replace(unit.circuit, charge=charge))
