"""A chart drawn both ways: all layers arrive, axes carry their units, the same chart gives the same bytes."""

import html
import json
import xml.etree.ElementTree as ElementTree

import numpy as np
import plotly.graph_objects as go
import pytest

from dashboard.charts import style
from dashboard.charts.chart import Axis, Band, Bars, Chart, Curve, HeatMap, Note
from dashboard.charts.draw_plotly import plotly_figure
from dashboard.charts.draw_svg import png, svg

pytestmark = pytest.mark.usefixtures("worked_out_anew")
X = np.linspace(1.0, 10.0, 12)


def line_chart(log: bool = False) -> Chart:
    return Chart(
        "Power against blockage",
        "Power grows with blockage.",
        Axis("face blocked", "%", 0.5, 20.0, log),
        Axis("power", "W"),
        (
            Band(X, X - 0.5, X + 0.5, style.EXPECTED, "90 % range"),
            Curve(X, X, style.EXPECTED, "expected"),
            Curve(
                X[:1], X[:1], style.MEASURED, "measured", line=False, markers=True,
                labels=("visit",), error=X[:1] / 5,
            ),
            Note(2.0, 3.0, "here"),
        ),
    )  # fmt: skip


def bar_chart() -> Chart:
    return Chart(
        "Evidence",
        "Which fault the readings match.",
        Axis("probability", "%"),
        Axis(""),
        (
            Bars(
                ("fouled", "overcharged"),
                np.zeros(2),
                np.array([70.0, 30.0]),
                style.CLEAN,
                texts=("70", "30"),
            ),
        ),
    )


def heat_chart() -> Chart:
    values = np.arange(6.0).reshape(2, 3)
    return Chart(
        "Year", "Watts by hour.", Axis("day"), Axis("hour", "h"),
        (HeatMap(np.arange(3.0), np.arange(2.0), values, "extra power [W]"),),
    )  # fmt: skip


CHARTS = {"line": line_chart(), "log": line_chart(log=True), "bar": bar_chart(), "heat": heat_chart()}


@pytest.mark.parametrize("chart", CHARTS.values(), ids=CHARTS.keys())
def test_plotly_accepts_the_figure_and_every_layer_is_in_it(chart):
    figure = plotly_figure(chart)
    go.Figure(figure)  # raises where Plotly does not know a key
    json.dumps(figure, allow_nan=False)
    layout = figure["layout"]
    assert len(figure["data"]) + len(layout["annotations"]) == len(chart.layers)
    assert layout["xaxis"]["title"]["text"] == chart.x.title
    assert layout["yaxis"]["title"]["text"] == chart.y.title


@pytest.mark.parametrize("chart", CHARTS.values(), ids=CHARTS.keys())
def test_svg_is_well_formed_and_the_same_twice(chart):
    first = svg(chart)
    assert first == svg(chart)
    root = ElementTree.fromstring(first)
    assert root.tag.endswith("svg")
    assert float(root.attrib["width"].removesuffix("pt")) == pytest.approx(160 / 25.4 * 72, abs=0.01)
    assert chart.title.encode() in first


def test_axis_title_has_its_unit_in_brackets():
    assert Axis("power", "W").title == "power [W]"
    assert Axis("ratio").title == "ratio"


def test_a_logarithmic_axis_is_ranged_and_annotated_in_decades():
    layout = plotly_figure(CHARTS["log"])["layout"]
    assert layout["xaxis"]["range"] == pytest.approx([np.log10(0.5), np.log10(20.0)])
    assert layout["annotations"][0]["x"] == pytest.approx(np.log10(2.0))
    assert layout["annotations"][0]["y"] == 3.0


def test_a_logarithmic_axis_is_marked_within_its_ends():
    assert Axis("p", "psi", 90.0, 800.0, log=True).log_ticks == [100, 150, 200, 300, 500, 700]
    assert Axis("p", "psi", log=True).log_ticks == []
    assert Axis("p", "psi", 90.0, 800.0).log_ticks == []


def test_a_curve_with_labels_can_be_pointed_at_and_a_guide_cannot():
    guide = Chart("t", "d", Axis("x"), Axis("y"), (Curve(X, X, style.GUIDE),))
    assert plotly_figure(guide)["data"][0]["hoverinfo"] == "skip"
    point = plotly_figure(CHARTS["line"])["data"][2]
    assert point["text"] == ["visit"]
    assert point["error_y"]["array"] == [0.2]


def test_the_first_bar_stands_on_top_both_ways():
    assert plotly_figure(bar_chart())["layout"]["yaxis"]["autorange"] == "reversed"


ODD = "$x$ <b>b</b> %{x} & $"


def test_names_in_charts_are_shown_as_they_are():
    """Plotly reads some HTML and braces, Matplotlib formulas between dollar signs."""
    points = np.array([1.0, 2.0])
    chart = Chart(
        ODD, ODD, Axis(ODD), Axis(ODD),
        (
            Curve(points, points, style.CLEAN, ODD, markers=True, labels=(ODD, ODD)),
            Band(points, points, points + 1.0, style.CLEAN, ODD),
            Note(1.0, 1.0, ODD),
        ),
    )  # fmt: skip
    bars = Chart(
        ODD, ODD, Axis(ODD), Axis(""), (Bars((ODD,), points[:1], points[1:], style.CLEAN, ODD, (ODD,)),)
    )
    for one in (chart, bars):
        figure = plotly_figure(one)
        texts = json.dumps([figure["data"], figure["layout"]], ensure_ascii=False)
        assert "<b>" not in texts and "%{x}" not in texts
        assert html.unescape(texts).count("$x$ <b>b</b>") >= 4
        drawn = svg(one).decode()
        assert drawn.count(f"<!-- {html.escape(ODD, quote=False)} -->") >= 4


def test_a_png_picture_is_one_and_alike_each_time():
    first = png(bar_chart())
    assert first.startswith(b"\x89PNG\r\n")
    assert png(bar_chart()) == first
