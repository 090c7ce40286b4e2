"""The study of the fault match as rows, sentences and a chart."""

from typing import Any

import numpy as np

from calibration.studies.causes import FaultsStudy
from calibration.studies.outcomes import (
    COSTLY,
    COSTLY_OF_PAIR,
    MOST_CALIBRATION_ERROR,
    MOST_FALSE_ALARMS,
    WANTED,
    WANTED_PAIRS,
    Outcomes,
)
from dashboard.charts import style
from dashboard.charts.chart import Axis, Chart, Curve, Layer

SHORT = {
    "no_fault": "no fault",
    "clean_condenser": "coil",
    "repair_condenser_fan": "fan",
    "restore_indoor_airflow": "airflow",
    "repair_leak_and_charge": "under",
    "recover_charge": "over",
    "evacuate_and_recharge": "gas",
    "replace_drier": "drier",
    "replace_compressor": "compressor",
    "adjust_valve": "valve",
    "none_of_these": "none",
}
"""Headings of the confusion table: what a person would do."""


def short_label(label: str) -> str:
    """Heading of a label; of a pair both of its parts."""
    return " + ".join(SHORT[part] for part in label.split("+"))


def target_rows(name: str, outcomes: Outcomes) -> list[list[str]]:
    """What was found and what is required, for one set of readings."""
    cost = f"costing {100 * COSTLY:.0f} % or more of EER or capacity"
    required = f"at least {100 * WANTED[name]:.0f} %" if name in WANTED else ""
    both = f"at least {100 * WANTED_PAIRS:.0f} %" if name == "full set of readings" else ""
    healthy = int((outcomes.truth == outcomes.labels.index("no_fault")).sum())
    error = f"at most {MOST_CALIBRATION_ERROR:.2f}"
    return [
        [
            f"right work ranked first, {cost} ({int(outcomes.costly.sum())} visits)",
            _percent(outcomes.first_right),
            required,
        ],
        [
            f"both faults of a pair named, each costing {100 * COSTLY_OF_PAIR:.0f} % or more "
            f"({int(outcomes.costly_pairs.sum())} visits)",
            _percent(outcomes.pairs_right),
            both,
        ],
        [
            f"no fault, but one claimed ({healthy} visits)",
            _percent(outcomes.false_alarms),
            f"at most {100 * MOST_FALSE_ALARMS:.0f} %",
        ],
        ["expected calibration error of faults", f"{outcomes.calibration_error:.3f}", error],
        [
            "expected calibration error of suspect readings",
            f"{outcomes.suspect_calibration_error:.3f}",
            error,
        ],
        ["gross errors whose reading is suspect", _percent(outcomes.suspects_found), ""],
        ["suspect readings that are right", _percent(outcomes.innocent_suspects), ""],
        ["Brier score (0 to 2)", f"{outcomes.brier:.3f}", ""],
    ]


def _percent(share: float) -> str:
    return f"{100 * share:.1f} %"


def confusion_rows(outcomes: Outcomes) -> tuple[list[str], list[list[str]]]:
    """Headings and rows of the confusion table, empty cells for zeros."""
    labels, table = outcomes.confusion
    headings = ["", *(short_label(label) for label in labels)]
    rows = [
        [short_label(label), *(str(count) if count else "" for count in counts)]
        for label, counts in zip(labels, table, strict=True)
    ]
    return headings, rows


def faults_sentences(study: FaultsStudy) -> list[str]:
    """What the study is, for under its tables."""
    return [
        f"{study.visits} invented visits, seed {study.seed}; faults drawn {study.odds}, a gross error in one"
        " visit of three. The probabilities are always worked out with the prior odds of the finding.",
        "Counted is what a person would do: a blocked face and a dust layer are one fouled condenser coil.",
    ]


def faults_json(study: FaultsStudy) -> dict[str, Any]:
    """The study for `--json`."""
    return {
        "visits": study.visits,
        "seed": study.seed,
        "odds": study.odds,
        "readings": {name: _outcomes_json(one) for name, one in study.outcomes.items()},
    }


def _outcomes_json(one: Outcomes) -> dict[str, Any]:
    return {
        "costly_visits": int(one.costly.sum()),
        "right_first": _rounded(one.first_right),
        "costly_pairs": int(one.costly_pairs.sum()),
        "pairs_right": _rounded(one.pairs_right),
        "false_alarms": _rounded(one.false_alarms),
        "calibration_error": _rounded(one.calibration_error),
        "suspect_calibration_error": _rounded(one.suspect_calibration_error),
        "suspects_found": _rounded(one.suspects_found),
        "innocent_suspects": _rounded(one.innocent_suspects),
        "brier": _rounded(one.brier),
        "missed": [
            {"from": low, "to": high, "visits": count, "share": _rounded(share)}
            for low, high, count, share in one.missed
        ],
        "labels": list(one.confusion[0]),
        "confusion": one.confusion[1].tolist(),
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
