"""Where the rows are worked out: in this process, in processes of this machine, or on a Dask cluster.

Only a few jobs are under way at a time, whatever the size of the fleet, and each result is handed on as it
comes, so that memory stays flat. A worker that dies takes no result with it: what it was working on is given
to another. A job at which workers die again and again is tried alone, and given up with a sentence.

Assumption: a job's result depends on nothing but the job (`calibration.fleet.unit_row.row_of_job`), so that
it may be worked out anywhere and more than once. Each process keeps to one thread of linear algebra: units
are many, and more threads than processors would only wait for each other.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import (
    FIRST_COMPLETED,
    Executor,
    Future,
    ProcessPoolExecutor,
    ThreadPoolExecutor,
    wait,
)
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from itertools import islice
from multiprocessing import get_context
from typing import Any, NamedTuple

from calibration.fleet.jobs import Job

Work = Callable[[Job], dict[str, Any]]

AHEAD = 3
"""Jobs under way for each worker [-]."""
MOST_DEATHS = 2
"""A job during which so many workers died is given up [-]."""
THREAD_VARIABLES = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
DIED = "the worker process ended while this unit was worked out"


class Done(NamedTuple):
    """A job that is through: its row, or what went wrong."""

    job: Job
    row: dict[str, Any] | None
    problem: str


def usual_workers() -> int:
    """Processors that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def worked_out(jobs: Iterable[Job], work: Work, workers: int) -> Iterator[Done]:
    """Results of jobs as they come, from workers on this machine.

    Parameters
    ----------
    jobs : iterable of Job
        Taken as workers become free.
    work : callable
        A function of a module, for processes to find.
    workers : int
        Processes; 1 works in this one.

    Yields
    ------
    Done
        In the order in which they end; every job once.
    """
    if workers <= 1:
        with ThreadPoolExecutor(1) as executor:
            yield from _through(executor, iter(jobs), work, 1)[0]
        return
    remaining = iter(jobs)
    deaths: dict[str, int] = {}
    again: list[Job] = []
    while True:
        with one_thread_each(), ProcessPoolExecutor(workers, get_context("spawn")) as executor:
            results, lost = _through(executor, _first(again, remaining), work, workers * AHEAD)
            yield from results
        if not lost:
            return
        again = []
        for job in lost:
            deaths[job.key] = deaths.get(job.key, 0) + 1
            if deaths[job.key] < MOST_DEATHS:
                again.append(job)
            else:
                yield _alone(job, work)


def _first(again: list[Job], remaining: Iterator[Job]) -> Iterator[Job]:
    """Jobs to be done again, then the others."""
    yield from again
    yield from remaining


def _through(
    executor: Executor, jobs: Iterator[Job], work: Work, ahead: int
) -> tuple[Iterator[Done], list[Job]]:
    """Results as they come, and a list that fills with the jobs that were under way when a worker died."""
    lost: list[Job] = []
    running: dict[Future[dict[str, Any]], Job] = {}

    def start(job: Job) -> None:
        try:
            running[executor.submit(work, job)] = job
        except BrokenProcessPool:
            lost.append(job)

    def results() -> Iterator[Done]:
        try:
            for job in islice(jobs, ahead):
                start(job)
            while running:
                ended, _ = wait(running, return_when=FIRST_COMPLETED)
                for future in ended:
                    job = running.pop(future)
                    if isinstance(future.exception(), BrokenProcessPool):
                        lost.append(job)
                    else:
                        yield done_of(job, future)
                    for following in islice(jobs, 0 if lost else 1):
                        start(following)
        finally:
            executor.shutdown(wait=False, cancel_futures=True)

    return results(), lost


def done_of(job: Job, future: Any) -> Done:
    """A job's row, or what went wrong, from its future.

    Parameters
    ----------
    job : Job
    future : Future
        Of `concurrent.futures` or of Dask, at its end.

    Returns
    -------
    Done
    """
    error = future.exception()
    if error is None:
        return Done(job, future.result(), "")
    words = str(error).strip().splitlines()
    return Done(job, None, f"{type(error).__name__}: {words[0] if words else 'no reason given'}")


def _alone(job: Job, work: Work) -> Done:
    """A job during which workers died, in a process of its own."""
    with one_thread_each(), ProcessPoolExecutor(1, get_context("spawn")) as executor:
        future = executor.submit(work, job)
        if isinstance(future.exception(), BrokenProcessPool):
            return Done(job, None, DIED)
        return done_of(job, future)


@contextmanager
def one_thread_each() -> Iterator[None]:
    """Processes that are started meanwhile use one thread of linear algebra each."""
    before = {name: os.environ.get(name) for name in THREAD_VARIABLES}
    os.environ.update(dict.fromkeys(THREAD_VARIABLES, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value
