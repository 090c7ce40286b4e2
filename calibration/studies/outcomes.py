"""What a study of invented visits counts: hits, false alarms, and whether probabilities hold.

Every share comes with its binomial standard error, by which it would scatter if other visits were drawn.

Few visits in a bin scatter around their probability even where it is right, so the plain calibration error of
a small study is never small. What is judged is therefore the error with that scatter taken out: in each bin
the square of the distance between mean probability and share right, less what chance alone gives it, added up
by visits, and the root of the sum. Beside it are the plain one and what chance alone would make of it. Bins
hold equally many visits, `FEWEST_IN_BIN` or more.

References
----------
Brier, Verification of forecasts expressed in terms of probability, Monthly Weather Review 78, 1950. Expected
calibration error: Naeini, Cooper, Hauskrecht, Obtaining well calibrated probabilities using Bayesian binning,
2015. Scatter taken out of its square: Kumar, Liang, Ma, Verified uncertainty calibration, 2019. All from
memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from calibration.diagnosis.finding import SUSPECT
from calibration.diagnosis.hypotheses import NO_FAULT, NONE_OF_THESE
from calibration.studies.true_cases import COSTLY, COSTLY_OF_PAIR
from model.arrays import Array, BoolArray, IntArray

COST_EDGES = (0.0, 0.02, 0.05, 0.10, 0.20, 1.0)
"""Bins of the EER that a fault costs [-]."""
MOST_BINS, FEWEST_IN_BIN = 10, 25
"""Bins of probability in the reliability table, and visits that one has where there are enough for two."""
LEAST_SUSPECT = 0.05
"""Readings suspected with less than that are not counted in the reliability of suspects [-]."""
WANTED = {"full set of readings": 0.90, "pressures, pipe and air temperatures": 0.75}
"""Share of costly faults that should come first."""
WANTED_PAIRS = 0.80
"""Share of costly pairs that should come first with the full set [-]."""
MOST_FALSE_ALARMS, MOST_CALIBRATION_ERROR = 0.03, 0.05


class Share(NamedTuple):
    """A share, its binomial standard error [-], and of how many it is."""

    value: float
    error: float
    of: int


class ReliabilityRow(NamedTuple):
    """One bin: its lowest and highest probability, entries, mean probability and share right [-]."""

    low: float
    high: float
    entries: int
    mean: float
    right: float


class Calibration(NamedTuple):
    """Whether probabilities hold.

    rows: the bins; error: root mean square distance of probability and share right with the scatter of chance
    taken out; plain: their mean distance as counted; by_chance: what that would be on average if every
    probability were right [-].
    """

    rows: tuple[ReliabilityRow, ...]
    error: float
    plain: float
    by_chance: float


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
    def first_right(self) -> Share:
        """Share of costly faults that come first."""
        return share_of((self.first == self.truth)[self.costly])

    @property
    def pairs_right(self) -> Share:
        """Share of costly pairs that come first, both named."""
        return share_of((self.first == self.truth)[self.costly_pairs])

    @property
    def false_alarms(self) -> Share:
        """Share of visits without fault at which one is claimed."""
        return share_of(self.claims[self.truth == self.labels.index(NO_FAULT)])

    @property
    def missed(self) -> tuple[tuple[float, float, int, float], ...]:
        """For each bin of EER cost: its edges, visits, and share at which nothing is claimed [-]."""
        fault = self._single | self._pair
        rows = []
        for low, high in pairwise(COST_EDGES):
            chosen = fault & (self.eer_cost < high) & ((self.eer_cost >= low) | (low == 0.0))
            rows.append((low, high, int(chosen.sum()), share_of(~self.claims[chosen]).value))
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
    def calibration(self) -> Calibration:
        """Whether the first label's probability is the share at which it is right."""
        return calibration_of(self.probabilities.max(axis=1), self.first == self.truth)

    @property
    def suspect_calibration(self) -> Calibration:
        """The same of readings suspected with `LEAST_SUSPECT` or more."""
        counted = self.suspicion >= LEAST_SUSPECT
        return calibration_of(self.suspicion[counted], self.wrong[counted])

    @property
    def suspects_found(self) -> Share:
        """Share of gross errors whose reading is more probably wrong than right."""
        return share_of((self.suspicion >= SUSPECT)[self.wrong])

    @property
    def innocent_suspects(self) -> Share:
        """Share of suspect readings that are right."""
        return share_of(~self.wrong[self.suspicion >= SUSPECT])

    @property
    def brier(self) -> float:
        """Mean squared distance of the probabilities from the truth, summed over labels [-]: 0 to 2."""
        target = np.eye(len(self.labels))[self.truth]
        return float(np.mean(np.sum((self.probabilities - target) ** 2, axis=1)))


def calibration_of(probability: Array, right: BoolArray) -> Calibration:
    """How often what was given a probability was true, in bins of equally many.

    Parameters
    ----------
    probability : ndarray, shape (n,)
        [-]
    right : ndarray of bool, shape (n,)

    Returns
    -------
    Calibration
        Without rows where n is 0.
    """
    count = len(probability)
    bins = int(np.clip(count // FEWEST_IN_BIN, 1, MOST_BINS)) if count else 0
    order = np.argsort(probability, kind="stable")
    rows, squares, chances = [], [], []
    for part in np.array_split(order, bins) if bins else []:
        given = probability[part]
        mean, share = float(given.mean()), float(right[part].mean())
        # The share right has the variance of so many trials, each with its own probability.
        variance = float(np.sum(given * (1.0 - given))) / len(part) ** 2
        rows.append(ReliabilityRow(float(given[0]), float(given[-1]), len(part), mean, share))
        squares.append(len(part) * ((mean - share) ** 2 - variance))
        chances.append(len(part) * np.sqrt(2.0 / np.pi * variance))
    whole = max(count, 1)
    return Calibration(
        rows=tuple(rows),
        error=float(np.sqrt(max(sum(squares) / whole, 0.0))),
        plain=sum(row.entries * abs(row.mean - row.right) for row in rows) / whole,
        by_chance=float(sum(chances)) / whole,
    )


def share_of(hits: BoolArray) -> Share:
    """Share of hits.

    Parameters
    ----------
    hits : ndarray of bool, shape (n,)

    Returns
    -------
    Share
        0 with an error of 0 of nothing.
    """
    count = hits.size
    value = float(np.mean(hits)) if count else 0.0
    # One hit and one miss more keep the error of 0 and of 100 % from vanishing (Agresti and Coull 1998).
    shrunk = (count * value + 1.0) / (count + 2.0)
    return Share(value, float(np.sqrt(shrunk * (1.0 - shrunk) / (count + 2.0))) if count else 0.0, count)
