"""The demo in bins with prices for condenser, indoor coil and filter, and its costs, worked out once."""

import datetime as dt
from dataclasses import replace
from functools import cache

from calibration.costs.cleaning_interval import IntervalFindings, interval_findings
from tests.calibration.demo_in_bins import DEMO, baseline

ENTRY = replace(
    DEMO.cleaning,
    price=75.0,
    call_out=90.0,
    indoor_coil_price=60.0,
    indoor_coil_rate=0.6,
    indoor_coil_cleaned=dt.date(2024, 8, 12),
    filter_price=12.0,
)
CASE = replace(DEMO, cleaning=ENTRY)


@cache
def found() -> IntervalFindings:
    """Of few draws and five years: joint dates do not depend on the draws."""
    return interval_findings(CASE, baseline(), years=5, draws=8)
