"""From a case file to what a season is simulated with: weather, load, tariff, room, growth, cleaning.

What the case leaves out is filled in with a documented value, and every such value is listed in a sentence,
so that nobody takes an assumption for a reading.

Sources of the values filled in: AHRI 210/240 for the bins and the load line (seen second-hand); 1,000 cooling
hours a year are that standard's region IV (from memory); 0.17 USD/kWh is about what a household in the United
States paid in 2024 (EIA, from memory); the room at 75 degF and 50 % is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from calibration.case import records as cases
from calibration.case.records import Case
from calibration.case.units import TEMPERATURE
from calibration.files.typical_years import BINS, MONTHLY_MEANS, TYPICAL_YEARS, typical_year
from calibration.files.weather_file import read_hourly_carbon, read_hourly_load, read_weather
from calibration.said import said
from model.cycle.boundary import Conditions
from model.maintenance.growth import LARGEST_LEVEL, Burst, FoulingGrowth, default_growth
from model.maintenance.interval import Cleaning
from model.properties import moist_air
from model.season.fouling_cost import Setting
from model.season.load import (
    AHRI_BALANCE_TEMPERATURE,
    AHRI_DESIGN_TEMPERATURE,
    LATENT_SHARE,
    CoolingLoad,
    ahri_load,
    line_load,
    without_economiser_hours,
)
from model.season.metered_draw import HOURLY
from model.season.simulation import CYCLING_COEFFICIENT, Running
from model.season.synthetic_year import Climate, synthetic_year
from model.season.tariff import (
    CARBON_INTENSITY,
    JOULES_PER_KWH,
    Block,
    DemandRate,
    EnergyRate,
    Tariff,
    Window,
)
from model.season.weather_year import DAYS_IN_MONTH, DAYS_PER_YEAR, WeatherYear, bin_year

COOLING_HOURS = 1000.0
"""Cooling hours of a year where none are given [h] (AHRI 210/240, region IV; from memory)."""
ENERGY_PRICE = 0.17
"""Price of energy where none is given [money/kWh] (EIA, from memory)."""
ROOM_TEMPERATURE = TEMPERATURE.to_si(75.0, "US")
"""Room where none is given [K]: 75 degF; common practice, no source."""
ROOM_HUMIDITY = 0.50
"""Relative humidity of the room where none is given [-]; common practice, no source."""
BURST_SHARE = 0.7
"""Share of a year's growth that comes in the months of bursts [-]; a choice of this package."""
BURST_SPREAD = 10.0
"""Standard deviation of a burst around the middle of its month [d]; a choice of this package."""
TIME_CONSTANT = 3.0
"""Time constant of asymptotic growth where none is given [a]; a choice of this package."""
SPEEDS_OF_A_RANGE = 3
"""Speeds for which a variable-speed unit has tables [-]: lowest, middle, highest, as in AHRI 210/240."""
WINTER_NEEDS_HOURS = (
    "Not included: what fouling of the outdoor coil costs in winter, while the heat pump heats: it needs an "
    "hourly year, and the weather is temperature bins."
)
"""What is said of a heat pump with heating figures and bins."""
HEATING_LEFT_OUT = (
    "Not included: the unit is a heat pump, and what fouling of its outdoor coil costs in winter, while it "
    "heats, is not in these figures."
)
"""What is said of a unit that also heats."""
HOURS_A_DAY = 14.0
"""Hours of a day that bins fill at most, before the season gets more days [h]; a choice of this package."""
MIDSUMMER = 196
"""Day of the year about which the season of bins lies: 16 July."""


@dataclass(frozen=True)
class SeasonCase:
    """What a season and its cleanings are computed with.

    Attributes
    ----------
    setting : Setting
        Weather, load, tariff, controls.
    rooms : tuple of Conditions
        Return air and barometer, with the speeds of compressor and fans: one for each speed of the tables,
        slowest first.
    growth : FoulingGrowth
        Of the blocked share of the condenser's face; without a rate in the case the middle of the published
        span (`calibration.costs.likely_growth` asks the visits first).
    cleaning : Cleaning or None
        None where the case gives no price.
    currency : str
    discount_rate : float
        Fall of the worth of money from year to year [-].
    rate_is_assumed : bool
        Whether the growth rate is the published middle, as the case has none.
    assumptions : tuple of str
        A sentence for every value that was filled in.
    warnings : tuple of str
        Whole sentences about what the figures leave out.
    economiser_hours : float
        Hours with a load that an economiser takes from the season [h].
    """

    setting: Setting
    rooms: tuple[Conditions, ...]
    growth: FoulingGrowth
    cleaning: Cleaning | None
    currency: str
    discount_rate: float
    rate_is_assumed: bool
    assumptions: tuple[str, ...]
    warnings: tuple[str, ...] = ()
    economiser_hours: float = 0.0

    @property
    def room(self) -> Conditions:
        """Return air and barometer at the highest speed."""
        return self.rooms[-1]


def season_case(case: Case) -> SeasonCase:
    """Weather, load, tariff, growth and cleaning of a case.

    Parameters
    ----------
    case : Case
        Its ``[season]`` and ``[cleaning]`` may be short or missing.

    Returns
    -------
    SeasonCase

    Raises
    ------
    ValueError
        Where a file cannot be read, a tariff asks for hours that bins do not have, or growth has no meaning.
    """
    season = case.season or cases.Season()
    assumed: list[str] = []
    year = _weather(case, season, assumed)
    whole = _load(case, season, year, assumed)
    load = whole
    if season.economiser_below is not None:
        load = without_economiser_hours(whole, year.temperature, season.economiser_below)
    always_on = season.blower == "continuous"
    if always_on and not year.is_hourly:
        assumed.append(said("the blower that always runs is counted in the cooling hours of the bins alone"))
    tariff = _tariff(case, season, assumed)
    loss = season.cycling_loss
    running = Running(
        CYCLING_COEFFICIENT if loss is None else loss,
        answers_to=season.answers_to or "total",
        idle_power=case.share * (season.idle_power or 0.0),
        between_speeds="varies" if case.unit.speed_range else "alternates",
        blower_always_on=always_on,
    )
    entry = case.cleaning or cases.CleaningEntry()
    return SeasonCase(
        setting=Setting(year, load, tariff, running),
        rooms=_at_speeds(case.unit, _room(case, season, assumed), assumed),
        growth=_growth(entry, assumed),
        cleaning=_cleaning(entry, case.share),
        currency=case.currency,
        discount_rate=entry.discount_rate or 0.0,
        rate_is_assumed=entry.growth_rate is None,
        assumptions=tuple(assumed),
        warnings=_winter_warnings(case, year),
        economiser_hours=float(np.sum(year.duration[(whole.total > 0.0) & (load.total == 0.0)])),
    )


def _winter_warnings(case: Case, year: WeatherYear) -> tuple[str, ...]:
    """What is said of a heat pump whose winter is in no figure."""
    if not case.unit.heat_pump:
        return ()
    if case.unit.rated_heating_capacity is None:
        return (HEATING_LEFT_OUT,)
    return () if year.is_hourly else (WINTER_NEEDS_HOURS,)


def _weather(case: Case, season: cases.Season, assumed: list[str]) -> WeatherYear:
    """Hourly year of the case's file, a typical year by name, or bins."""
    if season.weather in TYPICAL_YEARS:
        return typical_year(season.weather)
    if season.weather == MONTHLY_MEANS:
        return _made_year(case, season, assumed)
    if season.weather != BINS:
        return read_weather(_beside(case, season.weather, "weather"))
    hours = season.cooling_hours
    if hours is None:
        hours = COOLING_HOURS
        assumed.append(said("no cooling hours given: {hours} h per year assumed", hours=f"{hours:.0f}"))
    days = int(np.clip(np.ceil(hours / HOURS_A_DAY), 153, DAYS_PER_YEAR))
    first = max(0, min(MIDSUMMER - days // 2, DAYS_PER_YEAR - days))
    return bin_year(hours, first, first + days - 1)


def _made_year(case: Case, season: cases.Season, assumed: list[str]) -> WeatherYear:
    """A typical year from monthly means, daily ranges and design temperatures."""
    if season.exceeded_1_percent is None or season.exceeded_99_percent is None:
        raise ValueError("season.exceeded_1_percent and exceeded_99_percent are needed with monthly means")
    assumed.append(said("hours made from monthly means, daily ranges and design temperatures"))
    climate = Climate(
        season.monthly_means, season.daily_ranges, season.exceeded_1_percent, season.exceeded_99_percent
    )
    return synthetic_year(climate, case.unit.ambient_pressure, "the given monthly means")


def _beside(case: Case, name: str, what: str) -> Path:
    """A file beside the case file; nothing outside its folder is opened."""
    folder = (case.source.parent if case.source else Path()).resolve()
    file = (folder / name).resolve()
    if not file.is_relative_to(folder):
        raise ValueError(f"season.{what} must be a file beside the case file, got {name!r}")
    return file


def _load(case: Case, season: cases.Season, year: WeatherYear, assumed: list[str]) -> CoolingLoad:
    """Hourly loads of the case's file, a line through its design day, or the standard's line."""
    share = LATENT_SHARE if season.latent_share is None else season.latent_share
    if season.load_file is not None:
        if not year.is_hourly:
            raise ValueError("season.load_file needs an hourly weather file, got temperature bins")
        return _share_of(
            case, read_hourly_load(_beside(case, season.load_file, "load_file"), case.units, share)
        )
    if season.design_load is None:
        assumed.append(
            said("no design load given: the load line of AHRI 210/240 for the rated capacity assumed")
        )
        return ahri_load(year.temperature, case.unit.rated_capacity, share)
    balance = AHRI_BALANCE_TEMPERATURE if season.balance_temperature is None else season.balance_temperature
    design = AHRI_DESIGN_TEMPERATURE if season.design_outdoor is None else season.design_outdoor
    return line_load(year.temperature, balance, design, season.design_load * case.share, share)


def _share_of(case: Case, load: CoolingLoad) -> CoolingLoad:
    """What falls to one circuit of several."""
    return replace(load, sensible=load.sensible * case.share, latent=load.latent * case.share)


def _tariff(case: Case, season: cases.Season, assumed: list[str]) -> Tariff:
    """The case's tariff, or one flat price."""
    entry = season.tariff
    if entry is None:
        assumed.append(
            said("no tariff given: {price} per kWh at all hours assumed", price=f"{ENERGY_PRICE:g}")
        )
        return Tariff(ENERGY_PRICE)
    every_month, every_weekday = Window().months, Window().weekdays
    return Tariff(
        price_per_kwh=entry.energy_price,
        energy_rates=tuple(
            EnergyRate(
                period.price,
                Window(period.months or every_month, period.weekdays or every_weekday, period.hours_of_day),
            )
            for period in entry.periods
        ),
        demand_rates=(DemandRate(entry.demand_charge),) if entry.demand_charge > 0.0 else (),
        escalation=entry.escalation,
        comfort_price=entry.comfort_price,
        carbon_intensity=CARBON_INTENSITY if entry.carbon_intensity is None else entry.carbon_intensity,
        carbon_by_hour=_carbon(case, entry),
        blocks=tuple(Block(one.above / JOULES_PER_KWH, one.adds) for one in entry.blocks),
        other_use=entry.other_use,
        demand_minutes=HOURLY if entry.demand_minutes is None else entry.demand_minutes,
        generation=entry.generation,
        export_price=entry.export_price or 0.0,
    )


def _carbon(case: Case, entry: cases.TariffEntry) -> tuple[float, ...]:
    """Carbon intensity of every hour from the case's file; empty without one."""
    if entry.carbon_file is None:
        return ()
    return read_hourly_carbon(_beside(case, entry.carbon_file, "tariff.carbon_file"))


def _room(case: Case, season: cases.Season, assumed: list[str]) -> Conditions:
    """Return air and barometer."""
    dry, humidity = season.indoor_setpoint, season.indoor_rh
    if dry is None or humidity is None:
        assumed.append(
            said("no room air given: 75 degF (23.9 degC) and 50 % relative humidity assumed where missing")
        )
    dry = ROOM_TEMPERATURE if dry is None else dry
    humidity = ROOM_HUMIDITY if humidity is None else humidity
    barometer = case.unit.ambient_pressure
    moisture = float(moist_air.humidity_ratio_from_relative_humidity(dry, humidity, barometer))
    return Conditions(AHRI_DESIGN_TEMPERATURE, dry, moisture, barometer)


def _at_speeds(unit: cases.UnitDescription, room: Conditions, assumed: list[str]) -> tuple[Conditions, ...]:
    """The same room at each speed for which a table is made, slowest first."""
    named = unit.stages or unit.speed_range
    if not named:
        return (room,)
    places = np.arange(len(named), dtype=float)
    if unit.speed_range:
        places = np.linspace(0.0, 1.0, SPEEDS_OF_A_RANGE)
    fans = {said("outdoor fan"): unit.outdoor_fan_speeds, said("blower"): unit.blower_speeds}
    steady = [name for name, speeds in fans.items() if not speeds]
    if steady:
        named_fans = (
            said("{first} and {second}", first=steady[0], second=steady[-1]) if steady[1:] else steady[0]
        )
        assumed.append(
            said("no speeds given of {fans}: full speed at every compressor speed", fans=named_fans)
        )
    columns = [
        np.interp(places, np.arange(len(named)), speeds or np.ones(len(named)))
        for speeds in (named, *fans.values())
    ]
    return tuple(
        replace(room, compressor_speed=float(a), outdoor_fan_speed=float(b), indoor_fan_speed=float(c))
        for a, b, c in zip(*columns, strict=True)
    )


def _growth(entry: cases.CleaningEntry, assumed: list[str]) -> FoulingGrowth:
    """Growth of the blocked share of the condenser's face."""
    growth = default_growth("condenser")
    if entry.growth_rate is not None:
        growth = replace(growth, rate=entry.growth_rate)
    if entry.growth_form == "asymptotic":
        span = entry.time_constant
        if span is None:
            span = TIME_CONSTANT
            assumed.append(said("no time constant of growth given: {years} years assumed", years=f"{span:g}"))
        limit = min(float(growth.rate) * span, LARGEST_LEVEL)
        return replace(growth, law="asymptotic", limit=limit) if limit > 0.0 else growth
    if entry.growth_form == "bursts":
        return replace(growth, bursts=bursts_of(entry.bursts))
    return growth


def bursts_of(months: tuple[int, ...]) -> tuple[Burst, ...]:
    """Bursts around the middle of the given months, equal parts of their share.

    Parameters
    ----------
    months : tuple of int
        1 to 12.

    Returns
    -------
    tuple of Burst
        One a month.
    """
    ends = np.cumsum(DAYS_IN_MONTH)
    middles = [int(ends[month - 1]) - DAYS_IN_MONTH[month - 1] // 2 - 1 for month in months]
    return tuple(
        Burst(f"burst of month {month}", middle, BURST_SPREAD, BURST_SHARE / len(months))
        for month, middle in zip(months, middles, strict=True)
    )


def _cleaning(entry: cases.CleaningEntry, share: float) -> Cleaning | None:
    """Price with its call-out and effect of a cleaning, of one circuit its share; None without a price."""
    if entry.price is None:
        return None
    if not entry.restores > 0.0:
        raise ValueError(f"cleaning.restores must be above 0, got {entry.restores:g}")
    return Cleaning((entry.price + (entry.call_out or 0.0)) * share, entry.restores)
