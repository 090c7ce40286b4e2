"""Charts of a fleet: which unit first, level against cost, and what the first units make up."""

from collections.abc import Sequence

import numpy as np

from calibration.fleet.ranking import RANKED_BY, By, Row, mean_of, ranked
from dashboard.charts import style
from dashboard.charts.chart import Axis, Bars, Chart, Curve
from dashboard.results import figures
from dashboard.results.fleet.units import BY_UNITS, BY_WORDS

SHOWN = 20
"""Units that a ranking shows."""
ROOM_FOR_TEXTS = 1.35  # of the axis over the longest bar, so that its range stands inside on a phone too


def counted_rows(rows: Sequence[Row], by: By = "money") -> list[Row]:
    """Rows with a figure that is not only supposed, the greatest first."""
    return [
        row for row in ranked(rows, by) if row.get(RANKED_BY[by]) is not None and not row.get("if_fouled")
    ]


def ranking_chart(rows: Sequence[Row], currency: str, by: By = "money", shown: int = SHOWN) -> Chart:
    """The first units by what they are ranked by, each with its 90 % range.

    Parameters
    ----------
    rows : sequence of mapping
        Of the table of results, in one currency; at least one with a cost.
    currency : str
    by : str
        What they are ranked by.
    shown : int
        How many units at most.

    Returns
    -------
    Chart
        The greatest first.
    """
    first, column = counted_rows(rows, by)[:shown], RANKED_BY[by]
    value = np.array([mean_of(row, column) for row in first], dtype=float)
    labels, texts = tuple(map(_label, first)), tuple(_range(row, column) for row in first)
    unit = BY_UNITS.get(column, currency)
    said = f" ({texts[0]})" if texts[0] else ""
    return Chart(
        title=f"Which first: {BY_WORDS[by]}",
        description=(
            f"{labels[0]} comes first with {figures.shown(value[0])} {unit}{said};"
            f" {len(first)} units are shown."
        ),
        x=Axis(BY_WORDS[by], unit, 0.0, ROOM_FOR_TEXTS * max(float(value.max()), 1.0)),
        y=Axis(""),
        layers=(Bars(labels, np.zeros(value.size), value, style.CLEAN, texts=texts),),
    )


def _range(row: Row, column: str) -> str:
    """Range of a figure; empty where it has none."""
    return figures.range_words(row.get(f"{column}_low"), row.get(f"{column}_high"))


def _label(row: Row) -> str:
    return f"{row['site']}, {row['unit']}" if row["site"] else str(row["unit"])


def level_chart(rows: Sequence[Row], currency: str) -> Chart:
    """Fouling level of each unit against what it costs.

    Parameters
    ----------
    rows : sequence of mapping
        As for `ranking_chart`.
    currency : str

    Returns
    -------
    Chart
        A point a unit; those that are claimed to be fouled apart from the others.
    """
    shown = [row for row in counted_rows(rows) if row.get("level") is not None]
    claimed = [row for row in shown if "clean_condenser" in str(row.get("treatments") or "")]
    others = [row for row in shown if row not in claimed]
    return Chart(
        title="Level against cost",
        description=(
            f"{len(claimed)} of {len(shown)} units are claimed to have a fouled condenser; the same level"
            " costs more on a larger unit and where it runs longer."
        ),
        x=Axis("blocked share of the condenser's face", "%"),
        y=Axis("cost a year", currency),
        layers=tuple(
            _points(some, role, name)
            for some, role, name in (
                (others, style.CLEAN, "not established"),
                (claimed, style.EXPECTED, "fouled condenser"),
            )
            if some
        ),
    )


def _points(rows: Sequence[Row], role: style.Role, name: str) -> Curve:
    return Curve(
        100.0 * np.array([float(row["level"]) for row in rows]),
        np.array([mean_of(row, "money_year") for row in rows], dtype=float),
        role,
        name,
        line=False,
        markers=True,
        labels=tuple(map(_label, rows)),
    )


def cumulative_chart(rows: Sequence[Row], currency: str) -> Chart:
    """Cost of fouling that the first units make up together.

    Parameters
    ----------
    rows : sequence of mapping
        As for `ranking_chart`.
    currency : str

    Returns
    -------
    Chart
        From no unit to all.
    """
    costs = np.array([max(mean_of(row, "money_year") or 0.0, 0.0) for row in counted_rows(rows)])
    together = np.concatenate([[0.0], np.cumsum(costs)])
    half = int(np.searchsorted(together, 0.5 * together[-1]))
    whole = figures.shown(together[-1])
    return Chart(
        title="How many units make up the cost",
        description=f"Half of {whole} {currency} a year falls on {half} of {costs.size} units.",
        x=Axis("units, the most expensive first"),
        y=Axis("cost a year, together", currency),
        layers=(Curve(np.arange(together.size, dtype=float), together, style.CLEAN),),
    )
