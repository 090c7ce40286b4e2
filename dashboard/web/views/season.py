"""What does it cost, and when to clean? The season of this unit, the cost of fouling, when cleaning pays."""

from dataclasses import replace

import streamlit as st

from calibration.case.entries import number_of
from calibration.case.errors import CaseError
from calibration.case.keys import find_key
from calibration.case.records import Case, CleaningEntry
from dashboard.web import fleet_page, screen, session
from dashboard.web.cost_page import show_costs
from dashboard.web.page_list import SEASON, change, links_onward

LEAD = (
    "A year of weather and load for this unit: the cost of fouling, the saving by cleaning, and when it pays."
)


def page() -> None:
    """Draw the page."""
    case, system = screen.unit_or_stop(SEASON, LEAD)
    show_costs(_at_price(case), system)
    fleet_page.unit_note(session.workspace(), case.unit.name, case.unit.site)
    change("Season and prices", "Change weather, load, prices and cleaning")
    screen.caution(case.unit.refrigerant)
    links_onward(SEASON)


def _at_price(case: Case) -> Case:
    """The case with the price of a cleaning that is asked about here, which can be kept in the unit."""
    stored = case.cleaning.price if case.cleaning else None
    shown = "" if stored is None else f"{stored:.15g}"
    key = f"number_price_{session.open_name()}_{shown}"
    st.session_state.setdefault(key, shown)
    with st.container(horizontal=True, key="price_row", vertical_alignment="bottom"):
        typed = st.text_input(f"Price of one cleaning [{case.currency}]", key=key, width=240)
        price = _price(typed)
        asked = replace(case, cleaning=replace(case.cleaning or CleaningEntry(), price=price))
        opened = session.opened()
        may_keep = opened is not None and not opened.is_demo and not session.workspace().read_only
        if price != stored and may_keep:
            st.button("Keep this price", key="keep_price", on_click=_keep, args=(opened, asked))
    if price is None and (typed or "").strip():
        st.html('<p class="ct-fault" role="alert">Not understood: a number of at least 0 is expected.</p>')
        return case
    return asked if price != stored else case


def _price(typed: str | None) -> float | None:
    """Price that was typed; None where it is none."""
    row = find_key("price", "cleaning")
    try:
        price = number_of(typed or "")
    except ValueError:
        return None
    low, high = row.limits if row and row.limits else (0.0, float("inf"))
    return price if low <= price <= high else None


def _keep(opened: session.Opened, asked: Case) -> None:
    try:
        session.workspace().save(opened.held, asked)
        session.notify("The price is stored in the unit.")
    except CaseError as problem:
        session.notify(str(problem.problems[0].sentence))
    except (OSError, ValueError) as problem:
        session.notify(f"This failed: {problem}")


page()
