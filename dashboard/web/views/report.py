"""The report: for the owner and the file, as PDF to print and as one HTML file to send."""

import base64
from functools import partial

import streamlit as st

from dashboard.file_names import file_stem
from dashboard.report.pdf import lost_sentence
from dashboard.web import cached, screen
from dashboard.web.page_list import REPORT, links_onward
from dashboard.web.visit_chooser import visit_to_explain

LEAD = (
    "Finding, figures with 90 % ranges, charts, what was not measured, cautions, and lines for company, "
    "licence number and signature."
)
MIME = {".pdf": "application/pdf", ".html": "text/html"}
WORDS = {".pdf": "PDF, to print", ".html": "One HTML file, to send"}
PREVIEW_HEIGHT = 900  # [px]


def page() -> None:
    """Draw the page."""
    case, system = screen.unit_or_stop(REPORT, LEAD)
    screen.visits_or_stop(case)
    visit = visit_to_explain(case)
    if visit is None:
        screen.finding(["There is no visit with the coil as found yet. A report needs one."])
        links_onward(REPORT)
        return
    stem = file_stem(f"{case.unit.name} {visit.label} report")
    files = {ending: partial(cached.report_file, case, visit.label, ending, system) for ending in MIME}
    with st.container(horizontal=True):
        for ending, content in files.items():
            st.download_button(
                WORDS[ending],
                content,  # made when it is asked for
                file_name=f"{stem}{ending}",
                mime=MIME[ending],
                key=f"report{ending}",
                on_click="ignore",
                type="primary" if ending == ".pdf" else "secondary",
                icon=":material/download:",
            )
    typed = (case.unit.name, *(word for one in case.visits for word in (one.label, one.notes or "")))
    if lost := lost_sentence(" ".join(typed)):
        st.warning(screen.plain(lost))
    st.caption(f"Printed on {'letter' if system == 'US' else 'A4'} paper, in {system} units.")
    # A data address is a place of its own for the browser: nothing in it can reach the page around it.
    preview = base64.b64encode(files[".html"]()).decode("ascii")
    st.iframe(
        f"data:text/html;charset=utf-8;base64,{preview}",
        height=PREVIEW_HEIGHT,
        alt=f"Preview of the report of {visit.label}",
    )
    links_onward(REPORT)


page()
