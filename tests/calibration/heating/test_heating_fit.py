"""A nameplate's heating figures in the fit of its heat pump."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

from calibration.case.file import read_case
from calibration.clean_fit.baseline import baseline_of
from calibration.heating.heating_fit import HEATING_SPREADS, adjusted_pump, fit_heating, heats

CASE = read_case(Path(__file__).resolve().parents[3] / "cases" / "heat_pump.toml")


@lru_cache
def cooling():
    return baseline_of(CASE)


@lru_cache
def fitted(unit=CASE.unit):
    return fit_heating(unit, cooling())


def test_all_four_figures_of_the_nameplate_are_met():
    """Within the 4.7 % that a unit lies off its print (common practice, no source)."""
    keys = [one.key for one in fitted().ratings]
    assert keys == ["rated_heating_capacity", "rated_heating_cop", "low_heating_capacity", "low_heating_cop"]
    for one in fitted().ratings:
        assert one.fitted == pytest.approx(one.rated, abs=1.5 * one.spread), one.key


def test_evidence_narrows_what_it_speaks_of():
    posterior = np.sqrt(np.diag(fitted().covariance))
    assert np.all(posterior < HEATING_SPREADS * 1.0001)
    assert np.prod(posterior / HEATING_SPREADS) < 0.3


def test_a_better_nameplate_gives_a_better_unit():
    better = fitted(replace(CASE.unit, rated_heating_cop=4.0, low_heating_cop=2.8))
    ours, theirs = ({one.key: one.fitted for one in fit.ratings} for fit in (fitted(), better))
    assert theirs["rated_heating_cop"] > 1.03 * ours["rated_heating_cop"]


def test_the_capacity_alone_leaves_the_rest_open():
    alone = fitted(
        replace(CASE.unit, rated_heating_cop=None, low_heating_cop=None, low_heating_capacity=None)
    )
    assert [one.key for one in alone.ratings] == ["rated_heating_capacity"]
    assert np.linalg.det(alone.covariance) > np.linalg.det(fitted().covariance)


def test_draws_scatter_about_the_fit():
    scores = np.random.default_rng(3).standard_normal((len(HEATING_SPREADS), 400))
    flow = fitted().drawn(scores).heating.compressor.displacement_scale
    middle = float(fitted().pump.heating.compressor.displacement_scale)
    assert float(np.mean(np.log(flow))) == pytest.approx(np.log(middle), abs=0.01)


def test_zero_parameters_leave_the_unit_as_it_is():
    same = adjusted_pump(fitted().generic, np.zeros(len(HEATING_SPREADS)))
    assert same.heating.evaporator.boiling_conductance == pytest.approx(
        float(fitted().generic.heating.evaporator.boiling_conductance)
    )


def test_what_does_not_heat_is_refused():
    assert heats(CASE.unit)
    for unit in (replace(CASE.unit, heat_pump=False), replace(CASE.unit, rated_heating_capacity=None)):
        assert not heats(unit)
        with pytest.raises(ValueError, match="rated_heating_capacity are expected of a unit that heats"):
            fit_heating(unit, cooling())
