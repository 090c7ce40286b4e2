"""Which fault readings match: made faults are named, look-alikes not guessed between, clean stays clean.

Readings come from a unit that differs from the fitted one; meters are good ones. Published checks: NISTIR
7350 (Kim, Payne, Domanski, Hermes 2006), fault-free tests; signs of Rossi and Braun 1997 as reprinted.
"""

import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from calibration.case.meters import Instruments
from calibration.case.records import Case, UnitDescription, Visit
from calibration.clean_fit.baseline import fit_baseline
from calibration.diagnosis.hypotheses import CLEAN, NONE
from calibration.diagnosis.match import claimed, match_visit
from calibration.studies.laboratory import laboratory_rows, laboratory_visit
from model.cycle.faults import FAULTS, Faults
from model.properties.refrigerant import refrigerant
from tests.calibration.made_visits import DESCRIPTION
from tests.calibration.matched_visits import (
    METERS,
    ORIFICE,
    baseline,
    case_of,
    clean_visit,
    found_visit,
    matched,
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
COIL = {"condenser_blocked", "condenser_dust"}


def test_every_fault_has_a_level_to_be_found_at():
    assert set(LEVELS) == {fault.name for fault in FAULTS}


@pytest.mark.parametrize("name", LEVELS)
def test_a_made_fault_is_named(name):
    match = matched(name, LEVELS[name])
    assert set(match.group) == (COIL if name in COIL else {name})
    assert match.group_probability > 0.9
    assert match.verdict == ("look-alikes" if name in COIL else "cause")
    assert (match.fouled_condenser > 0.9) == (name in COIL)
    found = next(one for one in match.explained if one.name == name)
    level = found.levels[0].level
    assert level.low - 0.05 <= LEVELS[name] <= level.high + 0.05
    assert match.chi_square < match.clean_chi_square


def test_a_clean_unit_stays_clean_in_other_weather():
    match = matched("undercharge", 0.0)
    assert match.verdict == "clean"
    assert match.first == CLEAN
    assert match.probability(CLEAN) > 0.6


@pytest.mark.parametrize("level", [0.0, 0.5])
def test_probabilities_add_to_one_and_fall(level):
    match = matched("undercharge", level)
    shares = [one.probability for one in match.probabilities]
    assert sum(shares) == pytest.approx(1.0)
    assert shares == sorted(shares, reverse=True)
    assert sum(one.prior for one in match.probabilities) == pytest.approx(1.0)
    assert {one.name for one in match.probabilities} == {CLEAN, NONE, *(fault.name for fault in FAULTS)}


def test_a_fouled_coil_is_not_guessed_at_but_looked_at():
    match = matched("condenser_blocked", LEVELS["condenser_blocked"])
    assert any("fins" in act for act in match.acts)


def test_gas_and_charge_are_told_apart_by_the_pressure_with_the_unit_off():
    gone = dict.fromkeys(
        (
            "suction_temperature",
            "discharge_temperature",
            "outdoor_power",
            "outdoor_fan_power",
            "discharge_pressure",
        )
    )
    visit = replace(found_visit(Faults(noncondensable=1.5e5)), **gone, condenser_leaving_db=None)
    still_open = match_visit(case_of(visit), visit, baseline=baseline(DESCRIPTION))
    told = next(one for one in still_open.suggestions[:2] if one.reading == "standing_pressure")
    assert not told.again
    assert "non_condensables" in told.separates

    idle = 299.15
    saturated = float(refrigerant("R410A").bubble_pressure(idle))
    read = replace(visit, standing_temperature=idle, standing_pressure=saturated + 0.14e6)
    settled = match_visit(case_of(read), read, baseline=baseline(DESCRIPTION))
    assert settled.probability("non_condensables") > still_open.probability("non_condensables")
    assert settled.verdict == "cause"
    assert settled.first == "non_condensables"
    dry = replace(visit, standing_temperature=idle, standing_pressure=saturated)
    without = match_visit(case_of(dry), dry, baseline=baseline(DESCRIPTION))
    assert without.probability("non_condensables") < still_open.probability("non_condensables")


def test_a_gross_reading_error_is_none_of_these():
    visit = found_visit(Faults())
    visit = replace(visit, liquid_temperature=visit.liquid_temperature - 9.0, supply_db=visit.supply_db + 6.0)
    match = match_visit(case_of(visit), visit, baseline=baseline(DESCRIPTION))
    assert match.verdict == "none of these"


def test_without_a_clean_visit_less_is_certain_and_a_clean_unit_is_not_accused():
    visit = found_visit(Faults())
    alone = match_visit(Case("SI", DESCRIPTION, (visit,), METERS), visit)
    assert alone.clean_visits == ()
    assert alone.verdict in ("clean", "undecided")
    assert alone.probability(CLEAN) < matched("undercharge", 0.0).probability(CLEAN)
    assert sum(one.probability for one in alone.probabilities) == pytest.approx(1.0)


def test_a_clean_visit_is_held_against_the_other_clean_ones():
    other = replace(found_visit(Faults()), label="summer", coil="clean")
    match = match_visit(case_of(other), other)
    assert match.clean_visits == ("spring",)
    assert match.verdict == "clean"


def test_a_visit_without_a_reading_is_refused():
    bare = replace(clean_visit(DESCRIPTION), **dict.fromkeys(clean_visit(DESCRIPTION).readings()))
    bare = replace(bare, label="bare", coil="as found", outdoor_db=305.0, return_db=298.0)
    with pytest.raises(ValueError, match="visit bare: has no pressure"):
        match_visit(case_of(bare), bare, baseline=baseline(DESCRIPTION))


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
    match = match_visit(Case("SI", unit, (visit,), METERS), visit)
    assert match.verdict == "look-alikes"
    assert match.fouled_condenser > 0.4
    assert all(np.isfinite(row.clean) and row.weight is not None for row in match.rows if not row.derived)


def test_a_pair_of_faults_is_found_as_a_pair():
    visit = found_visit(Faults(condenser_blocked=0.5, charge_change=-0.22))
    match = match_visit(case_of(visit), visit, baseline=baseline(DESCRIPTION), pairs=True)
    with_charge = [one.name for one in match.probabilities if one.name.endswith(" and undercharge")]
    assert sum(match.probability(name) for name in with_charge if "condenser" in name) > 0.8
    assert match.explained[0].name in with_charge
    assert len(match.explained[0].levels) == 2
    assert sum(one.probability for one in match.probabilities) == pytest.approx(1.0)


def test_readings_of_a_unit_that_could_not_run_are_explained_by_nothing():
    description = replace(DESCRIPTION, high_pressure_limit=1.6e6)
    visit = found_visit(Faults(), DESCRIPTION)
    match = match_visit(case_of(visit, description), visit, baseline=fit_baseline(description, ()))
    assert (match.verdict, match.first, match.probability(NONE)) == ("none of these", NONE, 1.0)


def test_a_group_is_claimed_by_its_sum():
    names = (CLEAN, "a", "b", NONE)
    assert claimed(np.array([0.25, 0.4, 0.3, 0.05]), names, ("a", "b"))
    assert not claimed(np.array([0.25, 0.4, 0.3, 0.05]), names, ("a",))
    assert not claimed(np.array([0.4, 0.3, 0.25, 0.05]), names, ("a", "b")), "barely likelier than clean"


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
    """NISTIR 7350: baseline from each test, the next but one as found; none of these pairs claims a fault."""
    visits = [laboratory_visit(row) for row in laboratory_rows()]
    unit = UnitDescription("NIST laboratory split unit", "R410A", "TXV", 8792.0)
    for number, clean in enumerate(visits):
        found = replace(visits[(number + 2) % len(visits)], coil="as found")
        match = match_visit(Case("SI", unit, (clean, found), LABORATORY_METERS), found)
        assert max(one.probability for one in match.probabilities if one.name not in (CLEAN, NONE)) < 0.5


SIGNS = {
    "undercharge": ("undercharge", 0.5),
    "compressor valve leakage": ("compressor_leakage", 0.4),
    "liquid_line_restriction": ("liquid_line_restriction", 0.2),
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
    name, level = SIGNS[row["fault"]]
    match = matched(name, level, ORIFICE)
    assert name in match.group
    assert match.group_probability > 0.9
    expected = {one.name: one for one in match.rows}
    for column, key in COLUMNS.items():
        one = expected[key]
        shown = one.first if match.explained[0].name == name else one.second
        assert np.sign(shown - one.clean) == (1.0 if row[column] == "+" else -1.0), column
