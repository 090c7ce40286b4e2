"""Settings of the whole test run: where the property tables are kept, and which tests need a browser."""

import os
import shutil
from functools import partial
from pathlib import Path

import pytest

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
HOW_TO_GET_ONE = (
    "no Chromium was found, so the browser tests were left out; install one (Debian: apt-get install "
    "chromium) or name it: COILTOLL_CHROMIUM=/path/to/chromium make test"
)


def browser_path() -> str | None:
    """Chromium to drive, or None where there is none."""
    named = os.environ.get("COILTOLL_CHROMIUM")
    if named:
        return named if Path(named).is_file() else None
    return next((found for found in map(shutil.which, BROWSERS) if found), None)


@pytest.fixture(scope="session")
def chromium() -> str:
    path = browser_path()
    assert path is not None, HOW_TO_GET_ONE
    return path


@pytest.fixture
def few_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    """Reports price the dirt from few draws: quicker, with every section there."""
    from dashboard.report import cost_sections

    monkeypatch.setattr(cost_sections, "costs_of_visit", partial(cost_sections.costs_of_visit, draws=6))


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    if browser_path() is None:
        for item in items:
            if item.get_closest_marker("browser"):
                item.add_marker(pytest.mark.skip(reason=HOW_TO_GET_ONE))
