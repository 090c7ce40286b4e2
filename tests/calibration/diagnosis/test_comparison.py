"""As found against clean: a made fouling is found again, a clean coil is not called fouled."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from calibration.case.records import Case
from calibration.clean_fit.baseline import fit_baseline
from calibration.diagnosis.comparison import compare_visit
from calibration.diagnosis.finding import find
from model.cycle.faults import Faults, fault_of
from tests.calibration.made_visits import DESCRIPTION, FINE_METERS, true_unit, visit_of
from tests.calibration.matched_visits import METERS, clean_visit


@cache
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
    assert comparison.finding.blocked.value == pytest.approx(share, abs=0.08)
    assert comparison.finding.blocked.low <= share <= comparison.finding.blocked.high
    # A propeller fan's watts rise with the blocked face, so that they say less of a quarter of it.
    assert comparison.finding.probability_of_fouling > 0.85
    assert comparison.finding.claims_fouling


def test_a_clean_coil_in_other_weather_stays_clean():
    comparison = compared(0.0, outdoor=310.15, returned=300.15, wet_bulb=292.15)
    assert comparison.finding.blocked.low < 0.05
    assert comparison.finding.blocked.value < 0.15
    assert comparison.finding.no_fault_chi_square < comparison.finding.readings
    assert comparison.finding.verdict == "no_fault"


def test_losses_go_the_way_of_dirt():
    loss = compared(0.5).finding.loss
    assert 0.0 < loss.capacity_share.value < loss.eer_share.value
    assert loss.capacity_share.value == pytest.approx(loss.coil_share.value, abs=0.01)
    assert 0.0 < loss.power_share.value < loss.outdoor_power_share.value < loss.eer_share.value
    for one in (loss.capacity_share, loss.eer_share, loss.power_share):
        assert one.low < one.value < one.high


def test_more_blocked_loses_more_air():
    assert compared(0.3).airflow_lost.value < compared(0.6).airflow_lost.value
    lost = compared(0.5).airflow_lost
    assert 0 < lost.low < lost.value < lost.high < compared(0.5).finding.blocked.value


def test_rows_hold_every_reading_and_its_score():
    comparison = compared(0.5)
    by_name = {row.name: row for row in comparison.finding.rows}
    assert {"suction_pressure", "liquid_pressure", "outdoor_power", "supply_wb"} <= set(by_name)
    liquid = by_name["liquid_pressure"]
    assert liquid.measured > liquid.clean
    assert liquid.standardised > 2
    assert abs(liquid.measured - liquid.first) < abs(liquid.measured - liquid.clean)


def test_with_the_nameplate_alone_the_range_is_wider():
    unit = true_unit()
    clean = visit_of(unit)
    found = visit_of(unit, "found", faults=Faults(condenser_blocked=0.45), coil="as found")
    case = Case("SI", DESCRIPTION, (found,), FINE_METERS)
    alone = compare_visit(case, found, fit_baseline(DESCRIPTION)).finding.blocked
    fitted = compare_visit(case, found, fit_baseline(DESCRIPTION, [clean], FINE_METERS)).finding.blocked
    assert alone.high - alone.low > fitted.high - fitted.low


def test_a_clean_visit_is_compared_with_the_other_clean_ones():
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


def test_level_loss_and_suspects_are_those_of_the_finding():
    unit = true_unit()
    visits = visit_of(unit), visit_of(unit, "found", faults=Faults(condenser_blocked=0.5), coil="as found")
    visits = visits[0], replace(visits[1], supply_wb=visits[1].supply_wb + 4.0)
    case = Case("SI", DESCRIPTION, visits, FINE_METERS)
    baseline = fit_baseline(DESCRIPTION, [visits[0]], FINE_METERS)
    finding = find(case, visits[1], baseline=baseline)
    comparison = compare_visit(case, visits[1], baseline, finding)
    assert comparison.finding is finding
    assert comparison.airflow_lost == finding.fouling.levels[0].airflow_lost
    suspect = finding.suspect("supply_wb")
    assert suspect is not None
    assert comparison.measured.net_capacity.value < 0.75 * comparison.supported.net_capacity.value


def test_what_follows_from_a_replaced_reading_is_as_uncertain_as_that():
    visit = replace(clean_visit(DESCRIPTION), label="found", coil="as found")
    visit = replace(visit, suction_temperature=visit.suction_temperature - 9.0)
    case = Case("SI", DESCRIPTION, (clean_visit(DESCRIPTION), visit), METERS)
    compared = compare_visit(case, visit, fit_baseline(DESCRIPTION, [clean_visit(DESCRIPTION)], METERS))
    (suspect,) = [one for one in compared.finding.suspects if one.is_suspect]
    assert suspect.reading == "suction_temperature"
    error = compared.finding.supported_errors["suction_temperature"]
    superheat = compared.supported.superheat
    assert superheat.standard_error >= error > compared.measured.superheat.standard_error
    assert superheat.value == pytest.approx(
        suspect.supported - compared.supported.evaporating_temperature.value
    )


def test_nothing_is_replaced_where_no_reading_is_suspect():
    comparison = compared(0.5)
    assert comparison.measured == comparison.supported


def test_level_range_is_inside_its_range():
    blocked = compared(0.75).finding.blocked
    assert 0 <= blocked.low <= blocked.value <= blocked.high <= fault_of("condenser_blocked").largest
    assert np.isfinite([blocked.low, blocked.value, blocked.high]).all()
