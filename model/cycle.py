"""The steady operating point of a unit at any weather and with any causes, for whole arrays at once.

The four balances of `model.balances` are solved by `model.newton`. A point whose steady state would lie beyond the
high- or low-pressure limit does not exist in the field: the switch opens on the way there. Such a point is held at the
limit and named. Other limit states (flooded suction, flash gas, a freezing coil, hot discharge) are real operating points
and only named.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any, NamedTuple, TypeVar, cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model import balances, moist_air, newton
from model.balances import BOTH_HELD, FREE, HIGH_HELD, LOW_HELD, Held, Trial
from model.causes import HEALTHY, Causes
from model.refrigerant import Refrigerant, refrigerant
from model.surroundings import Conditions, Surroundings, surroundings
from model.unit import Unit

Array = NDArray[np.float64]
Parts = TypeVar("Parts")

STATES = (
    "ok",
    "flash gas",
    "flooded suction",
    "coil below freezing",
    "discharge too hot",
    "low-pressure trip",
    "high-pressure trip",
    "near-critical condensing",
    "not converged",
)
"""Names of the states, the graver one winning where several hold; `OperatingPoint.state` is the index."""
STATE_CODES = {name: code for code, name in enumerate(STATES)}

LARGEST_STEP = np.array([0.15, 0.35, 0.6, 0.6])
"""Longest Newton step of each unknown of `model.balances`."""
POINTS_AT_A_TIME = 2048
"""Points solved together: enough to hide the cost of a call, few enough to stay in the processor's cache."""
FLASH_QUALITY = 1e-4
"""Quality at the expansion device from which flash gas is named [-]."""
WET_SUPERHEAT = 1e-3
"""Suction counts as flooded where the superheat there is below minus this [K]."""
NEAR_CRITICAL = 0.97
"""Reduced condensing pressure from which the two-phase picture of the condenser is no longer trusted [-]."""


@dataclass(frozen=True)
class OperatingPoint:
    """Steady operating points; every field an array of the shape of the broadcast inputs.

    Pressures are absolute [Pa], temperatures [K], powers and capacities [W], flows [kg/s] but airflows: indoor dry air
    [kg/s], outdoor [m3/s]. `evaporating_temperature` is the dew point at the suction port, `condensing_temperature` the
    bubble point at the liquid port, `superheat` and `subcooling` [K] what gauges and a pipe probe show there
    (`subcooling` counts from the pressure a gauge shows, non-condensable gas included). `flow_quality` [-] is the
    quality at the expansion device, negative where subcooled. `state` indexes `STATES`; `residual` is the largest
    relative imbalance [-].
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
    state: NDArray[np.int64]
    residual: Array
    unknowns: Array

    def state_names(self) -> NDArray[np.str_]:
        """Names of the states, shape of the point."""
        return np.asarray(np.array(STATES)[self.state])


class _Setting(NamedTuple):
    unit: Unit
    given: Surroundings
    held: Held


def solve(unit: Unit, conditions: Conditions, causes: Causes = HEALTHY, start: ArrayLike | None = None) -> OperatingPoint:
    """Operating points of a unit.

    Parameters
    ----------
    unit : Unit
        May hold arrays; they broadcast with the conditions.
    conditions : Conditions
    causes : Causes
    start : array (4, …), optional
        Unknowns to start from, e.g. those of a neighbouring point; from the unit's design point if not given.

    Returns
    -------
    OperatingPoint
        Every point either converged (residual under 1e-6), held at a pressure limit and named, or named "not converged".

    Raises
    ------
    ValueError
        Where an input is out of its range; see `surroundings` and `Causes`.
    """
    fluid = refrigerant(unit.refrigerant)
    given = surroundings(unit, conditions, causes)
    shape = _broadcast_shape((unit, given))
    count = int(np.prod(shape, dtype=int))
    unit, given = _flattened(unit, shape), _flattened(given, shape)
    first = _start(unit, given, count) if start is None else _given_start(start, shape)
    held = Held(np.zeros(count, dtype=np.int64), *_pressure_limits(unit, fluid, given, count))
    setting = _Setting(unit, given, held)
    pieces = []
    for begin in range(0, max(count, 1), POINTS_AT_A_TIME):
        index = np.arange(begin, min(begin + POINTS_AT_A_TIME, count))
        pieces.append(_solved_piece(_selected(setting, index, count), fluid, first[:, index]))
    joined = {
        f.name: np.concatenate([getattr(piece, f.name) for piece in pieces], axis=-1) for f in fields(OperatingPoint)
    }
    return OperatingPoint(**{name: value.reshape(value.shape[:-1] + shape) for name, value in joined.items()})


def _start(unit: Unit, given: Surroundings, count: int) -> Array:
    """Design point moved to the weather: boiling follows the return air's enthalpy, the approach the load."""
    design = unit.start
    air = given.indoor_air
    # 2.7 kJ/kg of entering enthalpy are worth about 1 K of boiling temperature; a starved coil runs colder.
    shift = 0.5 * np.clip((air.enthalpy - 55.3e3) / 2.7e3, -16.0, 12.0) + 0.12 * (given.outdoor_air.temperature - 308.15)
    evaporating = np.clip(np.asarray(design.evaporating) + shift, 262.0, 294.0)
    load = 1.0 + 0.02 * (evaporating - design.evaporating)
    approach = np.asarray(design.condensing_approach) * np.maximum(load, 0.5)
    pressure = np.log(refrigerant(unit.refrigerant).dew_pressure(evaporating))
    rows = (pressure, np.log(approach), design.superheat_decay, design.subcooling_decay)
    return np.stack([np.broadcast_to(np.asarray(row, dtype=float), (count,)) for row in rows])


def _given_start(start: ArrayLike, shape: tuple[int, ...]) -> Array:
    values = np.asarray(start, dtype=float)
    values = values.reshape(4, *(1,) * (len(shape) - values.ndim + 1), *values.shape[1:])
    return np.broadcast_to(values, (4, *shape)).reshape(4, -1).copy()


def _pressure_limits(unit: Unit, fluid: Refrigerant, given: Surroundings, count: int) -> tuple[Array, Array]:
    # The switch feels non-condensable gas too; the refrigerant's own share of the limit is what the condenser is held at.
    high = np.minimum(np.asarray(unit.high_pressure_limit), NEAR_CRITICAL * fluid.critical_pressure)
    temperature = fluid.bubble_temperature(high)
    own = np.maximum(high - given.noncondensable * temperature / 313.15, 0.3 * high)
    low = np.asarray(unit.low_pressure_limit, dtype=float)
    return np.broadcast_to(own, (count,)).copy(), np.broadcast_to(low, (count,)).copy()


def _solved_piece(setting: _Setting, fluid: Refrigerant, start: Array) -> OperatingPoint:
    count = start.shape[1]
    result = _newton(setting, fluid, start)
    unknowns, good = result.unknowns.copy(), result.converged.copy()
    mode = np.zeros(count, dtype=np.int64)
    if not np.all(good):
        _retry(setting, fluid, start, unknowns, good, np.flatnonzero(~good))
    for _ in range(3):  # a held high pressure may uncover a low one, and the other way round; three rounds settle both
        wanted = _wanted_mode(setting, fluid, unknowns, good, mode)
        points = np.flatnonzero(wanted != mode)
        if points.size == 0:
            break
        mode[points] = wanted[points]
        held = setting.held._replace(mode=mode)
        part = _selected(setting._replace(held=held), points, count)
        begin = unknowns[:, points].copy()
        begin = np.where(good[points], begin, start[:, points])
        result = _newton(part, fluid, begin)
        unknowns[:, points], good[points] = result.unknowns, result.converged
        left = points[~result.converged]
        if left.size:
            _retry(setting._replace(held=held), fluid, start, unknowns, good, left)
    return _operating_point(setting._replace(held=setting.held._replace(mode=mode)), fluid, unknowns, good)


def _newton(setting: _Setting, fluid: Refrigerant, start: Array) -> newton.Solution:
    count = start.shape[1]
    cache: dict[int, _Setting] = {count: setting}

    def system(x: Array, index: NDArray[np.intp]) -> Array:
        part = cache.get(len(index)) if len(index) == count else None
        part = part or _selected(setting, index, count)
        return balances.residuals(x, part.unit, fluid, part.given, part.held)

    with np.errstate(all="ignore"):  # a wild trial point may overflow; it is then simply not accepted
        return newton.solve(system, start, LARGEST_STEP)


RETRIES = (
    (0.06, 0.2, 0.3, 0.3, 0.0),
    (0.05, 0.15, 0.2, 0.2, -0.12),
    (0.05, 0.15, 0.2, 0.2, 0.1),
    (0.03, 0.1, 0.1, 0.1, -0.25),
)
"""Shorter steps for points that stalled, and a shift of the starting pressure's logarithm."""


def _retry(
    setting: _Setting, fluid: Refrigerant, start: Array, unknowns: Array, good: NDArray[np.bool_], points: NDArray[np.intp]
) -> None:
    count = start.shape[1]
    for *steps, shift in RETRIES:
        part = _selected(setting, points, count)
        begin = start[:, points].copy()
        begin[0] += shift

        def system(x: Array, index: NDArray[np.intp], part: _Setting = part, n: int = len(points)) -> Array:
            chosen = _selected(part, index, n)
            return balances.residuals(x, chosen.unit, fluid, chosen.given, chosen.held)

        with np.errstate(all="ignore"):
            result = newton.solve(system, begin, np.array(steps), most_steps=80)
        unknowns[:, points], good[points] = result.unknowns, result.converged
        points = points[~result.converged]
        if points.size == 0:
            return


def _wanted_mode(
    setting: _Setting, fluid: Refrigerant, unknowns: Array, good: NDArray[np.bool_], mode: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Which limit each point belongs at: the one it passed, and for a point that has no steady state the high one first."""
    condensing = fluid.bubble_pressure(setting.given.outdoor_air.temperature + np.exp(unknowns[1]))
    high = (condensing > setting.held.condensing_pressure * (1 + 1e-9)) | (mode == HIGH_HELD) | (mode == BOTH_HELD)
    low = (np.exp(unknowns[0]) < setting.held.evaporating_pressure * (1 - 1e-9)) | (mode == LOW_HELD) | (mode == BOTH_HELD)
    lost_high = ~good & (mode == FREE) & ~low
    lost_low = ~good & (mode == HIGH_HELD)
    high = np.where(lost_low, False, high | lost_high)
    low = low | lost_low
    return np.asarray(np.where(high & low, BOTH_HELD, np.where(high, HIGH_HELD, np.where(low, LOW_HELD, FREE))))


def _operating_point(setting: _Setting, fluid: Refrigerant, unknowns: Array, good: NDArray[np.bool_]) -> OperatingPoint:
    unit, given, held = setting
    with np.errstate(all="ignore"):
        trial = balances.trial_point(unknowns, unit, fluid, given)
        imbalance = balances.residuals(unknowns, unit, fluid, given, held)
    air = _air_leaving(trial, given)
    flow, inlet, compression = trial.compression.flow, trial.inlet, trial.compression
    partial = given.noncondensable * trial.condensing.bubble_temperature / 313.15
    gauge = trial.condensing.pressure + partial
    condensing = fluid.bubble_temperature(gauge)
    gross = flow * (inlet.exit_enthalpy - trial.liquid.enthalpy)
    blower = given.blower_power
    total = compression.power + given.outdoor_fan_power + blower
    net = gross - blower
    rejected = flow * (compression.enthalpy - trial.liquid.enthalpy)
    wet_bulb = moist_air.wet_bulb(air.temperature, air.humidity, given.indoor_air.pressure)
    subcooled = np.maximum(trial.liquid.temperature, -np.inf)
    values: dict[str, Any] = dict(
        suction_pressure=inlet.suction.pressure,
        liquid_pressure=gauge,
        discharge_pressure=compression.pressure,
        evaporating_temperature=inlet.suction.dew_temperature,
        condensing_temperature=condensing,
        superheat=np.maximum(inlet.suction.superheat, 0.0),
        subcooling=np.maximum(condensing - subcooled, 0.0),
        suction_temperature=inlet.suction.dew_temperature + np.maximum(inlet.suction.superheat, 0.0),
        liquid_temperature=trial.liquid.temperature,
        discharge_temperature=compression.temperature,
        supply_temperature=air.temperature,
        supply_humidity_ratio=air.humidity,
        supply_wet_bulb=wet_bulb,
        condenser_leaving_temperature=given.outdoor_air.temperature
        + (rejected + given.outdoor_fan_power) / given.outdoor_air.heat_capacity_rate,
        net_capacity=net,
        gross_capacity=gross,
        sensible_capacity=net - air.latent,
        latent_capacity=air.latent,
        compressor_power=compression.power,
        outdoor_fan_power=given.outdoor_fan_power,
        blower_power=blower,
        outdoor_power=compression.power + given.outdoor_fan_power,
        total_power=total,
        eer=net / total,
        cop=net / total,
        refrigerant_flow=flow,
        indoor_airflow=given.indoor_air.flow,
        outdoor_airflow=given.outdoor_airflow,
        evaporator_superheat=inlet.exit_superheat,
        surface_temperature=trial.zone.surface_temperature,
        device_quality=trial.liquid.device_quality,
        suction_enthalpy=inlet.suction.enthalpy,
        discharge_enthalpy=compression.enthalpy,
        liquid_enthalpy=trial.liquid.enthalpy,
        evaporator_pressure=inlet.saturation.pressure,
        heat_rejected=rejected,
        state=_state(trial, setting, fluid, good),
        residual=np.max(np.abs(imbalance), axis=0),
    )
    count = unknowns.shape[1]
    shaped = {name: np.broadcast_to(np.asarray(value), (count,)) for name, value in values.items()}
    return OperatingPoint(**shaped, unknowns=unknowns)


class _AirLeaving(NamedTuple):
    temperature: Array
    humidity: Array
    latent: Array


def _air_leaving(trial: Trial, given: Surroundings) -> _AirLeaving:
    """Air after both zones of the coil and the blower; heat taken from it equals the refrigerant's to rounding."""
    air, zone = given.indoor_air, trial.zone
    boiling = balances.boiling.boiling_area(trial.superheating_area)
    touched = boiling * (1.0 - zone.bypass)
    saturated = moist_air.saturation_humidity_ratio(zone.surface_temperature, air.pressure)
    condensed = np.where(zone.wet, np.maximum(air.humidity_ratio - saturated, 0.0), 0.0) * touched
    humidity = air.humidity_ratio - condensed
    flow, inlet = trial.compression.flow, trial.inlet
    gross = flow * (inlet.exit_enthalpy - trial.liquid.enthalpy)
    # Enthalpy of the leaving air from the heat balance, temperature from enthalpy and humidity: energy closes exactly.
    enthalpy = air.enthalpy - (gross - given.blower_power) / air.flow
    temperature = moist_air.temperature_from_enthalpy(enthalpy, humidity)
    latent = air.flow * condensed * moist_air.VAPORISATION_ENTHALPY
    return _AirLeaving(temperature, humidity, np.asarray(latent))


def _state(trial: Trial, setting: _Setting, fluid: Refrigerant, good: NDArray[np.bool_]) -> NDArray[np.int64]:
    unit, mode = setting.unit, setting.held.mode
    high = (mode == HIGH_HELD) | (mode == BOTH_HELD)
    near_critical = high & (np.asarray(unit.high_pressure_limit) >= NEAR_CRITICAL * fluid.critical_pressure)
    freezing = (trial.zone.surface_temperature < moist_air.ZERO_CELSIUS) & trial.zone.wet
    tests = {
        "flash gas": trial.liquid.device_quality > FLASH_QUALITY,
        "flooded suction": trial.inlet.suction.superheat < -WET_SUPERHEAT,
        "coil below freezing": freezing,
        "discharge too hot": trial.compression.temperature > np.asarray(unit.discharge_limit),
        "low-pressure trip": (mode == LOW_HELD) | (mode == BOTH_HELD),
        "high-pressure trip": high,
        "near-critical condensing": near_critical,
        "not converged": ~good,
    }
    state = np.zeros(good.shape, dtype=np.int64)
    for name in STATES[1:]:
        state = np.where(tests[name], STATE_CODES[name], state)
    return state


def unknowns_at_design(unit: Unit) -> Array:
    """Unknowns of the unit's design point, shape (4, …) of its numbers."""
    start = unit.start
    pressure = np.log(refrigerant(unit.refrigerant).dew_pressure(start.evaporating))
    rows = (pressure, np.log(start.condensing_approach), start.superheat_decay, start.subcooling_decay)
    return np.stack(np.broadcast_arrays(*(np.asarray(row, dtype=float) for row in rows)))


def charge_at(unit: Unit, conditions: Conditions, unknowns: Array) -> Array:
    """Refrigerant mass [kg] that the circuit holds at given unknowns (4, …)."""
    given = surroundings(unit, conditions)
    return np.asarray(balances.trial_point(unknowns, unit, refrigerant(unit.refrigerant), given).charge)


def _broadcast_shape(parts: Any) -> tuple[int, ...]:
    return np.broadcast_shapes(*(np.shape(leaf) for leaf in _leaves(parts)))


def _leaves(part: Any) -> list[Any]:
    if is_dataclass(part) and not isinstance(part, type):
        return [leaf for f in fields(part) for leaf in _leaves(getattr(part, f.name))]
    if isinstance(part, tuple):
        return [leaf for item in part for leaf in _leaves(item)]
    return [part] if isinstance(part, np.ndarray) else []


def _mapped(part: Parts, function: Any) -> Parts:
    """The same nest of dataclasses and named tuples with `function` applied to every array in it."""
    if is_dataclass(part) and not isinstance(part, type):
        changes = {f.name: _mapped(getattr(part, f.name), function) for f in fields(part)}
        return cast(Parts, replace(part, **changes))
    if isinstance(part, tuple) and hasattr(part, "_fields"):
        return cast(Parts, type(part)(*(_mapped(item, function) for item in part)))
    return cast(Parts, function(part)) if isinstance(part, np.ndarray) else part


def _flattened(part: Parts, shape: tuple[int, ...]) -> Parts:
    def flat(value: Array) -> Array:
        return value if value.ndim == 0 else np.ascontiguousarray(np.broadcast_to(value, shape)).reshape(-1)

    return _mapped(part, flat)


def _selected(part: Parts, index: NDArray[np.intp], count: int) -> Parts:
    if len(index) == count:
        return part
    return _mapped(part, lambda value: value[..., index] if value.ndim else value)
