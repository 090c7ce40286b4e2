"""The pages in their order, each named by the question that it answers."""

from dataclasses import dataclass

import streamlit as st


@dataclass(frozen=True)
class Question:
    """One page.

    Attributes
    ----------
    file : str
        Its script, from the folder of the entry script.
    title : str
        The question, for the menu and the head of the page.
    symbol : str
        Symbol of the menu, by its name in the set that comes with Streamlit.
    address : str
        Last part of its address.
    needs_unit : bool
        Whether it is about the open unit.
    """

    file: str
    title: str
    symbol: str
    address: str
    needs_unit: bool = True


START = Question("views/start.py", "Start", "door_open", "", needs_unit=False)
SHORT = Question("views/short.py", "In short", "notes", "short")
MEASURED = Question("views/measured_page.py", "What was measured?", "speed", "measured")
BELIEF = Question("views/belief.py", "Are the readings consistent?", "balance", "consistent")
CLEAN = Question("views/clean.py", "What does clean look like?", "water_drop", "clean")
MATCH = Question("views/match.py", "Does it match a fouled coil?", "compare_arrows", "match")
FOULING = Question("views/fouling.py", "What does fouling do?", "tune", "fouling")
SEASON = Question("views/season.py", "What does it cost, when to clean?", "calendar_month", "season")
GROWTH = Question("views/growth.py", "How fast does it foul?", "trending_up", "growth")
REPORT = Question("views/report.py", "Report", "description", "report")
EDIT = Question("views/edit.py", "Unit and visits", "edit_note", "edit", needs_unit=False)
IMPORT = Question("views/read_in.py", "Read in a file", "upload_file", "read-in", needs_unit=False)
UNITS = Question("views/units.py", "All units", "home_storage", "units", needs_unit=False)
PLAN = Question("views/plan.py", "Which unit in which week?", "event", "plan", needs_unit=False)

ANSWERS = (SHORT, MEASURED, BELIEF, CLEAN, MATCH, FOULING, SEASON, GROWTH, REPORT)
KEEPING = (EDIT, IMPORT, UNITS, PLAN)
EVERY = (START, *ANSWERS, *KEEPING)


def link(question: Question, label: str = "") -> None:
    """A link to a page that keeps the open unit in the address."""
    name = st.session_state.get("open_unit")
    st.page_link(
        question.file,
        label=label or question.title,
        icon=f":material/{question.symbol}:",
        query_params={"unit": name} if name else None,
        width="stretch",
    )


def go(question: Question) -> None:
    """Turn to another page at once."""
    name = st.session_state.get("open_unit")
    st.switch_page(question.file, query_params={"unit": name} if name else None)


def change(part: str, label: str) -> None:
    """A button that opens the form of the unit at one of its parts."""
    if st.button(label, key=f"change_{part}", icon=f":material/{EDIT.symbol}:"):
        st.session_state["part"] = part
        go(EDIT)


def links_onward(question: Question) -> None:
    """The questions before and after this one, at the foot of a page."""
    place = ANSWERS.index(question)
    with st.container(horizontal=True, key="onward"):
        for step, words in ((-1, "Before"), (1, "Next")):
            if 0 <= place + step < len(ANSWERS):
                other = ANSWERS[place + step]
                link(other, f"{words}: {other.title}")
