"""Rows worked out on a Dask cluster that is running already.

The scheduler gives a job of a worker that died to another one; after three deaths at one job it is given
up (Dask's own limit). Only a few jobs a thread of the cluster are under way, and every result is let go as
soon as it is here. Workers need this program installed, and folders of weather files under the same paths.
Dask's nanny starts each worker with one thread of linear algebra; one started without a nanny needs
OMP_NUM_THREADS=1 and the like in its environment, or it waits for itself.

References
----------
Dask.distributed, documentation of `Client.submit` and of worker failure.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Any

from calibration.fleet.jobs import Job
from calibration.fleet.workers import AHEAD, DIED, Done, Work, done_of

TIMEOUT = "20s"
"""Time in which the scheduler must answer."""


def worked_out_by_cluster(jobs: Iterable[Job], work: Work, address: str) -> Iterator[Done]:
    """Results of jobs as they come, from the workers of a cluster.

    Parameters
    ----------
    jobs : iterable of Job
        Taken as workers become free.
    work : callable
        A function of a module that the workers have.
    address : str
        Of the scheduler, such as tcp://10.0.0.5:8786.

    Yields
    ------
    Done
        In the order in which they end; every job once.

    Raises
    ------
    ValueError
        When Dask is not installed, or no scheduler answers there.
    """
    try:
        from distributed import Client, as_completed
        from distributed.scheduler import KilledWorker
    except ImportError:
        raise ValueError("--scheduler: needs Dask; install coiltoll[cluster]") from None
    try:
        client = Client(address, timeout=TIMEOUT, set_as_default=False)
    except (OSError, ValueError) as error:
        raise ValueError(f"--scheduler: no scheduler answers at {address} ({type(error).__name__})") from None
    remaining = iter(jobs)
    with client:
        threads = sum(client.nthreads().values())
        running: dict[Any, tuple[Job, Any]] = {}

        def submit(job: Job) -> Any:
            future = client.submit(work, job, key=f"coiltoll-{job.key}", pure=True)
            running[future.key] = (job, future)
            return future

        first = [submit(job) for job in islice(remaining, max(threads, 1) * AHEAD)]
        ended = as_completed(first, loop=client.loop)
        for future in ended:
            job, _ = running.pop(future.key)
            killed = future.status == "error" and isinstance(future.exception(), KilledWorker)
            yield Done(job, None, DIED) if killed else done_of(job, future)
            del future
            for following in islice(remaining, 1):
                ended.add(submit(following))
