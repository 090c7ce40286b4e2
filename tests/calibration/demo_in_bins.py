"""The demo case with a season of temperature bins, which is quicker than its hours, and its fit."""

from dataclasses import replace
from functools import cache
from pathlib import Path

from calibration.case.file import read_case
from calibration.clean_fit.baseline import Baseline, baseline_of

HOURLY = read_case(Path(__file__).parents[2] / "cases" / "demo.toml")
DEMO = replace(HOURLY, season=replace(HOURLY.season, weather="bins", cooling_hours=1400.0))


@cache
def baseline() -> Baseline:
    """Fit of the clean visit, worked out once for all tests of a process."""
    return baseline_of(DEMO)
