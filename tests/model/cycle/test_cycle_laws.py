"""Laws of physics that the cycle obeys over wide ranges: no part destroys entropy, and what fouling, weather
and humidity do has one direction.

Directions hold for steady machines from cool to hot days (65 to 120 degF) with up to 65 % of the face blocked
and the charge within 15 %; points held at a pressure limit are no steady machines and left out. On a colder
day a starved fixed orifice can gain a little from a warmer condenser, as in the field.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from model.cycle.boundary import Conditions
from model.cycle.faults import Faults
from model.cycle.sizing import nominal_unit
from model.cycle.solve import STATE_CODES, solve
from model.properties import moist_air
from model.properties.refrigerant import refrigerant

PROPERTY = settings(derandomize=True, deadline=None, max_examples=50)
REFRIGERANTS = ("R410A", "R454B", "R22", "R407C", "R290")
STEADY = STATE_CODES["low-pressure trip"]
"""States below this one are steady machines."""


class Situation(NamedTuple):
    unit: object
    conditions: Conditions
    blocked: float
    charge_change: float

    def at(self, **changed):
        """Point with other conditions."""
        return solve(
            self.unit,
            replace(self.conditions, **changed),
            Faults(condenser_blocked=self.blocked, charge_change=self.charge_change),
        )

    def blocked_at(self, blocked):
        return self._replace(blocked=blocked).at()


@lru_cache
def unit_of(name, kind, tons):
    return nominal_unit(name, 3516.85 * tons, 3.1, expansion=kind)


@st.composite
def situations(draw):
    name = draw(st.sampled_from(REFRIGERANTS))
    kind = draw(st.sampled_from(["TXV", "fixed orifice"]))
    unit = unit_of(name, kind, draw(st.sampled_from([1.5, 3.0, 5.0, 20.0])))
    pressure = moist_air.standard_pressure(draw(st.floats(0.0, 2500.0)))
    returned = draw(st.floats(293.0, 305.0))
    ratio = moist_air.humidity_ratio_from_relative_humidity(returned, draw(st.floats(0.2, 0.75)), pressure)
    conditions = Conditions(draw(st.floats(292.0, 322.0)), returned, ratio, pressure)
    return Situation(unit, conditions, draw(st.floats(0.0, 0.65)), draw(st.floats(-0.15, 0.15)))


def steady(*points):
    for point in points:
        assert np.all(point.residual < 1e-6)
    assume(all(np.all(point.state < STEADY) for point in points))


@PROPERTY
@given(situations())
def test_first_law_closes(situation):
    point = situation.at()
    steady(point)
    given_ = point.gross_capacity + point.compressor_power + point.suction_gain
    np.testing.assert_allclose(point.heat_rejected + point.shell_loss, given_, rtol=1e-9)
    np.testing.assert_allclose(point.evaporator_air_heat, point.gross_capacity, rtol=1e-6)
    np.testing.assert_allclose(point.condenser_air_heat, point.heat_rejected, rtol=1e-6)


class Entropies(NamedTuple):
    """Specific entropies around the circuit [J/(kg K)]."""

    evaporator_exit: float
    suction: float
    discharge: float
    liquid: float
    evaporator_entry: float


def entropies(point, fluid):
    """From the reported pressures and enthalpies; mixtures on the straight line between bubble and dew."""
    gained = point.suction_gain / point.refrigerant_flow
    return Entropies(
        entropy(fluid, point.evaporator_pressure, point.suction_enthalpy - gained),
        entropy(fluid, point.suction_pressure, point.suction_enthalpy),
        entropy(fluid, point.discharge_pressure, point.discharge_enthalpy),
        liquid_entropy(fluid, point),
        entropy(fluid, point.evaporator_pressure, point.liquid_enthalpy),
    )


def entropy(fluid, pressure, enthalpy):
    line = fluid.saturation(pressure)
    share = (enthalpy - line.liquid_enthalpy) / (line.vapour_enthalpy - line.liquid_enthalpy)
    mixed = line.liquid_entropy + share * (line.vapour_entropy - line.liquid_entropy)
    return float(mixed if share < 1.0 else fluid.vapour_entropy(pressure, enthalpy))


def liquid_entropy(fluid, point):
    """Subcooled from the bubble line by c ln T, with the heat capacity there."""
    line = fluid.saturation(point.liquid_pressure)
    if point.liquid_enthalpy > line.liquid_enthalpy:
        return entropy(fluid, point.liquid_pressure, point.liquid_enthalpy)
    fall = np.log(point.liquid_temperature / line.bubble_temperature)
    return float(line.liquid_entropy + line.liquid_heat_capacity * fall)


def entropy_lost_by_air(point, conditions):
    """Sensible heat at temperatures between both ends, latent at the dew point or below [W/K], at least."""
    leaving = float(point.supply_temperature - point.blower_power / (point.indoor_airflow * 1020.0))
    entering = conditions.return_temperature
    sensible = point.gross_capacity - point.latent_capacity
    mean = (entering - leaving) / np.log(entering / leaving)
    dew = moist_air.dew_point(conditions.return_humidity_ratio, conditions.ambient_pressure)
    return float(sensible / mean + point.latent_capacity / dew)


@PROPERTY
@given(situations())
def test_no_part_destroys_entropy(situation):
    point, outdoor = situation.at(), situation.conditions.outdoor_temperature
    steady(point)
    s, flow = entropies(point, refrigerant(situation.unit.refrigerant)), float(point.refrigerant_flow)
    # The leaving air has the fan's heat too.
    warmed = point.condenser_air_heat + point.outdoor_fan_power
    rate = warmed / (point.condenser_leaving_temperature - outdoor)
    leaving = outdoor + point.condenser_air_heat / rate
    produced = {
        "compressor": flow * (s.discharge - s.suction) + point.shell_loss / outdoor,
        "condenser": rate * np.log(leaving / outdoor) - flow * (s.discharge - s.liquid),
        "liquid line and expansion device": flow * (s.evaporator_entry - s.liquid),
        "evaporator": flow * (s.evaporator_exit - s.evaporator_entry)
        - entropy_lost_by_air(point, situation.conditions),
        "suction line": flow * (s.suction - s.evaporator_exit) - point.suction_gain / outdoor,
    }
    for part, more in produced.items():
        assert more > 0.0, part


@PROPERTY
@given(situations(), st.floats(0.02, 0.2))
def test_more_blockage_never_lowers_condensing_temperature_or_raises_eer(situation, more):
    point, dirtier = situation.at(), situation.blocked_at(situation.blocked + more)
    steady(point, dirtier)
    assert dirtier.condensing_temperature >= point.condensing_temperature
    assert dirtier.liquid_pressure >= point.liquid_pressure
    assert dirtier.eer < point.eer
    assert dirtier.outdoor_airflow < point.outdoor_airflow


@PROPERTY
@given(situations(), st.floats(0.5, 8.0))
def test_eer_falls_with_outdoor_temperature(situation, warmer):
    point = situation.at()
    hotter = situation.at(outdoor_temperature=situation.conditions.outdoor_temperature + warmer)
    steady(point, hotter)
    assert hotter.eer < point.eer
    assert hotter.condensing_temperature > point.condensing_temperature


@PROPERTY
@given(situations(), st.floats(1.02, 1.3))
def test_capacity_rises_with_return_wet_bulb_at_the_same_dry_bulb(situation, moister):
    """On a dry coil wet bulb does nothing but through the density of air: one per mille at most."""
    ratio = situation.conditions.return_humidity_ratio * moister
    saturated = moist_air.saturation_humidity_ratio(
        situation.conditions.return_temperature, situation.conditions.ambient_pressure
    )
    assume(ratio < 0.95 * saturated)
    point, wetter = situation.at(), situation.at(return_humidity_ratio=ratio)
    steady(point, wetter)
    if point.latent_capacity > 0.0:
        assert wetter.net_capacity > point.net_capacity
        assert wetter.latent_capacity > point.latent_capacity
    else:
        assert wetter.net_capacity > 0.999 * point.net_capacity


@PROPERTY
@given(situations(), st.floats(0.02, 0.3))
def test_leakage_takes_capacity_and_brings_pressures_together(situation, more):
    healthy = situation.at()
    faults = Faults(condenser_blocked=situation.blocked, charge_change=situation.charge_change)
    leaking = solve(situation.unit, situation.conditions, replace(faults, compressor_leakage=more))
    steady(healthy, leaking)
    assert leaking.net_capacity < healthy.net_capacity
    assert leaking.suction_pressure > healthy.suction_pressure
    assert leaking.liquid_pressure < healthy.liquid_pressure
