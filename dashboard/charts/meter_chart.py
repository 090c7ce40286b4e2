"""Chart of what the accuracy of each meter does to one measured figure."""

import numpy as np

from calibration.case.keys import find_key, words_of
from calibration.case.units import System
from calibration.measured.performance import MeasuredPerformance
from dashboard.charts import style
from dashboard.charts.chart import Axis, Bars, Chart


def meter_chart(performance: MeasuredPerformance, name: str, system: System) -> Chart:
    """By how much one standard accuracy of each reading moves a figure.

    Parameters
    ----------
    performance : MeasuredPerformance
        Of one visit [SI].
    name : str
        Figure, such as `net_capacity`.
    system : {"US", "SI"}
        Units of the axis.

    Returns
    -------
    Chart
        One bar a reading, the longest first.

    Raises
    ------
    ValueError
        If the figure cannot be calculated from the readings.
    """
    shares = performance.shares.get(name)
    row = find_key(name)
    if not shares or row is None or row.quantity is None:
        raise ValueError(f"name must be that of a figure of {performance.label}, got {name!r}")
    sorted_shares = sorted(shares.items(), key=lambda share: abs(share[1]), reverse=True)
    moved = np.array([abs(value) for _, value in sorted_shares]) / row.quantity.scale(system).factor
    labels = tuple(words_of(reading, "visit") for reading, _ in sorted_shares)
    unit = row.quantity.label(system)
    return Chart(
        title=f"{row.words}: effect of the accuracy of each meter",
        description=(
            f"One standard deviation of {labels[0].lower()} changes {row.words.lower()} by {moved[0]:.3g} "
            f"{unit}, more than that of any other reading."
        ),
        x=Axis("change for one standard deviation", unit),
        y=Axis(""),
        layers=(Bars(labels, np.zeros(len(moved)), moved, style.CLEAN),),
    )
