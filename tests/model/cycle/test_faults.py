"""Faults: ranges and their messages, levels, combinations, and that level nought changes nothing."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model.cycle.boundary import surroundings
from model.cycle.faults import FAULTS, HEALTHY, RANGES, Faults, at_level, fault_of
from model.cycle.sizing import nominal_unit, rating_conditions
from model.cycle.solve import solve

PROPERTY = settings(derandomize=True, deadline=None, max_examples=60)


def test_every_field_has_a_range_that_contains_healthy():
    assert set(RANGES) == {field.name for field in fields(Faults)}
    for name, (low, high) in RANGES.items():
        assert low <= getattr(HEALTHY, name) == 0.0 < high


@pytest.mark.parametrize("name", RANGES)
def test_ends_of_the_range_are_taken_and_what_is_beyond_is_refused(name):
    low, high = RANGES[name]
    Faults(**{name: np.array([low, high])})
    for outside in (low - 0.01, high * 1.01):
        with pytest.raises(
            ValueError,
            match=rf"{name} must lie in \[{low:g}, {high:g}\], got {outside:g}".replace("+", r"\+"),
        ):
            Faults(**{name: outside})


def test_the_value_at_fault_is_named():
    with pytest.raises(ValueError, match=r"condenser_blocked must lie in \[0, 0.95\], got 1.4"):
        Faults(condenser_blocked=np.array([0.1, 1.4, 0.3]))
    with pytest.raises(ValueError, match=r"compressor_leakage must lie in \[0, 0.8\], got nan"):
        Faults(compressor_leakage=np.nan)


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.key)
def test_level_maps_linearly_on_the_field_from_nothing_to_the_gravest(fault):
    made = at_level(fault, np.array([0.0, 0.25, 1.0]))
    np.testing.assert_allclose(
        getattr(made, fault.field), fault.largest * np.array([0.0, 0.25, 1.0]), rtol=1e-14
    )
    low, high = RANGES[fault.field]
    assert low <= fault.largest <= high
    others = {field.name: getattr(made, field.name) for field in fields(Faults) if field.name != fault.field}
    assert set(others.values()) == {0.0}


def test_names_are_unique_and_found_again():
    assert len({fault.key for fault in FAULTS}) == len(FAULTS)
    for fault in FAULTS:
        assert fault_of(fault.key) is fault


def test_unknown_fault_lists_the_known_ones():
    with pytest.raises(ValueError, match=r"fault must be one of condenser_blocked, .*, got worn belt"):
        fault_of("worn belt")


def test_faults_add_up_on_one_unit():
    both = at_level(fault_of("undercharge"), 0.5, at_level(fault_of("condenser_blocked"), 0.5))
    assert both.charge_change == pytest.approx(-0.2)
    assert both.condenser_blocked == pytest.approx(0.4)


def test_undercharge_and_overcharge_of_one_level_cancel():
    one = at_level(fault_of("undercharge"), 0.3)
    assert at_level(fault_of("overcharge"), 0.3, one).charge_change == pytest.approx(0.0, abs=1e-15)


def test_level_beyond_the_range_of_its_field_is_refused():
    with pytest.raises(ValueError, match=r"condenser_blocked must lie in \[0, 0.95\], got 1.2"):
        at_level(fault_of("condenser_blocked"), 1.5)


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.key)
def test_level_nought_is_the_healthy_unit(fault):
    unit = nominal_unit("R410A", 8800.0)
    healthy = surroundings(unit, rating_conditions())
    touched = surroundings(unit, rating_conditions(), at_level(fault, 0.0))
    for name in healthy._fields:
        np.testing.assert_allclose(
            np.ravel(getattr(touched, name)), np.ravel(getattr(healthy, name)), rtol=1e-14, err_msg=name
        )


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.key)
def test_every_fault_shows_in_the_operating_point(fault):
    """A twentieth of the gravest moves some reading by more than the solver's tolerance."""
    unit = nominal_unit("R410A", 8800.0, expansion="fixed orifice")
    point = solve(unit, rating_conditions(), at_level(fault, np.array([0.0, 0.05])))
    moved = [
        abs(float(np.diff(getattr(point, name))[0]))
        for name in ("evaporating_temperature", "condensing_temperature", "superheat", "subcooling")
    ]
    assert max(moved) > 0.02


@pytest.mark.parametrize("refrigerant", ["R410A", "R22", "R454B"])
def test_a_valve_that_feeds_too_much_lowers_superheat_until_the_suction_floods(refrigerant):
    unit = nominal_unit(refrigerant, 8800.0)
    fault = fault_of("valve_overfeed")
    point = solve(unit, rating_conditions(), at_level(fault, np.linspace(0.0, 1.0, 41)))
    assert np.all(np.diff(point.evaporator_superheat) < 0.0)
    assert np.all(np.diff(point.discharge_temperature) < 0.0)
    # No jump: neighbouring steps differ by less than half, at the onset of wet suction too.
    steps = np.diff(point.evaporator_superheat)
    assert np.all(np.abs(np.diff(steps)) < 0.5 * np.abs(steps).max())
    fifth, gravest = point.superheat[8], point.state_names()[-1]
    assert point.superheat[0] - fifth > 2.0
    assert point.state_names()[8] == "ok"
    assert gravest == "flooded suction"


def test_an_orifice_that_feeds_too_much_has_no_bulb():
    unit = nominal_unit("R410A", 8800.0, expansion="fixed orifice")
    wide = replace(unit, expansion=replace(unit.expansion, area=1.2 * unit.expansion.area))
    caused = solve(unit, rating_conditions(), Faults(valve_overfeed=0.2))
    assert caused.superheat == pytest.approx(float(solve(wide, rating_conditions()).superheat), abs=1e-6)


@PROPERTY
@given(st.sampled_from(FAULTS), st.floats(0.0, 1.0))
def test_levels_between_nought_and_one_are_always_allowed(fault, level):
    made = at_level(fault, level)
    assert getattr(made, fault.field) == fault.largest * level
    assert replace(made, **{fault.field: 0.0}) == HEALTHY
