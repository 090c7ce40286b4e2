"""A report as PDF, by Typst: no browser, no system library, no network.

Tagged for screen readers after PDF/UA-1, with title, language and descriptions of the pictures. The same
report with the same date gives the same bytes. Letters that Typst's own font lacks come from DejaVu Sans,
which Matplotlib ships; what neither has (Chinese, Thai, pictures) is printed as an empty box, and
`lost_sentence` says so.
"""

import dataclasses
import json
import unicodedata
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path
from typing import Any, Literal

from dashboard.charts import style
from dashboard.report.parts import Report
from dashboard.results.figures import Struck
from dashboard.texts.translate import tr

TEMPLATE = Path(__file__).with_name("report.typ")
SUBSTITUTE = "\N{WHITE SQUARE}"
"""Printed for a character that no font at hand has."""
FALLBACK = ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf")
"""Fonts whose characters can be printed, those that both have."""
MOST_SHOWN = 10
"""Unprintable characters that a warning shows."""
PaperSize = Literal["us-letter", "a4"]


def pdf(report: Report, made: date, paper_size: PaperSize = "us-letter") -> bytes:
    """The report as a PDF file.

    Parameters
    ----------
    report : Report
        What to print.
    made : date
        Day that the file says it was made on.
    paper_size : {"us-letter", "a4"}
        Paper.

    Returns
    -------
    bytes
        The file.
    """
    import typst

    look = {
        "ink": style.INK,
        "soft_ink": style.SOFT_INK,
        "accent": style.TEAL,
        "panel": style.PANEL,
        "grid": style.GRID,
        "paper_size": paper_size,
    }
    made_at = datetime(made.year, made.month, made.day, tzinfo=UTC)
    printed: bytes = typst.compile(
        str(TEMPLATE),
        sys_inputs={
            "report": json.dumps(_printed(_plain(report))),
            "style": json.dumps(look),
            "pages": _printed(tr("{number} of {last}")),
        },
        ignore_system_fonts=True,
        font_paths=[str(_font_folder())],
        pdf_standards=["ua-1"],
        timestamp=int(made_at.timestamp()),
    )
    return printed


def _plain(part: Any) -> Any:
    """Parts as dictionaries and lists, each part with the name of its kind; a suspect number as its two."""
    if dataclasses.is_dataclass(part) and not isinstance(part, type):
        fields = {field.name: _plain(getattr(part, field.name)) for field in dataclasses.fields(part)}
        return {"kind": type(part).__name__, **fields}
    if isinstance(part, Struck):
        return {"read": part.read, "supported": part.supported}
    if isinstance(part, tuple | list):
        return [_plain(one) for one in part]
    return part.decode("utf-8") if isinstance(part, bytes) else part


def unprintable(text: str) -> str:
    """Characters of a text that the fonts of the PDF lack, each once, in order.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    str
        Empty where all can be printed.
    """
    return "".join(dict.fromkeys(c for c in text if _printable(c) == SUBSTITUTE != c))


def lost_sentence(text: str) -> str:
    """What the PDF cannot print of a text.

    Parameters
    ----------
    text : str
        Any text.

    Returns
    -------
    str
        A sentence; empty where all can be printed.
    """
    lost = unprintable(text)
    if not lost:
        return ""
    more = f" and {len(lost) - MOST_SHOWN} more" if len(lost) > MOST_SHOWN else ""
    return (
        f"The PDF has no letters for {lost[:MOST_SHOWN]}{more} and prints {SUBSTITUTE} instead; "
        "the HTML report shows them."
    )


def words_of(report: Report) -> str:
    """All texts of a report, one after the other.

    Parameters
    ----------
    report : Report
        What to print.

    Returns
    -------
    str
        For `lost_sentence`.
    """
    return json.dumps(_plain(report), ensure_ascii=False)


def _printed(part: Any) -> Any:
    """The same lists and dictionaries with a substitute for every character that cannot be printed."""
    if isinstance(part, str):
        return part if part.isascii() else "".join(map(_printable, part))
    if isinstance(part, list):
        return [_printed(one) for one in part]
    if isinstance(part, dict):
        return {name: _printed(value) for name, value in part.items()}
    return part


@cache
def _printable(character: str) -> str:
    """A character, or what is printed in its place; joiners and selectors without a glyph vanish."""
    if character.isascii() or ord(character) in _glyphs():
        return character
    return "" if unicodedata.category(character) in ("Cf", "Mn") else SUBSTITUTE


@cache
def _glyphs() -> frozenset[int]:
    """Numbers of the characters that the fallback fonts have."""
    from matplotlib.ft2font import FT2Font

    maps = (FT2Font(str(_font_folder() / name)).get_charmap() for name in FALLBACK)
    return frozenset.intersection(*(frozenset(one) for one in maps))


def _font_folder() -> Path:
    import matplotlib as mpl

    return Path(mpl.get_data_path()) / "fonts" / "ttf"
