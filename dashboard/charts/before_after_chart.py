"""Clean and now in one picture for the owner: power, head pressure and electricity over the clean unit's."""

from dataclasses import replace

import numpy as np

from calibration.case.units import System
from calibration.costs.season_cost import SeasonFindings
from calibration.diagnosis.comparison import Comparison
from dashboard.charts import style
from dashboard.charts.chart import Axis, Bars, Chart
from dashboard.results.comparison import clean_and_now
from dashboard.texts.translate import tr

UNSURE = replace(style.GUIDE, colour="#b9c4c2")
ROOM = 1.55
"""Length of the axis over that of the longest bar [-]: the texts stand at its end."""


def before_after_chart(comparison: Comparison, season: SeasonFindings | None, system: System) -> Chart:
    """Bars of the unit as found over the clean unit in the same weather, which is 100.

    Parameters
    ----------
    comparison : Comparison
        A visit beside the clean unit.
    season : SeasonFindings, optional
        For the electricity of a year.
    system : {"US", "SI"}
        Units of the texts.

    Returns
    -------
    Chart
        One bar a figure; pale where the 90 % range of the change holds none.
    """
    rows = clean_and_now(comparison, season, system)
    labels = tuple(one.label for one in rows)
    now, hundred = np.array([one.share for one in rows]), np.full(len(rows), 100.0)
    sure = np.array([one.sure for one in rows])
    unclear = "" if sure.all() else tr("no clear change")
    spoken = ", ".join(
        f"{one.label.lower()} {one.share:.0f} ({one.text}{'' if one.sure else f', {unclear}'})"
        for one in rows
    )
    low, high = np.minimum(now, hundred), np.maximum(now, hundred)
    return Chart(
        title=tr("Now, and with a clean coil in the same weather"),
        description=tr("With a clean coil 100; now {spoken}.", spoken=spoken),
        x=Axis(tr("clean coil = 100"), "", 0.0, ROOM * float(high.max())),
        y=Axis(""),
        layers=(
            Bars(labels, np.zeros(len(rows)), hundred, style.CLEAN, tr("clean coil")),
            Bars(
                labels,
                low,
                np.where(sure, high, low),
                style.EXPECTED,
                tr("changed now"),
                tuple(one.text if one.sure else "" for one in rows),
            ),
            Bars(
                labels,
                low,
                np.where(sure, low, high),
                UNSURE,
                unclear,
                tuple("" if one.sure else one.text for one in rows),
            ),
        ),
    )
