"""An invented fleet with known truth: sites, surroundings, units, visits with errors, and what is wrong.

Units are of a few makes (`calibration.studies.true_units`, which the fit does not know); units of one make
have one nameplate and differ a little. The logarithm of a unit's growth rate is that of its surroundings, its
site and its own, normally distributed about the published middle; a few odd units foul several times as fast.
Each unit is read clean after its last cleaning and as found some months later, when its condenser's face is
blocked by rate times time; some have another fault besides or instead. All of it is invented; the spreads are
choices of this package.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from calibration.case.keys import keys_of
from calibration.case.records import Visit
from calibration.diagnosis.hypotheses import FAULT_ODDS, Hypothesis, drawn_level, faults_at
from calibration.diagnosis.visit_model import STOPPED
from calibration.studies.true_units import (
    TrueUnit,
    another_day,
    drawn_unit,
    drawn_weather,
    read_visit,
    true_point,
)
from model.cycle.faults import HEALTHY, Faults, fault_of
from model.maintenance.growth import CONDENSER_RATE_HIGH, CONDENSER_RATE_LOW
from model.properties.moist_air import STANDARD_PRESSURE
from model.season.weather_year import DAYS_PER_YEAR

EXPOSURES: dict[str, float] = {
    "sheltered": 0.5,
    "open roof": 0.8,
    "beside a road": 1.4,
    "beside trees": 2.0,
}
"""Surroundings and their growth over the middle [-]."""
SITE_SPREAD, UNIT_SPREAD = 0.35, 0.25
"""Standard deviations of the logarithm of the growth rate by site and by unit [-]."""
ODD_SHARE, ODD_FACTOR = 0.03, 4.0
"""Share of units that foul far faster than their site, and how much faster [-]."""
UNITS_A_SITE = 4.0
"""Units at a site, on average [-]."""
UNITS_A_MAKE = 25
"""Units of each make, about [-]."""
OTHER_FAULT_SHARE = 0.12
"""Units with another fault than a fouled condenser [-]."""
LONGEST_LEVEL = 0.6
"""Blocked share that a coil does not exceed [-]: somebody would have cleaned it."""
MOST_DRAWS = 30
CLEANED = (dt.date(2022, 4, 1), 1200)
"""First day and number of days over which the units were cleaned last."""
FOUND = (dt.date(2026, 6, 15), 90)
"""First day and number of days over which they were visited as found."""
LEFT_OUT = ("standing_pressure", "standing_temperature", "compressor_power", "outdoor_fan_power")
"""Readings that a usual visit does not take."""


@dataclass(frozen=True)
class InventedUnit:
    """One unit: names, nameplate and visits as a table would have them, and the truth.

    rate: growth [1/a]; level: blocked share on the day of the visit as found [-]; fault: key of another
    fault, empty for none; is_odd: whether it fouls far faster than its site.
    """

    name: str
    site: str
    exposure: str
    true: TrueUnit
    visits: tuple[Visit, Visit]
    rate: float
    level: float
    fault: str
    is_odd: bool


def invented_fleet(
    units: int, seed: int = 20_261_129, progress: Callable[[float], None] | None = None
) -> list[InventedUnit]:
    """A fleet of so many units.

    Parameters
    ----------
    units : int
        At least one.
    seed : int
        Of the draws.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    list of InventedUnit
        In the order of their sites.
    """
    draw = np.random.default_rng(seed)
    makes = [drawn_unit(draw) for _ in range(max(round(units / UNITS_A_MAKE), 1))]
    middle = np.sqrt(CONDENSER_RATE_LOW * CONDENSER_RATE_HIGH)
    fleet: list[InventedUnit] = []
    site = 0
    while len(fleet) < units:
        site += 1
        exposure = str(draw.choice(list(EXPOSURES)))
        base = middle * EXPOSURES[exposure] * np.exp(SITE_SPREAD * draw.standard_normal())
        for _ in range(min(1 + draw.poisson(UNITS_A_SITE - 1.0), units - len(fleet))):
            names = (f"unit {len(fleet) + 1:04d}", f"site {site:03d}", exposure)
            make = makes[int(draw.integers(len(makes)))]
            fleet.append(_invented(names, make, float(base), draw))
            if progress is not None:
                progress(len(fleet) / units)
    return fleet


def _invented(
    names: tuple[str, str, str], make: TrueUnit, base: float, draw: np.random.Generator
) -> InventedUnit:
    """One unit of a make whose site has a growth rate."""
    is_odd = bool(draw.random() < ODD_SHARE)
    rate = base * float(np.exp(UNIT_SPREAD * draw.standard_normal())) * (ODD_FACTOR if is_odd else 1.0)
    for _ in range(MOST_DRAWS):
        true = another_day(make, draw)
        cleaned, found = (
            first + dt.timedelta(days=int(draw.integers(span))) for first, span in (CLEANED, FOUND)
        )
        level = min(rate * (found - cleaned).days / DAYS_PER_YEAR, LONGEST_LEVEL)
        fault = ""
        faults = replace(HEALTHY, condenser_blocked=level)
        if draw.random() < OTHER_FAULT_SHARE:
            fault, faults = _another_fault(level, draw)
        visits = _visits(true, faults, (cleaned, found), draw)
        if visits is not None:
            return InventedUnit(*names, true, visits, rate, level, fault, is_odd)
    raise RuntimeError(f"no pair of visits that could be read was found in {MOST_DRAWS} draws")


def _another_fault(level: float, draw: np.random.Generator) -> tuple[str, Faults]:
    """A fault of another kind on a coil that is fouled besides."""
    others = {key: odds for key, odds in FAULT_ODDS.items() if not key.startswith("condenser_")}
    odds = np.array(list(others.values()))
    fault = str(draw.choice(list(others), p=odds / odds.sum()))
    faults = faults_at(Hypothesis((fault_of(fault),), 1.0), [float(drawn_level(draw.random()))])
    return fault, replace(faults, condenser_blocked=0.3 * level)


def _visits(
    true: TrueUnit, faults: Faults, days: tuple[dt.date, dt.date], draw: np.random.Generator
) -> tuple[Visit, Visit] | None:
    """The clean visit and the one as found; None where the unit would not run."""
    visits = []
    for day, wrong, label in zip(days, (HEALTHY, faults), ("clean", "found"), strict=True):
        of_day, weather = another_day(true, draw), drawn_weather(draw)
        point = true_point(of_day, weather, wrong)
        if int(point.state) in STOPPED:
            return None
        visit = read_visit(of_day, weather, point, draw, faults=wrong, label=label)
        kept: dict[str, Any] = dict.fromkeys(LEFT_OUT)
        visits.append(replace(visit, date=day, label="", **kept))
    return visits[0], visits[1]


PRICE, ENERGY_PRICE, WEATHER = 180.0, 0.17, "Greensboro NC"
"""Price of a cleaning and of a kWh, and the weather, of every unit of the table: invented."""
_UNIT_COLUMNS = ("refrigerant", "expansion", "compressor", "indoor_blower", "rated_capacity", "rated_eer")


def table_of(fleet: list[InventedUnit]) -> str:
    """The fleet as a table with a row a visit, in US units, as `coiltoll fleet` reads it.

    Parameters
    ----------
    fleet : list of InventedUnit

    Returns
    -------
    str
        CSV.
    """
    readings = [
        name
        for name, key in keys_of("visit").items()
        if key.form == "number" and any(name in one.visits[1].readings() for one in fleet)
    ]
    keys = [
        *(keys_of("unit")[name] for name in _UNIT_COLUMNS),
        *(keys_of("visit")[name] for name in readings),
    ]
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    heads = [
        f"{key.name} [{key.quantity.label('US')}]"
        if key.quantity is not None and key.name not in ("rated_eer",) and key.quantity.label("US")
        else key.name
        for key in keys
    ]
    writer.writerow(
        [
            "unit",
            "site",
            "exposure",
            "date",
            "coil",
            *heads,
            "price",
            "energy_price",
            "weather",
            "last_cleaned",
        ]
    )
    for one in fleet:
        for visit in one.visits:
            cells = [
                _cell(getattr(one.true.description, key.name), key) for key in keys[: len(_UNIT_COLUMNS)]
            ]
            cells += [_cell(getattr(visit, key.name), key) for key in keys[len(_UNIT_COLUMNS) :]]
            names = [one.name, one.site, one.exposure, str(visit.date), visit.coil]
            writer.writerow([*names, *cells, PRICE, ENERGY_PRICE, WEATHER, str(one.visits[0].date)])
    return buffer.getvalue()


def _cell(value: Any, key: Any) -> str:
    if value is None:
        return ""
    if key.quantity is None:
        return str(value)
    return f"{key.quantity.from_si(float(value), 'US', STANDARD_PRESSURE):.6g}"


def truth_of(fleet: list[InventedUnit]) -> str:
    """What is really so, a row a unit.

    Parameters
    ----------
    fleet : list of InventedUnit

    Returns
    -------
    str
        CSV: unit, site, true growth rate [1/a], level on the day of the visit, other fault, whether it is
        odd.
    """
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow(["unit", "site", "true_rate", "true_level", "true_fault", "is_odd"])
    for one in fleet:
        odd = "yes" if one.is_odd else "no"
        writer.writerow([one.name, one.site, f"{one.rate:.6g}", f"{one.level:.6g}", one.fault, odd])
    return buffer.getvalue()
