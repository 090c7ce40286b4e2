"""Draws of machines of another structure: repeatable, of many kinds, rated as they are."""

import numpy as np
import pytest

from calibration.studies.foreign.drawn_machine import drawn_foreign_unit, foreign_point
from model.cycle.sizing import rating_conditions


@pytest.fixture(scope="module")
def units():
    return [drawn_foreign_unit(np.random.default_rng(seed)) for seed in range(8)]


def test_draws_are_repeatable_and_differ(units):
    again = drawn_foreign_unit(np.random.default_rng(3))
    assert again.machine == units[3].machine
    assert again.description == units[3].description
    assert len({unit.machine.charge for unit in units}) == len(units)


def test_kinds_of_every_part_are_met(units):
    assert {unit.machine.device for unit in units} == {"valve", "Burnell's orifice", "Leung's orifice"}
    assert len({unit.machine.void for unit in units}) == 2
    assert len({unit.machine.compressor.flow_map is None for unit in units}) == 2


def test_a_machine_does_what_its_maker_prints_within_a_makers_errors(units):
    for unit in units:
        point, _ = foreign_point(unit, rating_conditions())
        # Standard deviations of 4.5 and 5 %: three of them.
        assert float(point.net_capacity[0]) == pytest.approx(unit.description.rated_capacity, rel=0.15)
        assert float(point.eer[0]) == pytest.approx(unit.description.rated_eer, rel=0.16)
