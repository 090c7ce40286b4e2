"""Order, filters and totals of rows."""

import numpy as np
import pytest

from calibration.fleet.ranking import chosen, mean_of, ranked, total, totals_by_currency


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
    assert (found.low_together, found.high_together) == (110.0, 170.0)
    assert found.low_together <= found.low < found.value < found.high < found.high_together
    alone = total(ROWS[:1], "money_year")
    assert (alone.low, alone.value, alone.high) == (40.0, 50.0, 70.0)


def fleet_of(units, share, draw):
    """Rows of units that are fouled with a probability, from draws, and draws of their total."""
    drawn = np.where(draw.random((units, 20_000)) < share, draw.lognormal(4.0, 0.4, (units, 20_000)), 0.0)
    low, middle, high = np.quantile(drawn, [0.05, 0.5, 0.95], axis=1)
    rows = [
        row(str(n), middle[n])
        | {"money_year_low": low[n], "money_year_high": high[n]}
        | {"money_year_mean": drawn[n].mean(), "money_year_sd": drawn[n].std()}
        for n in range(units)
    ]
    return rows, drawn.sum(axis=0)


@pytest.mark.parametrize("share", [0.1, 0.4, 0.9])
def test_a_total_is_that_of_draws_although_most_units_have_none_most_likely(share):
    rows, totals = fleet_of(40, share, np.random.default_rng(5))
    found = total(rows, "money_year")
    low, high = np.quantile(totals, [0.05, 0.95])
    assert found.value == pytest.approx(totals.mean(), rel=1e-9)
    assert (found.low, found.high) == pytest.approx((low, high), abs=0.09 * found.value)
    assert found.low < totals.mean() < found.high


def test_units_are_ranked_by_their_mean_and_by_the_figure_where_there_is_none():
    rows = [
        row("a", 0.0) | {"money_year_mean": 25.0},
        row("b", 10.0),
        row("c", 30.0) | {"money_year_mean": 20.0},
    ]
    assert [one["unit"] for one in ranked(rows)] == ["a", "c", "b"]
    assert [mean_of(one, "money_year") for one in rows] == [25.0, 10.0, 20.0]
    assert mean_of(row("d", None), "money_year") is None


def test_a_total_that_may_be_a_gain_has_a_normal_range():
    found = total([row("a", 10.0, 100.0), row("b", 10.0, 100.0)], "money_year")
    assert found.low < 0.0 < found.high


def test_ranges_of_a_total_of_costs_that_may_be_none_begin_at_zero():
    draw = np.random.default_rng(3)
    for _ in range(50):
        rows = [row(str(one), money, money) for one, money in enumerate(draw.gamma(1.0, 30.0, 7))]
        for count in (1, 7):
            found = total(rows[:count], "money_year")
            assert f"{found.low_together} {found.low}".count("-") == 0
            assert found.low_together <= found.low <= found.value <= found.high


def test_money_of_two_currencies_is_not_added():
    found = totals_by_currency([*ROWS, row("e", 5.0, currency="EUR")])
    assert {name: one.value for name, one in found.items()} == {"USD": 130.0, "EUR": 5.0}


def test_filters():
    assert [one["unit"] for one in chosen(ROWS, sites=["library"])] == ["a"]
    assert len(chosen(ROWS)) == 4
