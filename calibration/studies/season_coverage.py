"""Whether 90 % ranges of a season contain the true year nine times in ten.

Invented units as in `calibration.studies.coverage`, each read once with a clean coil and once with a blocked
one, run through a year whose load and weather are not those that the case says: the load differs by as much
as is taken for granted of one that is given or assumed (`calibration.costs.fouled_unit`), the air by as much
as one year from another. A third kind of case has a bill instead, of another year with its own weather and
load. The range of the clean unit's electricity and of what today's fouling adds is then compared with the
true unit's own year.

All of it is invented; what is judged is whether fit, finding, draws and bill together leave as much open as
they must.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from calibration.case.meters import Instruments
from calibration.case.records import BillEntry, Case, Season, UnitDescription, Visit
from calibration.clean_fit.baseline import Baseline, fit_baseline
from calibration.costs.billed_load import MONTH_SPREAD, YEAR_SPREAD, with_billed_load
from calibration.costs.fouled_unit import ASSUMED_LOAD, GIVEN_LOAD, WEATHER_SPREAD, fouled_unit
from calibration.costs.season_case import season_case
from calibration.costs.season_cost import drawn_years
from calibration.diagnosis.finding import Finding, find
from calibration.estimate import ENDS
from calibration.studies.coverage import RUNNING, drawn_read_unit, read_visit
from model.arrays import Array
from model.components.unit import Unit
from model.cycle.boundary import Conditions
from model.cycle.faults import Faults
from model.cycle.solve import solve
from model.properties.moist_air import STANDARD_PRESSURE, humidity_ratio_from_relative_humidity
from model.season.cycle_table import table_of_speeds
from model.season.load import AHRI_SIZING_FACTOR
from model.season.weather_year import MONTH_OF_DAY
from model.season.year_by_level import Scenarios, YearByLevel, amount_at, year_by_level

LoadFrom = Literal["assumed load", "given load", "bill of a summer"]

SOURCES: tuple[LoadFrom, ...] = ("assumed load", "given load", "bill of a summer")
"""What the case says of the load."""
YEAR_FIGURES = ("electricity of the clean unit", "electricity added by fouling")
"""Figures of a year whose ranges are counted."""
PLACE = "Greensboro NC"
SUMMER = (6, 7, 8)
LEVELS = (0.1, 0.55)
"""Blocked shares between which the coil is found [-]."""
VISIT_AIR = (305.0, 311.0)
"""Outdoor temperatures between which it is [K]."""
FOUND_ON = dt.date(2026, 8, 1)
"""Day of both visits: nothing grows in between."""
YEARS_OF_UNITS = 100


@dataclass(frozen=True)
class SeasonCoverage:
    """Shares of 90 % ranges of a year that contain the true one.

    Attributes
    ----------
    units : int
        How many units were drawn.
    shares : dict of str to dict of str to float
        By what the case says of the load and by figure [-].
    widths : dict of str to dict of str to float
        Mean width of the ranges over the true figure, likewise [-].
    """

    units: int
    shares: dict[str, dict[str, float]]
    widths: dict[str, dict[str, float]]


def season_coverage(
    units: int = YEARS_OF_UNITS, seed: int = 20_261_129, progress: Callable[[float], None] | None = None
) -> SeasonCoverage:
    """Run invented units through years that differ from what their cases say, and count what ranges contain.

    Parameters
    ----------
    units : int
        How many units, at least 1.
    seed : int
        Of the draws; every unit has its own.
    progress : callable, optional
        Called with the share done [-].

    Returns
    -------
    SeasonCoverage

    Raises
    ------
    ValueError
        Where `units` is below 1.
    """
    if units < 1:
        raise ValueError(f"units must be at least 1, got {units}")
    inside = {source: np.zeros((units, len(YEAR_FIGURES))) for source in SOURCES}
    width = {source: np.zeros((units, len(YEAR_FIGURES))) for source in SOURCES}
    for number in range(units):
        draw = np.random.default_rng([seed, number])
        read = _read_unit(draw)
        for source in SOURCES:
            truth, ends = _true_year(draw, read, source)
            inside[source][number] = (ends[0] <= truth) & (truth <= ends[1])
            width[source][number] = (ends[1] - ends[0]) / truth
        if progress is not None:
            progress((number + 1) / units)
    return SeasonCoverage(units, _means(inside), _means(width))


def _means(of: dict[LoadFrom, Array]) -> dict[str, dict[str, float]]:
    """Means over the units, by figure."""
    return {
        source: dict(zip(YEAR_FIGURES, rows.mean(axis=0).tolist(), strict=True))
        for source, rows in of.items()
    }


@dataclass(frozen=True)
class _ReadUnit:
    """A true unit at its true level, its case with two visits, and what was inferred from them."""

    true: Unit
    level: float
    case: Case
    baseline: Baseline
    finding: Finding


def _read_unit(draw: np.random.Generator) -> _ReadUnit:
    """A unit read clean and blocked, both within its limits."""
    meters = Instruments()
    while True:
        description, true, clean = drawn_read_unit(draw, meters)
        level, air = float(draw.uniform(*LEVELS)), float(draw.uniform(*VISIT_AIR))
        moisture = humidity_ratio_from_relative_humidity(297.0, 0.5, STANDARD_PRESSURE)
        weather = Conditions(np.array([air]), np.array([297.0]), np.atleast_1d(moisture), STANDARD_PRESSURE)
        point = solve(true, weather, Faults(condenser_blocked=level))
        if np.isin(point.state, RUNNING).all():
            break
    found = replace(read_visit(weather, point, draw, meters), label="found", coil="as found")
    return _ReadUnit(true, level, *_inferred(description, clean, found))


def _inferred(description: UnitDescription, clean: Visit, found: Visit) -> tuple[Case, Baseline, Finding]:
    """Case, clean baseline and finding of two visits of one summer."""
    season = Season(weather=PLACE, design_load=None)
    case = Case("SI", description, (clean, found), Instruments(), season)
    baseline = fit_baseline(description, (clean,), case.instruments)
    return case, baseline, find(case, found, baseline=baseline)


def _true_year(draw: np.random.Generator, read: _ReadUnit, source: LoadFrom) -> tuple[Array, Array]:
    """True figures of a year [J], and the ends of their ranges, shape (2, figures)."""
    case = _saying(read.case, source)
    inputs = season_case(case)
    table = table_of_speeds(read.true, inputs.rooms)
    spread = GIVEN_LOAD if source == "given load" else ASSUMED_LOAD
    usual = float(np.exp(spread * draw.standard_normal()))
    yearly = YEAR_SPREAD if source == "bill of a summer" else 0.0
    factor = usual * np.exp(yearly * draw.standard_normal())
    warmer, then = WEATHER_SPREAD * draw.standard_normal(), MONTH_SPREAD / 3**0.5 * draw.standard_normal()
    if source == "bill of a summer":
        setting = inputs.setting
        billed = replace(setting, year=setting.year.counting(np.isin(MONTH_OF_DAY, SUMMER).astype(float)))
        used = year_by_level(table, billed, Scenarios(usual, float(then)))
        kwh = float(amount_at(used, "energy", [[read.level]]).sum())
        case = replace(case, season=replace(case.season or Season(), bill=BillEntry(kwh, months=SUMMER)))
    true_years = year_by_level(table, inputs.setting, Scenarios(float(factor), float(warmer)))
    unit = fouled_unit(case, read.baseline, inputs, FOUND_ON, findings={"found": read.finding})
    inputs, unit = with_billed_load(case, inputs, unit)
    drawn = _figures_of(drawn_years(inputs, unit), unit.levels)
    return _figures_of(true_years, np.array([read.level]))[:, 0], np.quantile(drawn, ENDS, axis=1)


def _saying(case: Case, source: LoadFrom) -> Case:
    """The case with a design load, or without one."""
    season = case.season or Season()
    if source != "given load":
        return case
    return replace(case, season=replace(season, design_load=case.unit.rated_capacity / AHRI_SIZING_FACTOR))


def _figures_of(years: YearByLevel, levels: Array) -> Array:
    """Electricity of the clean unit and what fouling adds [J], shape (figures, samples)."""
    clean = amount_at(years, "energy", [[0.0]]).sum(axis=1)
    return np.array([clean, amount_at(years, "energy", levels[:, None]).sum(axis=1) - clean])
