"""Does it match a fouled coil? Every fault weighed against the readings of an as-found visit."""

import streamlit as st

from calibration.case.records import Case
from calibration.case.units import System
from calibration.diagnosis.hypotheses import in_a_sentence
from calibration.diagnosis.match import Match
from dashboard.charts import cycle_traces, loss_charts, style
from dashboard.charts.evidence_chart import evidence_chart
from dashboard.charts.property_diagrams import pressure_enthalpy_chart
from dashboard.report.findings import is_dirt
from dashboard.results import comparison as compared
from dashboard.results import match as matched
from dashboard.results.figures import signed
from dashboard.web import cached, screen
from dashboard.web.page_list import MATCH, links_onward
from dashboard.web.visit_chooser import visit_to_explain
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
    pairs = st.toggle("Weigh two faults at once, too", key="match_pairs", persist_state="session")
    found = cached.match(case, visit.label, pairs)
    _verdict(case, found, system)
    _beside_clean(case, visit.label, is_dirt(found), system)
    screen.caution(case.unit.refrigerant)
    links_onward(MATCH)


def _verdict(case: Case, found: Match, system: System) -> None:
    """What the readings match, how grave it is, what would settle what is open."""
    verdict = matched.verdict_sentences(found)
    screen.finding(verdict)
    screen.draw(evidence_chart(found), "evidence", 110 + 38 * len(matched.probability_rows(found)))
    screen.points(matched.all_sentences(found, system, case.currency)[len(verdict) :])
    if found.suggestions:
        rows = matched.suggestion_rows(found, system)
        screen.text_table("What would settle it", ["", "of what is open, %"], rows)
    _cycle_diagram(case, found, system)
    screen.text_table("Expected beside measured", *matched.expected_table(found, system))
    for one in matched.told_faults(found):
        with st.expander(f"If it is {in_a_sentence(one.name)}: how grave, and what it takes"):
            today = [*matched.level_figures(one, system), *matched.toll_figures(one.today, system)]
            design = matched.toll_figures(one.design, system)
            screen.figure_table(
                f"If it is {in_a_sentence(one.name)}", [("today", today), ("design weather", design)]
            )


def _cycle_diagram(case: Case, found: Match, system: System) -> None:
    """Pressure-enthalpy diagram of the clean unit, of the likeliest faults, and of the readings."""
    if not found.explained:
        return
    roles = (style.EXPECTED, style.SECOND)
    traces = [
        cycle_traces.expected_cycle(found.explained[0].clean_point, style.CLEAN, "clean"),
        *(
            cycle_traces.expected_cycle(one.point, role, one.name)
            for one, role in zip(found.explained, roles, strict=False)
        ),
    ]
    measured = cycle_traces.measured_cycle(found.visit, case.unit.refrigerant, style.MEASURED, "measured")
    drawn = [*traces, measured] if measured else traces
    chart = pressure_enthalpy_chart(refrigerant(case.unit.refrigerant), drawn, system)
    screen.draw(chart, "cycles", 480)
    if measured is None:
        st.caption("The measured cycle needs pressure and temperature of suction and liquid line.")


def _beside_clean(case: Case, label: str, dirt: bool, system: System) -> None:
    """The visit beside the clean unit and, where dirt is likely, the blocked face that fits best."""
    found = cached.comparison(case, label)
    if dirt:
        st.subheader("If it is a blocked face", anchor=False)
        screen.points(compared.sentences(found))
        screen.tiles(compared.level_figures(found) + compared.loss_figures(found, system)[-3:])
    chart = loss_charts.difference_chart(found, system).without_texts()
    screen.draw(chart, "differences", 90 + 30 * len(found.rows))
    if not dirt:
        return
    with st.expander("Reading by reading, and every figure"):
        rows = compared.reading_rows(found, system)
        screen.text_table(
            "Readings",
            ["", "measured", "clean", "with the fouling", "measured less clean, standard errors"],
            [
                [f"{words} [{read.unit}]", read.text, clean.text, fouled.text, signed(score, 1)]
                for words, read, clean, fouled, score in rows
            ],
            far=[abs(row[4]) >= screen.FAR for row in rows],
        )
        screen.figure_table("Figures", compared.comparison_columns(found, system))
        losses = compared.loss_figures(found, system)
        screen.figure_table("What the fouling takes at this weather", [("loss, 90 % interval", losses)])


page()
