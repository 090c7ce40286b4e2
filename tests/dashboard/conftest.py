"""The demo case, its fit and its comparison, worked out once for all tests of the screens."""

from pathlib import Path
from types import SimpleNamespace

import pytest

from calibration.case.file import read_case
from calibration.clean_fit.baseline import baseline_of
from calibration.costs.case_costs import Costs, case_costs
from calibration.diagnosis.comparison import compare_visit
from tests.dashboard.high_head import write_case, write_readings

CASES = Path(__file__).resolve().parent.parent.parent / "cases"


@pytest.fixture(scope="session")
def demo() -> SimpleNamespace:
    """`case`, `baseline`, the as-found `visit` and its `comparison`."""
    return _worked_out(CASES / "demo.toml")


def _worked_out(path: Path) -> SimpleNamespace:
    case = read_case(path)
    baseline = baseline_of(case)
    (visit,) = case.found_visits
    return SimpleNamespace(
        case=case, baseline=baseline, visit=visit, comparison=compare_visit(case, visit, baseline)
    )


def _priced(one: SimpleNamespace) -> Costs:
    known = {one.visit.label: one.comparison.finding}
    return case_costs(one.case, one.baseline, draws=6, findings=known)


@pytest.fixture(scope="session")
def priced(demo) -> Costs:
    """What the demo's fouling costs, from few draws."""
    return _priced(demo)


@pytest.fixture(scope="session")
def gassy(tmp_path_factory) -> SimpleNamespace:
    """The same as `demo`, and `costs`, of a unit with non-condensables: high head, clean coil."""
    one = _worked_out(write_case(tmp_path_factory.mktemp("gassy"), "non_condensables"))
    one.costs = _priced(one)
    return one


@pytest.fixture(scope="session")
def suspect(tmp_path_factory) -> SimpleNamespace:
    """The same as `demo` with an air side that shows half of the capacity gone, unlike the others."""
    read = {"supply_db": 64.0, "supply_wb": 60.0}
    return _worked_out(write_readings(tmp_path_factory.mktemp("suspect") / "warm.toml", read))


@pytest.fixture
def quick_costs(priced, monkeypatch) -> Costs:
    """The same in place of the many draws of a report."""
    monkeypatch.setattr("dashboard.report.cost_sections.case_costs", lambda *arguments: priced)
    return priced
