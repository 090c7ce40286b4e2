"""Invented visits: what is wrong is known, more of them do not change the first, other mixes are mixes."""

from dataclasses import replace
from functools import cache
from types import SimpleNamespace

import numpy as np
import pytest

from calibration.case.meters import Instruments, standard_accuracies
from calibration.clean_fit.observation import MODEL_SPREAD
from calibration.diagnosis.gross_errors import PRIORS
from calibration.diagnosis.hypotheses import NO_FAULT, NONE_OF_THESE, Hypotheses, hypotheses
from calibration.studies import true_cases
from calibration.studies.causes import FULL
from calibration.studies.true_cases import (
    COSTLY,
    COSTLY_MIXES,
    COSTLY_OF_PAIR,
    GROSSLY_WRONG,
    ODDS,
    TrueCase,
    drawing_weights,
    drawn_case,
    label_of,
    with_gross_errors,
)
from calibration.studies.true_units import drawn_unit
from model.cycle.faults import HEALTHY, Faults


def with_something_wrong(none_prior: float = 0.0) -> Hypotheses:
    """The usual explanations to draw from, never without fault."""
    usual = hypotheses()
    return Hypotheses((replace(usual.all[0], prior=0.0), *usual.all[1:]), none_prior)


@cache
def some_case() -> TrueCase:
    return drawn_case(np.random.default_rng(3), hypotheses())


def test_more_visits_do_not_change_the_first_ones():
    weights = hypotheses()
    first = [drawn_case(np.random.default_rng([7, number]), weights) for number in range(2)]
    again = drawn_case(np.random.default_rng([7, 1]), weights)
    assert again == first[1]
    assert first[0].clean != first[1].clean
    assert set(first[0].found.readings()) >= FULL - {"standing_pressure", "standing_temperature"}


def test_a_visit_of_none_of_these_has_larger_errors():
    sound, spoilt = (
        drawn_case(np.random.default_rng(11), with_something_wrong(share)) for share in (0.0, 1.0)
    )
    assert spoilt.label == NONE_OF_THESE != sound.label
    assert spoilt.clean == sound.clean
    assert spoilt.found != sound.found
    assert len(spoilt.wrong) > 1


def test_wrong_is_what_was_changed_by_more_than_a_meter_may_show():
    visit = some_case().clean
    spread = standard_accuracies(visit.readings(), Instruments())["liquid_pressure"]
    sizes = (0.9 * GROSSLY_WRONG, -1.1 * GROSSLY_WRONG)
    small, large = (replace(visit, liquid_pressure=visit.liquid_pressure + size * spread) for size in sizes)
    assert true_cases._grossly_changed(visit, small) == ()
    assert true_cases._grossly_changed(visit, large) == ("liquid_pressure",)


@pytest.mark.parametrize(("mix", "count"), list(zip(COSTLY_MIXES, (1, 2), strict=True)))
def test_a_costly_mix_has_only_faults_that_cost(mix, count):
    for number in range(2):
        true = drawn_case(np.random.default_rng([5, number]), drawing_weights(mix), costly=True)
        assert len(true.label.split("+")) == count
        assert NO_FAULT != true.label != NONE_OF_THESE
        if count == 1:
            assert max(true.eer_cost, true.capacity_cost) >= COSTLY
        else:
            assert true.each_costs >= COSTLY_OF_PAIR


def test_one_visit_in_three_has_readings_wrong_by_so_many_of_their_errors():
    visit = some_case().clean
    before, spreads = visit.readings(), standard_accuracies(visit.readings(), Instruments())
    seen, sizes, visits = set(), [], 0
    for state in range(300):
        after = with_gross_errors(visit, np.random.default_rng(state)).readings()
        wrong = [name for name, value in after.items() if value != before[name]]
        visits += bool(wrong)
        seen |= set(wrong)
        sizes += [abs(after[name] - before[name]) / spreads[name] for name in wrong]
        assert after["supply_wb"] <= before["supply_db"]
        assert after["return_wb"] <= before["return_db"]
    assert 0.25 < visits / 300 < 0.42
    assert len(sizes) > visits, "two at once happen"
    assert 8.0 < np.median(sizes) < 20.0
    assert np.mean((np.array(sizes) > 4.0) & (np.array(sizes) < 25.0)) > 0.6
    assert seen <= set(PRIORS)
    assert len(seen) > 12


def test_the_model_s_own_error_is_that_of_the_laboratory():
    visit = some_case().clean
    shown = [
        true_cases.with_model_error(visit, np.random.default_rng(seed)).readings() for seed in range(300)
    ]
    before = visit.readings()
    for name, (share, fixed) in MODEL_SPREAD.items():
        if name in before and name != "supply_wb":  # which stays below its dry bulb
            scatter = np.std([one[name] - before[name] for one in shown])
            assert scatter == pytest.approx(np.hypot(share * before[name], fixed), rel=0.15)
    assert all(one["outdoor_db"] == before["outdoor_db"] for one in shown), "a setting has no model"


@pytest.mark.parametrize("kind", ["TXV", "fixed orifice"])
def test_a_valve_hunts_on_some_days_and_an_orifice_on_none(kind):
    draw = np.random.default_rng(8)
    true = next(one for one in iter(lambda: drawn_unit(draw), None) if one.unit.expansion.kind == kind)
    before = float(true.unit.expansion.static_superheat)
    held = [
        float(true_cases._with_its_valve(true, np.random.default_rng(seed)).unit.expansion.static_superheat)
        for seed in range(400)
    ]
    changed = np.array([one for one in held if one != before])
    if kind == "TXV":
        assert 2 <= len(changed) <= 25, "about one day in forty"
        assert np.all(changed >= 0.5)
        assert np.median(np.abs(changed - before)) > 1.0
    else:
        assert changed.size == 0


@pytest.mark.parametrize("odds", (*ODDS, *COSTLY_MIXES))
def test_every_mix_adds_to_one(odds):
    weights = drawing_weights(odds)
    assert sum(one.prior for one in weights.all) + weights.none_prior == pytest.approx(1.0)
    assert [one.key for one in weights.all] == [one.key for one in hypotheses().all]


def test_an_unknown_mix_is_refused():
    with pytest.raises(ValueError, match=r"odds must be one of as weighed, .* got mine"):
        drawing_weights("mine")


def test_a_label_is_what_a_person_would_do():
    by_key = {one.key: label_of(one) for one in hypotheses().all}
    assert by_key["no_fault"] == NO_FAULT
    assert by_key["condenser_blocked"] == by_key["condenser_dust"] == "clean_condenser"
    assert by_key["condenser_dust+undercharge"] == "clean_condenser+repair_leak_and_charge"


@pytest.mark.parametrize(
    ("drawn", "other"),
    [
        (Faults(condenser_blocked=0.4), "condenser_dust"),
        (Faults(condenser_dust=0.4), "condenser_blocked"),
        (Faults(evaporator_airflow_lost=0.4), "evaporator_dust"),
    ],
)
def test_fouling_in_the_field_is_a_little_of_another_form(drawn, other):
    impure = [true_cases.impure(drawn, 0.5, np.random.default_rng(state)) for state in range(20)]
    assert any(float(np.asarray(getattr(one, other))) > 0.0 for one in impure)
    assert all(0.0 <= float(np.asarray(getattr(one, other))) <= 0.8 for one in impure)
    assert true_cases.impure(HEALTHY, 0.5, np.random.default_rng(0)) is HEALTHY
    charge = true_cases.impure(Faults(charge_change=-0.2), 0.5, np.random.default_rng(0)).charge_change
    assert charge == -0.2


def test_units_that_never_run_are_given_up(monkeypatch):
    stopped = true_cases.STATES.index("high-pressure trip")
    monkeypatch.setattr(true_cases, "drawn_unit", lambda draw: None)
    monkeypatch.setattr(true_cases, "true_point", lambda true, weather: SimpleNamespace(state=stopped))
    with pytest.raises(RuntimeError, match="no pair of visits that could be read was found in 200 draws"):
        drawn_case(np.random.default_rng(1), hypotheses())
