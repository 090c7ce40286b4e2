"""Indoor coil and filter of a case: what they do to the unit, how they foul, and what their jobs cost.

Both lie in the indoor blower's stream of air; dirt on either raises the pressure drop, which is counted over
that of the clean indoor coil. They enter the plan where the case gives a price for their job.

Assumptions: where the case gives no rate, an indoor coil's pressure drop doubles in 7.5 years (Siegel,
Walker, Sherman 2002, LBNL-49757) and a filter adds the clean coil's once a year (common practice, no source).
Without a date of its own a part was last done when the condenser is known to have been clean first; without
that, it is clean today.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from calibration.case.records import Case
from calibration.said import said
from model.arrays import Array
from model.components.unit import Unit
from model.cycle.boundary import Conditions
from model.cycle.faults import Faults
from model.maintenance.growth import EVAPORATOR_RATE, FoulingGrowth
from model.maintenance.interval import Cleaning
from model.season.cycle_table import table_of_speeds
from model.season.performance_table import PerformanceTable

RISES: Array = np.linspace(0.0, 8.0, 9)
"""Rises of the air pressure drop at the indoor coil, over the clean coil's, of the tables [-]."""
FILTER_RATE = 1.0
"""Rise of a filter's pressure drop over the clean indoor coil's where none is given [1/a]; common practice,
no source."""
LARGEST_RISE = 4.0
"""Rise at which the growth of either ends [-]; a choice: the blower moves little air by then."""
DAYS_OF_A_YEAR = 365.25


class IndoorPart(NamedTuple):
    """Indoor coil or filter: its name, growth, job without the call-out, and rise today [-]."""

    name: str
    growth: FoulingGrowth
    job: Cleaning
    level: float


@dataclass(frozen=True)
class IndoorSide:
    """Indoor coil and filter of a case that has a price for one of their jobs.

    Attributes
    ----------
    coil, screen : IndoorPart
        Indoor coil and filter; what has no price does not foul.
    planned : tuple of str
        Those of `model.maintenance.joint_cleaning.PARTS` with a price, the condenser first.
    table : PerformanceTable
        The most likely unit with each of `RISES` at its indoor coil, one a sample.
    condenser, call_out : float
        Price of the condenser's cleaning without the call-out, and the call-out [money].
    assumptions : tuple of str
        A sentence for every value that was filled in.
    """

    coil: IndoorPart
    screen: IndoorPart
    planned: tuple[str, ...]
    table: PerformanceTable
    condenser: float
    call_out: float
    assumptions: tuple[str, ...]


def indoor_side(case: Case, unit: Unit, rooms: Sequence[Conditions], today: dt.date) -> IndoorSide | None:
    """Indoor coil and filter of a case as of a day.

    Parameters
    ----------
    case : Case
        Its prices, rates and dates.
    unit : Unit
        Most likely unit.
    rooms : sequence of Conditions
        One for each speed.
    today : date

    Returns
    -------
    IndoorSide or None
        None where the case gives no price of the condenser's cleaning or of neither indoor job.
    """
    entry = case.cleaning
    if entry is None or entry.price is None:
        return None
    if entry.indoor_coil_price is None and entry.filter_price is None:
        return None
    assumed: list[str] = []
    clean = _first_clean(case, today)
    coil = _part(
        _Entry("indoor coil", entry.indoor_coil_price, entry.indoor_coil_rate, entry.indoor_coil_cleaned),
        (EVAPORATOR_RATE, entry.restores, case.share),
        (clean, today),
        assumed,
    )
    screen = _part(
        _Entry("filter", entry.filter_price, entry.filter_rate, entry.filter_changed),
        (FILTER_RATE, 1.0, case.share),
        (clean, today),
        assumed,
    )
    prices = {"indoor coil": entry.indoor_coil_price, "filter": entry.filter_price}
    return IndoorSide(
        coil=coil,
        screen=screen,
        planned=("condenser", *(name for name, price in prices.items() if price is not None)),
        table=table_of_speeds(unit, rooms, base=Faults(evaporator_dust=RISES[:, None, None, None])),
        condenser=entry.price * case.share,
        call_out=(entry.call_out or 0.0) * case.share,
        assumptions=tuple(assumed),
    )


class _Entry(NamedTuple):
    """What the case says of a part: its name, price, rate and when it was last done."""

    name: str
    price: float | None
    rate: float | None
    done: dt.date | None


def _first_clean(case: Case, today: dt.date) -> dt.date | None:
    """First day on which the condenser is known to have been clean."""
    known = case.clean_dates
    if case.cleaning is not None and case.cleaning.last_cleaned is not None:
        known.append(case.cleaning.last_cleaned)
    return min((date for date in known if date <= today), default=None)


def _part(
    entry: _Entry,
    usual: tuple[float, float, float],
    days: tuple[dt.date | None, dt.date],
    assumed: list[str],
) -> IndoorPart:
    """A part's growth, job and level today, what the case leaves out filled in."""
    usual_rate, restores, share = usual
    clean, today = days
    if entry.price is None:
        return IndoorPart(entry.name, FoulingGrowth(0.0, LARGEST_RISE), Cleaning(0.0, restores), 0.0)
    rate = entry.rate
    if rate is None:
        rate = usual_rate
        assumed.append(
            said(
                "no rate of the {part} given: its pressure drop is taken to rise by {rate} times that of the "
                "clean indoor coil a year",
                part=said(entry.name),
                rate=f"{rate:.2g}",
            )
        )
    if entry.done is None:
        since = said("today") if clean is None else said("on {date}", date=clean.isoformat())
        assumed.append(
            said(
                "no date given when the {part} was last done: clean {since} assumed",
                part=said(entry.name),
                since=since,
            )
        )
    years = max((today - (entry.done or clean or today)).days, 0) / DAYS_OF_A_YEAR
    return IndoorPart(
        entry.name,
        FoulingGrowth(rate, LARGEST_RISE),
        Cleaning(entry.price * share, restores),
        min(rate * years, LARGEST_RISE),
    )
