"""An invented fleet with several units of each nameplate, and how much units of one model have in common.

A unit's parameters are what its model adds and what the unit adds (`calibration.fleet.alike`), drawn with a
known share; numbers that the fit does not know (`calibration.studies.coverage`) are the model's with the
probability of that share, else the unit's own. Models and units are kept as a maker's rating would allow
them. A few units are odd: their nameplate is wrong, behind it is a machine of another size that shares
nothing with the others. Some units
were read clean once, others are known by their nameplate alone; each was read as found, with its condenser
blocked in part. All of it is invented; the sizes are choices of this package.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from calibration.case.records import UnitDescription, Visit
from calibration.clean_fit.nameplate import CERTIFIED_ACCURACY
from calibration.clean_fit.parameters import NAMES, SPREADS
from calibration.fleet.alike import OF_THE_SITE
from calibration.studies.coverage import RUNNING, drawn_nameplate, runs_well, unit_with
from calibration.studies.invented_fleet import LEFT_OUT
from calibration.studies.true_units import (
    TrueUnit,
    another_day,
    drawn_weather,
    read_visit,
    true_point,
)
from model.arrays import Array
from model.components.unit import Unit
from model.cycle.faults import HEALTHY
from model.cycle.sizing import rating_conditions
from model.cycle.solve import solve

Generator = np.random.Generator

UNITS_A_NAMEPLATE, NAMEPLATE_ALONE = 5, 2
"""Units of each nameplate, and those of them that were not read clean."""
ODD_EVERY = 2
"""Of so many nameplates one has an odd unit that was read clean, of twice so many one that was not."""
LEVELS = (0.1, 0.5)
"""Blocked share of the condenser's face as found, equally likely between its ends [-]."""
ODD_SIZE = 0.3
"""Logarithm of an odd unit's rated capacity over the one on its nameplate, one way or the other."""
MOST_DRAWS, MOST_MODELS = 60, 40
"""Draws of a unit before its model is given up for another one, as no such units would be sold; and of
models."""
_MODELS = np.array([float(name not in OF_THE_SITE) for name in NAMES])


@dataclass(frozen=True)
class AlikeUnit:
    """One unit.

    Attributes
    ----------
    nameplate : int
        Number of its nameplate.
    true : TrueUnit
        As it is.
    is_odd : bool
        Whether its nameplate is wrong.
    clean : Visit or None
        With a clean coil; None where its nameplate is all that is known.
    found : Visit
        As found.
    level, eer_lost : float
        Blocked share then [-], and what it took of the EER in that weather [-].
    """

    nameplate: int
    true: TrueUnit
    is_odd: bool
    clean: Visit | None
    found: Visit
    level: float
    eer_lost: float


def units_alike(
    nameplates: int, share: float, seed: int, progress: Callable[[float], None] | None = None
) -> list[AlikeUnit]:
    """A fleet of `UNITS_A_NAMEPLATE` units of each of so many nameplates.

    Parameters
    ----------
    nameplates : int
    share : float
        Part of the variance that units of one model have in common [-], from 0 to 1.
    seed : int
        Of the draws; each nameplate has its own.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    list of AlikeUnit

    Raises
    ------
    RuntimeError
        Where no model with units that run well was found.
    """
    fleet: list[AlikeUnit] = []
    for number in range(nameplates):
        fleet += _of_a_nameplate(number, share, seed)
        if progress is not None:
            progress((number + 1) / nameplates)
    return fleet


def _of_a_nameplate(number: int, share: float, seed: int) -> list[AlikeUnit]:
    for again in range(MOST_MODELS):
        draw, own_seed = np.random.default_rng([seed, number, again]), [seed, number, again, 1]
        model = _drawn_model(share, own_seed, draw)
        units: list[AlikeUnit] = []
        while model is not None and len(units) < UNITS_A_NAMEPLATE:
            alone = len(units) < NAMEPLATE_ALONE
            every = 2 * ODD_EVERY if alone else ODD_EVERY
            is_odd = len(units) in (0, UNITS_A_NAMEPLATE - 1) and number % every == 0
            one = _drawn_unit(model, number, draw, is_odd=is_odd, alone=alone)
            if one is None:
                break
            units.append(one)
        if len(units) == UNITS_A_NAMEPLATE:
            return units
    raise RuntimeError(f"no model whose units run well was found in {MOST_MODELS} draws")


@dataclass(frozen=True)
class _Model:
    """What units of one nameplate have in common: parameters, share, seed of the other numbers."""

    description: UnitDescription
    values: Array
    share: float
    seed: list[int]

    def unit(self, own: Array, structure: Generator) -> Unit:
        """A unit with what it adds itself, in prior spreads."""
        own_part = np.sqrt(1.0 - self.share * _MODELS) * SPREADS * own
        return unit_with(self.description, self.values + own_part, structure)


def _drawn_model(share: float, seed: list[int], draw: Generator) -> _Model | None:
    """A nameplate and a model that may bear it."""
    description = drawn_nameplate(draw)
    for _ in range(MOST_DRAWS):
        values = np.sqrt(share) * _MODELS * SPREADS * draw.standard_normal(len(SPREADS))
        unit = unit_with(description, values, np.random.default_rng(seed))
        if share == 0.0 or _may_be_sold(unit, description, draw):
            return _Model(description, values, share, seed)
    return None


def _may_be_sold(unit: Unit, description: UnitDescription, draw: Generator) -> bool:
    """Whether it runs well, and by chance as near to its rating as makers' units are."""
    point = solve(unit, rating_conditions())
    if not runs_well(unit, point) or description.rated_eer is None:
        return False
    off = np.log(
        [
            float(point.net_capacity) / description.rated_capacity,
            float(point.eer) / description.rated_eer,
        ]
    )
    square = float(np.sum((off / list(CERTIFIED_ACCURACY.values())) ** 2))
    return bool(draw.random() < np.exp(-0.5 * square))


def _drawn_unit(
    model: _Model, number: int, draw: Generator, *, is_odd: bool, alone: bool
) -> AlikeUnit | None:
    behind = _another_size(model, draw) if is_odd else model
    for _ in range(MOST_DRAWS):
        own = draw.standard_normal(len(SPREADS))
        structure = np.random.default_rng(model.seed) if draw.random() < behind.share else draw
        unit = behind.unit(own, structure)
        if not _may_be_sold(unit, behind.description, draw):
            continue
        true = TrueUnit(unit, model.description, float(np.asarray(unit.indoor_fan.airflow)))
        level = float(draw.uniform(*LEVELS))
        clean, found = _read(true, 0.0, draw), _read(true, level, draw)
        if clean is not None and found is not None:
            return AlikeUnit(number, true, is_odd, None if alone else clean[0], found[0], level, found[1])
    return None


def _another_size(model: _Model, draw: Generator) -> _Model:
    """A machine of another size, with nothing in common with the model."""
    size = float(np.exp(ODD_SIZE if draw.random() < 0.5 else -ODD_SIZE))
    rated = replace(model.description, rated_capacity=size * model.description.rated_capacity)
    return replace(model, description=rated, values=np.zeros(len(SPREADS)), share=0.0)


def _read(true: TrueUnit, level: float, draw: Generator) -> tuple[Visit, float] | None:
    """A visit on a day of its own, and the share of the EER that is lost; None where it would not run."""
    of_day, weather = another_day(true, draw), drawn_weather(draw)
    faults = replace(HEALTHY, condenser_blocked=level)
    point, healthy = true_point(of_day, weather, faults), true_point(of_day, weather)
    if int(point.state) not in RUNNING or int(healthy.state) not in RUNNING:
        return None
    label = "found" if level else "clean"
    visit = read_visit(of_day, weather, point, draw, faults=faults, label=label)
    kept: dict[str, Any] = dict.fromkeys(LEFT_OUT)
    return replace(visit, **kept), 1.0 - float(point.eer) / float(healthy.eer)
