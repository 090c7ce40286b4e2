"""Part load of staged and variable-speed units against the bin method of AHRI 210/240 done by hand."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model.cycle.boundary import Conditions
from model.cycle.sizing import nominal_unit
from model.season.cycle_table import table_of_speeds
from model.season.load import ahri_load, given_load
from model.season.part_load import ability, part_load_factor, use
from model.season.performance_table import Performance, build_table
from model.season.simulation import Running, hourly_season, season_totals
from model.season.weather_year import AHRI_BIN_FRACTION, AHRI_BIN_TEMPERATURE, bin_year, hourly_year
from tests.model.synthetic_unit import DESIGN, RATED_CAPACITY, WET_BULB, synthetic_setting, synthetic_table

# An invented two-stage unit: capacity [W] and power [W] at 82 and 95 degF of the high stage (tests B2, A2),
# at 67 and 82 degF of the low one (tests F1 and B1), as Appendix M1 asks for them.
HIGH = {"capacity": (9900.0, 9300.0), "power": (2650.0, 3120.0)}
LOW = {"capacity": (7250.0, 6800.0), "power": (1420.0, 1700.0)}
CD = 0.20


def line(at, first, second, degrees):
    """Straight line through two test points, temperatures in degF."""
    return at[0] + (at[1] - at[0]) * (degrees - first) / (second - first)


def stage_table(values, first, second):
    """Table of one stage with the standard's straight lines."""

    def point(outdoor, level, wet_bulb):
        degrees = outdoor * 1.8 - 459.67 + 0.0 * level + 0.0 * wet_bulb
        capacity = line(values["capacity"], first, second, degrees)
        return Performance(
            total_capacity=capacity,
            sensible_capacity=0.75 * capacity,
            outdoor_power=line(values["power"], first, second, degrees),
            indoor_power=0.0 * degrees,
            approach=15.0 + 0.0 * degrees,
            trip_margin=20.0 + 0.0 * degrees,
        )

    grid = np.linspace(AHRI_BIN_TEMPERATURE[0], AHRI_BIN_TEMPERATURE[-1], 15)
    return build_table(point, grid, [0.0, 1.0], [WET_BULB])


def two_stages():
    return replace(stage_table(HIGH, 82, 95), slower=(stage_table(LOW, 67, 82),))


def seasonal_cop(table, rated_capacity, running):
    year = bin_year(1000.0)
    load = ahri_load(year.temperature, rated_capacity)
    hourly = hourly_season(table, year, load, running=running)
    totals = season_totals(hourly, table, year, load, 0.0)
    return float(totals.cooling.sum() / totals.energy.sum())


def two_stage_by_hand(rated_capacity):
    """Seasonal efficiency bin by bin: Appendix M1, 4.1.3.1, 4.1.3.2 and 4.1.3.4 (from memory)."""
    cooling = energy = 0.0
    for share, degrees in zip(AHRI_BIN_FRACTION, (67, 72, 77, 82, 87, 92, 97, 102), strict=True):
        building = (degrees - 65.0) / (95.0 - 65.0) * rated_capacity / 1.1
        q1, e1 = (line(LOW[name], 67, 82, degrees) for name in ("capacity", "power"))
        q2, e2 = (line(HIGH[name], 82, 95, degrees) for name in ("capacity", "power"))
        if building <= q1:
            x1 = building / q1
            cooling += x1 * q1 * share
            energy += x1 * e1 / (1.0 - CD * (1.0 - x1)) * share
        elif building < q2:
            x1 = (q2 - building) / (q2 - q1)
            cooling += (x1 * q1 + (1.0 - x1) * q2) * share
            energy += (x1 * e1 + (1.0 - x1) * e2) * share
        else:
            cooling += q2 * share
            energy += e2 * share
    return cooling / energy


@pytest.mark.parametrize("oversize", [0.8, 1.0, 1.6])
def test_two_stages_against_the_bin_method_by_hand(oversize):
    """All three cases of the standard are met at the sizes tried; 1.6 leaves the hottest bins short."""
    rated = oversize * line(HIGH["capacity"], 82, 95, 95.0)
    found = seasonal_cop(two_stages(), rated, Running(CD))
    assert found == pytest.approx(two_stage_by_hand(rated), rel=1e-9)


def test_variable_speed_against_the_bin_method_by_hand():
    """Appendix M1, 4.1.4.2 (from memory): between two speeds EER is a straight line over the capacity."""
    table, rated = two_stages(), line(HIGH["capacity"], 82, 95, 95.0)
    cooling = energy = 0.0
    for share, degrees in zip(AHRI_BIN_FRACTION, (67, 72, 77, 82, 87, 92, 97, 102), strict=True):
        building = (degrees - 65.0) / 30.0 * rated / 1.1
        q1, e1 = (line(LOW[name], 67, 82, degrees) for name in ("capacity", "power"))
        q2, e2 = (line(HIGH[name], 82, 95, degrees) for name in ("capacity", "power"))
        if building <= q1:
            watts = building / q1 * e1 / (1.0 - CD * (1.0 - building / q1))
        else:
            given = min(building, q2)
            watts = given / (q1 / e1 + (q2 / e2 - q1 / e1) / (q2 - q1) * (given - q1))
        cooling, energy = cooling + min(building, q2) * share, energy + watts * share
    found = seasonal_cop(table, rated, Running(CD, between_speeds="varies"))
    assert found == pytest.approx(cooling / energy, rel=1e-9)


def test_part_load_factor_at_its_ends():
    """AHRI 210/240: PLF = 1 - Cd (1 - X)."""
    assert part_load_factor(1.0, 0.25) == 1.0
    assert part_load_factor(0.0, 0.25) == 0.75
    assert part_load_factor(0.5, 0.20) == pytest.approx(0.9)


@pytest.mark.parametrize("between", ["alternates", "varies"])
def test_two_equal_stages_are_one_speed(between):
    single, setting = synthetic_table(), synthetic_setting(design_load=11000.0)
    double = replace(single, slower=(single,))
    for level in (0.0, 0.45, 0.8):
        one, two = (
            hourly_season(table, setting.year, setting.load, level, running=Running(between_speeds=between))
            for table in (single, double)
        )
        for name in ("capacity", "served", "lost", "run_fraction", "power", "tripped"):
            assert np.allclose(getattr(one, name), getattr(two, name))


def test_a_huge_load_means_full_speed():
    table = two_stages()
    year = hourly_year(np.full(8760, DESIGN))
    for between in ("alternates", "varies"):
        hourly = hourly_season(
            table, year, given_load(np.full(8760, 1e6)), running=Running(between_speeds=between)
        )
        full = table.at(DESIGN, 0.0)
        assert np.allclose(hourly.power, full.total_power)
        assert np.allclose(hourly.capacity, full.total_capacity)
        assert np.allclose(hourly.run_fraction, 1.0)


@settings(derandomize=True, deadline=None, max_examples=60)
@given(
    loads=st.lists(st.floats(0.0, 1.3), min_size=1, max_size=6),
    ratios=st.lists(st.floats(0.2, 0.95), min_size=1, max_size=3),
    coefficient=st.floats(0.0, 0.5),
    between=st.sampled_from(["alternates", "varies"]),
)
def test_time_adds_up_and_cooling_is_what_was_served(loads, ratios, coefficient, between):
    """Without cycling losses the speeds' capacities by their time add up to what was served."""
    sizes = [*sorted(set(ratios)), 1.0]
    points = [constant_point(size * RATED_CAPACITY, size**1.4 * 2500.0) for size in sizes]
    wanted = np.array(loads) * RATED_CAPACITY
    able = ability(points, wanted, between_speeds=between)
    served = np.minimum(wanted, able.capacity)
    lossless = use(points, able, served, 0.0, between)
    met = use(points, able, served, coefficient, between)
    given_by_speed = lossless.shares * np.array(sizes)[:, None] * RATED_CAPACITY
    assert np.allclose(given_by_speed.sum(axis=0), served, rtol=1e-9, atol=1e-6)
    assert np.all((met.run >= 0.0) & (met.run <= 1.0 + 1e-12))
    assert np.all(met.run >= lossless.run - 1e-12)
    assert np.all(met.power >= lossless.power - 1e-9)
    if between == "varies":
        staged = use(points, able, served, 0.0).power
        assert np.all(lossless.power <= staged + 1e-6)  # power rises ever more steeply with the speed


def constant_point(capacity, power, trip_margin=10.0):
    one = np.ones(1)
    return Performance(
        capacity * one, 0.7 * capacity * one, power * one, 0.0 * one, 10.0 * one, trip_margin * one
    )


def test_stages_that_trip():
    """The low stage runs on where it is enough; where the high one is asked for, the unit is off."""
    points = [constant_point(6000.0, 1500.0), constant_point(9000.0, 3000.0, trip_margin=-5.0)]
    wanted = np.array([0.0, 4000.0, 8000.0])
    able = ability(points, wanted)
    assert able.tripped.tolist() == [False, False, True]
    assert able.capacity.tolist() == [9000.0, 6000.0, 0.0]
    both = ability([constant_point(6000.0, 1500.0, -1.0), points[1]], wanted)
    assert both.tripped.tolist() == [False, True, True]


def test_a_drive_slows_down_to_where_it_does_not_trip():
    """Margins of 10 and -5 cross zero two thirds of the way up."""
    points = [constant_point(6000.0, 1500.0), constant_point(9000.0, 3000.0, trip_margin=-5.0)]
    able = ability(points, np.array([8500.0]), between_speeds="varies")
    assert not able.tripped[0]
    assert able.capacity[0] == pytest.approx(8000.0)


def test_a_blocked_face_costs_less_at_half_speed():
    """45 % blocked at 35 degC: the loss of EER of the model's own 10 kW unit, full and half speed.

    Half the flow through the same coil stands closer to the outdoor air, and that distance is what a blocked
    face widens.
    """
    unit, room = nominal_unit("R410A", 10000.0), Conditions(DESIGN, 299.8, 0.0112)
    losses = {}
    for fan in (0.6, 1.0):
        half = replace(room, compressor_speed=0.5, outdoor_fan_speed=fan)
        table = table_of_speeds(unit, (half, room), level=[0.0, 0.45])
        for speed, points in zip((fan, "full"), table.at_speeds(DESIGN, [0.0, 0.45]), strict=True):
            efficiency = points.total_capacity / points.total_power
            losses[speed] = 1.0 - efficiency[1] / efficiency[0]
    assert losses["full"] == pytest.approx(0.124, abs=0.01)
    assert losses[0.6] == pytest.approx(0.108, abs=0.01)
    assert losses[1.0] == pytest.approx(0.071, abs=0.01)


def test_tables_need_a_speed():
    with pytest.raises(ValueError, match="rooms must hold one speed at least, got none"):
        table_of_speeds(nominal_unit("R410A", 10000.0), ())
