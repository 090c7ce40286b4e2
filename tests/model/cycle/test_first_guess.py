"""The solver's first guess: near the solution, from a few influences that are held where it was fitted."""

import numpy as np
import pytest

from model.cycle.boundary import Conditions, surroundings
from model.cycle.faults import HEALTHY, Faults
from model.cycle.first_guess import COEFFICIENTS, HIGHEST, LOWEST, first_guess, influences, terms
from model.cycle.sizing import nominal_unit, rating_conditions
from model.cycle.solve import solve
from model.properties.refrigerant import refrigerant
from tests.first_guess import fitted, shifts

UNIT = nominal_unit("R410A", 10_500.0, 3.5)


def test_a_unit_at_its_rating_is_moved_by_nothing():
    held = influences(UNIT, surroundings(UNIT, rating_conditions(), HEALTHY))
    assert held.ravel() == pytest.approx(np.zeros(6), abs=0.03)


def test_influences_have_their_signs_and_ends():
    hot = Conditions(318.15, 299.82, 0.0112)
    given = surroundings(UNIT, hot, Faults(charge_change=-0.2, condenser_airflow_lost=0.3))
    held = influences(UNIT, given).ravel()
    assert held[1] == pytest.approx(1.0)
    assert held[3] < -0.1
    assert held[4] == pytest.approx(np.log(0.8))
    extreme = influences(UNIT, surroundings(UNIT, Conditions(400.0, 299.82, 0.0112), HEALTHY)).ravel()
    assert extreme[1] == HIGHEST[1]
    assert np.all((extreme >= LOWEST) & (extreme <= HIGHEST))


def test_terms_are_those_of_a_quadratic_form():
    row = terms(np.array([1.0, 2.0, 3.0, 4.0, 5.0, 6.0]))
    assert row.shape == (28,)
    assert row[:7].tolist() == [1.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0]
    assert row[7:13].tolist() == [1.0, 2.0, 3.0, 4.0, 5.0, 6.0]
    assert row[-1] == 36.0
    assert all(each.shape == (3, 28) for each in COEFFICIENTS.values())


@pytest.mark.parametrize("expansion", ["TXV", "fixed orifice"])
def test_the_guess_is_nearer_than_the_design_point(expansion):
    unit, fluid = nominal_unit("R410A", 10_500.0, 3.5, expansion=expansion), refrigerant("R410A")
    weather = Conditions(np.linspace(290.0, 318.0, 8), 297.0, 0.0095)
    given = surroundings(unit, weather, HEALTHY)
    point = solve(unit, weather)
    guess = fluid.dew_temperature(np.exp(first_guess(unit, fluid, given, 8)[0]))
    solved = fluid.dew_temperature(np.exp(point.unknowns[0]))
    design = np.abs(float(np.asarray(unit.start.evaporating)) - solved)
    assert np.abs(guess - solved).mean() < 0.7 * design.mean()


@pytest.mark.parametrize("expansion", ["TXV", "fixed orifice"])
def test_the_coefficients_are_those_of_the_present_model(expansion):
    """Another set of rows, fitted to these points alone, would come little nearer."""
    given, shift = shifts("R410A", expansion, 300)
    standing, best = (
        np.sqrt(((rows @ given - shift) ** 2).mean(axis=1))
        for rows in (COEFFICIENTS[expansion], fitted(given, shift))
    )
    assert standing[0] < 1.4 * best[0]
    assert np.all(standing[1:] < 2.2 * best[1:])
