"""What fouling costs in a winter, as it is today and as it grows: the heating half of a season."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import ArrayLike

from calibration.estimate import Estimate, of_many_draws
from calibration.heating.winter_cost import WinterCase
from model.arrays import Array, IntArray
from model.heating.winter import WinterAmounts, balance_point, cents
from model.season.tariff import CENTS


@dataclass(frozen=True)
class WinterFindings:
    """A heating season, clean and fouled.

    Attributes
    ----------
    clean : WinterAmounts
        Months of the clean unit's year, shape (1, 12).
    today, coming : WinterAmounts
        What fouling adds to them: today's held all year, and as it grows on; shape (1, 12).
    today_drawn, coming_drawn : WinterAmounts
        The same for every draw, shape (draws, 12).
    today_cents, coming_cents : ndarray of int, shape (12,)
        Money that it adds in each month, in whole cents.
    balance_clean, balance_today : float
        Balance points [K].
    assumptions : tuple of str
        A sentence for every value that was filled in.
    backup_is_fuel : bool
        Whether backup heat has a price of its own, and is no electricity.
    """

    clean: WinterAmounts
    today: WinterAmounts
    coming: WinterAmounts
    today_drawn: WinterAmounts
    coming_drawn: WinterAmounts
    today_cents: IntArray
    coming_cents: IntArray
    balance_clean: float
    balance_today: float
    assumptions: tuple[str, ...]
    backup_is_fuel: bool = False

    def used(self, amounts: WinterAmounts) -> Array:
        """Electricity of some amounts by month [J], that of electric backup heat with it."""
        backup = 0.0 if self.backup_is_fuel else amounts.backup_heat
        return np.asarray(amounts.electricity + backup)

    def estimates(self, drawn: WinterAmounts) -> dict[str, Estimate]:
        """Median and 90 % range of the year's amounts, by the names of `WinterAmounts`."""
        return {
            one.name: of_many_draws(getattr(drawn, one.name).sum(axis=1)) for one in fields(WinterAmounts)
        }

    @property
    def today_money(self) -> float:
        """Money that today's fouling adds in a year, the sum of its months."""
        return int(self.today_cents.sum()) / CENTS

    @property
    def coming_money(self) -> float:
        """Money that fouling adds as it grows on, the sum of its months."""
        return int(self.coming_cents.sum()) / CENTS


def winter_findings(
    winter: WinterCase, level: float, levels: Array, growing: ArrayLike, growing_drawn: ArrayLike
) -> WinterFindings:
    """The winter of a fouled unit.

    Parameters
    ----------
    winter : WinterCase
        Its heating seasons by level.
    level : float
        Today's fouling [-].
    levels : ndarray, shape (draws,)
        Draws of it [-].
    growing, growing_drawn : array_like, shape (1, steps) and (draws, steps)
        Fouling in each step of a year as it grows on [-].

    Returns
    -------
    WinterFindings
    """
    clean = winter.likely.year([[0.0]])
    clean_drawn = winter.drawn.year([[0.0]])
    today, coming = (added(winter.likely.year(course), clean) for course in ([[level]], growing))
    cents_of = [cents(one.money[0] + clean.money[0]) - cents(clean.money[0]) for one in (today, coming)]
    return WinterFindings(
        clean=clean,
        today=today,
        coming=coming,
        today_drawn=added(winter.drawn.year(levels[:, None]), clean_drawn),
        coming_drawn=added(winter.drawn.year(growing_drawn), clean_drawn),
        today_cents=cents_of[0],
        coming_cents=cents_of[1],
        balance_clean=balance_point(winter.table, winter.rules),
        balance_today=balance_point(winter.table, winter.rules, level),
        assumptions=winter.assumptions,
        backup_is_fuel=winter.rules.backup_price is not None,
    )


def added(fouled: WinterAmounts, clean: WinterAmounts) -> WinterAmounts:
    """What a fouled year has over a clean one.

    Parameters
    ----------
    fouled, clean : WinterAmounts
        Of one shape.

    Returns
    -------
    WinterAmounts
        Differences.
    """
    names = [one.name for one in fields(WinterAmounts)]
    return WinterAmounts(**{name: getattr(fouled, name) - getattr(clean, name) for name in names})


def whole_winter(circuits: Sequence[WinterFindings | None]) -> WinterFindings | None:
    """The winter of a unit from those of its circuits.

    Parameters
    ----------
    circuits : sequence of WinterFindings or None
        One for each circuit, of as many draws.

    Returns
    -------
    WinterFindings or None
        Amounts of all together, balance points of the first; None where one of them has none.
    """
    known = [one for one in circuits if one is not None]
    if len(known) < len(circuits) or not known:
        return None

    def total(name: str) -> WinterAmounts:
        parts = [getattr(one, name) for one in known]
        sums = {f.name: np.sum([getattr(p, f.name) for p in parts], axis=0) for f in fields(WinterAmounts)}
        return WinterAmounts(**sums)

    return replace(
        known[0],
        clean=total("clean"),
        today=total("today"),
        coming=total("coming"),
        today_drawn=total("today_drawn"),
        coming_drawn=total("coming_drawn"),
        today_cents=np.sum([one.today_cents for one in known], axis=0),
        coming_cents=np.sum([one.coming_cents for one in known], axis=0),
    )
