"""A nameplate's heating figures in the fit of its heat pump."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

from calibration.case.file import read_case
from calibration.clean_fit.baseline import baseline_of
from calibration.heating.heating_fit import (
    HEATING_SPREADS,
    adjusted_pump,
    fit_heating,
    heating_fit_of,
    heats,
)
from calibration.heating.heating_readings import expected_readings
from model.heating.boundary import heating_test
from model.heating.solve import solve_heating
from model.properties import moist_air

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


WEATHER = heating_test(np.array([281.483, 273.0, 264.817]), np.array([279.261, 272.0, 263.706]))
TRUE = np.array([0.3, -0.1, 0.2, 0.05, -0.06, 0.2, 0.05])
"""An invented unit beside the nameplate's: half a spread to one off in every parameter."""


def true_pump():
    return adjusted_pump(fitted().generic, fitted().values + TRUE)


@lru_cache
def with_clean_visit():
    """The same fit with a clean visit to that unit, at 38 degF, its readings without errors."""
    (visit,) = CASE.heating_visits
    visit = replace(visit, coil="clean", outdoor_db=276.5, outdoor_rh=0.7, label="winter, clean")
    names = ["suction_pressure", "liquid_pressure", "suction_temperature", "liquid_temperature",
             "discharge_temperature", "supply_db", "outdoor_power", "airflow"]  # fmt: skip
    shown = dict(zip(names, map(float, expected_readings(true_pump(), visit, names)), strict=True))
    volume = moist_air.specific_volume(visit.return_db, 0.006, visit.ambient_pressure)
    airflow = shown.pop("airflow") * float(volume)
    case = replace(CASE, heating_visits=(replace(visit, indoor_airflow=airflow, **shown),))
    return heating_fit_of(case, cooling())


def test_a_clean_visit_in_heating_improves_the_heating_figures():
    """Heat, power and COP at 47, 32 and 17 degF come at least a third closer to the unit's own."""
    own = solve_heating(true_pump(), WEATHER)
    plate, read = (solve_heating(fit.pump, WEATHER) for fit in (fitted(), with_clean_visit()))
    assert with_clean_visit().visits == ("winter, clean",)
    for name in ("heating_capacity", "total_power", "cop"):
        true = getattr(own, name)
        before, after = (np.abs(getattr(one, name) / true - 1.0).max() for one in (plate, read))
        assert after < 0.67 * before, name


def test_a_clean_visit_in_heating_narrows_the_ranges():
    scores = np.random.default_rng(4).standard_normal((len(HEATING_SPREADS), 60))[..., None]
    plate, read = (solve_heating(fit.drawn(scores), WEATHER).cop for fit in (fitted(), with_clean_visit()))
    assert np.all(read.std(axis=0) < plate.std(axis=0))
    assert np.linalg.det(with_clean_visit().covariance) < 0.2 * np.linalg.det(fitted().covariance)


def test_the_visit_itself_can_be_left_out():
    (visit,) = CASE.heating_visits
    case = replace(CASE, heating_visits=(replace(visit, coil="clean"),))
    assert heating_fit_of(case, cooling(), without=visit.label).visits == ()
    assert heating_fit_of(CASE, cooling()).visits == ()  # as found says nothing of the clean unit
