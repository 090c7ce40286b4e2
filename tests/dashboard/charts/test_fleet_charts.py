"""Charts of a fleet show the table's figures, and leave out what is only supposed."""

import numpy as np

from dashboard.charts import fleet_charts
from dashboard.charts.draw_plotly import plotly_figure
from dashboard.charts.draw_svg import svg


def row(unit, money, **more):
    same = {"unit": unit, "site": "Library", "money_year": money, "money_year_low": 0.8 * money,
            "money_year_high": 1.5 * money, "level": 0.2, "currency": "USD", "if_fouled": False,
            "treatments": "", "saving_now": money + 100.0 * (unit == "b"), "price": 180.0}  # fmt: skip
    return same | more


ROWS = [row("a", 100.0), row("b", 300.0, treatments="clean_condenser"), row("c", 500.0, if_fouled=True)]


def test_the_ranking_is_in_order_with_its_ranges():
    (bars,) = fleet_charts.ranking_chart(ROWS, "USD").layers
    assert bars.labels == ("Library, b", "Library, a")
    np.testing.assert_allclose(bars.end, [300.0, 100.0])
    assert bars.texts == ("240 to 450", "80 to 150")


def test_levels_against_cost():
    others, claimed = fleet_charts.level_chart(ROWS, "USD").layers
    assert (others.labels, claimed.labels) == (("Library, a",), ("Library, b",))
    np.testing.assert_allclose(claimed.x, [20.0])


def test_what_the_first_cleanings_save_together():
    saved, left = fleet_charts.savings_chart(ROWS, "USD").layers
    np.testing.assert_allclose(saved.y, [0.0, 400.0, 500.0])  # c is only supposed to be fouled
    np.testing.assert_allclose(left.y, [0.0, 220.0, 140.0])
    said = fleet_charts.savings_chart(ROWS, "USD").description
    assert "Cleaning 1 unit now saves 400 USD, 220 more than the cleanings cost; no other" in said
    dear = [one | {"price": 900.0} for one in ROWS]
    assert "No cleaning saves its price now" in fleet_charts.savings_chart(dear, "USD").description
    assert not fleet_charts.has_savings([row("a", 100.0, saving_now=None)])


def test_they_are_drawn_on_the_screen_and_on_paper():
    for make in (fleet_charts.ranking_chart, fleet_charts.level_chart, fleet_charts.savings_chart):
        chart = make(ROWS, "USD")
        assert plotly_figure(chart, 300)["data"]
        assert svg(chart).startswith(b"<?xml") or b"<svg" in svg(chart)
