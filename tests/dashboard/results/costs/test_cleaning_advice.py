"""When to clean: advice, interval and reasons agree in words, table and JSON; every outcome is honest."""

import json
from dataclasses import replace

import numpy as np
import pytest

from dashboard.results.costs import cleaning_advice as advice
from dashboard.results.costs import sensitivity
from dashboard.results.costs.when_words import day_words, interval_words, length_words


@pytest.fixture(scope="module")
def found(priced):
    return priced.interval


def with_dates(found, *dates):
    best = replace(found.policies.best, dates=dates)
    return replace(found, policies=replace(found.policies, best=best))


def test_the_demo_waits_for_the_seed_fluff(found):
    advised = advice.advice(found)
    assert advised.recommended.advice == "later"
    assert advised.recommended.date.month in (6, 7)
    assert advised.headline.startswith("Not yet: clean it about")
    assert "less than its price of 165 USD" in advised.reasons[0]


def test_a_date_within_a_month_is_now(found):
    advised = advice.advice(with_dates(found, (0, 235), (1, 175)))
    assert advised.recommended.advice == "now"
    assert advised.headline.startswith("Clean it now, then every")


def test_no_date_is_an_honest_answer(found):
    left = with_dates(found)
    advised = advice.advice(left)
    assert (advised.recommended.advice, advised.recommended.date) == ("leave", None)
    assert "no cleaning pays" in advised.headline
    assert "165 USD" in advised.headline
    assert "in the next 10 years" in advised.reasons[0]
    assert advice.watch_sentence(left, "US") == ""


def test_measuring_first_is_an_honest_answer(found):
    measuring = replace(found.measuring, advice="measure first", worth_of_measuring=80.0)
    unseen = replace(found.unit, finding=None)
    open_case = replace(found, measuring=measuring, unit=unseen)
    advised = advice.advice(open_case)
    assert advised.recommended.advice == "measure_first"
    assert advised.headline.startswith("Measure before anything is cleaned")
    assert "at most 80 USD" in advised.measuring
    assert "50 cases of a hundred" in advised.measuring
    far = with_dates(open_case, (3, 175))
    assert advice.advice(far).recommended.advice == "later"


WAITING = ("It would pay for itself, but", "it would pay back within twelve months")


@pytest.mark.parametrize(
    "saving, within_a_year, said",
    [(200.0, 300.0, WAITING[0]), (200.0, 100.0, WAITING[0]), (50.0, 300.0, WAITING[1]), (50.0, 100.0, None)],
)
def test_not_yet_never_stands_beside_what_pays_today_unexplained(found, saving, within_a_year, said):
    waits = replace(
        found,
        saving_today=np.full_like(found.saving_today, saving),
        worth=replace(found.worth, within_a_year=within_a_year),
    )
    advised = advice.advice(waits)
    assert advised.headline.startswith("Not yet")
    told = [one for one in advised.reasons if any(words in one for words in WAITING)]
    assert [one for one in told if said in one] == told and len(told) == 1 if said else told == []
    assert ("more than its price" in advised.reasons[0]) == (saving > 165.0)


def test_where_cleaning_is_not_the_matter_the_headline_says_what_is(gassy):
    found = gassy.costs.interval
    told = advice.interval_json(found, "US")
    assert told["advice"] == "not_a_cleaning_matter"
    assert told["headline"].startswith("Cleaning is not the matter: the readings point to non-condensables")
    assert (told["date"], told["dates"], told["watch"], told["measuring"]) == (None, [], "", "")
    assert any("certified technician" in one for one in told["reasons"])
    assert any("only suppose that the coil is fouled" in one for one in told["reasons"])
    assert told["verdict"] == "fault" and told["probability_of_fouling"] < 0.5
    words = json.dumps(told)
    for clean in ("Clean it now", "Not yet", "Leave it", "would save"):
        assert clean not in words
    assert all(one.label.startswith("If it were fouling: ") for one in advice.headline_figures(found))


def test_spread_of_the_draws_is_told(found):
    never = replace(
        found.drawn,
        whole_per_year=np.full_like(found.drawn.whole_per_year, np.inf),
        best_interval=np.array([1.0, 1.0, 2.0, np.inf, np.inf, np.inf]),
    )
    told = advice.advice(replace(found, drawn=never)).reasons[-1]
    assert "50 % are best never cleaned" in told
    sure = replace(never, best_interval=np.full(6, 2.0))
    assert "are best cleaned every 2 years" in advice.advice(replace(found, drawn=sure)).reasons[-1]
    apart = replace(never, best_interval=np.array([1.0, 1.0, 2.0, 3.0, 3.0, 3.0]))
    assert "is 1 to 3 years." in advice.advice(replace(found, drawn=apart)).reasons[-1]
    long = replace(never, best_interval=np.array([1.0, 1.0, 2.0, 3.0, 3.0, 10.0]))
    assert "is 1 to 10 years or more." in advice.advice(replace(found, drawn=long)).reasons[-1]


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
    assert "Never cleaning costs" in advice.advice(replace(found, costs=never)).reasons[-2]


@pytest.mark.parametrize("system", ["US", "SI"])
def test_json_holds_what_the_tables_show(found, system):
    told = advice.interval_json(found, system)
    json.dumps(told, allow_nan=False)
    assert told["date"] == told["dates"][0]
    assert told["advice"] == "later"
    assert told["verdict"] == "fault" and told["probability_of_fouling"] > 0.9
    _, rows = advice.rule_table(found)
    for row, (_, figures) in zip(rows, told["rules"].items(), strict=True):
        assert row[1] == f"{figures['cost']['value']:,.0f}"
    assert told["rules"]["best dates"]["over_best"]["value"] == 0.0
    assert told["rules"]["every year"]["over_best"]["value"] > 0.0
    for row, figures in zip(advice.watch_table(found, system)[1], told["watched"], strict=True):
        digits = 1 if system == "US" else 2
        assert row[1] == f"{figures['approach']['value']:.{digits}f}"
        assert figures["approach"]["value"] > figures["clean_approach"]["value"]
    assert set(told["swings"]) == set(sensitivity.SWINGS)
    json.dumps(advice.interval_json(with_dates(found), system), allow_nan=False)


def test_swings_name_both_ends(found):
    headings, rows = sensitivity.swing_table(found)
    assert all(len(row) == len(headings) for row in rows)
    words = {row[0]: row for row in rows}
    assert words["price of a cleaning"][1].startswith("× 0.5: every")
    assert words["share of the dirt removed"][2].startswith("100 %: every")


def test_ground_names_price_effect_years_and_the_worth_of_comfort(found):
    told = " ".join(advice.ground_sentences(found))
    for words in ("165 USD", "95 %", "10 more years", "0.85 USD a kWh"):
        assert words in told
