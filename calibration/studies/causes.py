"""How good the fault match is: invented visits with known faults, matched, counted.

Units are invented with numbers and forms that the fit does not know (`calibration.studies.true_units`), read
once clean and once as found on another day in other weather, with errors between the meters' documented
limits. What is wrong is drawn from the prior odds of `calibration.diagnosis.hypotheses` and its level from
the prior density; so probabilities that are right for these visits are right on average for no other mix.
Faults differ from the model's idea of them too: a blocked face has some dust, low indoor airflow is a dirty
coil every other time. A visit of "none of these" has all errors three times their size, or one gross error,
or two. Visits at which the unit would trip are drawn again: nobody can read them.

Pairs are not weighed and not drawn.

References
----------
Brier, Verification of forecasts expressed in terms of probability, Monthly Weather Review 78, 1950. Expected
calibration error: Naeini, Cooper, Hauskrecht, Obtaining well calibrated probabilities using Bayesian binning,
2015. Both from memory.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from calibration.case.meters import Instruments
from calibration.case.records import UnitDescription, Visit
from calibration.clean_fit.baseline import fit_baseline
from calibration.diagnosis.evidence import probabilities, weighed
from calibration.diagnosis.hypotheses import (
    FOULED_CONDENSER,
    NONE,
    Candidates,
    candidates,
    drawn_level,
    faults_at,
)
from calibration.diagnosis.match import claimed, look_alikes
from calibration.diagnosis.visit_model import STOPPED, scene
from calibration.studies.true_units import (
    another_day,
    drawn_unit,
    drawn_weather,
    read_visit,
    true_point,
    with_gross_error,
    with_readings_only,
)
from model.cycle.faults import HEALTHY, Faults
from model.cycle.solve import STATES

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

VISITS = 2000
SEED = 20_261_125
AIR_AND_PIPES = frozenset(
    {
        "outdoor_db",
        "return_db",
        "return_wb",
        "supply_db",
        "supply_wb",
        "condenser_leaving_db",
        "suction_pressure",
        "liquid_pressure",
        "suction_temperature",
        "liquid_temperature",
        "discharge_temperature",
    }
)
RUNNING_READINGS = AIR_AND_PIPES | {
    "discharge_pressure",
    "indoor_airflow",
    "indoor_power",
    "outdoor_power",
    "outdoor_fan_power",
}
FULL = RUNNING_READINGS | {"standing_pressure", "standing_temperature"}
READING_SETS: dict[str, frozenset[str]] = {
    "full set of readings": FULL,
    "full set, but not the pressure with the unit off": RUNNING_READINGS,
    "pressures, pipe and air temperatures": AIR_AND_PIPES,
}
"""What is read at both visits of a unit."""
COSTLY = 0.10
"""Loss of EER or capacity from which a fault should be found [-]."""
COST_EDGES = (0.0, 0.02, 0.05, 0.10, 0.20, 1.0)
"""Bins of the EER that a fault costs [-]."""
BINS = 10
"""Bins of probability in the reliability table."""
MOST_DRAWS = 200
WANTED = {"full set of readings": 0.90, "pressures, pipe and air temperatures": 0.75}
"""Share of costly faults that should come first."""
MOST_FALSE_ALARMS, MOST_CALIBRATION_ERROR = 0.03, 0.05


@dataclass(frozen=True)
class Outcomes:
    """Matches of all visits with one set of readings.

    Attributes
    ----------
    labels : tuple of str
        Clean, faults, none of these.
    probabilities : array (visits, labels)
    truth : array of int (visits,)
        Index of the true label.
    eer_cost, capacity_cost : array (visits,)
        Share of EER and of capacity that the fault takes at the visit [-].
    group : array of bool (visits, labels)
        Which causes the match reports as one group of look-alikes.
    claims : array of bool (visits,)
        Whether a fault or a group is claimed.
    """

    labels: tuple[str, ...]
    probabilities: Array
    truth: Whole
    eer_cost: Array
    capacity_cost: Array
    group: NDArray[np.bool_]
    claims: NDArray[np.bool_]

    @property
    def first(self) -> Whole:
        """Index of the likeliest explanation of each visit."""
        return np.asarray(np.argmax(self.probabilities, axis=1))

    @property
    def costly(self) -> NDArray[np.bool_]:
        """Visits with a fault that takes `COSTLY` or more of EER or capacity."""
        fault = (self.truth > 0) & (self.truth < len(self.labels) - 1)
        return fault & (np.maximum(self.eer_cost, self.capacity_cost) >= COSTLY)

    @property
    def first_right(self) -> float:
        """Share of costly faults that come first, before clean and none as well [-]."""
        return _share((self.first == self.truth)[self.costly])

    @property
    def fouled_as_one(self) -> float:
        """The same, a blocked face and a dust layer counted as one fault: both are a fouled condenser [-].

        The two are added before the likeliest is looked for, so this is what "a fouled condenser coil" on the
        page is worth.
        """
        forms = [self.labels.index(name) for name in FOULED_CONDENSER]
        kept, *others = forms
        merged = self.probabilities.copy()
        merged[:, kept] += merged[:, others].sum(axis=1)
        merged[:, others] = 0.0
        truth = np.where(np.isin(self.truth, forms), kept, self.truth)
        return _share((np.argmax(merged, axis=1) == truth)[self.costly])

    @property
    def group_right(self) -> float:
        """The same, a fault within the group of look-alikes that comes first counted as right [-]."""
        grouped = np.where(self.group, self.probabilities, 0.0).sum(axis=1)
        others = np.where(self.group, 0.0, self.probabilities).max(axis=1)
        inside = self.group[np.arange(len(self.truth)), self.truth]
        return _share((inside & (grouped > others))[self.costly])

    @property
    def group_size(self) -> float:
        """Mean number of faults in a claimed group of a costly fault [-]; 0 where none is claimed."""
        sizes = self.group.sum(axis=1)[self.costly & self.claims]
        return float(sizes.mean()) if sizes.size else 0.0

    @property
    def false_alarms(self) -> float:
        """Share of clean visits at which a fault or a group is claimed [-]."""
        return _share(self.claims[self.truth == 0])

    @property
    def missed(self) -> tuple[tuple[float, float, int, float], ...]:
        """For each bin of EER cost: its edges, visits, and share at which nothing is claimed [-]."""
        fault = (self.truth > 0) & (self.truth < len(self.labels) - 1)
        rows = []
        for low, high in pairwise(COST_EDGES):
            chosen = fault & (self.eer_cost < high) & ((self.eer_cost >= low) | (low == 0.0))
            rows.append((low, high, int(chosen.sum()), _share(~self.claims[chosen])))
        return tuple(rows)

    @property
    def confusion(self) -> Whole:
        """Visits by true label (rows) and first label (columns): costly faults, clean, none of these."""
        counted = self.costly | (self.truth == 0) | (self.truth == len(self.labels) - 1)
        table = np.zeros((len(self.labels), len(self.labels)), dtype=np.int64)
        np.add.at(table, (self.truth[counted], self.first[counted]), 1)
        return table

    @property
    def reliability(self) -> tuple[tuple[float, float, int, float, float], ...]:
        """For each bin of the first one's probability: edges, visits, mean probability, share right."""
        best, right = self.probabilities.max(axis=1), self.first == self.truth
        place = np.minimum((best * BINS).astype(int), BINS - 1)
        return tuple(
            (
                number / BINS,
                (number + 1) / BINS,
                int(chosen.sum()),
                float(best[chosen].mean()),
                _share(right[chosen]),
            )
            for number in range(BINS)
            if np.any(chosen := place == number)
        )

    @property
    def calibration_error(self) -> float:
        """Mean distance between probability and share right over the bins, by their visits [-]."""
        rows = self.reliability
        return sum(count * abs(mean - share) for _, _, count, mean, share in rows) / len(self.truth)

    @property
    def brier(self) -> float:
        """Mean squared distance of the probabilities from the truth, summed over labels [-]: 0 to 2."""
        target = np.eye(len(self.labels))[self.truth]
        return float(np.mean(np.sum((self.probabilities - target) ** 2, axis=1)))


def _share(hits: NDArray[np.bool_]) -> float:
    return float(np.mean(hits)) if hits.size else 0.0


@dataclass(frozen=True)
class FaultsStudy:
    """Outcomes by set of readings.

    Attributes
    ----------
    visits, seed : int
    outcomes : dict of str to Outcomes
    """

    visits: int
    seed: int
    outcomes: dict[str, Outcomes]


@dataclass(frozen=True)
class TrueCase:
    """A unit's nameplate, its two visits, and what is really wrong: label, EER and capacity it takes [-]."""

    description: UnitDescription
    clean: Visit
    found: Visit
    label: str
    eer_cost: float
    capacity_cost: float


def faults_study(
    visits: int = VISITS,
    seed: int = SEED,
    sets: tuple[str, ...] = tuple(READING_SETS),
    progress: Callable[[float], None] | None = None,
) -> FaultsStudy:
    """Draw visits with known faults, match each, count.

    Parameters
    ----------
    visits : int
        How many, at least 1.
    seed : int
        Of the draws; every visit has its own, so that more visits do not change the first ones.
    sets : tuple of str
        Keys of `READING_SETS`.
    progress : callable, optional
        Called with the share done [-].

    Raises
    ------
    ValueError
        Where `visits` is below 1.
    """
    if visits < 1:
        raise ValueError(f"visits must be at least 1, got {visits}")
    weights = candidates()
    labels = (*(one.name for one in weights.all), NONE)
    rows: dict[str, list[tuple[Array, NDArray[np.bool_], bool]]] = {name: [] for name in sets}
    truths = []
    for number in range(visits):
        true = drawn_case(np.random.default_rng([seed, number]), weights)
        truths.append(true)
        for name in sets:
            rows[name].append(_matched(true, READING_SETS[name], weights, labels))
        if progress is not None:
            progress((number + 1) / visits)
    return FaultsStudy(visits, seed, {name: _outcomes(labels, truths, rows[name]) for name in sets})


def _outcomes(
    labels: tuple[str, ...], truths: list[TrueCase], rows: list[tuple[Array, NDArray[np.bool_], bool]]
) -> Outcomes:
    return Outcomes(
        labels=labels,
        probabilities=np.stack([shares for shares, _, _ in rows]),
        truth=np.array([labels.index(true.label) for true in truths]),
        eer_cost=np.array([true.eer_cost for true in truths]),
        capacity_cost=np.array([true.capacity_cost for true in truths]),
        group=np.stack([group for _, group, _ in rows]),
        claims=np.array([claim for _, _, claim in rows]),
    )


def _matched(
    true: TrueCase, names: frozenset[str], weights: Candidates, labels: tuple[str, ...]
) -> tuple[Array, NDArray[np.bool_], bool]:
    """Probabilities, group of look-alikes by label, and whether a fault is claimed."""
    clean, found = with_readings_only(true.clean, names), with_readings_only(true.found, names)
    baseline = fit_baseline(true.description, [clean])
    place = scene(baseline, [clean], found, Instruments())
    explanations = weighed(place, weights.all)
    shares = probabilities(explanations, weights.none_prior)
    ranked = sorted(range(1, len(explanations)), key=lambda number: -shares[number])
    group = look_alikes(explanations, ranked)
    return shares, np.isin(labels, group), claimed(shares, labels, group)


def drawn_case(draw: np.random.Generator, weights: Candidates) -> TrueCase:
    """A unit, its clean visit, and its visit as found with something or nothing wrong.

    Parameters
    ----------
    draw : numpy.random.Generator
        Of unit, weather, fault, level and errors.
    weights : Candidates
        Prior odds that faults are drawn from.

    Returns
    -------
    TrueCase
        What was drawn, and what is really wrong.

    Raises
    ------
    RuntimeError
        Where `MOST_DRAWS` draws found no pair of visits that could be read.
    """
    priors = np.array([one.prior for one in weights.all])
    for _ in range(MOST_DRAWS):
        true, weather = drawn_unit(draw), drawn_weather(draw)
        point = true_point(true, weather)
        if STATES[int(point.state)] != "ok":
            continue
        clean = read_visit(true, weather, point, draw, label="clean")
        candidate = weights.all[int(draw.choice(len(priors), p=priors / priors.sum()))]
        level = float(drawn_level(draw.random())) if candidate.faults else 0.0
        faults = _impure(faults_at(candidate, [level] * len(candidate.faults)), level, draw)
        day, weather = another_day(true, draw), drawn_weather(draw)
        whole, faulty = true_point(day, weather), true_point(day, weather, faults)
        if int(faulty.state) in STOPPED or int(whole.state) in STOPPED:
            continue
        found = read_visit(day, weather, faulty, draw, faults=faults)
        label = candidate.name
        if draw.random() < weights.none_prior:
            found, label = with_gross_error(found, AIR_AND_PIPES, draw), NONE
        cost = [1.0 - float(getattr(faulty, name) / getattr(whole, name)) for name in ("eer", "net_capacity")]
        return TrueCase(true.description, clean, found, label, cost[0], cost[1])
    raise RuntimeError(f"no pair of visits that could be read was found in {MOST_DRAWS} draws")


def _impure(faults: Faults, level: float, draw: np.random.Generator) -> Faults:
    """Faults as they come in the field: a little of another form than the model's."""
    if faults is HEALTHY:
        return faults
    if np.any(np.asarray(faults.condenser_blocked) > 0):
        return replace(faults, condenser_dust=draw.uniform(0.0, 0.5) * level)
    if np.any(np.asarray(faults.condenser_dust) > 0):
        return replace(faults, condenser_blocked=draw.uniform(0.0, 0.05) * level)
    if np.any(np.asarray(faults.evaporator_airflow_lost) > 0) and draw.random() < 0.5:
        lost = float(np.asarray(faults.evaporator_airflow_lost))
        return replace(faults, evaporator_airflow_lost=0.7 * lost, evaporator_dust=2.0 * lost)
    return faults
