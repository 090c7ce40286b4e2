"""Tests that share what takes long stay on one worker, and there it is worked out once."""

from dataclasses import replace
from pathlib import Path

import pytest

from calibration.clean_fit import baseline
from calibration.clean_fit.baseline import fit_baseline
from calibration.diagnosis import comparison, finding
from tests.conftest import Together
from tests.dashboard.demo_findings import as_found, demo_case
from tests.remembered import PLAIN_FIT, of_a_case, remembered


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


def test_a_finding_is_remembered_by_what_it_depends_on():
    asked = []
    find = remembered(lambda *what, **known: asked.append(what) or len(asked), of_a_case)
    case, visit = demo_case(), as_found()
    moved = replace(case, source=Path("elsewhere.toml"))
    assert find(case, visit, baseline=None) == find(moved, visit, baseline=None) == 1
    dearer = replace(case, cleaning=replace(case.cleaning, price=1.0))
    warmer = replace(visit, supply_db=visit.supply_db + 1e-9)
    assert [find(dearer, visit), find(case, warmer), find(case, visit), find(case, visit)] == [2, 3, 4, 4]
    assert find(case, visit, baseline=None) == 1


def test_every_module_has_the_remembering_one():
    assert finding.find is comparison.find
    assert finding.find.__wrapped__ is not finding.find
    assert baseline.fit_baseline.__wrapped__ is PLAIN_FIT


def test_a_fit_is_remembered_and_a_test_that_asks_itself_gets_its_own():
    case = demo_case()
    one, other = (baseline.baseline_of(replace(case, source=None)) for _ in range(2))
    assert one is other
    assert fit_baseline(case.unit, case.clean_visits, case.instruments) is not one
    assert fit_baseline is PLAIN_FIT
