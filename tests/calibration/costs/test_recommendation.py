"""What to do about a condenser: the finding first, then the dates of least cost, each outcome on its own."""

import datetime as dt
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from calibration.costs.case_costs import case_costs
from calibration.costs.recommendation import NOW_DAYS, day_in, recommendation
from tests.calibration.demo_in_bins import DEMO, baseline


@cache
def found():
    return case_costs(DEMO, baseline(), draws=4).interval


def with_dates(*dates, unit=None, measuring=None):
    best = replace(found().policies.best, dates=dates)
    return replace(
        found(),
        policies=replace(found().policies, best=best),
        unit=unit or found().unit,
        measuring=measuring or replace(found().measuring, advice="clean now"),
    )


def finding_of(verdict, fouling):
    """The demo's finding with another verdict and probability of a fouled coil."""
    finding = found().unit.finding
    treatments = tuple(
        replace(one, probability=fouling if one.key == "clean_condenser" else 0.0)
        for one in finding.treatments
    )
    claimed = ("clean_condenser",) if verdict == "fault" and fouling > 0.5 else ()
    return replace(finding, verdict=verdict, treatments=treatments, claimed=claimed)


def test_dates_are_in_order_not_before_today_and_on_the_plan_of_steps():
    dates = recommendation(found()).dates
    assert len(dates) == len(found().policies.best.dates) > 1
    assert list(dates) == sorted(dates)
    assert dates[0] >= found().unit.today
    assert dates[-1] < found().unit.today + dt.timedelta(days=365 * found().years + 5)
    for one, (_, day) in zip(dates, found().policies.best.dates, strict=True):
        assert one.timetuple().tm_yday - 1 - (one.month > 2 and one.year % 4 == 0) == day


@pytest.mark.parametrize(
    "years, day, expected",
    [
        (0, 220, dt.date(2026, 8, 12)),  # the step that today falls in began on 9 August
        (0, 225, dt.date(2026, 8, 14)),
        (0, 360, dt.date(2026, 12, 27)),
        (0, 0, dt.date(2027, 1, 1)),
        (0, 215, dt.date(2027, 8, 4)),
        (1, 220, dt.date(2027, 8, 9)),
        (1, 60, dt.date(2028, 3, 2)),  # after a leap day
    ],
)
def test_a_step_ahead_is_a_date_of_the_calendar(years, day, expected):
    assert found().unit.today == dt.date(2026, 8, 12)
    assert recommendation(with_dates((years, day))).dates == (expected,)


def test_a_date_within_a_month_is_now_and_a_later_one_later():
    first = found().unit.today + dt.timedelta(days=NOW_DAYS)
    for days, expected in ((-5, "now"), (5, "later")):
        day = (first + dt.timedelta(days=days)).timetuple().tm_yday - 1
        one = recommendation(with_dates((0, day // 5 * 5), (1, 175)))
        assert one.advice == expected
        assert one.date == one.dates[0]


def test_no_date_is_leave():
    one = recommendation(with_dates())
    assert (one.advice, one.date, one.dates, one.saving_until) == ("leave", None, (), None)
    assert one.saving == found().saving_today[-1]


def test_measuring_first_is_for_dates_within_a_year():
    measuring = replace(found().measuring, advice="measure first")
    assert recommendation(with_dates((0, 320), measuring=measuring)).advice == "measure_first"
    assert recommendation(with_dates((3, 175), measuring=measuring)).advice == "later"


def test_a_cleaning_today_is_weighed_until_the_next_one_that_is_planned():
    """Where one is due within a month it is that one, and the next is the one after."""
    waits = recommendation(with_dates((1, 175), (2, 175)))
    assert waits.saving_until == dt.date(2028, 6, 25) == waits.date
    for due in (220, 235):
        now = recommendation(with_dates((0, due), (1, 175)))
        assert now.advice == "now"
        assert (now.saving_until, now.saving) == (waits.saving_until, waits.saving)
    alone = recommendation(with_dates((0, 220)))
    assert alone.saving_until is None
    assert alone.saving == found().saving_today[-1]


@pytest.mark.parametrize(
    "verdict, fouling, is_cleaning",
    [
        ("fault", 0.05, False),
        ("fault", 0.95, True),
        ("inconclusive", 0.45, False),
        ("inconclusive", 0.55, True),
        ("none_of_these", 0.2, False),
        ("no_fault", 0.05, True),
    ],
)
def test_the_finding_comes_before_the_money(verdict, fouling, is_cleaning):
    """Where the faults that a cleaning removes hold less than half, no date is advised, whatever it saves."""
    unit = replace(found().unit, finding=finding_of(verdict, fouling))
    for dates in (((0, 220), (1, 175)), ()):
        one = recommendation(with_dates(*dates, unit=unit))
        assert (one.advice == "not_a_cleaning_matter") == (not is_cleaning)
        assert (one.date is None) == (not is_cleaning or not dates)


def test_without_a_visit_as_found_money_and_time_decide():
    one = recommendation(with_dates((0, 220), unit=replace(found().unit, finding=None)))
    assert one.advice == "now"


def test_a_day_of_the_year_is_the_same_date_in_any_year():
    assert [day_in(year, 0) for year in (2026, 2028)] == [dt.date(2026, 1, 1), dt.date(2028, 1, 1)]
    assert [day_in(year, 59) for year in (2026, 2028)] == [dt.date(2026, 3, 1), dt.date(2028, 3, 1)]
    assert np.all([day_in(2028, day) != dt.date(2028, 2, 29) for day in range(365)])
