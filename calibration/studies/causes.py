"""How good the finding is: invented visits with known faults and known gross errors, found, counted.

Visits are those of `calibration.studies.true_cases`: faults drawn from the prior odds that the finding starts
from, or from others, a gross error in one visit of three. So probabilities that are right for these visits
are right on average for no other mix. A visit of "none of these" has all errors three times their size.

False alarms, missed faults and calibration are counted on that mix. Whether costly faults and pairs come
first is counted on further visits that all have one, because in the mix few do.

Counted is what a person would do: a blocked face and a dust layer are one fouled condenser coil, and of a
pair both must be named (`calibration.studies.outcomes`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, MutableMapping
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
from calibration.studies.true_cases import (
    COSTLY_MIXES,
    ODDS,
    TrueCase,
    drawing_weights,
    drawn_case,
    label_of,
)
from calibration.studies.true_units import with_readings_only

VISITS, COSTLY_VISITS = 1000, 200
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


LABELS: tuple[str, ...] = (*dict.fromkeys(label_of(one) for one in hypotheses().all), NONE_OF_THESE)
"""What a person would do, in the order of the explanations."""


@dataclass(frozen=True)
class Judged:
    """One visit found with one set of readings, beside its truth; plain values, so that it can be kept.

    Attributes
    ----------
    truth : str
        What a person would do, one of `LABELS`.
    costs : list of float
        Share of EER and of capacity lost, and that of the lesser fault alone [-].
    shares : dict of str to float
        Probability of every label [-].
    claims : bool
        Whether a treatment is claimed.
    suspicion : dict of str to float
        Probability that each reading is grossly wrong [-].
    wrong : list of str
        Readings that are.
    """

    truth: str
    costs: list[float]
    shares: dict[str, float]
    claims: bool
    suspicion: dict[str, float]
    wrong: list[str]


Kept = MutableMapping[str, dict[str, Judged]]
"""Visits that are judged already: by mix and number, then by set of readings."""


@dataclass(frozen=True)
class FaultsStudy:
    """Outcomes by set of readings.

    Attributes
    ----------
    visits, costly_visits, seed : int
        The second: of each of `COSTLY_MIXES`.
    odds : str
        Mix that the faults were drawn from.
    outcomes : dict of str to Outcomes
        Of that mix.
    costly : dict of str to Outcomes
        Of visits with costly faults.
    """

    visits: int
    costly_visits: int
    seed: int
    odds: str
    outcomes: dict[str, Outcomes]
    costly: dict[str, Outcomes]


def faults_study(
    visits: int = VISITS,
    seed: int = SEED,
    sets: tuple[str, ...] = tuple(READING_SETS),
    progress: Callable[[float], None] | None = None,
    odds: str = ODDS[0],
    costly_visits: int = COSTLY_VISITS,
    kept: Kept | None = None,
) -> FaultsStudy:
    """Draw visits with known faults, find what is wrong with each, count.

    Parameters
    ----------
    visits, costly_visits : int
        How many of the mix, at least 1; and how many of each of `COSTLY_MIXES`, at least 0.
    seed : int
        Of the draws; every visit has its own, so that more visits do not change the first ones.
    sets : tuple of str
        Keys of `READING_SETS`.
    progress : callable, optional
        Called with the share done [-].
    odds : str
        Mix that faults are drawn from, one of `ODDS`; they are always weighed with the finding's own.
    kept : mutable mapping, optional
        Visits that are judged already, by `visit_key`; those that are not are put into it.

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
    kept = {} if kept is None else kept
    wanted = [(odds, number) for number in range(visits)]
    wanted += [(mix, number) for mix in COSTLY_MIXES for number in range(costly_visits)]
    found = []
    for done, (mix, number) in enumerate(wanted):
        key = visit_key(mix, number)
        if not set(sets) <= set(kept.get(key, {})):
            kept[key] = kept.get(key, {}) | judged_visit(mix, seed, number, sets)
        found.append(kept[key])
        if progress is not None:
            progress((done + 1) / len(wanted))
    outcomes, costly = (
        {name: _outcomes(one[name] for one in part) for name in sets}
        for part in (found[:visits], found[visits:])
    )
    return FaultsStudy(visits, costly_visits, seed, odds, outcomes, costly)


def visit_key(mix: str, number: int) -> str:
    """What a visit is kept under.

    Parameters
    ----------
    mix : str
        One of `ODDS` or `COSTLY_MIXES`.
    number : int
        0 for the first of the mix.

    Returns
    -------
    str
    """
    return f"{mix} {number}"


def judged_visit(mix: str, seed: int, number: int, sets: tuple[str, ...]) -> dict[str, Judged]:
    """One drawn visit, found with each set of readings.

    Parameters
    ----------
    mix : str
        One of `ODDS` or `COSTLY_MIXES`.
    seed, number : int
        Of the draw.
    sets : tuple of str
        Keys of `READING_SETS`.

    Returns
    -------
    dict of str to Judged
        By set of readings.
    """
    draw = np.random.default_rng([seed, number])
    true = drawn_case(draw, drawing_weights(mix), costly=mix in COSTLY_MIXES)
    return {name: _judged(true, READING_SETS[name], hypotheses()) for name in sets}


def _judged(true: TrueCase, names: frozenset[str], weights: Hypotheses) -> Judged:
    clean, visit = with_readings_only(true.clean, names), with_readings_only(true.found, names)
    baseline = fit_baseline(true.description, [clean])
    found = posterior_of(scene(baseline, [clean], visit, Instruments()), weights)
    shares = dict.fromkeys(LABELS, 0.0) | {NONE_OF_THESE: found.none_of_these}
    needed = dict.fromkeys(TREATMENTS.values(), 0.0)
    for share, one in zip(found.shares, found.explanations, strict=True):
        shares[label_of(one.hypothesis)] += float(share)
        for treatment in one.hypothesis.treatments:
            needed[treatment] += float(share)
    suspicion = {
        name: one.probability
        for name, one in zip(found.errors.names, found.supported(), strict=True)
        if name != HUNTING_VALVE
    }
    return Judged(
        truth=true.label,
        costs=[true.eer_cost, true.capacity_cost, true.each_costs],
        shares=shares,
        claims=max(needed.values()) >= CLAIM,
        suspicion=suspicion,
        wrong=[name for name in suspicion if name in true.wrong],
    )


def _outcomes(found: Iterable[Judged]) -> Outcomes:
    rows = list(found)
    costs = np.array([one.costs for one in rows]).reshape(-1, 3)
    return Outcomes(
        labels=LABELS,
        probabilities=np.array([[one.shares[label] for label in LABELS] for one in rows]).reshape(
            -1, len(LABELS)
        ),
        truth=np.array([LABELS.index(one.truth) for one in rows], dtype=np.int64),
        eer_cost=costs[:, 0],
        capacity_cost=costs[:, 1],
        each_costs=costs[:, 2],
        claims=np.array([one.claims for one in rows], dtype=bool),
        suspicion=np.array([chance for one in rows for chance in one.suspicion.values()]),
        wrong=np.array([name in one.wrong for one in rows for name in one.suspicion], dtype=bool),
    )
