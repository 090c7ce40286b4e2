"""No jumps: sweeps ten times as fine have steps about a tenth as large, across every boundary of the physics.

Each sweep is solved twice, coarse and fine. A jump would stay as large however fine the sweep; a steep but
continuous stretch gets steps smaller in proportion.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from model.cycle.faults import FAULTS, Faults, at_level
from model.cycle.sizing import nominal_unit, rating_conditions
from model.cycle.solve import solve

UNITS = {kind: nominal_unit("R410A", 10_550.0, expansion=kind) for kind in ("TXV", "fixed orifice")}
RATING = rating_conditions()
FAULTS_BY_NAME = {fault.key: fault for fault in FAULTS}
COARSE, FINER = 200, 10
LARGEST_SHARE = 0.2
"""Largest fine step over largest coarse step [-]: 0.1 where smooth, 1 where there is a jump."""
ROUNDING = 3e-7
"""What the solver's tolerance leaves of a figure [-]."""
LARGEST_STEP = 0.025
"""Largest step of the fine sweep over the figure's whole range in it [-]; 0.022 of subcooling just before a
switch opens on a blocked coil, where condensing pressure rises fastest."""
FIGURES = (
    "suction_pressure",
    "liquid_pressure",
    "discharge_pressure",
    "superheat",
    "subcooling",
    "suction_temperature",
    "liquid_temperature",
    "discharge_temperature",
    "supply_temperature",
    "supply_humidity_ratio",
    "condenser_leaving_temperature",
    "net_capacity",
    "sensible_capacity",
    "latent_capacity",
    "compressor_power",
    "total_power",
    "eer",
    "refrigerant_flow",
    "device_quality",
)


def assert_no_jump(solved):
    """`solved(shares)` gives points at shares [0, 1] of a sweep; returns the fine ones."""
    fine = solved(np.linspace(0.0, 1.0, COARSE * FINER + 1))
    assert np.all(fine.residual < 1e-6)
    for name in FIGURES:
        values = getattr(fine, name)
        span, noise = np.ptp(values), ROUNDING * np.abs(values).max()
        step = np.abs(np.diff(values)).max()
        coarse = np.abs(np.diff(values[::FINER])).max()
        assert step <= LARGEST_SHARE * coarse + noise, name
        assert step <= LARGEST_STEP * span + noise, name
    return fine


def swept(unit, low, high, **fixed):
    """Points of a sweep of the weather; every argument a field of `Conditions`."""

    def solved(shares):
        moved = {name: low[name] + shares * (high[name] - low[name]) for name in low}
        return solve(unit, replace(RATING, **moved, **fixed))

    return solved


@pytest.mark.parametrize("kind", UNITS)
@pytest.mark.parametrize("name", FAULTS_BY_NAME)
def test_every_level(kind, name):
    """Up to its gravest level; a valve's overcharge up to nine tenths of it.

    With 38 % too much charge a valve's condenser is so full that there is no steady state below the limit:
    the pressure runs away from 39 bar to the switch.
    """
    fault = FAULTS_BY_NAME[name]
    most = 0.9 if (kind, name) == ("TXV", "overcharge") else 1.0
    assert_no_jump(lambda shares: solve(UNITS[kind], RATING, at_level(fault, most * shares)))


@pytest.mark.parametrize("kind", UNITS)
def test_outdoor_temperature(kind):
    """55 to 125 degF."""
    low, high = {"outdoor_temperature": 285.93}, {"outdoor_temperature": 324.82}
    assert_no_jump(swept(UNITS[kind], low, high))


@pytest.mark.parametrize("kind", UNITS)
def test_from_a_dry_coil_to_a_wet_one(kind):
    low, high = {"return_humidity_ratio": 0.002}, {"return_humidity_ratio": 0.017}
    points = assert_no_jump(swept(UNITS[kind], low, high))
    assert points.latent_capacity[0] == 0.0
    assert points.latent_capacity[-1] > 0.2 * points.net_capacity[-1]


@pytest.mark.parametrize("kind", UNITS)
def test_from_subcooled_liquid_to_flash_gas(kind):
    unit = UNITS[kind]
    points = assert_no_jump(lambda s: solve(unit, RATING, Faults(charge_change=0.05 - 0.45 * s)))
    assert points.device_quality[0] < 0.0 < points.device_quality[-1]
    assert points.subcooling[-1] < 0.3


def test_from_superheated_to_flooded_suction():
    unit = UNITS["fixed orifice"]
    points = assert_no_jump(lambda s: solve(unit, RATING, Faults(charge_change=0.4 * s)))
    assert points.superheat[0] > 5.0
    assert points.superheat[-1] == 0.0
    assert points.state_names()[-1] == "flooded suction"


@pytest.mark.parametrize("kind", UNITS)
def test_into_the_high_pressure_limit(kind):
    unit, hot = UNITS[kind], replace(RATING, outdoor_temperature=318.0)
    points = assert_no_jump(lambda s: solve(unit, hot, Faults(condenser_blocked=0.5 + 0.4 * s)))
    before = "ok" if kind == "TXV" else "flooded suction"
    assert {before, "high-pressure trip"} == set(points.state_names())


@pytest.mark.parametrize("kind", UNITS)
def test_into_the_low_pressure_limit(kind):
    unit = UNITS[kind]
    points = assert_no_jump(lambda s: solve(unit, RATING, Faults(liquid_restriction=3.0 + 12.0 * s)))
    assert points.state_names()[0] != "low-pressure trip"
    assert points.state_names()[-1] == "low-pressure trip"


@pytest.mark.parametrize("kind", UNITS)
def test_several_faults_growing_together_in_warming_weather(kind):
    def solved(share):
        weather = replace(RATING, outdoor_temperature=290.0 + 30.0 * share)
        faults = Faults(
            condenser_blocked=0.5 * share,
            evaporator_dust=3.0 * share,
            charge_change=-0.25 * share,
            noncondensable=1e5 * share,
            compressor_leakage=0.2 * share,
        )
        return solve(UNITS[kind], weather, faults)

    assert_no_jump(solved)
