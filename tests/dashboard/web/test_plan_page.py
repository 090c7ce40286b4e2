"""The crew's plan on its page: made from the table of all units, as a calendar and as files."""

import datetime as dt
from inspect import signature
from io import BytesIO
from typing import get_type_hints
from zipfile import ZipFile

import pytest

from calibration.fleet.crew_plan import (
    LONGEST_DAY,
    LONGEST_WAY,
    MOST_CREWS,
    MOST_WEEKS,
    SHORTEST_DAY,
    SHORTEST_JOB,
    Terms,
    crew_plan,
)
from calibration.fleet.jobs_to_plan import HOURS
from calibration.fleet.journal import write_table
from dashboard.report.work_order import orders_file, write_orders
from dashboard.results.fleet.plan import (
    NO_JOBS,
    calendar_weeks,
    not_planned_rows,
    plan_sentences,
    visit_words,
    visits_by_week,
)
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
    labels = [button.label for button in planned.get("download_button")]
    assert labels == ["Plan as CSV", "Calendar file", f"{len(made.visits)} work orders, ZIP of PDFs"]


def test_another_number_of_crews_makes_another_plan(planned):
    other = planned.number_input(key="plan_crews").set_value(3).run()
    made = crew_plan(made_rows(30), Terms(MONDAY, 13, 3))
    assert plan_sentences(made)[0] in texts(other)


def test_every_option_of_the_command_is_on_the_page(planned):
    rows = made_rows(30)
    off, by = [dt.date(2026, 8, 17), dt.date(2026, 8, 19)], dt.date(2026, 8, 25)
    left = next(row for row in rows if row["advice"] == "leave")
    name = f"{left['site']}, {left['unit']}"
    page = planned
    page.number_input(key="plan_hours").set_value(6.0)
    page.number_input(key="plan_call_out").set_value(35.0)
    page.number_input(key="plan_travel").set_value(1.0)
    for work, hours in (("clean", 2.0), ("measure", 0.75), ("repair", 4.0)):
        page.number_input(key=f"plan_{work}").set_value(hours)
    page.multiselect(key="plan_off").set_value(off)
    page = page.multiselect(key="plan_must").set_value([name]).run()
    page = page.date_input(key=f"plan_by_{name}").set_value(by).run()
    assert not page.exception
    jobs, must = {"clean": 2.0, "measure": 0.75, "repair": 4.0}, {(left["site"], left["unit"]): by}
    made = crew_plan(rows, Terms(MONDAY, 13, 1, 6.0, 1.0, 35.0, jobs, off, must))
    for sentence in plan_sentences(made):
        assert sentence in texts(page)
    assert f"{left['unit']}: clean the condenser coil" in raw(page)
    (done,) = [v.date for v in made.visits if left["unit"] in {made.jobs[job].unit for job in v.jobs}]
    assert done <= by


def test_days_off_stay_when_the_weeks_move(planned):
    page = planned.multiselect(key="plan_off").set_value([dt.date(2026, 8, 18)]).run()
    page = page.date_input(key="plan_from").set_value(dt.date(2026, 9, 7)).run()
    assert not page.exception
    assert page.multiselect(key="plan_off").value == [dt.date(2026, 8, 18)]


def test_the_page_takes_what_the_command_takes():
    from dashboard.commands.plan import plan

    hints = get_type_hints(plan, include_extras=True)
    options = {name: hints[name].__metadata__[0] for name in hints if hasattr(hints[name], "__metadata__")}
    limits = {
        "crews": (1, MOST_CREWS),
        "weeks": (1, MOST_WEEKS),
        "hours": (SHORTEST_DAY, LONGEST_DAY),
        "travel": (0.0, LONGEST_WAY),
        **{f"{work}_hours": (SHORTEST_JOB, LONGEST_DAY) for work in HOURS},
    }
    assert {name: (options[name].min, options[name].max) for name in limits} == limits
    usual = {name: one.default for name, one in signature(plan).parameters.items()}
    assert {work: usual[f"{work}_hours"] for work in HOURS} == HOURS
    terms = Terms(MONDAY, 1, 1)
    assert (usual["hours"], usual["travel"], usual["call_out"]) == (
        terms.hours_a_day,
        terms.travel_hours,
        terms.call_out,
    )


def test_a_work_order_of_one_visit_of_a_week_and_of_all(planned, tmp_path):
    made = crew_plan(made_rows(30), Terms(MONDAY, 13, 1))
    weeks = visits_by_week(made)
    monday, visits = next((day, some) for day, some in weeks.items() if len(some) > 1)
    page = planned.selectbox(key="orders_week").set_value(f"Week of {monday}").run()
    assert page.get("download_button")[-1].label == f"{len(visits)} work orders, ZIP of PDFs"
    page = page.selectbox(key=f"orders_visit_Week of {monday}").set_value(visit_words(visits[1])).run()
    assert page.get("download_button")[-1].label == "Work order, PDF"
    write_orders(made, tmp_path)
    with ZipFile(BytesIO(orders_file(made, visits))) as week:
        for name in week.namelist():
            assert week.read(name) == (tmp_path / name).read_bytes()
        assert orders_file(made, visits[1:2]) == week.read(week.namelist()[1])
    assert orders_file(made, visits) == orders_file(made, tuple(visits))
    assert len(ZipFile(BytesIO(orders_file(made, made.visits))).namelist()) == len(made.visits)


def test_what_is_not_planned_is_listed_and_nothing_to_do_is_said(app, folder):  # noqa: F811
    folder.mkdir()
    rows = made_rows(12)
    dear = [row | {"price": 5000.0} for row in rows]
    write_table(folder / RESULTS, dear)
    page = app.switch_page(PLAN.file).run()
    assert not page.exception
    made = crew_plan(dear, Terms(MONDAY, 13, 1))
    assert f"Jobs that are not planned ({len(not_planned_rows(made))})" in [e.label for e in page.expander]
    write_table(folder / RESULTS, [row | {"advice": "leave", "verdict": "no_fault"} for row in rows])
    page = app.switch_page(PLAN.file).run()
    assert not page.exception
    assert NO_JOBS in texts(page)
    assert not page.get("download_button")


def test_a_plan_of_nothing_says_so_in_one_sentence():
    dear = [row | {"price": 5000.0, "left_cost": 0.0} for row in made_rows(12)]
    (said,) = plan_sentences(crew_plan(dear[:1], Terms(MONDAY, 2, 1)))
    assert said.startswith("The only job does not save its cost and call-out in these weeks")
    (said,) = plan_sentences(crew_plan(dear, Terms(MONDAY, 2, 1)))
    assert said.startswith("None of the ")


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
