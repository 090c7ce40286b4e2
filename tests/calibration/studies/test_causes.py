"""Visits with known faults, matched: a small draw of `coiltoll study causes`, and how it counts."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from calibration.diagnosis.hypotheses import FOULED_CONDENSER, NONE, Candidates, candidates
from calibration.studies import causes
from calibration.studies.causes import (
    AIR_AND_PIPES,
    FULL,
    READING_SETS,
    Outcomes,
    drawn_case,
    faults_study,
)
from model.cycle.faults import HEALTHY, Faults

FEW = "pressures, pipe and air temperatures"
ALL = "full set of readings"
TOLD: list[float] = []


@pytest.fixture(scope="module")
def study():
    """Three visits at which something grave is wrong, read fully and poorly."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(causes, "drawn_level", lambda share: 0.9)
        patch.setattr(causes, "drawn_case", lambda draw, weights: drawn_case(draw, with_something_wrong()))
        return faults_study(3, seed=5, sets=(ALL, FEW), progress=TOLD.append)


def with_something_wrong(none_prior: float = 0.0) -> Candidates:
    """The usual explanations to draw from, never clean."""
    usual = candidates()
    return replace(usual, clean=replace(usual.clean, prior=0.0), none_prior=none_prior)


def test_grave_faults_come_first_with_all_readings(study):
    outcomes = study.outcomes[ALL]
    assert np.all(outcomes.truth > 0)
    assert np.all(outcomes.costly), outcomes.eer_cost
    assert outcomes.group_right == 1.0
    assert np.all(outcomes.claims)


def test_probabilities_are_shares_of_one_and_truth_is_the_same_for_every_set(study):
    for outcomes in study.outcomes.values():
        assert outcomes.probabilities.shape == (3, len(outcomes.labels))
        assert outcomes.probabilities.sum(axis=1) == pytest.approx(np.ones(3))
        assert np.all(outcomes.probabilities >= 0.0)
        assert outcomes.labels[-1] == NONE
    full, few = study.outcomes[ALL], study.outcomes[FEW]
    assert np.array_equal(full.truth, few.truth)
    assert np.array_equal(full.eer_cost, few.eer_cost)
    assert not np.array_equal(full.probabilities, few.probabilities)


def test_more_visits_do_not_change_the_first_ones():
    weights = candidates()
    first = [drawn_case(np.random.default_rng([7, number]), weights) for number in range(2)]
    again = drawn_case(np.random.default_rng([7, 1]), weights)
    assert again == first[1]
    assert first[0].clean != first[1].clean


def test_progress_is_told_visit_by_visit(study):
    assert pytest.approx([1 / 3, 2 / 3, 1.0]) == TOLD


def test_a_visit_of_none_of_these_has_a_gross_error():
    sound, spoilt = (
        drawn_case(np.random.default_rng(11), with_something_wrong(share)) for share in (0.0, 1.0)
    )
    assert spoilt.label == NONE != sound.label
    assert spoilt.clean == sound.clean
    assert spoilt.found != sound.found


def test_a_full_set_holds_more_than_gauges_and_thermometers():
    assert AIR_AND_PIPES < FULL
    assert set(READING_SETS) >= {ALL, FEW}
    case = drawn_case(np.random.default_rng(3), candidates())
    assert set(case.found.readings()) >= FULL - {"standing_pressure", "standing_temperature"}


@pytest.mark.parametrize(
    ("drawn", "other"),
    [
        (Faults(condenser_blocked=0.4), "condenser_dust"),
        (Faults(condenser_dust=0.4), "condenser_blocked"),
        (Faults(evaporator_airflow_lost=0.4), "evaporator_dust"),
    ],
)
def test_dirt_in_the_field_is_a_little_of_another_form(drawn, other):
    impure = [causes._impure(drawn, 0.5, np.random.default_rng(state)) for state in range(20)]
    assert any(float(np.asarray(getattr(one, other))) > 0.0 for one in impure)
    assert all(0.0 <= float(np.asarray(getattr(one, other))) <= 0.8 for one in impure)
    assert causes._impure(HEALTHY, 0.5, np.random.default_rng(0)) is HEALTHY
    assert causes._impure(Faults(charge_change=-0.2), 0.5, np.random.default_rng(0)).charge_change == -0.2


def test_units_that_never_run_are_given_up(monkeypatch):
    stopped = causes.STATES.index("high-pressure trip")
    monkeypatch.setattr(causes, "drawn_unit", lambda draw: None)
    monkeypatch.setattr(causes, "true_point", lambda true, weather: SimpleNamespace(state=stopped))
    with pytest.raises(RuntimeError, match="no pair of visits that could be read was found in 200 draws"):
        drawn_case(np.random.default_rng(1), candidates())


def test_no_visits_is_refused():
    with pytest.raises(ValueError, match="visits must be at least 1, got 0"):
        faults_study(0)


COUNTED = Outcomes(
    labels=("clean", "blocked", "charge", NONE),
    probabilities=np.array(
        [
            [0.90, 0.05, 0.03, 0.02],  # clean, called clean
            [0.25, 0.60, 0.10, 0.05],  # clean, a fault claimed
            [0.10, 0.70, 0.15, 0.05],  # blocked, found
            [0.05, 0.45, 0.48, 0.02],  # blocked, second of a group
            [0.62, 0.20, 0.10, 0.08],  # charge, mild, missed
            [0.10, 0.10, 0.20, 0.60],  # none of these, said so
        ]
    ),
    truth=np.array([0, 0, 1, 1, 2, 3]),
    eer_cost=np.array([0.0, 0.0, 0.15, 0.08, 0.01, 0.30]),
    capacity_cost=np.array([0.0, 0.0, 0.02, 0.12, 0.00, 0.30]),
    group=np.array(
        [
            [False, False, False, False],
            [False, True, False, False],
            [False, True, False, False],
            [False, True, True, False],
            [False, False, False, False],
            [False, False, False, False],
        ]
    ),
    claims=np.array([False, True, True, True, False, False]),
)
"""Six invented matches, whose counts can be done by hand."""


def test_only_costly_faults_have_to_come_first():
    assert COUNTED.costly.tolist() == [False, False, True, True, False, False]
    assert COUNTED.first.tolist() == [0, 1, 1, 2, 0, 3]
    assert COUNTED.first_right == 0.5
    assert COUNTED.group_right == 1.0
    assert COUNTED.group_size == 1.5
    assert replace(COUNTED, claims=np.zeros(6, dtype=bool)).group_size == 0.0


def test_false_alarms_and_missed_faults_are_counted():
    assert COUNTED.false_alarms == 0.5
    assert COUNTED.missed == (
        (0.0, 0.02, 1, 1.0),
        (0.02, 0.05, 0, 0.0),
        (0.05, 0.10, 1, 0.0),
        (0.10, 0.20, 1, 0.0),
        (0.20, 1.0, 0, 0.0),
    )


def test_confusion_leaves_out_mild_faults():
    assert COUNTED.confusion.tolist() == [[1, 1, 0, 0], [0, 1, 1, 0], [0, 0, 0, 0], [0, 0, 0, 1]]


def test_reliability_sets_probability_beside_the_share_right():
    rows = COUNTED.reliability
    assert [(low, high, count) for low, high, count, _, _ in rows] == [
        (0.4, 0.5, 1),
        (0.6, 0.7, 3),
        (0.7, 0.8, 1),
        (0.9, 1.0, 1),
    ]
    assert [share for *_, share in rows] == pytest.approx([0.0, 1 / 3, 1.0, 1.0])
    distance = 0.48 + 3 * ((0.60 + 0.62 + 0.60) / 3 - 1 / 3) + 0.30 + 0.10
    assert COUNTED.calibration_error == pytest.approx(distance / 6)


def test_brier_is_nought_for_a_seer_and_two_for_one_who_is_always_wrong():
    sure = np.eye(4)[COUNTED.truth]
    assert replace(COUNTED, probabilities=sure).brier == 0.0
    assert replace(COUNTED, probabilities=np.roll(sure, 1, axis=1)).brier == 2.0
    by_hand = np.mean(np.sum((COUNTED.probabilities - sure) ** 2, axis=1))
    assert COUNTED.brier == pytest.approx(by_hand)


def test_a_fouled_condenser_counts_as_one_in_either_form():
    fouled = replace(
        COUNTED,
        labels=("clean", *FOULED_CONDENSER, "fan", NONE),
        probabilities=np.array(
            [
                [0.10, 0.30, 0.20, 0.35, 0.05],  # blocked, behind the slow fan until its forms are added
                [0.05, 0.50, 0.40, 0.03, 0.02],  # dust, taken for a blocked face
                [0.10, 0.25, 0.25, 0.35, 0.05],  # a slow fan, taken for a fouled condenser then
            ]
        ),
        truth=np.array([1, 2, 3]),
        eer_cost=np.full(3, 0.2),
        capacity_cost=np.zeros(3),
    )
    assert fouled.first_right == pytest.approx(1 / 3)
    assert fouled.fouled_as_one == pytest.approx(2 / 3)
