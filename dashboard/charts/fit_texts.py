"""Long words on a small picture: broken into lines, in fewer columns, or with more room beside them.

What fits stays as it is. Widths are those of the font that `dashboard.charts.draw_svg` draws with.
"""

from collections.abc import Sequence
from functools import cache

import numpy as np

from dashboard.charts.chart import Bars, Chart

SIZE, SMALL, SMALLEST, TITLE = 8.0, 7.5, 6.5, 9.5
"""Letters of the axes, of the names below, of many long ones, and of the title [pt]."""
POINTS_PER_MM = 72.0 / 25.4
ABOVE, LINE, LEAST_SIZE = 70.0, 1.2, 5.0
"""Title, axis and names below bars [pt]; height of a line over its letters [-]; smallest letters [pt]."""
LABEL_SHARE = 0.58
"""Of the picture's width that the names of bars may take [-]."""
AROUND = 25.0
"""Ticks, pads and margins beside the bars and their names [pt]."""
BESIDE_NAME = 4.8 * SMALL
"""Handle and gaps of a name below the picture [pt]."""
LONG = 0.5
"""Of the bars' width; for texts that take less than this, Matplotlib makes room [-]."""
LEAST_SHARE = 0.3
"""Of the width that the bars keep, however long the texts beside them are [-]."""


@cache
def text_width(text: str, size: float = SIZE, bold: bool = False) -> float:
    """Width of a line of text.

    Parameters
    ----------
    text : str
        In one line.
    size : float
        Of its letters [pt].
    bold : bool
        Whether they are bold.

    Returns
    -------
    float
        Width [pt].
    """
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextPath

    if not text.strip():
        return 0.0
    font = FontProperties(family="DejaVu Sans", weight="bold" if bold else "normal")
    return float(TextPath((0.0, 0.0), text, size=size, prop=font, usetex=False).get_extents().width)


def broken(text: str, millimetres: float, size: float = SIZE, bold: bool = False) -> str:
    """A text in as many lines as its width asks for; a word alone may be wider.

    Parameters
    ----------
    text : str
        In one line.
    millimetres : float
        Width that there is [mm].
    size : float
        Of its letters [pt].
    bold : bool
        Whether they are bold.

    Returns
    -------
    str
    """
    most = POINTS_PER_MM * millimetres
    if text_width(text, size, bold) <= most:
        return text
    lines = [""]
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}" if lines[-1] else word
        if lines[-1] and text_width(longer, size, bold) > most:
            lines.append(word)
        else:
            lines[-1] = longer
    return "\n".join(lines)


def names_below(names: Sequence[str], millimetres: float, most: int) -> tuple[int, float, list[str]]:
    """How the names below a picture fit its width.

    Parameters
    ----------
    names : sequence of str
        Of what is drawn.
    millimetres : float
        Width of the picture [mm].
    most : int
        Columns at most.

    Returns
    -------
    columns : int
        At least 2 where there may be as many.
    size : float
        Of the letters [pt].
    names : list of str
        In several lines where even two columns of small letters are too wide.
    """
    widths = [text_width(one, SMALL) + BESIDE_NAME for one in names]
    for columns in range(most, 1, -1):
        rows = -(-len(names) // columns)
        widest = (max(widths[first : first + rows]) for first in range(0, len(names), rows))
        if sum(widest) <= POINTS_PER_MM * millimetres:
            return columns, SMALL, list(names)
    half = 0.5 * millimetres - BESIDE_NAME / POINTS_PER_MM
    return 2, SMALLEST, [broken(one, half, SMALLEST) for one in names]


def name_size(names: Sequence[str], millimetres: float) -> float:
    """Size of the letters of bars' names, so that names of several lines have their room.

    Parameters
    ----------
    names : sequence of str
        As `broken` gives them.
    millimetres : float
        Height of the picture [mm].

    Returns
    -------
    float
        Size [pt], between `LEAST_SIZE` and `SIZE`.
    """
    lines = max((one.count("\n") + 1 for one in names), default=1)
    each = (POINTS_PER_MM * millimetres - ABOVE) / max(len(names), 1)
    return SIZE if lines == 1 else float(np.clip(each / (LINE * lines), LEAST_SIZE, SIZE))


def width_of_names(chart: Chart, millimetres: float) -> float:
    """Width of the names of bars, beside them.

    Parameters
    ----------
    chart : Chart
    millimetres : float
        Width of the picture [mm].

    Returns
    -------
    float
        Width [mm]; 0 of a chart without bars.
    """
    names = (label for one in chart.layers if isinstance(one, Bars) for label in one.labels)
    lines = (line for name in names for line in broken(name, LABEL_SHARE * millimetres).split("\n"))
    return max((text_width(line) for line in lines), default=0.0) / POINTS_PER_MM


def end_for_texts(chart: Chart, millimetres: float, end: float) -> float:
    """Upper end of the axis along bars, with room for the texts at their ends.

    Parameters
    ----------
    chart : Chart
        With an x axis of known ends.
    millimetres : float
        Width of the picture [mm].
    end : float
        Upper end as it is.

    Returns
    -------
    float
        The same, or a higher one.
    """
    low = chart.x.low or 0.0
    room = POINTS_PER_MM * (millimetres - width_of_names(chart, millimetres)) - AROUND
    for bars in (one for one in chart.layers if isinstance(one, Bars)):
        for first, last, text in zip(bars.start, bars.end, bars.texts, strict=False):
            wide = text_width(text, SMALL)
            if wide > LONG * room:
                end = max(end, low + (max(first, last) - low) * room / max(room - wide, LEAST_SHARE * room))
    return float(end)
