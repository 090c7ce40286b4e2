"""How large a fault is, what is lost by it, and what being wrong costs."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from calibration.case.records import CleaningEntry, Season, TariffEntry
from calibration.clean_fit.observation import conditions
from calibration.clean_fit.prediction import CHANGE_SPREAD
from calibration.diagnosis import impact
from calibration.diagnosis.draws import drawn_states, level_points, normal_draws
from calibration.diagnosis.hypotheses import faults_at
from calibration.diagnosis.impact import RUNNING_HOURS, stakes
from calibration.diagnosis.visit_model import at_latent
from calibration.estimate import Estimate, of_draws
from model.components.fans import fan_power_ratio, resistance
from model.cycle.boundary import Conditions
from model.cycle.faults import HEALTHY, Faults
from model.cycle.high_pressure_trip import trip_outdoor_temperature
from model.cycle.solve import solve
from tests.calibration.made_visits import true_unit, visit_of
from tests.calibration.matched_visits import case_of, finding_of, found, found_visit, half_blocked

RATING = Conditions(308.15, 299.82, 0.01116)


def test_a_blocked_face_costs_what_it_cost():
    finding = found("condenser_blocked", 0.6)
    face = next(one for one in finding.explained if one.key == "condenser_blocked")
    part = face.levels[0]
    assert part.field == "condenser_blocked"
    assert part.amount.value == pytest.approx(0.48, abs=0.06)
    assert part.airflow_lost is not None
    assert 0.0 < part.airflow_lost.low < part.airflow_lost.value < part.amount.value
    today = face.today
    assert 0.0 < today.capacity_share.low < today.eer_share.value < 0.3
    assert today.power_added.value > 0
    assert today.same_cooling_power.value > today.power_added.value
    assert today.clean_eer.value == pytest.approx(
        today.clean_capacity.value / today.clean_power.value, rel=0.02
    )
    assert float(face.point.eer) < float(face.clean_point.eer)


def test_a_short_charge_is_negative_and_leaves_the_air_alone():
    part = found("undercharge", 0.5).explained[0].levels[0]
    assert part.amount.low <= -0.2 <= part.amount.high
    assert part.amount.value < 0
    assert part.airflow_lost is None
    assert part.pressure_drop is None


def test_a_restriction_is_given_as_its_pressure_drop():
    one = found("liquid_line_restriction", 0.3).explained[0]
    drop = one.levels[0].pressure_drop
    assert drop is not None
    assert 0 < drop.low < drop.value < drop.high < float(one.point.liquid_pressure)


@pytest.mark.parametrize("count", [2, 24, 96])
def test_normal_draws_are_the_quantiles_in_another_order_for_each_row(count):
    drawn = normal_draws(np.random.default_rng(3), 5, count)
    assert drawn.shape == (5, count)
    np.testing.assert_allclose(drawn.mean(axis=1), 0.0, atol=1e-14)
    np.testing.assert_allclose(drawn.std(axis=1), 1.0, rtol=1e-12)
    wanted = norm.ppf((np.arange(count) + 0.5) / count)
    np.testing.assert_allclose(np.sort(drawn, axis=1)[2] / wanted.max(), wanted / wanted.std() / wanted.max())
    if count > 2:
        assert len({tuple(row) for row in drawn}) == 5


def test_few_draws_say_what_many_would():
    """Median and ends of the EER that is lost, from 96 draws as from 1,920: within a tenth of its width."""
    posterior = half_blocked()
    number = posterior.number("condenser_blocked")
    hypothesis, place = posterior.explanations[number].hypothesis, posterior.place

    def lost(count, seed):
        levels, latent = drawn_states(posterior, number, count)
        dirty, clean = (at_latent(place, latent, c) for c in (faults_at(hypothesis, levels), HEALTHY))
        scatter = 1.0 + CHANGE_SPREAD * normal_draws(np.random.default_rng(seed), 1, count)[0]
        return of_draws((1.0 - dirty.eer / clean.eer) * scatter)

    few, many = lost(96, 1), lost(1920, 5)
    width = many.high - many.low
    assert few.value == pytest.approx(many.value, abs=0.1 * width)
    assert few.low == pytest.approx(many.low, abs=0.1 * width)
    assert few.high == pytest.approx(many.high, abs=0.15 * width)


def test_draws_follow_the_posterior():
    posterior = half_blocked()
    number = posterior.number("condenser_blocked")
    face, place = posterior.explanations[number], posterior.place
    levels, latent = drawn_states(posterior, number, 400)
    assert levels.shape == (1, 400)
    assert levels.mean() == pytest.approx(face.posterior @ face.levels[0], abs=0.01)
    assert np.all(np.diff(level_points(face, 400)) >= 0)
    prior = np.sqrt(np.diag(place.prior_covariance))
    spread = latent.std(axis=1)
    # Readings can only narrow what is known; 400 draws scatter by some 4 %.
    assert np.all(spread < 1.15 * prior + 1e-9)
    assert np.any(spread < 0.8 * prior)
    again = drawn_states(posterior, number, 400)
    assert np.array_equal(again[1], latent)


def test_being_wrong_costs_either_way():
    finding = found("condenser_blocked", 0.6)
    season = Season(tariff=TariffEntry(energy_price=0.2))
    case = replace(case_of(finding.visit), season=season, cleaning=CleaningEntry(price=150.0))
    told = stakes(case, finding.explained[0], finding.probability_of_fouling)
    assert told.needless == pytest.approx(1.0 - finding.probability_of_fouling)
    assert told.price == 150.0
    power = finding.explained[0].today.same_cooling_power.value
    assert told.left_energy.value == pytest.approx(power * RUNNING_HOURS / 1000.0)
    assert told.left_cost is not None
    assert told.left_cost.value == pytest.approx(0.2 * told.left_energy.value)
    other = stakes(case, found("undercharge", 0.5).explained[0], 0.9)
    assert other.price is None


def test_a_blocked_face_trips_at_a_lower_outdoor_temperature():
    finding = found("condenser_blocked", 0.6)
    face = next(one for one in finding.explained if one.key == "condenser_blocked")
    told = face.design.trip_temperature
    assert told is not None
    assert face.today.trip_temperature is None
    likeliest = trip_outdoor_temperature(face.unit, RATING, face.faults)
    clean = trip_outdoor_temperature(face.unit, RATING)
    assert told.low <= float(likeliest.value) <= told.high
    assert told.value < float(clean.value) - 3.0


def test_design_weather_is_the_cases():
    finding = found("undercharge", 0.5)
    assert finding.explained[0].design.outdoor_temperature == pytest.approx(308.15)
    assert finding.explained[0].today.outdoor_temperature == finding.visit.outdoor_db


def test_a_level_is_as_uncertain_as_the_models_idea_of_it_and_stays_one():
    exact = Estimate(0.5, 0.5, 0.5)
    found = impact._with_own_error(exact)
    assert found.value == 0.5
    assert found.standard_error == pytest.approx(impact.LEVEL_SPREAD * 0.5)
    wide = impact._with_own_error(Estimate(0.95, 0.0, 0.97))
    assert wide.ends == (0.0, 1.0)


def test_more_explanations_are_solved_in_no_more_calls(monkeypatch):
    calls = []

    def counted(plain):
        return lambda *arguments, **options: (calls.append(plain), plain(*arguments, **options))[1]

    for name in ("at_latent", "solve", "trip_outdoor_temperature"):
        monkeypatch.setattr(impact, name, counted(getattr(impact, name)))
    posterior = half_blocked()
    first = posterior.number("condenser_blocked")
    both = [first, posterior.number("condenser_dust")]
    one, two = (
        impact.impact_of(case_of(posterior.place.visit), posterior, numbers) for numbers in ([first], both)
    )
    assert len(calls) == 2 * (2 + 2 + 1 + 1)  # with the faults and without: middle, draws; design; trip
    alone, together = one.explained[0], two.explained[0]
    assert together.key == alone.key == "condenser_blocked"
    for name in ("clean_capacity", "capacity_share", "eer_share", "power_added"):
        before, after = (getattr(each.today, name) for each in (alone, together))
        assert (after.value, *after.ends) == pytest.approx((before.value, *before.ends), rel=1e-6), name
    assert float(together.point.eer) == pytest.approx(float(alone.point.eer), rel=1e-7)
    assert two.explained[1].levels[0].amount != alone.levels[0].amount


def test_a_blower_with_less_air_draws_less_and_that_counts():
    """Its power is read with the fault there: what it drew with all of its air follows from the fan law."""
    lost, unit = 0.3, true_unit()
    whole = visit_of(unit, "found", coil="as found", outdoor=307.15, returned=299.15, wet_bulb=291.65)
    ratio = float(
        fan_power_ratio(unit.indoor_fan, 1.0 - lost, resistance(unit.indoor_fan, 1.0 - lost, 0.0, 0.0))
    )
    power = whole.indoor_power * ratio
    settings = {name: whole.readings()[name] for name in ("outdoor_db", "return_db", "return_wb")}
    settings["indoor_airflow"] = whole.indoor_airflow
    faulty, clean = (
        solve(unit, conditions({**settings, "indoor_power": watts}, whole.ambient_pressure), faults)
        for watts, faults in ((power, Faults(evaporator_airflow_lost=lost)), (whole.indoor_power, HEALTHY))
    )
    read = found_visit(Faults(evaporator_airflow_lost=lost))
    finding = finding_of(replace(read, indoor_power=power))
    one = next(one for one in finding.explained if one.key == "indoor_airflow_low").today
    true = float(faulty.total_power / clean.total_power) - 1.0
    assert one.power_share.low < true < one.power_share.high
    assert one.power_share.value == pytest.approx(true, abs=0.01)
    assert one.eer_share.value == pytest.approx(1.0 - float(faulty.eer / clean.eer), abs=0.015)
