"""The explanations that a visit's readings are weighed between.

They are each fault alone, plausible pairs, a clean unit, and none of these.

Before a reading is looked at, each explanation has a probability (`prior_odds`), and each fault's level, 0
to 1 of `model.cycle.faults`, a density that falls linearly: mild faults are commoner than grave ones, and
some are too mild to matter. Both are common practice without a source. They only decide between explanations
that the readings leave open; the study `coiltoll study causes` draws from them and shows whether the
probabilities that follow hold.

Some pairs of faults change all usual readings alike. For these there is an act, not a finer reading, that
tells them apart; the acts are common practice too.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from model.cycle.faults import FAULTS, HEALTHY, Fault, Faults, at_level

Array = NDArray[np.float64]

CLEAN = "clean, nothing found"
NONE = "none of these explains it"

CLEAN_ODDS = 40.0
"""Weight of a unit with nothing wrong, on the scale of `FAULT_ODDS` [-]."""
NONE_ODDS = 3.0
"""Weight of something outside the list: a fault not known here, or a gross reading error [-]."""
PAIR_ODDS = 6.0
"""Weight of all pairs together [-]."""
FAULT_ODDS: dict[str, float] = {
    "blocked condenser face": 12.0,
    "condenser dust layer": 8.0,
    "slow condenser fan": 3.0,
    "low indoor airflow": 9.0,
    "undercharge": 9.0,
    "overcharge": 6.0,
    "non-condensable gas": 3.0,
    "liquid-line restriction": 3.0,
    "compressor leakage": 2.0,
    "valve feeding too much": 2.0,
}
"""Weight of each fault alone before any reading, in visits that somebody was called for [-]: common practice,
no source."""

FOULED_CONDENSER = ("blocked condenser face", "condenser dust layer")
"""The two forms of a fouled condenser coil. Both starve it of air, so that pressures, temperatures and watts
hardly tell them apart; the same cleaning mends both."""

PLAUSIBLE_PAIRS = (
    *(
        (first, second)
        for first in FOULED_CONDENSER
        for second in (
            "low indoor airflow",
            "undercharge",
            "overcharge",
            "non-condensable gas",
            "liquid-line restriction",
            "compressor leakage",
        )
    ),
    ("slow condenser fan", "undercharge"),
    ("slow condenser fan", "low indoor airflow"),
    ("low indoor airflow", "undercharge"),
    ("low indoor airflow", "overcharge"),
    ("low indoor airflow", "liquid-line restriction"),
    ("low indoor airflow", "compressor leakage"),
    ("undercharge", "non-condensable gas"),
    ("undercharge", "compressor leakage"),
    ("overcharge", "non-condensable gas"),
)
"""Pairs met together in practice (neglect shows on both coils; bad service leaves gas and a wrong charge; no
source). Pairs that undo each other or change all readings alike are left out: they could explain anything."""

WITH_ARTICLE = frozenset(
    {
        "blocked condenser face",
        "condenser dust layer",
        "slow condenser fan",
        "liquid-line restriction",
        "valve feeding too much",
    }
)
"""Faults that are things rather than states: a sentence says which one."""

LEVEL_NODES = np.array([0.0, 0.04, 0.1, 0.2, 0.33, 0.5, 0.7, 0.85, 1.0])
"""Levels at which the cycle is solved for a fault alone [-]; closer where effects begin."""
PAIR_NODES = np.array([0.0, 0.12, 0.3, 0.55, 0.8])
"""Levels of each fault at which the cycle is solved for a pair [-]; a unit with two faults at their
gravest does not run long enough to be read."""
FINE_COUNT = 65
"""Levels between nodes over which the evidence of a fault alone is summed."""
PAIR_FINE_COUNT = 21
"""The same for each fault of a pair."""

MILD_TO_GRAVE = 3.0
"""Prior density of the mildest level over that of the gravest [-]."""

LOOK_ALIKE_ACTS: dict[frozenset[str], str] = {
    frozenset(FOULED_CONDENSER): (
        "look through the fins with a lamp, unit off and locked out: seeds, leaves and grass cover the face,"
        " dust sits between the fins; the cleaning is the same"
    ),
    frozenset({"blocked condenser face", "slow condenser fan"}): (
        "read the outdoor fan's watts or its speed beside the motor's plate: a slow fan draws far less, a"
        " dirty coil hardly changes it"
    ),
    frozenset({"condenser dust layer", "slow condenser fan"}): (
        "read the outdoor fan's watts or its speed beside the motor's plate: a slow fan draws far less, a"
        " dirty coil hardly changes it"
    ),
    frozenset({"overcharge", "non-condensable gas"}): (
        "read the pressure with the unit off until it is as warm as the air around it: gas stands above the"
        " saturation pressure of that temperature, a heavy charge does not"
    ),
    frozenset({"undercharge", "liquid-line restriction"}): (
        "read the liquid pipe's temperature before and after the drier and along the line: a restriction is"
        " cold behind it"
    ),
    frozenset({"undercharge", "compressor leakage"}): (
        "weigh the charge out and in again, or read the compressor's watts: a leaking compressor draws nearly"
        " full power"
    ),
    frozenset({"low indoor airflow", "valve feeding too much"}): (
        "measure the indoor airflow, and check that the valve's bulb is strapped and insulated"
    ),
    frozenset({"overcharge", "valve feeding too much"}): (
        "read subcooling at another outdoor temperature, or weigh the charge out and in again"
    ),
}
"""What to do where no reading of the list separates two faults well. Refrigerant work is for certified people
only."""


@dataclass(frozen=True)
class Candidate:
    """One explanation: faults present together, and its probability before any reading [-].

    `faults` is empty for the clean unit; `NONE` is no candidate, it has no model of its own.
    """

    faults: tuple[Fault, ...]
    prior: float

    @property
    def name(self) -> str:
        """Names of its faults joined by "and"."""
        return " and ".join(fault.name for fault in self.faults) or CLEAN


@dataclass(frozen=True)
class Candidates:
    """Every explanation with its prior probability; all and `none_prior` add to one.

    clean first, then the faults alone in the order of `model.cycle.faults.FAULTS`, then pairs.
    """

    clean: Candidate
    singles: tuple[Candidate, ...]
    pairs: tuple[Candidate, ...]
    none_prior: float

    @property
    def all(self) -> tuple[Candidate, ...]:
        """Clean, singles, pairs."""
        return (self.clean, *self.singles, *self.pairs)


def candidates(pairs: bool = False) -> Candidates:
    """Explanations to weigh.

    Parameters
    ----------
    pairs : bool
        Whether to add the plausible pairs, whose weight all others give alike.

    Returns
    -------
    Candidates
        Candidates with their prior odds.
    """
    total = CLEAN_ODDS + NONE_ODDS + sum(FAULT_ODDS.values()) + (PAIR_ODDS if pairs else 0.0)
    singles = tuple(Candidate((fault,), FAULT_ODDS[fault.name] / total) for fault in FAULTS)
    return Candidates(
        clean=Candidate((), CLEAN_ODDS / total),
        singles=singles,
        pairs=_pairs(PAIR_ODDS / total) if pairs else (),
        none_prior=NONE_ODDS / total,
    )


def _pairs(probability: float) -> tuple[Candidate, ...]:
    """Pairs share their weight in proportion to the odds of their members."""
    named = {fault.name: fault for fault in FAULTS}
    odds = [FAULT_ODDS[first] * FAULT_ODDS[second] for first, second in PLAUSIBLE_PAIRS]
    return tuple(
        Candidate((named[first], named[second]), probability * weight / sum(odds))
        for (first, second), weight in zip(PLAUSIBLE_PAIRS, odds, strict=True)
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
    density = MILD_TO_GRAVE + (1.0 - MILD_TO_GRAVE) * level
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
    r = MILD_TO_GRAVE
    return np.asarray((r - np.sqrt(r * r - (r * r - 1.0) * share)) / (r - 1.0))


def faults_at(candidate: Candidate, levels: ArrayLike) -> Faults:
    """Faults of a candidate at levels, shape (faults, …).

    Parameters
    ----------
    candidate : Candidate
        One or two faults.
    levels : array_like, shape (faults, ...)
        Level of each [-].

    Returns
    -------
    Faults
        Of the further shape of the levels.
    """
    faults = HEALTHY
    for fault, level in zip(candidate.faults, np.asarray(levels, dtype=float), strict=True):
        faults = at_level(fault, level, faults)
    return faults


def separating_acts(names: tuple[str, ...]) -> tuple[str, ...]:
    """What to do to tell look-alike faults apart, one sentence a pair that has one.

    Parameters
    ----------
    names : tuple of str
        Faults that look alike.

    Returns
    -------
    tuple of str
        Sentences.
    """
    pairs = combinations(sorted(names), 2)
    acts = [LOOK_ALIKE_ACTS[frozenset(pair)] for pair in pairs if frozenset(pair) in LOOK_ALIKE_ACTS]
    return tuple(dict.fromkeys(acts))


def in_a_sentence(explanation: str) -> str:
    """Name of an explanation, or of the two faults of a pair, as it stands in a sentence.

    Parameters
    ----------
    explanation : str
        Name of a `Candidate`, such as ``"slow condenser fan and undercharge"``.

    Returns
    -------
    str
        The same with an article where English wants one.
    """
    if explanation in (CLEAN, NONE):
        return "a clean unit" if explanation == CLEAN else "none of these"
    return " and ".join(
        f"a {fault}" if fault in WITH_ARTICLE else fault for fault in explanation.split(" and ")
    )
