"""Invented units and the visits to them: what is drawn is possible, and perfect meters read the truth."""

import numpy as np
import pytest

from calibration.case.meters import LIMIT_TO_STANDARD, Instruments, standard_accuracies
from calibration.studies.true_units import (
    another_day,
    drawn_unit,
    drawn_weather,
    read_visit,
    true_point,
    with_readings_only,
)
from model.cycle.operating_point import CONVERGED


def test_a_drawn_unit_runs_in_drawn_weather_and_the_state_decides_which():
    for seed in range(4):
        true, weather = drawn_unit(np.random.default_rng(seed)), drawn_weather(np.random.default_rng(seed))
        assert float(true_point(true, weather).residual) < CONVERGED
    again = drawn_unit(np.random.default_rng(3))
    assert again.description == true.description
    assert drawn_unit(np.random.default_rng(4)).description != true.description


def test_another_day_moves_the_air_a_little_and_not_the_nameplate():
    true = drawn_unit(np.random.default_rng(1))
    other = another_day(true, np.random.default_rng(2))
    assert other.description == true.description
    weather = drawn_weather(np.random.default_rng(1))
    first, second = (float(true_point(one, weather).net_capacity) for one in (true, other))
    assert first != second
    assert second == pytest.approx(first, rel=0.1)


def test_every_reading_lies_between_the_limits_of_its_meter():
    draw = np.random.default_rng(7)
    true, weather = drawn_unit(draw), drawn_weather(draw)
    point = true_point(true, weather)
    limits = standard_accuracies(read_visit(true, weather, point, draw).readings(), Instruments())
    for _ in range(20):
        read = read_visit(true, weather, point, draw).readings()
        for name, exact in (
            ("suction_pressure", point.suction_pressure),
            ("supply_db", point.supply_temperature),
        ):
            assert abs(read[name] - float(exact)) <= limits[name] / LIMIT_TO_STANDARD * 1.01
        assert read["supply_wb"] <= read["supply_db"]


def test_readings_that_are_left_out_are_gone():
    draw = np.random.default_rng(8)
    true, weather = drawn_unit(draw), drawn_weather(draw)
    visit = read_visit(true, weather, true_point(true, weather), draw)
    some = with_readings_only(visit, frozenset({"outdoor_db", "liquid_pressure"}))
    assert set(some.readings()) == {"outdoor_db", "liquid_pressure"}
    assert some.coil == visit.coil
