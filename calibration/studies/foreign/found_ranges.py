"""Whether the 90 % ranges of a fault's level and of what it costs contain the true ones.

A unit is drawn, read when clean, and read again on another day with something wrong or nothing; the finding
sees both visits. Counted is what it says of the fault's level, where it shows the true fault, and of the loss
of EER, capacity and power on the day, over everything that it holds possible. The truth is a unit of the
model's own structure (`calibration.studies.true_units`) or a machine of another
(`calibration.studies.foreign.drawn_machine`).

Faults are drawn by the odds and levels that the finding starts from, one at a time; no reading is grossly
wrong. For the machines a level means what is done to them: a share of the face, of the charge, of the
airflow, of the flow that leaks.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

import numpy as np

from calibration.case.records import Case, UnitDescription, Visit
from calibration.clean_fit.baseline import fit_baseline
from calibration.diagnosis.finding import find
from calibration.diagnosis.hypotheses import NO_FAULT, Hypothesis, drawn_level, faults_at, hypotheses
from calibration.diagnosis.scene import DAY_TO_DAY_AIRFLOW
from calibration.diagnosis.visit_model import DAY_TO_DAY, STOPPED
from calibration.estimate import Estimate
from calibration.studies import true_cases, true_units
from calibration.studies.foreign.drawn_machine import ForeignUnit, drawn_foreign_unit, foreign_point
from calibration.studies.true_units import TrueUnit, Weather, drawn_weather, read_visit
from model.arrays import Array, BoolArray
from model.cycle.boundary import Conditions
from model.cycle.faults import HEALTHY, Faults
from model.cycle.operating_point import OperatingPoint
from model.properties import moist_air
from model.properties.moist_air import STANDARD_PRESSURE

Generator = np.random.Generator
Truth = Literal["own structure", "foreign structure"]

TRUTHS: tuple[Truth, ...] = ("own structure", "foreign structure")
QUANTITIES = ("level", "eer", "capacity", "power")
"""What is counted: the level, and the losses of the day as shares of the clean unit's."""
WANTED_FOREIGN = (0.80, 0.98)
"""Share of the ranges that should contain the truth of a machine of another structure [-]."""
MOST_DRAWS = 100
HIGHEST_PRESSURE_SHARE = 0.97
"""Of the high-pressure limit, up to which a machine can be read [-]."""
SMALLEST_SUCTION = 3e5
"""Suction pressure below which its low-pressure switch has opened [Pa]."""


class TrueVisit(NamedTuple):
    """A unit's nameplate, its two visits, what is wrong (`NO_FAULT` or a key), and how large it is and costs.

    amount: in the unit of the fault's field, NaN without fault; losses: by `QUANTITIES` but the first [-].
    """

    description: UnitDescription
    clean: Visit
    found: Visit
    fault: str
    amount: float
    losses: dict[str, float]


@dataclass(frozen=True)
class FoundRanges:
    """What was counted for one kind of truth.

    Attributes
    ----------
    truth : str
    visits, faulty : int
        In all, and those with a fault.
    shown : float
        Share of these whose fault is among those shown [-].
    errors : dict of str to ndarray
        True less middle of the range, by `QUANTITIES` [-]; the level over the fault's largest.
    ends : dict of str to ndarray, shape (visits, 2)
        Of the ranges less their middle, likewise.
    wrong : dict of str to ndarray of bool
        Whether a fault was there.
    """

    truth: Truth
    visits: int
    faulty: int
    shown: float
    errors: dict[str, Array]
    ends: dict[str, Array]
    wrong: dict[str, BoolArray]

    def share(self, quantity: str, faulty: bool) -> float:
        """Share of the ranges that contain the truth, of all visits or of those with a fault [-]."""
        low, high = self._chosen(quantity, faulty)
        return float(np.mean((low <= 0.0) & (high >= 0.0)))

    def width(self, quantity: str, faulty: bool) -> float:
        """Mean width of the ranges, from end to end [-]."""
        low, high = self._chosen(quantity, faulty)
        return float(np.mean(high - low))

    def error(self, quantity: str, faulty: bool) -> float:
        """Root mean square of the middle's error [-]."""
        kept = np.logical_or(self.wrong[quantity], not faulty)
        return float(np.sqrt(np.mean(self.errors[quantity][kept] ** 2)))

    def _chosen(self, quantity: str, faulty: bool) -> tuple[Array, Array]:
        kept = np.logical_or(self.wrong[quantity], not faulty)
        ends = self.ends[quantity][kept] - self.errors[quantity][kept, None]
        return ends[:, 0], ends[:, 1]

    @property
    def met(self) -> bool:
        """Whether every share lies within `WANTED_FOREIGN`: of losses over all visits, of levels where shown.

        A range over everything possible holds the truth nine times in ten over all that may come. Of visits
        with a fault alone it holds it less often: a fault too small to be seen is left out with the many
        units that have none.
        """
        low, high = WANTED_FOREIGN
        return all(low <= self.share(name, False) <= high for name in QUANTITIES if self.wrong[name].any())


def found_ranges(
    truth: Truth, visits: int, seed: int, progress: Callable[[float], None] | None = None
) -> FoundRanges:
    """Draw visits with known faults and losses, find what is wrong, count.

    Parameters
    ----------
    truth : str
        One of `TRUTHS`.
    visits : int
        How many, at least 1.
    seed : int
        Of the draws; every visit has its own, so that more visits do not change the first ones.
    progress : callable, optional
        Called with the share done [-].

    Returns
    -------
    FoundRanges

    Raises
    ------
    ValueError
        Where `visits` is below 1.
    """
    if visits < 1:
        raise ValueError(f"visits must be at least 1, got {visits}")
    rows: list[tuple[str, bool, float, Estimate]] = []
    faulty = shown = 0
    for number in range(visits):
        one = drawn_visit(truth, np.random.default_rng([seed, number]))
        counted = _counted(one)
        faulty += one.fault != NO_FAULT
        shown += any(name == "level" for name, *_ in counted)
        rows += [(name, one.fault != NO_FAULT, true, range_) for name, true, range_ in counted]
        if progress is not None:
            progress((number + 1) / visits)
    return FoundRanges(truth, visits, faulty, shown / max(faulty, 1), *_as_arrays(rows))


def _as_arrays(
    rows: Sequence[tuple[str, bool, float, Estimate]],
) -> tuple[dict[str, Array], dict[str, Array], dict[str, BoolArray]]:
    kept = {name: [row[1:] for row in rows if row[0] == name] for name in QUANTITIES}
    errors = {n: np.array([true - one.value for _, true, one in part]) for n, part in kept.items()}
    ends = {
        n: np.array([[one.low - one.value, one.high - one.value] for *_, one in part]).reshape(-1, 2)
        for n, part in kept.items()
    }
    return errors, ends, {n: np.array([wrong for wrong, *_ in part], dtype=bool) for n, part in kept.items()}


def _counted(one: TrueVisit) -> list[tuple[str, float, Estimate]]:
    """What the finding says beside the truth: quantity, true value, range."""
    case = Case("SI", one.description, (one.clean, one.found))
    baseline = fit_baseline(one.description, [one.clean])
    finding = find(case, one.found, baseline=baseline)
    loss = finding.loss
    said = {"eer": loss.eer_share, "capacity": loss.capacity_share, "power": loss.power_share}
    rows = [(name, one.losses[name], said[name]) for name in said]
    shown = next((each for each in finding.explained if each.key == one.fault), None)
    if shown is not None:
        largest = largest_level_of(one.fault)
        rows.append(("level", one.amount / largest, shown.levels[0].amount.times(1.0 / largest)))
    return rows


def largest_level_of(fault: str) -> float:
    """What the fault's field is at level 1."""
    return next(h.faults[0].largest for h in hypotheses().all if h.key == fault)


def drawn_visit(truth: Truth, draw: Generator) -> TrueVisit:
    """A unit that was clean and is not, or still is, with its readings and what is true.

    Parameters
    ----------
    truth : str
        One of `TRUTHS`.
    draw : numpy.random.Generator
        Of everything.

    Returns
    -------
    TrueVisit

    Raises
    ------
    RuntimeError
        Where `MOST_DRAWS` draws found none that could be read.
    """
    for _ in range(MOST_DRAWS):
        chosen, level = _drawn_fault(draw)
        found = (_own_visit if truth == "own structure" else _foreign_visit)(draw, chosen, level)
        if found is not None:
            return found
    raise RuntimeError(f"no visit that could be read was found in {MOST_DRAWS} draws")


def _drawn_fault(draw: Generator) -> tuple[Hypothesis, float]:
    """No fault or one, by the odds that the finding starts from, and its level."""
    single = [one for one in hypotheses().all if len(one.faults) < 2]
    odds = np.array([one.prior for one in single])
    return single[int(draw.choice(len(single), p=odds / odds.sum()))], float(drawn_level(draw.random()))


def _faults(chosen: Hypothesis, level: float) -> Faults:
    return faults_at(chosen, [level] * len(chosen.faults))


def _losses(whole: OperatingPoint, faulty: OperatingPoint) -> dict[str, float]:
    def share(name: str) -> float:
        before, after = (float(np.ravel(getattr(point, name))[0]) for point in (whole, faulty))
        return 1.0 - after / before

    return {"eer": share("eer"), "capacity": share("net_capacity"), "power": -share("total_power")}


def _own_visit(draw: Generator, chosen: Hypothesis, level: float) -> TrueVisit | None:
    unit = true_cases.drawn_clean_unit(draw)
    day, weather = true_units.another_day(unit.true, draw), drawn_weather(draw)
    faults = true_cases.impure(_faults(chosen, level), level, draw)
    whole, point = (true_units.true_point(day, weather, each) for each in (HEALTHY, faults))
    if np.isin([int(whole.state), int(point.state)], STOPPED).any():
        return None
    read = true_cases.with_model_error(read_visit(day, weather, point, draw, faults=faults), draw)
    amount = float(np.asarray(getattr(faults, chosen.faults[0].field))) if chosen.faults else np.nan
    return TrueVisit(unit.true.description, unit.clean, read, chosen.key, amount, _losses(whole, point))


def _foreign_visit(draw: Generator, chosen: Hypothesis, level: float) -> TrueVisit | None:
    unit = drawn_foreign_unit(draw)
    airflow = float(np.asarray(unit.machine.indoor_fan.airflow))
    true = TrueUnit(unit.like, unit.description, airflow)
    first = _machine_in(unit, true, drawn_weather(draw), HEALTHY, draw, "clean")
    day, later = _another_day(unit, draw), drawn_weather(draw)
    true = replace(true, airflow=airflow * float(np.exp(DAY_TO_DAY_AIRFLOW * draw.standard_normal())))
    whole = _machine_in(day, true, later, HEALTHY, draw, "whole")
    found = _machine_in(day, true, later, _faults(chosen, level), draw, "found")
    if first is None or whole is None or found is None:
        return None
    amount = np.nan
    if chosen.faults:
        fault = chosen.faults[0]
        amount = found.leaked if fault.key == "compressor_leakage" else fault.largest * level
    losses = _losses(whole.point, found.point)
    return TrueVisit(unit.description, first.visit, found.visit, chosen.key, amount, losses)


class _MachineRead(NamedTuple):
    visit: Visit
    point: OperatingPoint
    leaked: float


def _machine_in(
    unit: ForeignUnit, true: TrueUnit, weather: Weather, faults: Faults, draw: Generator, label: str
) -> _MachineRead | None:
    """What meters show on a machine; None where no steady state within its switches was found."""
    flow = true.airflow / moist_air.specific_volume(weather.back, weather.humidity_ratio, STANDARD_PRESSURE)
    conditions = Conditions(weather.outdoor, weather.back, weather.humidity_ratio, indoor_airflow=flow)
    points, leaked = foreign_point(unit, conditions, faults)
    point = single(points)
    limit = HIGHEST_PRESSURE_SHARE * float(np.asarray(unit.like.high_pressure_limit))
    if not (point.liquid_pressure < limit and point.suction_pressure > SMALLEST_SUCTION):
        return None
    read = read_visit(true, weather, point, draw, faults=faults, label=label)
    return _MachineRead(read, point, float(leaked[0]))


def single(points: OperatingPoint) -> OperatingPoint:
    """The first of some points, without an axis.

    Parameters
    ----------
    points : OperatingPoint
        Of one axis.

    Returns
    -------
    OperatingPoint
        Of no shape.
    """
    return OperatingPoint(**{name: np.asarray(value)[..., 0] for name, value in vars(points).items()})


def _another_day(unit: ForeignUnit, draw: Generator) -> ForeignUnit:
    """The same machine on another day: everything a little different, nothing wrong."""
    machine = unit.machine

    def moved(value: object, name: str) -> float:
        return float(np.asarray(value)) * float(np.exp(DAY_TO_DAY[name] * draw.standard_normal()))

    condenser, evaporator = (
        replace(coil, air_conductance=moved(coil.air_conductance, name))
        for coil, name in (
            (machine.condenser, "condenser_conductance"),
            (machine.evaporator, "coil_conductance"),
        )
    )
    return replace(
        unit,
        machine=replace(
            machine,
            condenser=condenser,
            evaporator=evaporator,
            outdoor_fan=replace(
                machine.outdoor_fan,
                airflow=moved(machine.outdoor_fan.airflow, "condenser_airflow"),
                power=moved(machine.outdoor_fan.power, "fan_power"),
            ),
            charge=moved(machine.charge, "charge"),
            device_area=moved(machine.device_area, "expansion_area"),
            suction_gain=moved(machine.suction_gain, "suction_line"),
        ),
    )
