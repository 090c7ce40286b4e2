"""Which visit the pages explain, and what its readings say."""

import streamlit as st

from calibration.case.records import Case, Visit
from calibration.diagnosis.finding import Finding
from dashboard.web import cached, screen
from dashboard.web.page_list import EDIT, Question, link, links_onward

CHOSEN = "explained_visit"


def visit_to_explain(case: Case) -> Visit | None:
    """The as-found visit that the pages explain, with a chooser where there are several.

    Parameters
    ----------
    case : Case
        Its visits.

    Returns
    -------
    Visit or None
        The chosen one, at first the last; None where no visit is as found.
    """
    labels = [visit.label for visit in case.found_visits]
    if not labels:
        return None
    if len(labels) == 1:
        return case.found_visits[0]
    if st.session_state.get(CHOSEN) not in labels:
        st.session_state[CHOSEN] = labels[-1]
    st.session_state["visit_chooser"] = st.session_state[CHOSEN]
    st.selectbox("Visit", labels, key="visit_chooser", on_change=_take)
    return case.visit(st.session_state[CHOSEN])


def _take() -> None:
    st.session_state[CHOSEN] = st.session_state["visit_chooser"]


def finding_or_stop(case: Case, visit: Visit, question: Question) -> Finding:
    """What a visit's readings say; a page ends where there is none that the model could explain.

    Parameters
    ----------
    case : Case
    visit : Visit
        One of the case.
    question : Question
        The page, for the links at its foot.

    Returns
    -------
    Finding
    """
    try:
        return cached.finding(case, visit.label)
    except ValueError as problem:
        words = str(problem)
        screen.finding([f"{words[0].upper()}{words[1:]}."])
        link(EDIT, "Enter more readings of this visit")
        links_onward(question)
        st.stop()
