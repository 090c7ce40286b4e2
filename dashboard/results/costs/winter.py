"""A heat pump's winter in the season's findings, as figures, rows and sentences."""

from typing import Any

import numpy as np

from calibration.case.units import ENERGY, HOURS, PERCENT, System
from calibration.costs.season_cost import SeasonFindings
from calibration.estimate import Estimate, of_many_draws
from calibration.heating.winter_findings import WinterFindings
from dashboard.results.figures import Figure, figure, of_estimate, of_quantity, to_json
from dashboard.texts.translate import tr
from model.heating.winter import WinterAmounts, cents
from model.season.tariff import CENTS

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
ROWS = (
    ("electricity", "Electricity of the heat pump", ENERGY),
    ("backup_heat", "Backup heat", ENERGY),
    ("run_hours", "Hours running", HOURS),
    ("unmet", "Unmet heating", ENERGY),
)
GROUND = (
    "Winter: frost and defrost as in AHRI 210/240 at 35 degF, carried to other weather; their growth on a "
    "fouled coil has no published figure, and its range is in the 90 % ranges."
)
"""What the winter rests on, beside the values that were assumed."""


def winter_columns(found: SeasonFindings, system: System) -> list[tuple[str, list[Figure]]]:
    """The clean unit's heating season, and what fouling adds: today's all year, and as it grows."""
    winter = found.winter
    if winter is None:
        return []
    currency = found.inputs.currency
    supposed = tr("if it were fouling: ") if found.unit.if_fouled else ""
    clean_money = int(cents(winter.clean.money[0]).sum()) / CENTS
    columns = [
        (tr("clean unit, a winter"), _figures(winter.clean, None, clean_money, currency, system)),
        (
            tr("{supposed}added by today's fouling", supposed=supposed),
            _figures(
                winter.today, winter.estimates(winter.today_drawn), winter.today_money, currency, system
            ),
        ),
        (
            tr("{supposed}added as it grows", supposed=supposed),
            _figures(
                winter.coming, winter.estimates(winter.coming_drawn), winter.coming_money, currency, system
            ),
        ),
    ]
    balance = (winter.balance_clean, winter.balance_today)
    for (_, figures), value in zip(columns, balance, strict=False):
        shown = figure("outdoor_db", value, system)
        figures.append(Figure("balance_point", tr("Balance point"), shown.value, shown.unit, shown.decimals))
    return columns


def _figures(
    amounts: WinterAmounts,
    spread: dict[str, Estimate] | None,
    money: float,
    currency: str,
    system: System,
) -> list[Figure]:
    def ends(name: str, value: float) -> tuple[float, float] | None:
        one = None if spread is None else spread[name]
        return None if one is None else (min(one.low, value), max(one.high, value))

    rows = []
    for name, words, quantity in ROWS:
        value = float(getattr(amounts, name).sum())
        rows.append(of_quantity(name, tr(words), value, quantity, system, interval=ends(name, value)))
    carbon = float(amounts.carbon.sum())
    rows[2:2] = [
        _plain("money", tr("Electricity and backup heat"), money, currency, ends("money", money)),
        _plain("carbon", tr("Carbon dioxide"), carbon, "kg", ends("carbon", carbon)),
    ]
    return rows


def _plain(key: str, words: str, value: float, unit: str, ends: tuple[float, float] | None) -> Figure:
    low, high = (None, None) if ends is None else (round(ends[0], 6), round(ends[1], 6))
    return Figure(key, words, round(value, 6), unit, 0, low, high)


def both_seasons(found: SeasonFindings, system: System) -> list[Figure]:
    """Money, electricity and its share that today's fouling adds in both seasons; none without a winter."""
    if found.winter is None:
        return []
    money = found.year_money
    return [
        _plain("money", tr("Both seasons"), money.value, found.inputs.currency, money.ends),
        of_estimate("energy", tr("Electricity, both seasons"), found.year_energy, ENERGY, system),
        of_estimate(
            "energy_share", tr("Share of the clean unit's"), found.year_energy_share, PERCENT, system
        ),
    ]


def winter_clean_and_now(found: SeasonFindings, system: System) -> list[tuple[str, float, str, bool]]:
    """Electricity of a winter with today's fouling over the clean unit's: words, share [%], text, clear.

    Backup heat is in it where it is electric. None where winter is in no figure.
    """
    winter = found.winter
    if winter is None:
        return []
    clean = float(winter.used(winter.clean).sum())
    added, spread = (
        float(winter.used(winter.today).sum()),
        of_many_draws(winter.used(winter.today_drawn).sum(axis=1)),
    )
    if clean <= 0.0:
        return []
    before, now = (of_quantity("energy", "", value, ENERGY, system) for value in (clean, clean + added))
    text = tr(
        "{now}, clean {clean}",
        now=f"{now.text} {now.unit}",
        clean=f"{before.text} {before.unit}",
    )
    sure = spread.low > 0.0 or spread.high < 0.0
    return [(tr("Electricity for heating in a year"), 100.0 * (1.0 + added / clean), text, sure)]


def year_columns(found: SeasonFindings) -> list[tuple[str, list[Figure]]]:
    """Money of both seasons by month, and their sum: today's fouling all year, and as it grows."""
    winter = found.winter
    if winter is None:
        return []
    columns = []
    for heading, summer, cold in (
        (tr("today's fouling, all year"), found.today, winter.today_cents),
        (tr("as fouling grows"), found.coming, winter.coming_cents),
    ):
        both = np.stack([summer.cents[0], cold])
        used = np.flatnonzero(np.any(both != 0, axis=0))
        figures = [
            Figure(MONTHS[m].lower(), MONTHS[m], int(both[:, m].sum()) / CENTS, found.inputs.currency, 2)
            for m in used
        ]
        for key, words, total in (
            ("cooling", tr("Cooling season"), both[0]),
            ("heating", tr("Heating season"), both[1]),
            ("year", tr("Year, both seasons"), both),
        ):
            figures.append(Figure(key, words, int(total.sum()) / CENTS, found.inputs.currency, 2))
        columns.append((heading, figures))
    return columns


def seasons_columns(found: SeasonFindings) -> list[tuple[str, list[Figure]]]:
    """Money of each season and of the year: the last rows of `year_columns`."""
    return [(heading, figures[-3:]) for heading, figures in year_columns(found)]


def winter_sentences(found: SeasonFindings, system: System) -> list[str]:
    """What the winter comes to in words; none where it is in no figure."""
    winter = found.winter
    if winter is None:
        return []
    today = {one.key: one for one in winter_columns(found, system)[1][1]}
    money, electricity, backup = (today[key] for key in ("money", "electricity", "backup_heat"))
    share = _share_words(found, winter)
    supposed = tr("If it were fouling: in") if found.unit.if_fouled else tr("In")
    return [
        tr(
            "{supposed} winter today's fouling of the outdoor coil costs {money}, with "
            "{electricity} more electricity and {backup} more backup heat{share}.",
            supposed=supposed,
            money=f"{money.text} {money.unit} ({money.interval_text})",
            electricity=f"{electricity.text} {electricity.unit}",
            backup=f"{backup.text} {backup.unit}",
            share=share,
        )
    ]


def _share_words(found: SeasonFindings, winter: WinterFindings) -> str:
    """Winter's part of what both seasons cost."""
    summer = int(found.today.year_cents[0]) / CENTS
    both = summer + winter.today_money
    if both <= 0.0 or winter.today_money <= 0.0 or summer <= 0.0:
        return ""
    return tr(
        "; that is {percent} % of the {money} of both seasons",
        percent=f"{100.0 * winter.today_money / both:.0f}",
        money=f"{both:,.0f}",
    )


def winter_ground(found: SeasonFindings) -> list[str]:
    """What the winter rests on."""
    if found.winter is None:
        return []
    return [
        tr(GROUND),
        *(tr("Assumed: {assumption}.", assumption=tr(one)) for one in found.winter.assumptions),
    ]


def winter_json(found: SeasonFindings, system: System) -> dict[str, Any]:
    """Keys that a heat pump's season has besides."""
    if found.winter is None:
        return {}
    names = ("clean", "today", "coming")
    return {
        "heating": {
            name: to_json(figures)
            for name, (_, figures) in zip(names, winter_columns(found, system), strict=True)
        },
        "both_seasons": {
            name: to_json(figures) for name, (_, figures) in zip(names[1:], year_columns(found), strict=True)
        },
    }
