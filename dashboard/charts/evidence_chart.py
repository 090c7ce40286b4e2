"""Charts of the evidence: how probable each explanation is, and how far each reading is from no fault."""

from dataclasses import replace

import numpy as np

from calibration.case.units import System
from calibration.diagnosis.finding import Finding
from dashboard.charts import style
from dashboard.charts.chart import Axis, Bars, Chart
from dashboard.results.expected_readings import expected_figures
from dashboard.results.figures import signed
from dashboard.results.match import probability_rows

BEFORE = replace(style.GUIDE, colour="#b9c4c2")


def evidence_chart(finding: Finding) -> Chart:
    """Probability of the explanations that are worth listing, those that are treated alike as one.

    Parameters
    ----------
    finding : Finding
        Of one visit.

    Returns
    -------
    Chart
        Two bars an explanation, the likeliest first: before the readings, and with them.
    """
    rows = probability_rows(finding)
    labels = tuple(name for name, _, _ in rows)
    now, before = (np.array([float(row[place].rstrip(" %")) for row in rows]) for place in (1, 2))
    zero = np.zeros(len(rows))
    texts = tuple(f"{one:.0f} %" for one in now)
    inside = now < before  # where a text at the end of the shorter bar would stand on the longer one
    return Chart(
        title="Which fault explains the readings",
        description=(
            f"Probability of each explanation of {finding.visit.label}: "
            + ", ".join(f"{name} {shown} %" for name, shown, _ in rows[:4])
            + "."
        ),
        x=Axis("probability", "%", 0.0, 115.0),
        y=Axis(""),
        layers=(
            Bars(labels, zero, now, style.CLEAN, "with the readings", _where(~inside, texts)),
            Bars(labels, zero, before, BEFORE, "before them", _where(inside, texts)),
        ),
    )


def _where(shown: np.ndarray, texts: tuple[str, ...]) -> tuple[str, ...]:
    """The texts of some bars, nothing at the others."""
    return tuple(text if here else "" for here, text in zip(shown, texts, strict=True))


def difference_chart(finding: Finding, system: System) -> Chart:
    """How far each reading is from what the unit without fault would show, in standard errors.

    Parameters
    ----------
    finding : Finding
        Of one visit.
    system : {"US", "SI"}
        Units of the texts beside the bars.

    Returns
    -------
    Chart
        One bar a reading, to the right where it was read higher; a suspect one is named so.
    """
    rows = [(row, figures) for row, figures in expected_figures(finding, system) if not row.derived]
    scores = np.array([row.standardised for row, _ in rows])
    suspect = [" (suspect)" if finding.suspect(row.name) else "" for row, _ in rows]
    labels = tuple(f"{figures[0].label}{mark}" for (_, figures), mark in zip(rows, suspect, strict=True))
    texts = tuple(f"{figures[0].text} for {figures[1].text} {figures[0].unit}" for _, figures in rows)
    furthest = int(np.argmax(np.abs(scores)))
    low, high = min(float(scores.min()), -0.1), max(float(scores.max()), 1.0)
    return Chart(
        title="Readings against the unit without fault",
        description=(
            f"Readings of {finding.visit.label} less those of the unit without fault; the furthest is"
            f" {labels[furthest]}, {signed(scores[furthest], 1)} standard errors."
        ),
        # Room for the texts at the right ends of the bars.
        x=Axis("measured less no fault, in standard errors", "", 1.08 * low, high + 0.3 * (high - low)),
        y=Axis(""),
        layers=(Bars(labels, np.zeros(len(rows)), scores, style.CLEAN, texts=texts),),
    )
