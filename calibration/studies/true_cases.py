"""Invented visits with known faults and known gross errors, for the studies of the finding.

Units have numbers and forms that the fit does not know (`calibration.studies.true_units`). What is wrong is
drawn from prior odds, its level from the prior density of `calibration.diagnosis.hypotheses`. Faults differ
from the model's idea of them: a blocked face has some dust, low indoor airflow is a dirty coil every other
time. One visit in three has a reading that is grossly wrong, which one and by how much as
`calibration.diagnosis.gross_errors` has it; valves stick or hunt as often as is said there. At a visit of
"none of these" all errors are about three times their size, so that several readings may be grossly wrong.
Whether a reading is wrong is decided by what was done to it, whichever way the visit was drawn:
`GROSSLY_WRONG` standard errors or more.

Few visits drawn from the prior have a fault that costs much, hardly any has two. `COSTLY_MIXES` are the same
draws with those visits alone that have: what is counted on them says what more visits would say, sooner.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np

from calibration.case.checks import impossible_so_far
from calibration.case.meters import Instruments, standard_accuracies
from calibration.case.records import UnitDescription, Visit
from calibration.clean_fit.observation import MODEL_SPREAD
from calibration.clean_fit.parameters import NAMES, adjusted
from calibration.diagnosis.gross_errors import HIGH, HUNTING_PRIOR, PRIORS, SIZES
from calibration.diagnosis.hypotheses import (
    NO_FAULT,
    NONE_OF_THESE,
    Hypotheses,
    Hypothesis,
    drawn_level,
    faults_at,
    hypotheses,
)
from calibration.diagnosis.scene import BLOWER_SPREAD_KNOWN
from calibration.diagnosis.visit_model import DAY_TO_DAY, STOPPED
from calibration.studies.true_units import (
    TrueUnit,
    Weather,
    another_day,
    drawn_unit,
    drawn_weather,
    read_visit,
    true_point,
    with_all_errors_larger,
)
from model.cycle.faults import HEALTHY, Faults
from model.cycle.solve import STATES

ODDS: tuple[str, ...] = ("as weighed", "mostly healthy", "every fault alike")
"""Mixes of faults that visits can be drawn from: the odds that the finding starts from, and two others."""
COSTLY_MIXES: tuple[str, ...] = ("one costly fault", "two costly faults")
"""The first of these mixes, restricted to visits with one fault that costs `COSTLY` or more, and to visits
with two each of which alone costs `COSTLY_OF_PAIR` or more."""
COSTLY = 0.10
"""Loss of EER or capacity from which a fault should be found [-]."""
COSTLY_OF_PAIR = 0.05
"""Loss by each of two faults alone from which both should be found [-]."""
CANDIDATES = 48
"""Faults drawn at once where only a costly one will do."""
GROSSLY_WRONG = 3.0
"""Change of a reading from which it is wrong, in standard errors [-]: beyond what its meter may show, whose
errors end at 1.7 standard errors."""
FALSE_READINGS = 1.0
"""How often readings are grossly wrong, over what the finding holds for usual [-]."""
MOST_DRAWS = 200


@dataclass(frozen=True)
class TrueCase:
    """A unit's nameplate, its two visits, and what is really wrong.

    label: what a person would do; wrong: readings with a gross error; the costs are shares of EER and of
    capacity, each_costs the larger of both by the fault of a pair that costs less alone [-].
    """

    description: UnitDescription
    clean: Visit
    found: Visit
    label: str
    wrong: tuple[str, ...]
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
        One of `ODDS` or `COSTLY_MIXES`.

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
    if odds in COSTLY_MIXES:
        return _with_so_many_faults(weights, 1 + COSTLY_MIXES.index(odds))
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


def _with_so_many_faults(weights: Hypotheses, count: int) -> Hypotheses:
    """The weights with those explanations alone that have so many faults."""
    kept = sum(one.prior for one in weights.all if len(one.faults) == count)
    return Hypotheses(
        tuple(
            replace(one, prior=one.prior / kept if len(one.faults) == count else 0.0) for one in weights.all
        ),
        0.0,
    )


def drawn_case(draw: np.random.Generator, weights: Hypotheses, costly: bool = False) -> TrueCase:
    """A unit, its clean visit, and its visit as found with something or nothing wrong.

    Parameters
    ----------
    draw : numpy.random.Generator
        Of unit, weather, fault, level and errors.
    weights : Hypotheses
        Prior probabilities that faults are drawn from.
    costly : bool
        Whether only faults will do that cost `COSTLY`, of two each `COSTLY_OF_PAIR`.

    Returns
    -------
    TrueCase
        What was drawn, and what is really wrong.

    Raises
    ------
    RuntimeError
        Where `MOST_DRAWS` draws found no pair of visits that could be read.
    """
    for _ in range(MOST_DRAWS):
        unit = _drawn_clean(draw)
        found = None if unit is None else _drawn_found(draw, unit, weights, costly)
        if found is not None:
            return found
    raise RuntimeError(f"no pair of visits that could be read was found in {MOST_DRAWS} draws")


class CleanUnit(NamedTuple):
    """A unit as it really is, and its clean visit."""

    true: TrueUnit
    clean: Visit


def drawn_clean_unit(draw: np.random.Generator) -> CleanUnit:
    """A unit and its clean visit.

    Parameters
    ----------
    draw : numpy.random.Generator
        Of unit, weather and errors.

    Returns
    -------
    CleanUnit

    Raises
    ------
    RuntimeError
        Where `MOST_DRAWS` draws found none that could be read.
    """
    for _ in range(MOST_DRAWS):
        unit = _drawn_clean(draw)
        if unit is not None:
            return unit
    raise RuntimeError(f"no clean visit that could be read was found in {MOST_DRAWS} draws")


def found_case(draw: np.random.Generator, unit: CleanUnit, weights: Hypotheses) -> TrueCase:
    """Another visit of the same unit, with something or nothing wrong.

    Parameters
    ----------
    draw : numpy.random.Generator
        Of weather, fault, level and errors.
    unit : CleanUnit
        `drawn_clean_unit`.
    weights : Hypotheses
        Prior probabilities that faults are drawn from.

    Returns
    -------
    TrueCase

    Raises
    ------
    RuntimeError
        Where `MOST_DRAWS` draws found no visit that could be read.
    """
    for _ in range(MOST_DRAWS):
        found = _drawn_found(draw, unit, weights, costly=False)
        if found is not None:
            return found
    raise RuntimeError(f"no visit that could be read was found in {MOST_DRAWS} draws")


def _drawn_clean(draw: np.random.Generator) -> CleanUnit | None:
    true, weather = drawn_unit(draw), drawn_weather(draw)
    point = true_point(true, weather)
    if STATES[int(point.state)] != "ok":
        return None
    read = read_visit(true, weather, point, draw, label="clean")
    return CleanUnit(true, with_model_error(read, draw))


def _drawn_found(
    draw: np.random.Generator, unit: CleanUnit, weights: Hypotheses, costly: bool
) -> TrueCase | None:
    """A visit on another day; None where the unit could not be read there."""
    day, weather = _with_its_valve(another_day(unit.true, draw), draw), drawn_weather(draw)
    drawn = [_drawn_faults(draw, weights) for _ in range(CANDIDATES if costly else 1)]
    chosen = _first_that_runs(day, weather, drawn, costly)
    if chosen is None:
        return None
    one, costs = chosen
    read = read_visit(day, weather, true_point(day, weather, one.faults), draw, faults=one.faults)
    read = with_model_error(read, draw)
    label, found = label_of(one.hypothesis), read
    if draw.random() < weights.none_prior:
        found, label = with_all_errors_larger(read, draw), NONE_OF_THESE
    else:
        found = with_gross_errors(read, draw)
    if impossible_so_far(found.readings(), (unit.true.description, "SI"), found.ambient_pressure):
        return None  # a case file refuses it
    return TrueCase(unit.true.description, unit.clean, found, label, _grossly_changed(read, found), *costs)


def _with_its_valve(day: TrueUnit, draw: np.random.Generator) -> TrueUnit:
    """The unit on a day on which its thermostatic valve may stick or hunt: it holds another superheat."""
    happens, side, size = draw.random(), draw.random(), _drawn_size(draw)
    if happens >= HUNTING_PRIOR or day.unit.expansion.kind != "TXV":
        return day
    changes = np.zeros(len(NAMES))
    changes[NAMES.index("static_superheat")] = np.copysign(size, side - 0.5) * DAY_TO_DAY["static_superheat"]
    return replace(day, unit=adjusted(day.unit, changes))


def _drawn_size(draw: np.random.Generator) -> float:
    """Size of a gross error, from the density of `calibration.diagnosis.gross_errors`, in standard errors."""
    scale = draw.choice(list(SIZES), p=list(SIZES.values()))
    # The density e^2 exp(-e^2 / 2 s^2) is that of the length of three normal numbers.
    return float(scale * np.linalg.norm(draw.standard_normal(3)))


class _Drawn(NamedTuple):
    """An explanation, its faults as they come in the field, and each of them alone as the model has it."""

    hypothesis: Hypothesis
    faults: Faults
    alone: tuple[Faults, ...]


def _drawn_faults(draw: np.random.Generator, weights: Hypotheses) -> _Drawn:
    priors = np.array([one.prior for one in weights.all])
    chosen = weights.all[int(draw.choice(len(priors), p=priors / priors.sum()))]
    levels = [
        float(drawn_level(draw.random())) * (0.85 if len(chosen.faults) > 1 else 1.0) for _ in chosen.faults
    ]
    faults = impure(faults_at(chosen, levels), max(levels, default=0.0), draw)
    alone = tuple(
        faults_at(Hypothesis((fault,), 1.0), [level])
        for fault, level in zip(chosen.faults, levels, strict=True)
    )
    return _Drawn(chosen, faults, alone)


def _first_that_runs(
    day: TrueUnit, weather: Weather, drawn: list[_Drawn], costly: bool
) -> tuple[_Drawn, tuple[float, float, float]] | None:
    """The first that leaves the unit running, its loss of EER and capacity, and that of the lesser fault.

    All are solved in one call: without fault, with each one's faults, and with each fault alone.
    """
    wanted = [HEALTHY, *(faults for one in drawn for faults in (one.faults, *one.alone))]
    points = true_point(day, weather, _together(wanted))
    stopped = np.isin(points.state, STOPPED)
    eer, capacity = (
        1.0 - getattr(points, name) / getattr(points, name)[0] for name in ("eer", "net_capacity")
    )
    larger, place = np.maximum(eer, capacity), 1
    for one in drawn:
        at, parts = place, larger[place + 1 : place + 1 + len(one.alone)]
        place += 1 + len(one.alone)
        if stopped[0] or stopped[at]:
            continue
        least = float(parts.min(initial=np.inf)) if len(parts) else 0.0
        if costly and not (least >= COSTLY_OF_PAIR if len(parts) > 1 else larger[at] >= COSTLY):
            continue
        return one, (float(eer[at]), float(capacity[at]), least)
    return None


def _together(faults: list[Faults]) -> Faults:
    """Some faults as one, of shape (count,)."""
    return Faults(
        **{
            name: np.array([float(np.asarray(getattr(one, name))) for one in faults])
            for name in vars(HEALTHY)
        }
    )


def _grossly_changed(before: Visit, after: Visit) -> tuple[str, ...]:
    """Readings that were changed by `GROSSLY_WRONG` standard errors or more."""
    first, second = before.readings(), after.readings()
    spreads = standard_accuracies(first, Instruments())
    return tuple(
        name
        for name, value in first.items()
        if name in spreads and abs(second[name] - value) >= GROSSLY_WRONG * spreads[name]
    )


def with_model_error(visit: Visit, draw: np.random.Generator) -> Visit:
    """The visit with what a real unit shows beside any model of it, a share of each reading's own.

    Parameters
    ----------
    visit : Visit
        With both wet bulbs and the blower's power.
    draw : numpy.random.Generator
        Of the differences, normal with the spreads that the finding reckons with.

    Returns
    -------
    Visit
        [SI]; wet bulbs not above dry bulbs.
    """
    spreads = MODEL_SPREAD | {"indoor_power": (BLOWER_SPREAD_KNOWN, 0.0)}
    shown: dict[str, Any] = {}
    for name, value in visit.readings().items():
        share, fixed = spreads.get(name, (0.0, 0.0))
        shown[name] = value + float(np.hypot(share * value, fixed)) * draw.standard_normal()
    shown["supply_wb"] = min(shown["supply_wb"], shown["supply_db"])
    return replace(visit, **shown)


def with_gross_errors(visit: Visit, draw: np.random.Generator) -> Visit:
    """The visit with none, one or several readings grossly wrong.

    Parameters
    ----------
    visit : Visit
        With both wet bulbs.
    draw : numpy.random.Generator
        Of which, by the probabilities of `calibration.diagnosis.gross_errors`, and how wrong.

    Returns
    -------
    Visit
        [SI]; wet bulbs not above dry bulbs.
    """
    readings = {name: value for name, value in visit.readings().items() if name in PRIORS}
    spreads = standard_accuracies(readings, Instruments())
    changed: dict[str, Any] = {}
    for name, value in readings.items():
        if draw.random() >= FALSE_READINGS * PRIORS[name]:
            continue
        side = 1.0 if draw.random() < HIGH.get(name, 0.5) else -1.0
        changed[name] = max(value + side * _drawn_size(draw) * spreads[name], 0.05 * value)
    for name in {"return_wb", "supply_wb"} & set(changed):
        changed[name] = min(changed[name], readings[f"{name[:-3]}_db"])
    return replace(visit, **changed)


def impure(faults: Faults, level: float, draw: np.random.Generator) -> Faults:
    """Faults as they come in the field: a little of another form than the model's.

    Parameters
    ----------
    faults : Faults
        As the model has them.
    level : float
        Their level [-].
    draw : numpy.random.Generator
        Of what is added.

    Returns
    -------
    Faults
    """
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
