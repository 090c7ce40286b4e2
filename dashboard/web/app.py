"""Entry script of the pages: the menu at the side, and the page that was asked for.

Started by `coiltoll app`. What belongs to one tab (open unit, units of the screen) is in
`dashboard.web.session`; heavy work is in `dashboard.web.cached`.
"""

from collections import Counter
from pathlib import Path
from typing import Literal

import streamlit as st

from calibration.case.units import SYSTEMS
from dashboard.web import cached, outputs, screen, session
from dashboard.web.page_list import ANSWERS, KEEPING, START, Question

Visibility = Literal["visible", "hidden"]
NONE_OPEN = ""


def main() -> None:
    """Draw one page."""
    icon = Path(__file__).with_name("mark.svg")
    st.set_page_config(page_title="Coiltoll", page_icon=str(icon), layout="wide")
    screen.dress(session.look())
    opened = session.opened()
    page = st.navigation(_menu(opened is not None), position="sidebar", expanded=True)
    with st.sidebar:
        st.html('<div class="ct-brand">Coiltoll</div>')
        _choose_unit()
        _choose_system(opened)
        _choose_look()
    outputs.start()
    page.run()
    if opened is not None and page.title in {one.title for one in ANSWERS}:
        outputs.offer(opened.case.unit.name, page.title)
    session.keep_in_address()


def _menu(open_unit: bool) -> dict[str, list[st.Page]]:
    """Every page under its heading; the questions about a unit are listed while one is open."""
    shown: Visibility = "visible" if open_unit else "hidden"
    return {
        "": [_page(START)],
        "Questions about this unit": [_page(one, shown) for one in ANSWERS],
        "Units and visits": [_page(one) for one in KEEPING],
    }


def _page(question: Question, visibility: Visibility = "visible") -> st.Page:
    return st.Page(
        question.file,
        title=question.title,
        icon=f":material/{question.symbol}:",
        url_path=question.address or None,
        default=question is START,
        visibility=visibility,
    )


def _choose_unit() -> None:
    """Chooser of the open unit: none, the demo, or one of the workspace."""
    workspace = session.workspace()
    listed = {one.name: one.title for one in cached.titles(workspace.folder, workspace.stamps())}
    titles = _told_apart({NONE_OPEN: "none open", session.DEMO: "Invented demo"} | listed)
    st.session_state["unit_chooser"] = session.open_name() or NONE_OPEN
    st.selectbox(
        "Open unit",
        list(titles),
        format_func=lambda name: titles.get(name, name),
        key="unit_chooser",
        on_change=_open_chosen,
    )


def _told_apart(titles: dict[str, str]) -> dict[str, str]:
    """Titles by name, with the name where a title is there twice: a chooser knows what it shows, no more."""
    often = Counter(titles.values())
    return {name: title if often[title] == 1 else f"{title} ({name})" for name, title in titles.items()}


def _open_chosen() -> None:
    name = st.session_state["unit_chooser"]
    if name == NONE_OPEN:
        session.close_unit()
    else:
        session.open_unit(name)


def _choose_system(opened: session.Opened | None) -> None:
    """Switch between US and SI units for everything on the screen."""
    st.session_state["system_switch"] = session.system(opened.case if opened else None)
    st.segmented_control(
        "Units of measure", SYSTEMS, key="system_switch", required=True, on_change=_take_system
    )


def _take_system() -> None:
    st.session_state[session.SYSTEM] = st.session_state["system_switch"]


def _choose_look() -> None:
    """Switch between the looks; until it is used the device's own wish counts."""
    st.session_state["look_switch"] = session.look() or None
    st.segmented_control("Look", session.LOOKS, key="look_switch", on_change=_take_look)


def _take_look() -> None:
    st.session_state[session.LOOK] = st.session_state["look_switch"]


main()
