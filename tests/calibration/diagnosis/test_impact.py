"""How grave, what it takes, and what being wrong costs."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from calibration.case.records import Cleaning, Season, TariffEntry
from calibration.clean_fit.prediction import CHANGE_SPREAD
from calibration.diagnosis.evidence import weighed
from calibration.diagnosis.hypotheses import candidates, faults_at
from calibration.diagnosis.impact import RUNNING_HOURS, found_today, span, stakes
from calibration.diagnosis.draws import drawn_states, normal_draws
from calibration.diagnosis.visit_model import at_latent
from calibration.diagnosis.scene import scene
from model.cycle.boundary import Conditions
from model.cycle.faults import HEALTHY, Faults
from model.cycle.high_pressure_trip import trip_outdoor_temperature
from tests.calibration.made_visits import DESCRIPTION
from tests.calibration.matched_visits import METERS, baseline, case_of, clean_visit, found_visit, matched

RATING = Conditions(308.15, 299.82, 0.01116)


def test_a_span_is_median_and_ninety_percent():
    values = np.linspace(0.0, 1.0, 1001)
    told = span(values)
    assert (told.low, told.value, told.high) == pytest.approx((0.05, 0.5, 0.95))


def test_a_blocked_face_takes_what_it_took():
    match = matched("condenser_blocked", 0.6)
    face = next(one for one in match.explained if one.name == "condenser_blocked")
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
    part = matched("undercharge", 0.5).explained[0].levels[0]
    assert part.amount.low <= -0.2 <= part.amount.high
    assert part.amount.value < 0
    assert part.airflow_lost is None
    assert part.pressure_drop is None


def test_a_restriction_is_told_as_the_pressure_it_takes():
    one = matched("liquid_line_restriction", 0.3).explained[0]
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


def test_few_draws_tell_what_many_would():
    """Median and ends of the EER that is lost, from 96 draws as from 1,920: within a tenth of its width."""
    visit = found_visit(Faults(condenser_blocked=0.48))
    place = scene(baseline(DESCRIPTION), [clean_visit(DESCRIPTION)], visit, METERS)
    told = candidates()
    face = weighed(place, (told.clean, told.singles[0]))[1]
    few = found_today(place, face).toll
    levels, latent = drawn_states(place, face, 1920)
    with_dirt, without = (at_latent(place, latent, c) for c in (faults_at(face.candidate, levels), HEALTHY))
    scatter = 1.0 + CHANGE_SPREAD * np.random.default_rng(5).standard_normal(1920)
    many = span((1.0 - with_dirt.eer / without.eer) * scatter)
    width = many.high - many.low
    for one, other in ((few.eer_share.value, many.value), (few.eer_share.low, many.low)):
        assert one == pytest.approx(other, abs=0.1 * width)
    assert few.eer_share.high == pytest.approx(many.high, abs=0.15 * width)


def test_draws_follow_the_posterior():
    visit = found_visit(Faults(condenser_blocked=0.48))
    place = scene(baseline(DESCRIPTION), [clean_visit(DESCRIPTION)], visit, METERS)
    told = candidates()
    face = weighed(place, (told.clean, told.singles[0]))[1]
    levels, latent = drawn_states(place, face, 400)
    assert levels.shape == (1, 400)
    mean = face.posterior @ face.levels[0]
    assert levels.mean() == pytest.approx(mean, abs=0.01)
    prior = np.sqrt(np.diag(place.prior_covariance))
    spread = latent.std(axis=1)
    # Readings can only narrow what is known; 400 draws scatter by some 4 %.
    assert np.all(spread < 1.15 * prior)
    assert np.any(spread < 0.8 * prior)
    again = drawn_states(place, face, 400)
    assert np.array_equal(again[1], latent)


def test_being_wrong_costs_either_way():
    match = matched("condenser_blocked", 0.6)
    season = Season(tariff=TariffEntry(energy_price=0.2))
    case = replace(case_of(match.visit), season=season, cleaning=Cleaning(price=150.0))
    told = stakes(case, match.explained[0], match.group, match.group_probability)
    assert told.needless == pytest.approx(1.0 - match.group_probability)
    assert told.price == 150.0
    power = match.explained[0].today.same_cooling_power.value
    assert told.left_energy.value == pytest.approx(power * RUNNING_HOURS / 1000.0)
    assert told.left_cost is not None
    assert told.left_cost.value == pytest.approx(0.2 * told.left_energy.value)
    other = stakes(case, matched("undercharge", 0.5).explained[0], ("undercharge",), 0.9)
    assert other.price is None


def test_a_blocked_face_trips_at_a_lower_outdoor_temperature():
    match = matched("condenser_blocked", 0.6)
    face = next(one for one in match.explained if one.name == "condenser_blocked")
    told = face.design.trip_temperature
    assert told is not None
    assert face.today.trip_temperature is None
    likeliest = trip_outdoor_temperature(face.unit, RATING, face.faults)
    clean = trip_outdoor_temperature(face.unit, RATING)
    assert told.low <= float(likeliest.value) <= told.high
    assert told.value < float(clean.value) - 3.0


def test_design_weather_is_the_cases():
    match = matched("undercharge", 0.5)
    assert match.explained[0].design.outdoor_temperature == pytest.approx(308.15)
    assert match.explained[0].today.outdoor_temperature == match.visit.outdoor_db
