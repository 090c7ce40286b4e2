"""The study of the fault match as rows, sentences and a chart."""

from typing import Any

import numpy as np

from calibration.studies.causes import (
    COSTLY,
    MOST_CALIBRATION_ERROR,
    MOST_FALSE_ALARMS,
    WANTED,
    FaultsStudy,
    Outcomes,
)
from dashboard.charts import style
from dashboard.charts.chart import Axis, Chart, Curve, Layer

SHORT = {
    "clean, nothing found": "clean",
    "condenser_blocked": "face",
    "condenser_dust": "dust",
    "condenser_fan_slow": "fan",
    "indoor_airflow_low": "airflow",
    "undercharge": "under",
    "overcharge": "over",
    "non_condensables": "gas",
    "liquid_line_restriction": "liquid line",
    "compressor_leakage": "leakage",
    "valve_overfeed": "valve",
    "none of these explains it": "none",
}
"""Headings of the confusion table."""


def target_rows(name: str, outcomes: Outcomes) -> list[list[str]]:
    """What was found and what is required, for one set of readings."""
    cost = f"costing {100 * COSTLY:.0f} % or more of EER or capacity"
    required = f"at least {100 * WANTED[name]:.0f} %" if name in WANTED else ""
    return [
        [
            f"true fault ranked first, {cost} ({int(outcomes.costly.sum())} visits)",
            _percent(outcomes.first_right),
            required,
        ],
        [
            "the same, both forms of a fouled condenser counted as one",
            _percent(outcomes.fouled_as_one),
            required,
        ],
        ["the same, within the first group of look-alikes", _percent(outcomes.group_right), ""],
        ["faults in a claimed group of look-alikes, mean", f"{outcomes.group_size:.2f}", ""],
        [
            f"clean unit, but a fault claimed ({int((outcomes.truth == 0).sum())} visits)",
            _percent(outcomes.false_alarms),
            f"at most {100 * MOST_FALSE_ALARMS:.0f} %",
        ],
        [
            "expected calibration error",
            f"{outcomes.calibration_error:.3f}",
            f"at most {MOST_CALIBRATION_ERROR:.2f}",
        ],
        ["Brier score (0 to 2)", f"{outcomes.brier:.3f}", ""],
    ]


def _percent(share: float) -> str:
    return f"{100 * share:.1f} %"


def confusion_rows(outcomes: Outcomes) -> tuple[list[str], list[list[str]]]:
    """Headings and rows of the confusion table, empty cells for zeros."""
    table = outcomes.confusion
    headings = ["", *(SHORT.get(label, label) for label in outcomes.labels)]
    rows = [
        [label, *(str(count) if count else "" for count in counts)]
        for label, counts in zip(outcomes.labels, table, strict=True)
    ]
    return headings, rows


def faults_sentences(study: FaultsStudy) -> list[str]:
    """What the study is, for under its tables."""
    return [
        f"{study.visits} invented visits, seed {study.seed}. Faults and levels are drawn from the prior odds"
        " of the match, so the probabilities can only be right for such a mix.",
        "A face with leaves and a face with dust change all readings alike. Only a look at the coil separates"
        " them.",
    ]


def faults_json(study: FaultsStudy) -> dict[str, Any]:
    """The study for `--json`."""
    return {
        "visits": study.visits,
        "seed": study.seed,
        "readings": {name: _outcomes_json(one) for name, one in study.outcomes.items()},
    }


def _outcomes_json(one: Outcomes) -> dict[str, Any]:
    return {
        "costly_visits": int(one.costly.sum()),
        "true_cause_first": _rounded(one.first_right),
        "true_cause_first_fouled_condenser_as_one": _rounded(one.fouled_as_one),
        "true_cause_in_first_group": _rounded(one.group_right),
        "group_size": _rounded(one.group_size),
        "false_alarms": _rounded(one.false_alarms),
        "expected_calibration_error": _rounded(one.calibration_error),
        "brier": _rounded(one.brier),
        "missed": [
            {"from": low, "to": high, "visits": count, "share": _rounded(share)}
            for low, high, count, share in one.missed
        ],
        "labels": list(one.labels),
        "confusion": one.confusion.tolist(),
        "reliability": [
            {"from": low, "to": high, "visits": count, "mean": _rounded(mean), "right": _rounded(share)}
            for low, high, count, mean, share in one.reliability
        ],
    }


def _rounded(value: float) -> float:
    return round(float(value), 6)


def reliability_chart(study: FaultsStudy) -> Chart:
    """Share right against probability of the first explanation, one curve a set of readings."""
    diagonal = np.array([0.0, 100.0])
    layers: list[Layer] = [Curve(diagonal, diagonal, style.GUIDE, "perfect calibration")]
    for role, (name, outcomes) in zip(style.ROLES, study.outcomes.items(), strict=False):
        rows = outcomes.reliability
        mean = np.array([100.0 * row[3] for row in rows])
        right = np.array([100.0 * row[4] for row in rows])
        # One standard error of a share of so many visits, with half a visit added to either side.
        count = np.array([row[2] for row in rows], dtype=float)
        share = (right / 100.0 * count + 0.5) / (count + 1.0)
        error = 100.0 * np.sqrt(share * (1.0 - share) / (count + 1.0))
        layers.append(Curve(mean, right, role, name, markers=True, error=error))
    return Chart(
        title="Calibration of the probabilities",
        description=(
            "Share of visits at which the most probable explanation was the true one, against its"
            " probability, with one standard error. On the diagonal the two agree."
        ),
        x=Axis("probability of the most probable explanation", "%", 0.0, 100.0),
        y=Axis("true", "%", 0.0, 100.0),
        layers=tuple(layers),
    )
