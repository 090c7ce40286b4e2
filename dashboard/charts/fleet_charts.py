"""Charts of a fleet: which unit first, level against cost, and what the first units make up."""

from collections.abc import Sequence

import numpy as np

from calibration.fleet.ranking import RANKED_BY, By, Row, mean_of, ranked
from dashboard.charts import style
from dashboard.charts.chart import Axis, Bars, Chart, Curve
from dashboard.results import figures
from dashboard.results.fleet.units import BY_UNITS, BY_WORDS
from dashboard.texts.translate import tr, tr_many

SHOWN = 20
"""Units that a ranking shows."""
FEWEST_SAVINGS = 10
"""Units for which savings are drawn at least."""
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
        title=tr("Which first: {quantity}", quantity=tr(BY_WORDS[by])),
        description=(
            tr(
                "{name} comes first with {amount}{ends}; {number} units are shown.",
                name=labels[0],
                amount=f"{figures.shown(value[0])} {unit}",
                ends=said,
                number=len(first),
            )
        ),
        x=Axis(tr(BY_WORDS[by]), unit, 0.0, ROOM_FOR_TEXTS * max(float(value.max()), 1.0)),
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
        title=tr("Level against cost"),
        description=(
            tr(
                "{claimed} of {number} units are claimed to have a fouled condenser; the same level "
                "costs more on a larger unit and where it runs longer.",
                claimed=len(claimed),
                number=len(shown),
            )
        ),
        x=Axis(tr("blocked share of the condenser's face"), "%"),
        y=Axis(tr("cost a year"), currency),
        layers=tuple(
            _points(some, role, name)
            for some, role, name in (
                (others, style.CLEAN, tr("not established")),
                (claimed, style.EXPECTED, tr("fouled condenser")),
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


def has_savings(rows: Sequence[Row]) -> bool:
    """Whether any unit has a saving by a cleaning that is not only supposed."""
    return bool(_savings(rows))


def _savings(rows: Sequence[Row]) -> list[tuple[float, float]]:
    """What a cleaning now saves at each unit, and its price; what brings most first."""
    found = [
        (float(row["saving_now"]), float(row["price"]))
        for row in rows
        if row.get("saving_now") is not None and row.get("price") is not None and not row.get("if_fouled")
    ]
    return sorted(found, key=lambda one: one[1] - one[0])


def savings_chart(rows: Sequence[Row], currency: str) -> Chart:
    """What cleanings of the first units save together, and less their prices.

    Parameters
    ----------
    rows : sequence of mapping
        Of the table of results, in one currency; at least one with a saving.
    currency : str

    Returns
    -------
    Chart
        From no unit to twice as many as pay; call-outs are left out, as the units of a site share these.
    """
    saved, prices = (np.array(one) for one in zip(*_savings(rows), strict=True))
    pays = int(np.count_nonzero(saved > prices))
    together, left = (np.concatenate([[0.0], np.cumsum(one)]) for one in (saved, saved - prices))
    cleaned = tr("No cleaning saves its price now")
    if pays:
        units = tr_many("1 unit", "the first {number} units", pays)
        cleaned = tr(
            "Cleaning {units} now saves {saved}, {left} more than the cleanings "
            "cost; no other saves its price now",
            units=units,
            saved=f"{figures.shown(together[pays])} {currency}",
            left=figures.shown(left[pays]),
        )
    count = np.arange(float(min(together.size, max(2 * pays, FEWEST_SAVINGS) + 1)))
    return Chart(
        title=tr("What the first cleanings save"),
        description=tr("{finding}. Call-outs are left out.", finding=cleaned),
        x=Axis(tr("units cleaned now")),
        y=Axis(tr("together"), currency),
        layers=(
            Curve(count, together[: count.size], style.CLEAN, tr("saved")),
            Curve(count, left[: count.size], style.EXPECTED, tr("less the cleanings")),
        ),
    )
