"""Indoor humidity that closes its moisture balance."""

from dataclasses import replace

import numpy as np
import pytest

from model.properties import moist_air
from model.season.load import CoolingLoad, line_load
from model.season.part_load import part_load_factor
from model.season.weather_year import bin_year, hourly_year
from tests.model.season.floating_humidity import HEAT_OF_VAPORISATION, Moisture, indoor_wet_bulb
from tests.model.synthetic_unit import DESIGN, operating_point, synthetic_table, synthetic_year

TABLE = synthetic_table(wet_bulb=np.arange(283.6, 299.7, 1.0))
ROOM = 297.6
MOISTURE = Moisture(outdoor_air=0.035, indoor_gain=1.2e-4, room_temperature=ROOM)
YEAR = synthetic_year()
LOAD = line_load(YEAR.temperature, 290.15, DESIGN, 7800.0)


def test_moisture_balance_closes():
    bulb = indoor_wet_bulb(TABLE, YEAR, LOAD, MOISTURE)
    wanted = LOAD.sensible > 500.0
    inside = moist_air.humidity_ratio_from_wet_bulb(np.maximum(bulb, ROOM), bulb, YEAR.pressure)
    point = TABLE.at(YEAR.temperature, 0.0, bulb)
    fraction = LOAD.sensible / point.sensible_capacity
    run = fraction / part_load_factor(fraction, 0.20)
    removed = run * (point.total_capacity - point.sensible_capacity) / HEAT_OF_VAPORISATION
    brought = 0.035 * (YEAR.humidity_ratio - inside) + 1.2e-4
    within = wanted & (bulb > TABLE.wet_bulb[0] + 0.01) & (bulb < TABLE.wet_bulb[-1] - 0.01)
    assert within.sum() > 1000
    assert np.allclose(removed[within], brought[within], atol=2e-7)


def test_wetter_weather_and_more_people_make_a_wetter_room():
    dry, wet = (hourly_year(YEAR.temperature, humidity) for humidity in (0.008, 0.013))
    wanted = LOAD.sensible > 500.0
    in_dry, in_wet = (indoor_wet_bulb(TABLE, year, LOAD, MOISTURE)[wanted] for year in (dry, wet))
    assert np.all(in_wet >= in_dry)
    assert in_wet.mean() > in_dry.mean() + 0.5
    crowded = indoor_wet_bulb(TABLE, dry, LOAD, Moisture(0.035, 4e-4, ROOM))[wanted]
    assert crowded.mean() > in_dry.mean() + 0.5


def test_hours_without_cooling_stand_at_the_middle():
    bulb = indoor_wet_bulb(TABLE, YEAR, LOAD, MOISTURE)
    assert np.all(bulb[LOAD.sensible == 0.0] == TABLE.wet_bulb[TABLE.wet_bulb.size // 2])


def test_one_hour_by_hand():
    """One steady state solved here by a fine search over the closed-form unit."""
    load = CoolingLoad(np.full(8760, 4000.0), np.zeros(8760))
    year = hourly_year(np.full(8760, 303.15), 0.012)
    found = indoor_wet_bulb(TABLE, year, load, MOISTURE)[0]
    bulb = np.linspace(285.0, ROOM, 100_001)
    point = operating_point(303.15, 0.0, bulb)
    fraction = 4000.0 / point.sensible_capacity
    run = fraction / (1.0 - 0.2 * (1.0 - fraction))
    inside = moist_air.humidity_ratio_from_wet_bulb(ROOM, bulb, 101325.0)
    left = 0.035 * (0.012 - inside) + 1.2e-4
    left = left - run * (point.total_capacity - point.sensible_capacity) / HEAT_OF_VAPORISATION
    assert found == pytest.approx(bulb[np.argmin(np.abs(left))], abs=0.02)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: Moisture(-1.0, 0.0, ROOM), "outdoor_air must be 0 kg/s or more, got -1"),
        (lambda: Moisture(0.0, float("inf"), ROOM), "indoor_gain must be 0 kg/s or more"),
        (lambda: Moisture(0.0, 0.0, 24.0), r"room_temperature must lie in \[280, 320\] K, got 24"),
        (lambda: indoor_wet_bulb(synthetic_table(), YEAR, LOAD, MOISTURE), "at least two wet bulbs"),
        (
            lambda: indoor_wet_bulb(replace(TABLE, slower=(TABLE,)), YEAR, LOAD, MOISTURE),
            "a table of one speed, got 2",
        ),
        (lambda: indoor_wet_bulb(TABLE, bin_year(1000.0), LOAD, MOISTURE), "needs an hourly weather file"),
    ],
)
def test_what_cannot_be_balanced_is_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()
