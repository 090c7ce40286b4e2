"""Chart of the clean-coil fit: how far each reading of the clean visits is from it."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from dashboard.charts import style
from dashboard.charts.chart import Axis, Bars, Chart
from dashboard.results.figures import Figure, signed

USUAL = 2.0  # standard errors within which 19 of 20 readings are expected [-]
LANE = replace(style.GUIDE, colour=style.GRID)


def residual_chart(rows: Sequence[tuple[str, str, Figure, Figure, float]]) -> Chart:
    """Measured less fitted in standard errors, over a lane of two to either side.

    Parameters
    ----------
    rows : sequence of (visit, words, measured, fitted, standard errors)
        From `dashboard.results.clean_fit.residual_rows`.

    Returns
    -------
    Chart
        One bar a reading; with several clean visits each reading is named with its visit.

    Raises
    ------
    ValueError
        If there is no row.
    """
    if not rows:
        raise ValueError("rows must hold at least one reading, got none")
    several = len({row[0] for row in rows}) > 1
    labels = tuple(f"{words}, {visit}" if several else words for visit, words, *_ in rows)
    scores = np.array([row[4] for row in rows])
    side = np.full(len(rows), USUAL)
    worst = int(np.argmax(np.abs(scores)))
    return Chart(
        title="Readings of the clean visits against the fit",
        description=(
            "Measured minus fitted in standard errors, one bar for each reading; the largest is "
            f"{labels[worst]}, {signed(scores[worst], 1)} standard errors."
        ),
        x=Axis("measured minus fitted, in standard errors"),
        y=Axis(""),
        layers=(
            Bars(labels, -side, side, LANE, "95 % range"),
            Bars(labels, np.zeros(len(rows)), scores, style.CLEAN, texts=tuple(signed(s, 1) for s in scores)),
        ),
    )
