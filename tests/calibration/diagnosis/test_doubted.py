"""Doubted readings: a sound visit raises no doubt, a bad reading is named, a real fault is not called one.

Visits are made from the model of a known unit (`made_visits`), so what is true is known. All is invented.
"""

from dataclasses import replace

import numpy as np
import pytest

from calibration.case.meters import standard_accuracies
from calibration.case.records import Case, Visit
from calibration.case.units import DEGREE_F, PSI
from calibration.clean_fit.baseline import fit_baseline
from calibration.clean_fit.observation import READINGS_OF_POINT, SETTINGS, UNREAD_HUMIDITY_SPREAD
from calibration.diagnosis.doubted import CHECKS, CONVINCING, consistency_of
from model.cycle.faults import Faults
from tests.calibration.made_visits import DESCRIPTION, FINE_METERS, true_unit, visit_of

METERS = replace(FINE_METERS, airflow=0.02, wattmeter=0.006)
UNIT = true_unit()
CLEAN = visit_of(UNIT, "clean")
CASE = Case("SI", DESCRIPTION, (CLEAN,), METERS)
BASELINE = fit_baseline(DESCRIPTION, [CLEAN], METERS)


def judged(visit: Visit):
    return consistency_of(CASE, visit, BASELINE)


def other_day(**changes) -> Visit:
    visit = visit_of(UNIT, "other day", outdoor=308.15, returned=299.15, wet_bulb=291.65)
    return replace(visit, **{name: value(getattr(visit, name)) for name, value in changes.items()})


def found_with(faults: Faults, **changes) -> Visit:
    visit = visit_of(UNIT, "found", faults=faults, coil="as found", outdoor=307.15, returned=298.65)
    return replace(visit, **{name: value(getattr(visit, name)) for name, value in changes.items()})


def test_every_reading_that_can_be_doubted_has_a_check():
    assert set(READINGS_OF_POINT) | set(SETTINGS) == set(CHECKS)


def test_a_sound_visit_raises_no_doubt():
    found = judged(other_day())
    assert found.sound
    assert found.misfit < found.readings
    assert found.believed("supply_wb")


@pytest.mark.parametrize(
    ("reading", "change"),
    [
        ("suction_pressure", lambda value: value + 15 * PSI),
        ("liquid_pressure", lambda value: value + 15 * PSI),
        ("supply_wb", lambda value: value + 3 * DEGREE_F),
        ("indoor_airflow", lambda value: 0.75 * value),
        ("outdoor_power", lambda value: 0.5 * value),
        ("indoor_power", lambda value: 0.5 * value),
        ("liquid_temperature", lambda value: value - 8 * DEGREE_F),
        ("suction_temperature", lambda value: value - 8 * DEGREE_F),
        ("outdoor_db", lambda value: value + 10 * DEGREE_F),
    ],
)
def test_a_bad_reading_is_named_and_its_true_value_supported(reading, change):
    found = judged(other_day(**{reading: change}))
    truth = getattr(other_day(), reading)
    assert [doubt.reading for doubt in found.culprits] == [reading]
    culprit = found.culprits[0]
    assert culprit.support > CONVINCING
    assert abs(culprit.supported - truth) < 2.6 * culprit.supported_error
    assert culprit.errors == pytest.approx((culprit.supported - culprit.measured) / culprit.accuracy)


def test_two_bad_readings_are_both_named():
    found = judged(
        other_day(outdoor_power=lambda value: 0.5 * value, liquid_temperature=lambda value: value - 6)
    )
    assert {doubt.reading for doubt in found.culprits} == {"outdoor_power", "liquid_temperature"}


@pytest.mark.parametrize(
    ("faults", "kind"),
    [
        (Faults(condenser_blocked=0.6), "condenser starved of air"),
        (Faults(charge_change=-0.25), "undercharge"),
        (Faults(noncondensable=3e5), "non_condensables"),
        (Faults(compressor_leakage=0.2), "compressor_leakage"),
        (Faults(liquid_restriction=1.5), "liquid_line_restriction"),
    ],
)
def test_a_real_fault_is_not_called_a_bad_reading(faults, kind):
    found = judged(found_with(faults))
    assert found.sound
    assert found.fault == kind
    assert found.chances.sum() == pytest.approx(1.0)


def test_a_bad_reading_is_told_from_the_fault_beside_it():
    found = judged(found_with(Faults(condenser_blocked=0.6), supply_wb=lambda value: value + 3.0))
    assert [doubt.reading for doubt in found.culprits] == ["supply_wb"]
    assert found.fault == "condenser starved of air"


def test_noise_within_the_meters_limits_seldom_raises_doubt():
    draw = np.random.default_rng(4)
    alarms = 0
    for _ in range(30):
        visit = other_day()
        spreads = standard_accuracies(visit.readings(), METERS)
        noisy = {
            name: value + spreads[name] * draw.standard_normal() for name, value in visit.readings().items()
        }
        alarms += not judged(replace(visit, **noisy)).sound
    assert alarms <= 1


def test_a_clean_visit_does_not_vouch_for_itself():
    bad = replace(CLEAN, outdoor_power=0.5 * CLEAN.outdoor_power)
    case = replace(CASE, visits=(bad, other_day()))
    found = consistency_of(case, bad, fit_baseline(DESCRIPTION, case.visits, METERS))
    assert found.culprits[0].reading == "outdoor_power"


def test_an_assumed_humidity_is_nobodys_reading():
    found = judged(other_day(return_wb=lambda _: None))
    assert "return_rh" not in [doubt.reading for doubt in found.doubts]
    assert found.sound


def test_a_humidity_that_was_read_can_be_doubted_however_coarse_its_meter():
    coarse = replace(CASE, instruments=replace(METERS, relative_humidity=UNREAD_HUMIDITY_SPREAD))
    found = consistency_of(coarse, other_day(return_wb=lambda _: None, return_rh=lambda _: 0.5))
    assert "return_rh" in [doubt.reading for doubt in found.doubts]


def test_the_nameplate_alone_judges_too_but_finds_less():
    case = replace(CASE, visits=())
    found = consistency_of(case, other_day(outdoor_power=lambda value: 0.5 * value))
    assert not found.sound
    assert consistency_of(case, other_day()).sound


def test_nothing_to_judge_is_said():
    bare = Visit("bare", "clean", outdoor_db=305.0, return_db=298.0)
    with pytest.raises(
        ValueError, match="visit bare: has no pressure, pipe temperature, supply air or power"
    ):
        judged(bare)
