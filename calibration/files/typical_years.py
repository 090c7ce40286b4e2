"""Typical years that are shipped: chosen by name, read as a table, with no network and no weather library.

Assumptions: a typical year has no weekdays of its own and takes those of a calendar year. A dew point above
the dry bulb, as rounding makes it, is taken as saturation.

Sources: `years/README.md` beside this module: data sets, station files and licence.
"""

from __future__ import annotations

import datetime
from difflib import get_close_matches
from functools import lru_cache
from importlib.resources import files

import numpy as np

from model.arrays import Array
from model.properties import moist_air
from model.properties.moist_air import ZERO_CELSIUS
from model.season.weather_year import WeatherYear, hourly_year

TYPICAL_YEARS = {
    "Greensboro NC": ("greensboro_nc.csv", "Greensboro Piedmont Triad Int NC"),
    "Miami FL": ("miami_fl.csv", "Miami FL"),
    "Sand Point AK": ("sand_point_ak.csv", "Sand Point AK"),
}
"""Names of the typical years, each with its table and its station."""
BINS = "bins"
"""Name of the temperature bins of the rating standard, beside those of places."""
MONTHLY_MEANS = "monthly means"
"""Name of a typical year made from the means of its months (`model.season.synthetic_year`)."""
WEATHER_ENDINGS = (".epw", ".csv", ".tm2")
"""Endings of the weather files that can be read, by format: EPW, TMY3, TMY2."""
CALENDAR_YEAR = 2026
"""Year whose weekdays a typical year takes where none is given."""
PASCALS_PER_HECTOPASCAL = 100.0
"""Pascals in a hectopascal [Pa/hPa], exact."""


def typical_year(name: str = "Greensboro NC", calendar_year: int = CALENDAR_YEAR) -> WeatherYear:
    """A typical year by name.

    Parameters
    ----------
    name : str
        One of `TYPICAL_YEARS`.
    calendar_year : int
        Year whose weekdays it takes.

    Returns
    -------
    WeatherYear

    Raises
    ------
    ValueError
        Where there is no year of that name; the message lists the near names, or all.
    """
    if name not in TYPICAL_YEARS:
        raise ValueError(f"weather must be one of {', '.join(near_places(name))} or a file, got {name!r}")
    temperature, moisture, pressure = _columns(name)
    first_weekday = datetime.date(calendar_year, 1, 1).weekday()
    return hourly_year(temperature, moisture, pressure, TYPICAL_YEARS[name][1], first_weekday)


def near_places(name: str) -> tuple[str, ...]:
    """Names of typical years that resemble a name, the nearest first; all of them where none does.

    Parameters
    ----------
    name : str
        As it was typed.

    Returns
    -------
    tuple of str
        Some of `TYPICAL_YEARS`, at least one.
    """
    plain = {place.casefold(): place for place in TYPICAL_YEARS}
    near = get_close_matches(name.casefold(), plain, cutoff=0.5)
    return tuple(plain[one] for one in near) or tuple(TYPICAL_YEARS)


@lru_cache(maxsize=8)
def _columns(name: str) -> tuple[Array, Array, Array]:
    """Dry bulb [K], humidity ratio [kg/kg] and pressure [Pa] of a typical year, shape (8760,) each."""
    with (files(__package__) / "years" / TYPICAL_YEARS[name][0]).open(encoding="utf-8") as table:
        dry_bulb, dew_point, pressure = np.loadtxt(table, delimiter=",", skiprows=2, unpack=True)
    pascals = PASCALS_PER_HECTOPASCAL * pressure
    saturated = np.minimum(dew_point, dry_bulb) + ZERO_CELSIUS
    columns = dry_bulb + ZERO_CELSIUS, moist_air.humidity_ratio_from_dew_point(saturated, pascals), pascals
    for column in columns:
        column.flags.writeable = False
    return columns
