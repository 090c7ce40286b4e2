"""What a study counts, on invented outcomes whose counts can be done by hand."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.diagnosis.hypotheses import NO_FAULT, NONE_OF_THESE
from calibration.studies.outcomes import FEWEST_IN_BIN, MOST_BINS, Outcomes, calibration_of, share_of

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
    assert COUNTED.first_right[::2] == (0.5, 2)
    assert np.flatnonzero(COUNTED.costly_pairs).tolist() == [5, 6]
    assert COUNTED.pairs_right[::2] == (0.5, 2)
    assert not replace(COUNTED, each_costs=np.full(8, 0.01)).costly_pairs.any()


def test_false_alarms_and_missed_faults_are_counted():
    assert COUNTED.false_alarms[::2] == (0.5, 2)
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
    given = np.concatenate([np.full(40, 0.4), np.full(40, 0.9)])
    right = np.concatenate([np.arange(40) < 20, np.arange(40) < 36])
    found = calibration_of(given, right)
    assert [row.entries for row in found.rows] == [27, 27, 26]
    assert [row.mean for row in found.rows] == pytest.approx([0.4, (13 * 0.4 + 14 * 0.9) / 27, 0.9])
    assert found.plain == pytest.approx(
        sum(row.entries * abs(row.mean - row.right) for row in found.rows) / 80
    )
    assert calibration_of(np.zeros(0), np.zeros(0, dtype=bool)) == ((), 0.0, 0.0, 0.0)


def test_bins_hold_equally_many_and_no_more_than_asked():
    for count in (1, FEWEST_IN_BIN, 2 * FEWEST_IN_BIN, 1000):
        rows = calibration_of(np.linspace(0.0, 1.0, count), np.ones(count, dtype=bool)).rows
        assert len(rows) == min(max(count // FEWEST_IN_BIN, 1), MOST_BINS)
        assert max(row.entries for row in rows) - min(row.entries for row in rows) <= 1
        assert sum(row.entries for row in rows) == count


def test_chance_is_no_calibration_error_and_a_bias_is():
    """Draws from the probabilities themselves, and draws from probabilities a tenth lower."""
    draw = np.random.default_rng(0)
    right, biased, by_chance = [], [], []
    for _ in range(50):
        given = draw.uniform(0.3, 0.95, 250)
        true = calibration_of(given, draw.random(250) < given)
        right.append(true.error)
        by_chance.append(true.plain / true.by_chance)
        biased.append(calibration_of(given, draw.random(250) < given - 0.1).error)
    assert np.mean(right) < 0.03
    assert np.mean(by_chance) == pytest.approx(1.0, abs=0.1)
    assert np.mean(biased) == pytest.approx(0.1, abs=0.02)


def test_a_share_has_the_binomial_error_even_at_its_ends():
    half = share_of(np.arange(100) < 50)
    assert half.value == 0.5
    assert half.error == pytest.approx(0.05, rel=0.02)
    assert half.of == 100
    assert share_of(np.ones(20, dtype=bool)).error > 0.03
    assert share_of(np.zeros(0, dtype=bool)) == (0.0, 0.0, 0)


def test_suspects_are_counted_right_and_innocent():
    assert COUNTED.suspects_found[::2] == (0.5, 2)
    assert COUNTED.innocent_suspects[::2] == (0.5, 2)
    counted = sum(row.entries for row in COUNTED.suspect_calibration.rows)
    assert counted == 3, "those hardly suspected are not counted"


def test_brier_is_zero_for_a_seer_and_two_for_one_who_is_always_wrong():
    sure = np.eye(5)[COUNTED.truth]
    assert replace(COUNTED, probabilities=sure).brier == 0.0
    assert replace(COUNTED, probabilities=np.roll(sure, 1, axis=1)).brier == 2.0
