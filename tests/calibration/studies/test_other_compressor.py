"""Compressors of another form, as maps, in the place of a unit's own."""

import numpy as np
import pytest

from calibration.studies import coverage, true_units
from calibration.studies.other_compressor import other_compressor
from model.components.compressor import map_value
from model.cycle.sizing import nominal_unit
from model.properties.refrigerant import refrigerant

UNIT = nominal_unit("R410A", 10_000.0, 3.4)
RANGES = [true_units.MAP_RANGE, coverage.MAP_RANGE]


def flow_of(machine, evaporating: float, condensing: float) -> float:
    return float(
        map_value(machine.rating_map.flow_coefficients, np.asarray(evaporating), np.asarray(condensing))
    )


@pytest.mark.parametrize("covers", RANGES)
@pytest.mark.parametrize("seed", range(4))
def test_it_pumps_near_the_rating_what_the_old_machine_does(covers, seed):
    machine = other_compressor(UNIT, np.random.default_rng(seed), covers)
    old, fluid = UNIT.compressor, refrigerant("R410A")
    low, high = fluid.dew_pressure(np.array([281.15, 317.15]))
    filled = 1.0 - float(np.asarray(old.leakage_slope)) * (float(high / low) - 1.0)
    density = float(fluid.vapour(low, np.asarray(10.0)).density)
    expected = float(np.asarray(old.displacement)) * filled * density
    # Both lose filling at other rates on either side of a ratio of 3; this one is 2.6.
    assert flow_of(machine, 8.0, 44.0) == pytest.approx(expected, rel=0.04)


@pytest.mark.parametrize("covers", RANGES)
def test_flow_falls_with_condensing_and_rises_with_evaporating_temperature(covers):
    machine = other_compressor(UNIT, np.random.default_rng(1), covers)
    assert flow_of(machine, 8.0, 35.0) > flow_of(machine, 8.0, 50.0)
    assert flow_of(machine, 12.0, 44.0) > flow_of(machine, 4.0, 44.0)


def test_another_draw_is_another_machine_and_the_same_draw_the_same():
    machines = [other_compressor(UNIT, np.random.default_rng(seed), RANGES[0]) for seed in (1, 1, 2)]
    assert machines[0].rating_map == machines[1].rating_map
    assert machines[0].rating_map != machines[2].rating_map
    assert machines[0].displacement_scale == 1.0
