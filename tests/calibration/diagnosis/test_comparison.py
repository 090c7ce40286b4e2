"""As found against clean: a made fouling is found again, a clean coil is not called fouled."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.case.records import Case
from calibration.clean_fit.baseline import fit_baseline
from calibration.diagnosis.comparison import compare_visit
from calibration.diagnosis.hypotheses import CLEAN, FOULED_CONDENSER
from calibration.diagnosis.match import match_visit
from model.cycle.faults import Faults, fault_of
from tests.calibration.made_visits import DESCRIPTION, FINE_METERS, true_unit, visit_of
from tests.calibration.matched_visits import METERS, clean_visit, found_visit


def compared(share: float, **weather: float):
    unit = true_unit()
    clean = visit_of(unit)
    found = visit_of(unit, "found", faults=Faults(condenser_blocked=share), coil="as found", **weather)
    case = Case("SI", DESCRIPTION, (clean, found), FINE_METERS)
    return compare_visit(case, found, fit_baseline(DESCRIPTION, [clean], FINE_METERS))


@pytest.mark.parametrize("share", [0.25, 0.45, 0.65])
@pytest.mark.parametrize("outdoor", [300.15, 309.15])
def test_a_blocked_face_is_found_again(share, outdoor):
    comparison = compared(share, outdoor=outdoor)
    assert comparison.blocked.value == pytest.approx(share, abs=0.08)
    assert comparison.blocked.low <= share <= comparison.blocked.high
    assert comparison.fouled_misfit < comparison.clean_misfit
    assert comparison.proof > 0.95 and comparison.proves_fouling


def test_a_clean_coil_in_other_weather_stays_clean():
    comparison = compared(0.0, outdoor=310.15, returned=300.15, wet_bulb=292.15)
    assert comparison.blocked.low < 0.05
    assert comparison.blocked.value < 0.15
    assert comparison.clean_misfit < len(comparison.rows)
    assert comparison.proof < 0.2 and not comparison.proves_fouling


def test_losses_go_the_way_of_dirt():
    toll = compared(0.5).toll
    assert 0.0 < toll.capacity_share.value < toll.eer_share.value
    assert toll.capacity_share.value == pytest.approx(toll.coil_share.value, abs=0.01)
    assert 0.0 < toll.power_share.value < toll.outdoor_power_share.value < toll.eer_share.value
    for one in (toll.capacity_share, toll.eer_share, toll.power_share):
        assert one.low < one.value < one.high


def test_more_blocked_loses_more_air():
    assert compared(0.3).airflow_lost.value < compared(0.6).airflow_lost.value
    lost = compared(0.5).airflow_lost
    assert 0 < lost.low < lost.value < lost.high < compared(0.5).blocked.value


def test_rows_hold_every_reading_and_its_score():
    comparison = compared(0.5)
    by_name = {row.name: row for row in comparison.rows}
    assert {"suction_pressure", "liquid_pressure", "outdoor_power", "supply_wb"} <= set(by_name)
    liquid = by_name["liquid_pressure"]
    assert liquid.measured > liquid.clean
    assert liquid.standardised > 2
    assert abs(liquid.measured - liquid.first) < abs(liquid.measured - liquid.clean)


def test_with_the_nameplate_alone_the_interval_is_wider():
    unit = true_unit()
    clean = visit_of(unit)
    found = visit_of(unit, "found", faults=Faults(condenser_blocked=0.45), coil="as found")
    case = Case("SI", DESCRIPTION, (found,), FINE_METERS)
    alone = compare_visit(case, found, fit_baseline(DESCRIPTION)).blocked
    fitted = compare_visit(case, found, fit_baseline(DESCRIPTION, [clean], FINE_METERS)).blocked
    assert alone.high - alone.low > fitted.high - fitted.low


def test_a_clean_visit_is_held_against_the_other_clean_ones():
    visits = (
        clean_visit(DESCRIPTION),
        replace(clean_visit(DESCRIPTION), label="summer", liquid_pressure=2.9e6),
    )
    case = Case("SI", DESCRIPTION, visits, METERS)
    both = fit_baseline(DESCRIPTION, visits, METERS)
    one = compare_visit(case, visits[1], both)
    alone = fit_baseline(DESCRIPTION, visits[:1], METERS)
    assert (
        one.clean.point.liquid_pressure == compare_visit(case, visits[1], alone).clean.point.liquid_pressure
    )


def test_a_visit_without_readings_is_refused():
    unit = true_unit()
    visit = visit_of(unit, coil="as found")
    kept = ("outdoor_db", "return_db", "return_wb", "indoor_airflow", "indoor_power")
    bare = replace(visit, **{name: None for name in visit.readings() if name not in kept})
    case = Case("SI", DESCRIPTION, (bare,), FINE_METERS)
    with pytest.raises(ValueError, match="at least one is expected"):
        compare_visit(case, bare, fit_baseline(DESCRIPTION))


def test_share_and_toll_are_those_that_the_match_tells():
    unit = true_unit()
    visits = visit_of(unit), visit_of(unit, "found", faults=Faults(condenser_blocked=0.5), coil="as found")
    case = Case("SI", DESCRIPTION, visits, FINE_METERS)
    baseline = fit_baseline(DESCRIPTION, [visits[0]], FINE_METERS)
    comparison = compare_visit(case, visits[1], baseline)
    match = match_visit(case, visits[1], baseline=baseline)
    face = next(one for one in match.explained if one.name == "condenser_blocked")
    (found,), today, toll = face.levels, face.today, comparison.toll
    for told, here in (
        (found.amount, comparison.blocked),
        (found.airflow_lost, comparison.airflow_lost),
        (today.eer_share, toll.eer_share),
        (today.capacity_lost, toll.capacity_lost),
        (today.power_added, toll.power_added),
    ):
        assert (here.low, here.value, here.high) == pytest.approx((told.low, told.value, told.high), rel=1e-6)
    there = {row.name: row for row in match.rows}
    for row in comparison.rows:
        assert row.clean == pytest.approx(there[row.name].clean, rel=1e-9)
        assert row.standardised == pytest.approx(there[row.name].standardised, rel=1e-6)
    assert comparison.clean_misfit == pytest.approx(match.clean_chi_square, rel=1e-6)


@pytest.mark.parametrize("share", [0.0, 0.15])
def test_proof_is_the_odds_that_the_match_weighs(share):
    """Of a fouled condenser to a clean unit: a blocked face with the prior of both of its forms."""
    visits = clean_visit(DESCRIPTION), found_visit(Faults(condenser_blocked=share))
    case = Case("SI", DESCRIPTION, visits, METERS)
    baseline = fit_baseline(DESCRIPTION, [visits[0]], METERS)
    comparison, match = compare_visit(case, visits[1], baseline), match_visit(case, visits[1])
    priors = {one.name: one.prior for one in match.probabilities}
    face, dust = FOULED_CONDENSER
    both = (priors[face] + priors[dust]) / priors[face]
    odds = both * match.probability(face) / match.probability(CLEAN)
    assert comparison.proof / (1.0 - comparison.proof) == pytest.approx(odds, rel=1e-3)
    assert not comparison.proves_fouling


def test_level_interval_is_inside_its_range():
    blocked = compared(0.75).blocked
    assert 0 <= blocked.low <= blocked.value <= blocked.high <= fault_of("condenser_blocked").largest
    assert np.isfinite([blocked.low, blocked.value, blocked.high]).all()
