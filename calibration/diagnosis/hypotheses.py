"""The explanations that a visit's readings are weighed between, and how probable each is beforehand.

No fault, each fault alone, the likely pairs of faults, and none of these. Before a reading is looked at each
has a probability that depends on why the visit was made, and each fault's level, 0 to 1 of
`model.cycle.faults`, a density that falls linearly: mild faults are commoner than large ones, and some are
too mild to matter. All of these are judgement, no source: they decide only between explanations that the
readings leave open. The study `coiltoll study causes` draws from them and from others, and shows whether the
probabilities that follow hold.

Different faults may ask for the same work: a blocked face and a dust layer are both a fouled condenser coil.
`TREATMENTS` says which; a verdict counts what a person would do.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from calibration.case.records import Reason
from model.arrays import Array
from model.cycle.faults import FAULTS, HEALTHY, Fault, Faults, at_level, fault_of

NO_FAULT = "no_fault"
NONE_OF_THESE = "none_of_these"

NO_FAULT_ODDS: dict[Reason | None, float] = {
    "routine": 80.0,
    "complaint": 20.0,
    "after service": 40.0,
    None: 40.0,
}
"""Weight of a unit with nothing wrong by why the visit was made, on the scale of `FAULT_ODDS` [-]: judgement,
no source."""
NONE_ODDS = 3.0
"""Weight of a fault that is not known here [-]."""
PAIR_ODDS = 14.0
"""Weight of all pairs together [-]: somewhat more than the weights of their members' product, because neglect
shows on filter and coil alike."""
FAULT_ODDS: dict[str, float] = {
    "condenser_blocked": 12.0,
    "condenser_dust": 8.0,
    "condenser_fan_slow": 3.0,
    "indoor_airflow_low": 9.0,
    "undercharge": 9.0,
    "overcharge": 6.0,
    "non_condensables": 3.0,
    "liquid_line_restriction": 3.0,
    "compressor_leakage": 2.0,
    "valve_overfeed": 2.0,
}
"""Weight of each fault alone before any reading [-]: judgement, no source."""
AFTER_SERVICE = {"undercharge": 2.0, "overcharge": 2.5, "non_condensables": 3.0, "valve_overfeed": 1.5}
"""Factors on these weights where the circuit was opened before the visit [-]: judgement, no source."""
AFTER_CLEANING = 0.1
"""Factor on the weights of a fouled condenser coil at a visit after cleaning [-]: judgement, no source."""
AFTER_CLEANING_NO_FAULT = 2.5
"""Factor on the weight of no fault there [-]: the unit has just been looked after. Judgement, no source."""

FOULED_CONDENSER = ("condenser_blocked", "condenser_dust")
"""The two forms of a fouled condenser coil. Both starve it of air, so that pressures, temperatures and watts
hardly separate them, and the same cleaning removes both."""

TREATMENTS: dict[str, str] = {
    "condenser_blocked": "clean_condenser",
    "condenser_dust": "clean_condenser",
    "condenser_fan_slow": "repair_condenser_fan",
    "indoor_airflow_low": "restore_indoor_airflow",
    "undercharge": "repair_leak_and_charge",
    "overcharge": "recover_charge",
    "non_condensables": "evacuate_and_recharge",
    "liquid_line_restriction": "replace_drier",
    "compressor_leakage": "replace_compressor",
    "valve_overfeed": "adjust_valve",
}
"""What a person would do about each fault."""

LIKELY_PAIRS: tuple[tuple[str, str, float], ...] = (
    ("condenser_blocked", "indoor_airflow_low", 5.0),
    ("condenser_dust", "indoor_airflow_low", 3.0),
    ("condenser_blocked", "undercharge", 3.0),
    ("condenser_dust", "undercharge", 2.0),
    ("condenser_blocked", "overcharge", 1.5),
    ("condenser_blocked", "non_condensables", 0.7),
    ("condenser_blocked", "liquid_line_restriction", 0.7),
    ("condenser_blocked", "compressor_leakage", 0.5),
    ("indoor_airflow_low", "undercharge", 2.0),
    ("indoor_airflow_low", "overcharge", 1.0),
    ("indoor_airflow_low", "liquid_line_restriction", 0.5),
    ("condenser_fan_slow", "undercharge", 0.5),
    ("condenser_fan_slow", "indoor_airflow_low", 0.5),
    ("undercharge", "non_condensables", 0.5),
    ("overcharge", "non_condensables", 0.5),
)
"""Pairs met together, and their weights among pairs (neglect shows on filter and coil, bad service leaves gas
and a wrong charge): judgement, no source. Pairs that undo each other or change all readings alike are left
out: they could explain anything."""

LEVEL_NODES = np.array([0.0, 0.04, 0.1, 0.2, 0.33, 0.5, 0.7, 0.85, 1.0])
"""Levels at which the cycle is solved for a fault alone [-]; closer where effects begin."""
PAIR_NODES = np.array([0.0, 0.2, 0.5, 0.85])
"""Levels of each fault at which a pair is known [-], all among `LEVEL_NODES`: where one of the two is 0 the
fault alone has been solved. A unit with two faults at their largest does not run long enough to be read."""
FINE_COUNT = 65
"""Levels between nodes over which the evidence of a fault alone is summed."""
PAIR_FINE_COUNT = 12
"""The same for each fault of a pair."""

MILD_TO_LARGE = 3.0
"""Prior density of the mildest level over that of the largest [-]."""


@dataclass(frozen=True)
class Hypothesis:
    """One explanation: faults present together, and its probability before any reading [-].

    `faults` is empty for a unit with no fault; "none of these" is no hypothesis, it has no model of its own.
    """

    faults: tuple[Fault, ...]
    prior: float

    @property
    def key(self) -> str:
        """Keys of its faults joined by "+", or `NO_FAULT`."""
        return "+".join(fault.key for fault in self.faults) or NO_FAULT

    @property
    def treatments(self) -> frozenset[str]:
        """What a person would do about it."""
        return frozenset(TREATMENTS[fault.key] for fault in self.faults)

    def has(self, *keys: str) -> bool:
        """Whether one of these faults is part of it."""
        return any(fault.key in keys for fault in self.faults)


@dataclass(frozen=True)
class Hypotheses:
    """Every explanation with its prior probability; all and `none_prior` add to one.

    No fault first, then the faults alone in the order of `model.cycle.faults.FAULTS`, then pairs.
    """

    all: tuple[Hypothesis, ...]
    none_prior: float


def hypotheses(reason: Reason | None = None, after_cleaning: bool = False) -> Hypotheses:
    """Explanations to weigh, by why the visit was made.

    Parameters
    ----------
    reason : Reason, optional
        Left out where nobody said.
    after_cleaning : bool
        Whether the condenser had just been cleaned.

    Returns
    -------
    Hypotheses
        With their prior probabilities.
    """

    def factor(key: str) -> float:
        cleaned = AFTER_CLEANING if after_cleaning and key in FOULED_CONDENSER else 1.0
        return cleaned * (AFTER_SERVICE.get(key, 1.0) if reason == "after service" else 1.0)

    healthy = NO_FAULT_ODDS[reason] * (AFTER_CLEANING_NO_FAULT if after_cleaning else 1.0)
    odds: list[tuple[tuple[str, ...], float]] = [((), healthy)]
    odds += [((fault.key,), FAULT_ODDS[fault.key] * factor(fault.key)) for fault in FAULTS]
    share = PAIR_ODDS / sum(weight for *_, weight in LIKELY_PAIRS)
    odds += [
        ((first, second), share * weight * factor(first) * factor(second))
        for first, second, weight in LIKELY_PAIRS
    ]
    total = NONE_ODDS + sum(weight for _, weight in odds)
    return Hypotheses(
        tuple(Hypothesis(tuple(map(fault_of, keys)), weight / total) for keys, weight in odds),
        NONE_ODDS / total,
    )


def fine_levels(count: int = FINE_COUNT) -> Array:
    """Levels to sum over, closer towards 0 where a small step changes more explanations.

    Parameters
    ----------
    count : int
        How many.

    Returns
    -------
    ndarray, shape (count,)
        From 0 to 1 [-].
    """
    return np.asarray(np.linspace(0.0, 1.0, count) ** 1.5)


def level_weights(level: Array) -> Array:
    """Prior probability of each of some rising levels, by trapezoids of the density.

    Parameters
    ----------
    level : ndarray, shape (n,)
        Rising, from 0 to 1 [-].

    Returns
    -------
    ndarray, shape (n,)
        Probabilities that add to one [-].
    """
    density = MILD_TO_LARGE + (1.0 - MILD_TO_LARGE) * level
    width = np.diff(level)
    weights = np.zeros_like(level)
    weights[:-1] += 0.5 * width
    weights[1:] += 0.5 * width
    weights *= density
    return np.asarray(weights / weights.sum())


def drawn_level(uniform: ArrayLike) -> Array:
    """Level below which a given share of the prior lies, for drawing from the prior.

    Parameters
    ----------
    uniform : array_like
        Share of the prior, in [0, 1], any shape.

    Returns
    -------
    ndarray
        Level [-], shape of `uniform`.
    """
    share = np.asarray(uniform, dtype=float)
    # The share below s of a density that falls linearly from r to 1 is (2 r s - (r - 1) s^2) / (r + 1).
    r = MILD_TO_LARGE
    return np.asarray((r - np.sqrt(r * r - (r * r - 1.0) * share)) / (r - 1.0))


def faults_at(hypothesis: Hypothesis, levels: ArrayLike) -> Faults:
    """Faults of a hypothesis at levels, shape (faults, …).

    Parameters
    ----------
    hypothesis : Hypothesis
        One or two faults.
    levels : array_like, shape (faults, ...)
        Level of each [-].

    Returns
    -------
    Faults
        Of the further shape of the levels.
    """
    faults = HEALTHY
    for fault, level in zip(hypothesis.faults, np.asarray(levels, dtype=float), strict=True):
        faults = at_level(fault, level, faults)
    return faults
