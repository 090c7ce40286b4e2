"""Description of a chart: axes and layers in display units, drawn by `draw_plotly` and by `draw_svg`.

Nothing here knows what the axes mean; `dashboard.charts.property_diagrams` makes these descriptions from
results. Both drawings take colours, dashes and markers from the `Role` of each layer.
"""

from dataclasses import dataclass, replace

import numpy as np

from dashboard.charts.style import Role
from model.arrays import Array


@dataclass(frozen=True)
class Axis:
    """One axis of a chart.

    Parameters
    ----------
    label : str
        What is drawn along the axis.
    unit : str
        Unit, shown in brackets after the label; empty for none.
    low, high : float or None
        Ends of the axis; None to fit the data.
    log : bool
        True for a logarithmic axis.
    ticks : tuple of (float, str)
        Where the axis is marked, and with which words (a line break is kept); empty for the usual numbers.
    """

    label: str
    unit: str = ""
    low: float | None = None
    high: float | None = None
    log: bool = False
    ticks: tuple[tuple[float, str], ...] = ()

    @property
    def title(self) -> str:
        """Label with the unit in brackets."""
        return f"{self.label} [{self.unit}]" if self.unit else self.label

    @property
    def log_ticks(self) -> list[float]:
        """Where a logarithmic axis with both ends given is marked; empty for any other."""
        if not self.log or self.low is None or self.high is None:
            return []
        decades = 10.0 ** np.arange(np.floor(np.log10(self.low)), np.log10(self.high) + 1)
        ticks = np.multiply.outer(decades, [1.0, 1.5, 2.0, 3.0, 5.0, 7.0]).ravel()
        return [float(tick) for tick in ticks if self.low <= tick <= self.high]


@dataclass(frozen=True)
class Curve:
    """A line, points, or both.

    Parameters
    ----------
    x, y : ndarray, shape (n,)
        Coordinates in the axes' units.
    role : Role
        Colour, dash and marker.
    name : str
        Name in the legend; empty to leave it out of the legend.
    line, markers : bool
        Whether the line and the points are drawn.
    labels : tuple of str
        Names of the points, shown when one is pointed at; empty or n of them.
    error : ndarray of shape (n,), or None
        Half width of an error bar in y.
    """

    x: Array
    y: Array
    role: Role
    name: str = ""
    line: bool = True
    markers: bool = False
    labels: tuple[str, ...] = ()
    error: Array | None = None


@dataclass(frozen=True)
class Band:
    """An interval along a curve.

    Parameters
    ----------
    x, low, high : ndarray, shape (n,)
        Coordinates and the two edges, in the axes' units.
    role : Role
        Its colour, drawn pale.
    name : str
        Name in the legend; empty to leave it out.
    """

    x: Array
    low: Array
    high: Array
    role: Role
    name: str = ""


@dataclass(frozen=True)
class Bars:
    """Horizontal bars, one under the other from the first down.

    Parameters
    ----------
    labels : tuple of str
        Name of each bar.
    start, end : ndarray, shape (n,)
        Where each bar begins and ends along x, in the axis' unit.
    role : Role
        Colour.
    name : str
        Name in the legend; empty to leave it out.
    texts : tuple of str
        Text at the end of each bar; empty or n of them.
    """

    labels: tuple[str, ...]
    start: Array
    end: Array
    role: Role
    name: str = ""
    texts: tuple[str, ...] = ()


@dataclass(frozen=True)
class HeatMap:
    """Values over a grid of two axes, light for little and dark for much.

    Parameters
    ----------
    x : ndarray, shape (n,)
        Middle of each column.
    y : ndarray, shape (m,)
        Middle of each row.
    values : ndarray, shape (m, n)
        What is coloured.
    label : str
        Title of the colour scale, with its unit.
    """

    x: Array
    y: Array
    values: Array
    label: str


@dataclass(frozen=True)
class Note:
    """A few words at a point of the chart.

    Parameters
    ----------
    x, y : float
        Where, in the axes' units.
    text : str
        The words.
    """

    x: float
    y: float
    text: str


Layer = Curve | Band | Bars | HeatMap | Note


@dataclass(frozen=True)
class Chart:
    """A whole chart.

    Parameters
    ----------
    title : str
        Short heading.
    description : str
        What the chart shows, in a sentence or two, for those who cannot see it.
    x, y : Axis
        The axes.
    layers : tuple
        What is drawn, from back to front.
    """

    title: str
    description: str
    x: Axis
    y: Axis
    layers: tuple[Layer, ...]

    def without_texts(self) -> "Chart":
        """The same without the texts beside its bars, for a phone, where a table says them."""
        layers = tuple(replace(one, texts=()) if isinstance(one, Bars) else one for one in self.layers)
        return replace(self, layers=layers)
