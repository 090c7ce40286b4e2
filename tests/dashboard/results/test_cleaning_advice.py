"""When to clean: date, interval and reasons agree in words, table and JSON; every outcome is honest."""

import datetime as dt
import json
from dataclasses import replace

import numpy as np
import pytest

from dashboard.results import cleaning_advice as advice
from dashboard.results.cleaning_advice import day_words, interval_words, length_words, plan_dates


@pytest.fixture(scope="module")
def found(priced):
    return priced.interval


def with_dates(found, *dates):
    best = replace(found.policies.best, dates=dates)
    return replace(found, policies=replace(found.policies, best=best))


def test_dates_are_in_order_not_before_today_and_on_the_plan_of_steps(found):
    dates = plan_dates(found)
    assert len(dates) == len(found.policies.best.dates)
    assert dates == sorted(dates)
    assert dates[0] >= found.unit.today
    assert dates[-1] < found.unit.today + dt.timedelta(days=365 * found.years + 5)
    for one, (_, day) in zip(dates, found.policies.best.dates, strict=True):
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
def test_a_step_ahead_is_a_date_of_the_calendar(found, years, day, expected):
    assert found.unit.today == dt.date(2026, 8, 12)
    assert plan_dates(with_dates(found, (years, day))) == [expected]


def test_the_demo_waits_for_the_seed_fluff(found):
    advised = advice.advice(found)
    assert advised.action == "clean later"
    assert advised.date.month in (6, 7)
    assert advised.headline.startswith("Not yet: clean it about")
    assert "less than its price of 165 USD" in advised.reasons[0]
    assert advice.saving_today(found)[0] < 165
    assert advice.saving_today(found)[1] == advised.date


def test_a_date_within_a_month_is_now(found):
    advised = advice.advice(with_dates(found, (0, 235), (1, 175)))
    assert advised.action == "clean now"
    assert advised.headline.startswith("Clean it now, then every")


def test_a_cleaning_today_is_weighed_until_the_next_one_that_is_planned(found):
    """A plan that begins today pays; without another cleaning the whole time counts."""
    now, until = advice.saving_today(with_dates(found, (0, 220), (1, 175)))
    assert until == dt.date(2028, 6, 25)
    assert now > advice.saving_today(found)[0]
    alone, never = advice.saving_today(with_dates(found, (0, 220)))
    assert never is None
    assert alone == found.saving_today[-1] >= now
    assert "in the next 10 years" in advice.advice(with_dates(found)).reasons[0]


def test_no_date_is_an_honest_answer(found):
    advised = advice.advice(with_dates(found))
    assert (advised.action, advised.date) == ("leave it", None)
    assert "no cleaning pays" in advised.headline
    assert "165 USD" in advised.headline
    assert advice.watch_sentence(with_dates(found), "US") == ""


def test_measuring_first_is_an_honest_answer(found):
    measuring = replace(found.measuring, advice="measure first", worth_of_measuring=80.0)
    unseen = replace(found.unit, has_readings=False)
    open_case = replace(found, measuring=measuring, unit=unseen)
    advised = advice.advice(open_case)
    assert advised.action == "measure first"
    assert advised.headline.startswith("Measure before anything is cleaned")
    assert "at most 80 USD" in advised.measuring
    assert "50 cases of a hundred" in advised.measuring
    far = with_dates(open_case, (3, 175))
    assert advice.advice(far).action == "clean later"


def test_spread_of_the_draws_is_told(found):
    never = replace(
        found.drawn,
        whole_per_year=np.full_like(found.drawn.whole_per_year, np.inf),
        best_interval=np.array([1.0, 1.0, 2.0, np.inf, np.inf, np.inf]),
    )
    told = advice.advice(replace(found, drawn=never)).reasons[2]
    assert "50 % are best never cleaned" in told
    sure = replace(never, best_interval=np.full(6, 2.0))
    assert "are best cleaned every 2 years" in advice.advice(replace(found, drawn=sure)).reasons[2]
    apart = replace(never, best_interval=np.array([1.0, 1.0, 2.0, 3.0, 3.0, 3.0]))
    assert "is 1 to 3 years." in advice.advice(replace(found, drawn=apart)).reasons[2]
    long = replace(never, best_interval=np.array([1.0, 1.0, 2.0, 3.0, 3.0, 10.0]))
    assert "is 1 to 10 years or more." in advice.advice(replace(found, drawn=long)).reasons[2]


@pytest.mark.parametrize(
    "years, day, expected",
    [
        (np.inf, -1, "never"),
        (10 / 365, -1, "every 10 days"),
        (1 / 12, -1, "every month"),
        (0.66, -1, "every 8 months"),
        (1.0, 174, "every year, about 24 June"),
        (1.02, -1, "every year"),
        (2.0, 0, "every 2 years, about 1 January"),
        (2.54, -1, "every 2.5 years"),
    ],
)
def test_intervals_in_words(years, day, expected):
    assert interval_words(years, day) == expected


def test_lengths_and_days_in_words():
    assert [length_words(years) for years in (0.5, 1.0, 3.0)] == ["6 months", "1 year", "3 years"]
    assert [day_words(day) for day in (0, 58, 59, 364)] == [
        "1 January",
        "28 February",
        "1 March",
        "31 December",
    ]


def test_figures_hold_the_findings(found):
    shown = {one.key: one for one in advice.interval_figures(found)}
    costs = found.costs
    assert shown["interval"].value == costs.advised_interval[0]
    assert shown["never_cost"].value == pytest.approx(costs.never_per_year[0] - costs.clean_per_year[0])
    assert shown["advised_cost"].value < shown["never_cost"].value
    assert shown["advised_cost"].value > found.cleaning.price / shown["interval"].value
    assert shown["cleaning_price"].text == "165"
    assert 0 <= shown["chance_it_pays"].value <= 100


def test_never_is_a_word(found):
    never = replace(
        found.costs, best_interval=np.array([np.inf]), best_per_year=found.costs.never_per_year - 1e4
    )
    shown = advice.interval_figures(replace(found, costs=never))[0]
    assert (shown.value, shown.text) == ("never", "never")
    assert "Never cleaning costs" in advice.advice(replace(found, costs=never)).reasons[1]


@pytest.mark.parametrize("system", ["US", "SI"])
def test_json_holds_what_the_tables_show(found, system):
    told = advice.interval_json(found, system)
    json.dumps(told, allow_nan=False)
    assert told["date"] == told["dates"][0]
    _, rows = advice.rule_table(found)
    for row, (_, figures) in zip(rows, told["rules"].items(), strict=True):
        assert row[1] == f"{figures['cost']['value']:,.0f}"
    assert told["rules"]["best dates"]["over_best"]["value"] == 0.0
    assert told["rules"]["every year"]["over_best"]["value"] > 0.0
    for row, figures in zip(advice.watch_table(found, system)[1], told["watched"], strict=True):
        digits = 1 if system == "US" else 2
        assert row[1] == f"{figures['approach']['value']:.{digits}f}"
        assert figures["approach"]["value"] > figures["clean_approach"]["value"]
    assert set(told["swings"]) == set(advice.SWINGS)
    json.dumps(advice.interval_json(with_dates(found), system), allow_nan=False)


def test_swings_name_both_ends(found):
    headings, rows = advice.swing_table(found)
    assert all(len(row) == len(headings) for row in rows)
    words = {row[0]: row for row in rows}
    assert words["price of a cleaning"][1].startswith("× 0.5: every")
    assert words["share of the dirt removed"][2].startswith("100 %: every")


def test_ground_names_price_effect_years_and_the_worth_of_comfort(found):
    told = " ".join(advice.ground_sentences(found))
    for words in ("165 USD", "95 %", "10 more years", "0.85 USD a kWh"):
        assert words in told
