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
from dashboard.results.prediction import ChosenWeather, changed_words, fouling_levels
from dashboard.texts.translate import capital, tr

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
        Band(blocked, low, high, style.EXPECTED, tr("90 % range")),
        Curve(blocked, value, style.EXPECTED, tr("expected")),
    ]
    if comparison is not None:
        layers += _found_fouling(comparison, blocked, value)
    words = tr(changed_words(key.removesuffix("_change")))
    return Chart(
        title=tr("{figure} lost to a blocked face", figure=capital(words)),
        description=(
            tr(
                "{label} against the blocked share of the condenser's face, at {weather}: {loss} % "
                "with half of it blocked.",
                label=found[0].label,
                weather=weather.words,
                loss=f"{value[10]:.0f}",
            )
        ),
        x=Axis(tr("condenser face blocked"), "%", 0.0, 80.0),
        y=Axis(tr("change of {figure}", figure=words), "%"),
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
        tr(
            "{visit}: {level} % ({low} to {high} %)",
            visit=comparison.visit.label,
            level=f"{100 * share.value:.0f}",
            low=f"{100 * share.low:.0f}",
            high=f"{100 * share.high:.0f}",
        ),
    )
    return [
        line,
        Curve(place, height, style.MEASURED, tr("this visit"), line=False, markers=True, labels=label),
    ]


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
    texts = [
        tr(
            "{measured} for {clean} {unit}",
            measured=measured.cell,
            clean=clean.text,
            unit=measured.unit,
        )
        for _, measured, clean, _, _ in rows
    ]
    return Chart(
        title=tr("Readings against the clean unit"),
        description=tr(
            "Readings of {visit} minus those of the clean unit; {furthest}.",
            visit=comparison.visit.label,
            furthest=_furthest(rows),
        ),
        x=Axis(tr("measured minus clean, in standard errors"), "", *_with_room(scores)),
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
    return tr(
        "the largest difference is {reading}, {errors} standard errors",
        reading=worst[0],
        errors=signed(worst[4], 1),
    )
