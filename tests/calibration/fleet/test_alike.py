"""Units of one nameplate learn from one another, by the joint normal distribution; no odd one is dragged."""

import numpy as np
import pytest

from calibration.clean_fit.baseline import fit_baseline
from calibration.clean_fit.parameter_prior import PLAIN, prior_entry
from calibration.clean_fit.parameters import NAMES, SPREADS
from calibration.clean_fit.prediction import predicted
from calibration.fleet import alike
from calibration.fleet.alike import OF_THE_SITE, SHARES, UnitShown, learnt_parameters
from model.cycle.sizing import rating_conditions
from tests.calibration.made_visits import DESCRIPTION, true_unit, visit_of

COUNT = len(NAMES)
MODELS = np.array([name not in OF_THE_SITE for name in NAMES])
FLOW, CHARGE = NAMES.index("displacement"), NAMES.index("charge")


def shown(values, sharpness, nameplate="A"):
    """A unit whose visits say that its parameters are these [spreads], as sharply as this."""
    information = np.diag(np.full(COUNT, sharpness) / SPREADS**2)
    return UnitShown(nameplate, (information, information @ (values * SPREADS)))


def drawn_units(share, groups, units, seed, sharpness=40.0):
    draw = np.random.default_rng(seed)
    found = []
    for group in range(groups):
        model = np.sqrt(share) * MODELS * draw.standard_normal(COUNT)
        for _ in range(units):
            own = np.sqrt(1.0 - share * MODELS) * draw.standard_normal(COUNT)
            error = draw.standard_normal(COUNT) / np.sqrt(sharpness)
            found.append(shown(model + own + error, sharpness, f"plate {group:02d}"))
    return found


def with_own(learnt, unit):
    """Mean and spreads of a unit by what it learnt and by its own visits, in spreads."""
    prior = PLAIN if learnt is None else learnt.prior
    information, pull = unit.visits_alone
    covariance = np.linalg.inv(prior.precision + information)
    return (
        covariance @ (prior.precision @ prior.mean + pull) / SPREADS,
        np.sqrt(np.diag(covariance)) / SPREADS,
    )


def test_a_unit_alone_in_its_nameplate_learns_nothing():
    known = shown(np.full(COUNT, 0.4), 20.0)
    other = shown(np.zeros(COUNT), 20.0, "B")
    assert learnt_parameters([known, other, UnitShown("C"), UnitShown("C")]) == [None] * 4
    assert learnt_parameters([UnitShown("", known.visits_alone), UnitShown("")]) == [None, None]


def test_a_unit_that_was_not_read_starts_from_the_others_and_is_never_wider():
    units = [shown(np.full(COUNT, 0.4), 40.0), shown(np.full(COUNT, 0.4), 40.0), UnitShown("A")]
    learnt = learnt_parameters(units)
    new = learnt[2]
    assert (new.others, new.alike, learnt[0].others) == (2, None, 1)
    assert 0.1 < new.prior.mean[FLOW] / SPREADS[FLOW] < 0.4
    assert np.all(np.diag(new.prior.covariance) <= SPREADS**2 * (1 + 1e-12))
    assert new.prior.covariance[FLOW, FLOW] < 0.7 * SPREADS[FLOW] ** 2


def test_what_is_set_at_the_site_is_not_learnt():
    units = [shown(np.full(COUNT, 0.4), 40.0), UnitShown("A")]
    prior = learnt_parameters(units)[1].prior
    assert prior.mean[CHARGE] == pytest.approx(0.0, abs=1e-12)
    assert prior.covariance[CHARGE, CHARGE] == pytest.approx(SPREADS[CHARGE] ** 2)


def test_it_is_the_joint_normal_distribution(monkeypatch):
    """Of three units without odd ones: the third conditional on the first two, written out in full."""
    monkeypatch.setattr(alike, "ODD_SHARE", 1e-12)
    units = drawn_units(0.8, 1, 3, seed=3, sharpness=6.0)
    learnt = learnt_parameters([*units[:2], units[2], UnitShown("other")])[2]
    share = learnt.share
    common = np.kron(np.ones((3, 3)), np.diag(share * MODELS))
    own = np.kron(np.eye(3), np.diag(1.0 - share * MODELS))
    prior = common + own
    noise = np.eye(2 * COUNT) / 6.0
    read = np.concatenate(
        [np.linalg.solve(one.visits_alone[0], one.visits_alone[1]) / SPREADS for one in units[:2]]
    )
    cross = prior[2 * COUNT :, : 2 * COUNT]
    gain = cross @ np.linalg.inv(prior[: 2 * COUNT, : 2 * COUNT] + noise)
    np.testing.assert_allclose(learnt.prior.mean / SPREADS, gain @ read, atol=1e-6)
    covariance = prior[2 * COUNT :, 2 * COUNT :] - gain @ cross.T
    np.testing.assert_allclose(learnt.prior.covariance / np.outer(SPREADS, SPREADS), covariance, atol=1e-6)


@pytest.mark.parametrize("share", [0.0, 0.5, 0.9])
def test_what_units_have_in_common_is_found_and_nothing_where_there_is_nothing(share):
    units = drawn_units(share, 12, 4, seed=11)
    learnt = learnt_parameters(units)
    if share == 0.0:
        for one in filter(None, learnt):
            assert np.all(np.abs(one.prior.mean) < 0.3 * SPREADS)
            assert np.all(np.diag(one.prior.covariance) > 0.9 * SPREADS**2)
        return
    assert learnt[0].share == pytest.approx(share, abs=0.1)
    assert learnt[0].share in SHARES
    assert all(one.alike > 0.5 for one in learnt)


def test_pooled_units_are_nearer_to_the_truth_than_alone():
    draw = np.random.default_rng(5)
    units, truth = [], []
    for group in range(10):
        model = np.sqrt(0.8) * MODELS * draw.standard_normal(COUNT)
        for _ in range(4):
            truth.append(model + np.sqrt(1.0 - 0.8 * MODELS) * draw.standard_normal(COUNT))
            units.append(shown(truth[-1] + draw.standard_normal(COUNT), 1.0, f"plate {group}"))
    pooled = [with_own(*pair)[0] for pair in zip(learnt_parameters(units), units, strict=True)]
    alone = [with_own(None, one)[0] for one in units]
    assert np.std(np.array(pooled) - truth) < 0.85 * np.std(np.array(alone) - truth)


def test_a_unit_with_many_visits_of_its_own_is_not_moved():
    many = shown(np.full(COUNT, -0.3), 2000.0)
    learnt = learnt_parameters([*(shown(np.full(COUNT, 0.3), 20.0) for _ in range(3)), many])
    pooled, alone = with_own(learnt[3], many), with_own(None, many)
    np.testing.assert_allclose(pooled[0], alone[0], atol=0.01)


def test_an_odd_unit_is_not_dragged_and_drags_nobody():
    usual = drawn_units(0.9, 4, 5, seed=7)
    odd = shown(np.where(MODELS, 2.0, 0.0) * np.where(np.arange(COUNT) % 2, 1.0, -1.0), 8.0, "plate 00")
    without, mixed = learnt_parameters(usual), learnt_parameters([*usual, odd])
    assert mixed[-1].alike < 0.02
    assert min(one.alike for one in mixed[:-1]) > 0.5
    pooled, alone = with_own(mixed[-1], odd), with_own(None, odd)
    np.testing.assert_allclose(pooled[0], alone[0], atol=0.05)
    assert mixed[0].others == without[0].others == 4
    for one, before in zip(mixed[:5], without[:5], strict=True):
        np.testing.assert_allclose(one.prior.mean / SPREADS, before.prior.mean / SPREADS, atol=0.05)


def test_the_order_of_units_does_not_matter():
    units = drawn_units(0.7, 5, 3, seed=2)
    order = np.random.default_rng(1).permutation(len(units))
    learnt, turned = learnt_parameters(units), learnt_parameters([units[place] for place in order])
    for place, one in zip(order, turned, strict=True):
        np.testing.assert_allclose(one.prior.mean, learnt[place].prior.mean, atol=1e-9)
        np.testing.assert_allclose(one.prior.covariance, learnt[place].prior.covariance, atol=1e-9)


def test_a_visit_to_another_nameplate_changes_no_digit():
    units = drawn_units(0.7, 12, 4, seed=4)
    more = [*units, shown(units[-1].visits_alone[1] * 0.0, 2.0, "plate 11")]
    before, after = learnt_parameters(units), learnt_parameters(more)
    assert before[0].share == after[0].share
    for one, same in zip(before[:44], after[:44], strict=True):
        assert prior_entry(one.prior) == prior_entry(same.prior)
    assert prior_entry(before[44].prior) != prior_entry(after[44].prior)


def test_two_real_fits_of_one_nameplate_narrow_what_a_third_shows():
    fits = [
        fit_baseline(DESCRIPTION, [visit_of(true_unit(), outdoor=outdoor)]) for outdoor in (303.15, 308.15)
    ]
    units = [*(UnitShown("A", fit.visits_alone()) for fit in fits), UnitShown("A")]
    plain = fit_baseline(DESCRIPTION)
    pooled = fit_baseline(DESCRIPTION, prior=learnt_parameters(units)[2].prior)
    for name in ("condensing_temperature", "subcooling", "total_power"):
        errors = [float(predicted(fit, rating_conditions()).standard_errors[name]) for fit in (pooled, plain)]
        assert errors[0] < errors[1]
