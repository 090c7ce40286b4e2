"""A whole fleet worked out into one table: what is known already is kept, the rest is shared among workers.

First the clean visits are fitted of units whose nameplate others have too, and what these say of the clean
unit is pooled (`calibration.fleet.clean_units`); then the readings of every unit are looked at; then the
growth of all of them is pooled; then follow the costs of each, with what the others show of its growth. A row
is known by the content of its case and by what the others say too: where a new visit changes that, a step is
worked out again, and not those before it.

Rows are written to the journal beside the table as they come (`calibration.fleet.journal`), so that a run
that is stopped or killed goes on where it was. Rows of the source that were left out are written beside the
table, in a file that can be corrected and read together with the source; a file so read is never replaced.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, NamedTuple

from calibration.files.atomic_file import write_whole
from calibration.files.spreadsheet_text import harmless_cell
from calibration.fleet.alike import LearntParameters
from calibration.fleet.clean_units import clean_jobs, clean_units, job_alike, learnt_clean
from calibration.fleet.cluster import worked_out_by_cluster
from calibration.fleet.jobs import FirstLook, Fleet, Job
from calibration.fleet.journal import FORMATS, Journal, open_journal, write_table
from calibration.fleet.listed_units import LeftOut
from calibration.fleet.pooling import LearntRate, learnt_rates, shown_growth
from calibration.fleet.table import ROW
from calibration.fleet.unit_row import COLUMNS, GIVEN, SHOWN, UnitRow, points_of_row, row_of_job
from calibration.fleet.workers import Done, Work, usual_workers, worked_out

FITTING, LOOKING = 0.05, 0.4
"""Parts of the time that fitting clean visits and looking at the readings take, for the progress [-]."""
SECOND = "|others say "
"""What parts the two halves of the key of a unit's costs."""
DIGITS = 6
"""Significant digits of what others say in the table [-]."""
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
    jobs = [job for job in fleet.jobs if job.text]
    with open_journal(table) as journal:
        sharing = _Sharing(journal, work, workers, scheduler)
        units = clean_units(jobs)
        clean = clean_jobs(jobs, units)
        fitted = sharing.through(list(clean.values()), lambda done: tell(FITTING * done))
        alike = learnt_clean(units, clean, lambda some: journal.rows(map(_key, some)))
        jobs = list(map(job_alike, jobs, alike))
        looked = sharing.through(jobs, lambda done: tell(FITTING + LOOKING * done))
        learnt = _learnt(journal, jobs)
        after = [_second_job(job, one) for job, one in zip(jobs, learnt, strict=True)]
        costed = sharing.through(
            [job for job in after if job.look is not None],
            lambda done: tell(FITTING + LOOKING + (1.0 - FITTING - LOOKING) * done),
            lambda job: _with_row(journal, job),
        )
        known = journal.rows(map(_key, after))
        told = ({**row, **_told(one, two)} for row, one, two in zip(known, learnt, alike, strict=True))
        rows = tuple(_in_order(fleet.jobs, told))
        write_table(table, rows)
        to_correct = _write_left_out(fleet, table)
        journal.keep_only(list(map(_key, [*clean.values(), *jobs, *after])))
    worked = len(fitted | looked | costed)
    return Run(table, len(fleet.jobs), worked, fleet.left_out, to_correct, rows)


class _Learnt(NamedTuple):
    """Whether a unit's costs can be worked out, whether its case gives a rate, and what the others say."""

    has_costs: bool
    keeps_own: bool
    rate: LearntRate | None


class _Sharing(NamedTuple):
    """Where rows are kept, and how they are worked out."""

    journal: Journal
    work: Work
    workers: int
    scheduler: str

    def through(
        self,
        jobs: Sequence[Job],
        tell: Callable[[float], None],
        whole: Callable[[Job], Job] = lambda job: job,
    ) -> set[str]:
        """Work out every job whose row is not there yet, made whole when its turn comes; units of these."""
        missing = {_key(job): job for job in jobs if _key(job) not in self.journal}
        number = min(self.workers or usual_workers(), max(len(missing), 1))
        waiting = map(whole, missing.values())
        done = (
            worked_out_by_cluster(waiting, self.work, self.scheduler)
            if self.scheduler
            else worked_out(waiting, self.work, number)
        )
        for count, one in enumerate(done if missing else (), start=1):
            self.journal.add(_key(one.job), _row(one))
            tell(count / len(missing))
        return {_key(replace(job, key=job.key.partition("|")[0])) for job in missing.values()}


def _key(job: Job) -> str:
    """What a row is kept by: what it depends on, and the names that it holds besides."""
    return f"{job.key}|{job.unit}|{job.site}|{job.exposure}|{job.problem}"


def _learnt(journal: Journal, jobs: Sequence[Job]) -> list[_Learnt]:
    """What each unit learns from the others."""
    known, shown = [], []
    for job, row in zip(jobs, journal.rows(map(_key, jobs)), strict=True):
        known.append((SHOWN in row, row.get(GIVEN) is not None))
        shown.append(shown_growth(job.site, job.exposure, points_of_row(row), row.get(GIVEN)))
    return [_Learnt(*one, rate) for one, rate in zip(known, learnt_rates(shown), strict=True)]


def _second_job(job: Job, learnt: _Learnt) -> Job:
    """The job of a unit's costs, still without its row; the first one where there is nothing to cost."""
    if not learnt.has_costs:
        return job
    prior = None if learnt.rate is None or learnt.keeps_own else learnt.rate.prior
    said = "alone" if prior is None else " ".join(f"{value:g}" for value in vars(prior).values())
    return replace(job, key=f"{job.key}{SECOND}{said}", look=FirstLook({}, prior))


def _first_job(job: Job) -> Job:
    """The job of a unit's readings, from either of the two."""
    return replace(job, key=job.key.partition(SECOND)[0], look=None)


def _with_row(journal: Journal, job: Job) -> Job:
    """The job of a unit's costs with what its readings show."""
    (row,) = journal.rows([_key(_first_job(job))])
    return replace(job, look=FirstLook(row, job.look.prior if job.look is not None else None))


def _told(learnt: _Learnt, alike: LearntParameters | None) -> dict[str, Any]:
    """Columns of what the other units say."""
    if not learnt.has_costs:
        return {}
    clean: dict[str, Any] = {}
    if alike is not None:
        probability = None if alike.alike is None else float(f"{alike.alike:.{DIGITS}g}")
        clean = {"other_units_alike": alike.others, "probability_alike": probability}
    if learnt.rate is None:
        return clean
    rate = learnt.rate.prior.rate
    return {
        **clean,
        "others_rate": float(f"{rate.value:.{DIGITS}g}"),
        "others_rate_low": float(f"{rate.low:.{DIGITS}g}"),
        "others_rate_high": float(f"{rate.high:.{DIGITS}g}"),
        "other_units": learnt.rate.others,
        "other_units_here": learnt.rate.here,
    }


def _row(done: Done) -> dict[str, Any]:
    if done.row is not None:
        return done.row
    job = done.job
    return vars(UnitRow(job.unit, job.site, exposure=job.exposure, problem=done.problem))


def _in_order(jobs: Sequence[Job], rows: Iterator[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """Rows of all jobs; one without a case has no row in the journal."""
    for job in jobs:
        row = next(rows) if job.text else row_of_job(job)
        yield {name: value for name, value in row.items() if name in COLUMNS}


def _write_left_out(fleet: Fleet, table: Path) -> Path | None:
    """File of the rows that were left out; an older one goes where there is none.

    One that was read with the source holds somebody's corrections: it stays, and the next number is written.
    """
    beside = [one.name for one in fleet.tables if one.resolve().parent == table.resolve().parent]
    path = table.with_name(next_to_correct(table.stem, beside))
    if not fleet.left_out:
        path.unlink(missing_ok=True)
        return None
    write_whole(path, table_to_correct(fleet.left_out))
    return path


def next_to_correct(stem: str, read: Collection[str]) -> str:
    """Name of the file of rows that were left out: the first that is none of those read.

    Parameters
    ----------
    stem : str
        Name of the table without its ending.
    read : collection of str
        Names of the files that were read beside it.

    Returns
    -------
    str
    """
    name, number = f"{stem}{TO_CORRECT}", 1
    while name in read:
        number += 1
        name = f"{stem}{TO_CORRECT.removesuffix('.csv')}-{number}.csv"
    return name


def is_to_correct(name: str) -> bool:
    """Whether a file's name is that of rows that were left out."""
    return re.search(r"-to-correct(-\d+)?\.csv$", name) is not None


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
