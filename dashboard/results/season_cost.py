"""What a fouling costs in a season, as figures, rows and sentences for command line, pages and report alike.

Figures are those of the most likely unit; their intervals hold nine draws in ten. When to clean is in
`dashboard.results.cleaning_advice`.
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
from calibration.costs.season_cost import SeasonFindings, season_of_unit, toll_estimates
from dashboard.results.figures import Figure, figure, of_quantity, to_json
from dashboard.results.trip import TEMPERATURE_KEY, beyond_figure
from model.maintenance.policies import YEARS_AHEAD
from model.season.fouling_cost import Estimate, Toll
from model.season.tariff import CENTS

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
Progress = Callable[[float], None]


@dataclass(frozen=True)
class Costs:
    """What a fouling costs, and when to clean.

    Attributes
    ----------
    season : SeasonFindings
        The toll.
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
    """Toll and cleaning of a case, from one and the same fouled unit.

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
        Draws behind the intervals [-].

    Returns
    -------
    Costs

    Raises
    ------
    ValueError
        Where the season cannot be simulated.
    """
    tell = progress or (lambda done: None)
    inputs = season_case(case)
    unit = fouled_unit(case, baseline, inputs, today, lambda done: tell(0.2 * done), draws)
    season = season_of_unit(inputs, unit, lambda done: tell(0.2 + 0.3 * done))
    if inputs.cleaning is None:
        return Costs(season, None, "No price of a cleaning is given, so nothing is said about when to clean.")
    found = interval_of_unit(inputs, unit, YEARS_AHEAD, lambda done: tell(0.5 + 0.5 * done))
    return Costs(season, found)


def as_of_visit(case: Case, visit: Visit) -> Case:
    """The case as it stood after one visit: clean visits, those as found on earlier days, and the visit.

    Earlier visits tell how fast the dirt grows; with the last one the costs are those of the whole case.
    """
    kept = [one for one in case.visits if one != visit and (one.coil == "clean" or _is_before(one, visit))]
    return replace(case, visits=(*kept, visit))


def _is_before(one: Visit, other: Visit) -> bool:
    return one.date is not None and other.date is not None and one.date < other.date


def season_columns(found: SeasonFindings, system: System) -> list[tuple[str, list[Figure]]]:
    """A year of the clean unit, and what the fouling takes from it: held as it is today, and growing on.

    Returns
    -------
    list of (str, list of Figure)
        Heading and figures; the same keys in each, as far as they mean anything there.
    """
    return [
        ("clean unit, a year", _clean_figures(found, system)),
        ("taken by today's fouling, all year", _taken_figures(found, found.today, found.today_drawn, system)),
        (
            f"taken as it grows, a year from {found.unit.today.isoformat()}",
            _taken_figures(found, found.coming, found.coming_drawn, system),
        ),
    ]


_ROWS: tuple[tuple[str, str, Quantity], ...] = (
    ("energy", "Electricity", ENERGY),
    ("energy_share", "Over the clean unit's electricity", PERCENT),
    ("peak_power", "Highest hour", POWER),
    ("run_hours", "Hours running", HOURS),
    ("short_hours", "Hours short of the load", HOURS),
    ("trip_hours", "Hours tripped on high pressure", HOURS),
    ("cooling_lost", "Cooling that the room went without", ENERGY),
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


def _taken_figures(found: SeasonFindings, toll: Toll, drawn: Toll, system: System) -> list[Figure]:
    likely = {
        "energy": float(toll.energy.sum()),
        "energy_share": float(toll.energy_share[0]),
        "peak_power": _peak_rise(toll),
        "money": int(toll.year_cents[0]) / CENTS,
        "carbon": float(toll.carbon.sum()),
        "run_hours": float(toll.run_hours.sum()),
        "short_hours": float(toll.short_hours.sum()),
        "trip_hours": float(toll.trip_hours.sum()),
        "cooling_lost": float(toll.cooling_lost.sum()),
    }
    spread = toll_estimates(drawn)
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


def _peak_rise(toll: Toll) -> float:
    """Rise of the year's highest hour [W]."""
    return float(toll.fouled.totals.peak_power.max() - toll.clean.totals.peak_power.max())


def _ends(spread: Estimate, value: float) -> tuple[float, float]:
    """Interval of the draws, wide enough to hold the most likely value."""
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
    """The hardest hour of the year, and the weather at which the unit trips: clean, today, as it grows."""
    years = (
        ("clean unit", found.today.clean),
        ("with today's fouling", found.today.fouled),
        ("as it grows", found.coming.fouled),
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
                "Rise of the room, were that to last",
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


def month_figures(toll: Toll, currency: str) -> list[Figure]:
    """Money of each month with cooling, to the cent, and their sum."""
    cents = toll.cents[0]
    cooled = np.flatnonzero((toll.clean.bill.month_cents[0] > 0) | (cents != 0))
    months = [
        money_figure(MONTHS[month].lower(), MONTHS[month], int(cents[month]) / CENTS, currency, decimals=2)
        for month in cooled
    ]
    total = money_figure("year", "Year", int(toll.year_cents[0]) / CENTS, currency, decimals=2)
    return [*months, total]


def month_columns(found: SeasonFindings) -> list[tuple[str, list[Figure]]]:
    """Money by month: today's fouling all year, and as it grows on."""
    currency = found.inputs.currency
    return [
        ("today's fouling, all year", month_figures(found.today, currency)),
        ("as it grows", month_figures(found.coming, currency)),
    ]


def headline_figures(found: SeasonFindings, system: System) -> list[Figure]:
    """The few figures to see first: what today's fouling takes in a year."""
    taken = {one.key: one for one in season_columns(found, system)[1][1]}
    return [
        replace(taken["energy"], label="Electricity that the dirt takes in a year"),
        replace(taken["money"], label="What it adds to the bill of a year"),
        replace(taken["energy_share"], label="Over what the clean unit uses"),
    ]


def season_sentences(found: SeasonFindings, system: System) -> list[str]:
    """What the season comes to, in words that an owner understands."""
    columns = season_columns(found, system)
    clean, held, growing = ({one.key: one for one in figures} for _, figures in columns)
    lines = [
        f"Left as it is, the dirt takes {with_interval(held['energy'])} and {with_interval(held['money'])} "
        f"in a year: {held['energy_share'].text} % over the {clean['energy'].text} kWh of the clean unit.",
    ]
    if found.unit.has_readings and not found.unit.is_proven:
        lines.append(
            "A clean coil explains the readings about as well as a dirty one: they prove no cost of the dirt."
        )
    lines.append(
        f"Left to grow, it takes {with_interval(growing['money'])} in the twelve months from "
        f"{found.unit.today.isoformat()}."
    )
    lines.append(_comfort_sentence(held, growing))
    if growing["trip_hours"].value:
        lines.append(
            f"As the dirt grows the unit stops on high pressure in {with_interval(growing['trip_hours'])}."
        )
    return lines


def _comfort_sentence(held: dict[str, Figure], growing: dict[str, Figure]) -> str:
    now, later = held["short_hours"], growing["short_hours"]
    if not now.value and not later.value:
        return "The unit keeps the room cool in as many hours as a clean one would."
    return (
        f"The unit falls short of the load in {with_interval(now)} more than a clean one as it is, and in "
        f"{with_interval(later)} more as the dirt grows."
    )


def with_interval(one: Figure) -> str:
    """A figure with its unit and interval, for a sentence."""
    interval = f" ({one.interval_text})" if one.interval_text else ""
    return f"{one.text} {one.unit}{interval}" if one.unit else f"{one.text}{interval}"


def ground_sentences(found: SeasonFindings, system: System) -> list[str]:
    """What the season was worked out with: weather, load, tariff, dirt, and every value that was assumed."""
    inputs, unit = found.inputs, found.unit
    year, load, tariff = inputs.setting.year, inputs.setting.load, inputs.setting.tariff
    cooled = float(np.sum(year.duration[load.total > 0.0]))
    most = of_quantity("", "", float(load.total.max()), CAPACITY, system)
    kind = f"typical year of {year.place}" if year.is_hourly else "temperature bins of AHRI 210/240"
    blocked = [100.0 * float(v) for v in np.quantile(unit.levels, [0.05, 0.95])]
    return [
        f"Weather: {kind}; {cooled:,.0f} hours with cooling to do, at most {with_interval(most)}.",
        f"Electricity: {_price_words(found)}; {tariff.carbon_intensity:g} kg of carbon dioxide a kWh.",
        f"Dirt: {100.0 * unit.level:.0f} % of the condenser's face blocked ({blocked[0]:.0f} to "
        f"{blocked[1]:.0f} %), from {unit.level_from}; {_growth_words(found)}.",
        *(f"Assumed: {one}." for one in inputs.assumptions),
        f"Intervals hold nine in ten of {unit.tables.samples} draws of the unit, its dirt and its growth.",
    ]


def _price_words(found: SeasonFindings) -> str:
    tariff, currency = found.inputs.setting.tariff, found.inputs.currency
    words = f"{tariff.price_per_kwh:g} {currency} a kWh"
    if tariff.energy_rates:
        prices = sorted({rate.price_per_kwh for rate in tariff.energy_rates})
        words += f", {', '.join(f'{price:g}' for price in prices)} at some hours"
    if tariff.demand_rates:
        charge = sum(rate.price_per_kw for rate in tariff.demand_rates)
        words += f", {charge:g} {currency} a kW and month of the unit's own highest hour"
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
