"""What may be wrong with a unit: each fault one level with a physical meaning, alone or together.

References
----------
Meanings follow the faults of the published tests where there are any (Kim, Payne, Domanski, Hermes 2006,
NISTIR 7350: leakage, outdoor and indoor airflow, liquid-line restriction, charge); the ranges are common
practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike


@dataclass(frozen=True)
class Faults:
    """Level of every fault; 0 is healthy. Numbers broadcast with each other and with the conditions.

    Attributes
    ----------
    condenser_blocked : array_like
        Fraction of the condenser's face without air [-], [0, 0.95].
    condenser_dust : array_like
        Relative rise of the condenser's air pressure drop at equal velocity from a dust layer [-], [0, 10].
    condenser_airflow_lost : array_like
        Fraction of the condenser's airflow lost, however it was lost [-], [0, 0.95].
    condenser_recirculation : array_like
        Share of the condenser's air that it has blown out before: a wall, a fence or a roof over the unit
        turns it back [-], [0, 0.8].
    condenser_fan_slow : array_like
        Fraction of the condenser fan's speed lost [-], [0, 0.9].
    evaporator_dust : array_like
        As `condenser_dust`, for the indoor coil [-], [0, 10].
    evaporator_airflow_lost : array_like
        Fraction of the indoor airflow lost [-], [0, 0.95].
    charge_change : array_like
        Relative deviation of the charge, negative under [-], [-0.6, 0.8].
    noncondensable : array_like
        Partial pressure of non-condensable gas in the condenser at 40 degC [Pa], [0, 2e6].
    liquid_restriction : array_like
        Pressure drop of a restriction in the liquid line at rated flow, over the rated difference between
        condenser and evaporator [-], [0, 20].
    compressor_leakage : array_like
        Fraction of the compressor's flow that leaks back inside [-], [0, 0.8].
    valve_overfeed : array_like
        Relative excess of the expansion device's flow area [-], [0, 5]; a thermostatic valve also regulates
        at a superheat lower by `BULB_OFFSET` of `model.components.expansion` times that, as with a loose
        bulb.
    """

    condenser_blocked: ArrayLike = 0.0
    condenser_dust: ArrayLike = 0.0
    condenser_airflow_lost: ArrayLike = 0.0
    condenser_recirculation: ArrayLike = 0.0
    condenser_fan_slow: ArrayLike = 0.0
    evaporator_dust: ArrayLike = 0.0
    evaporator_airflow_lost: ArrayLike = 0.0
    charge_change: ArrayLike = 0.0
    noncondensable: ArrayLike = 0.0
    liquid_restriction: ArrayLike = 0.0
    compressor_leakage: ArrayLike = 0.0
    valve_overfeed: ArrayLike = 0.0

    def __post_init__(self) -> None:
        for field in fields(self):
            low, high = RANGES[field.name]
            value = np.asarray(getattr(self, field.name), dtype=float)
            outside = ~((value >= low) & (value <= high))
            if np.any(outside):
                raise ValueError(
                    f"{field.name} must lie in [{low:g}, {high:g}], got {value[outside].flat[0]:g}"
                )


RANGES = {
    "condenser_blocked": (0.0, 0.95),
    "condenser_dust": (0.0, 10.0),
    "condenser_airflow_lost": (0.0, 0.95),
    "condenser_recirculation": (0.0, 0.8),
    "condenser_fan_slow": (0.0, 0.9),
    "evaporator_dust": (0.0, 10.0),
    "evaporator_airflow_lost": (0.0, 0.95),
    "charge_change": (-0.6, 0.8),
    "noncondensable": (0.0, 2.0e6),
    "liquid_restriction": (0.0, 20.0),
    "compressor_leakage": (0.0, 0.8),
    "valve_overfeed": (0.0, 5.0),
}
"""Range in which each level has a meaning, in the unit of `Faults`."""

HEALTHY = Faults()


class Fault(NamedTuple):
    """One thing that may be wrong: its key, the field of `Faults` it sets, that field's value at level 1.

    The key never changes: results, files and `--json` use it. Words for people belong to the screens.
    """

    key: str
    field: str
    largest: float


FAULTS = (
    Fault("condenser_blocked", "condenser_blocked", 0.8),
    Fault("condenser_dust", "condenser_dust", 6.0),
    Fault("condenser_fan_slow", "condenser_fan_slow", 0.6),
    Fault("indoor_airflow_low", "evaporator_airflow_lost", 0.6),
    Fault("undercharge", "charge_change", -0.4),
    Fault("overcharge", "charge_change", 0.4),
    Fault("non_condensables", "noncondensable", 6.0e5),
    Fault("liquid_line_restriction", "liquid_restriction", 3.0),
    Fault("compressor_leakage", "compressor_leakage", 0.5),
    Fault("valve_overfeed", "valve_overfeed", 1.5),
)
"""Every single fault, with a level of 0 to 1 mapped linearly on its field.

Not among them: air lost on the condenser, however it was lost, and air drawn back. At the ports both show
what a blocked face shows. Only the air that leaves the coil is warmer by air drawn back (a quarter blocked
and 0.2 drawn back differ by some 3 standard errors there and by none elsewhere); a look at the unit shows
it."""


def fault_of(key: str) -> Fault:
    """Fault with that key.

    Parameters
    ----------
    key : str
        One of the keys in `FAULTS`.

    Returns
    -------
    Fault
        The fault of that key.

    Raises
    ------
    ValueError
        Where there is none; the message lists the keys.
    """
    for fault in FAULTS:
        if fault.key == key:
            return fault
    raise ValueError(f"fault must be one of {', '.join(one.key for one in FAULTS)}, got {key}")


def at_level(fault: Fault, level: ArrayLike, base: Faults = HEALTHY) -> Faults:
    """Faults with one more fault added at a level.

    Parameters
    ----------
    fault : Fault
        What is added.
    level : array_like
        0 is healthy, 1 the fault's largest [-]; any shape.
    base : Faults
        What is there already.

    Returns
    -------
    Faults
        `base` with the fault's field raised, of the shape of `level`.

    Raises
    ------
    ValueError
        Where the resulting field leaves its range.
    """
    added = np.asarray(getattr(base, fault.field)) + fault.largest * np.asarray(level, dtype=float)
    return replace(base, **{fault.field: added})
