"""Work of a fleet that takes no time, for the tests of how work is shared; workers find it by its name."""

import os
import signal
from pathlib import Path

import numpy as np

from calibration.fleet.jobs import Fleet, Job
from calibration.fleet.workers import THREAD_VARIABLES


def job(number: int, text: str = "text") -> Job:
    return Job(f"unit {number}", "site", "", text, "/nowhere", "", f"key {number}", "")


def fleet(count: int) -> Fleet:
    return Fleet(tuple(job(number) for number in range(count)), ())


def work(one: Job) -> dict:
    return {
        "unit": one.unit,
        "site": one.site,
        "problem": "",
        "money_year": float(one.key.partition("|")[0].split()[1]),
    }


def work_that_fails_at_three(one: Job) -> dict:
    if one.key == "key 3":
        raise ZeroDivisionError("three is broken")
    return work(one)


def work_that_kills_its_worker_once(one: Job) -> dict:
    """Ends its own process at unit 3, the first time; `folder` says where it remembers that."""
    mark = Path(os.environ["COILTOLL_TEST_MARK"])
    if one.key == "key 3" and not mark.exists():
        mark.write_text("killed")
        os.kill(os.getpid(), signal.SIGKILL)
    return work(one)


def work_that_tells_its_threads(one: Job) -> dict:
    """Threads of linear algebra of the process that does it, as its environment says."""
    return {"unit": one.unit, **{name: os.environ.get(name) for name in THREAD_VARIABLES}}


def work_that_kills_its_worker(one: Job) -> dict:
    if one.key == "key 3":
        os.kill(os.getpid(), signal.SIGKILL)
    return work(one)


def point(level: float) -> dict:
    """A level two years after a cleaning, as the row of a first look holds it."""
    return {
        "visit": "found",
        "cleaned": "2024-05-01",
        "found": "2026-05-01",
        "value": level,
        "low": level - 0.02,
        "high": level + 0.02,
    }


def visits(value: float) -> list[float]:
    """What clean visits say that put every parameter at a value [spreads], as the row of a first step."""
    from calibration.clean_fit.parameters import SPREADS  # which the workers can do without

    information = np.diag(20.0 / SPREADS**2)
    upper = np.triu_indices(SPREADS.size)
    return [*(information @ (value * SPREADS)).tolist(), *information[upper].tolist()]
