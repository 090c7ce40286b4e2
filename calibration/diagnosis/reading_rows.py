"""Every reading beside what the clean unit and the likeliest faults would show, and which of them decides.

A difference is counted in standard errors of everything not known: meter, settings, fitted unit, model.
Figures that a technician works out from readings (superheat, subcooling, approach) stand beside the readings
themselves. How much a reading adds for the first fault is the evidence for it over its rival with all
readings, less that without this one.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from calibration.diagnosis.evidence import IMPOSSIBLE, Weighed, median_point
from calibration.diagnosis.level_grid import joined_faults
from calibration.diagnosis.likelihood import reading_covariance
from calibration.diagnosis.posterior import Posterior
from calibration.diagnosis.visit_model import BLOWER, Scene, shown_rows, solved
from model.arrays import Array, IndexArray
from model.maintenance.growth import NORMAL_95
from model.properties.refrigerant import Refrigerant, refrigerant

Shown = Mapping[str, float]

ARROW, DOUBLE_ARROW = 1.0, 3.0
"""Differences from which a reading counts as shifted, and as far off [standard errors]."""


@dataclass(frozen=True)
class ExpectedRow:
    """One reading or derived figure.

    Attributes
    ----------
    name : str
        Key of `calibration.case.keys`.
    derived : bool
        Whether it is worked out from readings.
    measured, clean : float
        As read and as the clean unit would show it at this weather [SI].
    first, second : float or None
        As the first and second fault would show it; None where there is no such fault.
    supported : float or None
        What the other readings support in place of a suspect reading, or a figure that follows from that;
        None where the measured value stands.
    clean_error, first_error : float
        Standard error of measured less clean, and less first [SI].
    weight : float or None
        How much the reading adds for the first fault over its rival, as a logarithm of odds; None for
        derived figures.
    """

    name: str
    derived: bool
    measured: float
    clean: float
    first: float | None
    second: float | None
    supported: float | None
    clean_error: float
    first_error: float
    weight: float | None

    @property
    def standardised(self) -> float:
        """Measured less clean in standard errors [-]."""
        return (self.measured - self.clean) / self.clean_error

    @property
    def differs(self) -> bool:
        """Whether the 90 % range of measured less clean excludes zero."""
        return abs(self.standardised) > NORMAL_95

    @property
    def first_standardised(self) -> float | None:
        """Measured less first fault in standard errors [-]."""
        return None if self.first is None else (self.measured - self.first) / self.first_error

    @property
    def arrow(self) -> str:
        """Which way the reading lies from the clean unit's: two arrows from `DOUBLE_ARROW` on."""
        return _arrow(self.standardised)

    @property
    def first_arrow(self) -> str:
        """Which way the first fault would move it, in the same measure; empty where there is none."""
        return "" if self.first is None else _arrow((self.first - self.clean) / self.clean_error)

    @property
    def second_arrow(self) -> str:
        """Which way the second fault would move it."""
        return "" if self.second is None else _arrow((self.second - self.clean) / self.clean_error)


def _arrow(score: float) -> str:
    if abs(score) < ARROW:
        return "→"
    one = "↑" if score > 0 else "↓"
    return one * (2 if abs(score) >= DOUBLE_ARROW else 1)


def expected_rows(
    found: Posterior, numbers: Sequence[int], rival: int, supported: Shown | None = None
) -> tuple[ExpectedRow, ...]:
    """Readings that were taken, then the figures that follow from them.

    Parameters
    ----------
    found : Posterior
        The visit's explanations.
    numbers : sequence of int
        Places of the likeliest explanation with a fault and of the next.
    rival : int
        Place of the explanation that the likeliest is compared with for each reading's weight.
    supported : mapping of str to float, optional
        Values of suspect readings that the others support [SI], by their keys.

    Returns
    -------
    tuple of ExpectedRow
        In the order of the case file's keys.
    """
    place, explanations = found.place, found.explanations
    weights = _weights(place, explanations[numbers[0]], explanations[rival])
    states = _states(place, [explanations[number] for number in (0, *numbers[:2])])
    fluid = refrigerant(place.baseline.generic.refrigerant)
    names = [place.names[row] for row in place.readings]
    figures = [_Figure(name, {name}, _reading(name)) for name in names]
    known = {*names, *place.setting_names}
    figures += [
        _Figure(name, needs, _with(function, fluid))
        for name, (needs, function) in DERIVED.items()
        if needs <= known
    ]
    return tuple(_row(place, figure, states, weights, supported or {}) for figure in figures)


class _Figure(NamedTuple):
    """Key of a figure, the readings that it is worked out from, and how."""

    name: str
    needs: set[str]
    of: Callable[[Shown], float]


@dataclass(frozen=True)
class _State:
    """Rows as one explanation shows them (rows,), covariance of measured less that (readings, readings)."""

    shown: Array
    covariance: Array


def _states(place: Scene, explanations: Sequence[Weighed]) -> list[_State]:
    """Each explanation at the level that stands for it, all solved together.

    What is shown is that of the unit as it is known before this visit, and so are the slopes; those of the
    evidence are taken where the visit's readings draw the unit to.
    """
    points, rows = [median_point(one) for one in explanations], place.readings
    levels = [one.levels[:, [point]] for one, point in zip(explanations, points, strict=True)]
    faults = joined_faults(tuple(one.hypothesis for one in explanations), levels)
    shown, slopes = shown_rows(place, faults), solved(place, faults).slopes
    return [
        _State(
            shown[:, number],
            reading_covariance(place, slopes[number, rows], one.own[point, rows], place.meter[rows]),
        )
        for number, (one, point) in enumerate(zip(explanations, points, strict=True))
    ]


def _weights(place: Scene, first: Weighed, rival: Weighed) -> dict[str, float]:
    """Evidence for the first over the rival, less that without each reading in turn."""
    rows = place.readings
    whole = _evidence(place, first, rows) - _evidence(place, rival, rows)
    weights = {}
    for row in rows:
        rest = rows[rows != row]
        without = [_evidence(place, one, rest) for one in (first, rival)]
        weights[place.names[row]] = whole - (without[0] - without[1])
    return weights


def _evidence(place: Scene, one: Weighed, rows: IndexArray) -> float:
    """Logarithm of the evidence of some readings, each taken as right."""
    use = one.possible
    if not np.any(use) or rows.size == 0:
        return 0.0 if rows.size == 0 else IMPOSSIBLE
    covariance = reading_covariance(place, one.slopes[use][:, rows], one.own[use][:, rows], place.meter[rows])
    factor = np.linalg.cholesky(covariance)
    off = place.values[rows] - one.expected[use][:, rows]
    scaled = np.linalg.solve(factor, off[..., None])[..., 0]
    spread = np.log(np.diagonal(factor, axis1=-2, axis2=-1)).sum(axis=-1)
    return float(np.logaddexp.reduce(np.log(one.weights[use]) - 0.5 * np.sum(scaled**2, axis=-1) - spread))


def _reading(name: str) -> Callable[[Shown], float]:
    return lambda shown: shown[name]


def _with(function: Callable[[Shown, Refrigerant], float], fluid: Refrigerant) -> Callable[[Shown], float]:
    return lambda shown: function(shown, fluid)


def _row(
    place: Scene,
    figure: _Figure,
    states: list[_State],
    weights: Mapping[str, float],
    supported: Shown,
) -> ExpectedRow:
    measured = _shown(place, np.where(place.taken, place.values, 0.0))
    as_read, as_supported = figure.of(measured), figure.of({**measured, **supported})
    values = [figure.of(_shown(place, state.shown)) for state in states]
    errors = [_error(place, figure, state) for state in states]
    return ExpectedRow(
        name=figure.name,
        derived=figure.name in DERIVED,
        measured=as_read,
        clean=values[0],
        first=values[1] if len(values) > 1 else None,
        second=values[2] if len(values) > 2 else None,
        supported=None if as_supported == as_read else as_supported,
        clean_error=errors[0],
        first_error=errors[min(1, len(errors) - 1)],
        weight=weights.get(figure.name),
    )


def _shown(place: Scene, rows: Array) -> dict[str, float]:
    """Rows by name in SI: settings as they were read, the airflow as its meter shows it."""
    shown = {name: float(value) for name, value in zip(place.names, rows, strict=True)}
    shown |= {name: place.settings[name] for name in place.setting_names if name != BLOWER}
    name = place.names[place.airflow_row]
    read = getattr(place.visit, name)
    if read is not None:
        shown[name] = float(read * np.exp(rows[place.airflow_row] - place.values[place.airflow_row]))
    return shown


def _error(place: Scene, figure: _Figure, state: _State) -> float:
    """Standard error of a figure measured less expected, by its slopes over the readings that it needs."""
    slopes = np.zeros(place.readings.size)
    for number, row in enumerate(place.readings):
        if place.names[row] not in figure.needs:
            continue
        step = 0.1 * np.sqrt(state.covariance[number, number])
        ends = []
        for side in (-1.0, 1.0):
            moved = state.shown.copy()
            moved[row] += side * step
            ends.append(figure.of(_shown(place, moved)))
        slopes[number] = (ends[1] - ends[0]) / (2.0 * step)
    return float(np.sqrt(slopes @ state.covariance @ slopes))


def _evaporating(shown: Shown, fluid: Refrigerant) -> float:
    return float(fluid.dew_temperature(shown["suction_pressure"]))


def _condensing(shown: Shown, fluid: Refrigerant) -> float:
    return float(fluid.bubble_temperature(shown["liquid_pressure"]))


DERIVED: dict[str, tuple[set[str], Callable[[Shown, Refrigerant], float]]] = {
    "evaporating_temperature": ({"suction_pressure"}, _evaporating),
    "superheat": (
        {"suction_pressure", "suction_temperature"},
        lambda shown, fluid: shown["suction_temperature"] - _evaporating(shown, fluid),
    ),
    "condensing_temperature": ({"liquid_pressure"}, _condensing),
    "subcooling": (
        {"liquid_pressure", "liquid_temperature"},
        lambda shown, fluid: _condensing(shown, fluid) - shown["liquid_temperature"],
    ),
    "approach": ({"liquid_pressure"}, lambda shown, fluid: _condensing(shown, fluid) - shown["outdoor_db"]),
    "condenser_air_rise": (
        {"condenser_leaving_db"},
        lambda shown, _: shown["condenser_leaving_db"] - shown["outdoor_db"],
    ),
    "air_drop": ({"supply_db"}, lambda shown, _: shown["return_db"] - shown["supply_db"]),
}
"""Figures worked out from readings: what they need, and how."""
