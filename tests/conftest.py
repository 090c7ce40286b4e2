"""Settings of the whole test run: patience, how properties are tried, and which tests need a browser."""

import asyncio
import gc
import os
import shutil
import sys
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from xdist.scheduler import LoadScopeScheduling

from dashboard.cli import THREADED

for library in THREADED:  # as the command does, before numpy is imported
    os.environ.setdefault(f"{library}_NUM_THREADS", "1")

HANGING = 600.0 * float(os.environ.get("COILTOLL_PATIENCE", "1"))
"""After which a test is taken to hang [s]: ten times the longest that anything here takes."""
settings.register_profile(
    "any machine", derandomize=True, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("any machine")
os.environ.pop("COLUMNS", None)  # tables are as wide as in a file, whatever terminal the tests run in

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
HOW_TO_GET_ONE = (
    "no Chromium was found, so the browser tests are left out; install one (Debian: apt-get install "
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
    """Reports and pages price the dirt from few draws, once a test and visit: quicker, with every section."""
    from dashboard.report import cost_sections
    from dashboard.web import cached

    priced = partial(cost_sections.costs_of_visit, draws=6)
    found: dict[str, Any] = {}

    def once(case: Any, baseline: Any, finding: Any, progress: Any = None) -> Any:
        label = finding.visit.label
        if label not in found:
            found[label] = priced(case, baseline, finding, progress)
        return found[label]

    monkeypatch.setattr(cost_sections, "costs_of_visit", once)
    monkeypatch.setattr(cached, "case_costs", partial(cached.case_costs, draws=6))


@pytest.fixture
def worked_out_anew() -> Iterator[None]:
    """Fits, findings, points and pictures are not those of another test (`tests/remembered.py`)."""
    from tests.remembered import ANEW

    ANEW.append(True)
    yield
    ANEW.clear()


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--whole", action="store_true", help="run every command for determinism, cold and warm")


def pytest_report_header() -> str:
    found = browser_path()
    return f"browser tests: with {found}" if found else f"browser tests: left out; {HOW_TO_GET_ONE}"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    if browser_path() is None:
        for item in items:
            if item.get_closest_marker("browser"):
                item.add_marker(pytest.mark.skip(reason=HOW_TO_GET_ONE))


def pytest_collection_finish() -> None:
    """Before the first test: fits and findings are remembered, what is imported is left out of collections.

    Streamlit collects garbage after every run of a page, through all libraries in memory.
    """
    from tests.remembered import remember

    remember()
    gc.collect()
    gc.freeze()


@pytest.hookimpl(tryfirst=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> "Together":
    return Together(config, log)


class Together(LoadScopeScheduling):
    """Tests of one name stay on one worker, so that what they share is worked out once."""

    def _split_scope(self, nodeid: str) -> str:
        file = nodeid.split("::", 1)[0].removeprefix("tests/")
        folder = file.split("/")[:-1]
        if folder[:1] == ["browser"]:
            return "browser"  # one server
        if file in ("test_language.py", "dashboard/web/test_app.py"):
            return "pages"  # each drawn once
        if folder[:1] == ["dashboard"] and "web" not in folder:
            return "dashboard"  # one fit, one comparison, one season of the demo
        return file


@pytest.fixture(scope="module", autouse=True)
def no_loop_is_left_running() -> Iterator[None]:
    """A browser left open keeps a loop running in its worker, in which other tests cannot start theirs."""
    yield
    assert asyncio._get_running_loop() is None


@pytest.fixture(scope="module", autouse=True)
def the_main_module_stays() -> Iterator[None]:
    """Streamlit's tests put a page in the place of `__main__`, which a process started later imports."""
    main = sys.modules["__main__"]
    yield
    sys.modules["__main__"] = main
