"""What pooling equal nameplates brings: invented fleets whose units have a known share in common.

Every unit of `calibration.studies.units_alike` is fitted alone and with what the others of its nameplate say
(`calibration.fleet.alike`), then predicted clean in other weather, and its visit as found is judged by either
fit. Errors and 90 % ranges are those against the truth. Apart are units known by their nameplate alone, units
that were read clean once, and odd ones of both.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from calibration.case.records import Case
from calibration.clean_fit.baseline import Baseline, baseline_of
from calibration.clean_fit.prediction import predicted
from calibration.diagnosis.finding import find
from calibration.fleet.alike import ODD_BELOW, LearntParameters, UnitShown, learnt_parameters
from calibration.fleet.nameplates import nameplate_of
from calibration.studies.coverage import drawn_conditions
from calibration.studies.units_alike import AlikeUnit, units_alike
from model.arrays import Array
from model.cycle.boundary import Conditions
from model.cycle.solve import solve
from model.maintenance.growth import NORMAL_95

PREDICTED = ("net_capacity", "eer", "total_power", "condensing_temperature", "subcooling")
"""Figures of the clean unit that are predicted: the first three as shares, the others in K."""
AS_SHARES = frozenset(PREDICTED[:3])
"""Those whose errors are shares."""
JUDGED = ("level", "eer_lost")
"""Figures of the visit as found [-]."""
FIGURES = (*PREDICTED, *JUDGED)
KINDS = ("nameplate alone", "read clean once", "odd, nameplate alone", "odd, read clean once")
"""Kinds of units that are counted apart."""
SHARES = (0.0, 0.5, 0.9)
"""Shares of the variance that units of one model have in common [-], a fleet each."""
WEATHERS = 3
"""Weathers in which each clean unit is predicted."""
MAKING, FITTING = 0.4, 0.1
"""Parts of the time that making a fleet and fitting it take, for the progress [-]."""


@dataclass(frozen=True)
class Score:
    """Errors of one figure over the units of one kind.

    Attributes
    ----------
    units : int
    alone, pooled : float
        Root mean square error, each unit alone and pooled: of the figure in its unit, shares for the first
        three.
    alone_width, pooled_width : float
        Mean width of the 90 % ranges, likewise.
    alone_inside, pooled_inside : float
        Share of the 90 % ranges that contain the true value [-].
    """

    units: int
    alone: float
    pooled: float
    alone_width: float
    pooled_width: float
    alone_inside: float
    pooled_inside: float


@dataclass(frozen=True)
class NameplateFleet:
    """What pooling brought in one fleet.

    Attributes
    ----------
    share, found_share : float
        What units of one model really have in common, and what the pooling took it for [-].
    odd, odd_found, wrongly_odd : int
        Odd units that were read clean, those of them that were taken for such, and others that were.
    scores : dict of str to dict of str to Score
        By kind of unit and by figure.
    """

    share: float
    found_share: float
    odd: int
    odd_found: int
    wrongly_odd: int
    scores: dict[str, dict[str, Score]]


def nameplate_study(
    nameplates: int = 8,
    shares: Sequence[float] = SHARES,
    seed: int = 20_261_201,
    progress: Callable[[float], None] | None = None,
) -> tuple[NameplateFleet, ...]:
    """Units of equal nameplates, alone and pooled, against the truth.

    Parameters
    ----------
    nameplates : int
        Of each fleet, five units each.
    shares : sequence of float
        What units of one model have in common [-]; a fleet for each.
    seed : int
        Of the draws.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    tuple of NameplateFleet
    """
    tell = progress or (lambda done: None)
    found = []
    for number, share in enumerate(shares):

        def within(done: float, number: int = number) -> None:
            tell((number + done) / len(shares))

        fleet = units_alike(nameplates, share, seed, lambda done: within(MAKING * done))
        found.append(_one_fleet(fleet, share, seed, within))
    return tuple(found)


def _one_fleet(
    fleet: list[AlikeUnit], share: float, seed: int, tell: Callable[[float], None]
) -> NameplateFleet:
    cases = [_case(one) for one in fleet]
    alone = [baseline_of(case) for case in cases]
    learnt = learnt_parameters(
        [
            UnitShown(nameplate_of(case.unit), fit.visits_alone() if fit.visits else None)
            for case, fit in zip(cases, alone, strict=True)
        ]
    )
    tell(MAKING + FITTING)
    rows: dict[str, list[Array]] = {kind: [] for kind in KINDS}
    for number, (one, case, fit, more) in enumerate(zip(fleet, cases, alone, learnt, strict=True)):
        pooled = fit if more is None else baseline_of(case, more.prior)
        weather = drawn_conditions(np.random.default_rng([seed, number, 2]), WEATHERS)
        rows[_kind(one)].append(np.stack([_off(one, case, by, weather) for by in (fit, pooled)]))
        tell(MAKING + FITTING + (1.0 - MAKING - FITTING) * (number + 1) / len(fleet))
    return NameplateFleet(share, *_odd_ones(fleet, learnt), _scores(rows))


def _case(one: AlikeUnit) -> Case:
    visits = (one.found,) if one.clean is None else (one.clean, one.found)
    return Case("SI", replace(one.true.description, name="invented"), visits)


def _kind(one: AlikeUnit) -> str:
    return KINDS[2 * one.is_odd + (one.clean is not None)]


def _odd_ones(fleet: list[AlikeUnit], learnt: list[LearntParameters | None]) -> tuple[float, int, int, int]:
    """The share that was found, odd units, those of them taken for such, and others taken for such."""
    read = [
        (one.is_odd, more.alike < ODD_BELOW)
        for one, more in zip(fleet, learnt, strict=True)
        if more is not None and more.alike is not None
    ]
    share = next((more.share for more in learnt if more is not None), 0.0)
    odd = [taken for is_odd, taken in read if is_odd]
    return share, len(odd), sum(odd), sum(taken for is_odd, taken in read if not is_odd)


def _off(one: AlikeUnit, case: Case, fit: Baseline, weather: Conditions) -> Array:
    """Error, width of the 90 % range and whether it contains the truth, shape (figures, 3, weathers)."""
    truly, guess = solve(one.true.unit, weather), predicted(fit, weather)
    rows = []
    for name in PREDICTED:
        true, value = (np.asarray(getattr(point, name)) for point in (truly, guess.point))
        scale = true if name in AS_SHARES else 1.0
        reach = NORMAL_95 * guess.standard_errors[name] / scale
        error = (value - true) / scale
        rows.append(np.stack([error, 2.0 * reach, np.abs(error) <= reach]))
    found = find(case, one.found, baseline=fit)
    for span, so in ((found.blocked, one.level), (found.loss.eer_share, one.eer_lost)):
        row = np.array([span.value - so, span.high - span.low, span.low <= so <= span.high])
        rows.append(np.repeat(row[:, None], WEATHERS, axis=1))
    return np.stack(rows)


def _scores(rows: dict[str, list[Array]]) -> dict[str, dict[str, Score]]:
    """Scores by kind and figure; no entry for a kind without units."""
    scores = {}
    for kind, units in rows.items():
        if units:
            every = np.array(units)  # units, way, figures, what, weathers
            errors = np.sqrt(np.mean(every[:, :, :, 0] ** 2, axis=(0, 3)))
            widths, inside = (every[:, :, :, what].mean(axis=(0, 3)) for what in (1, 2))
            columns = [each[way] for each in (errors, widths, inside) for way in (0, 1)]
            scores[kind] = {
                name: Score(len(units), *(float(column[at]) for column in columns))
                for at, name in enumerate(FIGURES)
            }
    return scores
