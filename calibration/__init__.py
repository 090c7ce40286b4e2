"""Everything inferred from readings: case files, measured performance, clean-coil fit, faults, costs.

The names below are meant for others and keep their meaning: `from calibration import read_case, find`.
Each is read from its module at first use, so that importing the package costs nothing.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from calibration.case.errors import CaseError as CaseError
    from calibration.case.file import read_case as read_case
    from calibration.case.file import write_case as write_case
    from calibration.case.records import Case as Case
    from calibration.case.records import UnitDescription as UnitDescription
    from calibration.case.records import Visit as Visit
    from calibration.clean_fit.baseline import Baseline as Baseline
    from calibration.clean_fit.baseline import baseline_of as baseline_of
    from calibration.clean_fit.prediction import Prediction as Prediction
    from calibration.clean_fit.prediction import predicted as predicted
    from calibration.costs.case_costs import Costs as Costs
    from calibration.costs.case_costs import case_costs as case_costs
    from calibration.costs.recommendation import Recommendation as Recommendation
    from calibration.costs.recommendation import recommendation as recommendation
    from calibration.diagnosis.comparison import Comparison as Comparison
    from calibration.diagnosis.comparison import compare_visit as compare_visit
    from calibration.diagnosis.finding import Finding as Finding
    from calibration.diagnosis.finding import find as find
    from calibration.estimate import Estimate as Estimate
    from calibration.fleet.jobs import fleet_of as fleet_of
    from calibration.fleet.ranking import ranked as ranked
    from calibration.fleet.run import run_fleet as run_fleet
    from calibration.measured.performance import MeasuredPerformance as MeasuredPerformance
    from calibration.measured.performance import measured_performance as measured_performance

HOMES = {
    "Baseline": "calibration.clean_fit.baseline",
    "Case": "calibration.case.records",
    "CaseError": "calibration.case.errors",
    "Comparison": "calibration.diagnosis.comparison",
    "Costs": "calibration.costs.case_costs",
    "Estimate": "calibration.estimate",
    "Finding": "calibration.diagnosis.finding",
    "MeasuredPerformance": "calibration.measured.performance",
    "Prediction": "calibration.clean_fit.prediction",
    "Recommendation": "calibration.costs.recommendation",
    "UnitDescription": "calibration.case.records",
    "Visit": "calibration.case.records",
    "baseline_of": "calibration.clean_fit.baseline",
    "case_costs": "calibration.costs.case_costs",
    "compare_visit": "calibration.diagnosis.comparison",
    "find": "calibration.diagnosis.finding",
    "fleet_of": "calibration.fleet.jobs",
    "measured_performance": "calibration.measured.performance",
    "predicted": "calibration.clean_fit.prediction",
    "ranked": "calibration.fleet.ranking",
    "read_case": "calibration.case.file",
    "recommendation": "calibration.costs.recommendation",
    "run_fleet": "calibration.fleet.run",
    "write_case": "calibration.case.file",
}
"""Module of each name."""

__all__ = [
    "Baseline",
    "Case",
    "CaseError",
    "Comparison",
    "Costs",
    "Estimate",
    "Finding",
    "MeasuredPerformance",
    "Prediction",
    "Recommendation",
    "UnitDescription",
    "Visit",
    "baseline_of",
    "case_costs",
    "compare_visit",
    "find",
    "fleet_of",
    "measured_performance",
    "predicted",
    "ranked",
    "read_case",
    "recommendation",
    "run_fleet",
    "write_case",
]


def __getattr__(name: str) -> object:
    """The object of a public name, from its module."""
    if name not in HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(HOMES[name]), name)


def __dir__() -> list[str]:
    """The public names."""
    return sorted(__all__)
