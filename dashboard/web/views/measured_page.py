"""What was measured? Every reading, performance with 90 % ranges, and the air through the coil."""

import streamlit as st

from calibration.case.records import Case
from calibration.case.units import System
from calibration.diagnosis.finding import Finding
from dashboard.charts import cycle_traces, style
from dashboard.charts.property_diagrams import psychrometric_chart
from dashboard.results import same_weather
from dashboard.results.performance import missing_sentences
from dashboard.results.suspect_readings import (
    performance_beside_supported,
    readings_beside_supported,
    suspect_sentences,
)
from dashboard.web import cached, heating_visits, screen
from dashboard.web.page_list import MEASURED, links_onward

LEAD = "Every visit side by side. The small numbers are 90 % ranges from the accuracy of the meters."
ROLES = {"clean": style.CLEAN, "as found": style.MEASURED}


def page() -> None:
    """Draw the page."""
    case, system = screen.unit_or_stop(MEASURED, LEAD)
    screen.visits_or_stop(case)
    found = cached.findings(case, case.visits)
    screen.figure_table(
        "Measured performance",
        [
            (
                visit.label,
                performance_beside_supported(one, cached.supported_performance(case, visit.label), system),
            )
            for visit, one in zip(case.visits, cached.performances(case), strict=True)
        ],
    )
    screen.points([one for finding in found.values() for one in _suspects(finding, system)])
    _what_is_missing(case)
    _air_through_the_coil(case, system)
    _like_for_like(case, system)
    screen.figure_table(
        "Readings as taken",
        [
            (visit.label, readings_beside_supported(visit, found.get(visit.label), system))
            for visit in case.visits
        ],
    )
    heating_visits.measured(case, system)
    for visit in case.visits:
        if visit.notes:
            st.caption(f"{screen.plain(visit.label)}: {screen.plain(visit.notes)}")
    links_onward(MEASURED)


def _suspects(finding: Finding, system: System) -> list[str]:
    """Readings of one visit that are suspect or may be wrong."""
    return [f"{finding.visit.label}: {one}" for one in suspect_sentences(finding, system)]


def _what_is_missing(case: Case) -> None:
    """What a reading that was not taken would add."""
    for visit, performance in zip(case.visits, cached.performances(case), strict=True):
        sentences = missing_sentences(performance)
        if sentences:
            with st.expander(f"Not taken at {screen.plain(visit.label)}"):
                for sentence in sentences:
                    st.write(screen.plain(sentence) + ".")


def _air_through_the_coil(case: Case, system: System) -> None:
    """Psychrometric chart of the last clean visit and the last as found, one at another altitude left out."""
    pressure = case.visits[-1].ambient_pressure
    drawn = []
    for coil, role in ROLES.items():
        traces = [
            trace
            for visit in case.visits
            if visit.coil == coil
            and abs(visit.ambient_pressure - pressure) < 0.02 * pressure
            and (trace := cycle_traces.measured_air(visit, role, visit.label)) is not None
        ]
        drawn += traces[-1:]
    if drawn:
        screen.draw(psychrometric_chart(drawn, pressure, system), "air_chart")


def _like_for_like(case: Case, system: System) -> None:
    """Two visits in different weather, corrected to the same."""
    if len(case.visits) < 2:
        return
    st.subheader("Two visits in the same weather", anchor=False)
    labels = [visit.label for visit in case.visits]
    first = next((visit.label for visit in reversed(case.visits) if visit.coil == "as found"), labels[-1])
    others = [visit for visit in case.visits if visit.label != first]
    second = next((one.label for one in reversed(others) if one.coil == "clean"), others[-1].label)
    left, right = st.columns(2)
    before = left.selectbox("First visit", labels, index=labels.index(first), key="alike_first")
    after = right.selectbox("Second visit", labels, index=labels.index(second), key="alike_second")
    if before == after:
        st.caption("Choose two different visits.")
        return
    found = cached.alike(case, before, after)
    screen.points(same_weather.sentences(found, system))
    screen.text_table(
        "Both visits, as read and corrected to the same weather",
        same_weather.HEADINGS,
        same_weather.table_rows(found, system),
    )


page()
