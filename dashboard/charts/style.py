"""Colours, line styles and markers shared by the pages, the charts and the printed report.

Every role (what clean looks like, what is expected, what was measured, the runner-up) has a colour, a line
style and a marker, so that a chart can be read by colour-blind people and on a grey print. The four role
colours step in lightness (CIE L* about 15, 27, 44 and 56); all of them keep at least 3:1 contrast against
white, as WCAG 2.1 criterion 1.4.11 asks of graphics, and the colours used for text keep 4.5:1 (1.4.3).
"""

from dataclasses import dataclass

INK = "#1b2630"  # text, axes, measured points
SOFT_INK = "#4a5a66"  # secondary text
GRID = "#d5dcda"  # grid lines and quiet areas
PAPER = "#ffffff"
PANEL = "#f1f4f3"  # cards and side panels
TEAL = "#0b7285"
SIENNA = "#6d2a12"
AMBER = "#c96f0e"
GOOD = "#1f6f43"  # text of a reassuring result
WARN = "#8a4b00"  # text of a caution
BAD = "#9c2330"  # text of a fault

FONT = "'Source Sans', 'Source Sans 3', 'Segoe UI', Helvetica, Arial, sans-serif"  # what the device has


@dataclass(frozen=True)
class Role:
    """How one kind of line or point looks.

    Parameters
    ----------
    label : str
        Name in the legend.
    colour : str
        Hexadecimal sRGB colour.
    dash : tuple of float
        Lengths of line and gap [line widths]; empty for a solid line.
    marker : str
        Marker by its Matplotlib letter: o circle, s square, D diamond, ^ triangle.
    width : float
        Line width [points].
    """

    label: str
    colour: str
    dash: tuple[float, ...]
    marker: str
    width: float = 1.8


CLEAN = Role("clean", TEAL, (), "o")
EXPECTED = Role("expected", AMBER, (5.0, 2.0), "s")
MEASURED = Role("measured", INK, (), "D", 2.2)
SECOND = Role("second fault", SIENNA, (1.2, 1.6), "^")
BACKGROUND = Role("", SOFT_INK, (), "o", 1.0)
GUIDE = Role("", "#8b989f", (), "o", 0.6)  # fine lines that carry no result
WET_BULB_GUIDE = Role("", "#8b989f", (4.0, 4.0), "o", 0.6)

ROLES = (CLEAN, EXPECTED, MEASURED, SECOND)

PLOTLY_MARKERS = {"o": "circle", "s": "square", "D": "diamond", "^": "triangle-up"}
SEQUENCE = ("#f4f1e6", "#e7c98a", "#cf8a3c", "#96502d", "#4c2433", "#1b1722")  # heat maps: light is little


def plotly_dash(dash: tuple[float, ...], width: float) -> str:
    """Dash pattern in Plotly's words.

    Parameters
    ----------
    dash : tuple of float
        Lengths of line and gap [line widths].
    width : float
        Line width [px].

    Returns
    -------
    str
        "solid", or lengths in pixels such as "9px,3.6px".
    """
    if not dash:
        return "solid"
    return ",".join(f"{length * width:g}px" for length in dash)
