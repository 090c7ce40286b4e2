"""Where a unit reaches its high-pressure limit: against the cycle, the season's table, and one another."""

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model.cycle import high_pressure_trip as trip
from model.cycle.boundary import Conditions
from model.cycle.faults import RANGES, Faults
from model.cycle.high_pressure_trip import (
    COOLEST,
    ENDINGS,
    HOTTEST,
    largest_level,
    trip_level,
    trip_outdoor_temperature,
)
from model.cycle.sizing import nominal_unit, rating_conditions
from model.cycle.solve import solve
from model.season.cycle_table import cycle_table
from model.season.performance_table import trip_temperature

PROPERTY = settings(derandomize=True, deadline=None, max_examples=15)
KINDS = ("TXV", "fixed orifice")
BLOCKED = np.array([0.0, 0.3, 0.5, 0.65, 0.75, 0.8])


@lru_cache
def unit_of(name="R410A", kind="TXV"):
    return nominal_unit(name, 10_000.0, 3.4, expansion=kind)


def rating(unit, outdoor):
    return replace(rating_conditions(), outdoor_temperature=outdoor)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", ["R410A", "R454B", "R22", "R290"])
def test_at_the_temperature_found_the_solved_pressure_is_the_limit(name, kind):
    unit = unit_of(name, kind)
    found = trip_outdoor_temperature(unit, rating(unit, 300.0), Faults(condenser_blocked=BLOCKED))
    assert found.found.all()
    at_limit, cooler, hotter = (
        solve(unit, rating(unit, found.value + aside), Faults(condenser_blocked=BLOCKED))
        for aside in (0.0, -0.05, 0.05)
    )
    np.testing.assert_allclose(at_limit.liquid_pressure, unit.high_pressure_limit, rtol=2e-5)
    # A flooding orifice unit's pressure rises with the weather at a sixth of a dry one's rate.
    assert np.all(cooler.liquid_pressure < (1.0 - 1.5e-4) * unit.high_pressure_limit)
    assert np.all(cooler.state_names() != "high-pressure trip")
    assert np.all(hotter.state_names() == "high-pressure trip")


@pytest.mark.parametrize("kind", KINDS)
def test_the_two_answers_are_one_anothers_inverse(kind):
    unit = unit_of(kind=kind)
    temperature = trip_outdoor_temperature(unit, rating(unit, 0.0), Faults(condenser_blocked=BLOCKED)).value
    back = trip_level(unit, rating(unit, temperature[1:-1]), largest=0.9)
    np.testing.assert_allclose(back.value, BLOCKED[1:-1], atol=1e-4)
    dusty = trip_level(unit, rating(unit, 320.0), "condenser_dust")
    again = trip_outdoor_temperature(unit, rating(unit, 0.0), Faults(condenser_dust=dusty.value))
    assert dusty.found
    assert again.value == pytest.approx(320.0, abs=0.002)


@given(
    kind=st.sampled_from(KINDS),
    less=st.floats(0.0, 0.7),
    more=st.floats(0.005, 0.1),
    charge=st.floats(-0.15, 0.15),
    returned=st.floats(293.0, 305.0),
)
@PROPERTY
def test_more_blockage_trips_on_a_cooler_day(kind, less, more, charge, returned):
    unit = unit_of(kind=kind)
    room = Conditions(300.0, returned, 0.009)
    faults = Faults(condenser_blocked=np.array([less, less + more]), charge_change=charge)
    found = trip_outdoor_temperature(unit, room, faults)
    # An undercharged unit with a clean coil may run to the end of the range without a trip.
    assert np.isin(found.ending_names(), ("trips", "never trips")).all()
    assert found.value[1] < found.value[0] or not found.found.any()


def test_a_lower_limit_trips_on_a_cooler_day():
    unit = unit_of()
    limits = unit.high_pressure_limit * np.array([0.8, 0.9, 1.0])
    values = trip_outdoor_temperature(replace(unit, high_pressure_limit=limits), rating(unit, 0.0)).value
    assert np.all(np.diff(values) > 4.0)


def test_arrays_give_what_single_numbers_give():
    unit = unit_of()
    outdoor, charge = np.array([305.0, 318.0])[:, None], np.array([-0.1, 0.0, 0.2])
    whole = trip_level(unit, rating(unit, outdoor), base=Faults(charge_change=charge))
    assert whole.value.shape == whole.ending.shape == whole.point.state.shape == (2, 3)
    for row, column in ((0, 0), (1, 2)):
        day = rating(unit, float(outdoor[row, 0]))
        alone = trip_level(unit, day, base=Faults(charge_change=charge[column]))
        assert alone.value == pytest.approx(whole.value[row, column], abs=2e-5)
    several = trip_outdoor_temperature(unit, rating(unit, 0.0), Faults(condenser_blocked=BLOCKED))
    single = trip_outdoor_temperature(unit, rating(unit, 0.0), Faults(condenser_blocked=BLOCKED[2]))
    assert single.value.shape == ()
    assert single.value == pytest.approx(several.value[2], abs=1e-3)


def test_the_season_table_says_the_same():
    unit, room = unit_of(), rating_conditions()
    table = cycle_table(unit, room)
    for blocked in (0.5, 0.55, 0.65, 0.7):  # levels of the table, which is straight between its points
        found = trip_outdoor_temperature(unit, room, Faults(condenser_blocked=blocked))
        assert trip_temperature(table, blocked)[0] == pytest.approx(float(found.value), abs=0.3)


def test_no_trip_within_the_range_is_said():
    unit = unit_of()
    room = rating(unit, 0.0)
    cool = trip_outdoor_temperature(
        unit, room, Faults(condenser_blocked=np.array([0.0, 0.7])), (COOLEST, 320.0)
    )
    assert list(cool.ending_names()) == ["never trips", "trips"]
    assert cool.value[0] == 320.0
    assert cool.point.liquid_pressure[0] < unit.high_pressure_limit
    choked = trip_outdoor_temperature(unit, room, Faults(condenser_blocked=0.93))
    assert choked.ending_names() == "always trips"
    assert choked.value == COOLEST
    mild = trip_level(unit, rating(unit, np.array([COOLEST, HOTTEST])))
    assert list(mild.ending_names()) == ["never trips", "always trips"]
    assert list(mild.value) == [largest_level("condenser_blocked"), 0.0]
    leaking = trip_level(unit, rating(unit, 318.0), "compressor_leakage")
    assert leaking.ending_names() == "never trips"


def test_a_unit_that_the_other_switch_has_stopped_is_told_of():
    unit = replace(unit_of(), low_pressure_limit=1.05e6)
    starved = Faults(condenser_blocked=0.7, evaporator_airflow_lost=0.6)
    found = trip_outdoor_temperature(unit, rating(unit, 0.0), starved)
    assert found.ending_names() == "low pressure first"
    assert not found.found


def test_a_search_that_does_not_converge_says_so(monkeypatch):
    unit = unit_of()

    def failing(*inputs, **how):
        point = solve(*inputs, **how)
        return replace(point, residual=np.full_like(point.residual, np.nan))

    monkeypatch.setattr(trip, "solve", failing)
    assert trip_outdoor_temperature(unit, rating(unit, 0.0)).ending_names() == "not converged"
    assert set(ENDINGS) >= {"not converged", "trips"}


def test_other_gas_in_the_condenser_counts_towards_the_limit():
    unit = unit_of("R22")
    found = trip_level(unit, rating(unit, 322.0), "noncondensable")
    assert found.found
    assert found.point.liquid_pressure == pytest.approx(float(unit.high_pressure_limit), rel=1e-5)


def test_bad_input_is_refused():
    unit = unit_of()
    with pytest.raises(ValueError, match="between must rise, got 320 to 300"):
        trip_outdoor_temperature(unit, rating(unit, 0.0), between=(320.0, 300.0))
    with pytest.raises(ValueError, match=r"field must be one of condenser_blocked, .* got 'dirt'"):
        trip_level(unit, rating(unit, 318.0), "dirt")
    for largest in (0.0, 1.2):
        with pytest.raises(ValueError, match=r"largest must lie in \[0, 0\.95\] and not be 0, got"):
            trip_level(unit, rating(unit, 318.0), largest=largest)


def test_every_fault_has_a_largest_amount_within_its_range():
    assert largest_level("condenser_blocked") == 0.8
    assert largest_level("charge_change") == 0.4
    assert largest_level("evaporator_dust") == RANGES["evaporator_dust"][1]
    for field, (low, high) in RANGES.items():
        assert low < largest_level(field) <= high
