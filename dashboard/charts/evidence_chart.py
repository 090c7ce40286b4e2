"""Chart of the evidence: how probable each explanation is, and how probable it was before the readings."""

from dataclasses import replace

import numpy as np

from calibration.diagnosis.match import Match
from dashboard.charts import style
from dashboard.charts.chart import Axis, Bars, Chart
from dashboard.results.match import probability_rows

BEFORE = replace(style.GUIDE, colour="#b9c4c2")


def evidence_chart(match: Match) -> Chart:
    """Probability of the explanations that are worth listing.

    Parameters
    ----------
    match : Match
        Of one visit.

    Returns
    -------
    Chart
        Two bars an explanation, the likeliest first: before the readings, and with them.
    """
    rows = probability_rows(match)
    labels = tuple(name for name, _, _ in rows)
    now, before = (np.array([float(row[place].rstrip(" %")) for row in rows]) for place in (1, 2))
    zero = np.zeros(len(rows))
    texts = tuple(f"{one:.0f} %" for one in now)
    inside = now < before  # where a text at the end of the shorter bar would stand on the longer one
    return Chart(
        title="Which fault explains the readings",
        description=(
            f"Probability of each explanation of {match.visit.label}: "
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
