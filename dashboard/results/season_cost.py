"""What fouling costs in a season, as figures, rows and sentences for command line, pages and report alike.

Figures are those of the most likely unit; their 90 % ranges hold nine Monte Carlo draws in ten. When to
clean is in `dashboard.results.cleaning_advice`.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import numpy as np

from calibration.case.records import Case, Visit
from calibration.case.units import (
    CAPACITY,
    ENERGY,
    HOURS,
    PERCENT,
    POWER,
    TEMPERATURE_DIFFERENCE,
    Quantity,
    System,
)
from calibration.clean_fit.baseline import Baseline
from calibration.costs.cleaning_interval import IntervalFindings, interval_of_unit
from calibration.costs.fouled_unit import DRAWS, fouled_unit
from calibration.costs.season_case import season_case
from calibration.costs.season_cost import SeasonFindings, cost_estimates, season_of_unit
from dashboard.results.figures import Figure, figure, of_quantity, to_json
from dashboard.results.trip import TEMPERATURE_KEY, beyond_figure
from model.maintenance.policies import YEARS_AHEAD
from model.season.fouling_cost import Estimate, FoulingCost
from model.season.tariff import CENTS

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
Progress = Callable[[float], None]


@dataclass(frozen=True)
class Costs:
    """What fouling costs, and when to clean.

    Attributes
    ----------
    season : SeasonFindings
        The cost of fouling.
    interval : IntervalFindings or None
        When to clean; None where the case cannot say.
    missing : str
        Why it cannot, as a sentence; empty where it can.
    """

    season: SeasonFindings
    interval: IntervalFindings | None
    missing: str = ""


def case_costs(
    case: Case,
    baseline: Baseline,
    today: date | None = None,
    progress: Progress | None = None,
    draws: int = DRAWS,
) -> Costs:
    """Cost of fouling and when to clean, from one and the same fouled unit.

    Parameters
    ----------
    case : Case
    baseline : Baseline
        The fitted clean unit.
    today : date, optional
        Left out, the date of the last visit.
    progress : callable, optional
        Called with the share done.
    draws : int
        Monte Carlo draws behind the 90 % ranges [-].

    Returns
    -------
    Costs

    Raises
    ------
    ValueError
        Where the season cannot be simulated.
    """
    advance = progress or (lambda done: None)
    inputs = season_case(case)
    unit = fouled_unit(case, baseline, inputs, today, lambda done: advance(0.2 * done), draws)
    season = season_of_unit(inputs, unit, lambda done: advance(0.2 + 0.3 * done))
    if inputs.cleaning is None:
        return Costs(season, None, "No cleaning price is given, so there is no advice on when to clean.")
    found = interval_of_unit(inputs, unit, YEARS_AHEAD, lambda done: advance(0.5 + 0.5 * done))
    return Costs(season, found)


def as_of_visit(case: Case, visit: Visit) -> Case:
    """The case as it stood after one visit: clean visits, those as found on earlier days, and the visit.

    Earlier visits show how fast fouling grows; with the last one the costs are those of the whole case.
    """
    kept = [one for one in case.visits if one != visit and (one.coil == "clean" or _is_before(one, visit))]
    return replace(case, visits=(*kept, visit))


def _is_before(one: Visit, other: Visit) -> bool:
    return one.date is not None and other.date is not None and one.date < other.date


def season_columns(found: SeasonFindings, system: System) -> list[tuple[str, list[Figure]]]:
    """A year of the clean unit, and what fouling adds: as it is today all year, and as it grows.

    Returns
    -------
    list of (str, list of Figure)
        Heading and figures; the same keys in each, as far as they mean anything there.
    """
    return [
        ("clean unit, a year", _clean_figures(found, system)),
        ("added by today's fouling, all year", _added_figures(found, found.today, found.today_drawn, system)),
        (
            f"added as fouling grows, a year from {found.unit.today.isoformat()}",
            _added_figures(found, found.coming, found.coming_drawn, system),
        ),
    ]


_ROWS: tuple[tuple[str, str, Quantity], ...] = (
    ("energy", "Electricity", ENERGY),
    ("energy_share", "Share of the clean unit's electricity", PERCENT),
    ("peak_power", "Highest hourly power", POWER),
    ("run_hours", "Hours running", HOURS),
    ("short_hours", "Unmet-load hours", HOURS),
    ("trip_hours", "Hours off on high-pressure trips", HOURS),
    ("cooling_lost", "Unmet cooling", ENERGY),
)


def _clean_figures(found: SeasonFindings, system: System) -> list[Figure]:
    clean = found.today.clean
    values = {
        name: float(getattr(clean.totals, name)[0].sum())
        for name, _, _ in _ROWS
        if name not in ("energy_share", "peak_power")
    }
    values["peak_power"] = float(clean.totals.peak_power[0].max())
    figures = [
        of_quantity(name, label, values[name], quantity, system)
        for name, label, quantity in _ROWS
        if name in values
    ]
    money = int(clean.bill.year_cents[0]) / CENTS
    return [
        figures[0],
        money_figure("money", "Electricity bill", money, found.inputs.currency),
        Figure("carbon", "Carbon dioxide", round(float(clean.bill.carbon[0].sum()), 6), "kg", 0),
        *figures[1:],
    ]


def _added_figures(
    found: SeasonFindings, cost: FoulingCost, drawn: FoulingCost, system: System
) -> list[Figure]:
    likely = {
        "energy": float(cost.energy.sum()),
        "energy_share": float(cost.energy_share[0]),
        "peak_power": _peak_rise(cost),
        "money": int(cost.year_cents[0]) / CENTS,
        "carbon": float(cost.carbon.sum()),
        "run_hours": float(cost.run_hours.sum()),
        "short_hours": float(cost.short_hours.sum()),
        "trip_hours": float(cost.trip_hours.sum()),
        "cooling_lost": float(cost.cooling_lost.sum()),
    }
    spread = cost_estimates(drawn)
    figures = [
        of_quantity(name, label, likely[name], quantity, system, interval=_ends(spread[name], likely[name]))
        for name, label, quantity in _ROWS
    ]
    carbon = _ends(spread["carbon"], likely["carbon"])
    return [
        figures[0],
        money_figure(
            "money",
            "Electricity bill",
            likely["money"],
            found.inputs.currency,
            _ends(spread["money"], likely["money"]),
        ),
        Figure("carbon", "Carbon dioxide", round(likely["carbon"], 6), "kg", 0, *carbon),
        *figures[1:],
    ]


def _peak_rise(cost: FoulingCost) -> float:
    """Rise of the year's highest hour [W]."""
    return float(cost.fouled.totals.peak_power.max() - cost.clean.totals.peak_power.max())


def _ends(spread: Estimate, value: float) -> tuple[float, float]:
    """90 % range of the draws, wide enough to hold the most likely value."""
    return min(spread.low, value), max(spread.high, value)


def money_figure(
    key: str,
    label: str,
    value: float | None,
    currency: str,
    interval: tuple[float, float] | None = None,
    *,
    per: str = "",
    decimals: int = 0,
) -> Figure:
    """Figure of money; `per` such as "a year" becomes part of the unit."""
    unit = f"{currency} {per}" if per else currency
    low, high = (None, None) if interval is None else (round(interval[0], 6), round(interval[1], 6))
    return Figure(key, label, None if value is None else round(value, 6), unit, decimals, low, high)


def worst_columns(found: SeasonFindings, system: System) -> list[tuple[str, list[Figure]]]:
    """The worst hour of the year, and the weather at which the unit trips: clean, today, as fouling grows."""
    years = (
        ("clean unit", found.today.clean),
        ("with today's fouling", found.today.fouled),
        ("as fouling grows", found.coming.fouled),
    )
    hottest = float(found.unit.table.outdoor_temperature[-1])
    columns = []
    for heading, outcome in years:
        totals = outcome.totals
        figures = [
            of_quantity(
                "worst_shortfall",
                "Largest shortfall of capacity",
                float(totals.worst_shortfall[0]),
                CAPACITY,
                system,
            ),
            of_quantity(
                "worst_room_rise",
                "Indoor temperature rise if the shortfall persisted",
                float(totals.worst_room_rise[0]),
                TEMPERATURE_DIFFERENCE,
                system,
            ),
            _trip_figure(float(totals.trip_temperature[0]), hottest, system),
        ]
        columns.append((heading, figures))
    return columns


def _trip_figure(temperature: float, hottest: float, system: System) -> Figure:
    if np.isfinite(temperature):
        return figure(TEMPERATURE_KEY, temperature, system)
    return beyond_figure(TEMPERATURE_KEY, hottest, is_over=True, system=system)


def month_figures(cost: FoulingCost, currency: str) -> list[Figure]:
    """Money of each month with cooling, to the cent, and their sum."""
    cents = cost.cents[0]
    cooled = np.flatnonzero((cost.clean.bill.month_cents[0] > 0) | (cents != 0))
    months = [
        money_figure(MONTHS[month].lower(), MONTHS[month], int(cents[month]) / CENTS, currency, decimals=2)
        for month in cooled
    ]
    total = money_figure("year", "Year", int(cost.year_cents[0]) / CENTS, currency, decimals=2)
    return [*months, total]


def month_columns(found: SeasonFindings) -> list[tuple[str, list[Figure]]]:
    """Money by month: today's fouling all year, and fouling as it grows."""
    currency = found.inputs.currency
    return [
        ("today's fouling, all year", month_figures(found.today, currency)),
        ("as fouling grows", month_figures(found.coming, currency)),
    ]


def headline_figures(found: SeasonFindings, system: System) -> list[Figure]:
    """The few figures to see first: what today's fouling adds in a year."""
    taken = {one.key: one for one in season_columns(found, system)[1][1]}
    return [
        replace(taken["energy"], label="Electricity added by fouling in a year"),
        replace(taken["money"], label="Added to the yearly bill"),
        replace(taken["energy_share"], label="More than the clean unit uses"),
    ]


def season_sentences(found: SeasonFindings, system: System) -> list[str]:
    """What the season comes to, in words that an owner understands."""
    columns = season_columns(found, system)
    clean, held, growing = ({one.key: one for one in figures} for _, figures in columns)
    lines = [
        f"Today's fouling adds {with_interval(held['energy'])} and {with_interval(held['money'])} a year: "
        f"{held['energy_share'].text} % more than the {clean['energy'].text} kWh of the clean unit.",
    ]
    if found.unit.has_readings and not found.unit.is_proven:
        lines.append(
            "The readings fit a clean coil about as well: neither fouling nor its cost is established."
        )
    lines.append(
        f"Without cleaning, fouling grows and adds {with_interval(growing['money'])} in the twelve months "
        f"from {found.unit.today.isoformat()}."
    )
    lines.append(_comfort_sentence(held, growing))
    if growing["trip_hours"].value:
        lines.append(
            f"As fouling grows, the unit is off on high-pressure trips for "
            f"{with_interval(growing['trip_hours'])} of that year."
        )
    return lines


def _comfort_sentence(held: dict[str, Figure], growing: dict[str, Figure]) -> str:
    now, later = held["short_hours"], growing["short_hours"]
    if not now.value and not later.value:
        return "There are no more unmet-load hours than with a clean coil."
    return (
        f"Unmet-load hours rise by {with_interval(now)} a year with today's fouling, and by "
        f"{with_interval(later)} as fouling grows."
    )


def with_interval(one: Figure) -> str:
    """A figure with its unit and 90 % range, for a sentence."""
    interval = f" ({one.interval_text})" if one.interval_text else ""
    return f"{one.text} {one.unit}{interval}" if one.unit else f"{one.text}{interval}"


def ground_sentences(found: SeasonFindings, system: System) -> list[str]:
    """Basis of the season: weather, load, tariff, fouling, and every assumed value."""
    inputs, unit = found.inputs, found.unit
    year, load, tariff = inputs.setting.year, inputs.setting.load, inputs.setting.tariff
    cooled = float(np.sum(year.duration[load.total > 0.0]))
    most = of_quantity("", "", float(load.total.max()), CAPACITY, system)
    kind = f"typical year of {year.place}" if year.is_hourly else "temperature bins of AHRI 210/240"
    blocked = [100.0 * float(v) for v in np.quantile(unit.levels, [0.05, 0.95])]
    return [
        f"Weather: {kind}; {cooled:,.0f} cooling hours, peak load {with_interval(most)}.",
        f"Electricity: {_price_words(found)}; {tariff.carbon_intensity:g} kg of carbon dioxide per kWh.",
        f"Fouling: {100.0 * unit.level:.0f} % of the condenser's face blocked ({blocked[0]:.0f} to "
        f"{blocked[1]:.0f} %), from {unit.level_from}; {_growth_words(found)}.",
        *(f"Assumed: {one}." for one in inputs.assumptions),
        f"90 % ranges from {unit.tables.samples} Monte Carlo draws of the unit, its fouling and its growth.",
    ]


def _price_words(found: SeasonFindings) -> str:
    tariff, currency = found.inputs.setting.tariff, found.inputs.currency
    words = f"{tariff.price_per_kwh:g} {currency} per kWh"
    if tariff.energy_rates:
        prices = sorted({rate.price_per_kwh for rate in tariff.energy_rates})
        words += f", {', '.join(f'{price:g}' for price in prices)} at some hours"
    if tariff.demand_rates:
        charge = sum(rate.price_per_kw for rate in tariff.demand_rates)
        words += f", {charge:g} {currency} per kW and month of the unit's own highest hour"
    if tariff.escalation:
        words += f", rising {100.0 * tariff.escalation:g} % a year"
    return words


def _growth_words(found: SeasonFindings) -> str:
    growth = found.unit.growth
    words = f"growing by {100.0 * float(np.asarray(growth.rate)):.0f} points a year from clean"
    if growth.law == "asymptotic":
        words += f" towards {100.0 * float(np.asarray(growth.limit)):.0f} %"
    if growth.bursts:
        share = sum(burst.share for burst in growth.bursts)
        words += f", {100.0 * share:.0f} % of it in bursts"
    return f"{words} ({found.unit.growth_from})"


def season_json(found: SeasonFindings, system: System) -> dict[str, Any]:
    """The season for `--json`."""
    names = ("clean", "today", "coming")
    return {
        "today": found.unit.today.isoformat(),
        "condenser_blocked": to_json([_level_figure(found)])["condenser_blocked"],
        "year": {
            name: to_json(figures)
            for name, (_, figures) in zip(names, season_columns(found, system), strict=True)
        },
        "hardest": {
            name: to_json(figures)
            for name, (_, figures) in zip(names, worst_columns(found, system), strict=True)
        },
        "months": {
            name: to_json(figures) for name, (_, figures) in zip(names[1:], month_columns(found), strict=True)
        },
        "sentences": season_sentences(found, system),
        "ground": ground_sentences(found, system),
    }


def _level_figure(found: SeasonFindings) -> Figure:
    low, high = (float(end) for end in np.quantile(found.unit.levels, [0.05, 0.95]))
    return of_quantity(
        "condenser_blocked", "Face blocked", found.unit.level, PERCENT, "SI", interval=(low, high)
    )
