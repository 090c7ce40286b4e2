"""Many units on the pages: a table read in becomes units, results can be sorted, the ranking is drawn."""

from io import BytesIO

import pytest
from pypdf import PdfReader

from calibration.fleet import jobs_to_plan
from calibration.fleet.jobs_to_plan import read_rows
from calibration.fleet.listed_units import listed_units
from calibration.fleet.ranking import chosen, in_order
from calibration.fleet.run import run_fleet, table_to_correct
from calibration.fleet.table import fleet_table
from calibration.fleet.unit_row import UnitRow
from dashboard import workspace
from dashboard.results.fleet.units import (
    alike_sentence,
    clean_sentence,
    learnt_sentences,
    total_sentences,
    unit_sentence,
)
from dashboard.web import cached, screen
from dashboard.web.fleet_page import RESULTS, owner_report, table_columns
from dashboard.web.page_list import UNITS
from dashboard.workspace import Workspace
from tests.calibration.fleet.office import office_book, office_rows
from tests.dashboard.web.test_app import app, folder, read_in, texts  # noqa: F401
from tests.fuzz.hostile_files import DEMO as DEMO_TEXT
from tests.made_results import made_rows, made_workspace

LISTED = 20
"""Files that the page lists at once."""


@pytest.fixture
def saved(app):  # noqa: F811
    page = read_in(app, "A table of units", office_book(office_rows()[:6]), "office.xlsx")
    assert "3 units with 6 visits; 0 rows are left out." in texts(page)
    return page.button(key="take_fleet").click().run()


def test_a_table_of_units_becomes_a_file_each(saved, folder):  # noqa: F811
    assert not saved.exception
    entries = Workspace(folder).entries()
    assert {(entry.title, entry.readable) for entry in entries} == {(f"RTU-{n}", True) for n in (1, 2, 3)}
    assert Workspace(folder).read(entries[0].name).case.unit.site == "Library"


def test_rows_with_a_fault_are_said_and_can_be_downloaded(app):  # noqa: F811
    rows = office_rows()[:4]
    rows[1][8] = "hot"
    page = read_in(app, "A table of units", office_book(rows), "office.xlsx")
    assert "2 units with 3 visits; 1 rows are left out." in texts(page)
    assert "'hot' is no number" in texts(page)
    assert len(page.get("download_button")) == 1


def test_corrected_rows_are_read_in_with_their_table_and_a_stored_unit_supplies_the_rest(app, folder):  # noqa: F811
    folder.mkdir()
    (folder / "demo.toml").write_text(DEMO_TEXT, "utf-8")
    rows = office_rows()[:4]
    rows[1][8] = "hot"
    for one in rows:
        one[16] = ""  # no price of a cleaning
    book = office_book(rows)
    page = read_in(app, "A table of units", book, "office.xlsx")
    left = [row for one in listed_units([fleet_table(book, "office.xlsx")]) for row in one.left_out]
    corrected = table_to_correct(left).replace(b"hot,", b"94,")
    both = [("office-to-correct.csv", corrected, "text/csv"), ("office.xlsx", book, "application/xlsx")]
    page = page.file_uploader[0].set_value(both).run()
    assert not page.exception
    assert "2 units with 4 visits; 0 rows are left out." in texts(page)
    page = page.selectbox(key="fleet_like").set_value("demo.toml").run()
    page = page.button(key="take_fleet").click().run()
    cases = [Workspace(folder).read(one.name).case for one in Workspace(folder).entries()]
    demo = next(case for case in cases if not case.unit.name.startswith("RTU"))
    for case in cases:
        assert (case.cleaning.price, case.season) == (demo.cleaning.price, demo.season)
    assert sorted(len(case.visits) for case in cases if case is not demo) == [2, 2]


def test_the_results_are_worked_out_and_shown(saved, folder, monkeypatch):  # noqa: F811
    def quickly(fleet, path, progress):
        return run_fleet(fleet, path, 1, "", progress, pretended)

    monkeypatch.setattr("dashboard.web.fleet_page.run_fleet", quickly)
    page = saved.switch_page(UNITS.file).run()
    assert "once all units have been worked out" in texts(page)
    page = page.button(key="work_out_all").click().run()
    assert not page.exception
    table = page.dataframe[0].value
    assert list(table["mean cost a year"]) == [300.0, 200.0, 100.0]
    assert list(table["unit"]) == ["RTU-3", "RTU-2", "RTU-1"]
    assert "Fouling of 3 units costs 600" in texts(page)
    assert (folder / RESULTS).is_file()


def pretended(job):
    money = 100.0 * int(job.unit.removeprefix("RTU-"))
    return vars(UnitRow(job.unit, job.site, verdict="fault", money_year=money, money_year_low=money,
                        money_year_high=money, kwh_year=1.0, kwh_year_low=1.0, kwh_year_high=1.0,
                        currency="USD", advice="now", clean_by="2026-08-12"))  # fmt: skip


def test_columns_sort_as_numbers_and_dates():
    rows = [
        vars(UnitRow("a", "x")),
        vars(UnitRow("b", "x", money_year=5.0, clean_by="2027-01-02", advice="later")),
    ]
    columns = table_columns(in_order(rows, "money"))
    assert columns["unit"] == ["b", "a"]
    assert columns["due"] == ["2027-01-02", ""]
    assert columns["what to do"] == ["clean later", ""]


def test_a_thousand_units_are_listed_with_few_files_checked(tmp_path, monkeypatch):
    from tests.fuzz.hostile_files import DEMO

    for number in range(60):
        (tmp_path / f"{number}.toml").write_text(DEMO.replace("Millbrook", f"Mill {number}"), "utf-8")
    checked = []
    monkeypatch.setattr("dashboard.workspace.read_case", lambda path: checked.append(path))
    titles = Workspace(tmp_path).titles()
    assert len(titles) == 60
    assert all(one.title.startswith("Mill ") for one in titles)
    assert not checked


def test_the_page_of_a_unit_says_what_its_table_has_learnt_from_others():
    rate = {"growth_rate": 0.081, "growth_rate_low": 0.05, "growth_rate_high": 0.13}
    learnt = {"growth_from": "other units of the fleet", "other_units": 11, "other_units_here": 3}
    row = vars(UnitRow("a", "x", advice="later", clean_by="2027-03-04", **rate, **learnt))
    said = unit_sentence(row)
    assert "learnt from 11 other units, 3 of them at this site" in said
    assert "growth 8 (5 to 13) points a year; clean later, by 2027-03-04" in said
    assert unit_sentence(row | {"growth_from": "as the case says"}) == ""
    assert learnt_sentences([row, row | {"growth_from": ""}]) == [
        "Growth, costs and dates of 1 of 2 units rest on what other units show too; a unit worked out alone "
        "does not know of these."
    ]


def test_the_page_of_a_unit_says_which_others_its_clean_baseline_leans_on():
    figures = {"level": 0.12, "level_low": 0.05, "level_high": 0.2}
    figures |= {"eer_lost": 0.03, "eer_lost_low": 0.01, "eer_lost_high": 0.05}
    row = vars(UnitRow("a", "x", other_units_alike=4, probability_alike=0.98, **figures))
    assert alike_sentence(row) == "The clean baseline leans on 4 other units with the same nameplate."
    assert unit_sentence(row) == (
        "In the table of all units the clean baseline leans on 4 other units with the same nameplate: blocked"
        " share 12 % (5 to 20 %), EER lost 3 % (1 to 5 %). The figures here know this unit alone."
    )
    assert learnt_sentences([row, row | {"other_units_alike": None}]) == [
        "The clean baseline of 1 of 2 leans on others with the same nameplate; a unit worked out alone does"
        " not know of these."
    ]
    odd = row | {"probability_alike": 0.03}
    assert "with a probability of only 3 %: check the nameplate" in alike_sentence(odd)
    assert learnt_sentences([odd]) == [
        "By clean visits probably another machine than the nameplate says, to be checked: a (x)."
    ]
    assert alike_sentence(row | {"other_units_alike": None, "probability_alike": None}) == ""


@pytest.fixture
def many(app, folder):  # noqa: F811
    made_workspace(folder, 60)
    return app


def test_the_table_has_the_order_and_the_units_that_are_asked_for(many):
    page = many.switch_page(UNITS.file).run()
    assert not page.exception
    for order, column, falling in (
        ("money", "mean cost a year", True),
        ("due", "due", False),
        ("last visit", "last visit", False),
    ):
        page = page.selectbox(key="fleet_order").set_value(order).run()
        shown = page.dataframe[0].value
        only = shown["only if fouled"] == "yes"
        usual = [one for one in shown[column][~only] if one]
        assert usual == sorted(usual, reverse=falling)
    page = page.selectbox(key="fleet_order").set_value("verdict").run()
    verdicts = list(page.dataframe[0].value["verdict"])
    assert verdicts == sorted(verdicts, key=["fault found", "inconclusive", "no fault found"].index)
    page = page.multiselect(key="only_site").set_value(["Mill"]).run()
    assert set(page.dataframe[0].value["site"]) == {"Mill"}
    rows = chosen(made_rows(60), ["Mill"])
    assert screen.plain(total_sentences(rows)[0]) in texts(page)


def test_the_results_and_the_owner_s_report_can_be_downloaded(many, folder):  # noqa: F811
    page = many.switch_page(UNITS.file).run()
    labels = [one.label for one in page.get("download_button")]
    assert {"All results as CSV", "Report for the owner, PDF"} <= set(labels)
    rows = read_rows(folder / RESULTS)
    plain, paged = (PdfReader(BytesIO(owner_report(rows[:5], pages, "US"))) for pages in (False, True))
    assert len(paged.pages) == len(plain.pages) + 5
    assert "Fouling of all units" in plain.pages[0].extract_text()


def test_many_units_are_shown_with_one_look_at_each_file_and_no_fit(many, monkeypatch):
    looked, whole, tables = [], [], []
    read_name, read_whole, read_table = workspace.unit_name, workspace.read_case, jobs_to_plan.read_rows
    monkeypatch.setattr(workspace, "unit_name", lambda path: looked.append(path) or read_name(path))
    monkeypatch.setattr(workspace, "read_case", lambda path: whole.append(path) or read_whole(path))
    monkeypatch.setattr(cached, "read_rows", lambda path: tables.append(path) or read_table(path))
    monkeypatch.setattr("calibration.clean_fit.baseline.fit_baseline", lambda *_: pytest.fail("a fit"))
    cached.fleet_rows.clear()
    cached.titles.clear()
    cached.entries_of.clear()
    page = many.switch_page(UNITS.file).run()
    assert not page.exception
    assert len(looked) == len(set(looked)) <= 60
    assert len([path for path in whole if path.suffix == ".toml"]) <= LISTED
    assert len(tables) == 1
    page.selectbox(key="fleet_order").set_value("due").run()
    assert len(tables) == 1
    assert len(looked) <= 60


def test_the_note_is_on_the_page_of_the_unit_that_it_is_about(tmp_path, monkeypatch):
    from streamlit.testing.v1 import AppTest

    def script():
        import os
        from pathlib import Path

        from dashboard.web.fleet_page import unit_note
        from dashboard.workspace import Workspace

        for unit, site in (("RTU-2", "Clinic"), ("RTU-2", "Mill"), ("elsewhere", "")):
            for finding_only in (False, True):
                workspace = Workspace(Path(os.environ["MADE_WORKSPACE"]))
                unit_note(workspace, unit, site, finding_only=finding_only)

    monkeypatch.setenv("MADE_WORKSPACE", str(tmp_path))
    assert not AppTest.from_function(script).run().caption
    made_workspace(tmp_path, 3)
    whole, brief = AppTest.from_function(script).run().caption
    row = made_rows(3)[1]
    assert whole.value == screen.plain(unit_sentence(row))
    assert brief.value == screen.plain(clean_sentence(row))
    assert brief.value in whole.value
    assert "growth" not in brief.value
