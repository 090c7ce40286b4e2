"""Segmented coils against closed formulas where there are any, and the first law."""

import numpy as np
import pytest

from calibration.studies.foreign.coils import IndoorAir, SegmentedCoil, boiled, condensed, condenser_face
from model.properties import moist_air
from model.properties.refrigerant import refrigerant

FLUID = refrigerant("R32")
PRESSURE, AIR_PRESSURE = FLUID.bubble_pressure(np.array([318.15])), np.array([101325.0])
COIL = SegmentedCoil(
    air_conductance=2000.0, air_exponent=0.6, gas_conductance=1500.0, mixture_conductance=8000.0,
    liquid_conductance=1500.0, flow_exponent=0.8, rated_flow=0.05, rated_air=1500.0, rated_pressure=2.8e6,
    volume=2e-3, flow_area=2.5e-4, drop=0.0, unevenness=0.0,
)  # fmt: skip
OPEN, EVEN = np.array([0.0]), np.zeros((2, 1))


def leaving(coil: SegmentedCoil, blocked: float = 0.0, tilt: np.ndarray = EVEN, flow: float = 0.05) -> float:
    """Enthalpy over saturated liquid behind a condenser fed with gas of 350 K [J/kg]."""
    line = FLUID.saturation(PRESSURE)
    face = condenser_face(coil, np.array([1500.0]), np.array([1.0]), np.array([blocked]), tilt)
    entering = FLUID.vapour(PRESSURE, 350.0 - line.dew_temperature).enthalpy
    _, after = condensed(
        coil, face, line, (np.array([flow]), entering, np.array([350.0])), np.array([308.15])
    )
    return float((after - line.liquid_enthalpy)[0])


def test_a_coil_of_one_condensing_temperature_has_the_effectiveness_of_the_books():
    line = FLUID.saturation(PRESSURE)
    face = condenser_face(COIL, np.array([1500.0]), np.array([1.0]), OPEN, EVEN)
    flow = np.array([5.0])  # So much that the quality hardly changes and nothing but the film resists.
    thick = SegmentedCoil(**{**vars(COIL), "mixture_conductance": 1e9})
    middle = 0.5 * (line.vapour_enthalpy + line.liquid_enthalpy)
    path, _ = condensed(thick, face, line, (flow, middle, line.dew_temperature), np.array([308.15]))
    exact = 1500.0 * -np.expm1(-2000.0 / 1500.0) * (line.dew_temperature - 308.15)
    assert float(path.heat.sum()) == pytest.approx(float(exact[0]), rel=0.01)


def test_a_coil_without_end_cools_the_liquid_to_the_air():
    endless = SegmentedCoil(
        **{
            **vars(COIL),
            "air_conductance": 1e5,
            "liquid_conductance": 1e5,
            "gas_conductance": 1e5,
            "mixture_conductance": 1e6,
        }
    )
    line = FLUID.saturation(PRESSURE)
    cold = float((line.liquid_heat_capacity * (318.15 - 308.15))[0])
    assert leaving(endless, flow=0.02) == pytest.approx(-cold, rel=0.02)


def test_blocking_leaves_less_subcooling_and_more_so_where_one_circuit_bears_it():
    clean, even = leaving(COIL, flow=0.035), leaving(COIL, 0.4, flow=0.035)
    uneven = leaving(COIL, 0.4, np.array([[1.0], [0.0]]), flow=0.035)
    assert clean < even < uneven


def test_air_gives_up_what_the_refrigerant_takes_and_loses_water_only_where_cold():
    wet = moist_air.humidity_ratio_from_wet_bulb(299.82, 292.59, 101325.0)
    for humidity, dries in ((np.array([wet]), True), (np.array([0.004]), False)):
        air = IndoorAir(
            np.array([0.5]), np.array([299.82]), humidity, moist_air.enthalpy(299.82, humidity),
            moist_air.heat_capacity(humidity), AIR_PRESSURE,
        )  # fmt: skip
        line = FLUID.saturation(FLUID.dew_pressure(np.array([281.0])))
        coil = SegmentedCoil(**{**vars(COIL), "rated_air": 510.0, "air_conductance": 900.0})
        through = boiled(coil, air, (line, line), np.array([0.04]), line.liquid_enthalpy + 6e4)
        behind = moist_air.enthalpy(through.air_temperature, through.humidity_ratio)
        assert 0.5 * float((air.enthalpy - behind)[0]) == pytest.approx(float(through.path.heat[0]), rel=2e-3)
        assert (float(through.humidity_ratio[0]) < float(humidity[0]) - 1e-4) == dries
