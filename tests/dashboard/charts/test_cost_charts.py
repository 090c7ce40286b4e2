"""Charts of money and dates: they show the findings, in their units, on screen and on paper."""

from dataclasses import replace

import numpy as np
import pytest

from dashboard.charts import cost_charts
from dashboard.charts.chart import Bars, Curve, HeatMap
from dashboard.charts.draw_plotly import plotly_figure
from dashboard.charts.draw_svg import svg


def curve(chart, name):
    (found,) = [layer for layer in chart.layers if isinstance(layer, Curve) and layer.name == name]
    return found


def test_the_marked_interval_is_the_least_of_all_that_is_drawn(priced):
    chart = cost_charts.interval_chart(priced.interval)
    least = curve(chart, "least")
    for name in ("fouling and cleaning, any day", "on the best day of the year", "never cleaned"):
        assert least.y[0] <= curve(chart, name).y.min() + 1e-9
    assert least.x[0] == priced.interval.costs.advised_interval[0]
    alone = curve(chart, "cleaning alone")
    assert np.allclose(alone.x * alone.y, priced.interval.cleaning.price)
    assert chart.y.unit == "USD a year"
    assert "every year" in chart.description


def test_the_band_holds_the_curve_of_the_most_likely_unit_about_the_least(priced):
    chart = cost_charts.interval_chart(priced.interval)
    (band,) = [layer for layer in chart.layers if hasattr(layer, "high")]
    drawn = curve(chart, "fouling and cleaning, any day")
    near = (drawn.x > 0.8) & (drawn.x < 2.0)
    assert np.all(band.low[near] <= 1.1 * drawn.y[near])
    assert np.all(drawn.y[near] <= 1.1 * band.high[near])


def test_where_nothing_pays_only_long_intervals_are_drawn_and_no_least(priced):
    found = priced.interval
    never = replace(
        found.costs,
        best_interval=np.array([np.inf]),
        best_per_year=found.costs.never_per_year,
        whole_per_year=found.costs.whole_per_year + 1e4,
    )
    chart = cost_charts.interval_chart(replace(found, costs=never))
    assert not [layer for layer in chart.layers if isinstance(layer, Curve) and layer.name == "least"]
    assert "never" in chart.description


def test_the_best_day_of_the_year_is_marked(priced):
    chart = cost_charts.day_chart(priced.interval)
    drawn = curve(chart, "cleaned on this day")
    (mark,) = [layer for layer in chart.layers if isinstance(layer, Curve) and layer.markers]
    assert mark.y[0] == drawn.y.min()
    assert mark.x[0] == priced.interval.policies.yearly_day


def test_bars_of_the_months_add_to_the_year(priced):
    chart = cost_charts.month_chart(priced.season)
    growing, held = (layer for layer in chart.layers if isinstance(layer, Bars))
    assert held.end.sum() == pytest.approx(priced.season.today.year_cents[0] / 100)
    assert growing.end.sum() == pytest.approx(priced.season.coming.year_cents[0] / 100)
    assert chart.x.high > 1.1 * growing.end.max()  # room for the texts
    assert list(held.labels) == [name for name in cost_charts.MONTHS if name in held.labels]


@pytest.mark.parametrize("growing", [False, True])
def test_the_map_of_the_year_holds_every_hour(priced, growing):
    chart = cost_charts.year_map(priced.season, growing)
    (drawn,) = [layer for layer in chart.layers if isinstance(layer, HeatMap)]
    toll = priced.season.coming if growing else priced.season.today
    assert drawn.values.shape == (24, 365)
    assert drawn.values.min() >= 0
    assert drawn.values.sum() * 3600 >= 0.999 * toll.energy.sum()
    assert drawn.values[15].sum() > drawn.values[4].sum()


def test_bins_have_no_map(priced):
    assert cost_charts.year_map(replace(priced.season, extra_today=None, extra_coming=None)) is None


def test_swings_start_from_the_advice_and_end_at_their_intervals(priced):
    found = priced.interval
    chart = cost_charts.swing_chart(found)
    outer, low, high = (layer for layer in chart.layers if isinstance(layer, Bars))
    usual = found.base.advised_interval[0]
    assert np.all(low.start == usual) and np.all(high.start == usual)
    for k, swing in enumerate(found.swings):
        assert low.end[k] == min(swing.interval_low, cost_charts.CAPPED)
        assert high.end[k] == min(swing.interval_high, cost_charts.CAPPED)
        assert outer.start[k] <= usual <= outer.end[k]
        assert "; " in outer.texts[k]


def test_without_texts_the_bars_stay(priced):
    chart = cost_charts.swing_chart(priced.interval)
    bare = chart.without_texts()
    assert all(layer.texts == () for layer in bare.layers)
    assert [layer.labels for layer in bare.layers] == [layer.labels for layer in chart.layers]


def test_never_is_a_bar_to_the_edge(priced):
    found = priced.interval
    swings = (replace(found.swings[0], interval_high=np.inf), *found.swings[1:])
    chart = cost_charts.swing_chart(replace(found, swings=swings))
    high = [layer for layer in chart.layers if isinstance(layer, Bars)][2]
    assert high.end[0] == cost_charts.CAPPED
    assert chart.x.high > cost_charts.CAPPED


def test_both_drawings_take_every_chart(priced):
    charts = (
        cost_charts.interval_chart(priced.interval),
        cost_charts.day_chart(priced.interval),
        cost_charts.swing_chart(priced.interval),
        cost_charts.month_chart(priced.season),
        cost_charts.year_map(priced.season),
    )
    for chart in charts:
        assert plotly_figure(chart)["data"]
        assert svg(chart, 100.0, 60.0).startswith(b"<?xml")
        assert len(chart.description) > 40
