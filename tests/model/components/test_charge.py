"""Charge: Zivi's void fraction against the `fluids` library, its mean against quadrature, and limits."""

from __future__ import annotations

import fluids
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from model.components.charge import HOLDUP_EXPONENT, mean_void_fraction, two_phase_density, void_fraction
from model.properties.refrigerant import refrigerant

PROPERTY = settings(derandomize=True, deadline=None, max_examples=100)
LIQUID, VAPOUR = 1000.0, 60.0


@pytest.mark.parametrize("quality", [0.01, 0.1, 0.3, 0.7, 0.95])
@pytest.mark.parametrize("vapour", [15.0, 60.0, 150.0])
def test_local_void_fraction_against_fluids(quality, vapour):
    """Zivi 1964 as `fluids.two_phase_voidage.Zivi` has it; the mean at one quality is the local fraction, its
    tolerance the interval that stands for a point.
    """
    zivi, ratio = fluids.two_phase_voidage.Zivi(quality, LIQUID, vapour), np.array(vapour / LIQUID)
    assert void_fraction(np.array(quality), ratio) == pytest.approx(zivi, rel=1e-12)
    assert mean_void_fraction(np.array(quality), np.array(quality), ratio) == pytest.approx(zivi, abs=1e-5)


@pytest.mark.parametrize(("inlet", "outlet"), [(0.0, 1.0), (0.2, 1.0), (1.0, 0.35), (0.0, 0.1), (0.9, 1.0)])
@pytest.mark.parametrize("vapour", [15.0, 60.0, 150.0])
def test_mean_void_fraction_against_quadrature_of_fluids(inlet, outlet, vapour):
    """Mean of Zivi's void fraction over a quality that changes linearly. Tolerance: quadrature."""
    total = quad(lambda x: fluids.two_phase_voidage.Zivi(x, LIQUID, vapour), inlet, outlet, epsabs=1e-12)[0]
    mean = mean_void_fraction(np.array(inlet), np.array(outlet), np.array(vapour / LIQUID))
    assert mean == pytest.approx(total / (outlet - inlet), rel=1e-7)


def test_limits_are_all_liquid_and_all_vapour():
    ratio = np.array(VAPOUR / LIQUID)
    assert mean_void_fraction(np.array(0.0), np.array(0.0), ratio) == pytest.approx(0.0, abs=1e-5)
    assert mean_void_fraction(np.array(1.0), np.array(1.0), ratio) == pytest.approx(1.0, abs=1e-6)
    assert void_fraction(np.array([0.0, 1.0]), ratio) == pytest.approx([0.0, 1.0], abs=1e-15)


def test_qualities_beyond_the_dome_count_as_its_edge():
    ratio = np.array(VAPOUR / LIQUID)
    assert mean_void_fraction(np.array(-0.4), np.array(1.3), ratio) == mean_void_fraction(
        np.array(0.0), np.array(1.0), ratio
    )


def test_equal_densities_leave_no_slip():
    """Towards the critical point void fraction tends to quality; the slip is held at 0.98: within 0.6 %."""
    assert mean_void_fraction(np.array(0.2), np.array(0.6), np.array(1.0)) == pytest.approx(0.4, abs=0.006)


@PROPERTY
@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.floats(0.005, 0.6), st.floats(0.1, 1.5))
def test_mean_lies_between_its_ends_and_does_not_care_for_direction(first, second, ratio, flow):
    low, high = sorted((first, second))
    mean = float(mean_void_fraction(np.array(first), np.array(second), np.array(ratio), flow))
    ends = [float(mean_void_fraction(np.array(x), np.array(x), np.array(ratio), flow)) for x in (low, high)]
    assert mean == float(mean_void_fraction(np.array(second), np.array(first), np.array(ratio), flow))
    # A point stands for 1e-6 of quality, where the void fraction rises by up to 1 / slip (about 100) of that.
    assert ends[0] - 2e-4 <= mean <= ends[1] + 2e-4


@PROPERTY
@given(st.floats(0.0, 0.9), st.floats(0.01, 0.1), st.floats(0.005, 0.6))
def test_drier_or_denser_vapour_is_never_less_void(quality, drier, ratio):
    """More vapour takes more room; at lower density ratio (lower pressure) it takes more still."""
    base = mean_void_fraction(np.array(quality), np.array(1.0), np.array(ratio))
    assert mean_void_fraction(np.array(quality + drier), np.array(1.0), np.array(ratio)) >= base
    assert mean_void_fraction(np.array(quality), np.array(1.0), np.array(0.9 * ratio)) >= base - 1e-12


def test_less_flow_leaves_more_liquid_behind():
    """Trend of Hughmark 1962 (from memory): holdup grows as mass flux falls; Zivi alone at rated flow."""
    arguments = (np.array(0.2), np.array(1.0), np.array(VAPOUR / LIQUID))
    void = [float(mean_void_fraction(*arguments, flow)) for flow in (0.5, 1.0, 1.5)]
    assert np.all(np.diff(void) > 0)
    assert void[1] == float(mean_void_fraction(*arguments))
    # The density ratio that would do the same to Zivi: slip to the 2/3 against flow to the holdup exponent.
    same = mean_void_fraction(arguments[0], arguments[1], arguments[2] * 0.5 ** (-1.5 * HOLDUP_EXPONENT))
    assert void[0] == pytest.approx(float(same), rel=1e-12)


def test_density_of_a_zone_there_and_back():
    """Density gives back the void fraction that made it."""
    density = two_phase_density(np.array(0.1), np.array(0.8), np.array(LIQUID), np.array(VAPOUR))
    void = (LIQUID - density) / (LIQUID - VAPOUR)
    assert void == pytest.approx(
        float(mean_void_fraction(np.array(0.1), np.array(0.8), np.array(0.06))), rel=1e-12
    )


def test_density_limits_are_those_of_the_phases():
    assert two_phase_density(
        np.array(0.0), np.array(0.0), np.array(LIQUID), np.array(VAPOUR)
    ) == pytest.approx(LIQUID, rel=1e-5)
    assert two_phase_density(
        np.array(1.0), np.array(1.0), np.array(LIQUID), np.array(VAPOUR)
    ) == pytest.approx(VAPOUR, rel=1e-4)


def test_slip_holds_more_charge_than_a_homogeneous_mixture():
    """R-410A condensing at 45 degC: Zivi holds a fifth to a third more than the homogeneous mixture."""
    fluid = refrigerant("R410A")
    line = fluid.saturation(fluid.bubble_pressure(318.15))
    slip = two_phase_density(np.array(0.0), np.array(1.0), line.liquid_density, line.vapour_density)
    homogeneous = quad(lambda x: 1.0 / (x / line.vapour_density + (1.0 - x) / line.liquid_density), 0.0, 1.0)[
        0
    ]
    assert 1.2 < slip / homogeneous < 1.33


def test_arrays_equal_scalars():
    inlet, outlet, ratio = np.array([0.0, 0.3, 1.0]), np.array([1.0, 0.3, 0.2]), np.array([0.02, 0.06, 0.3])
    together = two_phase_density(inlet, outlet, LIQUID, LIQUID * ratio, np.array([1.0, 0.7, 1.2]))
    single = [
        float(two_phase_density(*(np.array(v) for v in (a, b, LIQUID, LIQUID * r)), f))
        for a, b, r, f in zip(inlet, outlet, ratio, (1.0, 0.7, 1.2), strict=True)
    ]
    np.testing.assert_allclose(together, single, rtol=1e-13)
    assert np.shape(mean_void_fraction(np.zeros((3, 1)), np.ones(4), np.array(0.05))) == (3, 4)
