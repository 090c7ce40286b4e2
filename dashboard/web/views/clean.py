"""What does clean look like for this unit? The fit to the clean visits, and its predictions."""

import streamlit as st

from calibration.case.records import Case
from calibration.case.units import System
from dashboard.charts.fit_chart import residual_chart
from dashboard.results import approach, clean_fit
from dashboard.results.figures import signed
from dashboard.web import cached, fleet_page, screen, session
from dashboard.web.page_list import CLEAN, links_onward

LEAD = (
    "A model of a typical unit with this nameplate, adjusted as little as possible to fit the readings of "
    "the clean visits."
)


def page() -> None:
    """Draw the page."""
    case, system = screen.unit_or_stop(CLEAN, LEAD)
    baseline = cached.baseline(case)
    screen.finding([clean_fit.fit_sentence(baseline)])
    fleet_page.unit_note(session.workspace(), case.unit.name, case.unit.site, finding_only=True)
    rows = clean_fit.residual_rows(baseline, system)
    if rows:
        screen.draw(residual_chart(rows), "residuals", 90 + 30 * len(rows))
        several = len(baseline.visits) > 1
        screen.text_table(
            "Readings of the clean visits beside the fit",
            ["", *(["visit"] if several else []), "measured", "fitted", "standard errors"],
            [
                [
                    f"{words} [{read.unit}]",
                    *([visit] if several else []),
                    read.text,
                    fit.text,
                    signed(score, 2),
                ]
                for visit, words, read, fit, score in rows
            ],
            far=[abs(row[4]) >= screen.FAR for row in rows],
        )
    screen.figure_table(
        "Clean unit at the rating conditions",
        [("expected", clean_fit.rating_figures(case, baseline, system))],
    )
    _approach(case, system)
    with st.expander("Fitted parameters"):
        screen.text_table(
            "Each parameter over that of a typical unit with this nameplate",
            ["", "fitted", "90 % range", "narrowed by the visits"],
            clean_fit.parameter_rows(baseline),
        )
    links_onward(CLEAN)


def _approach(case: Case, system: System) -> None:
    """The condensing temperature over ambient expected of this unit, beside rules of thumb."""
    if not case.visits:
        return
    visit = (case.found_visits or case.visits)[-1]
    found = cached.approach(case, visit.label)
    st.subheader("Condensing temperature over ambient", anchor=False)
    screen.points(approach.sentences(found, system))
    figures = approach.approach_figures(found, system)
    screen.figure_table(f"Condensing temperature over ambient at {visit.label}", [("", figures)])


page()
