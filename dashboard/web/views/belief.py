"""Are the readings consistent? Suspect readings, the coil's capacity by every route, which meter decides."""

import streamlit as st

from calibration.case.keys import find_key
from calibration.case.records import Case, Visit
from calibration.case.units import System
from dashboard.charts.meter_chart import meter_chart
from dashboard.charts.route_chart import route_chart
from dashboard.results import visit_check
from dashboard.results.suspect_readings import HEADINGS, check_sentences, suspect_rows
from dashboard.web import cached, screen
from dashboard.web.page_list import BELIEF, links_onward

LEAD = (
    "Whether the readings of one visit are consistent, which of them are suspect, and which meter's accuracy "
    "decides."
)
WEIGHED = ("net_capacity", "eer", "superheat", "subcooling", "approach")


def page() -> None:
    """Draw the page."""
    case, system = screen.unit_or_stop(BELIEF, LEAD)
    screen.visits_or_stop(case)
    labels = [visit.label for visit in case.visits]
    label = labels[-1]
    if len(labels) > 1:
        label = st.selectbox("Visit", labels, index=len(labels) - 1, key="believed_visit")
    _check(case, case.visit(label), system)
    _meters(case, labels.index(label), system)
    links_onward(BELIEF)


def _check(case: Case, visit: Visit, system: System) -> None:
    """Suspect readings, heat balance, loss by every route."""
    check = cached.check(case, visit.label)
    screen.finding(visit_check.short_sentences(check, system))
    if check.finding is not None and check.finding.suspects:
        suspects = suspect_rows(check.finding, system)
        if suspects:
            screen.text_table("Suspect readings", HEADINGS, suspects)
        screen.points(check_sentences(check.finding, system))
    routes = visit_check.route_figures(check, system)
    if len(routes) > 1:
        screen.draw(route_chart(routes), "routes", 90 + 44 * len(routes))
        tables = [("Capacity of the coil by every route", [("capacity, 90 % range", routes)])]
        if check.supported_loss is not None:
            losses = visit_check.loss_figures(check)
            tables.append(("Loss against the clean unit", [("loss, 90 % range", losses)]))
        screen.figure_tables(tables)
    rows = visit_check.difference_rows(check, system)
    if rows:
        screen.text_table("Heat balance, as read", ["", "difference", "joint standard errors"], rows)


def _meters(case: Case, place: int, system: System) -> None:
    """Which meter's accuracy decides each figure."""
    performance = cached.performances(case)[place]
    names = [name for name in WEIGHED if performance.shares.get(name)]
    if not names:
        return
    st.subheader("Which meter decides", anchor=False)
    words = {name: row.words for name in names if (row := find_key(name))}
    name = st.selectbox("Figure", names, format_func=lambda one: words[one], key="weighed_figure")
    chart = meter_chart(performance, name, system)
    screen.draw(chart, "meters", 90 + 34 * len(performance.shares[name]))


page()
