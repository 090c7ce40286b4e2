"""Which unit first: rows of a fleet in order, filtered, and what they come to together with a range.

Units are ranked and added by the mean over all that their readings leave open: a unit that is clean with a
probability of 60 % has a most likely cost of zero, and a hundred of them have not.

Assumptions: the errors of two units are independent of each other, so that their variances add, and the sum
follows a gamma distribution of its mean and variance (a normal one where it may be below zero); where they
all err the same way, the ends of their ranges add, and that range is given too. What is only supposed (costs
of fouling where the readings point to something else) counts in no total.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from scipy.special import gammaincinv, ndtri

from calibration.estimate import ENDS
from model.maintenance.growth import NORMAL_95

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


def mean_of(row: Row, column: str) -> float | None:
    """What a row counts for in rankings and totals: the mean of a figure; the figure itself without one.

    Parameters
    ----------
    row : mapping
        Values by column.
    column : str
        Such as "money_year".

    Returns
    -------
    float or None
        None where nothing is known.
    """
    mean = row.get(f"{column}_mean")
    value = row.get(column) if mean is None else mean
    return None if value is None else float(value)


def _variance(row: Row, column: str) -> float:
    """Of the same; from the 90 % range where the table has none."""
    spread = row.get(f"{column}_sd")
    if spread is None:
        spread = (_end(row, f"{column}_high", 0.0) - _end(row, f"{column}_low", 0.0)) / (2.0 * NORMAL_95)
    return float(spread) ** 2


@dataclass(frozen=True)
class Total:
    """A sum over units with its 90 % range.

    Attributes
    ----------
    value : float
        Sum of means.
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
        value = mean_of(row, column)
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
    value = sum(mean_of(row, column) or 0.0 for row in counted)
    low_together, high_together = (
        sum(_end(row, f"{column}{end}", float(row[column])) for row in counted) for end in ("_low", "_high")
    )
    low, high = low_together, high_together
    if len(counted) > 1:
        low, high = _spread_about(value, sum(_variance(row, column) for row in counted), low_together >= 0.0)
    return Total(
        value=value,
        low=min(max(low, low_together), value),
        high=max(high, value),
        low_together=min(low_together, value),
        high_together=max(high_together, value),
        units=len(counted),
    )


def _spread_about(mean: float, variance: float, is_positive: bool) -> tuple[float, float]:
    """Ends of the 90 % range of a sum of independent figures."""
    if not variance > 0.0:
        return mean, mean
    if is_positive and mean > 0.0:
        low, high = gammaincinv(mean * mean / variance, ENDS) * (variance / mean)
    else:
        low, high = mean + np.sqrt(variance) * ndtri(ENDS)
    return float(low), float(high)


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
