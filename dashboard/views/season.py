"""What does it cost, and when to clean? The season of this unit, the toll, the cleaning that pays."""

import streamlit as st

from dashboard import screen
from dashboard.questions import EDIT, SEASON, link, links_onward

LEAD = "Prices, weather and load of this unit, and what follows from them."


def page() -> None:
    """Draw the page."""
    case, _ = screen.unit_or_stop(SEASON, LEAD)
    if case.season is None or case.cleaning is None:
        st.write("Weather, load, price of electricity and price of a cleaning are not entered yet.")
        link(EDIT, "Enter season and prices")
    links_onward(SEASON)


page()
