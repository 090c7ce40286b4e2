"""Pictures of every page for the tour in the README: `make screens` draws them anew into dashboard/tour.

Each at the width of a desk and of a phone, cut at a height that still shows the page's point, with as few
colours as it needs, so that a picture stays small.
"""

import io
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import FilePayload, Page

from calibration.fleet.journal import write_table
from dashboard.web.fleet_page import RESULTS
from dashboard.web.page_list import ANSWERS, EDIT, GROWTH, IMPORT, PLAN, START, UNITS, Question
from tests.browser.served import (
    DESK,
    LONGEST_WAIT,
    PHONE,
    chromium,
    open_demo,
    open_form,
    open_page,
    press,
    served,
    settle,
    turn_to,
)
from tests.conftest import HOW_TO_GET_ONE, browser_path
from tests.made_results import made_rows
from tests.made_tracks import burst_level, write_track_log

FOLDER = Path(__file__).resolve().parents[2] / "dashboard" / "tour"
HEIGHTS = {1280: 1250, 390: 1500}  # at most [px]
LARGEST = 150_000  # bytes of a picture
COLOURS = (128, 64, 32, 16)
TABLE: FilePayload = {
    "name": "visits.csv",
    "mimeType": "text/csv",
    "buffer": b"""date,outdoor,return db,return wb,suction psig,liquid psig,suction pipe,liquid pipe,watts
2026-07-02,91.5,77.2,64.1,136,398,66.9,105.4,2590
2026-08-12,94.8,77.9,65.2,139,437,68.3,113.0,2707
""",
}
"""An invented table of visits, as somebody keeps one in a spreadsheet."""


def main() -> int:
    """Draw all pictures; 2 where there is no browser."""
    if browser_path() is None:
        print(HOW_TO_GET_ONE, file=sys.stderr)
        return 2
    FOLDER.mkdir(exist_ok=True)
    with chromium() as browser:
        for device in (DESK, PHONE):
            with tempfile.TemporaryDirectory(prefix="coiltoll-") as folder, served(Path(folder)) as address:
                write_table(Path(folder, RESULTS), made_rows(40))
                page = browser.new_context(**device).new_page()
                page.set_default_timeout(LONGEST_WAIT)
                draw_all(page, address)
                page.context.close()
    return 0


def draw_all(page: Page, address: str) -> None:
    """Every page in the order of the menu, the form of a new unit at the end."""
    open_page(page, address)
    draw(page, START)
    open_demo(page)
    for question in ANSWERS:
        turn_to(page, question.title)
        if question == GROWTH:
            page.set_input_files("input[type=file]", files=[trend_log()])
            page.get_by_text("Days shown").wait_for()
        draw(page, question)
    turn_to(page, EDIT.title)
    press(page, "Make a copy", "text=Everything is saved.")
    draw(page, EDIT)
    turn_to(page, IMPORT.title)
    page.get_by_role("radio", name="A table of visits").click()
    page.wait_for_selector("text=A table of visits (csv")
    settle(page)
    page.set_input_files("input[type=file]", files=[TABLE])
    page.get_by_text("2 visits, in").wait_for()
    draw(page, IMPORT)
    turn_to(page, UNITS.title)
    draw(page, UNITS)
    turn_to(page, PLAN.title)
    draw(page, PLAN)
    open_page(page, address)
    open_form(page)
    page.get_by_label("Rated capacity").fill("36")
    page.wait_for_selector(".ct-fault")
    draw(page, Question("", "", "", "new-unit"))


def trend_log() -> FilePayload:
    """An invented log of the demo over a summer, the coil cleaned in July."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.parquet"
        write_track_log(path, 120, interval=300.0, level=burst_level(120, 70))
        return {"name": path.name, "mimeType": "application/octet-stream", "buffer": path.read_bytes()}


def draw(page: Page, question: Question) -> None:
    """One picture of what is on the screen."""
    settle(page)
    size = page.viewport_size
    needed = page.get_by_test_id("stMain").evaluate("node => node.scrollHeight")
    page.set_viewport_size({"width": size["width"], "height": min(needed, HEIGHTS[size["width"]])})
    page.mouse.move(0, 0)
    page.wait_for_timeout(1000)  # charts draw themselves anew in the other size
    settle(page)
    name = f"{question.address or 'start'}-{size['width']}.png"
    (FOLDER / name).write_bytes(small(page.screenshot()))
    page.set_viewport_size(size)


def small(picture: bytes) -> bytes:
    """The same picture with no more colours than fit the size."""
    image = Image.open(io.BytesIO(picture)).convert("RGB")
    for colours in COLOURS:
        out = io.BytesIO()
        image.quantize(colours, method=Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE).save(
            out, "PNG", optimize=True
        )
        if out.tell() <= LARGEST:
            break
    return out.getvalue()


if __name__ == "__main__":
    sys.exit(main())
