"""Invented visits with known faults and known gross errors, for the studies of the finding.

Units have numbers and forms that the fit does not know (`calibration.studies.true_units`). What is wrong is
drawn from prior odds, its level from the prior density of `calibration.diagnosis.hypotheses`. Faults differ
from the model's idea of them: a blocked face has some dust, low indoor airflow is a dirty coil every other
time. One visit in three has a reading that is grossly wrong, which one by the odds of
`calibration.diagnosis.gross_errors`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from calibration.case.meters import Instruments, standard_accuracies
from calibration.case.records import UnitDescription, Visit
from calibration.diagnosis.gross_errors import HIGH, PRIORS
from calibration.diagnosis.hypotheses import (
    NO_FAULT,
    NONE_OF_THESE,
    Hypotheses,
    Hypothesis,
    drawn_level,
    faults_at,
    hypotheses,
)
from calibration.diagnosis.visit_model import STOPPED
from calibration.studies.true_units import (
    another_day,
    drawn_unit,
    drawn_weather,
    read_visit,
    true_point,
    with_all_errors_larger,
)
from model.cycle.faults import HEALTHY, Faults
from model.cycle.solve import STATES, OperatingPoint

ODDS: tuple[str, ...] = ("as weighed", "mostly healthy", "every fault alike")
"""Mixes of faults that visits can be drawn from: the odds that the finding starts from, and two others."""
GROSS_SHARE = 1.0 / 3.0
"""Visits with a gross error [-]."""
GROSS_SIZE = (5.0, 20.0)
"""Size of it, in standard errors of the reading [-]."""
MOST_DRAWS = 200


@dataclass(frozen=True)
class TrueCase:
    """A unit's nameplate, its two visits, and what is really wrong.

    label: what a person would do; wrong: reading with a gross error, empty for none; the costs are shares of
    EER and of capacity, each_costs the larger of both by the fault of a pair that costs less alone [-].
    """

    description: UnitDescription
    clean: Visit
    found: Visit
    label: str
    wrong: str
    eer_cost: float
    capacity_cost: float
    each_costs: float


def label_of(hypothesis: Hypothesis) -> str:
    """What a person would do about an explanation: treatments joined by "+", or `NO_FAULT`."""
    return "+".join(sorted(hypothesis.treatments)) or NO_FAULT


def drawing_weights(odds: str) -> Hypotheses:
    """Explanations with the prior probabilities that visits are drawn from.

    Parameters
    ----------
    odds : str
        One of `ODDS`.

    Returns
    -------
    Hypotheses

    Raises
    ------
    ValueError
        Where it is not.
    """
    weights = hypotheses()
    if odds == "as weighed":
        return weights
    if odds not in ODDS:
        raise ValueError(f"odds must be one of {', '.join(ODDS)}, got {odds}")
    healthy = 0.8 if odds == "mostly healthy" else 1.0 / len(weights.all)
    faults = sum(one.prior for one in weights.all[1:])
    alike = (1.0 - healthy - weights.none_prior) / (len(weights.all) - 1)
    rest = [
        alike if odds == "every fault alike" else one.prior / faults * (1.0 - healthy - weights.none_prior)
        for one in weights.all[1:]
    ]
    priors = [healthy, *rest]
    return Hypotheses(
        tuple(replace(one, prior=prior) for one, prior in zip(weights.all, priors, strict=True)),
        weights.none_prior,
    )


def drawn_case(draw: np.random.Generator, weights: Hypotheses) -> TrueCase:
    """A unit, its clean visit, and its visit as found with something or nothing wrong.

    Parameters
    ----------
    draw : numpy.random.Generator
        Of unit, weather, fault, level and errors.
    weights : Hypotheses
        Prior probabilities that faults are drawn from.

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
        chosen = weights.all[int(draw.choice(len(priors), p=priors / priors.sum()))]
        levels = [
            float(drawn_level(draw.random())) * (0.85 if len(chosen.faults) > 1 else 1.0)
            for _ in chosen.faults
        ]
        faults = _impure(faults_at(chosen, levels), max(levels, default=0.0), draw)
        day, weather = another_day(true, draw), drawn_weather(draw)
        alone = [
            faults_at(Hypothesis((fault,), 1.0), [level])
            for fault, level in zip(chosen.faults, levels, strict=True)
        ]
        whole, faulty, *parts = (true_point(day, weather, each) for each in (HEALTHY, faults, *alone))
        if int(faulty.state) in STOPPED or int(whole.state) in STOPPED:
            continue
        found = read_visit(day, weather, faulty, draw, faults=faults)
        label, wrong = label_of(chosen), ""
        if draw.random() < weights.none_prior:
            found, label = with_all_errors_larger(found, draw), NONE_OF_THESE
        elif draw.random() < GROSS_SHARE:
            found, wrong = with_gross_error(found, draw)
        costs = [_costs(whole, each) for each in (faulty, *parts)]
        return TrueCase(
            true.description,
            clean,
            found,
            label,
            wrong,
            *costs[0],
            min((max(one) for one in costs[1:]), default=0.0),
        )
    raise RuntimeError(f"no pair of visits that could be read was found in {MOST_DRAWS} draws")


def _costs(whole: OperatingPoint, faulty: OperatingPoint) -> tuple[float, float]:
    """Share of EER and of capacity that is lost [-]."""
    eer, capacity = (
        1.0 - float(getattr(faulty, name) / getattr(whole, name)) for name in ("eer", "net_capacity")
    )
    return eer, capacity


def with_gross_error(visit: Visit, draw: np.random.Generator) -> tuple[Visit, str]:
    """The visit with one reading grossly wrong, and which.

    Parameters
    ----------
    visit : Visit
        With both wet bulbs.
    draw : numpy.random.Generator
        Of which, by the odds of `calibration.diagnosis.gross_errors`, and how wrong.

    Returns
    -------
    (Visit, str)
        [SI]; wet bulbs not above dry bulbs.
    """
    readings = {name: value for name, value in visit.readings().items() if name in PRIORS}
    odds = np.array([PRIORS[name] for name in readings])
    name = str(draw.choice(list(readings), p=odds / odds.sum()))
    spread = standard_accuracies(readings, Instruments())[name]
    side = 1.0 if draw.random() < HIGH.get(name, 0.5) else -1.0
    value = max(readings[name] + side * draw.uniform(*GROSS_SIZE) * spread, 0.05 * readings[name])
    if name in ("return_wb", "supply_wb"):
        value = min(value, readings[f"{name[:-3]}_db"])
    changed: dict[str, Any] = {name: value}
    return replace(visit, **changed), name


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
