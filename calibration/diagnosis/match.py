"""Which fault a visit's readings match.

Every fault alone, on request the plausible pairs too, "clean, nothing found" and "none of these explains it"
share one probability. Faults that the readings leave within `ALIKE` of the best one in evidence are reported
as one group of look-alikes, with what would tell them apart; nothing is guessed between them. Beside the
probabilities stand each fault's level with its interval, what it takes today and at design weather, and
every reading beside what the clean unit and the first faults would show.

References
----------
Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, ch. 7 (Bayes factors; from memory). How much evidence
makes look-alikes of two faults: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from calibration.case.records import Case, Visit
from calibration.clean_fit.baseline import Baseline, baseline_without
from calibration.diagnosis.evidence import (
    CLAIM,
    Weighed,
    chi_square,
    least_chi_square,
    log_sum,
    probabilities,
    weighed,
)
from calibration.diagnosis.hypotheses import FOULED_CONDENSER, NONE, Candidates, candidates, separating_acts
from calibration.diagnosis.impact import Explained, Stakes, explained, stakes
from calibration.diagnosis.next_reading import Suggestion, suggestions
from calibration.diagnosis.reading_rows import ExpectedRow, expected_rows
from calibration.diagnosis.visit_model import scene

Array = NDArray[np.float64]
Verdict = Literal["clean", "cause", "look-alikes", "none of these", "undecided"]

LIKELIEST = 0.5
"""Clean, or none of these, is said from this probability on [-]."""
ALIKE = 6.0
"""Faults whose evidence is within this factor of the first one's are look-alikes [-]."""
SHOWN = 2
"""So many of the likeliest faults are always worked out with level and toll."""
WORTH_SHOWING = 0.05
"""Others are from this probability on [-]."""
MOST_SHOWN = 4
"""But no more than this many in all."""


@dataclass(frozen=True)
class Probability:
    """One explanation: its name, probability before and after the readings [-], logarithm of its evidence."""

    name: str
    prior: float
    probability: float
    evidence: float


@dataclass(frozen=True)
class Match:
    """Which fault the readings of a visit match.

    Attributes
    ----------
    visit : Visit
    clean_visits : tuple of str
        Labels of the visits that the clean unit was fitted to; empty for the nameplate alone.
    probabilities : tuple of Probability
        Of every explanation, the likeliest first; they add to one.
    verdict : str
        "clean", "fault" (one is claimed), "look-alikes" (a group is claimed), "none of these" or "undecided".
    group : tuple of str
        The likeliest fault and those that the readings cannot tell from it.
    group_probability : float
        Of the group together [-].
    acts : tuple of str
        What tells the faults of the group apart where finer readings do not.
    explained : tuple of Explained
        The likeliest faults worked out: level, toll, fitted unit.
    rows : tuple of ExpectedRow
        Every reading beside what the clean unit and the first two faults would show.
    rival : str
        Explanation that the first fault is held against in `rows`.
    suggestions : tuple of Suggestion
        Readings to take or to repeat, the most telling first.
    stakes : Stakes or None
        Cost of being wrong about the first fault either way; None where no fault was worked out.
    chi_square, clean_chi_square : float
        Squares of the standardised differences at the best explanation and for the clean unit, correlations
        taken into account [-].
    readings : int
        How many readings they are of.
    """

    visit: Visit
    clean_visits: tuple[str, ...]
    probabilities: tuple[Probability, ...]
    verdict: Verdict
    group: tuple[str, ...]
    group_probability: float
    acts: tuple[str, ...]
    explained: tuple[Explained, ...]
    rows: tuple[ExpectedRow, ...]
    rival: str
    suggestions: tuple[Suggestion, ...]
    stakes: Stakes | None
    chi_square: float
    clean_chi_square: float
    readings: int

    def probability(self, name: str) -> float:
        """Probability of one explanation [-]; 0 for one that was not weighed."""
        return next((one.probability for one in self.probabilities if one.name == name), 0.0)

    @property
    def fouled_condenser(self) -> float:
        """Probability of a fouled condenser coil as the only fault, in whichever form [-]."""
        return sum(self.probability(name) for name in FOULED_CONDENSER)

    @property
    def first(self) -> str:
        """Name of the likeliest explanation."""
        return self.probabilities[0].name


def match_visit(case: Case, visit: Visit, *, baseline: Baseline | None = None, pairs: bool = False) -> Match:
    """Faults that explain one visit of a case.

    Parameters
    ----------
    case : Case
        For its clean visits, nameplate, meters, season and cleaning.
    visit : Visit
        Usually as found. A clean visit is matched against the other clean visits.
    baseline : Baseline, optional
        `calibration.clean_fit.baseline.baseline_of(case)` if it is there already.
    pairs : bool
        Whether to weigh pairs of faults as well.

    Raises
    ------
    ValueError
        Where the visit has no reading that the model could explain.
    """
    clean = tuple(one for one in case.clean_visits if one != visit)
    baseline = baseline_without(case, visit, baseline)
    place = scene(baseline, clean, visit, case.instruments)
    weights = candidates(pairs)
    found = weighed(place, weights.all)
    shares = probabilities(found, weights.none_prior)
    ranked = sorted(range(1, len(found)), key=lambda number: -shares[number])
    group = look_alikes(found, ranked)
    outside = [number for number in (0, *ranked) if found[number].candidate.name not in group]
    rival = max(outside, key=lambda number: shares[number])
    group_probability = float(
        sum(shares[number] for number in ranked if found[number].candidate.name in group)
    )
    shown = [n for place_in, n in enumerate(ranked) if place_in < SHOWN or shares[n] > WORTH_SHOWING][
        :MOST_SHOWN
    ]
    worked_out = tuple(explained(case, place, found[number], float(shares[number])) for number in shown)
    best = int(np.argmax(shares[:-1]))
    return Match(
        visit=visit,
        clean_visits=baseline.visits,
        probabilities=_ranked(found, shares, weights),
        verdict=_verdict(shares, group, group_probability),
        group=group,
        group_probability=group_probability,
        acts=separating_acts(group),
        explained=worked_out,
        rows=expected_rows(place, found[0], tuple(found[number] for number in ranked[:2]), found[rival]),
        rival=found[rival].candidate.name,
        suggestions=suggestions(place, found, shares),
        stakes=stakes(case, worked_out[0], group, group_probability),
        chi_square=least_chi_square(place, found[best]),
        clean_chi_square=chi_square(place, found[0], 0),
        readings=len(place.readings),
    )


def look_alikes(found: Sequence[Weighed], ranked: Sequence[int]) -> tuple[str, ...]:
    """The likeliest fault and all whose evidence is within `ALIKE` of its own.

    Pairs are left out unless the likeliest is one itself: a pair with a trifle of a second fault always fits
    as well.

    Parameters
    ----------
    found : sequence of Weighed
        Explanations against the readings.
    ranked : sequence of int
        Places in `found`, the likeliest first; at least one.

    Returns
    -------
    tuple of str
        Names, in the order of `ranked`.
    """
    first = found[ranked[0]]
    alike = [
        found[number].candidate
        for number in ranked
        if abs(found[number].evidence - first.evidence) < np.log(ALIKE)
        and len(found[number].candidate.faults) <= len(first.candidate.faults)
    ]
    return tuple(candidate.name for candidate in alike)


def _ranked(found: Sequence[Weighed], shares: Array, weights: Candidates) -> tuple[Probability, ...]:
    rows = [
        Probability(one.candidate.name, one.candidate.prior, float(share), one.evidence)
        for one, share in zip(found, shares[:-1], strict=True)
    ]
    loose = log_sum(np.array([one.none_evidence + np.log(one.candidate.prior) for one in found]))
    rows.append(
        Probability(
            NONE, weights.none_prior, float(shares[-1]), loose - float(np.log(1.0 - weights.none_prior))
        )
    )
    return tuple(sorted(rows, key=lambda row: -row.probability))


def claimed(shares: Array, names: Sequence[str], group: Sequence[str]) -> bool:
    """Whether a fault or a group of look-alikes is probable enough to be claimed.

    Parameters
    ----------
    shares : ndarray, shape (explanations,) or longer
        Probabilities [-], in the order of `names`.
    names : sequence of str
        Of the explanations.
    group : sequence of str
        Names that look alike, or one name.

    Returns
    -------
    bool
        Whether together they reach `CLAIM`.
    """
    together = sum(share for share, name in zip(shares, names, strict=False) if name in group)
    return bool(together >= CLAIM)


def _verdict(shares: Array, group: tuple[str, ...], group_probability: float) -> Verdict:
    if group_probability >= CLAIM:
        return "cause" if len(group) == 1 else "look-alikes"
    if shares[0] >= LIKELIEST:
        return "clean"
    return "none of these" if shares[-1] >= LIKELIEST else "undecided"
