"""A year of cooling against sums made independently with pandas, the bin method and plain loops."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model.season.load import CoolingLoad, ahri_load, given_load, line_load
from model.season.performance_table import Performance, build_table
from model.season.simulation import MORNING_HOUR, Running, hourly_season, season_totals
from model.season.weather_year import AHRI_BIN_FRACTION, AHRI_BIN_TEMPERATURE, bin_year, hourly_year
from tests.model.synthetic_unit import (
    BLOWER_POWER,
    DESIGN,
    RATED_CAPACITY,
    WET_BULB,
    operating_point,
    synthetic_setting,
    synthetic_table,
    synthetic_year,
)

TABLE = synthetic_table()
SETTING = synthetic_setting()


def totals_of(setting, level=0.0, table=TABLE):
    hourly = hourly_season(table, setting.year, setting.load, level, setting.wet_bulb, setting.running)
    return hourly, season_totals(hourly, table, setting.year, setting.load, level)


def test_energy_of_every_month_against_pandas():
    """Load, capacity, cycling and energy made again from the closed forms, row by row in a data frame."""
    year, load = SETTING.year, line_load(SETTING.year.temperature, 290.15, DESIGN, 6000.0)
    level = np.linspace(0.0, 0.4, 8760)
    hourly = hourly_season(TABLE, year, load, level)
    point = operating_point(year.temperature, level)
    frame = pd.DataFrame({"air": year.temperature, "month": year.month, "capacity": point.total_capacity})
    frame["load"] = (6000.0 * (frame["air"] - 290.15) / (DESIGN - 290.15)).clip(lower=0.0)
    frame["part"] = frame["load"] / frame["capacity"]
    frame["run"] = frame["part"] / (1.0 - 0.20 * (1.0 - frame["part"]))
    frame["joules"] = 3600.0 * frame["run"] * (point.outdoor_power + BLOWER_POWER)
    assert frame["part"].max() < 1.0
    by_month = frame.groupby("month").sum()
    totals = season_totals(hourly, TABLE, year, load, level)
    assert np.allclose(totals.energy[0], by_month["joules"], rtol=1e-3)
    assert np.allclose(totals.run_hours[0], by_month["run"], rtol=1e-3)
    assert np.allclose(totals.cooling[0], 3600.0 * by_month["load"], rtol=1e-9)
    assert totals.short_hours.sum() == 0.0


def short_form_ratio(capacity_slope, power_slope, cycling_coefficient):
    """Seasonal efficiency by bins over (1 - Cd / 2) times that at 82 degF, slopes per K from 95 degF on."""

    def point(outdoor, level, wet_bulb):
        hotter = outdoor - DESIGN + 0.0 * level + 0.0 * wet_bulb
        return Performance(
            total_capacity=RATED_CAPACITY * (1.0 - capacity_slope * hotter),
            sensible_capacity=0.7 * RATED_CAPACITY + 0.0 * hotter,
            outdoor_power=2500.0 * (1.0 + power_slope * hotter),
            indoor_power=0.0 * hotter,
            approach=20.0 + 0.0 * hotter,
            trip_margin=20.0 + 0.0 * hotter,
        )

    table = build_table(
        point, np.linspace(AHRI_BIN_TEMPERATURE[0], AHRI_BIN_TEMPERATURE[-1], 15), [0.0, 1.0], [WET_BULB]
    )
    year = bin_year(1000.0)
    load = ahri_load(year.temperature, RATED_CAPACITY)
    running = Running(cycling_coefficient=cycling_coefficient)
    hourly = hourly_season(table, year, load, 0.0, running=running)
    totals = season_totals(hourly, table, year, load, 0.0)
    seasonal = totals.cooling.sum() / totals.energy.sum()
    at_82 = table.at(AHRI_BIN_TEMPERATURE[3], 0.0)
    return seasonal / ((1.0 - 0.5 * cycling_coefficient) * at_82.total_capacity / at_82.total_power)


@pytest.mark.parametrize("cycling_coefficient", [0.20, 0.25])
@pytest.mark.parametrize("capacity_slope", [0.0, 0.005, 0.010])
@pytest.mark.parametrize("power_slope", [0.012, 0.020, 0.028])
def test_bins_against_the_short_form(capacity_slope, power_slope, cycling_coefficient):
    """AHRI 210/240: SEER of a single-speed unit by bins against (1 - 0.5 Cd) EER_B, within 1 %.

    The short form would be exact if the load met the unit only where the load is half of the capacity, and
    did so at 82 degF. It is close because the load-weighted mean temperature of the bins is 82.1 degF and the
    load there, 17/33 of the capacity at 95 degF, is about half; what is left is of second order in the
    slopes, and grows past 1 % only when capacity falls by more than 1.2 % a kelvin.
    """
    assert short_form_ratio(capacity_slope, power_slope, cycling_coefficient) == pytest.approx(1.0, abs=0.01)


def test_mean_temperature_of_the_load_is_that_of_test_b():
    weight = AHRI_BIN_FRACTION * (AHRI_BIN_TEMPERATURE - AHRI_BIN_TEMPERATURE[0] + 2.0 / 1.8)
    mean = np.average(AHRI_BIN_TEMPERATURE, weights=weight) * 1.8 - 459.67
    assert mean == pytest.approx(82.0, abs=0.2)


def test_short_form_leaves_one_percent_when_capacity_falls_steeply():
    assert short_form_ratio(0.016, 0.036, 0.25) < 0.99


def test_cooling_owed_is_made_up_as_a_loop_would():
    """The running-minimum form against a plain loop over hours."""
    setting = synthetic_setting(design_load=22000.0)
    hourly, _ = totals_of(setting, 0.5)
    load, capacity = setting.load.total, hourly.capacity[0]
    owed, served, lost = 0.0, np.zeros(8760), np.zeros(8760)
    for hour in np.roll(np.arange(8760), -MORNING_HOUR):
        served[hour] = min(load[hour] + owed, capacity[hour])
        owed = load[hour] + owed - served[hour]
        if hour % 24 == MORNING_HOUR - 1:
            lost[hour], owed = owed, 0.0
    assert (lost > 0.0).sum() > 3
    assert np.allclose(hourly.served[0], served, atol=1e-6)
    assert np.allclose(hourly.lost[0], lost, atol=1e-6)


@given(design_load=st.floats(3000.0, 16000.0), level=st.floats(0.0, 0.7), makes_up=st.booleans())
@settings(derandomize=True, deadline=None, max_examples=25)
def test_all_cooling_is_served_or_lost(design_load, level, makes_up):
    setting = replace(synthetic_setting(design_load=design_load), running=Running(makes_up=makes_up))
    hourly, totals = totals_of(setting, level)
    asked = setting.load.total.sum() * 3600.0
    assert totals.cooling.sum() + totals.cooling_lost.sum() == pytest.approx(asked, rel=1e-9)
    assert np.all(hourly.served <= hourly.capacity + 1e-6)
    assert np.all((hourly.run_fraction >= 0.0) & (hourly.run_fraction <= 1.0))


@given(level=st.floats(0.0, 0.5), more=st.floats(0.01, 0.2))
@settings(derandomize=True, deadline=None, max_examples=20)
def test_more_fouling_takes_more(level, more):
    _, less = totals_of(SETTING, level)
    _, worse = totals_of(SETTING, level + more)
    assert worse.energy.sum() > less.energy.sum()
    assert worse.run_hours.sum() > less.run_hours.sum()
    assert worse.short_hours.sum() >= less.short_hours.sum()
    assert worse.trip_temperature[0] <= less.trip_temperature[0]


def test_no_cycling_loss_means_energy_by_capacity():
    setting = replace(SETTING, running=Running(cycling_coefficient=0.0))
    hourly, _ = totals_of(setting)
    point = TABLE.at(setting.year.temperature, 0.0)
    expected = hourly.served[0] / point.total_capacity * point.total_power
    assert np.allclose(hourly.power[0], expected)


def test_idle_power_is_drawn_while_off():
    quiet, _ = totals_of(replace(SETTING, running=Running(idle_power=0.0)))
    humming, _ = totals_of(replace(SETTING, running=Running(idle_power=30.0)))
    off = SETTING.load.total == 0.0
    assert np.allclose(humming.power[0][off], 30.0)
    assert np.allclose(humming.power - quiet.power, (1.0 - quiet.run_fraction) * 30.0)


def test_a_unit_over_its_limit_gives_no_cooling_and_runs_its_blower():
    year = hourly_year(np.full(8760, 318.15))
    load = given_load(np.full(8760, 4000.0))
    hourly = hourly_season(TABLE, year, load, 0.7)
    totals = season_totals(hourly, TABLE, year, load, 0.7)
    assert totals.trip_hours.sum() == 8760
    assert totals.short_hours.sum() == 8760
    assert np.allclose(hourly.power, BLOWER_POWER)
    assert totals.cooling.sum() == 0.0
    assert totals.trip_temperature[0] < 318.15


def test_a_shortfall_is_told_as_a_rise_of_the_room():
    setting = synthetic_setting(design_load=12000.0)
    hourly, totals = totals_of(setting)
    assert totals.worst_shortfall[0] == pytest.approx(hourly.shortfall.max())
    assert totals.worst_room_rise[0] == pytest.approx(
        totals.worst_shortfall[0] / setting.load.gain_coefficient
    )


def test_thermostat_on_sensible_load():
    """A unit that answers to the sensible load runs by the ratio of sensible load to sensible capacity."""
    load = CoolingLoad(np.full(8760, 2000.0), np.full(8760, 900.0))
    year = hourly_year(np.full(8760, 303.15))
    hourly = hourly_season(TABLE, year, load, 0.0, running=Running(0.0, "sensible"))
    assert np.allclose(hourly.run_fraction, 2000.0 / TABLE.at(303.15, 0.0).sensible_capacity)


def test_samples_equal_single_runs():
    scale, level = np.array([0.9, 1.0, 1.15]), np.array([[0.1], [0.3], [0.5]])
    table = synthetic_table(scale)
    together = hourly_season(table, SETTING.year, SETTING.load, level)
    totals = season_totals(together, table, SETTING.year, SETTING.load, level)
    for k in range(3):
        alone, single = totals_of(SETTING, level[k, 0], table.take([k]))
        assert np.allclose(together.power[k], alone.power[0])
        assert np.allclose(totals.energy[k], single.energy[0])
        assert totals.trip_temperature[k] == single.trip_temperature[0]


def test_a_wet_bulb_for_each_hour_is_taken():
    table = synthetic_table(wet_bulb=(288.6, 292.6, 296.6))
    bulb = np.linspace(289.0, 296.0, 8760)
    hourly = hourly_season(table, SETTING.year, SETTING.load, 0.2, bulb)
    expected = table.at(SETTING.year.temperature, 0.2, bulb).total_capacity
    assert np.allclose(hourly.capacity[0], expected)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: Running(cycling_coefficient=1.0), r"cycling_coefficient must lie in \[0, 1\), got 1"),
        (lambda: Running(answers_to="latent"), "answers_to must be 'total' or 'sensible', got 'latent'"),
        (lambda: Running(between_speeds="jumps"), "must be 'alternates' or 'varies', got 'jumps'"),
        (lambda: Running(idle_power=-1.0), "idle_power must be 0 W or more, got -1"),
        (
            lambda: hourly_season(TABLE, synthetic_year(), given_load([1.0])),
            "one value for each of 8760 entries",
        ),
        (
            lambda: hourly_season(TABLE, hourly_year(np.full(8760, 330.0)), given_load(np.ones(8760))),
            "ends at 323.15 K outdoors, but the year needs cooling at 330.00 K",
        ),
    ],
)
def test_what_cannot_be_simulated_is_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()


def test_a_blower_that_always_runs_against_a_balance_of_heat():
    """Over the hour, load and the blower's heat while off are what the net capacity removes while on."""
    running = Running(0.0, blower_always_on=True)
    year = hourly_year(np.full(8760, 303.15))
    load = given_load(np.where(np.arange(8760) % 2, 3000.0, 0.0))
    hourly = hourly_season(TABLE, year, load, 0.0, running=running)
    on, point = hourly.run_fraction[0], TABLE.at(303.15, 0.0)
    heat_in = load.total + BLOWER_POWER * (1.0 - on)
    asked = load.total > 0.0
    assert np.allclose(heat_in[asked], (on * point.total_capacity)[asked])
    assert np.all(on[~asked] == 0.0)
    assert np.allclose(hourly.power[0], on * point.outdoor_power + BLOWER_POWER)
    assert np.allclose(hourly.served[0], load.total)


def test_a_blower_that_always_runs_costs_its_watts_and_a_little_more():
    _, with_compressor = totals_of(SETTING)
    _, always = totals_of(replace(SETTING, running=Running(blower_always_on=True)))
    idle_hours = 8760.0 - with_compressor.run_hours.sum()
    added = (always.energy.sum() - with_compressor.energy.sum()) / 3600.0
    assert BLOWER_POWER * idle_hours < added < 1.25 * BLOWER_POWER * idle_hours
    assert always.cooling.sum() == pytest.approx(with_compressor.cooling.sum())
