"""The whole matter on one page: what was found, what it takes, and one line for each question."""

import streamlit as st

from calibration.case.records import Case, Visit
from calibration.case.units import System
from dashboard.results import clean_fit
from dashboard.results import match as matched
from dashboard.results import performance as measured
from dashboard.results.next_steps import next_steps
from dashboard.web import cached, screen
from dashboard.web.page_list import (
    BELIEF,
    CLEAN,
    FOULING,
    MATCH,
    MEASURED,
    REPORT,
    SEASON,
    SHORT,
    link,
    links_onward,
)
from dashboard.web.visit_chooser import visit_to_explain

HEADLINE = ("superheat", "subcooling", "approach", "net_capacity", "total_power", "eer")


def page() -> None:
    """Draw the page."""
    case, system = screen.unit_or_stop(SHORT)
    screen.visits_or_stop(case)
    visit = visit_to_explain(case)
    if visit is None:
        screen.finding(
            [
                "Only clean visits so far: the model of the clean unit is ready.",
                "Enter the readings of a visit with the coil as found, and its fouling is worked out.",
            ]
        )
        visit = case.visits[-1]
    else:
        _what_it_takes(case, visit, system)
    st.subheader(f"Readings of {screen.plain(visit.label)}", anchor=False)
    performance = cached.performances(case)[case.visits.index(visit)]
    figures = {one.key: one for one in measured.performance_figures(performance, system)}
    screen.tiles([figures[key] for key in HEADLINE if key in figures])
    _answers(case)
    screen.caution(case.unit.refrigerant)
    links_onward(SHORT)


def _what_it_takes(case: Case, visit: Visit, system: System) -> None:
    found = cached.match(case, visit.label, False)
    told = matched.verdict_sentences(found)
    if found.verdict not in ("cause", "look-alikes"):
        # The second sentence names the reading to repeat first.
        screen.finding(told[: 2 if found.verdict == "none of these" else 1])
        return
    likeliest = found.explained[0]
    screen.finding([told[0], matched.level_sentence(likeliest, system), *next_steps(found)])
    taken = {one.key: one for one in matched.toll_figures(likeliest.today, system)}
    screen.loss_strip(taken["eer_share"], "of the clean unit's EER", "is lost today")


def _answers(case: Case) -> None:
    """One line for each question, with its page."""
    visits = len(case.visits)
    answers = (
        (MEASURED, f"{visits} visit{'s' if visits > 1 else ''}: every reading, and what follows from it."),
        (BELIEF, "The readings held against each other, and the meter that decides."),
        (CLEAN, clean_fit.fit_sentence(cached.baseline(case))),
        (MATCH, "Every fault weighed, the pressure-enthalpy diagram, what would settle it."),
        (FOULING, "Move the blocked share of the coil and watch pressures, capacity, power and EER."),
        (SEASON, "A year of weather: what the dirt takes, and when a cleaning pays."),
        (REPORT, "For the owner and the file, to print or to send."),
    )
    st.subheader("One question at a time", anchor=False)
    for question, words in answers:
        with st.container(key=f"answer_{question.address}"):
            link(question)
            st.caption(screen.plain(words))


page()
