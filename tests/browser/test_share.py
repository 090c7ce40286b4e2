"""Pages that are shared in the network: a PIN, reading only unless said otherwise, no edit of two is lost."""

import re

import pytest

from calibration.case.file import read_case
from dashboard.commands.demo import DEMO_CASE
from dashboard.workspace import Workspace
from tests.app_process import outside_calls, started
from tests.browser.accessibility import violations
from tests.browser.served import PHONE, open_page, press, settle, turn_to

pytestmark = pytest.mark.browser

SHARED = ("--share", "--address", "127.0.0.1")


def pin_of(folder) -> str:
    printed = (folder / "printed.txt").read_text(encoding="utf-8")
    assert "\u2588" in printed or "\u2580" in printed, "the code is drawn"
    return re.search(r"the PIN (\d{6})", printed)[1]


def test_a_phone_reads_with_the_pin_and_changes_nothing(browser, tmp_path):
    workspace = Workspace(tmp_path / "units")
    name = workspace.create(read_case(DEMO_CASE)).name
    context = browser.new_context(**PHONE)
    page = context.new_page()
    with started(workspace.folder, options=SHARED) as (address, _):
        pin = pin_of(tmp_path)
        page.goto(f"{address}/edit?unit={name}")
        assert page.get_by_role("heading", name="Coiltoll").count() == 1
        assert violations(page) == []
        page.get_by_label("PIN").fill("000000" if pin != "000000" else "111111")
        page.get_by_role("button", name="Open").click()
        page.wait_for_selector("text=This is not the PIN")
        page.get_by_label("PIN").fill(pin)
        page.get_by_role("button", name="Open").click()
        page.wait_for_selector("[data-testid=stApp] h1")
        open_page(page, f"{address}/edit?unit={name}")
        assert page.get_by_text("shared for reading only").count() == 1
        turn_to(page, "What was measured?")
        assert page.locator(".ct-table").count() >= 1
        assert not outside_calls(workspace.folder)
    context.close()
    assert [path.name for path in workspace.folder.iterdir()] == [name]


def test_two_devices_that_may_edit_lose_nothing(browser, tmp_path):
    workspace = Workspace(tmp_path / "units")
    name = workspace.create(read_case(DEMO_CASE)).name
    contexts = [browser.new_context() for _ in range(2)]
    with started(workspace.folder, options=(*SHARED, "--allow-edits")) as (address, _):
        pages = [context.new_page() for context in contexts]
        for page in pages:
            page.goto(f"{address}/pin?pin={pin_of(tmp_path)}")
            open_page(page, f"{address}/edit?unit={name}")
        for page, label, text in zip(
            pages, ("Suction pipe [degF]", "Liquid pipe [degF]"), ("69", "112"), strict=True
        ):
            page.get_by_label(label, exact=True).fill(text)
            page.wait_for_selector("text=1 unsaved change")
            settle(page)
        press(pages[0], "Save", "text=Everything is saved.")
        press(pages[1], "Save", "text=This unit was also saved elsewhere")
        press(pages[1], "Add my changes to that version", "text=1 unsaved change")
        press(pages[1], "Save", "text=Everything is saved.")
    for context in contexts:
        context.close()
    saved = read_case(workspace.folder / name).visits[-1]
    degrees = [
        (kelvin - 273.15) * 1.8 + 32 for kelvin in (saved.suction_temperature, saved.liquid_temperature)
    ]
    assert degrees == pytest.approx([69.0, 112.0])
