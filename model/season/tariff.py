"""What electricity costs: flat, by season, weekday and hour, and for the month's highest demand; its carbon.

Prices are in money per kilowatt-hour and per kilowatt and month, as bills are written; the energy that comes
in is in joules. A bill is rounded to the cent month by month, kept in whole cents, and its year is the sum of
its months: what is shown adds up.

Assumptions: the demand of an entry is its mean power where the meter averages over the hour, and what a
shorter interval sees of the running unit where it does not (`model.season.metered_draw`). A demand charge
is for the unit's own peak; `coincidence` says what share of it the meter of the whole building sees. What a
household generates itself is worth the export price while there is more of it than everything else uses
(`model.season.own_generation`).

Sources: none of these prices is anybody's tariff. Carbon intensity 0.37 kg/kWh: about the mean of the United
States grid (EPA eGRID, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, BoolArray, IntArray
from model.season.metered_draw import HOURLY, SHORTEST_INTERVAL
from model.season.own_generation import surplus_power
from model.season.weather_year import (
    HOURS_PER_YEAR,
    MONTHS_PER_YEAR,
    UNKNOWN,
    WeatherYear,
    monthly_peak,
    monthly_sum,
)

JOULES_PER_KWH = 3.6e6
"""Joules in a kilowatt-hour [J/kWh], exact."""
CENTS = 100
"""Cents in one unit of money [-]."""
COMFORT_FACTOR = 5.0
"""Price of a kilowatt-hour of unmet cooling over that of one of electricity [-]: with electricity at 0.17,
eight to nine an hour for a unit of 10 kW that is off; judgement, no source. Without a price on it a unit that
trips all day would be the cheapest to run."""
CARBON_INTENSITY = 0.37
"""Carbon dioxide of a kilowatt-hour where none is given [kg/kWh] (EPA eGRID, from memory)."""
ALL_MONTHS = tuple(range(1, 13))
ALL_WEEKDAYS = tuple(range(7))
ALL_HOURS = tuple(range(24))


@dataclass(frozen=True)
class Window:
    """The part of the year in which a rate holds.

    Attributes
    ----------
    months : tuple of int
        1 to 12.
    weekdays : tuple of int
        0 Monday to 6 Sunday.
    hours : tuple of int
        Hours of the day that begin in it, 0 to 23: (16, 17, 18) is from four to seven in the afternoon.
    """

    months: tuple[int, ...] = ALL_MONTHS
    weekdays: tuple[int, ...] = ALL_WEEKDAYS
    hours: tuple[int, ...] = ALL_HOURS

    def __post_init__(self) -> None:
        """Refuse a window that never opens or names what no calendar has."""
        for name, allowed in (("months", ALL_MONTHS), ("weekdays", ALL_WEEKDAYS), ("hours", ALL_HOURS)):
            values = getattr(self, name)
            if not values or not set(values) <= set(allowed):
                raise ValueError(f"{name} must be some of {allowed[0]}..{allowed[-1]}, got {values}")


@dataclass(frozen=True)
class EnergyRate:
    """Price of energy in a window [money/kWh]."""

    price_per_kwh: float
    window: Window
    name: str = ""

    def __post_init__(self) -> None:
        """Refuse a price below zero."""
        _require_price("price_per_kwh", self.price_per_kwh)


def _require_price(name: str, value: float) -> None:
    """Raise for a price that is negative or not a number."""
    if not (value >= 0.0 and np.isfinite(value)):
        raise ValueError(f"{name} must be 0 or more, got {value:g}")


@dataclass(frozen=True)
class DemandRate:
    """Price of a month's highest demand in a window [money/kW], and the share that the bill sees [-]."""

    price_per_kw: float
    window: Window = Window()
    coincidence: float = 1.0
    name: str = ""

    def __post_init__(self) -> None:
        """Refuse a price below zero or a share outside 0 to 1."""
        _require_price("price_per_kw", self.price_per_kw)
        if not 0.0 <= self.coincidence <= 1.0:
            raise ValueError(f"coincidence must lie in [0, 1], got {self.coincidence:g}")

    def charge(self, peak: ArrayLike) -> Array:
        """Charge for a month's peak [money], of the peak in watts."""
        return np.asarray(self.price_per_kw * self.coincidence * np.asarray(peak, dtype=float) / 1e3)


@dataclass(frozen=True)
class Block:
    """What is added to the price of every kilowatt-hour of a month above so many [kWh], in money per kWh.

    Of a tariff with rising blocks it is the step from one block to the next.
    """

    above_kwh: float
    adds: float

    def __post_init__(self) -> None:
        """Refuse a step below zero energy or one that is no number."""
        _require_price("above_kwh", self.above_kwh)
        if not np.isfinite(self.adds):
            raise ValueError(f"adds must be a number, got {self.adds:g}")


@dataclass(frozen=True)
class Tariff:
    """How electricity is paid for.

    Attributes
    ----------
    price_per_kwh : float
        Price of energy wherever no rate of `energy_rates` holds [money/kWh].
    energy_rates : tuple of EnergyRate
        Prices by season, weekday and hour; the first whose window holds counts.
    demand_rates : tuple of DemandRate
        Charges for each month's peak; all that hold are added.
    escalation : float
        Rise of every price from one year to the next [-], above -1.
    carbon_intensity : float
        Carbon dioxide of a kilowatt-hour [kg/kWh].
    comfort_price : float, optional
        Price of a kilowatt-hour of unmet cooling [money/kWh].
    blocks : tuple of Block
        Steps of the price with the month's electricity.
    other_use : tuple of 12 float
        Electricity of everything else on the same meter in each month [J], which fills the blocks first;
        empty for none.
    carbon_by_hour : tuple of 8,760 float
        Carbon dioxide of a kilowatt-hour in every hour of the year [kg/kWh]; empty for `carbon_intensity`.
    demand_minutes : float
        Interval over which the demand meter averages [min].
    generation : tuple of 12 float
        What the household generates itself in each month [J]; empty for nothing.
    export_price : float
        What a kilowatt-hour given to the grid earns [money/kWh].
    """

    price_per_kwh: float
    energy_rates: tuple[EnergyRate, ...] = ()
    demand_rates: tuple[DemandRate, ...] = ()
    escalation: float = 0.0
    carbon_intensity: float = CARBON_INTENSITY
    comfort_price: float | None = None
    blocks: tuple[Block, ...] = ()
    other_use: tuple[float, ...] = ()
    carbon_by_hour: tuple[float, ...] = ()
    demand_minutes: float = HOURLY
    generation: tuple[float, ...] = ()
    export_price: float = 0.0

    def __post_init__(self) -> None:
        """Refuse prices, growth, carbon or generation that cannot be."""
        for name in ("other_use", "generation"):
            if len(getattr(self, name)) not in (0, MONTHS_PER_YEAR):
                raise ValueError(f"{name} must have {MONTHS_PER_YEAR} months, got {len(getattr(self, name))}")
        if self.generation and self.blocks:
            raise ValueError("generation must be empty with blocks: what fills them is not known by the hour")
        if not SHORTEST_INTERVAL <= self.demand_minutes <= HOURLY:
            raise ValueError(
                f"demand_minutes must lie in [{SHORTEST_INTERVAL:g}, {HOURLY:g}], got {self.demand_minutes:g}"
            )
        _require_price("export_price", self.export_price)
        if len(self.carbon_by_hour) not in (0, HOURS_PER_YEAR):
            raise ValueError(f"carbon_by_hour must have {HOURS_PER_YEAR}, got {len(self.carbon_by_hour)}")
        _require_price("price_per_kwh", self.price_per_kwh)
        _require_price("carbon_intensity", self.carbon_intensity)
        if self.comfort_price is not None:
            _require_price("comfort_price", self.comfort_price)
        if not (self.escalation > -1.0 and np.isfinite(self.escalation)):
            raise ValueError(f"escalation must be above -1, got {self.escalation:g}")

    @property
    def unmet_cooling_price(self) -> float:
        """Price of unmet cooling [money/kWh]: as given, or `COMFORT_FACTOR` times the base price."""
        return COMFORT_FACTOR * self.price_per_kwh if self.comfort_price is None else self.comfort_price

    def scaled(self, factor: float) -> Tariff:
        """The same tariff with every price times a factor [-]."""
        return replace(
            self,
            price_per_kwh=self.price_per_kwh * factor,
            export_price=self.export_price * factor,
            comfort_price=None if self.comfort_price is None else self.comfort_price * factor,
            energy_rates=tuple(
                replace(rate, price_per_kwh=rate.price_per_kwh * factor) for rate in self.energy_rates
            ),
            blocks=tuple(replace(block, adds=block.adds * factor) for block in self.blocks),
            demand_rates=tuple(
                replace(rate, price_per_kw=rate.price_per_kw * factor) for rate in self.demand_rates
            ),
        )


@dataclass(frozen=True)
class Bill:
    """A year's bill in whole cents, month by month.

    Attributes
    ----------
    energy_cents, demand_cents : ndarray of int, shape (..., 12)
        Charge for energy and for the peak of each month, rounded to the cent.
    carbon : ndarray, shape (..., 12)
        Carbon dioxide of the month's energy [kg].
    """

    energy_cents: IntArray
    demand_cents: IntArray
    carbon: Array

    @property
    def month_cents(self) -> IntArray:
        """Both charges of each month [cents], shape (..., 12)."""
        return self.energy_cents + self.demand_cents

    @property
    def year_cents(self) -> IntArray:
        """The year's charge [cents], shape (...): the sum of its months."""
        return np.asarray(self.month_cents.sum(axis=-1))


def holds(window: Window, year: WeatherYear) -> BoolArray:
    """Whether a window holds in each entry of a year, shape (entries,).

    Parameters
    ----------
    window : Window
        Months, weekdays and hours of a rate.
    year : WeatherYear
        Entries of the year.

    Returns
    -------
    ndarray of bool, shape (entries,)
        True where it holds.

    Raises
    ------
    ValueError
        Where the window asks for the weekday or hour of entries that have none (temperature bins).
    """
    mask = np.isin(year.month, window.months)
    for name, values, allowed in (
        ("weekday", year.weekday, (window.weekdays, ALL_WEEKDAYS)),
        ("hour", year.hour, (window.hours, ALL_HOURS)),
    ):
        chosen, every = allowed
        if set(chosen) == set(every):
            continue
        if np.any(values == UNKNOWN):
            raise ValueError(
                f"a rate by {name} needs an hourly weather file: temperature bins have no {name}"
            )
        mask &= np.isin(values, chosen)
    return mask


def energy_price(tariff: Tariff, year: WeatherYear) -> Array:
    """Price of energy in each entry of a year; the first rate whose window holds counts.

    Parameters
    ----------
    tariff : Tariff
        Base price and rates.
    year : WeatherYear
        Entries of the year.

    Returns
    -------
    ndarray, shape (entries,)
        Price [money/kWh].

    Raises
    ------
    ValueError
        Where a rate asks for weekdays or hours that temperature bins have not.
    """
    price = np.full(year.entries, tariff.price_per_kwh)
    free = np.ones(year.entries, dtype=bool)
    for rate in tariff.energy_rates:
        mask = holds(rate.window, year) & free
        price[mask] = rate.price_per_kwh
        free &= ~mask
    return price


def carbon_by_entry(tariff: Tariff, year: WeatherYear) -> Array:
    """Carbon dioxide of a kilowatt-hour in each entry of a year.

    Parameters
    ----------
    tariff : Tariff
        With its carbon intensity.
    year : WeatherYear
        Entries of the year.

    Returns
    -------
    ndarray, shape (entries,)
        Carbon dioxide [kg/kWh].

    Raises
    ------
    ValueError
        Where it is given by the hour and the year has no hours.
    """
    if not tariff.carbon_by_hour:
        return np.full(year.entries, tariff.carbon_intensity)
    if not year.is_hourly:
        raise ValueError("carbon_by_hour needs an hourly weather file: temperature bins have no hours")
    return np.array(tariff.carbon_by_hour)


def block_charge(tariff: Tariff, energy: ArrayLike) -> Array:
    """What the blocks of a tariff add to the month's electricity, beyond what everything else pays anyway.

    Parameters
    ----------
    tariff : Tariff
        With its blocks and the other use of its meter.
    energy : array_like, shape (..., 12)
        Electricity of the unit in each month [J].

    Returns
    -------
    ndarray, shape (..., 12)
        Charge [money].
    """
    own = np.asarray(energy, dtype=float) / JOULES_PER_KWH
    other = np.array(tariff.other_use or (0.0,) * MONTHS_PER_YEAR) / JOULES_PER_KWH
    charge = np.zeros_like(own)
    for block in tariff.blocks:
        above = np.maximum(own + other - block.above_kwh, 0.0) - np.maximum(other - block.above_kwh, 0.0)
        charge += block.adds * above
    return charge


def own_surplus(tariff: Tariff, year: WeatherYear) -> tuple[IntArray, Array, Array]:
    """Entries in which a household exports, how much, and what buying costs over what exporting earns.

    Parameters
    ----------
    tariff : Tariff
        With its generation and the other use of its meter.
    year : WeatherYear
        Entries of the year.

    Returns
    -------
    (ndarray of int, ndarray, ndarray), each of shape (n,)
        Places, surplus [W], price less export price [money/kWh]; empty without generation.

    Raises
    ------
    ValueError
        Where there is generation and the year has no hours.
    """
    if not tariff.generation:
        return np.zeros(0, dtype=np.int64), np.zeros(0), np.zeros(0)
    surplus = surplus_power(tariff.generation, tariff.other_use, year)
    places = np.flatnonzero(surplus > 0.0)
    return places, surplus[places], energy_price(tariff, year)[places] - tariff.export_price


def bill(
    tariff: Tariff,
    year: WeatherYear,
    power: ArrayLike,
    years_ahead: float = 0.0,
    draw: ArrayLike | None = None,
) -> Bill:
    """The bill for a year of electricity.

    Parameters
    ----------
    tariff : Tariff
        Prices of today.
    year : WeatherYear
        The calendar.
    power : array_like, shape (..., entries)
        Mean electrical power in each entry [W], not below 0.
    years_ahead : float
        Years from today over which the prices have risen [-].
    draw : array_like, shape (..., entries), optional
        Power that the demand meter sees [W]; left out, the mean.

    Returns
    -------
    Bill
        Arrays of shape (..., 12).
    """
    watts = np.asarray(power, dtype=float)
    kilowatt_hours = watts * (year.duration / 1e3)
    rise = (1.0 + tariff.escalation) ** years_ahead
    money = kilowatt_hours * (energy_price(tariff, year) * rise)
    places, surplus, dearer = own_surplus(tariff, year)
    money[..., places] -= np.minimum(watts[..., places], surplus) * (
        rise * dearer * year.duration[places] / 1e3
    )
    energy = monthly_sum(year, money)
    if tariff.blocks:
        energy = energy + rise * block_charge(tariff, JOULES_PER_KWH * monthly_sum(year, kilowatt_hours))
    return Bill(
        energy_cents=_cents(energy),
        demand_cents=_cents(rise * demand_charge(tariff, year, watts if draw is None else draw)),
        carbon=monthly_sum(year, kilowatt_hours * carbon_by_entry(tariff, year)),
    )


def demand_charge(tariff: Tariff, year: WeatherYear, power: ArrayLike) -> Array:
    """Charge for the peak of each month.

    Parameters
    ----------
    tariff : Tariff
        With its demand rates.
    year : WeatherYear
        Entries of the year.
    power : array_like, shape (..., entries)
        Power of the unit [W].

    Returns
    -------
    ndarray, shape (..., 12)
        Charge [money].

    Raises
    ------
    ValueError
        Where a rate asks for weekdays or hours that temperature bins have not.
    """
    watts = np.asarray(power, dtype=float)
    charge = np.zeros((*watts.shape[:-1], 12))
    for rate in tariff.demand_rates:
        peak = monthly_peak(year, np.where(holds(rate.window, year), watts, 0.0))
        charge += rate.charge(peak)
    return charge


def unmet_cooling_cents(tariff: Tariff, cooling_lost: ArrayLike) -> IntArray:
    """What cooling that the room goes without is counted as, month by month.

    Parameters
    ----------
    tariff : Tariff
        With its `unmet_cooling_price`.
    cooling_lost : array_like, shape (..., 12)
        Unmet cooling of each month [J].

    Returns
    -------
    ndarray of int, shape (..., 12)
        Money, rounded to the cent [cents].
    """
    kilowatt_hours = np.asarray(cooling_lost, dtype=float) / JOULES_PER_KWH
    return _cents(tariff.unmet_cooling_price * kilowatt_hours)


def _cents(money: Array) -> IntArray:
    """Money in whole cents."""
    return np.rint(money * CENTS).astype(np.int64)
