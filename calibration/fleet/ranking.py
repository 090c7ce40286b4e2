"""Which unit first: rows of a fleet in order, filtered, and what they come to together with a range.

Assumptions: the errors of two units are independent of each other, so that half ranges add as the root of
their squares; where they all err the same way, half ranges simply add, and that range is given too. What is
only supposed (costs of fouling where the readings point to something else) counts in no total.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Any, Literal

Row = Mapping[str, Any]
By = Literal["money", "energy", "comfort", "knowing"]
Order = Literal["money", "energy", "comfort", "knowing", "verdict", "due", "last visit"]

RANKED_BY: dict[str, str] = {
    "money": "money_year",
    "energy": "kwh_year",
    "comfort": "unmet_hours",
    "knowing": "worth_of_measuring",
}
"""What rows are ranked by: money and electricity that fouling adds in a year, unmet-load hours, and the value
of one more visit that measures."""
VERDICT_ORDER = ("fault", "none_of_these", "inconclusive", "no_fault", "")
"""Verdicts, what asks for work first."""


@dataclass(frozen=True)
class Total:
    """A sum over units with its 90 % range.

    Attributes
    ----------
    value : float
    low, high : float
        Errors of units independent.
    low_together, high_together : float
        All units erring the same way.
    units : int
        How many rows it is of.
    """

    value: float
    low: float
    high: float
    low_together: float
    high_together: float
    units: int


def ranked(rows: Sequence[Row], by: By = "money") -> list[Row]:
    """Rows with the largest first; those without a figure last, in their own order.

    Parameters
    ----------
    rows : sequence of mapping
        Values by column.
    by : str
        One of `RANKED_BY`.

    Returns
    -------
    list of mapping
        What is only supposed comes after what is not.
    """
    column = RANKED_BY[by]

    def key(row: Row) -> tuple[bool, bool, float]:
        value = row.get(column)
        return value is None, bool(row.get("if_fouled")), -(value or 0.0)

    return sorted(rows, key=key)


def in_order(rows: Sequence[Row], order: Order) -> list[Row]:
    """Rows by a ranking, by verdict, or by a date; rows that are alike in it by money.

    Parameters
    ----------
    rows : sequence of mapping
        Values by column.
    order : str
        One of `RANKED_BY`, or "verdict" (faults first), "due" (the earliest first) or "last visit" (the
        longest ago first).

    Returns
    -------
    list of mapping
        Rows without a date last.
    """
    if order == "verdict":
        return sorted(ranked(rows), key=lambda row: VERDICT_ORDER.index(str(row.get("verdict") or "")))
    if order == "due" or order == "last visit":
        column = "clean_by" if order == "due" else "last_visit"
        return sorted(ranked(rows), key=lambda row: str(row.get(column) or "9999"))
    return ranked(rows, order)


def chosen(
    rows: Sequence[Row],
    sites: Sequence[str] = (),
    refrigerants: Sequence[str] = (),
    verdicts: Sequence[str] = (),
) -> list[Row]:
    """Rows of some sites, refrigerants and verdicts.

    Parameters
    ----------
    rows : sequence of mapping
        Values by column.
    sites, refrigerants, verdicts : sequence of str
        What is kept, whatever its capitals; empty keeps all.

    Returns
    -------
    list of mapping
    """
    asked = {"site": sites, "refrigerant": refrigerants, "verdict": verdicts}
    wanted = {name: {one.casefold() for one in some} for name, some in asked.items() if some}
    return [
        row
        for row in rows
        if all(str(row.get(name) or "").casefold() in some for name, some in wanted.items())
    ]


def total(rows: Sequence[Row], column: str) -> Total:
    """Sum of a column that has a range.

    Parameters
    ----------
    rows : sequence of mapping
        Values by column.
    column : str
        Such as "money_year"; its range is in the columns of that name with _low and _high.

    Returns
    -------
    Total
        Over rows that have a figure which is not only supposed.
    """
    counted = [row for row in rows if row.get(column) is not None and not row.get("if_fouled")]
    values = [float(row[column]) for row in counted]
    lows = [_end(row, f"{column}_low", one) for row, one in zip(counted, values, strict=True)]
    highs = [_end(row, f"{column}_high", one) for row, one in zip(counted, values, strict=True)]
    value, low_together, high_together = sum(values), sum(lows), sum(highs)
    below = sqrt(sum((one - low) ** 2 for one, low in zip(values, lows, strict=True)))
    above = sqrt(sum((high - one) ** 2 for one, high in zip(values, highs, strict=True)))
    return Total(
        value=value,
        low=max(value - below, low_together),
        high=min(value + above, high_together),
        low_together=low_together,
        high_together=high_together,
        units=len(counted),
    )


def _end(row: Row, column: str, value: float) -> float:
    """End of a range; the value itself where the table has none."""
    end = row.get(column)
    return value if end is None else float(end)


def totals_by_currency(rows: Sequence[Row], column: str = "money_year") -> dict[str, Total]:
    """Sums of money, one a currency.

    Parameters
    ----------
    rows : sequence of mapping
        Values by column.
    column : str
        A column of money.

    Returns
    -------
    dict of str to Total
    """
    currencies = dict.fromkeys(str(row["currency"]) for row in rows if row.get(column) is not None)
    return {
        currency: total([row for row in rows if row.get("currency") == currency], column)
        for currency in currencies
    }
