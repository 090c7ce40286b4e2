"""Routes to the capacity of the coil from readings that the model itself would show, some of them gone."""

from dataclasses import replace

import numpy as np
import pytest

from calibration.clean_fit.observation import conditions
from calibration.diagnosis.capacity_routes import Routes
from calibration.studies.coverage import MAP_RANGE
from calibration.studies.other_compressor import other_compressor
from model.cycle.solve import solve
from model.properties.moist_air import STANDARD_PRESSURE
from tests.calibration.made_visits import true_unit, visit_of

UNIT = true_unit()


def routes(unit=UNIT, without=(), **other):
    readings = visit_of(unit, outdoor=306.15).readings() | other
    kept = {name: np.asarray(value) for name, value in readings.items() if name not in without}
    return Routes(kept, unit, STANDARD_PRESSURE)


def capacity(unit=UNIT) -> float:
    visit = visit_of(unit, outdoor=306.15).readings()
    settings = {
        name: visit[name]
        for name in ("outdoor_db", "return_db", "return_wb", "indoor_airflow", "indoor_power")
    }
    return float(solve(unit, conditions(settings, STANDARD_PRESSURE)).gross_capacity)


@pytest.mark.parametrize("route", ["air_side", "refrigerant_side", "compressor_balance", "condenser_side"])
def test_every_route_leads_to_the_capacity(route):
    assert float(getattr(routes(), route)) == pytest.approx(capacity(), rel=2e-3)


def test_without_a_discharge_gauge_the_coils_drop_is_added_to_the_liquid_line():
    whole, without = routes(), routes(without=("discharge_pressure",))
    assert float(without.discharge_pressure) == pytest.approx(float(whole.discharge_pressure), rel=2e-3)
    assert float(without.discharge_pressure) > float(without.readings["liquid_pressure"])
    assert float(without.refrigerant_side) == pytest.approx(capacity(), rel=5e-3)


def test_the_compressors_own_power_is_taken_where_it_was_read():
    whole = routes()
    own = float(whole.readings["outdoor_power"] - whole.fan_power)
    alone = routes(without=("outdoor_power", "outdoor_fan_power"), compressor_power=own)
    assert float(alone.power_read) == pytest.approx(own)
    assert float(alone.fan_power) == pytest.approx(float(np.asarray(UNIT.outdoor_fan.power)))
    assert float(alone.compressor_balance) == pytest.approx(float(whole.compressor_balance))


def test_a_makers_map_gives_flow_and_power():
    mapped = replace(UNIT, compressor=other_compressor(UNIT, np.random.default_rng(2), MAP_RANGE))
    found = routes(mapped)
    assert float(found.refrigerant_side) == pytest.approx(capacity(mapped), rel=2e-3)
    assert float(found.flow_and_power[1]) == pytest.approx(float(found.power_read), rel=5e-3)


def test_the_suction_line_takes_up_no_heat_that_was_not_read():
    assert float(routes().line_heat) > 0.0
    assert float(routes(without=("suction_temperature",)).line_heat) == 0.0
