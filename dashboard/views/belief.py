"""Can the readings be believed? Which meter decides each figure, and what is to be looked at again."""

import streamlit as st

from calibration.keys import find_key
from dashboard import cached, screen
from dashboard.meter_chart import meter_chart
from dashboard.questions import BELIEF, links_onward

LEAD = (
    "No figure is better than the meters behind it: which of them decides, and which deserves a second look."
)
WEIGHED = ("net_capacity", "eer", "superheat", "subcooling", "approach")


def page() -> None:
    """Draw the page."""
    case, system = screen.unit_or_stop(BELIEF, LEAD)
    screen.visits_or_stop(case)
    labels = [visit.label for visit in case.visits]
    label = st.selectbox("Visit", labels, index=len(labels) - 1, key="believed_visit")
    performance = cached.performances(case)[labels.index(label)]
    names = [name for name in WEIGHED if performance.shares.get(name)]
    if names:
        words = {name: row.words for name in names if (row := find_key(name))}
        name = st.selectbox("Figure", names, format_func=lambda one: words[one], key="weighed_figure")
        chart = meter_chart(performance, name, system)
        screen.draw(chart, "meters", 90 + 34 * len(performance.shares[name]))
    links_onward(BELIEF)


page()
