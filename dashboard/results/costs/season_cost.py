"""What fouling costs in a season, as figures, rows and sentences for command line, pages and report alike.

Figures are those of the most likely unit; their intervals hold nine draws in ten. Where the readings point to
something other than a fouled coil, they are said to be those "if it were fouling". When to clean is in
`dashboard.results.costs.cleaning_advice`.
"""

from dataclasses import replace
from typing import Any

import numpy as np

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
from calibration.costs.fouled_unit import WEATHER_SPREAD, FouledUnit
from calibration.costs.season_case import SeasonCase
from calibration.costs.season_cost import SeasonFindings, cost_estimates
from calibration.estimate import Estimate
from dashboard.results.costs.winter import both_seasons, winter_ground, winter_json, winter_sentences
from dashboard.results.figures import Figure, figure, of_quantity, probability, to_json
from dashboard.results.finding import not_cleaning
from dashboard.results.suspect_readings import cost_readings, verdict_json
from dashboard.results.trip import TEMPERATURE_KEY, beyond_figure
from model.season.fouling_cost import FoulingCost
from model.season.tariff import CENTS

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
NO_PRICE = "No cleaning price is given, so there is no advice on when to clean."
IF_FOULED = "if it were fouling"
"""Before costs that only suppose a fouled coil."""


def season_columns(found: SeasonFindings, system: System) -> list[tuple[str, list[Figure]]]:
    """A year of the clean unit, and what fouling adds: as it is today all year, and as it grows.

    Returns
    -------
    list of (str, list of Figure)
        Heading and figures; the same keys in each, as far as they mean anything there.
    """
    supposed = f"{IF_FOULED}: " if found.unit.if_fouled else ""
    return [
        ("clean unit, a year", _clean_figures(found, system)),
        (
            f"{supposed}added by today's fouling, all year",
            _added_figures(found, found.today, found.today_drawn, system),
        ),
        (
            f"{supposed}added as it grows, a year from {found.unit.today.isoformat()}",
            _added_figures(found, found.coming, found.coming_drawn, system),
        ),
    ]


MONEY = {
    "money": "Electricity and unmet cooling",
    "electricity_money": "of it the electricity bill",
    "unmet_money": "of it unmet cooling",
}
"""Rows of money: the whole and its parts."""
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
    cents = {
        "money": clean.month_cents,
        "electricity_money": clean.bill.month_cents,
        "unmet_money": clean.unmet_cents,
    }
    return [
        figures[0],
        *(
            money_figure(name, MONEY[name], int(one[0].sum()) / CENTS, found.inputs.currency)
            for name, one in cents.items()
        ),
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
        "electricity_money": int((cost.cents - cost.unmet_cents)[0].sum()) / CENTS,
        "unmet_money": int(cost.unmet_cents[0].sum()) / CENTS,
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
        *(
            money_figure(name, label, likely[name], found.inputs.currency, _ends(spread[name], likely[name]))
            for name, label in MONEY.items()
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
    cooled = np.flatnonzero((cost.clean.month_cents[0] > 0) | (cents != 0))
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
    added = {one.key: one for one in season_columns(found, system)[1][1]}
    added |= {one.key: one for one in both_seasons(found, system)}
    labels = {
        "money": "Cost of fouling in a year",
        "energy": "Electricity added by fouling in a year",
        "energy_share": "More than the clean unit uses",
    }
    supposed = f"{IF_FOULED.capitalize()}: " if found.unit.if_fouled else ""
    return [replace(added[key], label=f"{supposed}{label}") for key, label in labels.items()]


def season_sentences(found: SeasonFindings, system: System) -> list[str]:
    """What the season comes to, in words that an owner understands."""
    columns = season_columns(found, system)
    clean, held, growing = ({one.key: one for one in figures} for _, figures in columns)
    lines = [_year_sentence(clean, held)]
    if found.winter is not None:
        lines = [f"Cooling season: {lines[0][0].lower()}{lines[0][1:]}"]
    if found.unit.whole_finding is not None and found.unit.if_fouled:
        share = probability(found.unit.whole_finding.probability_of_fouling)
        lines = [
            not_cleaning(found.unit.whole_finding),
            f"All costs suppose that the condenser coil is fouled, which is {share} probable.",
            _supposed(lines[0]),
        ]
    elif found.unit.has_readings and not found.unit.is_proven:
        lines.append(
            "The readings fit a clean coil about as well: neither fouling nor its cost is established."
        )
    lines += cost_readings(found.unit.whole_finding)
    season = "" if found.winter is None else " in cooling"
    lines.append(
        f"Without cleaning, fouling grows and costs {with_interval(growing['money'])}{season} in the twelve "
        f"months from {found.unit.today.isoformat()}."
    )
    lines.append(_comfort_sentence(held, growing))
    if growing["trip_hours"].value:
        lines.append(
            f"As fouling grows, the unit is off on high-pressure trips for "
            f"{with_interval(growing['trip_hours'])} of that year."
        )
    return [*lines, *winter_sentences(found, system), *found.inputs.warnings]


def _year_sentence(clean: dict[str, Figure], held: dict[str, Figure]) -> str:
    """Cost of today's fouling in a year."""
    money, energy, unmet = (held[key] for key in ("money", "energy", "unmet_money"))
    if float(energy.value or 0.0) < 0.0:
        return (
            f"Today's fouling costs {with_interval(money)} a year, {with_interval(unmet)} of it for cooling "
            "that the room goes without: the unit is off so often that it uses less electricity than a clean "
            "one."
        )
    share = ""
    if unmet.text.strip("0.,"):
        share = f", {with_interval(unmet)} of it for cooling that the room goes without"
    return (
        f"Today's fouling adds {with_interval(energy)} and costs {with_interval(money)} a year{share}: "
        f"{held['energy_share'].text} % more than the {clean['energy'].text} kWh of the clean unit."
    )


def _supposed(sentence: str) -> str:
    return f"{IF_FOULED.capitalize()}: {sentence[0].lower()}{sentence[1:]}"


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
    carbon = "hourly amounts" if tariff.carbon_by_hour else f"{tariff.carbon_intensity:g} kg"
    kind = f"typical year of {year.place}" if year.is_hourly else "temperature bins of AHRI 210/240"
    blocked = [100.0 * float(v) for v in np.quantile(unit.levels, [0.05, 0.95])]
    return [
        f"Weather: {kind}; {cooled:,.0f} cooling hours, peak load {with_interval(most)}{_bill_words(unit)}.",
        f"Electricity: {_price_words(found)}; {carbon} of carbon dioxide per kWh.",
        f"Fouling: {100.0 * unit.level:.0f} % of the condenser's face blocked ({blocked[0]:.0f} to "
        f"{blocked[1]:.0f} %), from {unit.level_from}; {_growth_words(found)}.",
        *_speed_sentences(found.inputs),
        *_air_sentences(found.inputs),
        *(f"Assumed: {one}." for one in inputs.assumptions),
        *winter_ground(found),
        f"90 % ranges from {unit.tables.samples} draws of the unit, its fouling and growth, the load "
        f"({100.0 * unit.load_spread:.0f} % either way), the year's weather ({WEATHER_SPREAD:g} K) and the "
        "trip setting, spread evenly over all that they can be together.",
    ]


def _bill_words(unit: FouledUnit) -> str:
    """What a bill said of the load, empty without one."""
    if unit.billed_factor is None:
        return ""
    return f", {unit.billed_factor:.2f} times the one given or assumed, from the bill"


def _speed_sentences(inputs: SeasonCase) -> list[str]:
    """How a compressor of several speeds meets a part of the load; none for a single speed."""
    speeds = [f"{100.0 * float(np.asarray(room.compressor_speed)):.0f} %" for room in inputs.rooms]
    if len(speeds) == 1:
        return []
    if inputs.setting.running.between_speeds == "varies":
        return [
            f"Compressor: variable speed from {speeds[0]} to {speeds[-1]} of full, cycling at less load; it "
            "slows down before it trips."
        ]
    return [
        f"Compressor: {len(speeds)} stages, {' and '.join(speeds)} of full speed; it cycles at the lowest "
        "and alternates between two for a load between them."
    ]


def _air_sentences(inputs: SeasonCase) -> list[str]:
    """What a blower that always runs and an economiser do to the season; none without them."""
    lines = []
    if inputs.setting.running.blower_always_on:
        lines.append(
            "The blower runs in every hour: its watts are in the electricity, its heat is in the load."
        )
    if inputs.economiser_hours:
        lines.append(
            f"The economiser takes {inputs.economiser_hours:,.0f} hours with a load from the season; what "
            "its fan uses then is not in these figures."
        )
    return lines


def _price_words(found: SeasonFindings) -> str:
    tariff, currency = found.inputs.setting.tariff, found.inputs.currency
    words = f"{tariff.price_per_kwh:g} {currency} per kWh"
    if tariff.energy_rates:
        prices = sorted({rate.price_per_kwh for rate in tariff.energy_rates})
        words += f", {', '.join(f'{price:g}' for price in prices)} at some hours"
    for block in tariff.blocks:
        words += f", {block.adds:+g} above {block.above_kwh:,.0f} kWh a month"
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
        **verdict_json(found.unit.whole_finding, system),
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
        **winter_json(found, system),
        "sensitivity": {one: {"low": low, "high": high} for one, low, high in found.effects},
        "sentences": season_sentences(found, system),
        "warnings": list(found.inputs.warnings),
        "ground": ground_sentences(found, system),
    }


def _level_figure(found: SeasonFindings) -> Figure:
    low, high = (float(end) for end in np.quantile(found.unit.levels, [0.05, 0.95]))
    return of_quantity(
        "condenser_blocked", "Face blocked", found.unit.level, PERCENT, "SI", interval=(low, high)
    )
