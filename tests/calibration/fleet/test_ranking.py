"""Order, filters and totals of rows."""

from math import sqrt

import numpy as np
import pytest

from calibration.fleet.ranking import chosen, ranked, total, totals_by_currency


def row(unit, money, spread=10.0, **more):
    ends = {} if money is None else {"money_year_low": money - spread, "money_year_high": money + 2 * spread}
    return {
        "unit": unit,
        "money_year": money,
        "currency": "USD",
        "if_fouled": False,
        "site": "",
        **ends,
        **more,
    }


ROWS = [row("a", 50.0, site="Library"), row("b", None), row("c", 80.0), row("d", 90.0, if_fouled=True)]


def test_the_most_expensive_first_what_is_supposed_after_it_what_is_unknown_last():
    assert [one["unit"] for one in ranked(ROWS)] == ["c", "a", "d", "b"]


def test_totals_leave_out_what_is_only_supposed():
    found = total(ROWS, "money_year")
    assert (found.units, found.value) == (2, 130.0)
    assert found.low == pytest.approx(130 - 10 * sqrt(2))
    assert found.high == pytest.approx(130 + 20 * sqrt(2))
    assert (found.low_together, found.high_together) == (110.0, 170.0)


def test_ranges_of_a_total_of_costs_that_may_be_none_begin_at_zero():
    draw = np.random.default_rng(3)
    for _ in range(50):
        rows = [row(str(one), money, money) for one, money in enumerate(draw.gamma(1.0, 30.0, 7))]
        for count in (1, 7):
            found = total(rows[:count], "money_year")
            assert f"{found.low_together} {found.low}".count("-") == 0
            assert found.low_together <= found.low <= found.value <= found.high <= found.high_together


def test_money_of_two_currencies_is_not_added():
    found = totals_by_currency([*ROWS, row("e", 5.0, currency="EUR")])
    assert {name: one.value for name, one in found.items()} == {"USD": 130.0, "EUR": 5.0}


def test_filters():
    assert [one["unit"] for one in chosen(ROWS, sites=["library"])] == ["a"]
    assert len(chosen(ROWS)) == 4
