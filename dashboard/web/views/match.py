"""Does it match a fouled coil? Every fault weighed against the readings of an as-found visit."""

import streamlit as st

from calibration.case.records import Case
from calibration.case.units import System
from calibration.diagnosis.finding import Finding
from dashboard.charts import cycle_traces, style
from dashboard.charts.evidence_chart import difference_chart, evidence_chart
from dashboard.charts.property_diagrams import pressure_enthalpy_chart
from dashboard.results import expected_readings as expected
from dashboard.results import match as matched
from dashboard.results.next_steps import acts_to_separate, next_reading_sentences, next_steps
from dashboard.results.suspect_readings import suspect_sentences
from dashboard.results.wording import explanation, in_a_sentence
from dashboard.web import fleet_page, heating_visits, screen, session
from dashboard.web.page_list import MATCH, links_onward
from dashboard.web.visit_chooser import finding_or_stop, visit_to_explain
from model.properties.refrigerant import refrigerant

LEAD = "Every fault weighed by what it would make this unit show in the same weather."


def page() -> None:
    """Draw the page."""
    case, system = screen.unit_or_stop(MATCH, LEAD)
    screen.visits_or_stop(case)
    visit = visit_to_explain(case)
    if visit is None:
        screen.finding(["No visit with the coil as found yet: nothing to compare with the clean unit."])
        links_onward(MATCH)
        return
    found = finding_or_stop(case, visit, MATCH)
    screen.finding(matched.verdict_sentences(found), good=found.verdict == "no_fault")
    fleet_page.unit_note(session.workspace(), case.unit.name, case.unit.site, finding_only=True)
    screen.draw(evidence_chart(found), "evidence", 110 + 38 * len(matched.probability_rows(found)))
    st.caption("Two faults may be there at once: what is needed can add to more than 100 %.")
    _said("Suspect readings", suspect_sentences(found, system))
    _levels(found, system)
    _said(
        "What to do",
        [*next_steps(found), *(f"To separate the two: {act}." for act in acts_to_separate(found))],
    )
    _said("Most informative next readings", next_reading_sentences(found, system))
    _said("If the verdict is wrong", matched.stakes_sentences(found, case.currency))
    _evidence(case, found, system)
    heating_visits.found(case, system)
    screen.caution(case.unit.refrigerant)
    links_onward(MATCH)


def _said(heading: str, sentences: list[str]) -> None:
    """Sentences under a heading; nothing where there are none."""
    if sentences:
        st.subheader(heading, anchor=False)
        screen.points(sentences)


def _levels(found: Finding, system: System) -> None:
    """Level and loss of each explanation that is in question, every figure folded away."""
    shown = matched.shown_faults(found)
    _said("Fault level and loss", [matched.level_sentence(one, system) for one in shown])
    for one in shown:
        words = in_a_sentence(one.key)
        with st.expander(f"Every figure, if it is {words}"):
            today = [*matched.level_figures(one, system), *matched.loss_figures(one.today, system)]
            design = matched.loss_figures(one.design, system)
            screen.figure_table(f"If it is {words}", [("today", today), ("design weather", design)])


def _evidence(case: Case, found: Finding, system: System) -> None:
    """Every reading beside what it would be, and how well they fit."""
    _said("Evidence", [*expected.evidence_sentences(found), matched.fit_sentence(found)])
    chart = difference_chart(found, system).without_texts()
    screen.draw(chart, "differences", 90 + 30 * found.readings)
    _cycle_diagram(case, found, system)
    screen.text_table("Expected beside measured", *expected.expected_table(found, system))
    st.caption(screen.plain(expected.table_note(found)))


def _cycle_diagram(case: Case, found: Finding, system: System) -> None:
    """Pressure-enthalpy diagram of the unit without fault, of the likeliest faults, and of the readings."""
    roles = (style.EXPECTED, style.SECOND)
    traces = [
        cycle_traces.expected_cycle(found.explained[0].clean_point, style.CLEAN, "no fault"),
        *(
            cycle_traces.expected_cycle(one.point, role, explanation(one.key))
            for one, role in zip(found.explained, roles, strict=False)
        ),
    ]
    suspect = found.visit_as_supported != found.visit
    measured = cycle_traces.measured_cycle(
        found.visit_as_supported,
        case.unit.refrigerant,
        style.MEASURED,
        "as supported" if suspect else "measured",
    )
    drawn = [*traces, measured] if measured else traces
    chart = pressure_enthalpy_chart(refrigerant(case.unit.refrigerant), drawn, system)
    screen.draw(chart, "cycles", 480)
    if measured is None:
        st.caption("The measured cycle needs pressure and temperature of suction and liquid line.")


page()
