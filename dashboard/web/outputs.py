"""What a page can hand out: its charts as SVG and PNG, its tables as CSV and XLSX, its result as text.

While a page is drawn, what it shows is noted here; at its foot one fold offers all of it. Files are made when
they are asked for.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import cast

import streamlit as st

from dashboard.charts.chart import Chart
from dashboard.charts.draw_svg import png, svg
from dashboard.file_names import file_stem
from dashboard.results.table_files import Sheet, file_of

_NOTED = "page_outputs"  # in the session


@dataclass
class Shown:
    """What the page on the screen shows.

    Attributes
    ----------
    sentences : list of str
        The result in words.
    charts, sheets : dict by title
        Drawn charts and tables.
    """

    sentences: list[str] = field(default_factory=list)
    charts: dict[str, Chart] = field(default_factory=dict)
    sheets: dict[str, Sheet] = field(default_factory=dict)


def start() -> None:
    """A new page begins."""
    st.session_state[_NOTED] = Shown()


def note_sentences(sentences: Sequence[str]) -> None:
    """Sentences of the result."""
    _shown().sentences += [one for one in sentences if one not in _shown().sentences]


def note_chart(chart: Chart) -> None:
    """A chart that is drawn; one of the same title takes its place."""
    _shown().charts[chart.title] = chart


def note_sheet(sheet: Sheet) -> None:
    """A table that is drawn; one of the same title takes its place."""
    _shown().sheets[sheet.title] = sheet


def _shown() -> Shown:
    return cast(Shown, st.session_state.setdefault(_NOTED, Shown()))


def offer(unit: str, page: str) -> None:
    """The fold at the foot of a page; nothing where the page shows neither chart, table nor result.

    Parameters
    ----------
    unit, page : str
        Names for the files.
    """
    shown = _shown()
    if not (shown.sentences or shown.charts or shown.sheets):
        return
    stem = file_stem(f"{unit} {page}")
    with st.expander("Copy or download what is on this page", key=f"outputs_{page}"):
        if shown.sentences:
            st.caption("The result as text, to copy into a message:")
            st.code("\n".join([unit, *shown.sentences]), language=None, wrap_lines=True)
        if shown.sheets:
            sheets = list(shown.sheets.values())
            for ending in (".xlsx", ".csv"):
                _button(f"All tables, {ending[1:].upper()}", partial(file_of, sheets, ending), stem + ending)
        for number, (title, chart) in enumerate(shown.charts.items(), start=1):
            name = f"{number}-{file_stem(title)}"
            _button(f"{title}: SVG", partial(svg, chart), f"{name}.svg")
            _button(f"{title}: PNG", partial(png, chart), f"{name}.png")


MIME = {
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    ".csv": "text/csv",
    ".svg": "image/svg+xml",
    ".png": "image/png",
}


def _button(words: str, content: "partial[bytes]", name: str) -> None:
    from dashboard.web.screen import plain

    st.download_button(
        plain(words),
        content,  # made when it is asked for
        file_name=name,
        mime=MIME[name[name.rfind(".") :]],
        key=f"out_{name}",
        on_click="ignore",
        icon=":material/download:",
        width="stretch",
        wrap=True,
    )
