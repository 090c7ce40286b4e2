"""From a case to weather, load, tariff, growth and cleaning, and what is said about assumed values."""

import datetime as dt
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from calibration.case import records as cases
from calibration.case.records import Case, UnitDescription
from calibration.costs.season_case import BURST_SHARE, season_case
from model.properties import moist_air
from model.season.tariff import energy_price
from model.season.weather_year import hourly_year

UNIT = UnitDescription("Made-up flat", "R410A", "TXV", 10_000.0)
BARE = Case("US", UNIT)


def with_season(**entries) -> Case:
    return replace(BARE, season=cases.Season(**entries))


def with_cleaning(**entries) -> Case:
    return replace(BARE, cleaning=cases.CleaningEntry(**entries))


def test_a_bare_case_is_filled_in_and_every_value_is_told():
    inputs = season_case(BARE)
    assert inputs.setting.year.duration.sum() == pytest.approx(1000.0)
    assert inputs.setting.tariff.price_per_kwh == 0.17
    assert inputs.setting.running.cycling_coefficient == 0.20
    assert inputs.cleaning is None
    assert inputs.rate_is_assumed
    told = " ".join(inputs.assumptions)
    for words in ("cooling hours", "design load", "tariff", "room air"):
        assert words in told
    at_95 = np.interp(308.15, inputs.setting.year.temperature[:8], inputs.setting.load.total[:8])
    assert at_95 == pytest.approx(10_000.0 / 1.1)


def test_what_the_case_says_is_taken():
    tariff = cases.TariffEntry(
        0.2, (cases.TariffPeriod(0.4, (6, 7), (0, 1, 2, 3, 4), None),), 11.0, 0.03, 0.5, "EUR"
    )
    case = replace(
        with_season(
            cooling_hours=1400.0,
            design_load=9000.0,
            design_outdoor=306.0,
            balance_temperature=292.0,
            cycling_loss=0.1,
            indoor_setpoint=298.0,
            indoor_rh=0.45,
            tariff=tariff,
        ),
        cleaning=cases.CleaningEntry(150.0, 0.9, 0.2, "linear", last_cleaned=dt.date(2026, 4, 1)),
    )
    inputs = season_case(case)
    assert inputs.assumptions == ()
    assert inputs.setting.year.duration.sum() == pytest.approx(1400.0)
    hot = inputs.setting.year.temperature > 306.0
    slope = 9000.0 / 14.0
    assert np.allclose(inputs.setting.load.total[hot], slope * (inputs.setting.year.temperature[hot] - 292.0))
    assert inputs.setting.running.cycling_coefficient == 0.1
    assert inputs.setting.tariff.demand_rates[0].price_per_kw == 11.0
    assert inputs.setting.tariff.escalation == 0.03
    assert inputs.setting.tariff.carbon_intensity == 0.5
    assert inputs.currency == "EUR"
    assert inputs.cleaning.price == 150.0
    assert inputs.cleaning.restoration == 0.9
    assert inputs.growth.rate == 0.2
    assert not inputs.rate_is_assumed
    exact = moist_air.humidity_ratio_from_relative_humidity(298.0, 0.45, inputs.room.ambient_pressure)
    assert inputs.room.return_humidity_ratio == pytest.approx(float(exact))


def test_periods_over_midnight_and_without_days():
    entry = cases.TariffEntry(0.2, (cases.TariffPeriod(0.1, hours=(22, 6)),))
    tariff = season_case(with_season(tariff=entry)).setting.tariff
    price = energy_price(tariff, hourly_year(np.full(8760, 290.0)))
    night = np.isin(np.arange(8760) % 24, (22, 23, 0, 1, 2, 3, 4, 5))
    assert np.allclose(price, np.where(night, 0.1, 0.2))


def test_weather_by_name_and_beside_the_case(tmp_path):
    named = season_case(with_season(weather="Greensboro NC", design_load=9000.0))
    assert named.setting.year.is_hourly
    assert named.setting.load.total.max() > 8000.0
    folder = tmp_path / "cases"
    folder.mkdir()
    outside = tmp_path / "outside.epw"
    outside.write_text("x")
    for name in ("../outside.epw", str(outside)):
        case = replace(with_season(weather=name), source=folder / "a.toml")
        with pytest.raises(ValueError, match=r"season\.weather must be a file beside the case file"):
            season_case(case)
    missing = replace(with_season(weather="none.epw"), source=folder / "a.toml")
    with pytest.raises(ValueError, match=r"weather file none\.epw does not exist"):
        season_case(missing)


def test_hourly_loads_beside_the_case(tmp_path):
    (tmp_path / "load.csv").write_text("load [kW]\n" + "3\n" * 8760)
    source = tmp_path / "a.toml"
    hourly = replace(with_season(weather="Greensboro NC", load_file="load.csv"), source=source)
    assert np.allclose(season_case(hourly).setting.load.total, 3000.0)
    bins = replace(with_season(load_file="load.csv"), source=source)
    with pytest.raises(ValueError, match="load_file needs an hourly weather file, got temperature bins"):
        season_case(bins)


@pytest.mark.parametrize("hours", [200.0, 2142.0, 4000.0, 8000.0])
def test_bins_take_as_many_days_as_their_hours_need(hours):
    year = season_case(with_season(cooling_hours=hours)).setting.year
    assert year.duration.sum() == pytest.approx(hours)
    by_day = np.bincount(year.day, year.duration)
    assert by_day.max() <= 24.0
    assert np.average(year.day, weights=year.duration) == pytest.approx(190.0, abs=12.0)


def test_growth_in_its_three_forms():
    linear = season_case(with_cleaning(growth_rate=0.1)).growth
    assert (linear.rate, linear.law, linear.bursts) == (0.1, "linear", ())
    towards = season_case(with_cleaning(growth_rate=0.1, growth_form="asymptotic", time_constant=4.0)).growth
    assert (towards.law, towards.limit) == ("asymptotic", pytest.approx(0.4))
    unsaid = season_case(with_cleaning(growth_rate=0.1, growth_form="asymptotic"))
    assert unsaid.growth.limit == pytest.approx(0.3)
    assert any("time constant" in words for words in unsaid.assumptions)
    still = season_case(with_cleaning(growth_rate=0.0, growth_form="asymptotic")).growth
    assert still.law == "linear"
    bursts = season_case(with_cleaning(growth_rate=0.1, growth_form="bursts", bursts=(5, 6))).growth.bursts
    assert [b.middle_day for b in bursts] == [135, 165]
    assert sum(b.share for b in bursts) == pytest.approx(BURST_SHARE)


def test_a_cleaning_that_restores_nothing_is_refused():
    with pytest.raises(ValueError, match=r"cleaning\.restores must be above 0, got 0"):
        season_case(with_cleaning(price=100.0, restores=0.0))


def test_the_demo_case_needs_no_assumption():
    from calibration.case.file import read_case

    demo = read_case(Path(__file__).parents[3] / "cases" / "demo.toml")
    assert season_case(demo).assumptions == ()


def with_unit(**entries) -> Case:
    return replace(BARE, unit=replace(UNIT, **entries))


def test_stages_have_a_room_for_each():
    inputs = season_case(with_unit(stages=(0.6, 0.8, 1.0), outdoor_fan_speeds=(0.7, 1.0, 1.0)))
    speeds = [(r.compressor_speed, r.outdoor_fan_speed, r.indoor_fan_speed) for r in inputs.rooms]
    assert speeds == [(0.6, 0.7, 1.0), (0.8, 1.0, 1.0), (1.0, 1.0, 1.0)]
    assert inputs.setting.running.between_speeds == "alternates"
    assert "no speeds given of blower: full speed at every compressor speed" in inputs.assumptions
    assert season_case(BARE).rooms == (season_case(BARE).room,)


def test_a_range_has_its_middle_too():
    inputs = season_case(with_unit(speed_range=(0.3, 1.1), blower_speeds=(0.5, 1.0)))
    assert [r.compressor_speed for r in inputs.rooms] == pytest.approx([0.3, 0.7, 1.1])
    assert [r.indoor_fan_speed for r in inputs.rooms] == pytest.approx([0.5, 0.75, 1.0])
    assert inputs.setting.running.between_speeds == "varies"


def test_a_heat_pump_is_warned_about():
    assert season_case(BARE).warnings == ()
    (warning,) = season_case(with_unit(heat_pump=True)).warnings
    assert "heat pump" in warning and "winter" in warning


def test_an_economiser_and_a_blower_that_always_runs():
    plain = season_case(with_season(weather="Greensboro NC"))
    inputs = season_case(with_season(weather="Greensboro NC", economiser_below=293.0, blower="continuous"))
    cold = inputs.setting.year.temperature < 293.0
    taken = cold & (plain.setting.load.total > 0.0)
    assert inputs.economiser_hours == taken.sum() > 100
    assert np.all(inputs.setting.load.total[cold] == 0.0)
    assert np.array_equal(inputs.setting.load.total[~cold], plain.setting.load.total[~cold])
    assert inputs.setting.running.blower_always_on and not plain.setting.running.blower_always_on
    assert plain.economiser_hours == 0.0
    in_bins = season_case(with_season(blower="continuous"))
    assert any("cooling hours of the bins alone" in one for one in in_bins.assumptions)


def test_latent_share_idle_power_thermostat_and_comfort_price_are_those_of_the_case():
    tariff = cases.TariffEntry(energy_price=0.2, comfort_price=1.7)
    case = with_season(latent_share=0.4, idle_power=35.0, answers_to="sensible", tariff=tariff)
    setting = season_case(case).setting
    cooled = setting.load.total > 0.0
    assert np.allclose(setting.load.latent[cooled], 0.4 * setting.load.total[cooled])
    assert (setting.running.idle_power, setting.running.answers_to) == (35.0, "sensible")
    assert setting.tariff.unmet_cooling_price == 1.7
    assert setting.tariff.scaled(2.0).unmet_cooling_price == 3.4
    usual = season_case(with_season(tariff=cases.TariffEntry(energy_price=0.2))).setting
    assert usual.tariff.unmet_cooling_price == pytest.approx(1.0)
    assert (usual.running.idle_power, usual.running.answers_to) == (0.0, "total")
