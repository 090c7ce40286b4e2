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
from calibration.costs.season_cost import SeasonFindings, cost_estimates
from calibration.estimate import Estimate
from dashboard.results.costs.season_ground import ground_sentences
from dashboard.results.costs.winter import both_seasons, winter_json, winter_sentences
from dashboard.results.figures import Figure, figure, of_quantity, probability, to_json, with_interval
from dashboard.results.finding import not_cleaning
from dashboard.results.suspect_readings import cost_readings, verdict_json
from dashboard.results.trip import TEMPERATURE_KEY, beyond_figure
from dashboard.texts.translate import tr
from model.season.fouling_cost import FoulingCost
from model.season.tariff import CENTS

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
NO_PRICE = "No cleaning price is given, so there is no advice on when to clean."


def season_columns(found: SeasonFindings, system: System) -> list[tuple[str, list[Figure]]]:
    """A year of the clean unit, and what fouling adds: as it is today all year, and as it grows.

    Returns
    -------
    list of (str, list of Figure)
        Heading and figures; the same keys in each, as far as they mean anything there.
    """
    supposed = tr("if it were fouling: ") if found.unit.if_fouled else ""
    return [
        (tr("clean unit, a year"), _clean_figures(found, system)),
        (
            tr("{supposed}added by today's fouling, all year", supposed=supposed),
            _added_figures(found, found.today, found.today_drawn, system),
        ),
        (
            tr(
                "{supposed}added as it grows, a year from {today}",
                supposed=supposed,
                today=found.unit.today.isoformat(),
            ),
            _added_figures(found, found.coming, found.coming_drawn, system),
        ),
    ]


MONEY = {
    "money": "Electricity and unmet cooling",
    "electricity_money": "of it the electricity bill",
    "unmet_money": "of it unmet cooling",
}
"""Rows of money: the whole and its parts."""
ROWS: tuple[tuple[str, str, Quantity], ...] = (
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
        for name, _, _ in ROWS
        if name not in ("energy_share", "peak_power")
    }
    values["peak_power"] = float(clean.totals.peak_power[0].max())
    figures = [
        of_quantity(name, tr(label), values[name], quantity, system)
        for name, label, quantity in ROWS
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
            money_figure(name, tr(MONEY[name]), int(one[0].sum()) / CENTS, found.inputs.currency)
            for name, one in cents.items()
        ),
        Figure("carbon", tr("Carbon dioxide"), round(float(clean.bill.carbon[0].sum()), 6), "kg", 0),
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
        of_quantity(
            name, tr(label), likely[name], quantity, system, interval=_ends(spread[name], likely[name])
        )
        for name, label, quantity in ROWS
    ]
    carbon = _ends(spread["carbon"], likely["carbon"])
    return [
        figures[0],
        *(
            money_figure(
                name, tr(label), likely[name], found.inputs.currency, _ends(spread[name], likely[name])
            )
            for name, label in MONEY.items()
        ),
        Figure("carbon", tr("Carbon dioxide"), round(likely["carbon"], 6), "kg", 0, *carbon),
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
        (tr("clean unit"), found.today.clean),
        (tr("with today's fouling"), found.today.fouled),
        (tr("as fouling grows"), found.coming.fouled),
    )
    hottest = float(found.unit.table.outdoor_temperature[-1])
    columns = []
    for heading, outcome in years:
        totals = outcome.totals
        figures = [
            of_quantity(
                "worst_shortfall",
                tr("Largest shortfall of capacity"),
                float(totals.worst_shortfall[0]),
                CAPACITY,
                system,
            ),
            of_quantity(
                "worst_room_rise",
                tr("Indoor temperature rise if the shortfall persisted"),
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
        money_figure(
            MONTHS[month].lower(), tr(MONTHS[month]), int(cents[month]) / CENTS, currency, decimals=2
        )
        for month in cooled
    ]
    total = money_figure("year", tr("Year"), int(cost.year_cents[0]) / CENTS, currency, decimals=2)
    return [*months, total]


def month_columns(found: SeasonFindings) -> list[tuple[str, list[Figure]]]:
    """Money by month: today's fouling all year, and fouling as it grows."""
    currency = found.inputs.currency
    return [
        (tr("today's fouling, all year"), month_figures(found.today, currency)),
        (tr("as fouling grows"), month_figures(found.coming, currency)),
    ]


def headline_figures(found: SeasonFindings, system: System) -> list[Figure]:
    """The few figures to see first: what today's fouling adds in a year."""
    added = {one.key: one for one in season_columns(found, system)[1][1]}
    added |= {one.key: one for one in both_seasons(found, system)}
    labels = {
        "money": tr("Cost of fouling in a year"),
        "energy": tr("Electricity added by fouling in a year"),
        "energy_share": tr("More than the clean unit uses"),
    }
    supposed = tr("If it were fouling: ") if found.unit.if_fouled else ""
    return [replace(added[key], label=f"{supposed}{label}") for key, label in labels.items()]


def season_sentences(found: SeasonFindings, system: System) -> list[str]:
    """What the season comes to, in words that an owner understands."""
    columns = season_columns(found, system)
    clean, held, growing = ({one.key: one for one in figures} for _, figures in columns)
    lines = [_year_sentence(clean, held)]
    if found.winter is not None:
        lines = [tr("Cooling season: {sentence}", sentence=f"{lines[0][0].lower()}{lines[0][1:]}")]
    if found.unit.whole_finding is not None and found.unit.if_fouled:
        share = probability(found.unit.whole_finding.probability_of_fouling)
        lines = [
            not_cleaning(found.unit.whole_finding),
            tr(
                "All costs suppose that the condenser coil is fouled, which is {share} probable.", share=share
            ),
            _supposed(lines[0]),
        ]
    elif found.unit.has_readings and not found.unit.is_proven:
        lines.append(
            tr("The readings fit a clean coil about as well: neither fouling nor its cost is established.")
        )
    lines += cost_readings(found.unit.whole_finding)
    season = "" if found.winter is None else tr(" in cooling")
    lines.append(
        tr(
            "Without cleaning, fouling grows and costs {money}{season} in the twelve months from {today}.",
            money=with_interval(growing["money"]),
            season=season,
            today=found.unit.today.isoformat(),
        )
    )
    lines.append(_comfort_sentence(held, growing))
    if growing["trip_hours"].value:
        lines.append(
            tr(
                "As fouling grows, the unit is off on high-pressure trips for {hours} of that year.",
                hours=with_interval(growing["trip_hours"]),
            )
        )
    return [*lines, *winter_sentences(found, system), *(tr(one) for one in found.inputs.warnings)]


def _year_sentence(clean: dict[str, Figure], held: dict[str, Figure]) -> str:
    """Cost of today's fouling in a year."""
    money, energy, unmet = (held[key] for key in ("money", "energy", "unmet_money"))
    if float(energy.value or 0.0) < 0.0:
        return tr(
            "Today's fouling costs {money} a year, {unmet} of it for cooling that the room goes "
            "without: the unit is off so often that it uses less electricity than a clean one.",
            money=with_interval(money),
            unmet=with_interval(unmet),
        )
    share = ""
    if unmet.text.strip("0.,"):
        share = tr(", {unmet} of it for cooling that the room goes without", unmet=with_interval(unmet))
    return tr(
        "Today's fouling adds {energy} and costs {money} a year{share}: {percent} % more than "
        "the {clean} kWh of the clean unit.",
        energy=with_interval(energy),
        money=with_interval(money),
        share=share,
        percent=held["energy_share"].text,
        clean=clean["energy"].text,
    )


def _supposed(sentence: str) -> str:
    return tr("If it were fouling: ") + f"{sentence[0].lower()}{sentence[1:]}"


def _comfort_sentence(held: dict[str, Figure], growing: dict[str, Figure]) -> str:
    now, later = held["short_hours"], growing["short_hours"]
    if not now.value and not later.value:
        return tr("There are no more unmet-load hours than with a clean coil.")
    return tr(
        "Unmet-load hours rise by {now} a year with today's fouling, and by {later} as fouling grows.",
        now=with_interval(now),
        later=with_interval(later),
    )


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
        "condenser_blocked", tr("Face blocked"), found.unit.level, PERCENT, "SI", interval=(low, high)
    )
