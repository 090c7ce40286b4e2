"""A unit of several circuits: figures of all of them together, beside those of each."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from calibration.case.units import CAPACITY, PERCENT, POWER, System
from calibration.costs.cleaning_interval import IntervalFindings
from calibration.costs.season_cost import SeasonFindings
from calibration.costs.whole_unit import added_output, whole_loss, whole_season, whole_upkeep
from calibration.diagnosis.finding import Finding
from calibration.measured.performance import MeasuredPerformance
from dashboard.results.costs import cleaning_advice, season_cost
from dashboard.results.costs.season_cost import money_figure
from dashboard.results.figures import Figure, figure, of_quantity, to_json
from dashboard.texts.translate import tr

SHARES = (
    "Each circuit has an equal share of load, air, blower and price; hours are those of the circuit that has "
    "most of them."
)
"""What the sum supposes."""
Columns = list[tuple[str, list[Figure]]]


def season_tables(circuits: Sequence[SeasonFindings], system: System) -> list[tuple[str, Columns]]:
    """Headings and columns of the unit's year, its hardest hour and its months."""
    whole = whole_season(circuits)
    return [
        (tr("A year"), season_cost.season_columns(whole, system)),
        (tr("The hardest hour"), season_cost.worst_columns(whole, system)),
        (tr("Cost of fouling by month"), season_cost.month_columns(whole)),
    ]


def season_json(circuits: Sequence[SeasonFindings], system: System) -> dict[str, Any]:
    """The season of the unit and of each circuit for `--json`: totals under the keys of a unit of one."""
    year, hardest, months = (columns for _, columns in season_tables(circuits, system))
    names = ("clean", "today", "coming")
    return {
        "today": circuits[0].unit.today.isoformat(),
        "year": _by_name(names, year),
        "hardest": _by_name(names, hardest),
        "months": _by_name(names[1:], months),
        "warnings": list(circuits[0].inputs.warnings),
        "shares": SHARES,
        "circuits": [season_cost.season_json(one, system) for one in circuits],
    }


def _by_name(names: Sequence[str], columns: Columns) -> dict[str, Any]:
    return {name: to_json(figures) for name, (_, figures) in zip(names, columns, strict=True)}


def upkeep_figures(circuits: Sequence[IntervalFindings]) -> list[Figure]:
    """Price of a cleaning and long-run costs of the unit, each circuit cleaned as advised for it."""
    whole, currency = whole_upkeep(circuits), circuits[0].inputs.currency

    def yearly(key: str, label: str, value: float, drawn: np.ndarray) -> Figure:
        low, high = (float(end) for end in np.quantile(drawn, [0.05, 0.95]))
        ends = (min(low, value), max(high, value))
        return money_figure(key, label, value, currency, ends, per=tr("a year"))

    return [
        money_figure("cleaning_price", tr("Price of a cleaning of all circuits"), whole.price, currency),
        yearly("advised_cost", tr("Dirt and cleanings when cleaned so"), whole.advised, whole.advised_drawn),
        yearly("never_cost", tr("Dirt when never cleaned"), whole.never, whole.never_drawn),
    ]


def interval_json(circuits: Sequence[IntervalFindings], system: System) -> dict[str, Any]:
    """When to clean each circuit, and the unit's long-run costs, for `--json`."""
    return {
        "figures": to_json(upkeep_figures(circuits)),
        "warnings": list(circuits[0].inputs.warnings),
        "shares": SHARES,
        "circuits": [cleaning_advice.interval_json(one, system) for one in circuits],
    }


def measured_figures(circuits: Sequence[MeasuredPerformance], system: System) -> list[Figure]:
    """Capacity, power and EER of the unit as measured, from one visit to each circuit.

    Empty where one of them was measured without capacity or power.
    """
    capacities = [one.net_capacity for one in circuits if one.net_capacity is not None]
    powers = [one.total_power for one in circuits if one.total_power is not None]
    if not circuits or len(capacities) < len(circuits) or len(powers) < len(circuits):
        return []
    whole = added_output(capacities, powers)
    return [
        figure("net_capacity", whole.capacity.value, system, interval=whole.capacity.ends),
        figure("total_power", whole.power.value, system, interval=whole.power.ends),
        figure("eer", whole.eer, system),
    ]


def loss_figures(circuits: Sequence[Finding], system: System) -> list[Figure]:
    """What the unit loses in design weather by the faults of all circuits."""
    clean, lost = whole_loss(circuits)
    left = (clean.capacity.value - lost.capacity.value) / (clean.power.value + lost.power.value)
    rows = (
        ("clean_capacity", tr("Capacity without fault"), clean.capacity, CAPACITY),
        ("capacity_lost", tr("Capacity lost"), lost.capacity, CAPACITY),
        ("clean_power", tr("Total power without fault"), clean.power, POWER),
        ("power_added", tr("Power added"), lost.power, POWER),
    )
    added = [
        of_quantity(key, words, one.value, kind, system, interval=one.ends) for key, words, one, kind in rows
    ]
    return [*added, of_quantity("eer_share", tr("EER lost, share"), 1.0 - left / clean.eer, PERCENT, "SI")]
