"""The demo case, its fit and its comparison, worked out once for all tests of the screens."""

from pathlib import Path
from types import SimpleNamespace

import pytest

from calibration.case.file import read_case
from calibration.clean_fit.baseline import baseline_of
from calibration.diagnosis.comparison import compare_visit
from dashboard.results.season_cost import Costs, case_costs

CASES = Path(__file__).resolve().parent.parent.parent / "cases"


@pytest.fixture(scope="session")
def demo() -> SimpleNamespace:
    """`case`, `baseline`, the as-found `visit` and its `comparison`."""
    case = read_case(CASES / "demo.toml")
    baseline = baseline_of(case)
    (visit,) = case.found_visits
    return SimpleNamespace(
        case=case, baseline=baseline, visit=visit, comparison=compare_visit(case, visit, baseline)
    )


@pytest.fixture(scope="session")
def priced(demo) -> Costs:
    """What the demo's fouling costs, from few draws."""
    return case_costs(demo.case, demo.baseline, draws=6)


@pytest.fixture
def quick_costs(priced, monkeypatch) -> Costs:
    """The same in place of the many draws of a report."""
    monkeypatch.setattr("dashboard.report.cost_sections.case_costs", lambda *arguments: priced)
    return priced
