"""A year made from monthly means, daily ranges and design temperatures, beside the typical year they are
of."""

from functools import cache

import numpy as np
import pytest

from calibration.files.typical_years import typical_year
from model.properties.moist_air import ZERO_CELSIUS
from model.season.fouling_cost import Setting
from model.season.load import AHRI_BALANCE_TEMPERATURE, AHRI_DESIGN_TEMPERATURE, line_load
from model.season.synthetic_year import COMMON, RARE, Climate, synthetic_year
from model.season.tariff import Tariff
from model.season.weather_year import DAYS_IN_MONTH, DAYS_PER_YEAR, HOURS_PER_DAY, MONTH_OF_DAY
from tests.model.synthetic_unit import RATED_CAPACITY, season_fouling_cost, synthetic_table

WARM = ("Greensboro NC", "Miami FL")


def climate_of(temperature):
    """What a climate table would say of a year of hours [K]."""
    hours = temperature.reshape(DAYS_PER_YEAR, HOURS_PER_DAY)
    count = np.array(DAYS_IN_MONTH)
    means = np.bincount(MONTH_OF_DAY - 1, hours.mean(axis=1)) / count
    ranges = np.bincount(MONTH_OF_DAY - 1, np.ptp(hours, axis=1)) / count
    hot, cold = (float(np.quantile(hours, 1.0 - share)) for share in (RARE, COMMON))
    return Climate(tuple(means.tolist()), tuple(ranges.tolist()), hot, cold)


@cache
def pair(name):
    real = typical_year(name)
    return real, synthetic_year(climate_of(real.temperature))


def degree_hours(year, base):
    return float(np.maximum(year.temperature - base, 0.0).sum())


@pytest.mark.parametrize("name", WARM)
def test_cooling_degree_hours_are_those_of_the_typical_year(name):
    """Over 65 degF, the base of cooling degrees in the trade (ASHRAE Handbook, Fundamentals)."""
    real, made = pair(name)
    expected = degree_hours(real, AHRI_BALANCE_TEMPERATURE)
    assert degree_hours(made, AHRI_BALANCE_TEMPERATURE) == pytest.approx(expected, rel=0.05)
    hotter = AHRI_BALANCE_TEMPERATURE + 5.0 / 1.8
    assert degree_hours(made, hotter) == pytest.approx(degree_hours(real, hotter), rel=0.05)


@pytest.mark.parametrize("name", WARM)
@pytest.mark.parametrize("level", [0.3, 0.5])
def test_cost_of_fouling_is_that_of_the_typical_year(name, level):
    costs = []
    for year in pair(name):
        load = line_load(
            year.temperature, AHRI_BALANCE_TEMPERATURE, AHRI_DESIGN_TEMPERATURE, 0.75 * RATED_CAPACITY
        )
        cost = season_fouling_cost(synthetic_table(), Setting(year, load, Tariff(0.17)), level)
        costs.append((cost.year_cents[0], cost.energy.sum()))
    (money, energy), (made_money, made_energy) = costs
    assert made_energy == pytest.approx(energy, rel=0.10)
    assert made_money == pytest.approx(money, rel=0.10)


@pytest.mark.parametrize("name", [*WARM, "Sand Point AK"])
def test_what_it_is_made_from_comes_out_again(name):
    real, made = pair(name)
    was, now = climate_of(real.temperature), climate_of(made.temperature)
    assert now.monthly_mean == pytest.approx(was.monthly_mean, abs=0.05)
    assert now.hot == pytest.approx(was.hot, abs=0.1)
    assert now.cold == pytest.approx(was.cold, abs=0.1)
    # A day's own range is wider than the mean course by `COURSE_SHARE`.
    assert now.daily_range == pytest.approx([0.85 * one for one in was.daily_range], abs=0.01)


def test_hours_of_a_day_follow_the_published_course():
    """Warmest about three in the afternoon, coldest before six (Erbs, Klein, Beckman 1983)."""
    _, made = pair("Greensboro NC")
    by_hour = made.temperature.reshape(365, 24).mean(axis=0)
    assert 14 <= int(np.argmax(by_hour)) <= 15
    assert 3 <= int(np.argmin(by_hour)) <= 5


def test_days_have_persistence_and_every_place_the_same_order():
    _, made = pair("Greensboro NC")
    days = made.temperature.reshape(365, 24).mean(axis=1)[150:240]
    off = days - days.mean()
    assert 0.3 < float((off[1:] * off[:-1]).mean() / (off**2).mean()) < 0.9
    assert made.temperature is synthetic_year(climate_of(pair("Greensboro NC")[0].temperature)).temperature


def test_air_is_no_wetter_than_saturated():
    _, made = pair("Miami FL")
    assert np.all(made.humidity_ratio > 0.0)
    assert float(np.mean(made.humidity_ratio)) == pytest.approx(
        float(np.mean(pair("Miami FL")[0].humidity_ratio)), rel=0.15
    )


def climate(**given):
    mean = [ZERO_CELSIUS + 14.0 - 10.0 * np.cos(2.0 * np.pi * (month - 0.5) / 12.0) for month in range(12)]
    usual = {
        "monthly_mean": tuple(mean),
        "daily_range": (11.0,) * 12,
        "hot": ZERO_CELSIUS + 33.0,
        "cold": ZERO_CELSIUS - 8.0,
    }
    return Climate(**(usual | given))


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"monthly_mean": (280.0,) * 11}, "monthly_mean must have 12 months, got 11"),
        ({"daily_range": (0.0,) * 12}, r"daily_range must lie in \(0, 40\) K, got 0"),
        ({"hot": 280.0}, "hot must lie above the warmest month"),
        ({"cold": 285.0}, "cold must lie below the coldest month"),
    ],
)
def test_a_climate_that_cannot_be_is_refused(given, words):
    with pytest.raises(ValueError, match=words):
        climate(**given)


def test_a_design_temperature_that_no_spread_gives_is_refused():
    assert synthetic_year(climate()).is_hourly
    with pytest.raises(ValueError, match=r"hot must be near .* got 299\.0"):
        synthetic_year(climate(hot=299.0, daily_range=(16.0,) * 12))
