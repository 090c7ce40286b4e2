"""Other laws of expansion devices: limits that their sources give, and how they differ from the model's."""

import numpy as np
import pytest
from scipy.optimize import brentq

from calibration.studies.foreign.devices import BeforeDevice, Spring, burnell_flux, leung_flux, valve_opening
from model.properties.refrigerant import refrigerant

FLUID = refrigerant("R410A")
PRESSURE = FLUID.bubble_pressure(np.array(318.15))


def inlet(subcooling: float, quality: float = -0.05) -> BeforeDevice:
    temperature = np.array([318.15 - subcooling])
    _, density = FLUID.liquid(np.full(1, PRESSURE), temperature)
    return BeforeDevice(np.full(1, PRESSURE), temperature, np.full(1, quality), density, np.array([1900.0]))


def test_far_subcooled_liquid_chokes_at_its_saturation_pressure():
    # Leung, Grolmes 1988: where saturation is far below the inlet the flux is that of plain liquid.
    there = inlet(25.0)
    plain = np.sqrt(2.0 * there.density * (PRESSURE - FLUID.bubble_pressure(there.temperature)))
    assert leung_flux(FLUID, there) == pytest.approx(plain, rel=0.02)


def test_saturated_liquid_chokes_at_the_root_of_leungs_equation():
    there = inlet(0.0, 0.0)
    line = FLUID.saturation(there.pressure)
    growth = 1.0 / line.vapour_density - 1.0 / there.density
    latent = line.vapour_enthalpy - line.liquid_enthalpy
    omega = float(
        (there.heat_capacity * there.temperature * there.pressure * there.density * (growth / latent) ** 2)[0]
    )

    def equation(eta):  # Leung 1986, eq. of the critical pressure ratio (from memory)
        return eta**2 + (omega**2 - 2 * omega) * (1 - eta) ** 2 + 2 * omega**2 * (np.log(eta) + 1 - eta)

    eta = brentq(equation, 0.2, 0.99)
    flux = eta * np.sqrt(there.pressure * there.density / omega)
    assert leung_flux(FLUID, there) == pytest.approx(flux, rel=0.01)


def test_both_weigh_subcooling_more_than_short_tubes_do():
    # Payne, O'Neal 2004: 1.6 to 2.4 % a kelvin.
    for law, least, most in ((burnell_flux, 0.03, 0.08), (leung_flux, 0.03, 0.12)):
        low, high = law(FLUID, inlet(5.0)), law(FLUID, inlet(6.0))
        assert least < float(high[0] / low[0] - 1.0) < most


def test_bubbles_cut_the_flow():
    for law in (burnell_flux, leung_flux):
        flux = [float(law(FLUID, inlet(0.0, quality))[0]) for quality in (0.0, 0.05, 0.15)]
        assert flux == sorted(flux, reverse=True)


def test_a_valve_is_at_its_rating_where_it_was_set_and_closed_at_the_dew_point():
    low = FLUID.dew_pressure(np.array([281.0]))
    spring = float((FLUID.dew_pressure(np.array([285.0])) - low)[0])
    rated = float((FLUID.dew_pressure(np.array([288.0])) - low)[0]) - spring
    at = [
        float(valve_opening(FLUID, low, np.array([bulb]), Spring(spring, rated, 1.5))[0])
        for bulb in (281.0, 288.0, 305.0)
    ]
    assert at[0] < 0.02
    assert at[1] == pytest.approx(1.0, abs=0.01)
    assert 1.4 < at[2] <= 1.5


def test_a_colder_evaporator_needs_more_superheat_to_open_the_valve():
    # A spring is a pressure, and a kelvin is less pressure where it is cold.
    def superheat(dew):
        low = FLUID.dew_pressure(np.array([dew]))
        return brentq(
            lambda k: float(valve_opening(FLUID, low, np.array([dew + k]), Spring(1.2e5, 1e5, 1.5))[0]) - 0.8,
            0.1,
            30.0,
        )

    assert superheat(271.0) > superheat(283.0) + 0.5
