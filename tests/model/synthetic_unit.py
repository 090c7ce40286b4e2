"""A made-up unit with a physical shape for the tests of season, toll and upkeep: closed forms, no cycle
behind it.

Capacity falls and power rises with the outdoor temperature; fouling acts like hotter outdoor air, as a
starved condenser does. The numbers, and the synthetic weather, are invented.
"""

import numpy as np

from model.maintenance.running_cost import DAYS_PER_STEP, RunningCost
from model.season.fouling_cost import FoulingCost, Setting, fouling_cost, season_outcomes
from model.season.load import line_load
from model.season.performance_table import Performance, PerformanceTable, build_table
from model.season.tariff import DemandRate, EnergyRate, Tariff, Window
from model.season.weather_year import DAYS_PER_YEAR, WeatherYear, hourly_year

RATED_CAPACITY = 8800.0
RATED_POWER = 2500.0
BLOWER_POWER = 400.0
DESIGN = 308.15
WET_BULB = 292.6


def operating_point(outdoor_temperature, level, wet_bulb=WET_BULB, scale=1.0) -> Performance:
    """Closed-form operating point, SI; `scale` may carry samples on a leading axis."""
    extra = 9.0 * level / (1.0 - 0.75 * level)
    hotter = outdoor_temperature + extra - DESIGN
    wetter = wet_bulb - WET_BULB
    capacity = scale * RATED_CAPACITY * (1.0 - 0.008 * hotter) * (1.0 + 0.03 * wetter)
    power = RATED_POWER * (1.0 + 0.022 * hotter) * (1.0 + 0.004 * wetter)
    return Performance(
        total_capacity=capacity,
        sensible_capacity=capacity * (0.75 - 0.04 * wetter),
        outdoor_power=power + 0.0 * capacity,
        indoor_power=np.full(np.shape(capacity), BLOWER_POWER),
        approach=11.0 + extra + 0.0 * capacity,
        trip_margin=340.0 - (outdoor_temperature + 11.0 + extra) + 0.0 * capacity,
    )


def synthetic_table(scale=1.0, wet_bulb=(WET_BULB,)) -> PerformanceTable:
    """The unit on a grid, one sample or as many as `scale` has."""
    scales = np.atleast_1d(np.asarray(scale, dtype=float)).reshape(-1, 1, 1, 1)
    return build_table(
        lambda outdoor, fouling, bulb: operating_point(outdoor, fouling, bulb, scales),
        np.arange(283.15, 323.2, 2.5),
        np.linspace(0.0, 0.8, 17),
        np.asarray(wet_bulb),
    )


def synthetic_year() -> WeatherYear:
    """A temperate year: sines of the season and of the day, and chance from a fixed state."""
    hour = np.arange(8760)
    season = 10.0 * np.sin(2.0 * np.pi * (hour / 24.0 - 110.0) / 365.0)
    day = 6.0 * np.sin(2.0 * np.pi * (hour % 24 - 9.0) / 24.0)
    chance = np.random.default_rng(20).normal(0.0, 2.0, 8760)
    return hourly_year(288.65 + season + day + chance, 0.010)


AFTERNOON = Window(months=(6, 7, 8, 9), weekdays=(0, 1, 2, 3, 4), hours=(16, 17, 18, 19))
TARIFF = Tariff(0.15, (EnergyRate(0.32, AFTERNOON),), (DemandRate(9.0),))


def synthetic_setting(tariff: Tariff = TARIFF, design_load: float = 7800.0) -> Setting:
    """The temperate year with a building that asks for `design_load` [W] at 35 degC."""
    year = synthetic_year()
    return Setting(year, line_load(year.temperature, 290.15, DESIGN, design_load), tariff)


def steady_running_cost(level, cost_per_year, days_per_step=DAYS_PER_STEP) -> RunningCost:
    """Running cost that is the same all year, at levels in equal steps from 0."""
    steps = DAYS_PER_YEAR // days_per_step
    cost = np.broadcast_to(np.asarray(cost_per_year) / steps, (1, steps, np.size(level)))
    return RunningCost(
        np.asarray(level, dtype=float),
        cost.copy(),
        np.zeros_like(cost),
        np.ones(steps, dtype=bool),
        days_per_step,
    )


def season_fouling_cost(table, setting, level, progress=None) -> FoulingCost:
    """Cost of a level of fouling against the clean unit, sample by sample."""
    clean = season_outcomes(table, setting, 0.0)
    return fouling_cost(clean, season_outcomes(table, setting, level, progress))
