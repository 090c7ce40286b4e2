"""A made-up unit with a physical shape for the tests of season, toll and upkeep: closed forms, no cycle behind it.

Capacity falls and power rises with the outdoor temperature; fouling acts like hotter outdoor air, in proportion to
severity / (1 - severity), as a starved condenser does. The numbers are invented.
"""

from types import SimpleNamespace

import numpy as np

from model.performance_table import PerformanceTable, build_table

RATED_CAPACITY = 8800.0
RATED_POWER = 2500.0
DESIGN = 308.15


def operating_point(outdoor_temperature, severity, wet_bulb=292.6, scale=1.0):
    """Closed-form operating point, SI; `scale` may carry samples on a leading axis."""
    extra = 9.0 * severity / (1.0 - 0.75 * severity)
    hotter = outdoor_temperature + extra - DESIGN
    capacity = scale * RATED_CAPACITY * (1.0 - 0.008 * hotter) * (1.0 + 0.03 * (wet_bulb - 292.6))
    power = RATED_POWER * (1.0 + 0.022 * hotter) * (1.0 + 0.004 * (wet_bulb - 292.6))
    sensible = capacity * (0.75 - 0.04 * (wet_bulb - 292.6))
    return SimpleNamespace(
        total_capacity=capacity,
        sensible_capacity=sensible,
        outdoor_power=power + 0.0 * capacity,
        indoor_power=np.full(np.shape(capacity), 400.0),
        approach=11.0 + extra + 0.0 * capacity,
        trip_margin=340.0 - (outdoor_temperature + 11.0 + extra) + 0.0 * capacity,
    )


def synthetic_table(scale=1.0, wet_bulb=(292.6,)) -> PerformanceTable:
    """The unit on a grid, one sample or as many as `scale` has."""
    scales = np.atleast_1d(np.asarray(scale, dtype=float)).reshape(-1, 1, 1, 1)
    return build_table(
        lambda outdoor, fouling, bulb: operating_point(outdoor, fouling, bulb, scales),
        np.arange(283.15, 323.2, 2.5),
        np.linspace(0.0, 0.8, 17),
        np.asarray(wet_bulb),
    )
