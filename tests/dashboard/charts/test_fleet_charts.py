"""Charts of a fleet show the table's figures, and leave out what is only supposed."""

import numpy as np

from dashboard.charts import fleet_charts
from dashboard.charts.draw_plotly import plotly_figure
from dashboard.charts.draw_svg import svg


def row(unit, money, **more):
    same = {"unit": unit, "site": "Library", "money_year": money, "money_year_low": 0.8 * money,
            "money_year_high": 1.5 * money, "level": 0.2, "currency": "USD", "if_fouled": False,
            "treatments": ""}  # fmt: skip
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


def test_the_first_units_together():
    chart = fleet_charts.cumulative_chart(ROWS, "USD")
    np.testing.assert_allclose(chart.layers[0].y, [0.0, 300.0, 400.0])
    assert "Half of 400 USD a year falls on 1 of 2 units" in chart.description


def test_they_are_drawn_on_the_screen_and_on_paper():
    for make in (fleet_charts.ranking_chart, fleet_charts.level_chart, fleet_charts.cumulative_chart):
        chart = make(ROWS, "USD")
        assert plotly_figure(chart, 300)["data"]
        assert svg(chart).startswith(b"<?xml") or b"<svg" in svg(chart)
