"""Indoor humidity in balance between the moisture that comes in and the moisture that the unit removes.

A thermostat holds the dry bulb and lets the humidity float. In each hour with cooling the indoor humidity
ratio is the one at which the moisture brought by outdoor air and by people equals what the coil condenses in
the time it runs; its wet bulb is what the unit's performance is read at. More humid weather gives a wetter
room, a wetter coil and more latent capacity.

Assumptions: each hour is steady, the moisture that walls and furniture hold is left out; hours without
cooling get the humidity of the middle of the table. A fouled condenser changes the result little, so one
profile serves clean and fouled.

Sources: moisture balance of a room, any text on air conditioning. Heat of vaporisation 2.45 MJ/kg at 20 degC
(rounded).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array
from model.properties import moist_air
from model.season.load import CoolingLoad
from model.season.part_load import SMALLEST_CAPACITY, part_load_factor
from model.season.performance_table import PerformanceTable
from model.season.simulation import CYCLING_COEFFICIENT
from model.season.weather_year import WeatherYear

HEAT_OF_VAPORISATION = 2.45e6
"""Heat that condensing a kilogram of water gives up [J/kg]."""
HALVINGS = 24
"""Halvings of the humidity's range [-]: to 1e-9 kg/kg."""


@dataclass(frozen=True)
class Moisture:
    """Where a room's moisture comes from.

    Attributes
    ----------
    outdoor_air : float
        Dry air that comes in from outdoors, by leaks and ventilation [kg/s], 0 or more.
    indoor_gain : float
        Moisture from people, cooking and bathing [kg/s], 0 or more.
    room_temperature : float
        Dry bulb that the thermostat holds [K].
    """

    outdoor_air: float
    indoor_gain: float
    room_temperature: float

    def __post_init__(self) -> None:
        """Refuse a flow below zero or a room nobody would live in."""
        for name in ("outdoor_air", "indoor_gain"):
            if not (getattr(self, name) >= 0.0 and np.isfinite(getattr(self, name))):
                raise ValueError(f"{name} must be 0 kg/s or more, got {getattr(self, name):g}")
        if not 280.0 <= self.room_temperature <= 320.0:
            raise ValueError(f"room_temperature must lie in [280, 320] K, got {self.room_temperature:g}")


def indoor_wet_bulb(
    table: PerformanceTable,
    year: WeatherYear,
    load: CoolingLoad,
    moisture: Moisture,
    level: ArrayLike = 0.0,
    cycling_coefficient: float = CYCLING_COEFFICIENT,
) -> Array:
    """Indoor wet bulb of each hour in which the sensible load is met.

    Parameters
    ----------
    table : PerformanceTable
        The unit, one sample, with at least two indoor wet bulbs.
    year : WeatherYear
        Hourly outdoor air.
    load : CoolingLoad
        Its sensible part decides how long the unit runs.
    moisture : Moisture
    level : array_like, shape () or (entries,)
        Fouling [-].
    cycling_coefficient : float
        Cd [-].

    Returns
    -------
    ndarray, shape (entries,)
        Wet bulb [K], within the table's; what `model.season.simulation.hourly_season` takes.

    Raises
    ------
    ValueError
        Where the table has one wet bulb, many samples or several speeds, or the year is made of bins.
    """
    if table.wet_bulb.size < 2 or table.samples != 1:
        raise ValueError("indoor humidity needs a table of one sample with at least two wet bulbs")
    if table.slower:
        raise ValueError(f"indoor humidity needs a table of one speed, got {1 + len(table.slower)}")
    if not year.is_hourly:
        raise ValueError("indoor humidity needs an hourly weather file: temperature bins have no moisture")
    low, high = (np.full(year.entries, edge) for edge in (table.wet_bulb[0], table.wet_bulb[-1]))
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        gathers = _moisture_gathered(table, year, load, moisture, level, middle, cycling_coefficient) > 0.0
        low, high = np.where(gathers, middle, low), np.where(gathers, high, middle)
    standing = table.wet_bulb[table.wet_bulb.size // 2]
    return np.asarray(np.where(load.sensible > 0.0, 0.5 * (low + high), standing))


def _moisture_gathered(
    table: PerformanceTable,
    year: WeatherYear,
    load: CoolingLoad,
    moisture: Moisture,
    level: ArrayLike,
    wet_bulb: Array,
    cycling_coefficient: float,
) -> Array:
    """Moisture that comes in minus what the unit removes at an indoor wet bulb [kg/s], shape (entries,)."""
    point = table.at(year.temperature, level, wet_bulb)
    sensible = np.maximum(point.sensible_capacity, SMALLEST_CAPACITY)
    latent = np.maximum(point.total_capacity - point.sensible_capacity, 0.0)
    fraction = np.minimum(load.sensible / sensible, 1.0)
    run = fraction / part_load_factor(fraction, cycling_coefficient)
    room = np.maximum(wet_bulb, moisture.room_temperature)
    inside = moist_air.humidity_ratio_from_wet_bulb(room, wet_bulb, year.pressure)
    brought = moisture.outdoor_air * (year.humidity_ratio - inside) + moisture.indoor_gain
    return np.asarray(brought - run * latent / HEAT_OF_VAPORISATION)
