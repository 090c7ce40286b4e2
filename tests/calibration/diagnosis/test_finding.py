"""One finding a visit: made faults are named, bad readings too, no fault stays no fault, nothing contradicts.

Readings come from a unit that differs from the fitted one; meters are good ones. Published checks: NISTIR
7350 (Kim, Payne, Domanski, Hermes 2006), fault-free tests; signs of Rossi and Braun 1997 as reprinted.
"""

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from calibration.case.file import read_case
from calibration.case.meters import Instruments
from calibration.case.records import Case, UnitDescription, Visit
from calibration.clean_fit.baseline import baseline_of, fit_baseline
from calibration.diagnosis.finding import CLAIM, LISTED, find, judge
from calibration.diagnosis.hypotheses import FOULED_CONDENSER, NO_FAULT, NONE_OF_THESE, TREATMENTS
from calibration.studies.laboratory import laboratory_rows, laboratory_visit
from model.cycle.faults import FAULTS, Faults
from model.properties.refrigerant import refrigerant
from tests.calibration.made_visits import DESCRIPTION
from tests.calibration.matched_visits import (
    METERS,
    ORIFICE,
    case_of,
    clean_visit,
    finding_of,
    found,
    found_visit,
    judgement_of,
)

LEVELS = {
    "condenser_blocked": 0.6,
    "condenser_dust": 0.4,
    "condenser_fan_slow": 0.6,
    "indoor_airflow_low": 0.5,
    "undercharge": 0.5,
    "overcharge": 0.6,
    "non_condensables": 0.6,
    "liquid_line_restriction": 0.3,
    "compressor_leakage": 0.4,
    "valve_overfeed": 0.4,
}


def test_every_fault_has_a_level_to_be_found_at():
    assert set(LEVELS) == {fault.key for fault in FAULTS}


@pytest.mark.parametrize("key", LEVELS)
def test_a_made_fault_is_claimed_by_what_a_person_would_do(key):
    finding = found(key, LEVELS[key])
    assert finding.verdict == "fault"
    assert finding.claimed == (TREATMENTS[key],)
    assert finding.needed(TREATMENTS[key]) > 0.85
    assert not [one for one in finding.suspects if one.is_suspect]
    assert finding.claims_fouling == (key in FOULED_CONDENSER)
    one = next(one for one in finding.explained if one.key == key)
    level = one.levels[0].level
    assert level.low - 0.05 <= LEVELS[key] <= level.high + 0.05
    assert finding.chi_square < finding.no_fault_chi_square


def test_a_unit_without_fault_stays_so_in_other_weather():
    finding = found("undercharge", 0.0)
    assert finding.verdict == "no_fault"
    assert finding.probabilities[0].key == NO_FAULT
    assert finding.suspects == ()
    assert finding.loss.capacity_share.value < 0.02


@pytest.mark.parametrize("level", [0.0, 0.5])
def test_probabilities_add_to_one_and_fall(level):
    finding = found("undercharge", level)
    shares = [one.probability for one in finding.probabilities]
    assert sum(shares) == pytest.approx(1.0)
    assert shares == sorted(shares, reverse=True)
    assert sum(one.prior for one in finding.probabilities) == pytest.approx(1.0)
    singles = {one.key for one in finding.probabilities if "+" not in one.key}
    assert singles == {NO_FAULT, NONE_OF_THESE, *(fault.key for fault in FAULTS)}
    assert [one.probability for one in finding.treatments] == sorted(
        (one.probability for one in finding.treatments), reverse=True
    )


def test_a_treatment_adds_up_the_faults_and_pairs_that_ask_for_it():
    finding = found("condenser_blocked", 0.6)
    together = sum(
        one.probability for one in finding.probabilities if set(one.key.split("+")) & set(FOULED_CONDENSER)
    )
    assert finding.probability_of_fouling == pytest.approx(together)
    assert finding.needed("clean_condenser") == finding.probability_of_fouling


def test_gas_and_charge_are_separated_by_the_pressure_with_the_unit_off():
    gone = dict.fromkeys(
        ("suction_temperature", "discharge_temperature", "outdoor_power", "outdoor_fan_power")
    )
    visit = replace(
        found_visit(Faults(noncondensable=1.5e5)), **gone, discharge_pressure=None, condenser_leaving_db=None
    )
    still_open = finding_of(visit)
    one = next(one for one in still_open.suggestions[:3] if one.reading == "standing_pressure")
    assert not one.again
    assert "non_condensables" in one.separates

    idle = 299.15
    saturated = float(refrigerant("R410A").bubble_pressure(idle))
    read = judgement_of(replace(visit, standing_temperature=idle, standing_pressure=saturated + 0.14e6))
    assert read.needed("evacuate_and_recharge") > still_open.needed("evacuate_and_recharge")
    assert read.claimed == ("evacuate_and_recharge",)
    without = judgement_of(replace(visit, standing_temperature=idle, standing_pressure=saturated))
    assert without.probability("non_condensables") < still_open.probability("non_condensables")


def test_what_fits_nothing_is_none_of_these_and_names_the_nearest():
    """Signs that no fault has: high head with the liquid cold, and a suction gas colder than it can be."""
    visit = found_visit(Faults())
    visit = replace(
        visit,
        liquid_pressure=1.25 * visit.liquid_pressure,
        discharge_pressure=0.85 * visit.discharge_pressure,
        suction_pressure=1.2 * visit.suction_pressure,
        supply_db=visit.supply_db - 5.0,
        outdoor_power=0.8 * visit.outdoor_power,
    )
    finding = finding_of(visit)
    assert finding.verdict == "none_of_these"
    assert finding.nearest in {one.key for one in finding.probabilities} - {NO_FAULT, NONE_OF_THESE}
    assert finding.in_the_way


def test_without_a_clean_visit_less_is_certain_and_no_fault_is_claimed():
    visit = found_visit(Faults())
    alone = judge(Case("SI", DESCRIPTION, (visit,), METERS), visit)
    assert alone.clean_visits == ()
    assert alone.verdict in ("no_fault", "inconclusive")
    assert alone.probability(NO_FAULT) < found("undercharge", 0.0).probability(NO_FAULT)


def test_a_visit_after_cleaning_is_judged_by_the_others_after_cleaning():
    other = replace(found_visit(Faults()), label="summer", coil="clean")
    finding = judge(case_of(other), other)
    assert finding.clean_visits == ("spring",)
    assert finding.verdict == "no_fault"


def test_the_reason_of_a_visit_moves_the_probabilities():
    visit = found_visit(Faults(charge_change=-0.05))
    shares = {
        reason: judgement_of(replace(visit, called_for=reason)).probability(NO_FAULT)
        for reason in ("routine", None, "complaint")
    }
    assert shares["routine"] > shares[None] > shares["complaint"]


def test_a_visit_without_a_reading_is_refused():
    bare = replace(clean_visit(DESCRIPTION), **dict.fromkeys(clean_visit(DESCRIPTION).readings()))
    bare = replace(bare, label="bare", coil="as found", outdoor_db=305.0, return_db=298.0)
    with pytest.raises(ValueError, match="visit bare: has no pressure"):
        finding_of(bare)


def test_readings_far_from_the_nameplate_are_weighed_with_the_slopes_there():
    """An orifice unit of R-22 on a hot day: its likeliest numbers would bring it over its pressure limit."""
    unit = UnitDescription("invented", "R22", "fixed orifice", 17_584.0)
    readings = {
        "suction_pressure": 625_300.0,
        "liquid_pressure": 2_376_600.0,
        "suction_temperature": 289.8,
        "liquid_temperature": 320.9,
    }
    visit = Visit("July", "as found", 309.26, 300.37, return_wb=293.15, **readings)
    finding = find(Case("SI", unit, (visit,), METERS), visit)
    assert finding.verdict in ("fault", "inconclusive")
    assert all(np.isfinite(row.clean) and row.weight is not None for row in finding.rows if not row.derived)


PAIR = Faults(condenser_blocked=0.5, evaporator_airflow_lost=0.3)


def test_a_dirty_coil_with_a_dirty_filter_is_found_without_being_asked_for():
    finding = finding_of(found_visit(PAIR))
    assert finding.verdict == "fault"
    assert set(finding.claimed) == {"clean_condenser", "restore_indoor_airflow"}
    both = finding.explained[0]
    assert both.key in ("condenser_blocked+indoor_airflow_low", "condenser_dust+indoor_airflow_low")
    assert len(both.levels) == 2
    for one in both.levels:
        assert one.level.low < one.level.value < one.level.high
    forms = [finding.present(key) for key in FOULED_CONDENSER]
    assert sum(forms) == pytest.approx(finding.probability_of_fouling)
    assert max(forms) > 0.4


def test_readings_of_a_unit_that_could_not_run_are_explained_by_nothing():
    description = replace(DESCRIPTION, high_pressure_limit=1.6e6)
    visit = found_visit(Faults(), DESCRIPTION)
    finding = judge(case_of(visit, description), visit, baseline=fit_baseline(description, ()))
    assert finding.verdict == "none_of_these"
    assert finding.probability(NONE_OF_THESE) == 1.0


def test_an_overall_loss_lies_between_none_and_that_of_the_fault():
    finding = found("condenser_blocked", 0.6)
    first = finding.explained[0].today.eer_share
    whole = finding.loss.eer_share
    assert whole.low <= whole.value <= whole.high
    assert whole.value == pytest.approx(first.value, rel=0.2)
    assert finding.blocked == finding.fouling.levels[0].amount


# The cases in which two answers used to contradict each other

DEMO = read_case(Path(__file__).parents[3] / "cases" / "demo.toml")
AFTER = DEMO.clean_visits[0]
BEFORE = DEMO.found_visits[0]


@pytest.fixture(scope="module")
def demo_unit():
    return baseline_of(DEMO)


def test_a_liquid_pipe_read_high_on_a_clean_visit_is_left_open_and_repeated(demo_unit):
    visit = replace(AFTER, liquid_temperature=AFTER.liquid_temperature + 4.0)
    finding = find(DEMO, visit, baseline=demo_unit)
    assert finding.verdict == "inconclusive"
    assert finding.suspects[0].reading == "liquid_temperature"
    assert LISTED <= finding.suspects[0].probability < CLAIM
    assert finding.suggestions[0].reading == "liquid_temperature"
    assert finding.suggestions[0].again


def test_an_airflow_read_low_on_a_clean_visit_is_the_meters(demo_unit):
    finding = judge(DEMO, replace(AFTER, indoor_airflow=0.8 * AFTER.indoor_airflow), baseline=demo_unit)
    assert finding.verdict == "no_fault"
    (suspect,) = [one for one in finding.suspects if one.is_suspect]
    assert suspect.reading == "indoor_airflow"
    assert suspect.low < AFTER.indoor_airflow < suspect.high
    assert finding.visit_as_supported.indoor_airflow == suspect.supported
    assert finding.supported_errors == {
        "indoor_airflow": pytest.approx((suspect.high - suspect.low) / (2 * 1.6449), rel=1e-4)
    }


def test_one_absurd_reading_makes_no_innocent_one_suspect(demo_unit):
    finding = find(DEMO, replace(BEFORE, supply_db=333.15), baseline=demo_unit)
    assert [one.reading for one in finding.suspects] == ["supply_db"]
    assert finding.suspects[0].probability > 0.99
    assert finding.suspects[0].low < BEFORE.supply_db < finding.suspects[0].high
    assert finding.claimed == ("clean_condenser",)
    plain = find(DEMO, BEFORE, baseline=demo_unit)
    assert finding.loss.eer_share.value == pytest.approx(plain.loss.eer_share.value, abs=0.01)


def test_high_head_with_much_subcooling_is_no_matter_for_cleaning():
    finding = judgement_of(found_visit(Faults(noncondensable=3.6e5)))
    assert finding.claimed == ("evacuate_and_recharge",)
    assert not finding.shows_condenser
    assert finding.probability_of_fouling < 0.1


def test_mild_undercharge_is_named_or_at_least_nearest():
    finding = finding_of(found_visit(Faults(charge_change=-0.1)))
    assert finding.verdict in ("fault", "inconclusive")
    assert finding.nearest == "undercharge"


def test_a_hunting_valve_with_half_the_air_gone_is_still_a_fouled_coil():
    """The superheat 7 K under the clean visit's, as a rooftop unit in the field showed it."""
    visit = found_visit(Faults(condenser_blocked=0.48))
    visit = replace(visit, suction_temperature=visit.suction_temperature - 6.0)
    finding = judgement_of(visit)
    assert finding.verdict != "none_of_these"
    assert finding.probability_of_fouling > 0.5


LABORATORY_METERS = Instruments(
    suction_gauge=3e3,
    liquid_gauge=6e3,
    discharge_gauge=6e3,
    pipe_thermometer=0.2,
    air_thermometer=0.15,
    dew_point=0.2,
    airflow=0.015,
    wattmeter=0.005,
)


def test_fault_free_tests_of_the_laboratory_claim_no_fault():
    """NISTIR 7350: baseline from each test, the next but one as found; none of these claims a fault."""
    visits = [laboratory_visit(row) for row in laboratory_rows()]
    unit = UnitDescription("NIST laboratory split unit", "R410A", "TXV", 8792.0)
    for number, clean in enumerate(visits):
        visit = replace(visits[(number + 2) % len(visits)], coil="as found")
        finding = judge(Case("SI", unit, (clean, visit), LABORATORY_METERS), visit)
        assert finding.verdict in ("no_fault", "inconclusive"), clean.label
        assert max(one.probability for one in finding.treatments) < 0.5


SIGNS = {
    "undercharge": ("undercharge", 0.5),
    "compressor valve leakage": ("compressor_leakage", 0.4),
    "liquid-line restriction": ("liquid_line_restriction", 0.2),
    "condenser fouling": ("condenser_blocked", 0.55),
    "evaporator fouling": ("indoor_airflow_low", 0.5),
}
COLUMNS = {
    "evaporating_T": "evaporating_temperature",
    "superheat": "superheat",
    "condensing_T": "condensing_temperature",
    "subcooling": "subcooling",
    "discharge_T": "discharge_temperature",
    "condenser_air_rise": "condenser_air_rise",
    "evaporator_air_drop": "air_drop",
}
REFERENCE = Path(__file__).resolve().parents[2] / "reference"


def published_signs():
    with (REFERENCE / "fault_signs_fixed_orifice.csv").open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("row", published_signs(), ids=lambda row: row["fault"])
def test_signs_of_a_fixed_orifice_unit(row):
    """Rossi and Braun 1997: the fault is named, and what it should show lies on the side published."""
    key, level = SIGNS[row["fault"]]
    finding = found(key, level, ORIFICE)
    assert TREATMENTS[key] in finding.claimed
    expected = {one.name: one for one in finding.rows}
    for column, name in COLUMNS.items():
        one = expected[name]
        shown = one.first if finding.explained[0].key == key else one.second
        assert np.sign(shown - one.clean) == (1.0 if row[column] == "+" else -1.0), column
