"""A heat pump's winter in the season's findings, as figures, rows and sentences."""

from typing import Any

import numpy as np

from calibration.case.units import ENERGY, HOURS, PERCENT, System
from calibration.costs.season_cost import SeasonFindings
from calibration.estimate import Estimate, of_many_draws
from calibration.heating.winter_findings import WinterFindings
from dashboard.results.figures import Figure, figure, of_estimate, of_quantity, to_json
from model.heating.winter import WinterAmounts, cents
from model.season.tariff import CENTS

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_ROWS = (
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
    supposed = "if it were fouling: " if found.unit.if_fouled else ""
    clean_money = int(cents(winter.clean.money[0]).sum()) / CENTS
    columns = [
        ("clean unit, a winter", _figures(winter.clean, None, clean_money, currency, system)),
        (
            f"{supposed}added by today's fouling",
            _figures(
                winter.today, winter.estimates(winter.today_drawn), winter.today_money, currency, system
            ),
        ),
        (
            f"{supposed}added as it grows",
            _figures(
                winter.coming, winter.estimates(winter.coming_drawn), winter.coming_money, currency, system
            ),
        ),
    ]
    balance = (winter.balance_clean, winter.balance_today)
    for (_, figures), value in zip(columns, balance, strict=False):
        shown = figure("outdoor_db", value, system)
        figures.append(Figure("balance_point", "Balance point", shown.value, shown.unit, shown.decimals))
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
    for name, words, quantity in _ROWS:
        value = float(getattr(amounts, name).sum())
        rows.append(of_quantity(name, words, value, quantity, system, interval=ends(name, value)))
    carbon = float(amounts.carbon.sum())
    rows[2:2] = [
        _plain("money", "Electricity and backup heat", money, currency, ends("money", money)),
        _plain("carbon", "Carbon dioxide", carbon, "kg", ends("carbon", carbon)),
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
        _plain("money", "Both seasons", money.value, found.inputs.currency, money.ends),
        of_estimate("energy", "Electricity, both seasons", found.year_energy, ENERGY, system),
        of_estimate("energy_share", "Share of the clean unit's", found.year_energy_share, PERCENT, system),
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
    text = f"{now.text} {now.unit}, clean {before.text} {before.unit}"
    sure = spread.low > 0.0 or spread.high < 0.0
    return [("Electricity for heating in a year", 100.0 * (1.0 + added / clean), text, sure)]


def year_columns(found: SeasonFindings) -> list[tuple[str, list[Figure]]]:
    """Money of both seasons by month, and their sum: today's fouling all year, and as it grows."""
    winter = found.winter
    if winter is None:
        return []
    columns = []
    for heading, summer, cold in (
        ("today's fouling, all year", found.today, winter.today_cents),
        ("as fouling grows", found.coming, winter.coming_cents),
    ):
        both = np.stack([summer.cents[0], cold])
        used = np.flatnonzero(np.any(both != 0, axis=0))
        figures = [
            Figure(MONTHS[m].lower(), MONTHS[m], int(both[:, m].sum()) / CENTS, found.inputs.currency, 2)
            for m in used
        ]
        for key, words, total in (
            ("cooling", "Cooling season", both[0]),
            ("heating", "Heating season", both[1]),
            ("year", "Year, both seasons", both),
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
    money = today["money"]
    share = _share_words(found, winter)
    supposed = "If it were fouling: in" if found.unit.if_fouled else "In"
    return [
        f"{supposed} winter today's fouling of the outdoor coil costs {money.text} {money.unit} "
        f"({money.interval_text}), with {today['electricity'].text} {today['electricity'].unit} more "
        f"electricity and {today['backup_heat'].text} {today['backup_heat'].unit} more backup heat{share}."
    ]


def _share_words(found: SeasonFindings, winter: WinterFindings) -> str:
    """Winter's part of what both seasons cost."""
    summer = int(found.today.year_cents[0]) / CENTS
    both = summer + winter.today_money
    if both <= 0.0 or winter.today_money <= 0.0 or summer <= 0.0:
        return ""
    return f"; that is {100.0 * winter.today_money / both:.0f} % of the {both:,.0f} of both seasons"


def winter_ground(found: SeasonFindings) -> list[str]:
    """What the winter rests on."""
    if found.winter is None:
        return []
    return [GROUND, *(f"Assumed: {one}." for one in found.winter.assumptions)]


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
