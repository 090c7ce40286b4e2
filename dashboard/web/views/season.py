"""What does it cost, and when to clean? The season of this unit, the cost of fouling, when cleaning pays."""

from dashboard.web import screen
from dashboard.web.cost_page import show_costs
from dashboard.web.page_list import EDIT, SEASON, link, links_onward

LEAD = (
    "A year of weather and load for this unit: the cost of fouling, the saving by cleaning, and when it pays."
)


def page() -> None:
    """Draw the page."""
    case, system = screen.unit_or_stop(SEASON, LEAD)
    show_costs(case, system)
    link(EDIT, "Change weather, load, prices and cleaning")
    screen.caution(case.unit.refrigerant)
    links_onward(SEASON)


page()
