"""Loss and difference charts hold the figures that the command line prints."""

import json

import numpy as np
import pytest

from dashboard.charts.chart import Band, Bars, Curve
from dashboard.charts.draw_plotly import plotly_figure
from dashboard.charts.draw_svg import svg
from dashboard.charts.loss_charts import difference_chart, loss_chart
from dashboard.cli import run
from dashboard.results.comparison import reading_rows
from dashboard.results.prediction import weather_of


@pytest.fixture(scope="module")
def chart(demo):
    return loss_chart(demo.baseline, weather_of(demo.case, demo.visit), "eer_change", demo.comparison)


def test_the_curve_is_the_one_that_predict_prints(chart, capsys, demo):
    assert run(["predict", str(demo.case.source), "--blocked", "40", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["levels"][0]["changes"]["eer_change"]
    (curve,) = [layer for layer in chart.layers if isinstance(layer, Curve) and layer.name == "expected"]
    (band,) = [layer for layer in chart.layers if isinstance(layer, Band)]
    place = np.argmin(np.abs(curve.x - 40.0))
    for drawn, name in ((curve.y, "value"), (band.low, "low"), (band.high, "high")):
        assert drawn[place] == pytest.approx(told[name], rel=1e-6)


def test_the_band_holds_the_curve_and_the_visit_stands_on_it(chart, demo):
    (curve,) = [layer for layer in chart.layers if isinstance(layer, Curve) and layer.name == "expected"]
    (band,) = [layer for layer in chart.layers if isinstance(layer, Band)]
    (visit,) = [layer for layer in chart.layers if isinstance(layer, Curve) and layer.markers]
    assert np.all(band.low <= curve.y) and np.all(curve.y <= band.high)
    assert visit.x[0] == pytest.approx(100.0 * demo.comparison.finding.blocked.value)
    assert visit.y[0] == pytest.approx(np.interp(visit.x[0], curve.x, curve.y))


def test_bars_are_the_standardised_differences(demo):
    chart = difference_chart(demo.comparison, "US")
    (bars,) = [layer for layer in chart.layers if isinstance(layer, Bars)]
    rows = reading_rows(demo.comparison, "US")
    assert bars.labels == tuple(row[0] for row in rows)
    assert bars.end.tolist() == [row[4] for row in rows]
    assert bars.texts[0] == f"{rows[0][1].text} for {rows[0][2].text} {rows[0][1].unit}"


def test_a_suspect_reading_stands_beside_what_the_others_support(suspect):
    chart = difference_chart(suspect.comparison, "US")
    (bars,) = [layer for layer in chart.layers if isinstance(layer, Bars)]
    text = bars.texts[bars.labels.index("Supply air, dry bulb")]
    supported = suspect.comparison.finding.suspect("supply_db").supported
    assert text.startswith(f"64.0 suspect, {1.8 * supported - 459.67:.1f} supported for")


def test_both_drawings_take_them(chart, demo):
    for one in (chart, difference_chart(demo.comparison, "SI")):
        assert plotly_figure(one)["data"]
        assert b"<svg" in svg(one)
