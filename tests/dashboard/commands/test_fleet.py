"""`coiltoll fleet`: a table of results, a ranking, what was left out."""

import csv
import json

import pytest

from calibration.fleet.ranking import ranked
from calibration.fleet.run import run_fleet
from dashboard.cli import run
from tests.dashboard.command import in_json, printed, refused_in_one_line
from tests.made_results import made_rows

HEAD = "unit,site,refrigerant,expansion,capacity [tons],outdoor air,return air,return wet bulb\n"


@pytest.fixture
def source(tmp_path, monkeypatch):
    def work(job):
        shown = {"verdict": "fault", "probability_of_fouling": 0.9, "eer_lost": 0.1, "money_year": 1234.0,
                 "money_year_low": 1000.0, "money_year_high": 1500.0, "currency": "USD", "kwh_year": 9.0,
                 "kwh_year_low": 8.0, "kwh_year_high": 11.0, "advice": "later", "clean_by": "2027-05-01",
                 "next_reading": "liquid_temperature again", "other_units_alike": 3}  # fmt: skip
        from calibration.fleet.unit_row import UnitRow

        return vars(UnitRow(job.unit, job.site, **shown))

    monkeypatch.setattr(run_fleet, "__defaults__", (0, "", None, work))
    table = tmp_path / "visits.csv"
    table.write_text(HEAD + "A,Library,R410A,TXV,3,95,80,67\nB,,R410A,TXV,3,hot,80,67\n", "utf-8")
    return table


def test_the_ranking_the_totals_and_what_was_left_out(source, tmp_path, capsys):
    out = tmp_path / "out.csv"
    assert run(["fleet", str(source), "-o", str(out), "--workers", "1"]) == 0
    said, noticed = capsys.readouterr()
    assert "1,234 USD" in said
    assert "1,000 to 1,500" in said
    assert "Liquid pipe, again" in said
    assert "Fouling of 1 unit costs 1,234 (1,000 to 1,500) USD a year." in said
    assert "'hot' is no number" in said
    fault, how = noticed.splitlines()
    assert fault.startswith("coiltoll: visits.csv, row 3: column 'outdoor air': 'hot' is no number")
    assert how.startswith(
        f"coiltoll: 1 row was left out: correct what is wrong in {tmp_path / 'out-to-correct.csv'}"
    )
    assert how.endswith(f"coiltoll fleet {source} {tmp_path / 'out-to-correct.csv'} -o {out}")
    rows = list(csv.DictReader(out.open(encoding="utf-8")))
    assert [(one["unit"], one["money_year"]) for one in rows] == [("A", "1234.0"), ("B", "")]


def test_json_has_the_same_rows(source, tmp_path, capsys):
    found = in_json(capsys, "fleet", source, "-o", tmp_path / "out.parquet", "--workers", 1)
    assert (found["units"], found["worked_out"]) == (2, 1)
    assert found["totals"]["money_year"]["USD"]["value"] == 1234.0
    assert found["rows_left_out"][0]["row"] == "visits.csv, row 3"
    assert found["rows"][0]["clean_by"] == "2027-05-01"
    assert found["rows"][0]["clean_baseline"].startswith("The clean baseline leans on 3 other units")
    assert found["rows"][1]["clean_baseline"] == ""


def test_each_row_that_is_left_out_is_reported_up_to_twenty(source, tmp_path, capsys):
    lines = "".join(f"C{number},,R410A,TXV,3,hot,80,67\n" for number in range(25))
    source.write_text(HEAD + lines, "utf-8")
    words = ["fleet", str(source), "-o", str(tmp_path / "out.csv"), "--workers", "1", "--json"]
    assert run(words) == 0
    printed_json, noticed = capsys.readouterr()
    rows = json.loads(printed_json)["rows_left_out"]
    assert [one["row"] for one in rows] == [f"visits.csv, row {number}" for number in range(2, 27)]
    *faults, more, _ = noticed.splitlines()
    assert faults == [f"coiltoll: {one['row']}: {one['problem']}" for one in rows[:20]]
    assert more == f"coiltoll: and 5 more, all in {tmp_path / 'out-to-correct.csv'}"


def test_the_second_time_nothing_is_worked_out(source, tmp_path, capsys):
    words = ("fleet", source, "-o", tmp_path / "out.csv", "--workers", 1)
    first, again = in_json(capsys, *words), in_json(capsys, *words)
    assert (first["worked_out"], again["worked_out"]) == (1, 0)
    assert first["rows"] == again["rows"]


def test_a_report_for_the_owner(source, tmp_path, capsys):
    page = tmp_path / "owner.html"
    words = ("fleet", source, "-o", tmp_path / "out.csv", "--workers", 1, "--report", page)
    printed(capsys, *words)
    assert "1,234 USD" in page.read_text("utf-8")
    assert "A, Library</h2>" not in page.read_text("utf-8")
    printed(capsys, *words, "--unit-pages")
    assert "A, Library</h2>" in page.read_text("utf-8")


def test_filters_count_for_print_and_json_and_not_for_the_table(source, tmp_path, capsys):
    words = ("fleet", source, "-o", tmp_path / "out.csv", "--workers", 1, "--site", "annex")
    found = in_json(capsys, *words)
    assert (found["units"], found["rows"], found["totals"]["money_year"]) == (2, [], {})
    assert "1,234" not in printed(capsys, *words)
    assert len((tmp_path / "out.csv").read_text("utf-8").splitlines()) == 3
    assert in_json(capsys, *words[:-1], "library")["totals"]["money_year"]["USD"]["units"] == 1


def test_a_name_that_no_unit_is_of_is_reported_with_those_there_are(source, tmp_path, capsys):
    words = ["fleet", str(source), "-o", str(tmp_path / "out.csv"), "--workers", "1"]
    page = tmp_path / "owner.html"
    assert run([*words, "--site", "Libary", "--verdict", "Fault", "--report", str(page)]) == 0
    printed_text, noticed = capsys.readouterr()
    assert "coiltoll: --site: no unit is of 'Libary'; there are Library" in noticed.splitlines()
    assert "--verdict" not in noticed
    assert "1,234" not in printed_text + page.read_text("utf-8")


@pytest.mark.parametrize("by", ["money", "energy", "comfort", "knowing"])
def test_the_ranking_goes_by_what_is_asked_for(by, tmp_path, capsys, monkeypatch):
    from dashboard.results.fleet.units import BY_WORDS

    rows = {row["unit"]: row for row in made_rows(6)}
    monkeypatch.setattr(run_fleet, "__defaults__", (0, "", None, lambda job: rows[job.unit]))
    table = tmp_path / "visits.csv"
    lines = "".join(f"RTU-{number},Mill,R410A,TXV,3,95,80,67\n" for number in range(1, 7))
    table.write_text(HEAD + lines, "utf-8")
    said = printed(capsys, "fleet", table, "-o", tmp_path / "out.csv", "--workers", 1, "--by", by)
    assert BY_WORDS[by] in said
    assert ("mean a year" in said) == (by != "knowing")
    order = [one["unit"] for one in ranked(list(rows.values()), by)]
    places = [said.index(f"{unit} ") for unit in order]
    assert places == sorted(places)


def test_refusals(source, tmp_path, capsys):
    assert "ending in .csv or .parquet" in refused_in_one_line(
        capsys, "fleet", source, "-o", tmp_path / "o.xls"
    )
    assert "there is no such file" in refused_in_one_line(
        capsys, "fleet", tmp_path / "none.csv", "-o", tmp_path / "o.csv"
    )
