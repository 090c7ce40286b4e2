"""What a study of invented visits counts: hits, false alarms, and whether probabilities hold.

References
----------
Brier, Verification of forecasts expressed in terms of probability, Monthly Weather Review 78, 1950. Expected
calibration error: Naeini, Cooper, Hauskrecht, Obtaining well calibrated probabilities using Bayesian binning,
2015. Both from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from calibration.diagnosis.finding import SUSPECT
from calibration.diagnosis.hypotheses import NO_FAULT, NONE_OF_THESE
from model.arrays import Array, BoolArray, IntArray

COSTLY = 0.10
"""Loss of EER or capacity from which a fault should be found [-]."""
COSTLY_OF_PAIR = 0.05
"""Loss by each of two faults alone from which both should be found [-]."""
COST_EDGES = (0.0, 0.02, 0.05, 0.10, 0.20, 1.0)
"""Bins of the EER that a fault costs [-]."""
BINS = 10
"""Bins of probability in the reliability table."""
LEAST_SUSPECT = 0.05
"""Readings suspected with less than that are not counted in the reliability of suspects [-]."""
WANTED = {"full set of readings": 0.90, "pressures, pipe and air temperatures": 0.75}
"""Share of costly faults that should come first."""
WANTED_PAIRS = 0.80
"""Share of costly pairs that should come first with the full set [-]."""
MOST_FALSE_ALARMS, MOST_CALIBRATION_ERROR = 0.03, 0.05


@dataclass(frozen=True)
class Outcomes:
    """Findings of all visits with one set of readings.

    Attributes
    ----------
    labels : tuple of str
        What a person would do: `NO_FAULT`, sets of treatments joined by "+", `NONE_OF_THESE`.
    probabilities : array (visits, labels)
    truth : array of int (visits,)
        Index of the true label.
    eer_cost, capacity_cost : array (visits,)
        Share of EER and of capacity that the fault costs at the visit [-].
    each_costs : array (visits,)
        The larger of both for the fault of a pair that costs less alone [-].
    claims : array of bool (visits,)
        Whether some treatment is claimed.
    suspicion : array (pairs of visit and reading,)
        Probability that a reading is grossly wrong [-].
    wrong : array of bool, as `suspicion`
        Whether it is.
    """

    labels: tuple[str, ...]
    probabilities: Array
    truth: IntArray
    eer_cost: Array
    capacity_cost: Array
    each_costs: Array
    claims: BoolArray
    suspicion: Array
    wrong: BoolArray

    @property
    def first(self) -> IntArray:
        """Index of the likeliest label of each visit."""
        return np.asarray(np.argmax(self.probabilities, axis=1))

    @property
    def _pair(self) -> BoolArray:
        pairs = [label_index for label_index, label in enumerate(self.labels) if "+" in label]
        return np.asarray(np.isin(self.truth, pairs), dtype=np.bool_)

    @property
    def _single(self) -> BoolArray:
        named = np.array(
            [self.labels[place] in (NO_FAULT, NONE_OF_THESE) for place in self.truth], dtype=bool
        )
        return np.asarray(~self._pair & ~named)

    @property
    def costly(self) -> BoolArray:
        """Visits with one fault that costs `COSTLY` or more of EER or capacity."""
        return self._single & (np.maximum(self.eer_cost, self.capacity_cost) >= COSTLY)

    @property
    def costly_pairs(self) -> BoolArray:
        """Visits with two faults each of which alone costs `COSTLY_OF_PAIR` or more."""
        return self._pair & (self.each_costs >= COSTLY_OF_PAIR)

    @property
    def first_right(self) -> float:
        """Share of costly faults that come first [-]."""
        return _share((self.first == self.truth)[self.costly])

    @property
    def pairs_right(self) -> float:
        """Share of costly pairs that come first, both named [-]."""
        return _share((self.first == self.truth)[self.costly_pairs])

    @property
    def false_alarms(self) -> float:
        """Share of visits without fault at which one is claimed [-]."""
        return _share(self.claims[self.truth == self.labels.index(NO_FAULT)])

    @property
    def missed(self) -> tuple[tuple[float, float, int, float], ...]:
        """For each bin of EER cost: its edges, visits, and share at which nothing is claimed [-]."""
        fault = self._single | self._pair
        rows = []
        for low, high in pairwise(COST_EDGES):
            chosen = fault & (self.eer_cost < high) & ((self.eer_cost >= low) | (low == 0.0))
            rows.append((low, high, int(chosen.sum()), _share(~self.claims[chosen])))
        return tuple(rows)

    @property
    def confusion(self) -> tuple[tuple[str, ...], IntArray]:
        """Labels that occur, and visits by true (rows) and first label (columns); no mild faults."""
        counted = self.costly | self.costly_pairs | ~(self._single | self._pair)
        used = sorted(set(self.truth[counted]) | set(self.first[counted]))
        table = np.zeros((len(used), len(used)), dtype=np.int64)
        np.add.at(
            table, (np.searchsorted(used, self.truth[counted]), np.searchsorted(used, self.first[counted])), 1
        )
        return tuple(self.labels[place] for place in used), table

    @property
    def reliability(self) -> tuple[tuple[float, float, int, float, float], ...]:
        """For each bin of the first label's probability: edges, visits, mean probability, share right."""
        return reliability_rows(self.probabilities.max(axis=1), self.first == self.truth)

    @property
    def calibration_error(self) -> float:
        """Mean distance between probability and share right over the bins, by their visits [-]."""
        return calibration_error(self.reliability)

    @property
    def suspect_reliability(self) -> tuple[tuple[float, float, int, float, float], ...]:
        """The same for suspect readings from `LEAST_SUSPECT` on."""
        counted = self.suspicion >= LEAST_SUSPECT
        return reliability_rows(self.suspicion[counted], self.wrong[counted])

    @property
    def suspect_calibration_error(self) -> float:
        """The same for suspect readings [-]."""
        return calibration_error(self.suspect_reliability)

    @property
    def suspects_found(self) -> float:
        """Share of gross errors whose reading is more probably wrong than right [-]."""
        return _share((self.suspicion >= SUSPECT)[self.wrong])

    @property
    def innocent_suspects(self) -> float:
        """Share of suspect readings that are right [-]."""
        return _share(~self.wrong[self.suspicion >= SUSPECT])

    @property
    def brier(self) -> float:
        """Mean squared distance of the probabilities from the truth, summed over labels [-]: 0 to 2."""
        target = np.eye(len(self.labels))[self.truth]
        return float(np.mean(np.sum((self.probabilities - target) ** 2, axis=1)))


def reliability_rows(
    probability: Array, right: BoolArray
) -> tuple[tuple[float, float, int, float, float], ...]:
    """How often what was given a probability was true, in bins.

    Parameters
    ----------
    probability : ndarray, shape (n,)
        [-]
    right : ndarray of bool, shape (n,)

    Returns
    -------
    tuple of tuples
        For each bin with entries: edges, count, mean probability, share right [-].
    """
    place = np.minimum((probability * BINS).astype(int), BINS - 1)
    return tuple(
        (
            number / BINS,
            (number + 1) / BINS,
            int(chosen.sum()),
            float(probability[chosen].mean()),
            _share(right[chosen]),
        )
        for number in range(BINS)
        if np.any(chosen := place == number)
    )


def calibration_error(rows: Sequence[tuple[float, float, int, float, float]]) -> float:
    """Expected calibration error of the rows of `reliability_rows` [-]; 0 without any."""
    count = sum(row[2] for row in rows)
    return sum(row[2] * abs(row[3] - row[4]) for row in rows) / count if count else 0.0


def _share(hits: BoolArray) -> float:
    return float(np.mean(hits)) if hits.size else 0.0
