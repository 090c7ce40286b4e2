"""Accuracies of meters against the source that they name."""

from math import hypot, sqrt

import pytest

from calibration.case.meters import METER_OF_READING, Instruments, standard_accuracies, standard_accuracy
from calibration.case.units import PSI, TEMPERATURE

DEFAULTS = Instruments()


@pytest.mark.parametrize(
    ("name", "value", "limit"),
    [
        # California Title 24, Reference Residential Appendix RA3.2
        ("suction_pressure", 1.0e6, 3.5 * PSI),
        ("liquid_pressure", 2.5e6, 7.0 * PSI),
        ("discharge_pressure", 2.5e6, 7.0 * PSI),
        ("return_db", TEMPERATURE.to_si(80.0, "US"), (1.3 + 0.08) * 5 / 9),
        ("discharge_temperature", TEMPERATURE.to_si(160.0, "US"), (1.3 + 0.16) * 5 / 9),
        # common practice
        ("indoor_airflow", 0.5, 0.035),
        ("outdoor_power", 3000.0, 60.0),
        ("return_rh", 0.5, 0.03),
    ],
)
def test_defaults_are_limits_over_the_root_of_three(name, value, limit):
    # JCGM 100:2008, 4.3.7: standard deviation of a rectangular distribution
    assert standard_accuracy(name, value, DEFAULTS) == pytest.approx(limit / sqrt(3), rel=1e-12)


def test_own_accuracies_replace_the_defaults():
    own = Instruments(suction_gauge=1000.0, pipe_thermometer=0.1, airflow=0.01, wattmeter=0.0)
    assert standard_accuracy("suction_pressure", 9e5, own) == 1000.0
    assert standard_accuracy("liquid_temperature", 310.0, own) == 0.1
    assert standard_accuracy("indoor_airflow", 0.6, own) == pytest.approx(0.006)
    assert standard_accuracy("outdoor_power", 2000.0, own) == 0.0


def test_settings_have_no_error():
    assert standard_accuracy("compressor_speed", 0.7, DEFAULTS) == 0.0


def test_every_reading_with_a_meter_has_an_error():
    assert all(standard_accuracy(name, 300.0, DEFAULTS) > 0 for name in METER_OF_READING)


def test_watts_from_volts_and_amperes_carry_those_errors():
    readings = {
        "outdoor_volts": 240.0,
        "outdoor_amps": 12.0,
        "outdoor_power_factor": 0.9,
        "outdoor_power": 240.0 * 12.0 * 0.9,
        "indoor_power": 400.0,
    }
    found = standard_accuracies(readings, DEFAULTS)
    share = hypot(0.01, 0.02, 0.02 / 0.9) / sqrt(3)
    assert found["outdoor_power"] == pytest.approx(share * readings["outdoor_power"])
    assert found["indoor_power"] == pytest.approx(0.02 * 400.0 / sqrt(3))
