"""How quick the pages are in a real browser: `python -m tests.browser.speed` prints it.

Loading a page counts from the address to the drawn page; turning to a page from the click on its link to the
drawn page with nothing left to work out, the first time (everything is worked out) and again (kept results);
a slider from the key to the changed number on the screen. Times hold for the machine and its load.
"""

import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from statistics import median

from playwright.sync_api import Page

from dashboard.web.page_list import ANSWERS, KEEPING
from tests.browser.served import (
    DESK,
    LONGEST_WAIT,
    chromium,
    open_demo,
    open_page,
    served,
    settle,
    turn_to,
    wait_until,
)
from tests.conftest import HOW_TO_GET_ONE, browser_path

SLIDER_MOVES = 20
WANTED = {"load": 2.0, "turn": 2.0, "slider": 0.5}  # at most [s]


def seconds(action: Callable[[], None]) -> float:
    """How long something takes [s]."""
    start = time.perf_counter()
    action()
    return time.perf_counter() - start


def slider_times(page: Page, place: int, key: str) -> list[float]:
    """From a key on a slider to the changed number, many times over [s]."""
    slider = page.get_by_role("slider").nth(place)
    times = []
    for _ in range(SLIDER_MOVES):
        before = page.locator(".ct-tiles").inner_text()
        slider.focus()

        def move(before: str = before) -> None:
            slider.press(key)
            wait_until(page, "before => document.querySelector('.ct-tiles').innerText !== before", before, 10)

        times.append(seconds(move))
        settle(page)
    return times


def row(words: str, times: list[float], wanted: float) -> bool:
    """Print one line; whether its median is quick enough."""
    quick = median(times) <= wanted
    verdict = "" if quick else "  too slow"
    print(f"{words:<44}{median(times):>8.2f}{max(times):>8.2f}{wanted:>8.1f}{verdict}")
    return quick


def once(words: str, action: Callable[[], None]) -> None:
    """Print how long something takes that happens only once."""
    print(f"{words:<44}{seconds(action):>8.2f}")


def main() -> int:
    """Print the table; 1 where something is slower than wanted."""
    if browser_path() is None:
        print(HOW_TO_GET_ONE, file=sys.stderr)
        return 2
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    print(f"Pages in Chromium, {os.cpu_count()} processors{load}")
    print(f"{'seconds':<44}{'median':>8}{'worst':>8}{'wanted':>8}")
    with tempfile.TemporaryDirectory() as folder, served(Path(folder)) as address, chromium() as browser:
        page = browser.new_context(**DESK).new_page()
        page.set_default_timeout(LONGEST_WAIT)
        quick = [*loading(page, address), *turning(page), *sliding(page)]
    return 0 if all(quick) else 1


def loading(page: Page, address: str) -> Iterator[bool]:
    """The first page, new and again."""
    once("first page after the start of the program", lambda: open_page(page, address))
    times = [seconds(lambda: open_page(page, address)) for _ in range(5)]
    yield row("load the first page", times, WANTED["load"])


def turning(page: Page) -> Iterator[bool]:
    """Every page from every other, the first time and again."""
    once("open the demo, everything worked out", partial(open_demo, page))
    titles = [question.title for question in (*ANSWERS[1:], *KEEPING)]
    for title in titles:
        once(f"{title}, the first time", partial(turn_to, page, title))
    again: dict[str, list[float]] = {title: [] for title in titles}
    for _ in range(3):
        for title in titles:
            again[title].append(seconds(partial(turn_to, page, title)))
    for title, times in again.items():
        yield row(f"{title}, again", times, WANTED["turn"])


def sliding(page: Page) -> Iterator[bool]:
    """Both sliders, to numbers that are new and back over those that are kept."""
    turn_to(page, "What does fouling do?")
    for place, words in enumerate(("slider of the blocked face", "slider of the outdoor air")):
        yield row(words, slider_times(page, place, "ArrowRight"), WANTED["slider"])
        yield row(f"{words}, back", slider_times(page, place, "ArrowLeft"), WANTED["slider"])


if __name__ == "__main__":
    sys.exit(main())
