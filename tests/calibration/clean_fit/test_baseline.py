"""The clean-coil fit: it finds a known unit and leans on the nameplate where nothing else is there."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.case.meters import Instruments
from calibration.case.records import Case
from calibration.clean_fit import baseline as baseline_module
from calibration.clean_fit.baseline import baseline_of, baseline_without, fit_baseline
from calibration.clean_fit.parameters import NAMES, PARAMETERS, SPREADS, adjusted, generic_unit
from calibration.clean_fit.prediction import predicted
from model.cycle.boundary import Conditions
from model.cycle.sizing import rating_conditions
from model.cycle.solve import solve
from tests.calibration.made_visits import DESCRIPTION, true_unit, visit_of

SHARP = Instruments(
    suction_gauge=1e3,
    liquid_gauge=2e3,
    discharge_gauge=2e3,
    pipe_thermometer=0.1,
    air_thermometer=0.05,
    wet_bulb=0.05,
    airflow=0.005,
    wattmeter=0.003,
)


@pytest.fixture(scope="module")
def truth():
    return true_unit()


@pytest.fixture(scope="module")
def fitted(truth):
    return fit_baseline(DESCRIPTION, [visit_of(truth)], SHARP)


def test_fit_reproduces_the_readings_it_was_given(fitted):
    assert fitted.settled
    assert max(abs(one.standardised) for one in fitted.residuals) < 1.0


@pytest.mark.parametrize("outdoor", [295.0, 308.15, 315.0])
def test_fit_predicts_a_unit_of_other_structure_at_other_weather(fitted, truth, outdoor):
    """The true unit has another exponent and built-in ratio than the fit assumes: 2 % is left for that."""
    weather = replace(rating_conditions(), outdoor_temperature=outdoor)
    real, guess = solve(truth, weather), solve(fitted.unit, weather)
    assert float(guess.net_capacity) == pytest.approx(float(real.net_capacity), rel=0.02)
    assert float(guess.total_power) == pytest.approx(float(real.total_power), rel=0.025)
    assert float(guess.condensing_temperature) == pytest.approx(float(real.condensing_temperature), abs=0.6)


def test_without_a_clean_visit_the_nameplate_speaks_alone():
    baseline = fit_baseline(DESCRIPTION)
    assert np.all(np.abs(baseline.values) < 0.1 * SPREADS)
    assert np.all(baseline.spreads <= SPREADS * (1 + 1e-9))
    assert (baseline.visits, baseline.residuals, baseline.readings, baseline.misfit) == ((), (), 0, 0.0)
    point = solve(baseline.unit, rating_conditions())
    assert float(point.net_capacity) == pytest.approx(DESCRIPTION.rated_capacity, rel=0.03)
    assert float(point.eer) == pytest.approx(DESCRIPTION.rated_eer, rel=0.06)


def test_readings_narrow_the_intervals(fitted):
    weather = Conditions(308.15, 299.82, 0.0112)
    nameplate = predicted(fit_baseline(DESCRIPTION), weather)
    with_visit = predicted(fitted, weather)
    for name in ("net_capacity", "total_power", "condensing_temperature", "superheat"):
        assert with_visit.standard_errors[name] < nameplate.standard_errors[name]


def test_pressures_and_temperatures_alone_are_enough(truth):
    visit = visit_of(truth)
    visit = replace(
        visit,
        supply_db=None,
        supply_wb=None,
        indoor_airflow=None,
        outdoor_power=None,
        condenser_leaving_db=None,
    )
    visit = replace(visit, indoor_power=None, outdoor_fan_power=None)
    baseline = fit_baseline(DESCRIPTION, [visit], SHARP)
    weather = rating_conditions()
    guess, real = solve(baseline.unit, weather), solve(truth, weather)
    assert float(guess.condensing_temperature) == pytest.approx(float(real.condensing_temperature), abs=1.0)
    full = predicted(fit_baseline(DESCRIPTION, [visit_of(truth)], SHARP), weather)
    assert predicted(baseline, weather).standard_errors["net_capacity"] > full.standard_errors["net_capacity"]


def test_a_second_visit_in_other_weather_sharpens(truth, fitted):
    both = fit_baseline(
        DESCRIPTION, [visit_of(truth), visit_of(truth, "hot", outdoor=314.0, returned=300.0)], SHARP
    )
    assert np.linalg.slogdet(both.covariance)[1] < np.linalg.slogdet(fitted.covariance)[1]
    assert both.visits == ("made", "hot")


def test_visit_with_no_more_than_weather_changes_nothing(truth):
    visit = visit_of(truth)
    bare = replace(
        visit,
        **{
            name: None
            for name in visit.readings()
            if name not in ("outdoor_db", "return_db", "return_wb") and hasattr(visit, name)
        },
    )
    baseline = fit_baseline(DESCRIPTION, [bare], SHARP)
    assert baseline.visits == ()
    assert np.array_equal(baseline.values, fit_baseline(DESCRIPTION, [bare], SHARP).values)
    assert np.all(np.abs(baseline.values) < 0.1 * SPREADS)


def test_covariance_is_symmetric_and_positive(fitted):
    assert np.allclose(fitted.covariance, fitted.covariance.T)
    assert np.all(np.linalg.eigvalsh(fitted.covariance) > 0)
    assert np.all(fitted.spreads <= SPREADS * (1 + 1e-9))


def test_fit_gives_the_same_digits_twice(truth, fitted):
    again = fit_baseline(DESCRIPTION, [visit_of(truth)], SHARP)
    assert np.array_equal(again.values, fitted.values)


@pytest.mark.parametrize("name", NAMES)
def test_every_parameter_moves_the_unit_and_back(name):
    """Down by a spread and up again gives the generic unit's numbers."""
    unit = generic_unit(DESCRIPTION)
    values = np.zeros(len(NAMES))
    # Not the other way, and within a millionth: what makers reach holds an efficiency that goes up.
    values[NAMES.index(name)] = -PARAMETERS[NAMES.index(name)].spread
    moved = adjusted(unit, values)
    back = adjusted(moved, -values)
    weather = rating_conditions()
    first, last = solve(unit, weather), solve(back, weather)
    assert float(last.net_capacity) == pytest.approx(float(first.net_capacity), rel=1e-6)
    assert moved != unit


def test_parameters_broadcast_to_a_family_of_units():
    unit = generic_unit(DESCRIPTION)
    values = np.zeros((len(NAMES), 3))
    values[NAMES.index("displacement")] = [-0.1, 0.0, 0.1]
    family = solve(adjusted(unit, values), rating_conditions())
    assert family.net_capacity.shape == (3,)
    assert np.all(np.diff(family.net_capacity) > 0)
    alone = solve(adjusted(unit, values[:, 0]), rating_conditions())
    assert float(alone.net_capacity) == pytest.approx(float(family.net_capacity[0]), rel=1e-8)


def scattered_visits(truth, count):
    """Clean visits in as many weathers, their readings off by the errors of usual meters."""
    random = np.random.default_rng(2)
    errors = {"suction_pressure": 7e3, "liquid_pressure": 14e3, "supply_db": 0.4, "supply_wb": 0.4}
    for number in range(count):
        outdoor, returned = 300.0 + 12.0 * random.random(), 296.0 + 5.0 * random.random()
        visit = visit_of(truth, f"visit {number}", outdoor=outdoor, returned=returned, wet_bulb=290.0)
        shown = {name: getattr(visit, name) + random.normal(0.0, size) for name, size in errors.items()}
        yield replace(visit, **shown, indoor_power=visit.indoor_power * (1.0 + random.normal(0.0, 0.03)))


@pytest.fixture(scope="module")
def often_visited(truth):
    """A case of twenty clean visits and its fit."""
    case = Case("SI", DESCRIPTION, tuple(scattered_visits(truth, 20)))
    return case, baseline_of(case)


@pytest.fixture
def solved(monkeypatch):
    """Points that the fits solve, one number a call of the cycle."""
    points = []

    def counted(*arguments):
        point = solve(*arguments)
        points.append(point.net_capacity.size)
        return point

    monkeypatch.setattr(baseline_module, "solve", counted)
    return points


def test_one_of_many_visits_is_taken_out_without_a_fit(often_visited, solved):
    case, everything = often_visited
    for visit in (case.visits[0], case.visits[7]):
        stepped = baseline_without(case, visit, everything)
        assert solved == []
        fitted = baseline_without(case, visit)
        assert (stepped.visits, stepped.readings) == (fitted.visits, fitted.readings)
        assert np.all(np.abs(stepped.values - fitted.values) < 0.12 * fitted.spreads)
        assert np.allclose(stepped.spreads, fitted.spreads, rtol=0.1)
        assert stepped.misfit == pytest.approx(fitted.misfit, rel=0.02)
        assert stepped.unit.indoor_fan.power == fitted.unit.indoor_fan.power
        solved.clear()


def test_a_visit_that_contradicts_all_others_does_not_vouch_for_itself(often_visited):
    case, _ = often_visited
    wrong = replace(case.visits[3], supply_wb=case.visits[3].supply_wb + 4.0, label="wrong")
    wrong = replace(wrong, outdoor_power=1.2 * wrong.outdoor_power)
    spoilt = replace(case, visits=(*case.visits[:3], wrong, *case.visits[4:]))
    everything = baseline_of(spoilt)
    without, fitted = baseline_without(spoilt, wrong, everything), baseline_without(spoilt, wrong)
    assert np.any(np.abs(everything.values - fitted.values) > 0.5 * fitted.spreads)
    assert np.all(np.abs(without.values - fitted.values) < 0.1 * fitted.spreads)


def test_the_work_of_a_fit_grows_with_the_visits_and_not_faster(often_visited, solved):
    case, _ = often_visited
    for count in (5, 20):
        fit_baseline(case.unit, case.visits[:count], case.instruments)
        # a visit has some 25 columns, and a fit some ten steps of two calls: the nameplate and the visits
        assert sum(solved) <= (count + 1) * 25 * 15
        assert len(solved) <= 30
        solved.clear()


def test_visits_with_different_readings_are_fitted_together(truth, fitted):
    """A visit without a wet bulb or a supply temperature beside a full one: each keeps its own readings."""
    full = visit_of(truth)
    fewer = replace(visit_of(truth, "fewer", outdoor=312.0), return_wb=None, return_rh=0.5, supply_db=None)
    both = fit_baseline(DESCRIPTION, [full, fewer], SHARP)
    assert both.readings == 2 * fitted.readings - 1
    assert {one.reading for one in both.residuals if one.visit == "fewer"} == {
        one.reading for one in fitted.residuals
    } - {"supply_db"}
