"""The heat pump of a case: the cooling fit turned round, fitted to what its nameplate says of heat.

What the cooling fit knows of compressor, coils and fans holds in heating too. What it cannot know has
parameters of its own, zero for the unit as `model.heating.heat_pump` turns it round, with a standard spread
each: how far the two coils' refrigerant sides in their other role, the flow and power of the compressor at
winter's pressures, and its losses at a high pressure ratio lie from that. Rated heating capacity and COP at
47 and 17 degF are evidence on them, like capacity and EER in cooling, and so are the readings of visits in
heating with a clean outdoor coil; without any, the spreads stay as they are.

Fitted is the minimum of sum z^2 + sum r' V^-1 r, z the parameters over their spreads and r the logarithms of
fitted over rated figures, and what each visit's readings lie off, by Gauss-Newton steps with Levenberg
damping. The posterior is normal with the inverse curvature.

References
----------
AHRI 210/240: heating tests H1 (47/43 degF) and H3 (17/15 degF), return air 70 degF, capacity with the heat
of the blower (from memory). Spreads and the accuracy of a rating: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from calibration.case.meters import Instruments
from calibration.case.records import Case, UnitDescription, Visit
from calibration.clean_fit.baseline import Baseline
from calibration.heating.heating_readings import common_errors, expected_readings, heating_readings
from model.arrays import Array
from model.heating.boundary import COLD_OUTDOOR, COLD_WET_BULB, RATING_WET_BULB, heating_test
from model.heating.heat_pump import RATING_OUTDOOR, HeatPump
from model.heating.solve import heat_pump, solve_heating

ACCUMULATOR_PER_WATT = 3.0e-3 / 10550.0
"""Liquid that an accumulator holds over the rated cooling capacity [m3/W]: 3 litres on 3 tons (common
practice, no source)."""
RATINGS = (
    ("rated_heating_capacity", "heating_capacity", 0),
    ("rated_heating_cop", "cop", 0),
    ("low_heating_capacity", "heating_capacity", 1),
    ("low_heating_cop", "cop", 1),
)
"""Keys of the nameplate, what they are of a heating point, and in which test: 47 or 17 degF."""
COMMON_ERROR, OWN_ERROR = 0.04, 0.025
"""Standard deviation of a unit from its print, common to both tests and of each figure [-]."""
STEP = 1e-3
"""Step of the slopes, in spreads [-]."""
MOST_STEPS, SETTLED = 25, 1e-7
"""Gauss-Newton steps at most, and the fall of the cost under which they end [-]."""
FARTHEST = 4.0
"""Bound of every parameter, in spreads [-]."""


@dataclass(frozen=True)
class HeatingParameter:
    """One number that heating has of its own: name, meaning, and spread of its logarithm [-]."""

    name: str
    meaning: str
    spread: float


HEATING_PARAMETERS = (
    HeatingParameter("outdoor_boiling", "outdoor coil's refrigerant side, boiling", 0.6),
    HeatingParameter("outdoor_air_side", "outdoor coil's air side, wet or frosted", 0.2),
    HeatingParameter("indoor_condensing", "indoor coil's refrigerant side, condensing", 0.6),
    HeatingParameter("flow", "compressor's flow in heating", 0.06),
    HeatingParameter("power", "compressor's power in heating", 0.06),
    HeatingParameter("leakage", "fall of flow with pressure ratio", 0.5),
    HeatingParameter("built_in_ratio", "ratio of best efficiency", 0.15),
)
"""In the order of the fit's vector."""
HEATING_SPREADS = np.array([one.spread for one in HEATING_PARAMETERS])


@dataclass(frozen=True)
class HeatingRating:
    """One figure of the nameplate beside the fit: key, rated, its standard deviation, fitted [SI]."""

    key: str
    rated: float
    spread: float
    fitted: float


@dataclass(frozen=True)
class HeatingFit:
    """A fitted heat pump.

    Attributes
    ----------
    pump : HeatPump
        The most likely one.
    generic : HeatPump
        The cooling unit turned round, which the parameters move.
    values : ndarray, shape (parameters,)
        Most likely, logarithms of factors [-].
    covariance : ndarray, shape (parameters, parameters)
        Of their posterior.
    ratings : tuple of HeatingRating
        What the nameplate says beside the fit; empty without heating figures.
    visits : tuple of str
        Labels of the clean visits in heating that it was fitted to.
    """

    pump: HeatPump
    generic: HeatPump
    values: Array
    covariance: Array
    ratings: tuple[HeatingRating, ...] = ()
    visits: tuple[str, ...] = ()

    def drawn(self, scores: Array) -> HeatPump:
        """A family of heat pumps from standard normal scores, shape (parameters, ...)."""
        values, vectors = np.linalg.eigh(self.covariance)
        root = vectors * np.sqrt(np.maximum(values, 0.0))
        away = np.tensordot(root, scores, axes=1)
        return adjusted_pump(self.generic, self.values.reshape(-1, *(1,) * (scores.ndim - 1)) + away)


def heats(unit: UnitDescription) -> bool:
    """Whether heating can be worked out: a heat pump with at least its rated heating capacity.

    Parameters
    ----------
    unit : UnitDescription
        The nameplate.

    Returns
    -------
    bool
        False where winter is left out of every figure.
    """
    return unit.heat_pump and unit.rated_heating_capacity is not None


def require_heating(unit: UnitDescription) -> None:
    """Refuse a unit whose heating cannot be worked out.

    Parameters
    ----------
    unit : UnitDescription
        The nameplate.

    Raises
    ------
    ValueError
        Where the nameplate has no heating capacity, or the unit is none that heats.
    """
    if not heats(unit):
        raise ValueError(
            "[unit] heat_pump = true and rated_heating_capacity are expected of a unit that heats"
        )


def adjusted_pump(generic: HeatPump, values: Array) -> HeatPump:
    """The heat pump with its heating parameters moved.

    Parameters
    ----------
    generic : HeatPump
        As it was turned round.
    values : ndarray, shape (parameters, ...)
        Logarithms of factors [-]; the rest becomes the shape of its numbers.

    Returns
    -------
    HeatPump
        Of that shape.
    """
    boiling, air, condensing, flow, power, leakage, built_in = np.exp(values)
    unit = generic.heating
    outdoor, indoor, machine = unit.evaporator, unit.condenser, unit.compressor
    heating = replace(
        unit,
        evaporator=replace(
            outdoor,
            boiling_conductance=outdoor.boiling_conductance * boiling,
            air_conductance=outdoor.air_conductance * air,
        ),
        condenser=replace(indoor, condensing_conductance=indoor.condensing_conductance * condensing),
        compressor=replace(
            machine,
            displacement_scale=machine.displacement_scale * flow,
            power_scale=machine.power_scale * power,
            leakage_slope=machine.leakage_slope * leakage,
            built_in_ratio=machine.built_in_ratio * built_in,
        ),
    )
    return replace(generic, heating=heating)


class _Evidence(NamedTuple):
    """What fitted units show for parameters (parameters, columns), what was seen, and its covariance."""

    shown: Callable[[Array], Array]
    seen: Array
    covariance: Array


def heating_fit_of(case: Case, baseline: Baseline, without: str = "") -> HeatingFit:
    """The heat pump of a case: its nameplate, its cooling fit and its clean visits in heating.

    Parameters
    ----------
    case : Case
    baseline : Baseline
        Fit of its cooling side.
    without : str
        Label of a visit that is left out.

    Returns
    -------
    HeatingFit

    Raises
    ------
    ValueError
        Where the nameplate has no heating capacity, or the unit is none that heats.
    """
    visits = tuple(one for one in case.clean_heating_visits if one.label != without)
    return fit_heating(case.unit, baseline, visits, case.instruments)


def fit_heating(
    description: UnitDescription,
    baseline: Baseline,
    visits: Sequence[Visit] = (),
    instruments: Instruments | None = None,
) -> HeatingFit:
    """The heat pump of a nameplate, of its cooling fit and of clean visits in heating.

    Parameters
    ----------
    description : UnitDescription
        With its heating figures.
    baseline : Baseline
        Fit of its cooling side.
    visits : sequence of Visit
        In heating, with a clean outdoor coil.
    instruments : Instruments, optional
        Meters; left out, the documented defaults.

    Returns
    -------
    HeatingFit

    Raises
    ------
    ValueError
        Where the nameplate has no heating capacity, or the unit is none that heats.
    """
    require_heating(description)
    volume = ACCUMULATOR_PER_WATT * description.rated_capacity if description.accumulator else 0.0
    generic = heat_pump(baseline.unit, description.heating_expansion or "TXV", volume)
    printed = [row for row in RATINGS if getattr(description, row[0]) is not None]
    rated = np.array([float(getattr(description, key)) for key, _, _ in printed])
    noise = _noise(printed)
    known = [_of_visit(generic, one, instruments or Instruments()) for one in visits]
    evidence = [
        _Evidence(
            lambda z: np.log(_figures(generic, z, printed)),
            np.log(rated),
            noise,
        ),
        *(one for one in known if one is not None),
    ]
    scores, information = _most_likely_scores(evidence)
    values = scores * HEATING_SPREADS
    covariance = np.linalg.inv(information) * np.outer(HEATING_SPREADS, HEATING_SPREADS)
    fitted = _figures(generic, scores[:, None], printed)[:, 0]
    spreads = rated * np.sqrt(np.diag(noise))
    return HeatingFit(
        pump=adjusted_pump(generic, values),
        generic=generic,
        values=values,
        covariance=0.5 * (covariance + covariance.T),
        ratings=tuple(
            HeatingRating(row[0], *(float(one) for one in numbers))
            for row, *numbers in zip(printed, rated, spreads, fitted, strict=True)
        ),
        visits=tuple(one.label for one, shown in zip(visits, known, strict=True) if shown is not None),
    )


def _of_visit(generic: HeatPump, visit: Visit, instruments: Instruments) -> _Evidence | None:
    """What a clean visit's readings say; None without any that the cycle could explain."""
    measured, errors = heating_readings(visit, instruments)
    names = list(measured)
    if not names:
        return None
    own = np.diag([errors[name] ** 2 for name in names])

    def shown(scores: Array) -> Array:
        return expected_readings(adjusted_pump(generic, scores * HEATING_SPREADS[:, None]), visit, names)

    covariance = own + common_errors(generic, visit, names)
    return _Evidence(
        shown,
        np.array([measured[name] for name in names]),
        covariance,
    )


def _noise(printed: list[tuple[str, str, int]]) -> Array:
    """Covariance of the logarithms of rated figures: capacities err together, COPs too."""
    kinds = [kind for _, kind, _ in printed]
    same = np.array([[one == other for other in kinds] for one in kinds], dtype=float)
    return np.asarray(COMMON_ERROR**2 * same + OWN_ERROR**2 * np.eye(len(kinds)))


def _figures(generic: HeatPump, scores: Array, printed: list[tuple[str, str, int]]) -> Array:
    """Rated figures of units with parameters (parameters, columns), shape (figures, columns)."""
    pump = adjusted_pump(generic, (scores * HEATING_SPREADS[:, None])[:, None])
    outdoor = np.array([[RATING_OUTDOOR], [COLD_OUTDOOR]])
    point = solve_heating(pump, heating_test(outdoor, np.array([[RATING_WET_BULB], [COLD_WET_BULB]])))
    return np.array([getattr(point, name)[test] for _, name, test in printed])


def _most_likely_scores(evidence: Sequence[_Evidence]) -> tuple[Array, Array]:
    """Parameters over their spreads, and the curvature there."""
    count = len(HEATING_PARAMETERS)
    columns = np.concatenate([np.zeros((count, 1)), STEP * np.eye(count)], axis=1)
    precisions = [np.linalg.inv(one.covariance) for one in evidence]

    def around(z: Array) -> tuple[float, Array, Array]:
        """Cost, half of its slope, and half of its curvature."""
        cost, pull, information = float(z @ z), z.copy(), np.eye(count)
        for one, precision in zip(evidence, precisions, strict=True):
            shown = one.shown(z[:, None] + columns)
            off, slopes = shown[:, 0] - one.seen, (shown[:, 1:] - shown[:, :1]) / STEP
            cost += float(off @ precision @ off)
            pull += slopes.T @ precision @ off
            information += slopes.T @ precision @ slopes
        return cost, pull, information

    z, damping = np.zeros(count), 0.0
    cost, pull, information = around(z)
    for _ in range(MOST_STEPS):
        step = np.linalg.solve(information + damping * np.eye(count), pull)
        trial = np.clip(z - step, -FARTHEST, FARTHEST)
        found = around(trial)
        if not found[0] < cost:
            if damping > 1e3 or found[0] - cost < SETTLED:
                break
            damping = max(4.0 * damping, 1.0)
            continue
        gain, z, (cost, pull, information) = cost - found[0], trial, found
        damping = damping / 4.0 if damping > 0.3 else 0.0
        if gain < SETTLED:
            break
    return z, information
