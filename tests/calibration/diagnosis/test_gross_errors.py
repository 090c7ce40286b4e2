"""Gross errors: a sound visit has no suspect, a bad reading is named, a real fault is not called one.

Visits are made from the model of a known unit (`made_visits`), so what is true is known. All is invented.
"""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from calibration.case.meters import standard_accuracies
from calibration.case.records import Case, Visit
from calibration.case.units import DEGREE_F, PSI
from calibration.clean_fit.baseline import baseline_without, fit_baseline
from calibration.clean_fit.observation import READINGS_OF_POINT, SETTINGS, UNREAD_HUMIDITY_SPREAD
from calibration.diagnosis.finding import SUSPECT
from calibration.diagnosis.gross_errors import HIGH, HUNTING_VALVE, PRIORS, gross_errors, hottest_dry_bulb
from calibration.diagnosis.hypotheses import hypotheses
from calibration.diagnosis.posterior import posterior_of
from calibration.diagnosis.scene import scene
from calibration.diagnosis.visit_model import STANDING
from model.cycle.faults import Faults
from model.properties import moist_air
from tests.calibration.made_visits import DESCRIPTION, FINE_METERS, true_unit, visit_of

METERS = replace(FINE_METERS, airflow=0.02, wattmeter=0.006)
UNIT = true_unit()
CLEAN = visit_of(UNIT, "clean")
CASE = Case("SI", DESCRIPTION, (CLEAN,), METERS)
BASELINE = fit_baseline(DESCRIPTION, [CLEAN], METERS)


def judged(visit: Visit, case: Case = CASE, baseline=BASELINE):
    """Posterior of a visit, worked out once where it is one of the case above."""
    alike = case is CASE and baseline is BASELINE
    return judged_by_the_case(visit) if alike else judged_anew(visit, case, baseline)


@cache
def judged_by_the_case(visit: Visit):
    return judged_anew(visit, CASE, BASELINE)


def judged_anew(visit: Visit, case: Case, baseline):
    without = baseline_without(case, visit, baseline)
    clean = [one for one in case.clean_visits if one.label in without.visits]
    place = scene(without, clean, visit, case.instruments)
    return posterior_of(place, hypotheses(after_cleaning=visit.coil == "clean"))


def chances(visit: Visit, **known) -> dict[str, float]:
    found = judged(visit, **known)
    pairs = zip(found.errors.names, found.supported(), strict=True)
    return {name: one.probability for name, one in pairs if name != HUNTING_VALVE}


def suspects(visit: Visit, **known) -> list[str]:
    return [name for name, chance in chances(visit, **known).items() if chance >= SUSPECT]


def other_day(**changes) -> Visit:
    visit = visit_of(UNIT, "other day", outdoor=308.15, returned=299.15, wet_bulb=291.65)
    return replace(visit, **{name: value(getattr(visit, name)) for name, value in changes.items()})


def found_with(faults: Faults, **changes) -> Visit:
    visit = visit_of(UNIT, "found", faults=faults, coil="as found", outdoor=307.15, returned=298.65)
    return replace(visit, **{name: value(getattr(visit, name)) for name, value in changes.items()})


def test_every_reading_has_a_prior():
    assert set(READINGS_OF_POINT) | set(SETTINGS) | {STANDING} == set(PRIORS)
    assert all(0.0 < prior < 0.1 for prior in PRIORS.values())
    assert set(HIGH) <= set(PRIORS)


def test_errors_are_those_of_what_was_read():
    place = scene(BASELINE, [CLEAN], other_day(return_wb=lambda _: None), METERS)
    errors = gross_errors(place)
    assert "return_rh" not in errors.names, "an assumed humidity is nobody's reading"
    assert HUNTING_VALVE in errors.names
    assert np.exp(errors.none_prior) == pytest.approx(np.prod(1.0 / (1.0 + errors.odds)))


def test_a_setting_moves_all_rows_and_a_reading_its_own():
    place = scene(BASELINE, [CLEAN], other_day(), METERS)
    errors = gross_errors(place)
    found = judged(other_day())
    taken = place.readings
    moved = errors.directions(taken, found.explanations[0].slopes[:, taken])[0]
    supply = moved[:, errors.names.index("supply_db")]
    assert np.flatnonzero(supply).tolist() == [
        int(np.flatnonzero(taken == place.names.index("supply_db"))[0])
    ]
    assert np.count_nonzero(moved[:, errors.names.index("outdoor_db")]) > 3


def test_a_wrong_return_air_lies_between_bone_dry_and_saturated():
    visit = other_day()
    errors = gross_errors(scene(BASELINE, [CLEAN], visit, METERS))
    for name, other in (("return_wb", "return_db"), ("return_db", "return_wb")):
        number = errors.names.index(name)
        low, high = errors.ends[number] * errors.spread[number] + getattr(visit, name)
        assert low < getattr(visit, name) < high
        saturated = high if name == "return_wb" else low
        assert saturated == pytest.approx(getattr(visit, other), abs=1.01 * errors.spread[number])
    bone_dry = hottest_dry_bulb(visit.return_wb, visit.ambient_pressure)
    assert moist_air.wet_bulb(bone_dry, 0.0, visit.ambient_pressure) == pytest.approx(
        visit.return_wb, abs=0.01
    )
    outdoor = errors.names.index("outdoor_db")
    assert np.all(np.isinf(errors.ends[outdoor]))


def test_a_sound_visit_has_no_suspect():
    assert suspects(other_day()) == []


@pytest.mark.parametrize(
    ("reading", "change"),
    [
        ("suction_pressure", lambda value: value + 15 * PSI),
        ("liquid_pressure", lambda value: value + 30 * PSI),
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
    visit = other_day(**{reading: change})
    found = judged(visit)
    number = found.errors.names.index(reading)
    assert suspects(visit) == [reading]
    one = found.supported()[number]
    size = one.error * found.errors.spread[number]
    truth, read = getattr(other_day(), reading), getattr(visit, reading)
    side = -1.0 if found.errors.rows[number] >= 0 else 1.0
    supported = read * np.exp(-size) if reading == "indoor_airflow" else read + side * size
    spread = one.spread * found.errors.spread[number] * (read if reading == "indoor_airflow" else 1.0)
    assert abs(supported - truth) < 2.6 * spread


def test_two_bad_readings_are_both_named():
    visit = other_day(outdoor_power=lambda value: 0.5 * value, liquid_temperature=lambda value: value - 6)
    assert set(suspects(visit)) == {"outdoor_power", "liquid_temperature"}


@pytest.mark.parametrize(
    ("faults", "keys"),
    [
        (Faults(condenser_blocked=0.6), {"condenser_blocked", "condenser_dust"}),
        (Faults(charge_change=-0.25), {"undercharge"}),
        (Faults(noncondensable=3e5), {"non_condensables"}),
        (Faults(compressor_leakage=0.2), {"compressor_leakage"}),
        (Faults(liquid_restriction=1.5), {"liquid_line_restriction"}),
    ],
)
def test_a_real_fault_is_not_called_a_bad_reading(faults, keys):
    visit = found_with(faults)
    found = judged(visit)
    assert suspects(visit) == []
    assert found.explanations[int(np.argmax(found.shares))].hypothesis.key in keys


def test_a_bad_reading_is_separated_from_the_fault_beside_it():
    visit = found_with(Faults(condenser_blocked=0.6), supply_wb=lambda value: value + 3.0)
    assert suspects(visit) == ["supply_wb"]
    found = judged(visit)
    shares = [
        s
        for s, one in zip(found.shares, found.explanations, strict=True)
        if one.hypothesis.has("condenser_blocked", "condenser_dust")
    ]
    assert sum(shares) > 0.9


def test_noise_within_the_meters_limits_seldom_makes_a_suspect():
    draw = np.random.default_rng(4)
    alarms = 0
    for _ in range(15):
        visit = other_day()
        spreads = standard_accuracies(visit.readings(), METERS)
        noisy = {
            name: value + spreads[name] * draw.standard_normal() for name, value in visit.readings().items()
        }
        alarms += bool(suspects(replace(visit, **noisy)))
    assert alarms <= 1


def test_a_clean_visit_does_not_vouch_for_itself():
    bad = replace(CLEAN, outdoor_power=0.5 * CLEAN.outdoor_power)
    case = replace(CASE, visits=(bad, other_day()))
    assert suspects(bad, case=case, baseline=fit_baseline(DESCRIPTION, case.visits, METERS)) == [
        "outdoor_power"
    ]


def test_a_humidity_that_was_read_can_be_wrong_however_coarse_its_meter():
    coarse = replace(CASE, instruments=replace(METERS, relative_humidity=UNREAD_HUMIDITY_SPREAD))
    visit = other_day(return_wb=lambda _: None, return_rh=lambda _: 0.5)
    assert "return_rh" in chances(visit, case=coarse)


def test_the_nameplate_alone_judges_too_but_finds_less():
    case = replace(CASE, visits=())
    bad = other_day(outdoor_power=lambda value: 0.5 * value)
    known = {"case": case, "baseline": fit_baseline(DESCRIPTION, (), METERS)}
    assert chances(bad, **known)["outdoor_power"] > 0.5
    assert suspects(other_day(), **known) == []
