"""Dates and lengths of time in words."""

from datetime import date

import numpy as np

from calibration.costs.recommendation import day_in
from dashboard.results.wording import MONTH_NAMES
from dashboard.texts.translate import tr, tr_many
from model.season.weather_year import DAYS_PER_YEAR


def date_words(when: date) -> str:
    """A date in words: "20 June 2027"."""
    return tr("{day} {month} {year}", day=when.day, month=tr(MONTH_NAMES[when.month - 1]), year=when.year)


def day_words(day: int) -> str:
    """Day of the year, 0 to 364, in words: "20 June"."""
    plain = day_in(2026, day)
    return tr("{day} {month}", day=plain.day, month=tr(MONTH_NAMES[plain.month - 1]))


def interval_words(years: float, day: int = -1) -> str:
    """An interval in words: "every 2 years, about 20 June", "every 8 months", "never"."""
    if np.isinf(years):
        return tr("never")
    count, shown, unit = length_of(years)
    if unit == "days":
        every = tr_many("every day", "every {number} days", count)
    elif unit == "months":
        every = tr_many("every month", "every {number} months", count)
    else:
        every = tr_many("every year", "every {number} years", count, number=shown)
    return tr("{every}, about {day}", every=every, day=day_words(day)) if day >= 0 else every


def length_words(years: float) -> str:
    """A time in words: "1 year", "2.5 years", "8 months"."""
    count, shown, unit = length_of(years)
    if unit == "days":
        return tr_many("{number} day", "{number} days", count)
    if unit == "months":
        return tr_many("{number} month", "{number} months", count)
    return tr_many("{number} year", "{number} years", count, number=shown)


def length_of(years: float) -> tuple[int, str, str]:
    """How many, for the form of the word; the same as shown; of what."""
    days, months = round(DAYS_PER_YEAR * years), max(round(12.0 * years), 1)
    if days < 25:
        return days, f"{days}", "days"
    if months < 12:
        return months, f"{months}", "months"
    shown = f"{years:.1f}".removesuffix(".0")
    return 1 if shown == "1" else max(round(years), 2), shown, "years"
