"""Slopes by finite differences: one number a step further in each column, and slopes of known functions."""

import numpy as np
import pytest

from calibration.clean_fit.parameters import SPREADS
from calibration.clean_fit.sensitivities import (
    PARAMETER_STEPS,
    READING_STEP,
    SMALLEST_SETTING_STEP,
    carried_spread,
    directions,
    moved_readings,
    setting_steps,
    slopes,
    stepped,
)


def test_each_column_moves_one_number():
    table = stepped(np.array([1.0, 2.0]), np.array([0.1, -0.2]))
    assert table.tolist() == [[1.0, 1.1, 1.0], [2.0, 2.0, 1.8]]
    later = stepped(np.array([1.0, 2.0]), np.array([0.5, 0.5]), first=2, columns=5)
    assert later.tolist() == [[1.0, 1.0, 1.5, 1.0, 1.0], [2.0, 2.0, 2.0, 2.5, 2.0]]


def test_many_places_at_once_are_each_alone():
    places, steps = np.array([[1.0, 5.0], [2.0, 6.0]]), np.array([0.1, 0.2])
    table = stepped(places, steps)
    for number in range(2):
        assert np.array_equal(table[..., number], stepped(places[:, number], steps))


def test_slopes_of_a_plane_and_of_a_product():
    values, steps = np.array([2.0, 3.0]), np.array([1e-6, -1e-6])
    table = stepped(values, steps)
    assert slopes(4.0 * table[0] - 7.0 * table[1], steps) == pytest.approx([4.0, -7.0], rel=1e-8)
    both = slopes(np.stack([table[0] * table[1], table[0] ** 2], axis=-1), steps)
    assert both == pytest.approx(np.array([[3.0, 4.0], [2.0, 0.0]]), abs=1e-5)


def test_spread_of_a_sum_counts_the_correlation():
    steps = np.array([0.01, 0.01])
    table = stepped(np.zeros(2), steps)
    for correlation, expected in ((0.0, 5.0), (1.0, 7.0), (-1.0, 1.0)):
        covariance = np.array([[9.0, 12.0 * correlation], [12.0 * correlation, 16.0]])
        assert carried_spread(table.sum(axis=0), steps, covariance) == pytest.approx(expected)


def test_humidities_move_towards_drier_air_and_an_exact_setting_moves_too():
    names = ("return_db", "return_wb", "supply_rh")
    assert directions(names).tolist() == [1.0, -1.0, -1.0]
    assert setting_steps(names, np.array([0.5, 0.5, 0.0])) == pytest.approx(
        [0.05, -0.05, -SMALLEST_SETTING_STEP]
    )


def test_readings_and_parameters_move_together():
    values = {"outdoor_db": 308.0, "return_wb": 292.0, "indoor_power": 400.0}
    moved = moved_readings(values, {"outdoor_db": 0.2, "return_wb": 0.4}, np.zeros(SPREADS.size))
    columns = 1 + 2 + SPREADS.size
    assert moved.parameters.shape == (SPREADS.size, columns)
    assert np.ptp(moved.readings["indoor_power"]) == 0.0
    assert moved.readings["return_wb"][2] == pytest.approx(292.0 - READING_STEP * 0.4)
    assert np.array_equal(moved.parameters[:, 3:], np.diag(PARAMETER_STEPS))
    figure = 3.0 * moved.readings["outdoor_db"] - moved.readings["return_wb"] + 5.0 * moved.parameters[0]
    by_reading, by_parameter = moved.carried(figure)
    assert by_reading == pytest.approx([3.0 * 0.2, 1.0 * 0.4 * -1.0], abs=1e-9)
    assert by_parameter == pytest.approx([5.0, *np.zeros(SPREADS.size - 1)], abs=1e-9)
