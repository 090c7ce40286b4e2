"""A chart as an SVG picture, for the printed report, or as PNG.

Drawn by Matplotlib without a screen. The picture has no date and fixed identifiers: the same chart gives the
same bytes. Matplotlib is imported on the first drawing only.
"""

import io
import threading
from typing import Any

from dashboard.charts import style
from dashboard.charts.chart import Axis, Band, Bars, Chart, Curve, HeatMap, Layer
from dashboard.charts.fit_texts import (
    LABEL_SHARE,
    SIZE,
    SMALL,
    TITLE,
    broken,
    end_for_texts,
    name_size,
    names_below,
    width_of_names,
)

PIXELS_PER_INCH = 240
"""Of a PNG picture: 1500 pixels at the usual width, enough for a page of a document."""
HEIGHT_AROUND, LEAST_HEIGHT = 29.0, 25.0
"""Of a picture, what is not beside its y axis; what there is for that axis's label at least [mm]."""
_DRAWING = threading.Lock()  # Matplotlib's settings belong to the process, not to a thread


def svg(chart: Chart, width: float = 160.0, height: float = 95.0) -> bytes:
    """The chart as an SVG picture for paper.

    Parameters
    ----------
    chart : Chart
        What to draw.
    width, height : float
        Size on paper [mm].

    Returns
    -------
    bytes
        The SVG file; letters are drawn as outlines, so that it looks alike everywhere.
    """
    return _picture(chart, (width, height), format="svg", metadata={"Date": None, "Title": chart.title})


def png(chart: Chart, width: float = 160.0, height: float = 95.0) -> bytes:
    """The chart as a PNG picture of `PIXELS_PER_INCH`, on white; otherwise as `svg`.

    Parameters
    ----------
    chart : Chart
        What to draw.
    width, height : float
        Size on paper [mm].

    Returns
    -------
    bytes
        The PNG file.
    """
    return _picture(
        chart, (width, height), format="png", dpi=PIXELS_PER_INCH, metadata={"Software": "Coiltoll"}
    )


def _picture(chart: Chart, size: tuple[float, float], **how: Any) -> bytes:
    """The chart in a file of one kind."""
    import matplotlib as mpl
    from matplotlib.figure import Figure

    width, height = size
    settings: Any = {
        "svg.hashsalt": "coiltoll",
        "font.family": ["DejaVu Sans"],
        "font.size": SIZE,
        "axes.edgecolor": style.SOFT_INK,
        "axes.labelcolor": style.INK,
        "xtick.color": style.INK,
        "ytick.color": style.INK,
        "text.color": style.INK,
        "text.parse_math": False,  # a dollar sign in a name is a dollar sign
    }
    out = io.BytesIO()
    with _DRAWING, mpl.rc_context(settings):
        figure = Figure(figsize=(width / 25.4, height / 25.4), layout="constrained")
        _canvas(str(how["format"]))(figure)
        axes = figure.add_subplot()
        title = broken(chart.title, 0.98 * width, TITLE, bold=True)
        figure.suptitle(title, x=0.01, ha="left", fontsize=TITLE, fontweight="bold")
        _prepare_axes(axes, chart, size)
        for layer in chart.layers:
            _draw_layer(axes, layer, size)
        handles, names = axes.get_legend_handles_labels()
        if names:
            columns, letters, said = names_below(names, width, 2 if width < 120.0 and len(names) > 3 else 4)
            figure.legend(
                handles, said, loc="outside lower center", ncols=columns, frameon=False, fontsize=letters
            )
        figure.savefig(out, **how)
    return out.getvalue()


def _canvas(kind: str) -> Any:
    """What Matplotlib draws a kind of file with."""
    if kind == "png":
        from matplotlib.backends.backend_agg import FigureCanvasAgg

        return FigureCanvasAgg
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    return FigureCanvasSVG


def _prepare_axes(axes: Any, chart: Chart, size: tuple[float, float]) -> None:
    width, height = size
    names = width_of_names(chart, width)
    axes.set_xlabel(broken(chart.x.title, max(width - names, 0.41 * width)))
    axes.set_ylabel(broken(chart.y.title, max(height - HEIGHT_AROUND, LEAST_HEIGHT)))
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(True, color=style.GRID, linewidth=0.5)
    axes.set_axisbelow(True)
    for axis, name in ((chart.x, "x"), (chart.y, "y")):
        if axis.log:
            _prepare_log_axis(axes, axis, name)
        if axis.ticks:
            places, words = zip(*axis.ticks, strict=True)
            getattr(axes, f"{name}axis").set_ticks(places, words)
        if axis.low is not None and axis.high is not None:
            getattr(axes, f"set_{name}lim")(
                axis.low, end_for_texts(chart, width, axis.high) if name == "x" else axis.high
            )


def _prepare_log_axis(axes: Any, axis: Axis, name: str) -> None:
    from matplotlib.ticker import NullLocator

    getattr(axes, f"set_{name}scale")("log")
    if axis.log_ticks:
        drawn = getattr(axes, f"{name}axis")
        drawn.set_ticks(axis.log_ticks, [f"{tick:g}" for tick in axis.log_ticks])
        drawn.set_minor_locator(NullLocator())


def _draw_layer(axes: Any, layer: Layer, size: tuple[float, float]) -> None:
    name = getattr(layer, "name", "") or "_nolegend_"
    if isinstance(layer, Curve):
        _draw_curve(axes, layer, name)
    elif isinstance(layer, Band):
        axes.fill_between(
            layer.x, layer.low, layer.high, color=layer.role.colour, alpha=0.18, linewidth=0, label=name
        )
    elif isinstance(layer, Bars):
        _draw_bars(axes, layer, name, size)
    elif isinstance(layer, HeatMap):
        _draw_heat_map(axes, layer, size[1])
    else:
        axes.text(
            layer.x, layer.y, layer.text, fontsize=6.5, color=style.SOFT_INK, ha="center", va="center",
            clip_on=True, bbox={"facecolor": style.PAPER, "alpha": 0.8, "linewidth": 0, "pad": 0.8},
        )  # fmt: skip


def _draw_curve(axes: Any, curve: Curve, name: str) -> None:
    role = curve.role
    width = 0.8 * role.width  # thinner on paper than on a screen
    line_style: Any = (0, role.dash) if role.dash else "solid"
    axes.errorbar(
        curve.x,
        curve.y,
        yerr=curve.error,
        label=name,
        color=role.colour,
        linestyle=line_style if curve.line else "none",
        linewidth=width,
        marker=role.marker if curve.markers else None,
        markersize=4.0,
        elinewidth=width,
        capsize=2.5,
    )


def _draw_bars(axes: Any, bars: Bars, name: str, size: tuple[float, float]) -> None:
    labels = [broken(label, LABEL_SHARE * size[0]) for label in bars.labels]
    axes.barh(labels, bars.end - bars.start, left=bars.start, color=bars.role.colour, height=0.6, label=name)
    right = [max(ends) for ends in zip(bars.start, bars.end, strict=True)]
    for label, end, text in zip(labels, right, bars.texts, strict=False):
        axes.annotate(
            text, (end, label), xytext=(3, 0), textcoords="offset points", va="center", fontsize=SMALL
        )
    axes.tick_params(axis="y", labelsize=name_size(labels, size[1]))
    if not axes.yaxis_inverted():
        axes.invert_yaxis()
    axes.grid(False, axis="y")


def _draw_heat_map(axes: Any, heat_map: HeatMap, height: float) -> None:
    from matplotlib.colors import LinearSegmentedColormap

    colours = LinearSegmentedColormap.from_list("sequence", list(style.SEQUENCE))
    drawn = axes.pcolormesh(
        heat_map.x, heat_map.y, heat_map.values, cmap=colours, shading="nearest", rasterized=True
    )
    bar = axes.figure.colorbar(
        drawn, ax=axes, label=broken(heat_map.label, max(height - HEIGHT_AROUND, LEAST_HEIGHT))
    )
    bar.outline.set_visible(False)
    axes.grid(False)
