"""The demo case, its fit and its comparison, worked out once for all tests of the screens."""

from pathlib import Path
from types import SimpleNamespace

import pytest

from calibration.baseline import baseline_of
from calibration.case_file import read_case
from calibration.comparison import compare_visit

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
