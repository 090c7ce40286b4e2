"""The app on a free port of this computer, and a Chromium to look at it with."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

from tests.app_process import started
from tests.conftest import HANGING, HOW_TO_GET_ONE, browser_path

CHROMIUM_OPTIONS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--force-device-scale-factor=1",
)
LONGEST_WAIT = int(500.0 * HANGING)  # for anything on a page: half of the patience with a whole test [ms]
ASKED_EVERY = 50  # [ms]
DESK = {"viewport": {"width": 1280, "height": 900}}
PHONE = {
    "viewport": {"width": 390, "height": 844},
    "is_mobile": True,
    "has_touch": True,
    "user_agent": "Mozilla/5.0 (Linux; Android 14; Pixel 7) Chrome/140.0 Mobile Safari/537.36",
}
QUIET = (
    "document.querySelector('[data-testid=stApp]')?.getAttribute('data-test-script-state') === 'notRunning'"
    " && !document.querySelector('[data-testid=stSkeleton]')"
)


@contextmanager
def served(workspace: Path) -> Iterator[str]:
    """Address of the app, started with `coiltoll app` on a folder and stopped afterwards."""
    with started(workspace) as (address, _):
        yield address


@contextmanager
def chromium() -> Iterator[Browser]:
    """The browser, closed afterwards."""
    path = browser_path()
    if path is None:
        raise RuntimeError(HOW_TO_GET_ONE)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=list(CHROMIUM_OPTIONS))
        try:
            yield browser
        finally:
            browser.close()


def settle(page: Page) -> None:
    """Wait until the page is drawn and nothing is being worked out."""
    wait_until(page, QUIET)


def wait_until(page: Page, expression: str, argument: object = None, every: int = ASKED_EVERY) -> None:
    """Wait until something is true of the page; asked from outside, as the page may evaluate no text."""
    for _ in range(LONGEST_WAIT // every):
        if page.evaluate(expression, argument):
            return
        page.wait_for_timeout(every)
    raise TimeoutError(f"not true within {LONGEST_WAIT / 1000:.0f} s: {expression}")


def open_page(page: Page, address: str) -> None:
    """Load an address and wait for it."""
    page.goto(address, timeout=LONGEST_WAIT)
    page.wait_for_selector("[data-testid=stApp] h1", timeout=LONGEST_WAIT)
    settle(page)


def press(page: Page, name: str, awaited: str) -> None:
    """Click a button and wait for what it brings to the screen, a selector."""
    page.get_by_role("button", name=name, exact=True).click()
    page.wait_for_selector(awaited)
    settle(page)


def open_demo(page: Page) -> None:
    """From the first page to the demo."""
    press(page, "Open the demo", "h1:has-text('In short')")


def open_form(page: Page) -> None:
    """From the first page to the form of a new unit."""
    press(page, "Fill in the form", "h1:has-text('Enter your unit')")


def turn_to(page: Page, title: str) -> None:
    """Follow a link of the menu, which a phone folds away."""
    if page.get_by_test_id("stSidebar").get_attribute("data-collapsed") == "true":
        page.get_by_test_id("stExpandSidebarButton").click()
    page.get_by_test_id("stSidebarNav").get_by_role("link", name=title, exact=True).click()
    page.get_by_role("heading", level=1, name=title, exact=True).wait_for()
    settle(page)
