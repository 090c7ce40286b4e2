"""The nameplate as evidence: how wide it leaves a unit, what visits say without it, and when they lie
under it."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.case.records import CapacityRow
from calibration.clean_fit.baseline import fit_baseline
from calibration.clean_fit.nameplate import (
    CERTIFIED_ACCURACY,
    OUTDOOR_UNIT_ACCURACY,
    RULE_SUBCOOLING,
    RatedFigure,
    as_rated,
    nameplate_observation,
    rated_figures,
)
from calibration.clean_fit.prediction import predicted
from calibration.estimate import with_error
from model.cycle.boundary import Conditions
from model.cycle.sizing import RATING_RETURN, RATING_RETURN_WET_BULB, rating_conditions
from model.cycle.solve import solve
from model.properties import moist_air
from model.properties.moist_air import STANDARD_PRESSURE
from tests.calibration.made_visits import DESCRIPTION, true_unit, visit_of


def share(baseline, name: str) -> float:
    """Standard error of a figure at the rating point over the figure [-]."""
    prediction = predicted(baseline, rating_conditions())
    return float(prediction.standard_errors[name] / getattr(prediction.point, name))


def test_nameplate_alone_leaves_what_its_accuracy_and_the_models_leave():
    """4.5 and 5 % of a certified pair and 2 to 2.2 % of the model: 5 % together, before 17 and 18 %."""
    baseline = fit_baseline(DESCRIPTION)
    assert 0.04 < share(baseline, "net_capacity") < 0.05
    assert 0.045 < share(baseline, "eer") < 0.056


@pytest.mark.parametrize("name", ["R410A", "R22", "R407C", "R32"])
def test_an_efficient_units_nameplate_is_met(name):
    """EER 15: parts sized for ordinary machines alone give 1 to 10 % less. With the best compressor that is
    made R-410A stays 1.3 and R-407C 2.7 % short, within the accuracy of a rating."""
    baseline = fit_baseline(replace(DESCRIPTION, refrigerant=name, rated_eer=4.4))
    for figure in baseline.nameplate[: len(CERTIFIED_ACCURACY)]:
        assert -0.03 < figure.fitted / figure.rated - 1.0 < 0.01


def test_an_outdoor_unit_alone_is_half_as_certain():
    baseline = fit_baseline(replace(DESCRIPTION, rated_eer=None))
    assert [figure.name for figure in baseline.nameplate] == ["rated_capacity", "rated_subcooling"]
    assert OUTDOOR_UNIT_ACCURACY["rated_capacity"] == 2.0 * CERTIFIED_ACCURACY["rated_capacity"]
    assert 0.075 < share(baseline, "net_capacity") < 0.095
    assert 0.13 < share(baseline, "eer") < 0.2


def test_an_orifice_units_superheat_is_that_of_a_charged_one():
    """2.5 K of superheat at the rating, where bore and charge alone would leave more than 20 K."""
    baseline = fit_baseline(replace(DESCRIPTION, expansion="fixed orifice"))
    assert [figure.name for figure in baseline.nameplate][-1] == "rated_superheat"
    error = float(predicted(baseline, rating_conditions()).standard_errors["superheat"])
    assert 2.0 < error < 3.5


@pytest.mark.parametrize("expansion", ["TXV", "fixed orifice"])
def test_a_nameplate_unit_has_the_usual_subcooling(expansion):
    """5.5 K within 3 K, where charge and volumes alone, each as uncertain as they are, would leave 9 K."""
    point = predicted(fit_baseline(replace(DESCRIPTION, expansion=expansion)), rating_conditions())
    assert float(point.point.subcooling) == pytest.approx(RULE_SUBCOOLING, abs=1.0)
    assert 2.0 < float(point.standard_errors["subcooling"]) < 3.5


def test_the_usual_subcooling_gives_way_to_a_reading():
    """A unit that was read clean with another subcooling has that: one visit weighs more than the rule."""
    true = true_unit()
    more = replace(true, circuit=replace(true.circuit, charge=1.12 * true.circuit.charge))
    read = float(solve(more, rating_conditions()).subcooling)
    fitted = predicted(fit_baseline(DESCRIPTION, [visit_of(more)]), rating_conditions())
    assert read > RULE_SUBCOOLING + 2.0
    assert float(fitted.point.subcooling) == pytest.approx(read, abs=1.0)
    assert float(fitted.standard_errors["subcooling"]) < 1.5


def test_taking_the_nameplate_out_is_the_fit_without_it():
    """Three readings of three straight lines, by hand: the closed form against the fit of what is left."""
    seen = nameplate_observation(DESCRIPTION)
    slopes = np.array([[3000.0, -1000.0, 500.0], [0.2, 0.4, -0.1], [4.0, -2.0, 9.0]])
    rest = np.array([[30.0, 5.0, 1.0], [5.0, 40.0, 2.0], [1.0, 2.0, 60.0]])
    centre = np.array([-0.05, 0.02, 0.03])  # the most likely numbers of what is left
    weighted = slopes / np.hypot(seen.spreads, np.linalg.norm(seen.common, axis=1))[:, None] ** 2
    information = rest + slopes.T @ weighted
    start = seen.values * [1.02, 0.97, 1.1]  # figures at parameters of nothing
    fitted = np.linalg.solve(information, rest @ centre + weighted.T @ (seen.values - start))
    expected = start + slopes @ fitted
    without = (information - slopes.T @ weighted, weighted.T @ (seen.values - expected))
    figures = rated_figures(seen, expected, slopes, without)
    alone, errors = start + slopes @ centre, np.sqrt(np.diag(slopes @ np.linalg.inv(rest) @ slopes.T))
    np.testing.assert_allclose([one.visits_alone.value for one in figures], alone, rtol=1e-9)
    np.testing.assert_allclose([one.visits_alone.standard_error for one in figures], errors, rtol=1e-9)


@pytest.mark.parametrize(
    ("shown", "under"), [(10_500.0, False), (9_500.0, False), (8_500.0, True), (12_500.0, False)]
)
def test_lying_under_the_nameplate_takes_more_than_both_errors(shown, under):
    figure = RatedFigure("rated_capacity", 10_500.0, 472.5, shown, with_error(shown, 400.0))
    assert figure.lies_under is under
    assert figure.shortfall == pytest.approx(1.0 - shown / 10_500.0)


def test_a_clean_visit_under_the_nameplate_is_seen():
    """The made unit meets its nameplate; rated a third higher, the same visit lies under it."""
    visit = visit_of(true_unit())
    honest = fit_baseline(DESCRIPTION, [visit]).nameplate[0]
    boasted = replace(DESCRIPTION, rated_capacity=1.33 * DESCRIPTION.rated_capacity)
    assert not honest.lies_under
    assert fit_baseline(boasted, [visit]).nameplate[0].lies_under


WEATHER = [(outdoor, bulb) for outdoor in (303.15, 308.15, 313.15, 319.0) for bulb in (290.0, 292.59, 295.0)]


def weather(outdoor, bulb) -> Conditions:
    """Return air of the rating's dry bulb."""
    humidity = moist_air.humidity_ratio_from_wet_bulb(RATING_RETURN, bulb, STANDARD_PRESSURE)
    return Conditions(outdoor, RATING_RETURN, humidity)


def with_table(unit, capacity: float = 1.0, power: float = 1.0):
    """Nameplate of `DESCRIPTION` with a table made from a unit, scaled so that it agrees with its rating."""
    rated = solve(unit, rating_conditions())
    capacity *= DESCRIPTION.rated_capacity / float(rated.net_capacity)
    power *= DESCRIPTION.rated_capacity / DESCRIPTION.rated_eer / float(rated.total_power)
    rows = []
    for outdoor, bulb in WEATHER:
        point = solve(unit, weather(outdoor, bulb))
        shown = float(point.net_capacity) * capacity, float(point.outdoor_power) * power
        rows.append(CapacityRow(outdoor, bulb, *shown))
    return replace(DESCRIPTION, capacity_table=tuple(rows))


def test_a_capacity_table_gives_the_slope_and_not_the_level():
    """From 27 to 49 degC the table's slope of power is met within 0.3 %, where the nameplate alone is 0.9 to
    1.3 % off; how far this machine lies from its maker's print stays as uncertain as it was."""
    unit = true_unit()
    hot = weather(np.array([300.0, 308.15, 322.0]), RATING_RETURN_WET_BULB)
    truth = solve(unit, hot).total_power
    off, errors = [], []
    for description in (DESCRIPTION, with_table(unit)):
        prediction = predicted(fit_baseline(description), hot)
        ratio = prediction.point.total_power / truth
        off.append(np.abs(ratio / ratio[1] - 1.0).max())
        errors.append(share(fit_baseline(description), "net_capacity"))
    assert off[1] < 0.003 < 0.007 < off[0]
    assert errors[1] == pytest.approx(errors[0], rel=0.1)


@pytest.mark.parametrize(("capacity", "power"), [(1.04, 1.0), (1.0, 1.15)])
def test_a_table_that_counts_the_blower_otherwise_moves_the_level_little(capacity, power):
    """Capacity 4 % higher before the blower's heat, or power 15 % higher with the blower's watts in it."""
    unit = true_unit()
    plain, other = (fit_baseline(with_table(unit, *scales)) for scales in ((1.0, 1.0), (capacity, power)))
    assert other.settled
    for one, two in zip(plain.nameplate, other.nameplate, strict=True):
        assert abs(two.fitted / one.fitted - 1.0) < 0.5 * (capacity * power - 1.0)


def test_visits_are_judged_without_table_and_nameplate():
    """What the visits say alone hardly changes where a table is added: within 0.3 %."""
    unit, visit = true_unit(), visit_of(true_unit())
    alone = [
        fit_baseline(description, [visit]).nameplate[0].visits_alone.value
        for description in (DESCRIPTION, with_table(unit))
    ]
    assert alone[1] == pytest.approx(alone[0], rel=3e-3)


def test_invented_units_are_rated_within_the_accuracies():
    draw = np.random.default_rng(7)
    plates = [as_rated(DESCRIPTION, 9_000.0, 3.0, draw) for _ in range(2000)]
    capacity = np.log([plate.rated_capacity / 9_000.0 for plate in plates])
    eer = np.log([plate.rated_eer / 3.0 for plate in plates])
    assert np.std(capacity) == pytest.approx(CERTIFIED_ACCURACY["rated_capacity"], rel=0.06)
    assert np.std(eer) == pytest.approx(CERTIFIED_ACCURACY["rated_eer"], rel=0.06)
    assert abs(np.mean(capacity)) < 0.004
    assert plates[0].refrigerant == DESCRIPTION.refrigerant
