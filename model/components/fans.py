"""Fan against coil: how dirt, a blocked face or a slow fan turns into airflow and watts.

Everything is relative to the clean unit: airflow, fan pressure and resistance are 1 there. The fan's pressure
falls linearly with flow around its operating point; the resistance is a coil part, power 1.7 of the velocity
through the open face, and a remainder (grille, duct, discharge) that goes with the square. A blocked face
leaves its share of the area without air and drives what remains faster through the rest: blocked area is
*not* airflow lost. A motor that holds the airflow speeds up for it, until it runs as fast as it can; from
there on it is a fan of fixed speed and loses air like one.

Throttled at a fixed speed, a forward-curved blower draws less power and a propeller fan somewhat more.

References
----------
Fan laws (speed: flow proportional, pressure squared, power cubed): any fan engineering text, e.g. ASHRAE
Handbook HVAC Systems and Equipment, chapter Fans (from memory). Velocity exponent 1.7 of finned coils: common
practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, Number

MOST_STEPS, FLOW_TOLERANCE = 30, 1e-12
"""Newton steps for the airflow, and the move [-] under which they end."""
TOP_SPEED = 1.25
"""Highest speed of a constant-airflow motor over its speed on the clean unit [-]: enough for twice the clean
pressure drop, such as 1.0 in. of water for a blower rated at 0.5 (common practice, no source)."""
BLOWER_UNLOADING, PROPELLER_UNLOADING = 0.5, -0.15
"""Share of its power that a fan of fixed speed saves where all of its air is throttled away [-]: half for a
forward-curved blower, none for a propeller fan, whose power stays flat or rises (common practice, no
source)."""
COIL_EXPONENT = 1.7
"""Power of face velocity in a finned coil's air pressure drop [-]; 1.5 to 1.8, common practice, no source."""


@dataclass(frozen=True)
class Fan:
    """One fan and the resistance it works against.

    Attributes
    ----------
    airflow : float or array
        Volume flow of the clean unit [m3/s], at the fan's own air density.
    power : float or array
        Electrical power of the clean unit [W].
    curve_slope : float or array
        Rise of fan pressure, in operating pressures, as the flow goes from operating to zero [-]; 2.5 for a
        propeller fan at 70 % of free delivery, 1.5 for a forward-curved blower (common practice, no source).
    coil_share : float or array
        Share of the clean resistance that is the coil's [-].
    constant_airflow : bool
        A motor that holds the airflow and draws more watts instead of a fixed speed, up to `TOP_SPEED`.
    unloading : float or array
        Share of the power at fixed speed that is saved where all air is throttled away [-]; below 0 where
        power rises.
    """

    airflow: Number
    power: Number
    curve_slope: Number
    coil_share: Number
    constant_airflow: bool = False
    unloading: Number = BLOWER_UNLOADING


def resistance(fan: Fan, flow_ratio: Array, blocked: ArrayLike, dust: ArrayLike) -> Array:
    """Air pressure drop over the clean unit's.

    Parameters
    ----------
    fan : Fan
        For the coil's share of the clean pressure drop.
    flow_ratio : ndarray
        Airflow over the clean unit's [-].
    blocked : array_like
        Fraction of the face without air [-], in [0, 1).
    dust : array_like
        Relative rise of the coil's pressure drop at equal velocity [-], 0 or more.

    Returns
    -------
    ndarray
        Ratio of pressure drops [-], shape of the broadcast inputs.

    References
    ----------
    Velocity exponent of finned coils: common practice, no source. Open face: derived here from continuity.
    """
    share = np.asarray(fan.coil_share)
    velocity = flow_ratio / (1.0 - np.asarray(blocked))
    coil = share * (1.0 + np.asarray(dust)) * velocity**COIL_EXPONENT
    return np.asarray(coil + (1.0 - share) * flow_ratio**2)


def airflow_ratio(fan: Fan, blocked: ArrayLike = 0.0, dust: ArrayLike = 0.0, speed: ArrayLike = 1.0) -> Array:
    """Airflow over the clean unit's at full speed, where fan curve and resistance meet.

    Parameters
    ----------
    fan : Fan
        Fan curve and the coil's share of the pressure drop.
    blocked : array_like
        Fraction of the face without air [-], in [0, 1).
    dust : array_like
        Relative rise of the coil's pressure drop at equal velocity [-], 0 or more.
    speed : array_like
        Over full speed [-], above 0: a standing fan moves no air and has no pressure to balance. Of a
        constant-airflow motor, the airflow that is asked for.

    Returns
    -------
    ndarray
        Airflow ratio [-], shape of the broadcast inputs.

    Raises
    ------
    ValueError
        Where `blocked` is outside [0, 1), `dust` below 0 or `speed` not above 0.

    References
    ----------
    Fan laws (ASHRAE Handbook HVAC Systems and Equipment, chapter Fans, from memory) on a straight fan curve,
    derived here.
    """
    blocked, dust, speed = (np.asarray(v, dtype=float) for v in (blocked, dust, speed))
    _check_range("blocked", blocked, 0.0, 1.0)
    _check_range("dust", dust, 0.0, np.inf)
    if np.any(~(speed > 0.0)):
        raise ValueError(f"speed must be above 0, got {np.min(speed):g}")
    if fan.constant_airflow:
        return np.asarray(np.minimum(speed, _balanced_flow(fan, blocked, dust, np.asarray(TOP_SPEED))))
    return _balanced_flow(fan, blocked, dust, speed)


def _balanced_flow(fan: Fan, blocked: Array, dust: Array, speed: Array) -> Array:
    """Airflow ratio where the pressure of a fan at a speed meets the resistance."""
    slope, share, open_face = np.asarray(fan.curve_slope), np.asarray(fan.coil_share), 1.0 - blocked
    coil, rest = share * (1.0 + dust), 1.0 - share
    pressure, steepness = speed * speed * (1.0 + slope), slope * speed
    flow = speed / (1.0 + 0.5 * blocked + 0.1 * dust)
    for _ in range(MOST_STEPS):  # Newton on a falling minus a rising function: monotone, so it cannot cycle
        through_coil = coil * (flow / open_face) ** COIL_EXPONENT
        excess = pressure - steepness * flow - through_coil - rest * flow * flow
        move = excess / (steepness + COIL_EXPONENT * through_coil / flow + 2.0 * rest * flow)
        flow = np.maximum(flow + move, 0.2 * flow)
        if np.abs(move).max(initial=0.0) < FLOW_TOLERANCE:
            break
    return np.asarray(flow)


def fan_power_ratio(
    fan: Fan, flow_ratio: ArrayLike, pressure_ratio: ArrayLike, speed: ArrayLike = 1.0
) -> Array:
    """Electrical power over the clean unit's.

    A constant-airflow motor pays for the pressure it makes. A fixed-speed fan follows the fan law with its
    speed, and unloads as it is throttled, linearly in the air that it moves.

    Parameters
    ----------
    fan : Fan
        For the kind of its motor.
    flow_ratio : array_like
        Airflow over the clean unit's [-].
    pressure_ratio : array_like
        Air pressure drop over the clean unit's [-].
    speed : array_like
        Over full speed [-].

    Returns
    -------
    ndarray
        Power ratio [-], shape of the broadcast inputs.

    References
    ----------
    Fan laws (ASHRAE Handbook HVAC Systems and Equipment, chapter Fans, from memory); the half that follows
    the air: common practice, no source.
    """
    flow_ratio, speed = np.asarray(flow_ratio, dtype=float), np.asarray(speed, dtype=float)
    if fan.constant_airflow:
        return np.asarray(flow_ratio * np.asarray(pressure_ratio))
    return np.asarray(speed**3 * (1.0 - np.asarray(fan.unloading) * (1.0 - flow_ratio / speed)))


def _check_range(name: str, value: Array, low: float, high: float) -> None:
    if value.size and not (value.min() >= low and value.max() < high):
        worst = value[~((value >= low) & (value < high))].flat[0]
        raise ValueError(f"{name} must lie in [{low:g}, {high:g}), got {worst:g}")
