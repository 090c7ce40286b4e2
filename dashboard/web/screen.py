"""Pieces that the pages are put together from: heads, findings, tables, tiles, charts, cautions.

Tables and tiles take `dashboard.results.figures.Figure` and show its text as it is, so that a number on a
page is the number of the command line. Every text that may come from a case file is escaped.
"""

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from textwrap import wrap
from typing import Any

import streamlit as st
from plotly.basedatatypes import BaseFigure

from calibration.case.records import Case
from calibration.case.units import System
from dashboard.charts.chart import Bars, Chart
from dashboard.charts.draw_plotly import in_figure, plotly_figure
from dashboard.results.cautions import cautions
from dashboard.results.comparison import NowAndClean
from dashboard.results.figures import Figure, merged
from dashboard.results.html_text import cell, escape
from dashboard.results.table_files import figures_sheet, text_sheet
from dashboard.web import outputs, session
from dashboard.web.page_list import EDIT, START, Question, link
from dashboard.workspace import Entry
from model.properties.refrigerant import refrigerant

LOOK_FILES = {
    "Night": ("look_night.css", "prefers-color-scheme: dark"),
    "Sun": ("look_sun.css", "prefers-contrast: more"),
}
"""Looks beside that of every day: colours, and when a device asks for them."""
FAR = 2.0  # standard errors from which a difference is printed bold [-]
LONGEST_TITLE = 26  # characters of a line under a chart, for a phone beside long names of bars
MARKDOWN_SIGNS = frozenset("\\`*_{}[]()#+-.!|<>~$:&")
UNSEEN = "\u2060"  # word joiner: takes no room, and no text of a file can hold it
_READ_TWICE = re.compile(
    r"(?<=:)(?=[\w+-]+:|/|material)|(?<=www)(?=\.)|(?=@)|(?<=[-<>~])(?=[-<>=])", re.IGNORECASE
)
CHART_SETTINGS = {"displayModeBar": False, "responsive": True, "scrollZoom": False, "doubleClick": "reset"}


def dress(look: str = "") -> None:
    """Colours and measures of every page.

    Parameters
    ----------
    look : str
        One of `session.LOOKS`; any other is as the device asks for, dark or with more contrast.
    """
    here = Path(__file__)
    st.html(here.with_name("look.css"))
    for name, asked in LOOK_FILES.items():
        if look == name:
            st.html(here.with_name(asked[0]))
        elif look not in session.LOOKS:
            text = here.with_name(asked[0]).read_text(encoding="utf-8")
            st.html(f"<style>@media ({asked[1]}) {{ {text} }}</style>")


def head(question: Question, opened: session.Opened | None, lead: str = "", title: str = "") -> None:
    """Head of a page: which unit, the question (or another title), what the page shows."""
    if opened is not None:
        st.html(f'<p class="ct-unit">{escape(unit_line(opened))}</p>')
    st.title(title or question.title, anchor=False)
    if lead:
        st.html(f'<p class="ct-lead">{escape(lead)}</p>')
    for sentence in session.notices():
        st.info(plain(sentence))


def unit_line(opened: session.Opened) -> str:
    """The open unit in one line."""
    unit = opened.case.unit
    parts = [unit.name, unit.refrigerant, unit.expansion]
    return " · ".join([*parts, "invented demo"] if opened.is_demo else parts)


SEVERAL_CIRCUITS = (
    "The pages work out units of one circuit. For this one, coiltoll measure, match, season and interval "
    "take each circuit for itself and add them up."
)


def plain(text: str) -> str:
    """Text for whatever Streamlit reads as Markdown, so that it is shown as it is.

    A stroke before a sign is not enough where Streamlit looks at the text again after reading it: addresses,
    names of symbols and arrows made of signs are parted by a character that is not seen.
    """
    parted = _READ_TWICE.sub(UNSEEN, "  \n".join(line.strip() for line in text.splitlines()))
    return "".join(f"\\{sign}" if sign in MARKDOWN_SIGNS else sign for sign in parted)


def unit_or_stop(question: Question, lead: str = "") -> tuple[Case, System]:
    """The open case and the system of units; without one the page says how to open one, and ends."""
    opened = session.opened()
    head(question, opened, lead if opened else "")
    if opened is None:
        st.html('<p class="ct-lead">No unit is open. Open the demo or one of your units first.</p>')
        link(START, "Open the demo or a unit")
        st.stop()
    for remark in opened.case.remarks:
        st.info(plain(remark))
    if (opened.case.unit.circuits or 1) > 1:
        st.html(f'<p class="ct-lead">{SEVERAL_CIRCUITS}</p>')
        link(EDIT, "Change the unit")
        st.stop()
    return opened.case, session.system(opened.case)


def writable_or_stop(question: Question) -> None:
    """Ends a page that would change units where they are shared for reading only."""
    if session.workspace().read_only:
        head(question, session.opened())
        st.html(f'<p class="ct-lead">{READ_ONLY}</p>')
        link(START, "Open the demo or a unit")
        st.stop()


READ_ONLY = (
    "The units are shared for reading only. To enter readings here, have the computer share them with "
    "coiltoll app --share --allow-edits."
)


def visits_or_stop(case: Case) -> None:
    """Ends the page of a unit that has no visit, with the way to one."""
    if not case.visits:
        st.html('<p class="ct-lead">This unit has no visit yet, so there are no readings to show.</p>')
        link(EDIT, "Enter the readings of a visit")
        st.stop()


def entry_line(entry: Entry) -> str:
    """HTML of one unit of a workspace: its name, and what else is known of it."""
    return (
        f'<p class="ct-entry"><b>{escape(entry.title)}</b><br><small>{escape(entry.words)} · '
        f"{entry.changed:%Y-%m-%d %H:%M}</small></p>"
    )


def answers(questions: Sequence[tuple[str, Sequence[str]]]) -> None:
    """Short questions side by side, each with its answer in a sentence or a few."""
    for asked, said in questions:
        outputs.note_sentences([f"{asked}: {one}" for one in said])
    drawn = "".join(
        f"<section><h3>{escape(asked)}</h3>{''.join(f'<p>{escape(one)}</p>' for one in said)}</section>"
        for asked, said in questions
    )
    st.html(f'<div class="ct-answers">{drawn}</div>')


def finding(sentences: Sequence[str], good: bool = False, suspect: bool = False) -> None:
    """The finding of the page, in plain words.

    Parameters
    ----------
    sentences : sequence of str
        The first one larger.
    good, suspect : bool
        Where nothing is wrong, and where a reading is suspect.
    """
    outputs.note_sentences(sentences)
    drawn = "".join(f"<p>{escape(one)}</p>" for one in sentences)
    state = " suspect" if suspect else " good" if good else ""
    st.html(f'<div class="ct-finding{state}">{drawn}</div>')


def points(sentences: Sequence[str]) -> None:
    """Sentences one under the other."""
    st.html(f'<ul class="ct-points">{"".join(f"<li>{escape(one)}</li>" for one in sentences)}</ul>')


def problems(heading: str, sentences: Sequence[str], most: int = 12) -> None:
    """What is wrong, in a box that is read out at once."""
    points = "".join(f"<li>{escape(one)}</li>" for one in sentences[:most])
    more = f"<p>and {len(sentences) - most} more.</p>" if len(sentences) > most else ""
    st.html(f'<div class="ct-faults" role="alert"><b>{escape(heading)}</b><ul>{points}</ul>{more}</div>')


def tiles(figures: Sequence[Figure]) -> None:
    """A few figures, large, each with its 90 % range; a suspect one as supported, as read struck through."""
    st.html(f'<div class="ct-tiles">{"".join(_tile(one, _range(one)) for one in figures)}</div>')


def _range(one: Figure) -> str:
    return f"90 % range {one.interval_text}" if one.interval_text else ""


def compared_tiles(figures: Sequence[NowAndClean]) -> None:
    """A few figures, large, each with its 90 % range, that of the clean unit and the change."""
    st.html(f'<div class="ct-tiles compared">{"".join(_compared(one) for one in figures)}</div>')


def _compared(one: NowAndClean) -> str:
    rows = (("clean", one.clean.text), ("change", one.change))
    drawn = "".join(
        f'<div class="r"><span>{name}</span><span>{escape(text)}</span></div>' for name, text in rows
    )
    return _tile(one.now, one.now.interval_text, f'{drawn}<div class="i">{escape(one.change_range)}</div>')


def _tile(one: Figure, below: str, rows: str = "") -> str:
    """HTML of one figure; `below` is its range in words, `rows` what stands under that."""
    unit = f" <span>{escape(one.unit)}</span>" if one.unit else ""
    state, small = "", escape(below) or "&nbsp;"
    if one.supported is not None:
        state, small = " suspect", f"as read <s>{escape(one.text)}</s>"
    return (
        f'<div class="ct-tile{state}"><div class="w">{escape(one.label)}</div>'
        f'<div class="v">{escape(one.best.text)}{unit}</div><div class="i">{small}</div>{rows}</div>'
    )


def loss_strip(lost: Figure, of_what: str, to_what: str) -> None:
    """A bar of the whole with the part that is lost.

    Parameters
    ----------
    lost : Figure
        Lost share in percent, with its 90 % range.
    of_what, to_what : str
        Words about the whole and about the loss.
    """
    share = min(max(float(lost.value or 0.0), 0.0), 100.0)
    words = f"{lost.text} % {of_what} {to_what} ({lost.interval_text} %)"
    st.html(
        f'<div class="ct-strip" role="img" aria-label="{escape(words)}"><div class="bar">'
        f'<div class="kept" style="width:{100 - share:.2f}%">{100 - share:.0f} % {escape(of_what)} is left'
        "</div>"
        f'<div class="lost" style="width:{share:.2f}%"></div></div>'
        f'<div class="legend"><span>{escape(words)}</span></div></div>'
    )


def lost_by(change: Figure) -> Figure:
    """A loss as a positive share, for the strip."""
    value = -float(change.value or 0.0)
    return replace(change, value=value, low=-(change.high or 0.0), high=-(change.low or 0.0))


Columns = Sequence[tuple[str, Sequence[Figure]]]
"""Heading of each column of a table, and its figures."""


def figure_table(title: str, columns: Columns) -> None:
    """Figures side by side, one row for each key, intervals under the numbers."""
    st.html(_figure_table(title, columns))


def figure_tables(tables: Sequence[tuple[str, Columns]]) -> None:
    """Small tables beside each other where there is room, each with its title."""
    drawn = "".join(_figure_table(title, columns) for title, columns in tables)
    st.html(f'<div class="ct-pair">{drawn}</div>')


def _figure_table(title: str, columns: Columns) -> str:
    outputs.note_sheet(figures_sheet(title, columns))
    found = [{one.key: one for one in figures} for _, figures in columns]
    rows = []
    for one in merged([figures for _, figures in columns]):
        cells = [_figure_cell(by_key.get(one.key)) for by_key in found]
        rows.append(f'<tr><th scope="row">{_words(one)}</th>{"".join(cells)}</tr>')
    return _table(title, ["", *(name for name, _ in columns)], rows)


def _figure_cell(one: Figure | None) -> str:
    if one is None:
        return "<td></td>"
    shown = one.best.interval_text
    interval = f"<small>{escape(shown)}</small>" if shown else ""
    return f"<td>{cell(one.cell)}{interval}</td>"


def _words(one: Figure) -> str:
    return (
        f'{escape(one.label)} <span class="u">[{escape(one.unit)}]</span>' if one.unit else escape(one.label)
    )


def text_table(
    title: str, headings: Sequence[str], rows: Sequence[Sequence[str]], far: Sequence[bool] = ()
) -> None:
    """Texts in rows: the first column left, all others right.

    Parameters
    ----------
    title : str
        Over the table.
    headings : sequence of str
        One a column.
    rows : sequence of sequences of str
        Cells.
    far : sequence of bool
        Rows whose last cell is printed bold; empty for none.
    """
    outputs.note_sheet(text_sheet(title, headings, rows))
    drawn = []
    for number, (first, *others) in enumerate(rows):
        cells = [f"<td>{cell(one)}</td>" for one in others]
        if far and far[number]:
            cells[-1] = f'<td class="far">{cell(others[-1])}</td>'
        drawn.append(f'<tr><th scope="row">{escape(first)}</th>{"".join(cells)}</tr>')
    st.html(_table(title, headings, drawn))


def _table(title: str, headings: Sequence[str], rows: Sequence[str]) -> str:
    """HTML of a table, which scrolls by itself where it is too wide."""
    head_cells = "".join(f'<th scope="col">{escape(name)}</th>' for name in headings)
    return (
        f'<div class="ct-scroll" tabindex="0" role="region" aria-label="{escape(title)}">'
        f'<table class="ct-table">'
        f"<caption>{escape(title)}</caption><thead><tr>{head_cells}</tr></thead>"
        f"<tbody>{''.join(rows)}</tbody></table></div>"
    )


class _Drawn(BaseFigure):  # type: ignore[misc]  # Plotly has no types
    """A figure that Streamlit takes as it is.

    Plotly would check every entry of the dictionary again, which takes longer than calculating what a slider
    moves; `tests/dashboard/test_draw.py` has it check what `plotly_figure` makes.
    """

    def __init__(self, figure: dict[str, Any]) -> None:
        object.__setattr__(self, "_plain", figure)

    def to_dict(self) -> dict[str, Any]:
        """Data and layout."""
        plain: dict[str, Any] = self._plain
        return plain


def draw(chart: Chart, key: str, height: int = 420) -> None:
    """A chart, with its description for those who cannot see it.

    The title is text above the chart, so that a phone has room for the legend.
    """
    outputs.note_chart(chart)
    figure = plotly_figure(chart, height)
    figure["layout"] |= {
        "legend": {"orientation": "h", "x": 0.0, "xanchor": "left", "y": 1.01, "yanchor": "bottom"},
        "margin": {"l": 8, "r": 8, "t": 8, "b": 8},
        "dragmode": False,
    }
    del figure["layout"]["title"]
    narrow = any(isinstance(layer, Bars) for layer in chart.layers)
    lines = wrap(chart.x.title, LONGEST_TITLE) if narrow else [chart.x.title]
    figure["layout"]["xaxis"]["title"] = {"text": "<br>".join(map(in_figure, lines)), "font": {"size": 13}}
    st.html(f'<p class="ct-chart">{escape(chart.title)}</p>')
    st.plotly_chart(_Drawn(figure), key=key, theme=None, config=CHART_SETTINGS, alt=chart.description)


def caution(refrigerant_name: str) -> None:
    """The cautions that go with every result that sends somebody to a unit."""
    sentences = cautions(refrigerant_name, refrigerant(refrigerant_name).safety_class)
    points = "".join(f"<li>{escape(one)}</li>" for one in sentences)
    st.html(f'<div class="ct-caution"><b>Before anyone goes to the unit</b><ul>{points}</ul></div>')
