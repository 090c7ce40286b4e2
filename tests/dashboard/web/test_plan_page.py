"""The crew's plan on its page: made from the table of all units, as a calendar and as files."""

import datetime as dt

import pytest

from calibration.fleet.crew_plan import Terms, crew_plan
from calibration.fleet.journal import write_table
from dashboard.results.fleet.plan import calendar_weeks, plan_sentences
from dashboard.web.fleet_page import RESULTS
from dashboard.web.page_list import PLAN, UNITS
from tests.dashboard.web.test_app import app, folder, raw, texts  # noqa: F401
from tests.made_results import made_rows

MONDAY = dt.date(2026, 8, 17)


@pytest.fixture
def planned(app, folder):  # noqa: F811
    folder.mkdir()
    write_table(folder / RESULTS, made_rows(30))
    return app.switch_page(PLAN.file).run()


def test_without_results_the_page_says_what_to_do_first(app):  # noqa: F811
    page = app.switch_page(PLAN.file).run()
    assert not page.exception
    assert "first work out all units" in texts(page)


def test_the_page_has_the_plan_of_the_command(planned):
    assert not planned.exception
    made = crew_plan(made_rows(30), Terms(MONDAY, 13, 1))
    assert planned.date_input(key="plan_from").value == MONDAY
    for sentence in plan_sentences(made):
        assert sentence in texts(planned)
    for visit in made.visits:
        assert f"<b>{visit.site}</b>" in raw(planned)
        assert f"{visit.date:%a} {visit.date.day}" in raw(planned)
    assert len(planned.get("download_button")) == 2


def test_another_number_of_crews_makes_another_plan(planned):
    other = planned.number_input(key="plan_crews").set_value(3).run()
    made = crew_plan(made_rows(30), Terms(MONDAY, 13, 3))
    assert plan_sentences(made)[0] in texts(other)


def test_weeks_of_the_calendar_have_five_days_and_every_visit_once():
    made = crew_plan(made_rows(60), Terms(MONDAY, 8, 2, holidays={dt.date(2026, 8, 18)}))
    weeks = calendar_weeks(made)
    assert all([day.date.weekday() for day in week] == [0, 1, 2, 3, 4] for week in weeks)
    shown = [
        (day.date, visit.site, len(visit.lines)) for week in weeks for day in week for visit in day.visits
    ]
    assert sorted(shown) == sorted((one.date, one.site, len(one.jobs)) for one in made.visits)
    assert not any(day.visits for week in weeks for day in week if day.date == dt.date(2026, 8, 18))


def test_a_plan_on_days_gains_no_less_than_simple_ones():
    for crews in (1, 2):
        made = crew_plan(made_rows(60), Terms(MONDAY, 8, crews))
        assert made.plan.value >= max(made.worst_first.value, made.by_route.value)
        assert made.plan.value <= made.plan.bound + 1e-6


@pytest.mark.parametrize("question", [PLAN, UNITS], ids=["plan", "units"])
@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"something,else\n1,2\n",
        b"unit,site,advice,saving_by_week,as_of,price\n<b>A</b>,<i>x</i>,now,9e9;x,yesterday,low\n",
        b"unit,site,advice,saving_by_week,as_of,price\n<b>A</b>,<i>x</i>,now,900;800,yesterday,10\n",
        b"unit,site,advice,saving_by_week,as_of,price,money_year,currency\nA,x,now,900,,10,5,USD\n",
    ],
    ids=["empty", "another table", "no numbers", "no day", "no range"],
)
def test_a_table_that_somebody_changed_breaks_no_page(app, folder, question, content):  # noqa: F811
    folder.mkdir()
    (folder / RESULTS).write_bytes(content)
    page = app.switch_page(question.file).run()
    assert not page.exception
    assert "<b>A</b>" not in raw(page)
