"""A plan's visits on the days of its crews: hours kept, holidays free, every job once."""

import datetime as dt
from dataclasses import replace

import numpy as np

from calibration.fleet.crew_days import crew_days, working_days
from calibration.fleet.jobs_to_plan import UnitJob
from calibration.fleet.plan import NOT_PLANNED, Crews, plan_of
from tests.calibration.fleet.test_plan import jobs_of

MONDAY = dt.date(2026, 6, 1)


def test_working_days_leave_out_weekends_and_holidays():
    first, second = working_days(MONDAY, 2, {dt.date(2026, 6, 3)})
    assert [day.day for day in first] == [1, 2, 4, 5]
    assert [day.day for day in second] == [8, 9, 10, 11, 12]
    assert [day.day for day in working_days(dt.date(2026, 6, 4), 1)[0]] == [4, 5, 8, 9, 10]


def test_every_planned_job_is_in_one_visit_and_no_day_is_too_long():
    jobs = jobs_of(3, 60, 15, 4)
    days = working_days(MONDAY, 4, {dt.date(2026, 6, 10)})
    crews = Crews(2 * np.array([len(one) for one in days]))
    plan, visits = crew_days(jobs, crews, plan_of(jobs, crews), days, 2)
    placed = sorted(place for visit in visits for place in visit.jobs)
    assert placed == list(np.flatnonzero(plan.weeks != NOT_PLANNED))
    hours = {}
    for visit in visits:
        assert visit.date in days[visit.week]
        assert {jobs[place].site for place in visit.jobs} == {visit.site}
        length = sum(jobs[place].hours for place in visit.jobs) + crews.travel_hours
        hours[visit.date, visit.crew] = hours.get((visit.date, visit.crew), 0.0) + length
    assert max(hours.values()) <= crews.hours_a_day + 1e-9
    assert len(visits) == plan.visits


def test_what_fits_by_hours_and_not_by_days_leaves_the_visit_that_brings_least():
    saving = np.array([300.0])
    jobs = [UnitJob(n, n, "clean", 4.5, 150.0, saving + 10.0 * i) for i, n in enumerate("abc")]
    crews = Crews(np.array([2]), hours_a_day=8.0, travel_hours=0.5)
    plan, visits = crew_days(jobs, crews, plan_of(jobs, crews, gap=0.0), working_days(MONDAY, 1)[:1], 1)
    assert len(visits) == 3  # five days for one crew
    plan, visits = crew_days(
        jobs, crews, plan_of(jobs, crews, gap=0.0), [[MONDAY, MONDAY + dt.timedelta(1)]], 1
    )
    assert [jobs[place].unit for visit in visits for place in visit.jobs] == ["b", "c"]
    assert list(plan.weeks) == [NOT_PLANNED, 0, 0]


def test_a_visit_that_finds_no_day_waits_for_the_next_week():
    saving = np.array([300.0, 290.0])
    jobs = [UnitJob(n, n, "clean", 4.5, 150.0, saving + 10.0 * i) for i, n in enumerate("abc")]
    days = [[MONDAY, MONDAY + dt.timedelta(1)], [MONDAY + dt.timedelta(7)]]
    crews = Crews(np.array([2, 1]), hours_a_day=8.0, travel_hours=0.5)
    planned = replace(plan_of(jobs, crews, gap=0.0), weeks=np.zeros(3, dtype=np.int64))
    plan, visits = crew_days(jobs, crews, planned, days, 1)
    assert sorted(plan.weeks) == [0, 0, 1]
    assert len(visits) == 3
    must = [replace(one, must_by=0) if one.unit != "c" else one for one in jobs]
    plan, _ = crew_days(must, crews, planned, days, 1)
    assert list(plan.weeks) == [0, 0, 1]
