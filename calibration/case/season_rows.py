"""Rows of the table of keys for [season], its tariff and bill, [cleaning] and [[track]], in US units.

A number has its section, key, words, kind, limits, typical range and example; any other entry its section,
key, words, form, example and choices. `calibration.case.keys` says what these mean.
"""

from __future__ import annotations

from typing import Literal

from calibration.case import units
from calibration.case.units import Quantity

Ends = tuple[float, float]
NumberRow = tuple[str, str, str, Quantity, Ends, Ends, float]
WordForm = Literal["text", "choice", "date", "months", "weekdays", "hours"]
WordRow = tuple[str, str, str, WordForm, str, tuple[str, ...]]

GROWTH_FORMS = ("linear", "asymptotic", "bursts")
BLOWER_SETTINGS = ("automatic", "continuous")
ANSWERS_TO = ("total", "sensible")
_DEGREE, _SHARE, _PRICE = units.TEMPERATURE, units.FRACTION, units.ENERGY_PRICE
_DIFFERENCE = units.TEMPERATURE_DIFFERENCE
SERIES = ("monthly_means", "daily_ranges", "other_use", "generation")
"""Numbers of which there is a list, one for each month."""
_MONEY: Ends = (0.0, 1e7)

_SEASON: tuple[NumberRow | WordRow, ...] = (
    ("season", "weather", "Weather: place, file, bins, monthly means", "text", "bins", ()),
    ("season", "monthly_means", "Mean outdoor temperature by month", _DEGREE, (-60, 120), (0, 95), 60),
    ("season", "daily_ranges", "Daily range by month, or of all", _DIFFERENCE, (1, 70), (8, 40), 20),
    ("season", "exceeded_1_percent", "Exceeded in 1 % of the hours", _DEGREE, (-20, 130), (60, 115), 91),
    ("season", "exceeded_99_percent", "Exceeded in 99 % of the hours", _DEGREE, (-80, 100), (-20, 60), 24),
    ("season", "cooling_hours", "Cooling hours per year", units.HOURS, (1, 8760), (300, 4000), 1200),
    ("season", "design_load", "Design cooling load", units.CAPACITY, (1000, 2e6), (12e3, 240e3), 32e3),
    ("season", "design_outdoor", "Design outdoor temperature", _DEGREE, (50, 150), (80, 115), 95),
    ("season", "balance_temperature", "Outdoor temperature without load", _DEGREE, (20, 100), (55, 75), 65),
    ("season", "cycling_loss", "Cycling loss Cd", _SHARE, (0, 0.6), (0.05, 0.25), 0.2),
    ("season", "latent_share", "Latent share of the load", _SHARE, (0, 0.9), (0.1, 0.4), 0.25),
    ("season", "idle_power", "Power while off", units.POWER, (0, 5000), (0, 100), 20),
    ("season", "economiser_below", "Economiser cools below, outdoor air", _DEGREE, (20, 90), (50, 75), 60),
    ("season", "indoor_setpoint", "Indoor set point", _DEGREE, (50, 100), (68, 80), 75),
    ("season", "indoor_rh", "Indoor relative humidity", units.PERCENT, (5, 95), (35, 65), 50),
    ("season", "blower", "Blower", "choice", "automatic", BLOWER_SETTINGS),
    ("season", "answers_to", "Thermostat answers to", "choice", "total", ANSWERS_TO),
    ("season", "load_file", "File of hourly loads", "text", "load.csv", ()),
)
_HEATING: tuple[NumberRow | WordRow, ...] = (
    (
        "season",
        "heating_design_load",
        "Design heating load",
        units.CAPACITY,
        (1000, 2e6),
        (12e3, 240e3),
        34e3,
    ),
    (
        "season",
        "heating_design_outdoor",
        "Design outdoor temperature, heating",
        _DEGREE,
        (-40, 55),
        (-10, 35),
        20,
    ),
    (
        "season",
        "heating_balance_temperature",
        "Outdoor temperature without heating",
        _DEGREE,
        (40, 75),
        (55, 67),
        62,
    ),
    ("season", "heating_setpoint", "Indoor set point, heating", _DEGREE, (50, 85), (64, 74), 70),
    ("season", "backup_price", "Price of backup heat", _PRICE, _MONEY, (0.03, 0.4), 0.06),
    ("season", "backup_carbon", "Carbon of backup heat", units.CARBON_INTENSITY, (0, 5), (0.1, 0.6), 0.226),
    ("season", "backup_below", "Backup heat only below, outdoor air", _DEGREE, (-30, 75), (20, 50), 40),
    ("season", "heat_pump_above", "Heat pump only above, outdoor air", _DEGREE, (-40, 60), (-10, 40), 10),
)
_TARIFF: tuple[NumberRow | WordRow, ...] = (
    ("tariff", "energy_price", "Energy price", _PRICE, _MONEY, (0.05, 0.6), 0.16),
    ("tariff", "demand_charge", "Demand charge", units.DEMAND_PRICE, _MONEY, (0, 30), 0),
    ("tariff", "demand_minutes", "Interval of the demand meter", units.MINUTES, (5, 60), (15, 60), 15),
    ("tariff", "comfort_price", "Price of unmet cooling", _PRICE, _MONEY, (0.2, 5), 0.8),
    ("tariff", "escalation", "Price rise per year", _SHARE, (-0.5, 1), (0, 0.08), 0.03),
    ("tariff", "carbon_intensity", "Carbon intensity", units.CARBON_INTENSITY, (0, 5), (0.02, 1), 0.37),
    ("tariff", "other_use", "Everything else on the meter, by month", units.ENERGY, (0, 1e7), (0, 3000), 500),
    ("tariff", "generation", "Own generation by month", units.ENERGY, (0, 1e7), (50, 2000), 450),
    ("tariff", "export_price", "Price of what is exported", _PRICE, _MONEY, (0.02, 0.3), 0.06),
    ("tariff", "carbon_file", "File of hourly carbon intensity", "text", "carbon.csv", ()),
    ("tariff", "currency", "Currency", "text", "USD", ()),
    ("period", "months", "Months", "months", "6, 7, 8, 9", ()),
    ("period", "weekdays", "Days of the week", "weekdays", "Mon, Tue, Wed, Thu, Fri", ()),
    ("period", "hours", "From and to hour", "hours", "14, 20", ()),
    ("period", "price", "Energy price in these hours", _PRICE, _MONEY, (0.05, 0.9), 0.31),
    ("block", "above", "Above so much electricity a month", units.ENERGY, (0, 1e7), (100, 3000), 600),
    ("block", "adds", "Adds to the energy price", _PRICE, (-1e3, 1e3), (0.005, 0.3), 0.06),
)
_BILL: tuple[NumberRow | WordRow, ...] = (
    ("bill", "kwh", "Electricity on the meter", units.ENERGY, (1, 1e8), (100, 2e4), 1400),
    ("bill", "other_kwh", "Of it everything else", units.ENERGY, (0, 1e8), (0, 2e4), 450),
    ("bill", "months", "Months that it is for", "months", "6, 7, 8", ()),
    ("bill", "first_day", "First day that it is for", "date", "2026-07-01", ()),
    ("bill", "last_day", "Last day that it is for", "date", "2026-07-31", ()),
    ("bill", "mean_outdoor", "Mean outdoor temperature then", _DEGREE, (-40, 120), (50, 95), 79),
)
_CLEANING: tuple[NumberRow | WordRow, ...] = (
    ("cleaning", "price", "Price of one cleaning", units.MONEY, _MONEY, (50, 1500), 180),
    ("cleaning", "restores", "Share of fouling removed", _SHARE, (0.01, 1), (0.5, 1), 0.9),
    ("cleaning", "growth_rate", "Fouling growth per year", units.RATE_PER_YEAR, (0, 10), (0.01, 1), 0.1),
    ("cleaning", "growth_rate_low", "Its 90 % range, from", units.RATE_PER_YEAR, (1e-4, 10), (0.01, 1), 0.08),
    ("cleaning", "growth_rate_high", "Its 90 % range, to", units.RATE_PER_YEAR, (1e-4, 10), (0.01, 1), 0.13),
    ("cleaning", "time_constant", "Time constant", units.YEARS, (0.01, 200), (0.5, 10), 2),
    ("cleaning", "discount_rate", "Discount rate per year", _SHARE, (-0.2, 1), (0, 0.12), 0.05),
    ("cleaning", "call_out", "Call-out, paid once a visit", units.MONEY, _MONEY, (0, 500), 90),
    (
        "cleaning",
        "indoor_coil_price",
        "Price of cleaning the indoor coil",
        units.MONEY,
        _MONEY,
        (50, 900),
        240,
    ),
    (
        "cleaning",
        "indoor_coil_rate",
        "Rise of its pressure drop per year",
        units.RATE_PER_YEAR,
        (0, 10),
        (0.03, 0.6),
        0.133,
    ),
    ("cleaning", "filter_price", "Price of a new filter", units.MONEY, _MONEY, (3, 200), 25),
    (
        "cleaning",
        "filter_rate",
        "Rise of its pressure drop per year, over the coil's",
        units.RATE_PER_YEAR,
        (0, 20),
        (0.2, 4),
        1.0,
    ),
    ("cleaning", "growth_form", "Form of growth", "choice", "linear", GROWTH_FORMS),
    ("cleaning", "bursts", "Months of seed fluff, pollen or harvest", "months", "5, 6", ()),
    ("cleaning", "last_cleaned", "Last cleaned", "date", "2025-04-02", ()),
    ("cleaning", "indoor_coil_cleaned", "Indoor coil last cleaned", "date", "2022-04-02", ()),
    ("cleaning", "filter_changed", "Filter last changed", "date", "2026-02-02", ()),
)
_TRACK: tuple[NumberRow | WordRow, ...] = (
    ("track", "date", "Day", "date", "2026-06-01", ()),
    ("track", "level", "Blocked share of the face, tracked", _SHARE, (0, 1), (0, 0.6), 0.12),
    ("track", "level_low", "Its 90 % range, from", _SHARE, (0, 1), (0, 0.6), 0.08),
    ("track", "level_high", "Its 90 % range, to", _SHARE, (0, 1), (0, 0.6), 0.17),
    ("track", "outdoor_db", "Outdoor air while steady", _DEGREE, (-40, 150), (55, 125), 88),
    ("track", "event", "What changed", "text", "cleaned", ()),
)
SEASON_ROWS = (*_SEASON, *_HEATING, *_TARIFF, *_BILL, *_CLEANING, *_TRACK)
