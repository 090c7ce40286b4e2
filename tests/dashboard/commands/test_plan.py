"""`coiltoll plan`: weeks of jobs as a table, a calendar and work orders."""

import csv

import pytest
from pypdf import PdfReader

from calibration.fleet.journal import write_table
from tests.calibration.fleet.test_jobs_to_plan import row
from tests.dashboard.command import in_json, printed, refused_in_one_line


@pytest.fixture
def words(tmp_path):
    table = tmp_path / "out.csv"
    rows = [row("a", next_reading="liquid_temperature again"), row("b"), row("c", advice="measure_first")]
    rows.append(row("d", advice="not_a_cleaning_matter", treatments="repair_leak_and_charge", left_cost=90.0))
    write_table(table, rows)
    plan = tmp_path / "plan.csv"
    return ["plan", table, "--crews", 1, "--from", "2026-06-01", "--weeks", 3, "-o", plan, "--call-out", 20]


def test_the_plan_as_a_table(words, tmp_path, capsys):
    said = printed(capsys, *words)
    assert "No plan gains more than" in said
    assert "Site after site would gain" in said
    rows = list(csv.DictReader((tmp_path / "plan.csv").open(encoding="utf-8")))
    assert list(rows[0])[:6] == ["week", "site", "unit", "jobs", "hours", "money_saved"]
    assert {one["unit"] for one in rows} >= {"a", "b", "d"}
    assert {one["week"] for one in rows} == {"1"}
    assert next(one for one in rows if one["unit"] == "a")["read"] == "Liquid pipe, again"
    assert next(one for one in rows if one["unit"] == "d")["jobs"] == "repair: undercharge"


def test_json_sums_what_the_rows_say(words, capsys):
    found = in_json(capsys, *words)
    gained = sum(one["money_saved"] - one["price"] for one in found["rows"]) - 20 * found["visits"]
    assert found["gained"] == pytest.approx(gained, abs=0.05)
    assert found["gained"] >= max(one["gained"] for one in found["others"].values())
    assert found["planned"] + len(found["not_planned"]) == found["jobs"] == 4


def test_calendar_and_work_orders(words, tmp_path, capsys):
    calendar, orders = tmp_path / "plan.ics", tmp_path / "orders"
    printed(capsys, *words, "--calendar", calendar, "--orders", orders)
    lines = calendar.read_bytes().split(b"\r\n")
    assert lines[0] == b"BEGIN:VCALENDAR"
    assert max(map(len, lines)) <= 75
    assert calendar.read_bytes().count(b"BEGIN:VEVENT") == len(list(orders.iterdir())) == 1
    assert b"DTSTART:20260601T081500" in lines
    (order,) = orders.iterdir()
    text = " ".join(page.extract_text() for page in PdfReader(order).pages)
    assert "Work order: Library" in text
    assert "Never block a running coil" in text
    assert "Liquid pipe, again first" in " ".join(text.split())
    again = calendar.read_bytes()
    printed(capsys, *words, "--calendar", calendar)
    assert calendar.read_bytes() == again


def test_a_holiday_and_a_date_that_must_be_kept(words, capsys):
    found = in_json(capsys, *words, "--holiday", "2026-06-01", "--must", "Library/b=2026-06-05")
    assert min(one["date"] for one in found["rows"]) == "2026-06-02"
    assert "b" in {one["unit"] for one in found["rows"]}


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--must", "Library/b"], "SITE/UNIT=DATE is expected"),
        (["--must", "Library/z=2026-06-05"], "must be done: Library/z is not in the table"),
        (["--calendar", "plan.txt"], "a file ending in .ics is expected"),
        (["--from", "2020-01-01"], "first day: is 2020-01-01; one within a year of 2026-06-01"),
        (["--clean-hours", "9"], "clean takes 9 h; at most 7.5 h are expected"),
    ],
)
def test_refusals(words, more, said, capsys):
    assert said in refused_in_one_line(capsys, *words, *more)


def test_orders_into_a_file_are_refused_before_anything_is_written(words, tmp_path, capsys):
    (tmp_path / "orders").write_text("mine", "utf-8")
    more = ("--orders", tmp_path / "orders", "--calendar", tmp_path / "plan.ics")
    assert "--orders: " in refused_in_one_line(capsys, *words, *more)
    assert {path.name for path in tmp_path.iterdir()} == {"out.csv", "orders"}


def test_a_plan_of_no_visit_has_a_calendar_that_is_none_the_less_whole(words, tmp_path, capsys):
    said = printed(capsys, *words, "--call-out", 9999, "--calendar", tmp_path / "plan.ics")
    assert "None of the 4 jobs saves its cost" in said
    lines = (tmp_path / "plan.ics").read_bytes().split(b"\r\n")
    assert b"BEGIN:VEVENT" not in lines
    assert lines.count(b"BEGIN:VTIMEZONE") == lines.count(b"END:VTIMEZONE") == 1
