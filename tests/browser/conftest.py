"""One app for all browser tests, one browser for each file; a fresh page with open ears for each test."""

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from dashboard.web.form import stored_drafts
from tests.browser import served

OWN = re.compile(r"^(https?|wss?)://localhost(:\d+)?/|^(data|blob|about):")


class Ears:
    """What a page asked for and complained of."""

    def __init__(self) -> None:
        self.foreign: list[str] = []
        self.complaints: list[str] = []

    def listen(self, page: Page) -> None:
        page.on("request", lambda asked: None if OWN.match(asked.url) else self.foreign.append(asked.url))
        page.on("console", self._console)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))

    def _console(self, told) -> None:
        if told.type == "error":
            self.complaints.append(f"{told.text} {told.location.get('url', '')}")


@pytest.fixture(scope="session")
def workspace(tmp_path_factory) -> Path:
    return tmp_path_factory.mktemp("app") / "units"


@pytest.fixture(scope="session")
def address(workspace) -> Iterator[str]:
    with served.served(workspace) as found:
        yield found


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Closed after each file: while it is open, a loop runs in which other tests could start none."""
    with served.chromium() as found:
        yield found


@pytest.fixture(autouse=True)
def no_drafts(workspace) -> None:
    """A test finds no form half filled in by another."""
    shutil.rmtree(workspace / stored_drafts.FOLDER, ignore_errors=True)


@pytest.fixture
def ears() -> Ears:
    return Ears()


def fresh_page(browser: Browser, ears: Ears, device: dict) -> Iterator[Page]:
    context = browser.new_context(**device, accept_downloads=True)
    context.set_default_timeout(served.LONGEST_WAIT)
    page = context.new_page()
    ears.listen(page)
    yield page
    context.close()


@pytest.fixture
def desk(browser, ears) -> Iterator[Page]:
    yield from fresh_page(browser, ears, served.DESK)


@pytest.fixture
def phone(browser, ears) -> Iterator[Page]:
    yield from fresh_page(browser, ears, served.PHONE)
