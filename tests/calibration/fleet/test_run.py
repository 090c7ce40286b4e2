"""A fleet into a table: resumed where it stopped, only what changed again, identical in the end."""

import csv
import json

import pytest

from calibration.fleet import run as running
from calibration.fleet.clean_units import UnitPlate
from calibration.fleet.jobs import Fleet, fleet_of
from calibration.fleet.journal import open_journal
from calibration.fleet.listed_units import listed_units
from calibration.fleet.run import run_fleet
from calibration.fleet.table import read_fleet_table
from calibration.fleet.unit_row import ALONE, POINTS, SHOWN, UnitRow
from tests.calibration.fleet import pretended


class Counted:
    """Work that counts its calls and can be stopped at one."""

    def __init__(self, stop_at=None):
        self.calls, self.stop_at = 0, stop_at

    def __call__(self, job):
        if self.calls == self.stop_at:
            raise KeyboardInterrupt
        self.calls += 1
        return pretended.work(job)


def worked_in_line(monkeypatch):
    """Jobs one after the other, so that a stop comes at a known one."""
    from calibration.fleet.workers import Done

    monkeypatch.setattr(
        running, "worked_out", lambda jobs, work, _: (Done(job, work(job), "") for job in jobs)
    )


def test_a_stopped_run_goes_on_and_ends_with_the_same_bytes(tmp_path, monkeypatch):
    worked_in_line(monkeypatch)
    whole, stopped = tmp_path / "whole.csv", tmp_path / "stopped.csv"
    run_fleet(pretended.fleet(9), whole, work=Counted())
    with pytest.raises(KeyboardInterrupt):
        run_fleet(pretended.fleet(9), stopped, work=Counted(stop_at=4))
    assert not stopped.exists()
    rest = Counted()
    done = run_fleet(pretended.fleet(9), stopped, work=rest)
    assert (rest.calls, done.worked_out, done.units) == (5, 5, 9)
    assert stopped.read_bytes() == whole.read_bytes()


def test_a_line_that_a_crash_cut_off_is_worked_out_again(tmp_path, monkeypatch):
    worked_in_line(monkeypatch)
    table = tmp_path / "out.csv"
    run_fleet(pretended.fleet(5), table, work=Counted())
    journal = tmp_path / "out.csv.journal"
    whole = table.read_bytes()
    journal.write_bytes(journal.read_bytes()[:-7])
    again = Counted()
    run_fleet(pretended.fleet(5), table, work=again)
    assert again.calls == 1
    assert table.read_bytes() == whole


def test_only_what_changed_is_worked_out_and_what_is_gone_is_forgotten(tmp_path, monkeypatch):
    worked_in_line(monkeypatch)
    table = tmp_path / "out.csv"
    run_fleet(pretended.fleet(5), table, work=Counted())
    jobs = (*pretended.fleet(3).jobs, pretended.job(7))
    again = Counted()
    run_fleet(Fleet(jobs, ()), table, work=again)
    assert again.calls == 1
    names = [row["unit"] for row in csv.DictReader(table.open(encoding="utf-8"))]
    assert names == ["unit 0", "unit 1", "unit 2", "unit 7"]
    assert len((tmp_path / "out.csv.journal").read_text().splitlines()) == 4


def test_two_runs_into_one_table_are_refused(tmp_path):
    with open_journal(tmp_path / "out.csv"), pytest.raises(ValueError, match="another run is writing it"):
        run_fleet(pretended.fleet(2), tmp_path / "out.csv", 1, work=pretended.work)


def test_a_broken_unit_has_its_problem_and_all_others_their_rows(tmp_path):
    done = run_fleet(pretended.fleet(6), tmp_path / "out.csv", 2, work=pretended.work_that_fails_at_three)
    assert [row["problem"] for row in done.rows] == ["", "", "", "ZeroDivisionError: three is broken", "", ""]


def test_parquet_and_csv_hold_the_same(tmp_path):
    from pyarrow import parquet

    fleet = pretended.fleet(4)
    run_fleet(fleet, tmp_path / "out.parquet", 1, work=pretended.work)
    table = parquet.read_table(tmp_path / "out.parquet").to_pylist()
    assert [row["money_year"] for row in table] == [0.0, 1.0, 2.0, 3.0]
    assert table[0]["level"] is None


def test_rows_that_were_left_out_can_be_corrected_and_read_with_the_source(tmp_path):
    head = "unit;refrigerant;expansion;capacity [tons];outdoor air [°F];return air [°F];return rh [%]\n"
    good, bad = "=1+1;R410A;TXV;3;95;80;50\n", "B;R410A;TXV;3;hot;80;50\n"
    source = tmp_path / "visits.csv"
    source.write_text(head + good + bad, "utf-8")
    units = listed_units([read_fleet_table(source)])
    fleet = Fleet((), tuple(one for unit in units for one in unit.left_out))
    done = run_fleet(fleet, tmp_path / "out.csv", 1, work=pretended.work)
    text = done.to_correct.read_text("utf-8")
    assert "visits.csv, row 3" in text
    assert "'hot' is no number" in text
    done.to_correct.write_text(text.replace(",hot,", ",96,"), "utf-8")
    units = listed_units([read_fleet_table(source), read_fleet_table(done.to_correct)])
    assert [(one.unit, one.left_out) for one in units] == [("=1+1", ()), ("B", ())]
    done = run_fleet(Fleet((), ()), tmp_path / "out.csv", 1, work=pretended.work)
    assert done.to_correct is None
    assert not (tmp_path / "out-to-correct.csv").exists()


def test_corrections_that_were_read_are_neither_replaced_nor_removed(tmp_path, monkeypatch):
    worked_in_line(monkeypatch)

    def named(job):
        return vars(UnitRow(job.unit, job.site))

    head = "unit;refrigerant;expansion;capacity [tons];outdoor air [°F];return air [°F];return rh [%]\n"
    source, table = tmp_path / "visits.csv", tmp_path / "out.csv"
    source.write_text(f"{head}A;R410A;TXV;3;hot;80;50\nB;R410A;TXV;3;cold;80;50\n", "utf-8")
    first = run_fleet(fleet_of([source]), table, 1, work=named)
    assert len(first.left_out) == 2
    corrected = first.to_correct.read_text("utf-8").replace(",hot,", ",96,")
    first.to_correct.write_text(corrected, "utf-8")
    second = run_fleet(fleet_of([source, first.to_correct]), table, 1, work=named)
    assert first.to_correct.read_text("utf-8") == corrected
    assert [one.place for one in second.left_out] == ["visits.csv, row 3"]
    assert second.to_correct == tmp_path / "out-to-correct-2.csv"
    last = second.to_correct.read_text("utf-8").replace(",cold,", ",95,")
    second.to_correct.write_text(last, "utf-8")
    third = run_fleet(fleet_of([source, first.to_correct, second.to_correct]), table, 1, work=named)
    assert (third.to_correct, len(third.rows)) == (None, 2)
    assert first.to_correct.read_text("utf-8") == corrected
    assert second.to_correct.read_text("utf-8") == last


def test_the_journal_is_plain_json(tmp_path):
    run_fleet(pretended.fleet(1), tmp_path / "out.csv", 1, work=pretended.work)
    (line,) = (tmp_path / "out.csv.journal").read_text().splitlines()
    assert json.loads(line)["row"]["unit"] == "unit 0"


def test_a_run_of_which_nothing_came_leaves_nothing(tmp_path):
    with pytest.raises(ValueError, match="--scheduler"):
        run_fleet(pretended.fleet(1), tmp_path / "out.csv", scheduler="nowhere://x", work=pretended.work)
    assert list(tmp_path.iterdir()) == []


def test_a_table_of_another_form_is_refused(tmp_path):
    with pytest.raises(ValueError, match=r"\.csv or \.parquet is expected"):
        run_fleet(pretended.fleet(1), tmp_path / "out.xls", 1)


class InTwoSteps(Counted):
    """Work that looks at readings first and then at costs, which hold what the others say."""

    def __call__(self, job):
        row = super().__call__(job)
        if job.look is None:
            number = int(job.key.partition("|")[0].split()[1])
            level = 0.1 + 0.02 * number if number % 3 else None
            return row | {SHOWN: [], POINTS: [pretended.point(level)] if level else []}
        said = job.look.prior
        return row | {"growth_rate": None if said is None else round(said.rate.value, 9), "advice": "later"}


def test_costs_follow_with_what_the_other_units_show(tmp_path, monkeypatch):
    worked_in_line(monkeypatch)
    work = InTwoSteps()
    done = run_fleet(pretended.fleet(9), tmp_path / "out.csv", work=work)
    assert (work.calls, done.worked_out) == (18, 9)
    assert {row["advice"] for row in done.rows} == {"later"}
    assert [row["other_units"] for row in done.rows] == [6, 5, 5] * 3
    for row in done.rows:
        assert row["growth_rate"] == pytest.approx(row["others_rate"], rel=1e-5)
        assert row["others_rate_low"] < row["others_rate"] < row["others_rate_high"]
    assert SHOWN not in done.rows[0]


@pytest.mark.parametrize("stop_at", [4, 9, 13, 17])
def test_a_run_stopped_in_either_step_ends_with_the_same_bytes(tmp_path, monkeypatch, stop_at):
    worked_in_line(monkeypatch)
    whole, stopped = tmp_path / "whole.csv", tmp_path / "stopped.csv"
    run_fleet(pretended.fleet(9), whole, work=InTwoSteps())
    with pytest.raises(KeyboardInterrupt):
        run_fleet(pretended.fleet(9), stopped, work=InTwoSteps(stop_at=stop_at))
    rest = InTwoSteps()
    run_fleet(pretended.fleet(9), stopped, work=rest)
    assert rest.calls == 18 - stop_at
    assert stopped.read_bytes() == whole.read_bytes()
    again = InTwoSteps()
    assert run_fleet(pretended.fleet(9), stopped, work=again).worked_out == again.calls == 0


def test_a_new_visit_elsewhere_changes_costs_and_no_finding_of_the_others(tmp_path, monkeypatch):
    worked_in_line(monkeypatch)
    table = tmp_path / "out.csv"
    run_fleet(pretended.fleet(8), table, work=InTwoSteps())
    first, work = [], InTwoSteps()
    run_fleet(pretended.fleet(9), table, work=lambda job: (first.append(job.look is None), work(job))[1])
    assert sum(first) == 1
    fresh = run_fleet(pretended.fleet(9), tmp_path / "fresh.csv", work=InTwoSteps())
    assert table.read_bytes() == (tmp_path / "fresh.csv").read_bytes()
    assert fresh.units == 9


class InThreeSteps(InTwoSteps):
    """Work that fits clean visits before it; a look holds what others of the nameplate say."""

    def __call__(self, job):
        if job.clean_only:
            number = int(Counted.__call__(self, job)["money_year"])
            return {"unit": job.unit, ALONE: pretended.visits(0.1 * number)}
        row = super().__call__(job)
        said = None if job.alike is None else round(float(job.alike.mean[0]), 9)
        return row | {"level": said} if job.look is None else row | {"level": job.look.row["level"]}


def of_one_nameplate(monkeypatch, alone=()):
    """Every unit of one nameplate and read clean, but for those that are alone in theirs."""

    def clean_units(jobs):
        return [UnitPlate(job.unit if job.unit in alone else "A", True) for job in jobs]

    worked_in_line(monkeypatch)
    monkeypatch.setattr(running, "clean_units", clean_units)


def test_looks_follow_with_what_the_others_of_the_nameplate_show(tmp_path, monkeypatch):
    of_one_nameplate(monkeypatch, alone=("unit 3",))
    work = InThreeSteps()
    done = run_fleet(pretended.fleet(9), tmp_path / "out.csv", work=work)
    assert (work.calls, done.worked_out) == (8 + 9 + 9, 9)
    others = [row.get("other_units_alike") for row in done.rows]
    assert others == [7, 7, 7, None, 7, 7, 7, 7, 7]
    levels = [row["level"] for row in done.rows]
    assert levels[3] is None
    assert levels[0] > levels[8] > 0.0  # the first is the least of all, the others are more
    assert ALONE not in done.rows[0]


@pytest.mark.parametrize("stop_at", [4, 9, 13, 22])
def test_a_run_stopped_in_any_of_three_steps_ends_with_the_same_bytes(tmp_path, monkeypatch, stop_at):
    of_one_nameplate(monkeypatch)
    whole, stopped = tmp_path / "whole.csv", tmp_path / "stopped.csv"
    run_fleet(pretended.fleet(9), whole, work=InThreeSteps())
    with pytest.raises(KeyboardInterrupt):
        run_fleet(pretended.fleet(9), stopped, work=InThreeSteps(stop_at=stop_at))
    rest = InThreeSteps()
    run_fleet(pretended.fleet(9), stopped, work=rest)
    assert rest.calls == 27 - stop_at
    assert stopped.read_bytes() == whole.read_bytes()
    again = InThreeSteps()
    assert run_fleet(pretended.fleet(9), stopped, work=again).worked_out == again.calls == 0


def test_a_unit_of_another_nameplate_changes_no_look_of_the_others(tmp_path, monkeypatch):
    of_one_nameplate(monkeypatch, alone=("unit 8",))
    table = tmp_path / "out.csv"
    run_fleet(pretended.fleet(8), table, work=InThreeSteps())
    first, work = [], InThreeSteps()
    run_fleet(pretended.fleet(9), table, work=lambda job: (first.append(job.look is None), work(job))[1])
    assert sum(first) == 1
    run_fleet(pretended.fleet(9), tmp_path / "fresh.csv", work=InThreeSteps())
    assert table.read_bytes() == (tmp_path / "fresh.csv").read_bytes()


def test_the_order_of_a_fleet_changes_no_row(tmp_path, monkeypatch):
    of_one_nameplate(monkeypatch)
    there = run_fleet(pretended.fleet(9), tmp_path / "there.csv", work=InThreeSteps())
    turned = Fleet(tuple(reversed(pretended.fleet(9).jobs)), ())
    back = run_fleet(turned, tmp_path / "back.csv", work=InThreeSteps())
    assert back.rows == tuple(reversed(there.rows))
