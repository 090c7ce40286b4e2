"""Visits with known faults and gross errors: a small draw of `coiltoll study causes`."""

import numpy as np
import pytest

from calibration.diagnosis.hypotheses import NO_FAULT, NONE_OF_THESE
from calibration.studies import causes
from calibration.studies.causes import AIR_AND_PIPES, FULL, READING_SETS, faults_study
from calibration.studies.true_cases import drawn_case
from tests.calibration.studies.test_true_cases import with_something_wrong

FEW = "pressures, pipe and air temperatures"
ALL = "full set of readings"
SEEN: list[float] = []


@pytest.fixture(scope="module")
def study():
    """Three visits at which something large is wrong, read fully and poorly."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("calibration.studies.true_cases.drawn_level", lambda share: 0.85)
        patch.setattr("calibration.studies.true_cases.FALSE_READINGS", 0.0)
        patch.setattr(causes, "drawn_case", lambda draw, *_, **__: drawn_case(draw, with_something_wrong()))
        return faults_study(3, seed=5, sets=(ALL, FEW), progress=SEEN.append, costly_visits=0)


def test_large_faults_come_first_with_all_readings(study):
    outcomes = study.outcomes[ALL]
    assert NO_FAULT not in [outcomes.labels[place] for place in outcomes.truth]
    assert np.array_equal(outcomes.first, outcomes.truth)
    assert np.all(outcomes.claims)


def test_probabilities_are_shares_of_one_and_truth_is_the_same_for_every_set(study):
    for outcomes in study.outcomes.values():
        assert outcomes.probabilities.shape == (3, len(outcomes.labels))
        assert outcomes.probabilities.sum(axis=1) == pytest.approx(np.ones(3))
        assert np.all(outcomes.probabilities >= 0.0)
        assert outcomes.labels[-1] == NONE_OF_THESE
        assert outcomes.suspicion.shape == outcomes.wrong.shape
    full, few = study.outcomes[ALL], study.outcomes[FEW]
    assert np.array_equal(full.truth, few.truth)
    assert np.array_equal(full.eer_cost, few.eer_cost)
    assert not np.array_equal(full.probabilities, few.probabilities)


def test_progress_is_given_visit_by_visit(study):
    assert pytest.approx([1 / 3, 2 / 3, 1.0]) == SEEN


def test_kept_visits_are_not_judged_again(monkeypatch):
    asked = []

    def judged(mix, seed, number, sets):
        asked.append((mix, number, sets))
        one = causes.Judged(
            NO_FAULT, [0.0] * 3, dict.fromkeys(causes.LABELS, 0.0) | {NO_FAULT: 1.0}, False, {}, []
        )
        return dict.fromkeys(sets, one)

    monkeypatch.setattr(causes, "judged_visit", judged)
    kept = {}
    faults_study(2, sets=(ALL,), costly_visits=1, kept=kept)
    assert len(asked) == 4
    assert len(kept) == 4
    again = faults_study(3, sets=(ALL,), costly_visits=1, kept=kept)
    assert asked[4:] == [("as weighed", 2, (ALL,))]
    assert again.outcomes[ALL].false_alarms == (0.0, again.outcomes[ALL].false_alarms.error, 3)
    faults_study(1, sets=(ALL, FEW), costly_visits=0, kept=kept)
    assert asked[5:] == [("as weighed", 0, (ALL, FEW))]


def test_costly_visits_are_counted_apart():
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("calibration.studies.true_cases.FALSE_READINGS", 0.0)
        study = faults_study(1, seed=5, sets=(ALL,), costly_visits=1)
    assert study.outcomes[ALL].costly_pairs.sum() + study.outcomes[ALL].costly.sum() <= 1
    assert study.costly[ALL].first_right.of == study.costly[ALL].pairs_right.of == 1


def test_a_full_set_holds_more_than_gauges_and_thermometers():
    assert AIR_AND_PIPES < FULL
    assert set(READING_SETS) >= {ALL, FEW}


def test_no_visits_is_refused():
    with pytest.raises(ValueError, match="visits must be at least 1, got 0"):
        faults_study(0)
