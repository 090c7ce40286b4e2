"""Chart of one quantity found by several routes: the 90 % range of each, to show which agree."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from dashboard.charts import style
from dashboard.charts.chart import Axis, Bars, Chart
from dashboard.results.figures import Figure

LANE = replace(style.CLEAN, colour="#9fcbd3")  # pale enough for the mark of the value to be seen on it
MARK = 0.004  # width of that mark, share of the axis [-]


def route_chart(routes: Sequence[Figure]) -> Chart:
    """Intervals of one quantity by its routes.

    Parameters
    ----------
    routes : sequence of Figure
        From `dashboard.results.visit_check.route_figures`: at least one, all in one unit, each with its
        interval.

    Returns
    -------
    Chart
        One bar a route from the lower to the upper end, the value marked.

    Raises
    ------
    ValueError
        If there is no route, or one without a number or an interval.
    """
    if not routes:
        raise ValueError("routes must hold at least one figure, got none")
    ends = [(one.value, one.low, one.high) for one in routes]
    if not all(isinstance(end, float) for row in ends for end in row):
        raise ValueError("routes must have numbers with intervals")
    value, low, high = np.array(ends, dtype=float).T
    half = MARK * float(high.max() - min(low.min(), 0.8 * value.min()))
    labels = tuple(f"{one.label}{' (suspect)' if one.supported else ''}" for one in routes)
    spread = f"{routes[0].text} {routes[0].unit} by the {labels[0].lower()}"
    return Chart(
        title="Capacity of the coil, by every route",
        description=f"90 % ranges of the coil's capacity by {len(routes)} routes; {spread}.",
        x=Axis("capacity of the coil", routes[0].unit, float(0.95 * low.min()), float(1.03 * high.max())),
        y=Axis(""),
        layers=(
            Bars(labels, low, high, LANE, "90 % range"),
            Bars(labels, value - half, value + half, style.MEASURED, "most likely"),
        ),
    )
