"""Cooling loads: lines through two points, the standard's line, the user's values."""

import numpy as np
import pytest

from model.season.load import ahri_load, given_load, line_load, without_economiser_hours


def test_line_goes_through_balance_and_design():
    load = line_load([285.0, 291.15, 299.65, 308.15], 291.15, 308.15, 8000.0, latent_share=0.2)
    assert np.allclose(load.total, [0.0, 0.0, 4000.0, 8000.0])
    assert np.allclose(load.latent, 0.2 * load.total)
    assert load.gain_coefficient == pytest.approx(8000.0 / 17.0)


def test_standard_line():
    """AHRI 210/240: BL(T) = (T - 65) / (95 - 65) Q(95) / 1.1 with T in degF (seen second-hand)."""
    fahrenheit = np.array([60.0, 65.0, 82.0, 95.0, 104.0])
    load = ahri_load((fahrenheit + 459.67) / 1.8, 11000.0)
    expected = np.maximum(fahrenheit - 65.0, 0.0) / 30.0 * 11000.0 / 1.1
    assert np.allclose(load.total, expected, atol=1e-6)


def test_given_values_keep_their_parts():
    load = given_load([0.0, 1000.0], [0.0, 300.0])
    assert np.allclose(load.sensible, [0.0, 700.0])
    assert np.allclose(load.total, [0.0, 1000.0])
    assert load.gain_coefficient == 0.0
    assert np.allclose(given_load([400.0], latent_share=0.25).latent, 100.0)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: line_load([300.0], 300.0, 300.0, 1000.0), "design_temperature must lie above"),
        (lambda: line_load([300.0], 290.0, 300.0, 0.0), "design_load must be above 0 W, got 0"),
        (lambda: line_load([300.0], 290.0, 300.0, 1000.0, 1.0), r"latent_share must lie in \[0, 1\), got 1"),
        (lambda: ahri_load([300.0], float("nan")), "rated_capacity must be above 0 W"),
        (lambda: given_load([-1.0]), "total must be 0 W or more everywhere, got -1"),
        (lambda: given_load([1.0], [2.0]), "latent must lie between"),
    ],
)
def test_loads_that_cannot_be_are_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()


def test_an_economiser_takes_the_colder_hours():
    air = np.array([285.0, 290.0, 288.7, 300.0])
    whole = given_load([1000.0, 2000.0, 3000.0, 4000.0], latent=[0.0, 500.0, 600.0, 1000.0])
    left = without_economiser_hours(whole, air, 288.7)
    assert left.total.tolist() == [0.0, 2000.0, 3000.0, 4000.0]
    assert left.latent.tolist() == [0.0, 500.0, 600.0, 1000.0]
    assert left.gain_coefficient == whole.gain_coefficient
