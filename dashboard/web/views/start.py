"""First page: two ways in, the demo and a unit of one's own; stored units; what the program is for."""

import streamlit as st

from dashboard.web import cached, screen, session
from dashboard.web.page_list import EDIT, IMPORT, SHORT, START, UNITS, go, link

LEAD = (
    "Enter gauge, air and power readings. See what the unit delivers and uses, what a clean one would show "
    "in the same weather, and what fouling of the condenser coil costs. Fouling is simulated, so no running "
    "coil is ever blocked."
)
SHOWN = 5  # units of the workspace that are offered here
LOOKED_AT = 10  # of the latest files, as some may not be readable


def page() -> None:
    """Draw the page."""
    screen.head(START, None, LEAD, "What does a fouled coil cost?")
    left, right = st.columns(2, gap="medium")
    with left, st.container(key="choice_demo"):
        st.subheader("See the invented demo", anchor=False)
        st.write("A reading room with a 3-ton split system: one clean visit in May, one as found in August.")
        if st.button("Open the demo", type="primary", key="open_demo", width="stretch"):
            session.open_unit(session.DEMO)
            go(SHORT)
    with right, st.container(key="choice_own"):
        st.subheader("Enter your unit", anchor=False)
        st.write("One form for nameplate and readings. A few readings are enough to start.")
        if st.button("Fill in the form", type="primary", key="open_form", width="stretch"):
            st.session_state["wanted_form"] = "new"
            go(EDIT)
    _kept_units()
    screen.caution("R410A")


def _kept_units() -> None:
    """Units of the workspace, the latest first, and the other ways in."""
    workspace = session.workspace()
    latest = cached.titles(workspace.folder, workspace.stamps())[:LOOKED_AT]
    entries = [one for one in cached.entries_of(workspace.folder, latest) if one.readable]
    if entries:
        st.subheader("Stored units", anchor=False)
        for entry in entries[:SHOWN]:
            words = f"{entry.title} · {entry.words} · {entry.changed:%Y-%m-%d %H:%M}"
            if st.button(screen.plain(words), key=f"open_{entry.name}", width="stretch"):
                session.open_unit(entry.name)
                go(SHORT)
    with st.container(horizontal=True):
        link(IMPORT, "Read in a case file, a table of visits or a log")
        link(UNITS, "All stored units")


page()
