"""A unit's own numbers hang together: limits above where it runs, a design point that it reaches."""

import numpy as np
import pytest

from model.cycle.sizing import nominal_unit, rating_conditions
from model.cycle.solve import solve


@pytest.mark.parametrize("expansion", ["TXV", "fixed orifice"])
def test_a_unit_starts_near_where_it_runs_at_its_rating(expansion):
    unit = nominal_unit("R410A", 10_500.0, 3.5, expansion=expansion)
    point = solve(unit, rating_conditions())
    assert float(point.evaporating_temperature) == pytest.approx(float(unit.start.evaporating), abs=3.0)
    approach = float(point.condensing_temperature) - 308.15
    assert approach == pytest.approx(float(np.asarray(unit.start.condensing_approach)), abs=3.0)


def test_limits_lie_outside_normal_running():
    unit = nominal_unit("R410A", 10_500.0, 3.5)
    point = solve(unit, rating_conditions())
    assert float(np.asarray(unit.high_pressure_limit)) > 1.2 * float(point.liquid_pressure)
    assert float(np.asarray(unit.discharge_limit)) > float(point.discharge_temperature) + 20.0
