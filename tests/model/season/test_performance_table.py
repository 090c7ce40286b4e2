"""Reading a unit's performance off its table."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model.season.performance_table import (
    build_table,
    trip_temperature,
)
from tests.model.synthetic_unit import WET_BULB, operating_point, synthetic_table

TABLE = synthetic_table()
WET_TABLE = synthetic_table(wet_bulb=(288.6, 290.6, 292.6, 294.6))


def test_grid_points_come_back_exactly():
    outdoor, level = TABLE.outdoor_temperature[:, None], TABLE.level
    exact = operating_point(outdoor, level)
    found = TABLE.at(outdoor, level)
    for name in ("total_capacity", "outdoor_power", "approach", "trip_margin"):
        assert np.allclose(getattr(found, name), getattr(exact, name), rtol=1e-12), name


@given(
    outdoor=st.floats(284.0, 322.0),
    level=st.floats(0.0, 0.6),
    wet_bulb=st.floats(288.6, 294.6),
)
@settings(derandomize=True, deadline=None)
def test_between_grid_points_within_a_few_tenths_of_a_percent(outdoor, level, wet_bulb):
    exact = operating_point(outdoor, level, wet_bulb)
    found = WET_TABLE.at(outdoor, level, wet_bulb)
    assert found.total_capacity == pytest.approx(exact.total_capacity, rel=2e-3)
    assert found.outdoor_power == pytest.approx(exact.outdoor_power, rel=2e-3)
    assert found.total_power == pytest.approx(exact.outdoor_power + exact.indoor_power, rel=2e-3)


def test_array_equals_scalar():
    outdoor, level = np.linspace(285.0, 320.0, 7), np.linspace(0.0, 0.7, 7)
    together = WET_TABLE.at(outdoor, level, 291.3)
    for k in range(7):
        alone = WET_TABLE.at(outdoor[k], level[k], 291.3)
        assert alone.total_capacity == together.total_capacity[k]
        assert alone.approach == together.approach[k]


def test_outside_the_grid_the_edge_is_used():
    assert TABLE.at(250.0, 0.0).total_capacity == TABLE.at(283.15, 0.0).total_capacity
    assert TABLE.at(300.0, 2.0).approach == TABLE.at(300.0, 0.8).approach


def test_samples_go_with_the_first_axis():
    scale = np.array([0.9, 1.0, 1.1])
    table = synthetic_table(scale)
    found = table.at(np.array([[300.0, 305.0]]), np.array([[0.1], [0.2], [0.3]]))
    for k, level in enumerate((0.1, 0.2, 0.3)):
        alone = table.take([k]).at(np.array([300.0, 305.0]), level)
        assert np.allclose(found.total_capacity[k], alone.total_capacity)
    assert np.allclose(table.middle().at(300.0, 0.0).total_capacity, TABLE.at(300.0, 0.0).total_capacity)
    with pytest.raises(ValueError, match="a table of 3 samples requires them along the first axis"):
        table.at(np.array([300.0, 305.0]), 0.1)


def test_trip_temperature_is_where_the_limit_is_crossed():
    """The synthetic limit: outdoor + 11 K + extra reaches 340 K."""
    extra = 9.0 * 0.6 / (1.0 - 0.75 * 0.6)
    assert trip_temperature(TABLE, 0.6)[0] == pytest.approx(340.0 - 11.0 - extra, abs=1e-6)
    assert np.isinf(trip_temperature(TABLE, 0.0)[0])
    everywhere = replace(TABLE, values=TABLE.values - 1e3)
    assert trip_temperature(everywhere, 0.0)[0] == TABLE.outdoor_temperature[0]


def constant_point(value):
    return lambda outdoor, level, wet_bulb: SimpleNamespace(
        **dict.fromkeys(
            (
                "total_capacity",
                "sensible_capacity",
                "outdoor_power",
                "indoor_power",
                "approach",
                "trip_margin",
            ),
            np.full((wet_bulb.size, level.size, outdoor.size), value),
        )
    )


@pytest.mark.parametrize(
    ("outdoor", "level", "value", "message"),
    [
        ([300.0], [0.0, 0.1], 1.0, "outdoor_temperature must be one axis of at least 2 values"),
        ([300.0, 301.0, 303.0], [0.0, 0.1], 1.0, "outdoor_temperature must rise in equal steps"),
        ([300.0, 299.0], [0.0, 0.1], 1.0, "outdoor_temperature must rise in equal steps"),
        ([300.0, 301.0], [0.1, 0.2], 1.0, "level must start at 0, got 0.1"),
        ([300.0, 301.0], [0.0, 0.1], np.nan, "a total_capacity that is not finite"),
    ],
)
def test_grids_and_points_that_cannot_be_are_refused(outdoor, level, value, message):
    with pytest.raises(ValueError, match=message):
        build_table(constant_point(value), outdoor, level, [WET_BULB])


def test_a_wrong_shape_is_refused():
    with pytest.raises(ValueError, match="operating_point must return shape"):
        build_table(
            lambda outdoor, level, wet_bulb: operating_point(
                outdoor, level, wet_bulb, np.ones((2, 3, 1, 1, 1))
            ),
            [300.0, 301.0],
            [0.0, 0.1],
            [WET_BULB],
        )
