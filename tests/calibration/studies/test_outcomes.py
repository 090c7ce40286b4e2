"""What a study counts, on invented outcomes whose counts can be done by hand."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.diagnosis.hypotheses import NO_FAULT, NONE_OF_THESE
from calibration.studies.outcomes import Outcomes, calibration_error, reliability_rows

COUNTED = Outcomes(
    labels=(NO_FAULT, "clean_condenser", "recover_charge", "clean_condenser+recover_charge", NONE_OF_THESE),
    probabilities=np.array(
        [
            [0.90, 0.05, 0.03, 0.00, 0.02],  # no fault, said so
            [0.20, 0.70, 0.05, 0.00, 0.05],  # no fault, a fault claimed
            [0.10, 0.70, 0.15, 0.00, 0.05],  # fouled, found
            [0.05, 0.45, 0.48, 0.00, 0.02],  # fouled, second
            [0.62, 0.20, 0.10, 0.00, 0.08],  # charge, mild, missed
            [0.05, 0.25, 0.05, 0.60, 0.05],  # both, found
            [0.05, 0.65, 0.05, 0.20, 0.05],  # both, one of them seen
            [0.10, 0.10, 0.10, 0.10, 0.60],  # none of these, said so
        ]
    ),
    truth=np.array([0, 0, 1, 1, 2, 3, 3, 4]),
    eer_cost=np.array([0.0, 0.0, 0.15, 0.08, 0.01, 0.30, 0.12, 0.30]),
    capacity_cost=np.array([0.0, 0.0, 0.02, 0.12, 0.00, 0.30, 0.10, 0.30]),
    each_costs=np.array([0.0, 0.0, 0.0, 0.0, 0.0, 0.10, 0.06, 0.0]),
    claims=np.array([False, True, True, False, False, True, False, False]),
    suspicion=np.array([0.9, 0.6, 0.3, 0.02, 0.01]),
    wrong=np.array([True, False, True, False, False]),
)


def test_only_costly_faults_have_to_come_first():
    assert np.flatnonzero(COUNTED.costly).tolist() == [2, 3]
    assert COUNTED.first_right == 0.5
    assert np.flatnonzero(COUNTED.costly_pairs).tolist() == [5, 6]
    assert COUNTED.pairs_right == 0.5
    assert not replace(COUNTED, each_costs=np.full(8, 0.01)).costly_pairs.any()


def test_false_alarms_and_missed_faults_are_counted():
    assert COUNTED.false_alarms == 0.5
    assert COUNTED.missed == (
        (0.0, 0.02, 1, 1.0),
        (0.02, 0.05, 0, 0.0),
        (0.05, 0.10, 1, 1.0),
        (0.10, 0.20, 2, 0.5),
        (0.20, 1.0, 1, 0.0),
    )


def test_confusion_leaves_out_mild_faults():
    labels, table = COUNTED.confusion
    assert labels == COUNTED.labels
    assert table.tolist() == [
        [1, 1, 0, 0, 0],
        [0, 1, 1, 0, 0],
        [0, 0, 0, 0, 0],
        [0, 1, 0, 1, 0],
        [0, 0, 0, 0, 1],
    ]


def test_reliability_sets_probability_beside_the_share_right():
    rows = reliability_rows(np.array([0.42, 0.48, 0.91]), np.array([True, False, True]))
    assert [(low, high, count) for low, high, count, _, _ in rows] == [(0.4, 0.5, 2), (0.9, 1.0, 1)]
    assert [mean for *_, mean, _ in rows] == pytest.approx([0.45, 0.91])
    assert [share for *_, share in rows] == pytest.approx([0.5, 1.0])
    assert calibration_error(rows) == pytest.approx((2 * 0.05 + 0.09) / 3)
    assert calibration_error([]) == 0.0


def test_suspects_are_counted_right_and_innocent():
    assert COUNTED.suspects_found == 0.5
    assert COUNTED.innocent_suspects == 0.5
    assert sum(row[2] for row in COUNTED.suspect_reliability) == 3, "those hardly suspected are not counted"


def test_brier_is_zero_for_a_seer_and_two_for_one_who_is_always_wrong():
    sure = np.eye(5)[COUNTED.truth]
    assert replace(COUNTED, probabilities=sure).brier == 0.0
    assert replace(COUNTED, probabilities=np.roll(sure, 1, axis=1)).brier == 2.0
