"""Figures of a visit in heating by hand, their errors, and its cautions."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from calibration.heating.heating_visit import heating_measured
from model.properties import moist_air
from model.properties.refrigerant import refrigerant
from tests.calibration.heating.test_heating_fit import CASE

(VISIT,) = CASE.heating_visits
MEASURED = heating_measured(VISIT, CASE.unit, CASE.instruments)


def test_figures_by_hand():
    """Heat is dry air times 1017 J/(kg K) at 0.006 kg/kg times the rise (ASHRAE 37, form from memory)."""
    figures, fluid = MEASURED.figures, refrigerant("R410A")
    volume = moist_air.specific_volume(VISIT.return_db, 0.006, VISIT.ambient_pressure)
    heat = VISIT.indoor_airflow / volume * (1006.0 + 0.006 * 1860.0) * (VISIT.supply_db - VISIT.return_db)
    assert figures["heating_capacity"].value == pytest.approx(float(heat), rel=1e-6)
    power = VISIT.outdoor_power + VISIT.indoor_power
    assert figures["total_power"].value == pytest.approx(power)
    assert figures["heating_cop"].value == pytest.approx(float(heat) / power, rel=1e-6)
    dew = float(fluid.dew_temperature(VISIT.suction_pressure))
    assert figures["superheat"].value == pytest.approx(VISIT.suction_temperature - dew)
    assert figures["outdoor_difference"].value == pytest.approx(VISIT.outdoor_db - dew)
    assert MEASURED.missing == {}


def test_errors_add_in_squares():
    """Supply and return thermometers on the rise."""
    rise = MEASURED.figures["air_rise"].standard_error
    errors = [0.4 * (1.0 + 0.0 * t) for t in (VISIT.supply_db, VISIT.return_db)]
    assert 0.5 * np.hypot(*errors) < rise < 2.0 * np.hypot(*errors)
    assert (
        MEASURED.figures["heating_capacity"].standard_error
        > 0.03 * MEASURED.figures["heating_capacity"].value
    )


def test_what_was_not_read_is_named():
    bare = heating_measured(replace(VISIT, supply_db=None, indoor_power=None), CASE.unit)
    assert set(bare.missing) == {"air_rise", "heating_capacity", "total_power", "heating_cop"}
    assert bare.missing["heating_cop"] == ("supply_db", "indoor_power")


def test_cautions():
    assert any("Backup heat must be off" in one for one in MEASURED.cautions)
    assert not any("Frost" in one for one in MEASURED.cautions)
    cold = replace(VISIT, outdoor_db=274.0, settled_minutes=5.0, outdoor_rh=None)
    words = " ".join(heating_measured(cold, CASE.unit).cautions)
    assert "free of frost" in words
    assert "had run for 5 minutes" in words
    assert "No humidity of the outdoor air was read" in words
