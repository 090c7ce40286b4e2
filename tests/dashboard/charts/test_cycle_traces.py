"""Cycles and air processes for the diagrams: what was read and what the model says lie where they must."""

from dataclasses import replace

import numpy as np
import pytest

from dashboard.charts import style
from dashboard.charts.chart import Curve
from dashboard.charts.cycle_traces import expected_cycle, measured_air, measured_cycle
from dashboard.charts.property_diagrams import pressure_enthalpy_chart
from model.properties.refrigerant import refrigerant


def test_expected_cycle_closes_the_energy_balance_of_the_evaporator(demo):
    # mass flow times the enthalpy from evaporator inlet to suction port is coil capacity and line gain
    point = demo.comparison.clean.point
    cycle = expected_cycle(point, style.CLEAN, "clean")
    heat = float(point.refrigerant_flow) * (cycle.x[0] - cycle.x[3])
    assert heat == pytest.approx(float(point.gross_capacity), rel=0.03)
    assert np.all(np.isfinite(cycle.x)) and np.all(cycle.y > 0)
    assert cycle.x[2] == cycle.x[3]


def test_measured_cycle_lies_near_the_one_that_fits_it(demo):
    found = measured_cycle(demo.visit, "R410A", style.MEASURED, "measured")
    expected = expected_cycle(demo.comparison.fouled.point, style.EXPECTED, "expected")
    assert found.labels == expected.labels
    assert np.max(np.abs(found.x - expected.x)) < 4e3
    assert np.max(np.abs(found.y / expected.y - 1.0)) < 0.05


def test_without_a_discharge_temperature_the_outlet_is_left_out_and_the_line_is_open(demo):
    found = measured_cycle(replace(demo.visit, discharge_temperature=None), "R410A", style.MEASURED, "m")
    whole = measured_cycle(demo.visit, "R410A", style.MEASURED, "m")
    assert whole.closed and not found.closed
    # liquid line, behind the valve, suction line: the way on to the discharge port is not known
    assert found.labels == (*whole.labels[2:], whole.labels[0])
    (curve,) = (
        layer
        for layer in pressure_enthalpy_chart(refrigerant("R410A"), [found], "SI").layers
        if isinstance(layer, Curve) and layer.name == "m"
    )
    assert curve.x.size == 3


def test_without_a_discharge_gauge_the_liquid_line_stands_in(demo):
    found = measured_cycle(replace(demo.visit, discharge_pressure=None), "R410A", style.MEASURED, "m")
    assert found.y[1] == demo.visit.liquid_pressure


@pytest.mark.parametrize(
    "name", ["suction_pressure", "suction_temperature", "liquid_pressure", "liquid_temperature"]
)
def test_without_gauge_or_thermometer_there_is_no_cycle(demo, name):
    assert measured_cycle(replace(demo.visit, **{name: None}), "R410A", style.MEASURED, "m") is None


def test_air_is_cooled_and_dried_as_the_model_expects(demo):
    read = measured_air(demo.visit, style.MEASURED, "read")
    point = demo.comparison.clean.point
    assert read.x[1] < read.x[0] and read.y[1] < read.y[0]
    assert read.x[1] == pytest.approx(float(point.supply_temperature), abs=2.0)
    assert read.y[1] == pytest.approx(float(point.supply_humidity_ratio), abs=1e-3)


def test_supply_air_without_a_humidity_is_not_drawn(demo):
    assert measured_air(replace(demo.visit, supply_wb=None), style.MEASURED, "read") is None
