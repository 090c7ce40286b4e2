"""The app on a free port of this computer, and a Chromium to look at it with."""

import os
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

from tests.conftest import HOW_TO_GET_ONE, browser_path

ROOT = Path(__file__).resolve().parents[2]
CHROMIUM_OPTIONS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--force-device-scale-factor=1",
)
LONGEST_WAIT = 30_000  # for anything on a busy machine [ms]
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
def started(workspace: Path) -> Iterator[tuple[str, int]]:
    """Address of the app and number of its process."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    words = ["app", "--workspace", str(workspace), "--port", str(port)]
    command = [sys.executable, "-c", f"import sys; from dashboard.cli import run; sys.exit(run({words!r}))"]
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    process = subprocess.Popen(
        command, cwd=workspace.parent, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        address = f"http://localhost:{port}"
        _wait_for(address, process)
        yield address, process.pid
    finally:
        process.terminate()
        process.wait(timeout=20)


def _wait_for(address: str, process: subprocess.Popen) -> None:
    for _ in range(300):
        if process.poll() is not None:
            raise RuntimeError(f"the app ended with status {process.returncode}")
        try:
            with urllib.request.urlopen(address, timeout=5):
                return
        except OSError:
            time.sleep(0.2)
    raise RuntimeError(f"the app does not answer at {address}")


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
    page.wait_for_function(QUIET, timeout=LONGEST_WAIT)


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
