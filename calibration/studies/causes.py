"""How good the finding is: invented visits with known faults and known gross errors, found, counted.

Visits are those of `calibration.studies.true_cases`: faults drawn from the prior odds that the finding starts
from, or from others, a gross error in one visit of three. So probabilities that are right for these visits
are right on average for no other mix. A visit of "none of these" has all errors three times their size.

Counted is what a person would do: a blocked face and a dust layer are one fouled condenser coil, and of a
pair both must be named (`calibration.studies.outcomes`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from calibration.case.meters import Instruments
from calibration.clean_fit.baseline import fit_baseline
from calibration.diagnosis.finding import CLAIM
from calibration.diagnosis.gross_errors import HUNTING_VALVE
from calibration.diagnosis.hypotheses import NONE_OF_THESE, TREATMENTS, Hypotheses, hypotheses
from calibration.diagnosis.posterior import posterior_of
from calibration.diagnosis.scene import scene
from calibration.studies.outcomes import Outcomes
from calibration.studies.true_cases import ODDS, TrueCase, drawing_weights, drawn_case, label_of
from calibration.studies.true_units import with_readings_only
from model.arrays import Array, BoolArray

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


@dataclass(frozen=True)
class FaultsStudy:
    """Outcomes by set of readings.

    Attributes
    ----------
    visits, seed : int
    odds : str
        Mix that the faults were drawn from.
    outcomes : dict of str to Outcomes
    """

    visits: int
    seed: int
    odds: str
    outcomes: dict[str, Outcomes]


def faults_study(
    visits: int = VISITS,
    seed: int = SEED,
    sets: tuple[str, ...] = tuple(READING_SETS),
    progress: Callable[[float], None] | None = None,
    odds: str = ODDS[0],
) -> FaultsStudy:
    """Draw visits with known faults, find what is wrong with each, count.

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
    odds : str
        Mix that faults are drawn from, one of `ODDS`; they are always weighed with the finding's own.

    Returns
    -------
    FaultsStudy

    Raises
    ------
    ValueError
        Where `visits` is below 1.
    """
    if visits < 1:
        raise ValueError(f"visits must be at least 1, got {visits}")
    drawn, weights = drawing_weights(odds), hypotheses()
    labels = (*dict.fromkeys(label_of(one) for one in weights.all), NONE_OF_THESE)
    rows: dict[str, list[_Judged]] = {name: [] for name in sets}
    truths = []
    for number in range(visits):
        true = drawn_case(np.random.default_rng([seed, number]), drawn)
        truths.append(true)
        for name in sets:
            rows[name].append(_judged(true, READING_SETS[name], weights, labels))
        if progress is not None:
            progress((number + 1) / visits)
    return FaultsStudy(visits, seed, odds, {name: _outcomes(labels, truths, rows[name]) for name in sets})


@dataclass(frozen=True)
class _Judged:
    """Probabilities by label, whether a treatment is claimed, suspicion of each reading and its truth."""

    shares: Array
    claims: bool
    suspicion: Array
    wrong: BoolArray


def _judged(true: TrueCase, names: frozenset[str], weights: Hypotheses, labels: tuple[str, ...]) -> _Judged:
    clean, visit = with_readings_only(true.clean, names), with_readings_only(true.found, names)
    baseline = fit_baseline(true.description, [clean])
    found = posterior_of(scene(baseline, [clean], visit, Instruments()), weights)
    shares = dict.fromkeys(labels, 0.0) | {NONE_OF_THESE: found.none_of_these}
    needed = dict.fromkeys(TREATMENTS.values(), 0.0)
    for share, one in zip(found.shares, found.explanations, strict=True):
        shares[label_of(one.hypothesis)] += float(share)
        for treatment in one.hypothesis.treatments:
            needed[treatment] += float(share)
    chances = {
        name: one.probability
        for name, one in zip(found.errors.names, found.supported(), strict=True)
        if name != HUNTING_VALVE
    }
    return _Judged(
        np.array([shares[label] for label in labels]),
        max(needed.values()) >= CLAIM,
        np.array(list(chances.values())),
        np.array([name == true.wrong for name in chances]),
    )


def _outcomes(labels: tuple[str, ...], truths: list[TrueCase], rows: list[_Judged]) -> Outcomes:
    return Outcomes(
        labels=labels,
        probabilities=np.stack([one.shares for one in rows]),
        truth=np.array([labels.index(true.label) for true in truths]),
        eer_cost=np.array([true.eer_cost for true in truths]),
        capacity_cost=np.array([true.capacity_cost for true in truths]),
        each_costs=np.array([true.each_costs for true in truths]),
        claims=np.array([one.claims for one in rows]),
        suspicion=np.concatenate([one.suspicion for one in rows]),
        wrong=np.concatenate([one.wrong for one in rows]),
    )
