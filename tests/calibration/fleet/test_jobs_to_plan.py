"""Rows of a table of results as jobs: what is done, what it saves in which week."""

import datetime as dt

import numpy as np
import pytest

from calibration.case.errors import CaseError
from calibration.fleet.jobs_to_plan import HOURS, jobs_of_rows, read_rows
from calibration.fleet.journal import write_table
from calibration.fleet.unit_row import UnitRow

DAY = dt.date(2026, 6, 1)
SAVED = ";".join(f"{200.0 - week:.2f}" for week in range(52))


def row(unit, **changes):
    usual = {"verdict": "fault", "advice": "later", "as_of": "2026-06-01", "price": 150.0, "currency": "USD",
             "saving_by_week": SAVED, "worth_of_measuring": 60.0, "if_fouled": False}  # fmt: skip
    return vars(UnitRow(unit, "Library", **(usual | changes)))


@pytest.mark.parametrize("name", ["out.csv", "out.parquet"])
def test_a_table_is_read_back_as_it_was_written(tmp_path, name):
    rows = [row("a", treatments="clean_condenser"), row("b", level=None, if_fouled=True)]
    write_table(tmp_path / name, rows)
    assert read_rows(tmp_path / name) == rows


def test_another_table_is_refused(tmp_path):
    (tmp_path / "out.csv").write_text("a,b\n1,2\n", "utf-8")
    with pytest.raises(CaseError, match="is no table of `coiltoll fleet`"):
        read_rows(tmp_path / "out.csv")
    with pytest.raises(CaseError, match="there is no such file"):
        read_rows(tmp_path / "none.csv")


def test_what_each_row_asks_for():
    rows = [
        row("now", advice="now"),
        row("measure", advice="measure_first"),
        row("leak", advice="not_a_cleaning_matter", treatments="repair_leak_and_charge", left_cost=80.0),
        row("fine", verdict="no_fault", advice="leave"),
        row("open", verdict="inconclusive", advice="not_a_cleaning_matter"),
    ]
    jobs = jobs_of_rows(rows, DAY, 4)
    assert [(job.unit, job.work) for job in jobs] == [
        ("now", "clean"),
        ("measure", "measure"),
        ("leak", "repair"),
    ]
    assert [job.hours for job in jobs] == [HOURS["clean"], HOURS["measure"], HOURS["repair"]]
    assert [job.price for job in jobs] == pytest.approx([150.0, 45.0, 0.0])
    np.testing.assert_allclose(jobs[0].saving, [200.0, 199.0, 198.0, 197.0])
    np.testing.assert_allclose(jobs[1].saving, 60.0 * jobs[0].saving / 200.0)
    assert jobs[2].saving[0] == 80.0
    assert np.all(np.diff(jobs[2].saving) < 0.0)


def test_weeks_count_from_the_day_of_the_row():
    (job,) = jobs_of_rows([row("a")], DAY + dt.timedelta(weeks=10), 2)
    np.testing.assert_allclose(job.saving, [190.0, 189.0])


def test_what_must_be_done_is_a_job_whatever_the_advice():
    must = {("Library", "fine"): DAY + dt.timedelta(days=10)}
    (job,) = jobs_of_rows([row("fine", verdict="no_fault", advice="leave")], DAY, 4, must=must)
    assert (job.work, job.must_by) == ("clean", 1)
    with pytest.raises(ValueError, match="must be done: Annex/x is not in the table"):
        jobs_of_rows([row("a")], DAY, 4, must={("Annex", "x"): DAY})
