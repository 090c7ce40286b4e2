"""A whole fleet worked out into one table: what is known already is kept, the rest is shared among workers.

Rows are written to the journal beside the table as they come (`calibration.fleet.journal`), so that a run
that is stopped or killed goes on where it was. Rows of the source that were left out are written beside the
table, in a file that can be corrected and read together with the source.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from calibration.files.atomic_file import write_whole
from calibration.files.spreadsheet_text import harmless_cell
from calibration.fleet.cluster import worked_out_by_cluster
from calibration.fleet.jobs import Fleet, Job
from calibration.fleet.journal import FORMATS, open_journal, write_table
from calibration.fleet.listed_units import LeftOut
from calibration.fleet.pooling import with_pooled_rates
from calibration.fleet.table import ROW
from calibration.fleet.unit_row import UnitRow, row_of_job
from calibration.fleet.workers import Done, Work, usual_workers, worked_out

TO_CORRECT = "-to-correct.csv"
"""What the name of the file of rows that were left out ends with."""


@dataclass(frozen=True)
class Run:
    """What a run did.

    Attributes
    ----------
    table : Path
        Where the results are.
    units, worked_out : int
        Units in all, and those that were not known before.
    left_out : tuple of LeftOut
        Rows of the source that were left out.
    to_correct : Path or None
        Where these are; None where every row was good.
    rows : tuple of dict
        Results, in the order of the source.
    """

    table: Path
    units: int
    worked_out: int
    left_out: tuple[LeftOut, ...]
    to_correct: Path | None
    rows: tuple[dict[str, Any], ...]


def check_table(path: Path) -> None:
    """Refuse a table of results of another form.

    Parameters
    ----------
    path : Path
        Where it is to be.

    Raises
    ------
    ValueError
        When it ends in neither of `FORMATS`.
    """
    if path.suffix.lower() not in FORMATS:
        raise ValueError(f"-o: is {path}; a file ending in {' or '.join(FORMATS)} is expected")


def run_fleet(
    fleet: Fleet,
    table: Path,
    workers: int = 0,
    scheduler: str = "",
    progress: Callable[[float], None] | None = None,
    work: Work = row_of_job,
) -> Run:
    """Work out a fleet into a table.

    Parameters
    ----------
    fleet : Fleet
    table : Path
        Ending in .csv or .parquet.
    workers : int
        Processes of this machine; 0 for one a processor.
    scheduler : str
        Address of a Dask scheduler; empty for this machine.
    progress : callable, optional
        Called with the fraction done.
    work : callable
        What is done for each unit.

    Returns
    -------
    Run

    Raises
    ------
    ValueError
        When the table is none, another run is writing it, or no scheduler answers.
    OSError
        When it cannot be written.
    """
    check_table(table)
    tell = progress or (lambda done: None)
    keys = [job.key + _names(job) for job in fleet.jobs]
    with open_journal(table) as journal:
        missing = {
            key: job for key, job in zip(keys, fleet.jobs, strict=True) if job.text and key not in journal
        }
        number = min(workers or usual_workers(), max(len(missing), 1))
        done = (
            worked_out_by_cluster(missing.values(), work, scheduler)
            if scheduler
            else worked_out(missing.values(), work, number)
        )
        for count, one in enumerate(done, start=1):
            journal.add(one.job.key + _names(one.job), _row(one))
            tell(count / len(missing))
        known = [key for key, job in zip(keys, fleet.jobs, strict=True) if job.text]
        rows = tuple(with_pooled_rates(list(_in_order(fleet.jobs, journal.rows(known)))))
        write_table(table, rows)
        to_correct = _write_left_out(fleet.left_out, table)
        journal.keep_only(known)
    return Run(table, len(fleet.jobs), len(missing), fleet.left_out, to_correct, rows)


def _names(job: Job) -> str:
    """What a row holds besides what its key stands for: names, and rows left out."""
    return f"|{job.unit}|{job.site}|{job.exposure}|{job.problem}"


def _row(done: Done) -> dict[str, Any]:
    if done.row is not None:
        return done.row
    job = done.job
    return vars(UnitRow(job.unit, job.site, exposure=job.exposure, problem=done.problem))


def _in_order(jobs: Sequence[Job], rows: Iterator[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """Rows of all jobs; one without a case has no row in the journal."""
    for job in jobs:
        yield next(rows) if job.text else row_of_job(job)


def _write_left_out(left: Sequence[LeftOut], table: Path) -> Path | None:
    """File of the rows that were left out; an older one goes where there is none."""
    path = table.with_name(table.stem + TO_CORRECT)
    if not left:
        path.unlink(missing_ok=True)
        return None
    write_whole(path, table_to_correct(left))
    return path


def table_to_correct(left: Sequence[LeftOut]) -> bytes:
    """Rows that were left out, under their own headers, each with its place and what is wrong with it.

    Parameters
    ----------
    left : sequence of LeftOut
        At least one.

    Returns
    -------
    bytes
        CSV, to be corrected and read together with the source.
    """
    named = (ROW.name, "problem")
    headers = list(dict.fromkeys(h for one in left for h in one.table.headers if h not in named))
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    writer.writerow([*named, *map(harmless_cell, headers)])
    for one in left:
        cells = dict(zip(one.table.headers, one.cells, strict=True))
        written = [one.place, one.sentence, *(cells.get(header, "") for header in headers)]
        writer.writerow(map(harmless_cell, written))
    return buffer.getvalue().encode("utf-8")
