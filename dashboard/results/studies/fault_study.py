"""The study of the fault match as rows, sentences and a chart."""

from typing import Any

import numpy as np

from calibration.studies.causes import FaultsStudy
from calibration.studies.outcomes import (
    MOST_CALIBRATION_ERROR,
    MOST_FALSE_ALARMS,
    WANTED,
    WANTED_PAIRS,
    Calibration,
    Outcomes,
    Share,
)
from calibration.studies.true_cases import COSTLY, COSTLY_OF_PAIR
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


def target_rows(study: FaultsStudy, name: str) -> list[list[str]]:
    """What was found and what is required, for one set of readings."""
    outcomes, costly = study.outcomes[name], study.costly[name]
    full = name == "full set of readings"
    return [
        [
            f"right work ranked first, costing {100 * COSTLY:.0f} % or more of EER or capacity",
            *_of_share(costly.first_right),
            f"at least {100 * WANTED[name]:.0f} %" if name in WANTED else "",
        ],
        [
            f"both faults of a pair named, each costing {100 * COSTLY_OF_PAIR:.0f} % or more",
            *_of_share(costly.pairs_right),
            f"at least {100 * WANTED_PAIRS:.0f} %" if full else "",
        ],
        [
            "no fault, but one claimed",
            *_of_share(outcomes.false_alarms),
            f"at most {100 * MOST_FALSE_ALARMS:.0f} %",
        ],
        *_calibration_rows("calibration error of faults", outcomes.calibration),
        *_calibration_rows("calibration error of suspect readings", outcomes.suspect_calibration),
        ["gross errors whose reading is suspect", *_of_share(outcomes.suspects_found), ""],
        ["suspect readings that are right", *_of_share(outcomes.innocent_suspects), ""],
        ["Brier score (0 to 2)", f"{outcomes.brier:.3f}", str(len(outcomes.truth)), ""],
    ]


TARGET_HEADINGS = ["", "found, with its standard error", "of", "required"]
"""Headings of `target_rows`."""


def _of_share(share: Share) -> list[str]:
    """A share with its standard error, and of how many."""
    return [f"{100 * share.value:.1f} ± {100 * share.error:.1f} %", str(share.of)]


def _calibration_rows(words: str, calibration: Calibration) -> list[list[str]]:
    count = str(sum(row.entries for row in calibration.rows))
    return [
        [
            f"{words}, chance taken out",
            f"{calibration.error:.3f}",
            count,
            f"at most {MOST_CALIBRATION_ERROR:.2f}",
        ],
        [
            "  as counted; by chance alone",
            f"{calibration.plain:.3f}; {calibration.by_chance:.3f}",
            count,
            "",
        ],
    ]


def reliability_table(calibration: Calibration) -> list[list[str]]:
    """Every bin of probabilities beside the share right."""
    return [
        [f"{row.low:.2f} to {row.high:.2f}", str(row.entries), f"{row.mean:.2f}", f"{row.right:.2f}"]
        for row in calibration.rows
    ]


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
        f"Costly faults and pairs are counted on {study.costly_visits} further visits of each kind.",
        "Counted is what a person would do: a blocked face and a dust layer are one fouled condenser coil.",
    ]


def faults_json(study: FaultsStudy) -> dict[str, Any]:
    """The study for `--json`."""
    return {
        "visits": study.visits,
        "costly_visits": study.costly_visits,
        "seed": study.seed,
        "odds": study.odds,
        "readings": {name: _outcomes_json(one, study.costly[name]) for name, one in study.outcomes.items()},
    }


def _outcomes_json(one: Outcomes, costly: Outcomes) -> dict[str, Any]:
    return {
        "right_first": _share_json(costly.first_right),
        "pairs_right": _share_json(costly.pairs_right),
        "false_alarms": _share_json(one.false_alarms),
        "calibration": _calibration_json(one.calibration),
        "suspect_calibration": _calibration_json(one.suspect_calibration),
        "suspects_found": _share_json(one.suspects_found),
        "innocent_suspects": _share_json(one.innocent_suspects),
        "brier": _rounded(one.brier),
        "missed": [
            {"from": low, "to": high, "visits": count, "share": _rounded(share)}
            for low, high, count, share in one.missed
        ],
        "labels": list(one.confusion[0]),
        "confusion": one.confusion[1].tolist(),
    }


def _share_json(share: Share) -> dict[str, Any]:
    return {"share": _rounded(share.value), "standard_error": _rounded(share.error), "of": share.of}


def _calibration_json(calibration: Calibration) -> dict[str, Any]:
    return {
        "error": _rounded(calibration.error),
        "as_counted": _rounded(calibration.plain),
        "by_chance": _rounded(calibration.by_chance),
        "bins": [
            {
                "from": _rounded(row.low),
                "to": _rounded(row.high),
                "count": row.entries,
                "mean": _rounded(row.mean),
                "right": _rounded(row.right),
            }
            for row in calibration.rows
        ],
    }


def _rounded(value: float) -> float:
    return round(float(value), 6)


def reliability_chart(study: FaultsStudy) -> Chart:
    """Share right against probability of the first explanation, one curve a set of readings."""
    diagonal = np.array([0.0, 100.0])
    layers: list[Layer] = [Curve(diagonal, diagonal, style.GUIDE, "perfect calibration")]
    for role, (name, outcomes) in zip(style.ROLES, study.outcomes.items(), strict=False):
        rows = outcomes.calibration.rows
        mean = np.array([100.0 * row.mean for row in rows])
        right = np.array([100.0 * row.right for row in rows])
        # One standard error of a share of so many visits, with half a visit added to either side.
        count = np.array([row.entries for row in rows], dtype=float)
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
