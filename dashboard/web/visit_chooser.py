"""Which visit the pages explain, and in which order visits are shown."""

import streamlit as st

from calibration.case.records import Case, Visit

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
