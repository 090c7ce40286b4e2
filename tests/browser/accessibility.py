"""What axe-core finds wrong with a page by the Web Content Accessibility Guidelines, levels A and AA."""

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

RULES = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"],
    "resultTypes": ["violations"],
}
_AXE = Axe()


def violations(page: Page) -> list[str]:
    """One line for each rule that a page breaks, with the first element that does; empty where none is.

    References
    ----------
    WCAG 2.2, W3C; the rules are those of axe-core.
    """
    found = _AXE.run(page, options=RULES).response["violations"]
    return [f"{one['id']}: {one['nodes'][0]['html'][:160]}" for one in found]
