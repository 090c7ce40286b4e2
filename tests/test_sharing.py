"""Tests that share what takes long stay on one worker."""

import pytest

from tests.conftest import Together


@pytest.fixture
def scheduler(pytestconfig, monkeypatch):
    monkeypatch.setattr(pytestconfig.option, "tx", ["popen"] * 2)
    return pytestconfig.hook.pytest_xdist_make_scheduler(config=pytestconfig, log=None)


def test_the_scheduler_is_ours_whatever_pytest_and_its_plugins_make_of_marks(scheduler):
    assert isinstance(scheduler, Together)


@pytest.mark.parametrize(
    ("one", "other", "together"),
    [
        ("browser/test_paths.py::test_a", "browser/test_basics.py::test_b[x::y]", True),
        ("dashboard/results/test_match.py::test_a", "dashboard/test_cli.py::test_b", True),
        ("dashboard/web/test_app.py::test_a[1]", "dashboard/web/test_app.py::test_b", True),
        ("model/cycle/test_solve.py::test_a", "model/cycle/test_solve.py::test_a[1-2]", True),
        ("dashboard/web/test_app.py::test_a", "dashboard/test_cli.py::test_b", False),
        ("model/cycle/test_solve.py::test_a", "model/cycle/test_sizing.py::test_a", False),
    ],
)
def test_what_shares_is_on_one_worker(scheduler, one, other, together):
    first, second = (scheduler._split_scope(f"tests/{name}") for name in (one, other))
    assert (first == second) is together
