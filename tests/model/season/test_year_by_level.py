"""Years priced at every level at once against the same years simulated hour by hour."""

from dataclasses import replace

import numpy as np
import pytest

from model.season import year_by_level as pricing
from model.season.fouling_cost import season_outcomes
from model.season.load import drawn_load
from model.season.tariff import Block, Tariff
from model.season.weather_year import bin_year
from model.season.year_by_level import Scenarios, outcome_at, year_by_level
from tests.model.synthetic_unit import synthetic_setting, synthetic_table

TABLE = synthetic_table()
SETTING = synthetic_setting()


def differences(priced, exact):
    """Relative differences of two years' totals, by name, where there is anything."""
    names = ("energy", "run_hours", "short_hours", "trip_hours", "cooling", "cooling_lost")
    pairs = {name: (getattr(priced.totals, name), getattr(exact.totals, name)) for name in names}
    pairs["money"] = (priced.bill.month_cents, exact.bill.month_cents)
    pairs["carbon"] = (priced.bill.carbon, exact.bill.carbon)
    return {name: float(np.abs(a - b).max() / max(np.abs(b).max(), 1.0)) for name, (a, b) in pairs.items()}


@pytest.mark.parametrize("design_load", [7800.0, 11500.0, 22000.0])
def test_a_year_at_one_level_is_that_of_the_hours(design_load):
    """Also of a unit that falls short for weeks, whose cooling is made up later on the day."""
    setting = synthetic_setting(design_load=design_load)
    exact = season_outcomes(TABLE, setting, 0.4)
    priced = outcome_at(year_by_level(TABLE, setting), [[0.4]])
    if design_load > 8000.0:
        assert exact.totals.short_hours.sum() > 100.0
    if design_load > 12000.0:
        assert exact.totals.cooling_lost.sum() > 3.6e6
    off = differences(priced, exact)
    assert off.pop("short_hours") < 0.02
    assert max(off.values()) < 1e-3
    assert priced.totals.peak_power == pytest.approx(exact.totals.peak_power, rel=3e-3, abs=20.0)
    assert priced.totals.worst_shortfall == pytest.approx(exact.totals.worst_shortfall, rel=5e-3)


def test_temperatures_that_repeat_are_exact():
    """In tenths of a kelvin, as stations write them, every group is one temperature."""
    year = replace(SETTING.year, temperature=np.round(SETTING.year.temperature, 1))
    setting = replace(SETTING, year=year, load=drawn_load(SETTING.load, year.temperature, 1.0, 0.0))
    load = replace(
        setting.load,
        sensible=np.interp(year.temperature, *_line(year, setting)),
        latent=0.0 * year.temperature,
    )
    setting = replace(setting, load=load)
    exact = season_outcomes(TABLE, setting, 0.3)
    priced = outcome_at(year_by_level(TABLE, setting), [[0.3]])
    assert np.allclose(priced.totals.energy, exact.totals.energy, rtol=1e-9)
    assert np.abs(priced.bill.month_cents - exact.bill.month_cents).max() <= 1


def _line(year, setting):
    """Load by temperature: a line from 18 degC."""
    air = np.unique(year.temperature)
    return air, np.maximum(air - 291.15, 0.0) * 400.0


def test_bins_are_exact():
    year = bin_year(1200.0)
    setting = replace(
        SETTING,
        year=year,
        tariff=Tariff(0.2),
        load=replace(
            SETTING.load,
            sensible=np.maximum(year.temperature - 291.5, 0.0) * 400.0,
            latent=np.zeros(year.entries),
        ),
    )
    exact = season_outcomes(TABLE, setting, 0.6)
    priced = outcome_at(year_by_level(TABLE, setting), [[0.6]])
    assert np.allclose(priced.totals.energy, exact.totals.energy, rtol=1e-9)
    assert np.array_equal(priced.bill.month_cents, exact.bill.month_cents)


def test_a_growing_fouling_is_read_off_by_step():
    daily = np.linspace(0.05, 0.45, 365)
    exact = season_outcomes(TABLE, SETTING, daily)
    priced = outcome_at(year_by_level(TABLE, SETTING), daily.reshape(1, 73, 5).mean(axis=2))
    assert priced.totals.energy == pytest.approx(exact.totals.energy, rel=2e-3, abs=1e6)
    assert priced.bill.year_cents == pytest.approx(exact.bill.year_cents, rel=1e-3)


def test_every_sample_has_its_own_unit_load_and_weather():
    """Each row is the year of that unit alone with that load and weather."""
    scales, factors, warmer = [0.9, 1.1], np.array([0.8, 1.2]), np.array([-0.7, 0.7])
    priced = year_by_level(synthetic_table(scales), SETTING, Scenarios(factors, warmer))
    for k in range(2):
        alone = year_by_level(synthetic_table(scales[k : k + 1]), SETTING, Scenarios(factors[k], warmer[k]))
        assert np.allclose(priced.amounts[:, k], alone.amounts[:, 0], rtol=1e-4, atol=1e-2)
        warm = SETTING.year.temperature + warmer[k]
        load = drawn_load(SETTING.load, SETTING.year.temperature, factors[k], warmer[k])
        moved = replace(SETTING, year=replace(SETTING.year, temperature=warm), load=load)
        exact = season_outcomes(synthetic_table(scales[k : k + 1]), moved, 0.2)
        one = outcome_at(alone, [[0.2]])
        assert one.totals.energy.sum() == pytest.approx(exact.totals.energy.sum(), rel=1e-3)
        assert one.bill.year_cents == pytest.approx(exact.bill.year_cents, rel=2e-3)


def test_a_year_is_solved_in_groups_not_in_hours(monkeypatch):
    """What bounds the time: entries handed to the simulation, for all samples and levels together."""
    entries = []
    real = pricing.hourly_season

    def counted(table, year, *rest):
        entries.append(table.samples * year.entries)
        return real(table, year, *rest)

    monkeypatch.setattr(pricing, "hourly_season", counted)
    samples = 16
    year_by_level(synthetic_table(np.linspace(0.95, 1.05, samples)), SETTING)
    hours = 8760 * samples * TABLE.level.size
    assert sum(entries) < 0.15 * hours


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: year_by_level(TABLE, SETTING, days_per_step=4), "days_per_step must divide 365, got 4"),
        (
            lambda: year_by_level(synthetic_table([1.0, 1.1]), SETTING, Scenarios(np.ones(3))),
            "table has 2 samples, scenarios 3: give as many",
        ),
        (
            lambda: outcome_at(year_by_level(TABLE, SETTING), np.zeros((1, 12))),
            r"level must have shape \(1, 73\), got \(1, 12\)",
        ),
        (
            lambda: drawn_load(SETTING.load, SETTING.year.temperature, 0.0, 0.0),
            "factor must be above 0, got 0",
        ),
    ],
)
def test_what_does_not_fit_is_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()


def test_blocks_of_a_tariff_come_out_as_on_the_bill():
    """At one level all year the charge is that of the bill from every hour."""
    setting = synthetic_setting(
        Tariff(0.15, blocks=(Block(150.0, 0.1), Block(400.0, 0.2)), other_use=(3.6e8,) * 12)
    )
    table = synthetic_table()
    priced = year_by_level(table, setting)
    for level in (0.0, float(table.level[6])):
        found = outcome_at(priced, [[level]]).bill.energy_cents[0]
        exact = season_outcomes(table, setting, level).bill.energy_cents[0]
        assert found.sum() == pytest.approx(exact.sum(), rel=2e-3)
        assert np.allclose(found, exact, rtol=5e-3, atol=10)
        plain = season_outcomes(table, replace(setting, tariff=Tariff(0.15)), level).bill.energy_cents[0]
        assert exact.sum() > 1.1 * plain.sum()
