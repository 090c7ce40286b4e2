"""Visits of a heat pump in heating: what was measured, and what the readings point to."""

import streamlit as st

from calibration.case.records import Case
from calibration.case.units import System
from dashboard.results.heating import heating_visit as shown
from dashboard.web import cached, screen


def measured(case: Case, system: System) -> None:
    """Tables of the visits in heating and what they lack; nothing without such a visit."""
    seen = cached.measured_in_heating(case)
    if not seen:
        return
    figures = [(one.label, shown.measured_figures(one, system)) for one in seen]
    screen.figure_table("Measured performance in heating", figures)
    screen.points([f"{one.label}: {line}" for one in seen for line in shown.measured_sentences(one)])
    readings = [(one.label, shown.reading_figures(one, system)) for one in case.heating_visits]
    screen.figure_table("Readings in heating, as taken", readings)


def found(case: Case, system: System) -> None:
    """Verdict of each visit in heating, and its readings beside those of a unit without a fault."""
    for one in cached.found_in_heating(case):
        st.subheader(f"{screen.plain(one.label)}, in heating", anchor=False)
        screen.points(shown.finding_sentences(one))
        screen.text_table("Probability of each fault", ["", "%"], shown.probability_rows(one))
        screen.text_table(
            "Expected beside measured", shown.EXPECTED_HEADINGS, shown.expected_rows(one, system)
        )
