"""First step of a fleet: who is fitted for the others, and what a unit's key says of them."""

from dataclasses import replace

import numpy as np

from calibration.case.file import case_text
from calibration.clean_fit.kept_fit import visits_entry
from calibration.clean_fit.parameter_prior import PLAIN
from calibration.fleet.clean_units import (
    ALIKE,
    CLEAN_ONLY,
    clean_jobs,
    clean_units,
    job_alike,
    learnt_clean,
)
from calibration.fleet.jobs import Job
from calibration.fleet.unit_row import ALONE, row_of_job
from tests.calibration.demo_in_bins import DEMO, baseline
from tests.calibration.two_circuits import two_circuits


def job(name, case):
    text = case_text(replace(case, unit=replace(case.unit, name=name)))
    return Job(name, "", "", text, "/nowhere", "", f"key of {name}", "")


TWO = two_circuits(DEMO)
NEW = replace(DEMO, visits=DEMO.found_visits)
OTHER = replace(DEMO, unit=replace(DEMO.unit, rated_capacity=2.0 * DEMO.unit.rated_capacity))
JOBS = [job("read", DEMO), job("new", NEW), job("other", OTHER), Job("B", "", "", "text", "", "", "k", "")]


def test_only_units_that_others_can_learn_from_are_fitted_first():
    units = clean_units([*JOBS, job("two", TWO), job("two more", TWO)])
    assert units[0].nameplate == units[1].nameplate != units[2].nameplate
    assert [one.is_read for one in units[:4]] == [True, False, True, False]
    assert [one.nameplate for one in units[3:]] == ["", "", ""]
    (place, first), *rest = clean_jobs([*JOBS, job("two", TWO), job("two more", TWO)], units).items()
    assert (place, first.key, first.clean_only, rest) == (0, f"key of read{CLEAN_ONLY}", True, [])


def test_the_first_step_keeps_what_the_clean_visits_say():
    units = clean_units(JOBS)
    row = row_of_job(clean_jobs(JOBS, units)[0])
    assert row[ALONE] == visits_entry(baseline())
    assert row["unit"] == "read"


def test_a_new_unit_gets_the_others_and_one_alone_keeps_its_key():
    units = clean_units(JOBS)
    jobs = clean_jobs(JOBS, units)
    learnt = learnt_clean(units, jobs, lambda some: [{ALONE: visits_entry(baseline())} for _ in some])
    assert [one is None for one in learnt] == [True, False, True, True]
    assert [job_alike(*pair) is pair[0] for pair in zip(JOBS, learnt, strict=True)] == [
        True,
        False,
        True,
        True,
    ]
    known = job_alike(JOBS[1], learnt[1])
    assert known.key.startswith(f"key of new{ALIKE}")
    np.testing.assert_allclose(known.alike.covariance, learnt[1].prior.covariance, rtol=1e-5, atol=1e-6)
    assert np.trace(known.alike.covariance) < np.trace(PLAIN.covariance)


def test_where_the_others_could_not_be_fitted_nothing_is_learnt():
    units = clean_units(JOBS)
    assert learnt_clean(units, clean_jobs(JOBS, units), lambda some: [{} for _ in some]) == [None] * 4


def test_a_look_with_what_others_say_is_the_fit_with_it():
    units = clean_units(JOBS)
    entry = {ALONE: visits_entry(baseline())}
    learnt = learnt_clean(units, clean_jobs(JOBS, units), lambda some: [entry for _ in some])
    alone, pooled = (row_of_job(one) for one in (JOBS[1], job_alike(JOBS[1], learnt[1])))
    assert pooled["level"] != alone["level"]
    assert pooled["level_high"] - pooled["level_low"] < alone["level_high"] - alone["level_low"]
