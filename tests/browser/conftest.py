"""One app and one browser for all browser tests; a fresh page with open ears for each test."""

import asyncio
import re
import shutil
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from dashboard.web.form import stored_drafts
from tests.browser import served

OWN = re.compile(r"^(https?|wss?)://localhost(:\d+)?/|^(data|blob|about):")


_OPEN: list[tuple[ExitStack, Browser]] = []


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


@pytest.fixture
def browser() -> Browser:
    """One for all files, with nothing in common among its pages."""
    if not _OPEN:
        closing = ExitStack()
        _OPEN.append((closing, closing.enter_context(served.chromium())))
    return _OPEN[0][1]


@pytest.hookimpl(wrapper=True)
def pytest_runtest_teardown(nextitem: pytest.Item | None) -> Iterator[None]:
    """After each test no page is left; after the last no browser: its loop would let others start none."""
    try:
        yield
    finally:
        for _, browser in _OPEN:
            for context in browser.contexts:
                context.close()
        if nextitem is None or Path(__file__).parent not in nextitem.path.parents:
            while _OPEN:
                _OPEN.pop()[0].close()
            assert asyncio._get_running_loop() is None


@pytest.fixture(scope="module", autouse=True)
def no_loop_is_left_running() -> None:
    """Seen to after the last file instead."""


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
