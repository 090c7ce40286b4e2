"""The same on a Dask cluster on this machine's loopback, with a worker killed in between."""

import os
import signal

import pytest

from calibration.fleet.cluster import worked_out_by_cluster
from calibration.fleet.workers import THREAD_VARIABLES
from tests.calibration.fleet import pretended

distributed = pytest.importorskip("distributed")


@pytest.fixture
def cluster(tmp_path, monkeypatch):
    for name in THREAD_VARIABLES:
        monkeypatch.delenv(name, raising=False)
    settings = {"host": "127.0.0.1", "dashboard_address": None, "local_directory": str(tmp_path)}
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, **settings) as found:
        yield found


def test_two_workers_one_of_them_killed(cluster):
    victim, _ = pids(cluster)
    jobs = [pretended.job(number) for number in range(30)]
    done = []
    for one in worked_out_by_cluster(jobs, pretended.work, cluster.scheduler_address):
        done.append(one)
        if len(done) == 5:
            os.kill(victim, signal.SIGKILL)
    assert sorted(one.job.key for one in done) == sorted(one.key for one in jobs)
    assert all(one.row == pretended.work(one.job) for one in done)


def pids(cluster):
    with distributed.Client(cluster, set_as_default=False) as client:
        return list(client.run(os.getpid).values())


def test_each_worker_has_one_thread_of_linear_algebra(cluster):
    jobs = [pretended.job(number) for number in range(4)]
    work = pretended.work_that_tells_its_threads
    done = list(worked_out_by_cluster(jobs, work, cluster.scheduler_address))
    assert {one.row[name] for one in done for name in THREAD_VARIABLES} == {"1"}


def test_a_job_that_fails_says_why(cluster):
    jobs = [pretended.job(number) for number in range(5)]
    done = {
        one.job.key: one
        for one in worked_out_by_cluster(jobs, pretended.work_that_fails_at_three, cluster.scheduler_address)
    }
    assert done["key 3"].problem == "ZeroDivisionError: three is broken"
    assert sum(one.row is not None for one in done.values()) == 4


def test_an_address_where_no_scheduler_answers(monkeypatch):
    monkeypatch.setattr("calibration.fleet.cluster.TIMEOUT", "1s")
    with pytest.raises(ValueError, match="--scheduler: no scheduler answers at tcp:"):
        list(worked_out_by_cluster([], pretended.work, "tcp://127.0.0.1:9"))
