"""The chart of fouling over time shows the track in per cent, breaks at long gaps and marks every change."""

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from calibration.track.kept import KeptTrack
from dashboard.charts.chart import Band, Curve, Note
from dashboard.charts.draw_plotly import plotly_figure
from dashboard.charts.draw_svg import svg
from dashboard.charts.track_chart import days_shown, track_chart, warmth_chart

FIRST = (dt.date(2026, 5, 20) - dt.date(1970, 1, 1)).days


def made_track(days, changes=(), flagged=()) -> KeptTrack:
    """A track that grows to a fifth of the face."""
    level = np.linspace(0.02, 0.2, len(days))
    odd = np.isin(np.arange(len(days)), flagged)
    seconds = 86_400.0 * (FIRST + 0.5 + np.asarray(days))
    return KeptTrack(
        seconds=seconds,
        level=level,
        low=0.8 * level,
        high=1.3 * level,
        outdoor=300.0 + 0.1 * np.arange(len(days)),
        flagged=odd,
        changes=changes,
        rate=0.2,
        rate_low=0.1,
        rate_high=0.3,
    )


def change(day: dt.date) -> tuple[dt.date, str]:
    return day, "cleaned"


def layers(chart, kind, name):
    return [layer for layer in chart.layers if isinstance(layer, kind) and layer.name == name]


def test_level_and_range_are_in_per_cent_over_the_days():
    track = made_track(np.arange(90), flagged=(4, 7))
    chart = track_chart(track)
    (line,), (band,) = layers(chart, Curve, "most likely level"), layers(chart, Band, "90 % range")
    assert line.y == pytest.approx(100.0 * track.level)
    assert band.low == pytest.approx(100.0 * track.low) and band.high == pytest.approx(100.0 * track.high)
    assert chart.y.unit == "%" and chart.y.high > band.high.max()
    assert "20 % (90 % range 16 to 26 %) on 2026-08-17" in chart.description
    (odd,) = layers(chart, Curve, "day that fits no level")
    assert odd.x.tolist() == line.x[[4, 7]].tolist() and not odd.line


def test_a_winter_without_readings_breaks_the_line():
    days = np.concatenate([np.arange(100), np.arange(330, 430)])
    chart = track_chart(made_track(days))
    curves = [layer for layer in chart.layers if isinstance(layer, Curve)]
    assert [len(curve.x) for curve in curves] == [100, 100]
    assert [curve.name for curve in curves] == ["most likely level", ""]


def test_every_change_has_a_line_its_date_and_its_words():
    found = (change(dt.date(2026, 6, 12)), change(dt.date(2026, 7, 1)))
    chart = track_chart(made_track(np.arange(90), found))
    lines = [layer for layer in chart.layers if isinstance(layer, Curve) and layer.labels]
    assert [line.x.tolist() for line in lines] == [[FIRST + 23] * 2, [FIRST + 42] * 2]
    assert lines[0].labels[0] == "fouling removed: a cleaning"
    assert [note.text for note in chart.layers if isinstance(note, Note)] == ["12 Jun", "1 Jul"]
    assert "2026-07-01: fouling removed: a cleaning" in chart.description
    assert "Changes: none." in track_chart(made_track(np.arange(9))).description


@pytest.mark.parametrize(
    ("length", "first", "most"), [(7, "21 May\n2026", 8), (90, "Jun\n2026", 3), (2000, "Jun\n2026", 12)]
)
def test_ticks_are_few_and_say_the_year(length, first, most):
    chart = track_chart(made_track(np.arange(length)))
    places = [place for place, _ in chart.x.ticks]
    assert chart.x.ticks[0][1] == first
    assert 2 <= len(places) <= most and places == sorted(places)
    assert chart.x.low <= places[0] and places[-1] <= chart.x.high


def test_it_is_drawn_on_screen_and_on_paper():
    chart = track_chart(made_track(np.arange(90), (change(dt.date(2026, 6, 12)),)))
    assert svg(chart, 180.0, 80.0).startswith(b"<?xml")
    assert len(plotly_figure(chart)["data"]) >= 3


def test_only_the_days_asked_for_are_drawn():
    track = made_track(np.arange(90), (change(dt.date(2026, 6, 12)), change(dt.date(2026, 7, 20))))
    shown = dt.date(2026, 6, 1), dt.date(2026, 6, 30)
    for chart in (track_chart(track, shown), warmth_chart(track, "SI", shown)):
        assert (chart.x.low, chart.x.high) == (FIRST + 12, FIRST + 42)
        curves = [layer for layer in chart.layers if isinstance(layer, Curve) and not layer.labels]
        assert sum(len(curve.x) for curve in curves) == 30
        assert len([layer for layer in chart.layers if isinstance(layer, Curve) and layer.labels]) == 1
    winter = dt.date(2027, 1, 1), dt.date(2027, 1, 9)
    assert track_chart(track, winter).x.low == (winter[0] - dt.date(1970, 1, 1)).days
    assert days_shown(track) == (dt.date(2026, 5, 20), dt.date(2026, 8, 17))
    assert days_shown(made_track(np.arange(1)))[1] == dt.date(2026, 5, 21)


def test_the_weather_is_in_the_units_of_the_screen():
    track = made_track(np.arange(20))
    (line,) = layers(warmth_chart(track, "SI"), Curve, "outdoor air while steady")
    assert line.y == pytest.approx(track.outdoor - 273.15)
    (line,) = layers(warmth_chart(track, "US"), Curve, "outdoor air while steady")
    assert line.y == pytest.approx(1.8 * (track.outdoor - 273.15) + 32.0)
    unknown = replace(track, outdoor=np.full(20, np.nan))
    assert svg(warmth_chart(unknown, "US"), 100.0, 50.0).startswith(b"<?xml")
