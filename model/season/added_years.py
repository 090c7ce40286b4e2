"""Years of several machines added up to one unit: two equal circuits are two units.

Electricity, money, carbon dioxide and cooling add up. Highest powers and shortfalls add up too, as the same
weather brings them together. Hours are those of the machine that has most of them, and the unit trips where
the first of them does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields

import numpy as np

from model.season.fouling_cost import FoulingCost, SeasonOutcome, fouling_cost
from model.season.simulation import SeasonTotals
from model.season.tariff import Bill

LARGEST = ("run_hours", "short_hours", "trip_hours")
"""Figures of a year of which the largest is that of the unit."""


def added_outcomes(outcomes: Sequence[SeasonOutcome]) -> SeasonOutcome:
    """A unit's year from those of its machines.

    Parameters
    ----------
    outcomes : sequence of SeasonOutcome
        One for each, of as many samples.

    Returns
    -------
    SeasonOutcome

    Raises
    ------
    ValueError
        Where there is none.
    """
    if not outcomes:
        raise ValueError("outcomes must hold one machine at least, got none")
    years = {f.name: np.stack([getattr(o.totals, f.name) for o in outcomes]) for f in fields(SeasonTotals)}
    combined = {
        name: each.max(axis=0) if name in LARGEST else each.sum(axis=0) for name, each in years.items()
    }
    combined["trip_temperature"] = years["trip_temperature"].min(axis=0)
    # Each machine has an equal part of the building, which loses an equal part of the heat.
    combined["worst_room_rise"] = years["worst_room_rise"].mean(axis=0)
    bills = {f.name: sum(getattr(o.bill, f.name) for o in outcomes) for f in fields(Bill)}
    return SeasonOutcome(
        SeasonTotals(**combined), Bill(**bills), np.asarray(sum(o.unmet_cents for o in outcomes))
    )


def added_costs(costs: Sequence[FoulingCost]) -> FoulingCost:
    """A unit's cost of fouling from those of its machines.

    Parameters
    ----------
    costs : sequence of FoulingCost
        One for each, of as many samples.

    Returns
    -------
    FoulingCost

    Raises
    ------
    ValueError
        Where there is none.
    """
    return fouling_cost(
        added_outcomes([cost.clean for cost in costs]), added_outcomes([cost.fouled for cost in costs])
    )
