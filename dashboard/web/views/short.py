"""The whole matter on one page: the verdict, what it costs, what to do, and one line for each question."""

import streamlit as st

from calibration.case.records import Case, Visit
from calibration.case.units import System
from calibration.costs.case_costs import Costs
from dashboard.results import clean_fit
from dashboard.results import match as matched
from dashboard.results.comparison import TILES, now_and_clean
from dashboard.results.costs.cleaning_advice import advice
from dashboard.results.costs.season_cost import season_sentences
from dashboard.results.next_steps import CLEANING_STEP, what_to_do, what_to_read_next
from dashboard.results.suspect_readings import brief_suspects, performance_beside_supported
from dashboard.web import cached, fleet_page, screen, session
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
from dashboard.web.visit_chooser import finding_or_stop, visit_to_explain


def page() -> None:
    """Draw the page."""
    case, system = screen.unit_or_stop(SHORT)
    screen.visits_or_stop(case)
    visit = visit_to_explain(case)
    if visit is None:
        _only_clean(case, system)
    else:
        _finding(case, visit, system)
        st.subheader(f"Now, and clean in the same weather: {screen.plain(visit.label)}", anchor=False)
        st.caption("Under each figure its 90 % range; under the line what is expected of the clean unit.")
        screen.compared_tiles(now_and_clean(cached.comparison(case, visit.label), system))
    fleet_page.unit_note(session.workspace(), case.unit.name, case.unit.site)
    _answers(case)
    screen.caution(case.unit.refrigerant)
    links_onward(SHORT)


def _only_clean(case: Case, system: System) -> None:
    """What the last visit says where none was made of the coil as found."""
    screen.finding(
        [
            "Only clean visits so far: the model of the clean unit is ready.",
            "Enter the readings of a visit with the coil as found to see what is wrong with it.",
        ]
    )
    visit = case.visits[-1]
    st.subheader(f"Readings of {screen.plain(visit.label)}", anchor=False)
    supported = cached.supported_performance(case, visit.label)
    performance = cached.performances(case)[-1]
    figures = {one.key: one for one in performance_beside_supported(performance, supported, system)}
    screen.tiles([figures[key] for key in TILES if key in figures])


def _finding(case: Case, visit: Visit, system: System) -> None:
    """The verdict, what it costs, what to do and by when, what to read next."""
    found = finding_or_stop(case, visit, SHORT)
    verdict, *more = matched.verdict_sentences(found)
    suspects = [brief_suspects(found)] if found.suspects else []
    wrong = any(one.is_suspect for one in found.suspects)
    screen.finding([verdict, *suspects, *more], good=found.verdict == "no_fault", suspect=wrong)
    costs, acts = [matched.loss_sentence(found)], what_to_do(found)
    if found.claims_fouling:
        cost = cached.costs_of_visit(case, visit.label)
        if isinstance(cost, Costs):
            costs.append(season_sentences(cost.season, system)[0])
            if cost.interval is not None:
                acts = [advice(cost.interval).headline, *(one for one in acts if one != CLEANING_STEP)]
    screen.answers(
        [
            ("What it costs", costs),
            ("What to do", acts),
            ("What to read next", [what_to_read_next(found, system)]),
        ]
    )
    if found.verdict == "fault":
        lost = {one.key: one for one in matched.loss_figures(found.loss, system)}
        screen.loss_strip(lost["eer_share"], "of the EER", "is lost today")


def _answers(case: Case) -> None:
    """One line for each question, with its page."""
    visits = len(case.visits)
    answers = (
        (MEASURED, f"{visits} visit{'s' if visits > 1 else ''}: every reading, and what follows from it."),
        (BELIEF, "Whether the readings are consistent, and which meter decides."),
        (CLEAN, clean_fit.fit_sentence(cached.baseline(case))),
        (MATCH, "Every fault with its probability, the pressure-enthalpy diagram, the next readings."),
        (FOULING, "Move the blocked share of the coil and watch pressures, capacity, power and EER."),
        (SEASON, "A year of weather: what the fouling costs, and when a cleaning pays."),
        (REPORT, "For the owner and the file, to print or to send."),
    )
    st.subheader("One question at a time", anchor=False)
    for question, words in answers:
        with st.container(key=f"answer_{question.address}"):
            link(question)
            st.caption(screen.plain(words))


page()
