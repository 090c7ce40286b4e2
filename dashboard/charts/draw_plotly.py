"""A chart as a Plotly figure, for the pages.

The figure is a plain dictionary in Plotly's form, so that Plotly itself is not imported to make one.
"""

import html
from typing import Any

import numpy as np

from dashboard.charts import style
from dashboard.charts.chart import Axis, Band, Bars, Chart, Curve, HeatMap, Note


def plotly_figure(chart: Chart, height: int = 440) -> dict[str, Any]:
    """The chart as a Plotly figure.

    Parameters
    ----------
    chart : Chart
        What to draw.
    height : int
        Height on the screen [px].

    Returns
    -------
    dict
        `data` and `layout` in Plotly's form, holding plain lists only.
    """
    data: list[dict[str, Any]] = []
    notes: list[dict[str, Any]] = []
    for layer in chart.layers:
        if isinstance(layer, Curve):
            data.append(_plotly_curve(chart, layer))
        elif isinstance(layer, Band):
            data.append(_plotly_band(layer))
        elif isinstance(layer, Bars):
            data.append(_plotly_bars(layer))
        elif isinstance(layer, HeatMap):
            data.append(_plotly_heat_map(layer))
        else:
            notes.append(_plotly_note(chart, layer))
    return {"data": data, "layout": _plotly_layout(chart, notes, height)}


def in_figure(text: str) -> str:
    """Text as Plotly, which reads some HTML and fills in what stands in braces, shows it as it is.

    Parameters
    ----------
    text : str
        Any text, such as the label of a visit.

    Returns
    -------
    str
        The same with its signs written as codes, and line breaks as Plotly makes them.
    """
    return html.escape(text, quote=False).replace("{", "&#123;").replace("\n", "<br>")


def _plotly_curve(chart: Chart, curve: Curve) -> dict[str, Any]:
    mode = "+".join(part for part, wanted in (("lines", curve.line), ("markers", curve.markers)) if wanted)
    trace: dict[str, Any] = {
        "type": "scatter",
        "mode": mode or "none",
        "x": curve.x.tolist(),
        "y": curve.y.tolist(),
        "name": in_figure(curve.name),
        "showlegend": bool(curve.name),
        "line": {
            "color": curve.role.colour,
            "width": curve.role.width,
            "dash": style.plotly_dash(curve.role.dash, curve.role.width),
        },
        "marker": {
            "color": curve.role.colour,
            "size": 8,
            "symbol": style.PLOTLY_MARKERS[curve.role.marker],
        },
    }
    if curve.labels:
        trace["text"] = [in_figure(label) for label in curve.labels]
        place = f"%{{x:.4~g}} {in_figure(chart.x.unit)}<br>%{{y:.4~g}} {in_figure(chart.y.unit)}"
        trace["hovertemplate"] = f"%{{text}}<br>{place}<extra>{in_figure(curve.name)}</extra>"
    elif not curve.name:
        trace["hoverinfo"] = "skip"
    if curve.error is not None:
        trace["error_y"] = {"type": "data", "array": curve.error.tolist(), "color": curve.role.colour}
    return trace


def _plotly_band(band: Band) -> dict[str, Any]:
    red, green, blue = (int(band.role.colour[i : i + 2], 16) for i in (1, 3, 5))
    return {
        "type": "scatter",
        "mode": "lines",
        "x": [*band.x.tolist(), *band.x[::-1].tolist()],
        "y": [*band.high.tolist(), *band.low[::-1].tolist()],
        "fill": "toself",
        "fillcolor": f"rgba({red},{green},{blue},0.18)",
        "line": {"width": 0},
        "hoverinfo": "skip",
        "name": in_figure(band.name),
        "showlegend": bool(band.name),
    }


def _plotly_bars(bars: Bars) -> dict[str, Any]:
    return {
        "type": "bar",
        "orientation": "h",
        "y": [in_figure(label) for label in bars.labels],
        "x": (bars.end - bars.start).tolist(),
        "base": bars.start.tolist(),
        "marker": {"color": bars.role.colour},
        "text": [in_figure(text) for text in bars.texts],
        "textposition": "outside",
        "cliponaxis": False,
        "hoverinfo": "y+text" if bars.texts else "y+x",
        "name": in_figure(bars.name),
        "showlegend": bool(bars.name),
    }


def _plotly_heat_map(heat_map: HeatMap) -> dict[str, Any]:
    steps = np.linspace(0.0, 1.0, len(style.SEQUENCE)).tolist()
    return {
        "type": "heatmap",
        "x": heat_map.x.tolist(),
        "y": heat_map.y.tolist(),
        "z": heat_map.values.tolist(),
        "colorscale": [[step, colour] for step, colour in zip(steps, style.SEQUENCE, strict=True)],
        "colorbar": {
            "title": {"text": in_figure(heat_map.label), "side": "right", "font": {"size": 13}},
            "thickness": 12,
            "outlinewidth": 0,
        },
    }


def _plotly_note(chart: Chart, note: Note) -> dict[str, Any]:
    return {
        "x": float(np.log10(note.x)) if chart.x.log else note.x,
        "y": float(np.log10(note.y)) if chart.y.log else note.y,
        "text": in_figure(note.text),
        "showarrow": False,
        "font": {"size": 11, "color": style.SOFT_INK},
        "bgcolor": "rgba(255,255,255,0.8)",
    }


def _plotly_layout(chart: Chart, notes: list[dict[str, Any]], height: int) -> dict[str, Any]:
    bars = any(isinstance(layer, Bars) for layer in chart.layers)
    y_axis = _plotly_axis(chart.y)
    if bars:
        y_axis |= {"autorange": "reversed", "showgrid": False}
    return {
        "title": {"text": in_figure(chart.title), "font": {"size": 15}, "x": 0.0, "xanchor": "left"},
        "xaxis": _plotly_axis(chart.x),
        "yaxis": y_axis,
        "annotations": notes,
        "height": height,
        "margin": {"l": 64, "r": 16, "t": 44, "b": 52},
        "font": {"family": style.FONT, "size": 13, "color": style.INK},
        "paper_bgcolor": style.PAPER,
        "plot_bgcolor": style.PAPER,
        "legend": {"orientation": "h", "y": 1.0, "yanchor": "bottom", "x": 1.0, "xanchor": "right"},
        "hoverlabel": {"bgcolor": style.PAPER, "font": {"color": style.INK}},
        "barmode": "overlay",
        "bargap": 0.35,
    }


def _plotly_axis(axis: Axis) -> dict[str, Any]:
    drawn: dict[str, Any] = {
        "title": {"text": in_figure(axis.title), "font": {"size": 13}},
        "separatethousands": True,
        "exponentformat": "none",
        "type": "log" if axis.log else "-",
        "gridcolor": style.GRID,
        "linecolor": style.SOFT_INK,
        "showline": True,
        "ticks": "outside",
        "zeroline": False,
        "automargin": True,
    }
    if axis.log_ticks:
        drawn["tickvals"] = axis.log_ticks
        drawn["ticktext"] = [f"{tick:g}" for tick in axis.log_ticks]
    if axis.ticks:
        drawn["tickvals"] = [place for place, _ in axis.ticks]
        drawn["ticktext"] = [in_figure(words) for _, words in axis.ticks]
    if axis.low is not None and axis.high is not None:
        ends = [axis.low, axis.high]
        drawn["range"] = np.log10(ends).tolist() if axis.log else ends
    return drawn
