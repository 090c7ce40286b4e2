"""Everything that a visit's readings say, in one frozen result: the finding.

Its first part, the judgement, is what is wrong and which readings are; the rest works that out. Where only a
visit's readings are checked the judgement is enough, at half the work.

Verdict, probabilities, fault levels, suspect readings with the value that the others support, loss, next
reading and what to do all come from one joint posterior (`calibration.diagnosis.posterior`). Whoever needs
one of them takes it from here: nothing is worked out a second time.

A verdict counts what a person would do: a blocked face and a dust layer are one fouled condenser coil, and a
pair of faults counts for the work on each. A fault is claimed where its work is needed with a probability of
`CLAIM`; no fault is found from the same probability on, where the readings also fit.

References
----------
Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, ch. 7 and 9 (from memory). The limits from which
something is claimed: judgement, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import compress
from typing import Any, Literal

import numpy as np

from calibration.case.records import Case, Visit
from calibration.clean_fit.baseline import Baseline, baseline_without
from calibration.diagnosis.evidence import chi_square
from calibration.diagnosis.gross_errors import HUNTING_VALVE
from calibration.diagnosis.hypotheses import (
    FOULED_CONDENSER,
    NO_FAULT,
    NONE_OF_THESE,
    TREATMENTS,
    Hypotheses,
    hypotheses,
)
from calibration.diagnosis.impact import Explained, Impact, Loss, Stakes, impact_of, stakes
from calibration.diagnosis.next_reading import Suggestion, suggestions
from calibration.diagnosis.posterior import Posterior, Supported, freed_covariance, posteriors
from calibration.diagnosis.reading_rows import ExpectedRow, expected_rows
from calibration.diagnosis.scene import scene
from calibration.diagnosis.visit_model import Scene
from calibration.estimate import Estimate
from model.maintenance.growth import NORMAL_95

Verdict = Literal["no_fault", "fault", "inconclusive", "none_of_these"]

CLAIM = 2.0 / 3.0
"""A fault, or no fault, is claimed from this probability on [-]: twice as probable as all else together,
since somebody pays for a repair."""
NONE_CLAIM = 0.5
"""None of these is said from this probability on [-]."""
SUSPECT = 0.5
"""A reading more probably wrong than right is shown as suspect, its supported value beside it [-]."""
LISTED = 0.25
"""Readings are named as possibly wrong from this probability on [-]."""
POOR_FIT = 3.0
"""No fault is not claimed where the misfit lies this many of its standard deviations above the number of
readings [-]."""
SHOWN = 2
"""So many of the likeliest explanations with a fault are always worked out."""
WORTH_SHOWING = 0.03
"""Others are from this probability on [-]."""
MOST_SHOWN = 5
"""But no more than this many in all."""


@dataclass(frozen=True)
class Probability:
    """One explanation: its key, and its probability before and after the readings [-]."""

    key: str
    prior: float
    probability: float


@dataclass(frozen=True)
class Treatment:
    """What a person would do: key, probability that it is needed [-], and the faults that ask for it."""

    key: str
    probability: float
    faults: tuple[str, ...]


@dataclass(frozen=True)
class Suspect:
    """One reading that may be grossly wrong.

    Attributes
    ----------
    reading : str
        Key of the case file.
    probability : float
        That it is [-].
    read, supported : float
        What was read, and what the other readings support [SI].
    low, high : float
        Ends of the 90 % range of the supported value [SI].
    """

    reading: str
    probability: float
    read: float
    supported: float
    low: float
    high: float

    @property
    def is_suspect(self) -> bool:
        """Whether it is more probably wrong than right."""
        return self.probability >= SUSPECT


@dataclass(frozen=True)
class Judgement:
    """What is wrong by one visit's readings, and with the readings themselves; not yet how much it costs.

    Attributes
    ----------
    visit : Visit
    clean_visits : tuple of str
        Labels of the visits that the clean unit was fitted to; empty for the nameplate alone.
    verdict : str
        "no_fault", "fault", "inconclusive" or "none_of_these".
    probabilities : tuple of Probability
        Of every explanation, the likeliest first; they add to one.
    treatments : tuple of Treatment
        What a person would do, the most probably needed first.
    claimed : tuple of str
        Keys of the treatments that a verdict of "fault" claims.
    suspects : tuple of Suspect
        Readings that may be grossly wrong, the most probable first; from `LISTED` on.
    hunting_valve : float
        Probability that the expansion valve sticks or hunts [-].
    """

    visit: Visit
    clean_visits: tuple[str, ...]
    verdict: Verdict
    probabilities: tuple[Probability, ...]
    treatments: tuple[Treatment, ...]
    claimed: tuple[str, ...]
    suspects: tuple[Suspect, ...]
    hunting_valve: float

    def probability(self, key: str) -> float:
        """Probability of one explanation [-]; 0 for one that was not weighed."""
        return next((one.probability for one in self.probabilities if one.key == key), 0.0)

    def present(self, fault: str) -> float:
        """Probability that a fault is there, alone or with another [-]."""
        return sum(one.probability for one in self.probabilities if fault in one.key.split("+"))

    def needed(self, treatment: str) -> float:
        """Probability that a treatment is needed [-]."""
        return next((one.probability for one in self.treatments if one.key == treatment), 0.0)

    @property
    def probability_of_fouling(self) -> float:
        """Probability of a fouled condenser coil, alone or with another fault [-]."""
        return self.needed("clean_condenser")

    @property
    def claims_fouling(self) -> bool:
        """Whether a fouled condenser coil is claimed."""
        return "clean_condenser" in self.claimed

    @property
    def shows_condenser(self) -> bool:
        """Whether the readings say how dirty the condenser is: probably it is fouled, or nothing is wrong."""
        nothing_else = self.probability_of_fouling + self.probability(NO_FAULT) >= 0.5
        return self.verdict == "no_fault" or nothing_else

    def suspect(self, reading: str) -> Suspect | None:
        """The reading as a suspect, where it is more probably wrong than right."""
        return next((one for one in self.suspects if one.reading == reading and one.is_suspect), None)

    @property
    def visit_as_supported(self) -> Visit:
        """The visit with every suspect reading in the value that the others support."""
        values: dict[str, Any] = {one.reading: one.supported for one in self.suspects if one.is_suspect}
        return replace(self.visit, **values) if values else self.visit

    @property
    def supported_errors(self) -> dict[str, float]:
        """Standard errors of the values that stand in for suspect readings [SI], by their keys.

        Whatever is worked out from `visit_as_supported` has these in the place of the meters'.
        """
        return {
            one.reading: (one.high - one.low) / (2.0 * NORMAL_95) for one in self.suspects if one.is_suspect
        }


@dataclass(frozen=True)
class Finding(Judgement):
    """What one visit's readings say: the judgement, worked out.

    Attributes
    ----------
    nearest : str
        Key of the likeliest explanation with a fault.
    in_the_way : str
        Reading that fits it worst; empty where it fits.
    explained : tuple of Explained
        The likeliest explanations with a fault, worked out.
    fouling : Explained
        A blocked condenser face as the only fault, supposing that it is one.
    loss, design_loss : Loss
        At the visit's weather and at design weather, over all explanations by their probabilities.
    rows : tuple of ExpectedRow
        Every reading beside what the clean unit, the nearest explanation and `second` would show.
    second : str
        Key of the likeliest other single fault.
    rival : str
        Explanation that the first is compared with in `rows`.
    suggestions : tuple of Suggestion
        Readings to take or to repeat, the most telling first.
    stakes : Stakes
        Cost of being wrong about the likeliest fault either way.
    chi_square, no_fault_chi_square : float
        Squares of the standardised differences at the best explanation with a fault and without any,
        correlations taken into account, every reading taken as right [-].
    readings : int
        How many readings they are of.
    """

    nearest: str
    in_the_way: str
    explained: tuple[Explained, ...]
    fouling: Explained
    loss: Loss
    design_loss: Loss
    rows: tuple[ExpectedRow, ...]
    second: str
    rival: str
    suggestions: tuple[Suggestion, ...]
    stakes: Stakes
    chi_square: float
    no_fault_chi_square: float
    readings: int

    @property
    def blocked(self) -> Estimate:
        """Blocked share of the condenser's face, supposing that its coil is fouled [-]."""
        return self.fouling.levels[0].amount


def find(
    case: Case, visit: Visit, *, baseline: Baseline | None = None, weights: Hypotheses | None = None
) -> Finding:
    """What the readings of one visit of a case say.

    Parameters
    ----------
    case : Case
        For its clean visits, nameplate, meters, season and cleaning.
    visit : Visit
        Usually as found. A visit after cleaning is judged by the other visits after cleaning.
    baseline : Baseline, optional
        `calibration.clean_fit.baseline.baseline_of(case)` if it is there already.
    weights : Hypotheses, optional
        Explanations and their prior probabilities, in place of those for the reason of the visit.

    Returns
    -------
    Finding

    Raises
    ------
    ValueError
        Where the visit has no reading that the model could explain.
    """
    weights = weights or _usual_weights(visit)
    (found,) = _weighed(case, [visit], [baseline], [weights])
    return _found(case, found, weights)


def _found(case: Case, found: Posterior, weights: Hypotheses) -> Finding:
    """The judgement of one visit, and the rest worked out."""
    judged, place = _judgement(found, weights), found.place
    ranked = sorted(range(1, len(found.explanations)), key=lambda number: -_score(found, number))
    shown = _worth_showing(found, ranked)
    blocked = found.number(FOULED_CONDENSER[0])
    impact = impact_of(case, found, [*shown, *(() if blocked in shown else (blocked,))])
    alone = [number for number in ranked if len(found.explanations[number].hypothesis.faults) == 1]
    second = next(number for number in alone if number != ranked[0])
    rival = _rival(found, ranked)
    supported = {one.reading: one.supported for one in judged.suspects if one.is_suspect}
    return Finding(
        **vars(judged),
        nearest=found.explanations[ranked[0]].hypothesis.key,
        in_the_way=_in_the_way(found, ranked[0]),
        explained=impact.explained[: len(shown)],
        fouling=_worked_out(impact, FOULED_CONDENSER[0]),
        loss=impact.today,
        design_loss=impact.design,
        rows=expected_rows(found, [ranked[0], second], rival, supported),
        second=found.explanations[second].hypothesis.key,
        rival=found.explanations[rival].hypothesis.key,
        suggestions=suggestions(found),
        stakes=stakes(case, impact.explained[0], _needed(judged.treatments, impact.explained[0])),
        chi_square=chi_square(place, found.explanations[ranked[0]], _best_point(found, ranked[0])),
        no_fault_chi_square=chi_square(place, found.explanations[0], 0),
        readings=len(place.readings),
    )


def judge(case: Case, visit: Visit, *, baseline: Baseline | None = None) -> Judgement:
    """What is wrong by the readings of one visit, its cost not worked out: the judgement of `find`, sooner.

    Parameters
    ----------
    case : Case
        For its clean visits, nameplate and meters.
    visit : Visit
        As for `find`.
    baseline : Baseline, optional
        `calibration.clean_fit.baseline.baseline_of(case)` if it is there already.

    Returns
    -------
    Judgement

    Raises
    ------
    ValueError
        Where the visit has no reading that the model could explain.
    """
    weights = _usual_weights(visit)
    (found,) = _weighed(case, [visit], [baseline], [weights])
    return _judgement(found, weights)


def judged(case: Case, visits: Sequence[Visit], baselines: Sequence[Baseline]) -> list[Judgement]:
    """The judgement of several visits, of visits as found the whole finding.

    Clean visits, of which there may be many, go together, which is sooner; a visit as found goes alone, so
    that its figures are those of `find` to the last digit.

    Parameters
    ----------
    case : Case
        As for `find`.
    visits : sequence of Visit
        As many as memory allows: about 20 MB each.
    baselines : sequence of Baseline
        The unit as it is known without each.

    Returns
    -------
    list of Judgement
        One a visit.

    Raises
    ------
    ValueError
        Where a visit has no reading that the model could explain.
    """
    clean = [visit.coil == "clean" for visit in visits]
    weights = [_usual_weights(visit) for visit in compress(visits, clean)]
    weighed = _weighed(case, list(compress(visits, clean)), list(compress(baselines, clean)), weights)
    together = iter(map(_judgement, weighed, weights))
    return [
        next(together) if is_clean else find(case, visit, baseline=baseline)
        for visit, baseline, is_clean in zip(visits, baselines, clean, strict=True)
    ]


def _usual_weights(visit: Visit) -> Hypotheses:
    return hypotheses(visit.called_for, visit.coil == "clean")


def _weighed(
    case: Case,
    visits: Sequence[Visit],
    baselines: Sequence[Baseline | None],
    weights: Sequence[Hypotheses],
) -> list[Posterior]:
    """Every explanation against the readings of each visit, by the unit as the other clean visits know it."""
    places = []
    for visit, known in zip(visits, baselines, strict=True):
        baseline = baseline_without(case, visit, known)
        clean = [one for one in case.clean_visits if one.label in baseline.visits and one != visit]
        places.append(scene(baseline, clean, visit, case.instruments))
    return posteriors(places, weights)


def _judgement(found: Posterior, weights: Hypotheses) -> Judgement:
    treatments = _treatments(found)
    verdict, claimed = _verdict(found, treatments)
    supported = found.supported()
    return Judgement(
        visit=found.place.visit,
        clean_visits=found.place.baseline.visits,
        verdict=verdict,
        probabilities=_probabilities(found, weights.none_prior),
        treatments=treatments,
        claimed=claimed,
        suspects=_suspects(found, supported),
        hunting_valve=_hunting(found, supported),
    )


def _score(found: Posterior, number: int) -> float:
    """What explanations are ranked by: their evidence, which still orders them where none of them fits."""
    return found.explanations[number].evidence


def _worth_showing(found: Posterior, ranked: list[int]) -> list[int]:
    likeliest = enumerate(ranked[:MOST_SHOWN])
    return [n for place, n in likeliest if place < SHOWN or found.shares[n] > WORTH_SHOWING]


def _best_point(found: Posterior, number: int) -> int:
    return int(np.argmax(found.explanations[number].posterior))


def _worked_out(impact: Impact, key: str) -> Explained:
    return next(one for one in impact.explained if one.key == key)


def _rival(found: Posterior, ranked: list[int]) -> int:
    """The likeliest explanation without the work that the first asks for."""
    first = found.explanations[ranked[0]].hypothesis.treatments
    others = [n for n in (0, *ranked[1:]) if not first <= found.explanations[n].hypothesis.treatments]
    return max(others, key=lambda number: _score(found, number))


def _probabilities(found: Posterior, none_prior: float) -> tuple[Probability, ...]:
    rows = [
        Probability(one.hypothesis.key, one.hypothesis.prior, float(share))
        for one, share in zip(found.explanations, found.shares, strict=True)
    ]
    rows.append(Probability(NONE_OF_THESE, none_prior, found.none_of_these))
    return tuple(sorted(rows, key=lambda row: -row.probability))


def _treatments(found: Posterior) -> tuple[Treatment, ...]:
    """Probability that each treatment is needed, by all explanations with a fault that asks for it."""
    rows = []
    for key in dict.fromkeys(TREATMENTS.values()):
        share = sum(
            float(part)
            for part, one in zip(found.shares, found.explanations, strict=True)
            if key in one.hypothesis.treatments
        )
        rows.append(
            Treatment(key, share, tuple(f for f, treatment in TREATMENTS.items() if treatment == key))
        )
    return tuple(sorted(rows, key=lambda row: -row.probability))


def _needed(treatments: tuple[Treatment, ...], first: Explained) -> float:
    """Probability that some of the work for an explanation is needed."""
    wanted = {TREATMENTS[one.fault] for one in first.levels}
    return max(one.probability for one in treatments if one.key in wanted)


def _verdict(found: Posterior, treatments: tuple[Treatment, ...]) -> tuple[Verdict, tuple[str, ...]]:
    claimed = tuple(one.key for one in treatments if one.probability >= CLAIM)
    if claimed:
        return "fault", claimed
    if found.none_of_these >= NONE_CLAIM:
        return "none_of_these", ()
    if found.shares[0] >= CLAIM and _fits_without_fault(found):
        return "no_fault", ()
    return "inconclusive", ()


def _fits_without_fault(found: Posterior) -> bool:
    """Whether the readings fit a unit without fault, those that go best as wrong set free."""
    place, point = found.place, np.array([0])
    rows = place.readings
    covariance = freed_covariance(found, 0, point, [found.wrong_set(0, 0)])[0]
    off = place.values[rows] - found.explanations[0].expected[0, rows]
    square = float(off @ np.linalg.solve(covariance, off))
    return square <= rows.size + POOR_FIT * float(np.sqrt(2.0 * rows.size))


def _in_the_way(found: Posterior, number: int) -> str:
    """Reading whose gross error would help an explanation most; empty where none would help."""
    one = found.explanations[number]
    gains = np.logaddexp.reduce(one.one_wrong, axis=0) - float(np.logaddexp.reduce(one.right))
    readings = [n for n, name in enumerate(found.errors.names) if name != HUNTING_VALVE]
    best = max(readings, key=lambda n: gains[n], default=None)
    return found.errors.names[best] if best is not None and gains[best] > 0.0 else ""


def _hunting(found: Posterior, supported: Sequence[Supported]) -> float:
    names = found.errors.names
    return supported[names.index(HUNTING_VALVE)].probability if HUNTING_VALVE in names else 0.0


def _suspects(found: Posterior, supported: Sequence[Supported]) -> tuple[Suspect, ...]:
    """Readings that may be grossly wrong, in the unit of the reading."""
    place, rows = found.place, []
    for number, (name, one) in enumerate(zip(found.errors.names, supported, strict=True)):
        if name == HUNTING_VALVE or one.probability < LISTED:
            continue
        read = _as_read(place, name)
        # An error of a setting is a change that the setting should have had; of a reading, one it should not.
        side = -1.0 if found.errors.rows[number] >= 0 else 1.0
        size = side * found.errors.spread[number]
        ends = sorted(size * (one.error + reach * one.spread) for reach in (-NORMAL_95, NORMAL_95))
        shifted = [_shifted(place, name, read, change) for change in (size * one.error, *ends)]
        rows.append(Suspect(name, one.probability, read, *shifted))
    return tuple(sorted(rows, key=lambda row: -row.probability))


def _as_read(place: Scene, name: str) -> float:
    value = getattr(place.visit, name)
    return float(place.settings[name] if value is None else value)


def _shifted(place: Scene, name: str, read: float, change: float) -> float:
    """A reading changed by so much of its row: the airflow's row is a logarithm."""
    if name == place.names[place.airflow_row]:
        return float(read * np.exp(change))
    return read + change
