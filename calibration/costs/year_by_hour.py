"""Every hour of a case's year: weather, load, price, and the unit clean, fouled, and as fouling grows.

Of the most likely unit in the typical year; it is what the season's totals are sums of.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calibration.costs.season_cost import SeasonFindings
from model.arrays import Array
from model.maintenance.growth import coming_year
from model.season.fouling_cost import daily_to_entries
from model.season.simulation import SECONDS_PER_HOUR, HourlySeason, hourly_season
from model.season.tariff import JOULES_PER_KWH, carbon_by_entry, energy_price, own_surplus
from model.season.weather_year import DAYS_PER_YEAR, WeatherYear


@dataclass(frozen=True)
class YearByHour:
    """A year hour by hour; arrays of shape (hours,).

    Attributes
    ----------
    year : WeatherYear
        Outdoor air and calendar.
    load : ndarray
        Cooling load [W].
    price : ndarray
        Price of energy [money/kWh].
    carbon : ndarray
        Carbon dioxide of electricity [kg/kWh].
    surplus, dearer : ndarray
        What the household exports [W], and what buying costs over what exporting earns [money/kWh].
    clean, fouled, growing : HourlySeason
        The unit with a clean coil, with today's fouling held all year, with fouling as it grows; one sample.
    """

    year: WeatherYear
    load: Array
    price: Array
    carbon: Array
    surplus: Array
    dearer: Array
    clean: HourlySeason
    fouled: HourlySeason
    growing: HourlySeason

    def energy_cost(self, season: HourlySeason) -> Array:
        """Money for the electricity of each hour, fixed and demand charges left out, shape (hours,)."""
        kilowatt_hours = self.year.duration * SECONDS_PER_HOUR / JOULES_PER_KWH
        exported = np.minimum(season.power[0], self.surplus)
        return np.asarray(kilowatt_hours * (season.power[0] * self.price - exported * self.dearer))


def year_by_hour(found: SeasonFindings) -> YearByHour:
    """Every hour of the year that a season's costs are from.

    Parameters
    ----------
    found : SeasonFindings
        Of the case.

    Returns
    -------
    YearByHour

    Raises
    ------
    ValueError
        Where the case's weather is temperature bins, which have no hours.
    """
    setting, unit = found.inputs.setting, found.unit
    if not setting.year.is_hourly:
        raise ValueError(
            "[season] weather: temperature bins have no hours; a typical year or a weather file is expected"
        )
    levels = (
        np.zeros(DAYS_PER_YEAR),
        np.full(DAYS_PER_YEAR, unit.level),
        coming_year(unit.growth, unit.level, unit.day)[0],
    )
    clean, fouled, growing = (
        hourly_season(
            unit.table,
            setting.year,
            setting.load,
            daily_to_entries(setting.year, daily),
            setting.wet_bulb,
            setting.running,
        )
        for daily in levels
    )
    surplus, dearer = np.zeros(setting.year.entries), np.zeros(setting.year.entries)
    places, exported, over = own_surplus(setting.tariff, setting.year)
    surplus[places], dearer[places] = exported, over
    return YearByHour(
        year=setting.year,
        load=np.asarray(setting.load.total),
        price=energy_price(setting.tariff, setting.year),
        carbon=carbon_by_entry(setting.tariff, setting.year),
        surplus=surplus,
        dearer=dearer,
        clean=clean,
        fouled=fouled,
        growing=growing,
    )
