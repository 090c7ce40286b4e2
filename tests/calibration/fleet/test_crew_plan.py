"""A crew's plan from rows: dates that must be kept are kept to the day, days off stay free, odd terms."""

import datetime as dt

import numpy as np
import pytest

from calibration.fleet.crew_plan import Terms, crew_plan
from tests.calibration.fleet.test_jobs_to_plan import row
from tests.made_results import made_rows

MONDAY = dt.date(2026, 6, 1)
LEAVE = {"verdict": "no_fault", "advice": "leave"}


def days_of(made):
    return {made.jobs[place].unit: visit.date for visit in made.visits for place in visit.jobs}


def at(site, unit, **changes):
    return row(unit, **changes) | {"site": site}


def test_a_date_that_must_be_kept_is_kept_to_the_day():
    rows = [at(f"site {n}", f"u{n}") for n in range(12)]  # two visits a day: six days of work
    must = {("site 11", "u11"): dt.date(2026, 6, 2), ("site 10", "u10"): dt.date(2026, 6, 9)}
    found = days_of(crew_plan(rows, Terms(MONDAY, 3, 1, hours_a_day=4.0, call_out=10.0, must=must)))
    assert found["u11"] <= dt.date(2026, 6, 2)
    assert found["u10"] <= dt.date(2026, 6, 9)
    assert len(found) == 12


def test_no_other_way_of_planning_gains_more_than_the_bound():
    rows = [at(f"site {n % 4}", f"u{n}", price=20.0 * n) for n in range(12)]
    rows[0] |= LEAVE | {"saving_by_week": ""}
    must = {("site 0", "u0"): dt.date(2026, 6, 3), ("site 3", "u11"): dt.date(2026, 6, 3)}
    for kept in ({}, must):
        made = crew_plan(rows, Terms(MONDAY, 2, 1, hours_a_day=5.0, must=kept))
        assert made.plan.value >= made.plan.bound * 0.9
        for other in (made.worst_first, made.by_route):
            assert other.value <= made.plan.bound + 1e-6
            assert len(kept) == 0 or other.weeks[0] == 0


def test_days_that_cannot_be_filled_are_planned_with_fewer_hours(monkeypatch):
    rows = made_rows(40)
    for number, one in enumerate(rows):
        one["site"] = f"site {number % 10}"
    terms = Terms(dt.date(2026, 8, 17), 4, 1, hours_a_day=4.5)
    better = crew_plan(rows, terms)
    monkeypatch.setattr("calibration.fleet.crew_plan.TRIES", 0)
    once = crew_plan(rows, terms)
    assert better.plan.gap < 0.01 < once.plan.gap
    assert better.plan.bound == once.plan.bound
    hours = {}
    for visit in better.visits:
        length = sum(better.jobs[place].hours for place in visit.jobs) + terms.travel_hours
        hours[visit.date] = hours.get(visit.date, 0.0) + length
    assert max(hours.values()) <= terms.hours_a_day + 1e-9
    placed = sorted(place for visit in better.visits for place in visit.jobs)
    assert placed == list(np.flatnonzero(better.plan.weeks >= 0))


def test_what_finds_no_day_before_its_date_is_done_the_week_before():
    rows = [at(f"site {n}", f"u{n}", **LEAVE) for n in range(3)]
    must = {(f"site {n}", f"u{n}"): dt.date(2026, 6, 8) for n in range(3)}  # a Monday: one visit fits
    found = days_of(crew_plan(rows, Terms(MONDAY, 2, 1, hours_a_day=3.0, must=must)))
    assert sorted(found) == ["u0", "u1", "u2"]
    assert max(found.values()) <= dt.date(2026, 6, 8)
    off = crew_plan(rows, Terms(MONDAY, 2, 1, hours_a_day=3.0, must=must, holidays=[dt.date(2026, 6, 8)]))
    assert max(days_of(off).values()) <= dt.date(2026, 6, 5)


@pytest.mark.parametrize("day", [MONDAY, dt.date(2026, 6, 2)])
def test_dates_that_cannot_be_kept_are_refused(day):
    rows = [at(f"site {n}", f"u{n}") for n in range(3)]
    must = {(f"site {n}", f"u{n}"): day for n in range(3)}
    terms = Terms(MONDAY, 2, 1, hours_a_day=3.0, must=must)
    with pytest.raises(ValueError, match="must be done: what has to be done by its date does not fit"):
        crew_plan(rows, terms)


def test_a_date_before_the_plan_is_refused():
    terms = Terms(MONDAY, 2, 1, must={("Library", "a"): dt.date(2026, 5, 31)})
    with pytest.raises(ValueError, match="must be done: Library/a by 2026-05-31; a day from 2026-06-01 on"):
        crew_plan([row("a")], terms)


def test_a_plan_that_begins_more_than_a_year_from_the_results_is_refused():
    for day in (dt.date(2020, 1, 1), dt.date(2028, 1, 1)):
        with pytest.raises(ValueError, match=f"first day: is {day}; one within a year of 2026-06-01"):
            crew_plan([row("a"), row("b", as_of="2020-01-01")], Terms(day, 2, 1))
    assert len(crew_plan([row("a")], Terms(dt.date(2025, 9, 1), 2, 1, call_out=10.0)).jobs) == 1


def test_nothing_to_do_and_nothing_but_days_off_are_plans_of_no_visit():
    assert crew_plan([row("a", **LEAVE)], Terms(MONDAY, 2, 1)).visits == ()
    week = [MONDAY + dt.timedelta(days=number) for number in range(7)]
    made = crew_plan([row("a")], Terms(MONDAY, 1, 1, holidays=week))
    assert (made.visits, made.plan.value, made.plan.gap) == ((), 0.0, 0.0)
