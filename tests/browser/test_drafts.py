"""Nothing that was typed is lost: by a page loaded again, another tab, a killed server or a wrong button."""

import os
import signal

import pytest

from tests.app_process import started
from tests.browser.served import open_form, open_page, press, settle

pytestmark = pytest.mark.browser

NAME = "Name of the unit"
PRESSURE = "Suction pressure [psi], as found"


def typed(page) -> tuple[str, str]:
    return tuple(page.get_by_label(label, exact=True).input_value() for label in (NAME, PRESSURE))


def type_some(page, name: str) -> None:
    page.get_by_label(NAME, exact=True).fill(name)
    page.get_by_label(PRESSURE, exact=True).fill("139")
    page.wait_for_selector("text=2 unsaved changes, kept as a draft.")
    settle(page)


def test_what_was_typed_survives_a_reload_another_tab_and_a_wrong_button(desk, ears, address, workspace):
    open_page(desk, address)
    open_form(desk)
    type_some(desk, "Reloaded")
    desk.reload()
    desk.wait_for_selector("text=not saved is here again")
    settle(desk)
    assert typed(desk) == ("Reloaded", "139")
    other = desk.context.new_page()
    ears.listen(other)
    open_page(other, f"{address}/edit")
    assert typed(other) == ("Reloaded", "139")
    drop, save = (other.get_by_test_id("stMain").locator(f".st-key-{key}") for key in ("drop", "save"))
    assert save.bounding_box()["y"] - drop.bounding_box()["y"] > 400
    drop.get_by_role("button").click()
    other.wait_for_selector("text=Undo: emptying")
    settle(other)
    assert typed(other) == ("", "")
    press(other, "Undo: emptying", "text=2 unsaved changes, kept as a draft.")
    assert typed(other) == ("Reloaded", "139")
    press(other, "Empty the form", "text=Undo: emptying")
    press(desk, "Empty the form", "text=Undo: emptying")
    assert ears.complaints == []
    assert not list(workspace.glob("drafts/*.json"))


def test_what_was_typed_survives_a_killed_server(browser, tmp_path):
    page = browser.new_page()
    with started(tmp_path / "units") as (address, process):
        open_page(page, f"{address}/edit")
        type_some(page, "Before the crash")
        os.kill(process, signal.SIGKILL)
    page.close()
    page = browser.new_page()
    with started(tmp_path / "units") as (address, _):
        open_page(page, f"{address}/edit")
        assert typed(page) == ("Before the crash", "139")
    page.close()
