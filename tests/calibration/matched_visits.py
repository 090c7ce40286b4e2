"""Visits to an invented unit with known faults, judged once for all tests that look at them."""

from dataclasses import replace
from functools import cache

from calibration.case.meters import Instruments
from calibration.case.records import Case, UnitDescription, Visit
from calibration.clean_fit.baseline import Baseline, fit_baseline
from calibration.diagnosis.finding import Finding, Judgement, find, judge
from calibration.diagnosis.hypotheses import hypotheses
from calibration.diagnosis.posterior import Posterior, posterior_of
from calibration.diagnosis.scene import scene
from model.cycle.faults import HEALTHY, Faults, at_level, fault_of
from tests.calibration.made_visits import DESCRIPTION, true_unit, visit_of

METERS = Instruments(
    suction_gauge=7e3,
    liquid_gauge=14e3,
    discharge_gauge=14e3,
    pipe_thermometer=0.3,
    air_thermometer=0.25,
    wet_bulb=0.25,
    airflow=0.03,
    wattmeter=0.008,
)
ORIFICE = replace(DESCRIPTION, expansion="fixed orifice", refrigerant="R22", rated_eer=3.0)
FOUND_WEATHER = {"outdoor": 307.15, "returned": 299.15, "wet_bulb": 291.65}


@cache
def clean_visit(description: UnitDescription) -> Visit:
    return visit_of(true_unit(description), "spring")


@cache
def baseline(description: UnitDescription) -> Baseline:
    return fit_baseline(description, [clean_visit(description)], METERS)


def faults_of(name: str, level: float) -> Faults:
    return at_level(fault_of(name), level) if level else HEALTHY


def found_visit(faults: Faults, description: UnitDescription = DESCRIPTION) -> Visit:
    """What perfect meters show at an as-found visit, the measured airflow with what the faults take of it."""
    visit = visit_of(true_unit(description), "found", faults=faults, coil="as found", **FOUND_WEATHER)
    return replace(visit, indoor_airflow=visit.indoor_airflow * (1.0 - float(faults.evaporator_airflow_lost)))


def case_of(visit: Visit, description: UnitDescription = DESCRIPTION) -> Case:
    return Case("SI", description, (clean_visit(description), visit), METERS)


@cache
def found(key: str, level: float, description: UnitDescription = DESCRIPTION) -> Finding:
    """Finding of a visit with one fault; level 0 for a unit without any."""
    visit = found_visit(faults_of(key, level), description)
    return find(case_of(visit, description), visit, baseline=baseline(description))


def finding_of(visit: Visit) -> Finding:
    return find(case_of(visit), visit, baseline=baseline(DESCRIPTION))


def judgement_of(visit: Visit) -> Judgement:
    """What is wrong by a visit, its cost not worked out, which is quicker."""
    return judge(case_of(visit), visit, baseline=baseline(DESCRIPTION))


def judged(visit: Visit) -> Posterior:
    """The joint posterior alone, which is quicker."""
    place = scene(baseline(DESCRIPTION), [clean_visit(DESCRIPTION)], visit, METERS)
    return posterior_of(place, hypotheses(visit.called_for, visit.coil == "clean"))


@cache
def half_blocked() -> Posterior:
    """Of a visit with half of the face blocked."""
    return judged(found_visit(Faults(condenser_blocked=0.48)))
