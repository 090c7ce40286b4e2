"""What to do about a unit's condenser, from the finding of its last visit and the cost of its fouling.

The finding comes first: where the readings point to something other than a fouled coil, cleaning is not the
matter, whatever fouling would cost. Otherwise the date is the first of those that cost least over the years
ahead. "Measure first" is advised where knowing more is worth more than a visit that only measures; "leave"
where no cleaning pays.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Literal

from calibration.costs.cleaning_interval import IntervalFindings
from model.maintenance.running_cost import DAYS_PER_STEP
from model.season.weather_year import DAYS_PER_YEAR

NOW_DAYS = 30
"""A date that is no further off than this means now [d]."""
Advice = Literal["now", "later", "measure_first", "leave", "not_a_cleaning_matter"]


@dataclass(frozen=True)
class Recommendation:
    """What to do about the condenser.

    Attributes
    ----------
    advice : str
        "now", "later", "measure_first", "leave" or "not_a_cleaning_matter".
    dates : tuple of date
        When to clean over the years ahead; supposing that the coil is fouled, where cleaning is not the
        matter.
    saving, saving_until : float, date or None
        What a cleaning today saves [money] until the next planned one, and when that is; where a cleaning is
        due now, until the one after it. Without another one in the plan until the end of the years ahead, the
        date then None.
    """

    advice: Advice
    dates: tuple[dt.date, ...]
    saving: float
    saving_until: dt.date | None
    jobs: tuple[tuple[str, tuple[dt.date, ...]], ...] = ()

    @property
    def date(self) -> dt.date | None:
        """When to clean next; None where no cleaning is advised."""
        return self.dates[0] if self.dates and self.advice != "not_a_cleaning_matter" else None


def recommendation(found: IntervalFindings) -> Recommendation:
    """What to do about a unit's condenser.

    Parameters
    ----------
    found : IntervalFindings
        Costs of fouling and cleaning, and the finding that they rest on.

    Returns
    -------
    Recommendation
    """
    ahead = _steps_ahead(found)
    dates = tuple(_date_ahead(found, steps) for steps in ahead)
    due = sum((one - found.unit.today).days <= NOW_DAYS for one in dates)
    later = ahead[due:]
    return Recommendation(
        advice=_advice(found, dates),
        dates=dates,
        saving=float(found.saving_today[later[0] - 1 if later else -1]),
        saving_until=_date_ahead(found, later[0]) if later else None,
        jobs=_jobs(found),
    )


def _advice(found: IntervalFindings, dates: tuple[dt.date, ...]) -> Advice:
    if found.unit.if_fouled:
        return "not_a_cleaning_matter"
    if not dates:
        return "leave"
    days = (dates[0] - found.unit.today).days
    if found.measuring.advice == "measure first" and days < DAYS_PER_YEAR:
        return "measure_first"
    if days > NOW_DAYS:
        return "later"
    # Nobody is sent to clean a coil that is more probably clean than fouled.
    finding = found.unit.finding
    probably_clean = finding is not None and finding.probability_of_fouling < 0.5
    return "measure_first" if probably_clean else "now"


def _jobs(found: IntervalFindings) -> tuple[tuple[str, tuple[dt.date, ...]], ...]:
    """Dates of every job of a joint plan."""
    if found.joint is None:
        return ()
    return tuple(
        (name, tuple(_date_ahead(found, one) for one in steps)) for name, steps in found.joint.steps.items()
    )


def _steps_ahead(found: IntervalFindings) -> list[int]:
    """Steps from the one that today falls in to each planned cleaning of the condenser."""
    if found.joint is not None:
        return list(found.joint.steps["condenser"])
    first_step, steps = found.unit.day // DAYS_PER_STEP, DAYS_PER_YEAR // DAYS_PER_STEP
    return [
        years * steps + (day // DAYS_PER_STEP - first_step) % steps
        for years, day in found.policies.best.dates
    ]


def _date_ahead(found: IntervalFindings, ahead: int) -> dt.date:
    """Date on which a step ahead begins, today at the earliest."""
    steps = DAYS_PER_YEAR // DAYS_PER_STEP
    years, step = divmod(found.unit.day // DAYS_PER_STEP + ahead, steps)
    return max(day_in(found.unit.today.year + years, step * DAYS_PER_STEP), found.unit.today)


def day_in(year: int, day: int) -> dt.date:
    """Date of a day of a year without a leap day, in a year of the calendar.

    Parameters
    ----------
    year : int
        Calendar year.
    day : int
        0 to 364.

    Returns
    -------
    date
    """
    plain = dt.date(2026, 1, 1) + dt.timedelta(days=day)
    return plain.replace(year=year)
