"""Causes: ranges and their messages, severities, combinations, and that severity nought changes nothing."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model.cycle.boundary import surroundings
from model.cycle.faults import CAUSES, HEALTHY, RANGES, Causes, at_severity, cause_named
from model.cycle.sizing import nominal_unit, rating_conditions
from model.cycle.solve import solve

PROPERTY = settings(derandomize=True, deadline=None, max_examples=60)


def test_every_field_has_a_range_that_contains_healthy():
    assert set(RANGES) == {field.name for field in fields(Causes)}
    for name, (low, high) in RANGES.items():
        assert low <= getattr(HEALTHY, name) == 0.0 < high


@pytest.mark.parametrize("name", RANGES)
def test_ends_of_the_range_are_taken_and_what_is_beyond_is_refused(name):
    low, high = RANGES[name]
    Causes(**{name: np.array([low, high])})
    for outside in (low - 0.01, high * 1.01):
        with pytest.raises(
            ValueError,
            match=rf"{name} must lie in \[{low:g}, {high:g}\], got {outside:g}".replace("+", r"\+"),
        ):
            Causes(**{name: outside})


def test_the_value_at_fault_is_named():
    with pytest.raises(ValueError, match=r"condenser_blocked must lie in \[0, 0.95\], got 1.4"):
        Causes(condenser_blocked=np.array([0.1, 1.4, 0.3]))
    with pytest.raises(ValueError, match=r"compressor_leakage must lie in \[0, 0.8\], got nan"):
        Causes(compressor_leakage=np.nan)


@pytest.mark.parametrize("cause", CAUSES, ids=lambda cause: cause.name)
def test_severity_maps_linearly_on_the_field_from_nothing_to_the_gravest(cause):
    made = at_severity(cause, np.array([0.0, 0.25, 1.0]))
    np.testing.assert_allclose(
        getattr(made, cause.field), cause.gravest * np.array([0.0, 0.25, 1.0]), rtol=1e-14
    )
    low, high = RANGES[cause.field]
    assert low <= cause.gravest <= high
    others = {field.name: getattr(made, field.name) for field in fields(Causes) if field.name != cause.field}
    assert set(others.values()) == {0.0}


def test_names_are_unique_and_found_again():
    assert len({cause.name for cause in CAUSES}) == len(CAUSES)
    for cause in CAUSES:
        assert cause_named(cause.name) is cause


def test_unknown_cause_lists_the_known_ones():
    with pytest.raises(ValueError, match=r"cause must be one of blocked condenser face, .*, got worn belt"):
        cause_named("worn belt")


def test_causes_add_up_on_one_unit():
    both = at_severity(
        cause_named("undercharge"), 0.5, at_severity(cause_named("blocked condenser face"), 0.5)
    )
    assert both.charge_change == pytest.approx(-0.2)
    assert both.condenser_blocked == pytest.approx(0.4)


def test_undercharge_and_overcharge_of_one_severity_cancel():
    one = at_severity(cause_named("undercharge"), 0.3)
    assert at_severity(cause_named("overcharge"), 0.3, one).charge_change == pytest.approx(0.0, abs=1e-15)


def test_severity_beyond_the_range_of_its_field_is_refused():
    with pytest.raises(ValueError, match=r"condenser_blocked must lie in \[0, 0.95\], got 1.2"):
        at_severity(cause_named("blocked condenser face"), 1.5)


@pytest.mark.parametrize("cause", CAUSES, ids=lambda cause: cause.name)
def test_severity_nought_is_the_healthy_unit(cause):
    unit = nominal_unit("R410A", 8800.0)
    healthy = surroundings(unit, rating_conditions())
    touched = surroundings(unit, rating_conditions(), at_severity(cause, 0.0))
    for name in healthy._fields:
        np.testing.assert_allclose(
            np.ravel(getattr(touched, name)), np.ravel(getattr(healthy, name)), rtol=1e-14, err_msg=name
        )


@pytest.mark.parametrize("cause", CAUSES, ids=lambda cause: cause.name)
def test_every_cause_shows_in_the_operating_point(cause):
    """A twentieth of the gravest moves some reading by more than the solver's tolerance."""
    unit = nominal_unit("R410A", 8800.0, expansion="fixed orifice")
    point = solve(unit, rating_conditions(), at_severity(cause, np.array([0.0, 0.05])))
    moved = [
        abs(float(np.diff(getattr(point, name))[0]))
        for name in ("evaporating_temperature", "condensing_temperature", "superheat", "subcooling")
    ]
    assert max(moved) > 0.02


@pytest.mark.parametrize("refrigerant", ["R410A", "R22", "R454B"])
def test_a_valve_that_feeds_too_much_lowers_superheat_until_the_suction_floods(refrigerant):
    unit = nominal_unit(refrigerant, 8800.0)
    cause = cause_named("valve feeding too much")
    point = solve(unit, rating_conditions(), at_severity(cause, np.linspace(0.0, 1.0, 41)))
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
    caused = solve(unit, rating_conditions(), Causes(valve_overfeed=0.2))
    assert caused.superheat == pytest.approx(float(solve(wide, rating_conditions()).superheat), abs=1e-6)


@PROPERTY
@given(st.sampled_from(CAUSES), st.floats(0.0, 1.0))
def test_severities_between_nought_and_one_are_always_allowed(cause, severity):
    made = at_severity(cause, severity)
    assert getattr(made, cause.field) == cause.gravest * severity
    assert replace(made, **{cause.field: 0.0}) == HEALTHY
