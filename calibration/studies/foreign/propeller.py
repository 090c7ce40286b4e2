"""Fans with curves that bend, in the place of the straight one of the product's model.

A propeller's pressure rises ever less as it is throttled and dips before its stall, its power rises; a
forward-curved blower's pressure is flat at first and its power falls. The coil's resistance has a power of
its own. Everything is relative to the clean unit, as in `model.components.fans`. All numbers are invented.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from model.arrays import Array, Number

HALVINGS = 40
SMALLEST, LARGEST = 0.02, 1.5


@dataclass(frozen=True)
class BentFan:
    """One fan against its resistance.

    Attributes
    ----------
    airflow, power : float or array
        Of the clean unit [m3/s], [W].
    rise, bend : float or array
        First and second coefficient of its pressure in the share of the flow that is throttled away [-].
    power_rise : float or array
        Share of its power that throttling all air away adds [-].
    coil_share, coil_exponent : float or array
        Of the clean resistance, and power of the velocity in it [-].
    """

    airflow: Number
    power: Number
    rise: Number
    bend: Number
    power_rise: Number
    coil_share: Number
    coil_exponent: Number


def flow_ratio(fan: BentFan, blocked: Array, dust: Array, speed: Array) -> Array:
    """Airflow over the clean unit's, by halving.

    Parameters
    ----------
    fan : BentFan
        The fan.
    blocked : ndarray
        Share of the face without air [-], in [0, 1).
    dust : ndarray
        Relative rise of the coil's resistance [-].
    speed : ndarray
        Over full speed [-], above 0.

    Returns
    -------
    ndarray
        [-], shape of the broadcast inputs.

    References
    ----------
    Fan laws (from memory) on a parabola of invented size.
    """
    shape = np.broadcast_shapes(*(np.shape(one) for one in (fan.airflow, blocked, dust, speed)))
    low, high = np.full(shape, SMALLEST), np.full(shape, LARGEST)
    for _ in range(HALVINGS):
        flow = 0.5 * (low + high)
        throttled = 1.0 - flow / speed
        pressure = speed**2 * (1.0 + fan.rise * throttled - fan.bend * throttled * np.abs(throttled))
        coil = fan.coil_share * (1.0 + dust) * (flow / (1.0 - blocked)) ** fan.coil_exponent
        more = pressure > coil + (1.0 - np.asarray(fan.coil_share)) * flow**2
        low, high = np.where(more, flow, low), np.where(more, high, flow)
    return np.asarray(0.5 * (low + high))


def fan_power(fan: BentFan, flow: Array, speed: Array) -> Array:
    """Electrical power.

    Parameters
    ----------
    fan : BentFan
        The fan.
    flow : ndarray
        `flow_ratio` [-].
    speed : ndarray
        Over full speed [-].

    Returns
    -------
    ndarray
        [W], shape of the broadcast inputs.

    References
    ----------
    Fan laws (from memory); the rise is invented.
    """
    return np.asarray(fan.power * speed**3 * (1.0 + fan.power_rise * (1.0 - flow / speed)))
