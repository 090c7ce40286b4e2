"""Charts of losses to fouling, and of the difference of readings from those expected of the clean unit."""

from collections.abc import Sequence

import numpy as np

from calibration.case.units import System
from calibration.clean_fit.baseline import Baseline
from calibration.diagnosis.comparison import Comparison
from dashboard.charts import style
from dashboard.charts.chart import Axis, Band, Bars, Chart, Curve, Layer
from dashboard.results.comparison import reading_rows
from dashboard.results.figures import signed
from dashboard.results.prediction import ChosenWeather, fouling_levels

SHARES = tuple(float(share) for share in np.linspace(0.0, 0.8, 17))  # drawn shares of the face [-]


def loss_chart(
    baseline: Baseline, weather: ChosenWeather, key: str, comparison: Comparison | None = None
) -> Chart:
    """Change of one figure against the blocked share of the condenser's face, with its 90 % band.

    Parameters
    ----------
    baseline : Baseline
        The fitted clean unit.
    weather : ChosenWeather
        Where.
    key : str
        Figure of `dashboard.results.prediction.change_figures`, such as `eer_change`.
    comparison : Comparison, optional
        A visit in that weather, whose best fouling is marked with its intervals.

    Returns
    -------
    Chart
        Blocked share along x, change along y, both in percent.
    """
    levels = fouling_levels(baseline, weather, SHARES, "SI", {})
    found = [{one.key: one for one in level.changes}[key] for level in levels]
    value, low, high = (
        np.array([float(getattr(one, name)) for one in found]) for name in ("value", "low", "high")
    )
    blocked = 100.0 * np.array(SHARES)
    layers: list[Layer] = [
        Band(blocked, low, high, style.EXPECTED, "90 % range"),
        Curve(blocked, value, style.EXPECTED, "expected"),
    ]
    if comparison is not None:
        layers += _found_fouling(comparison, blocked, value)
    words = found[0].label.removeprefix("Change of ")
    return Chart(
        title=f"{words[0].upper()}{words[1:]} lost to a blocked face",
        description=(
            f"{found[0].label} against the blocked share of the condenser's face, at {weather.words}: "
            f"{value[10]:.0f} % with half of it blocked."
        ),
        x=Axis("condenser face blocked", "%", 0.0, 80.0),
        y=Axis(f"change of {words}", "%"),
        layers=tuple(layers),
    )


def _found_fouling(comparison: Comparison, blocked: np.ndarray, value: np.ndarray) -> list[Layer]:
    """The best fouling on the curve, and the interval of its blocked share as a line along x."""
    share = comparison.finding.blocked
    ends = 100.0 * np.array([share.low, share.high])
    place = np.array([100.0 * share.value])
    height = np.interp(place, blocked, value)
    line = Curve(ends, np.repeat(height, 2), style.MEASURED)
    label = (
        f"{comparison.visit.label}: {100 * share.value:.0f} % "
        f"({100 * share.low:.0f} to {100 * share.high:.0f} %)",
    )
    return [line, Curve(place, height, style.MEASURED, "this visit", line=False, markers=True, labels=label)]


def difference_chart(comparison: Comparison, system: System) -> Chart:
    """Difference of each reading from the clean unit, in standard errors.

    Parameters
    ----------
    comparison : Comparison
        One visit beside the clean unit.
    system : {"US", "SI"}
        Units of the texts beside the bars.

    Returns
    -------
    Chart
        One bar a reading, to the right where it was read higher than clean.
    """
    rows = reading_rows(comparison, system)
    scores = np.array([row[4] for row in rows])
    texts = [f"{measured.cell} for {clean.text} {measured.unit}" for _, measured, clean, _, _ in rows]
    return Chart(
        title="Readings against the clean unit",
        description=f"Readings of {comparison.visit.label} minus those of the clean unit; {_furthest(rows)}.",
        x=Axis("measured minus clean, in standard errors", "", *_with_room(scores)),
        y=Axis(""),
        layers=(
            Bars(tuple(row[0] for row in rows), np.zeros(len(rows)), scores, style.CLEAN, texts=tuple(texts)),
        ),
    )


def _with_room(scores: np.ndarray) -> tuple[float, float]:
    """Ends of the axis that leave room for the texts at the right ends of the bars."""
    low, high = min(float(scores.min()), -0.1), max(float(scores.max()), 1.0)
    return 1.08 * low, high + 0.3 * (high - low)


def _furthest(rows: Sequence[tuple[str, object, object, object, float]]) -> str:
    worst = max(rows, key=lambda row: abs(row[4]))
    return f"the largest difference is {worst[0]}, {signed(worst[4], 1)} standard errors"
