"""Work is shared among processes: each job once, a failure or a dead worker costs no other unit its row."""

import os

import pytest

from calibration.fleet.workers import AHEAD, DIED, THREAD_VARIABLES, worked_out
from tests.calibration.fleet import pretended


def rows(work, workers, count=8):
    done = list(worked_out([pretended.job(number) for number in range(count)], work, workers))
    assert sorted(one.job.key for one in done) == [f"key {number}" for number in range(count)]
    return {one.job.key: one for one in done}


@pytest.mark.parametrize("workers", [1, 2])
def test_every_job_comes_back_once(workers):
    done = rows(pretended.work, workers)
    assert all(one.row == pretended.work(one.job) and not one.problem for one in done.values())


@pytest.mark.parametrize("workers", [1, 2])
def test_a_job_that_fails_says_why_and_stops_no_other(workers):
    done = rows(pretended.work_that_fails_at_three, workers)
    assert done["key 3"].problem == "ZeroDivisionError: three is broken"
    assert sum(one.row is not None for one in done.values()) == 7


def test_each_process_has_one_thread_of_linear_algebra_and_this_one_its_own(monkeypatch):
    for name in THREAD_VARIABLES:
        monkeypatch.setenv(name, "4")
    done = rows(pretended.work_that_tells_its_threads, 2, count=4)
    assert {one.row[name] for one in done.values() for name in THREAD_VARIABLES} == {"1"}
    assert {os.environ[name] for name in THREAD_VARIABLES} == {"4"}


def test_what_a_dead_worker_was_at_is_done_by_another(tmp_path, monkeypatch):
    monkeypatch.setenv("COILTOLL_TEST_MARK", str(tmp_path / "mark"))
    done = rows(pretended.work_that_kills_its_worker_once, 2)
    assert (tmp_path / "mark").exists()
    assert all(one.row is not None for one in done.values())


def test_a_job_at_which_workers_die_is_given_up_and_all_others_are_done():
    done = rows(pretended.work_that_kills_its_worker, 2)
    assert done["key 3"].problem == DIED
    assert sum(one.row is not None for one in done.values()) == 7


def test_jobs_are_taken_only_as_workers_become_free():
    taken = []

    def jobs():
        for number in range(50):
            taken.append(number)
            yield pretended.job(number)

    for count, _ in enumerate(worked_out(jobs(), pretended.work, 2), start=1):
        assert len(taken) <= count + 2 * AHEAD
    assert len(taken) == 50
