"""Property diagrams: the states stand where they were put, in the axes' units, before a true background."""

import numpy as np
import pytest

from calibration.case import units
from dashboard.charts import style
from dashboard.charts.chart import Curve, Note
from dashboard.charts.draw_plotly import plotly_figure
from dashboard.charts.draw_svg import svg
from dashboard.charts.property_diagrams import CycleTrace, pressure_enthalpy_chart, psychrometric_chart
from model.properties.refrigerant import refrigerant

LABELS = ("compressor inlet", "compressor outlet", "expansion inlet", "evaporator inlet")


def cycle(name: str = "measured", role: style.Role = style.MEASURED) -> CycleTrace:
    return CycleTrace(
        name, role, np.array([430e3, 460e3, 265e3, 265e3]), np.array([10e5, 27e5, 27e5, 10e5]), LABELS
    )


def curve(chart, name: str) -> Curve:
    (found,) = [layer for layer in chart.layers if isinstance(layer, Curve) and layer.name == name]
    return found


@pytest.mark.parametrize(
    "system, first_x, first_y, unit",
    # 430 kJ/kg = 184.867 Btu/lb and 1 MPa = 145.038 psi (NIST SP 811, Appendix B)
    [("US", 184.867, 145.038, "psi absolute"), ("SI", 430.0, 1000.0, "kPa absolute")],
)
def test_the_cycle_is_closed_and_in_display_units(system, first_x, first_y, unit):
    chart = pressure_enthalpy_chart(refrigerant("R410A"), [cycle()], system)
    drawn = curve(chart, "measured")
    assert drawn.x[0] == drawn.x[-1] == pytest.approx(first_x, abs=1e-3)
    assert drawn.y[0] == drawn.y[-1] == pytest.approx(first_y, abs=1e-3)
    assert drawn.labels == (*LABELS, LABELS[0])
    assert chart.y.unit == unit
    assert chart.y.log


def test_every_state_lies_inside_the_axes():
    chart = pressure_enthalpy_chart(refrigerant("R410A"), [cycle(), cycle("clean", style.CLEAN)], "US")
    for name in ("measured", "clean"):
        drawn = curve(chart, name)
        assert chart.x.low < drawn.x.min() and drawn.x.max() < chart.x.high
        assert chart.y.low < drawn.y.min() and drawn.y.max() < chart.y.high
        assert name in chart.description


def test_an_isotherm_crosses_the_two_phase_region_at_its_saturation_pressure():
    fluid = refrigerant("R410A")
    chart = pressure_enthalpy_chart(fluid, [cycle()], "SI")
    guides = [layer for layer in chart.layers if isinstance(layer, Curve) and layer.role == style.GUIDE]
    notes = [layer.text for layer in chart.layers if isinstance(layer, Note)]
    assert len(guides) == len(notes)
    forty = guides[notes.index("40")]
    saturation = float(fluid.dew_pressure(units.TEMPERATURE.to_si(40.0, "SI"))) / 1000.0
    corner = np.argmin(np.abs(forty.y - saturation))
    assert forty.y[corner] == pytest.approx(saturation, rel=1e-9)
    dew = float(fluid.saturation(1000.0 * saturation).vapour_enthalpy) / 1000.0
    assert np.min(np.abs(forty.x - dew)) < 0.05


def test_both_drawings_take_the_diagram():
    chart = pressure_enthalpy_chart(refrigerant("R410A"), [cycle()], "US")
    assert len(plotly_figure(chart)["data"]) >= 4
    assert b"<svg" in svg(chart)


def test_a_diagram_without_a_cycle_is_refused():
    with pytest.raises(ValueError, match="at least one cycle"):
        pressure_enthalpy_chart(refrigerant("R410A"), [], "US")


def air(name: str = "measured", role: style.Role = style.MEASURED) -> CycleTrace:
    return CycleTrace(name, role, np.array([299.82, 287.0]), np.array([0.0112, 0.0095]), ("return", "supply"))


@pytest.mark.parametrize(
    # 299.82 K = 80.006 degF; 0.0112 kg/kg = 78.4 grains a pound (7000 grains to the pound) = 11.2 g/kg
    "system, x, y",
    [("US", 80.006, 78.4), ("SI", 26.67, 11.2)],
)
def test_the_air_process_is_in_display_units_and_inside_the_axes(system, x, y):
    chart = psychrometric_chart([air()], 101325.0, system)
    drawn = curve(chart, "measured")
    assert (drawn.x[0], drawn.y[0]) == pytest.approx((x, y), abs=1e-3)
    assert chart.x.low < drawn.x.min() and drawn.x.max() < chart.x.high
    assert chart.y.low < drawn.y.min() and drawn.y.max() < chart.y.high


def test_saturation_line_stands_where_the_handbook_has_it():
    # ASHRAE Handbook Fundamentals 2017, chapter 1, Table 2: 41 degF saturated, 0.005425 lb/lb; the table has
    # the enhancement factor of real air, 0.4 %, which closed forms leave out.
    cold = CycleTrace("cold", style.MEASURED, np.array([300.0, 279.0]), np.array([0.011, 0.005]), ("a", "b"))
    chart = psychrometric_chart([cold], 101325.0, "SI")
    (saturation,) = [
        layer for layer in chart.layers if isinstance(layer, Curve) and layer.role == style.BACKGROUND
    ]
    assert np.interp(5.0, saturation.x, saturation.y) == pytest.approx(5.425, rel=0.006)


def test_wet_bulb_lines_fall_from_saturation_to_dry_air():
    chart = psychrometric_chart([air()], 101325.0, "SI")
    lines = [
        layer for layer in chart.layers if isinstance(layer, Curve) and layer.role == style.WET_BULB_GUIDE
    ]
    assert len(lines) >= 3
    for line in lines:
        assert np.all(np.diff(line.y) < 0.0)
        assert line.y.min() >= 0.0


def test_both_drawings_take_the_psychrometric_chart():
    chart = psychrometric_chart([air(), air("clean", style.CLEAN)], 85e3, "US")
    assert len(plotly_figure(chart)["data"]) >= 6
    assert b"<svg" in svg(chart)


def test_a_psychrometric_chart_without_a_process_is_refused():
    with pytest.raises(ValueError, match="at least one process"):
        psychrometric_chart([], 101325.0, "US")
