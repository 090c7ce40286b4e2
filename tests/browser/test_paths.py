"""The ways people take through the app, in a real browser."""

import re

import pytest

from calibration.case.file import read_case
from calibration.case.keys import find_key
from tests.browser.served import open_demo, open_form, open_page, press, settle, turn_to, wait_until

pytestmark = pytest.mark.browser

READINGS = {
    "outdoor_db": {"coil clean": "82.4", "as found": "94.8"},
    "return_db": {"coil clean": "76.1", "as found": "77.9"},
    "return_wb": {"coil clean": "63.6", "as found": "65.2"},
    "suction_pressure": {"coil clean": "132", "as found": "139"},
    "liquid_pressure": {"coil clean": "333", "as found": "437"},
}


def silent(ears) -> None:
    assert ears.complaints == []
    assert ears.foreign == []


def label_of(reading: str, words: str, system: str = "US") -> str:
    return f"{find_key(reading, 'visit').label(system)}, {words}"


def type_unit(page, name: str, columns: tuple[str, ...] = ("coil clean", "as found")) -> None:
    """Fill in the form; the last field is left, which is when it is taken."""
    page.get_by_label("Name of the unit").fill(name)
    page.get_by_label("Rated capacity").fill("35,000")
    for reading, texts in READINGS.items():
        for words in columns:
            page.get_by_label(label_of(reading, words), exact=True).fill(texts[words])
    page.get_by_label("Name of the unit").focus()


def test_the_demo_to_its_report(desk, ears, address, tmp_path):
    open_page(desk, address)
    open_demo(desk)
    assert "Fouled condenser coil, " in desk.locator(".ct-finding").inner_text()
    assert "unit=demo" in desk.url
    for title in ("What was measured?", "What does clean look like?", "Does it match a fouled coil?"):
        turn_to(desk, title)
        assert desk.locator(".ct-table").count() >= 1
    desk.get_by_text("Copy or download what is on this page").click()
    files = {
        "All tables, XLSX": b"PK",
        "All tables, CSV": b"",
        "Pressure-enthalpy diagram, R410A: SVG": b"<?xml",
    }
    files |= {"Pressure-enthalpy diagram, R410A: PNG": b"\x89PNG"}
    for words, beginning in files.items():
        with desk.expect_download() as download:
            desk.get_by_role("button", name=words).click()
        download.value.save_as(tmp_path / "file")
        content = (tmp_path / "file").read_bytes()
        assert content.startswith(beginning) and len(content) > 500, words
    assert "Millbrook Street reading room" in desk.get_by_test_id("stCode").inner_text()
    turn_to(desk, "What does it cost, when to clean?")
    before = desk.locator(".ct-finding").inner_text()
    desk.get_by_label("Price of one cleaning [USD]").fill("20")
    desk.get_by_label("Price of one cleaning [USD]").press("Enter")
    wait_until(desk, "before => document.querySelector('.ct-finding')?.innerText !== before", before)
    settle(desk)
    assert desk.locator(".ct-finding").inner_text().count("20 USD") >= 1
    press(desk, "Change weather, load, prices and cleaning", "h1:has-text('Unit and visits')")
    turn_to(desk, "Report")
    with desk.expect_download() as download:
        desk.get_by_role("button", name="PDF, to print").click()
    download.value.save_as(tmp_path / "report.pdf")
    assert (tmp_path / "report.pdf").read_bytes().startswith(b"%PDF")
    silent(ears)


def test_a_unit_typed_by_hand_to_a_match(desk, ears, address, workspace):
    open_page(desk, address)
    open_form(desk)
    type_unit(desk, "Typed by hand")
    assert desk.locator(".ct-fault").count() == 0
    press(desk, "Save and see the result", ".ct-finding")
    assert desk.locator(".ct-answers section").count() == 3
    turn_to(desk, "Does it match a fouled coil?")
    assert desk.locator(".js-plotly-plot").count() == 3
    case = read_case(workspace / "typed-by-hand.toml")
    assert [visit.coil for visit in case.visits] == ["clean", "as found"]
    desk.reload()
    desk.wait_for_selector("h1:has-text('Does it match')")
    settle(desk)
    assert "Typed by hand" in desk.locator(".ct-unit").inner_text(), "the address keeps the unit"
    silent(ears)


def test_us_to_si_and_back(desk, ears, address):
    open_page(desk, address)
    open_form(desk)
    type_unit(desk, "There and back", ("as found",))
    fields = {
        label: desk.get_by_label(label, exact=True).input_value()
        for label in ("Rated capacity [Btu/h]", *(label_of(reading, "as found") for reading in READINGS))
    }
    desk.get_by_role("radio", name="SI", exact=True).click()
    desk.wait_for_selector("text=Suction pressure [kPa]")
    settle(desk)
    shown = desk.get_by_label(label_of("suction_pressure", "as found", "SI"), exact=True).input_value()
    assert float(shown) == pytest.approx(139 * 6.894757, rel=1e-4)
    desk.get_by_role("radio", name="US", exact=True).click()
    desk.wait_for_selector("text=Suction pressure [psi]")
    settle(desk)
    for label, text in fields.items():
        assert desk.get_by_label(label, exact=True).input_value() == text
    silent(ears)


def test_a_wrong_entry(desk, ears, address, workspace):
    before = sorted(workspace.glob("*.toml"))
    open_page(desk, address)
    open_form(desk)
    field = desk.get_by_label(label_of("suction_pressure", "as found"), exact=True)
    field.press_sequentially("1390", delay=30)  # checked while it is typed, the field still in focus
    problem = desk.locator(".ct-fault")
    problem.wait_for()
    assert "1390 psi" in problem.inner_text() and "is expected" in problem.inner_text()
    field.fill("139")
    wait_until(desk, "document.querySelectorAll('.ct-fault').length === 0")
    field.fill("a lot")
    problem.wait_for()
    assert "a number in psi is expected" in problem.inner_text()
    press(desk, "Save and see the result", ".ct-faults")
    assert "Not saved" in desk.locator(".ct-faults").inner_text()
    assert field.input_value() == "a lot"
    assert sorted(workspace.glob("*.toml")) == before
    silent(ears)


def test_a_unit_is_typed_on_a_phone(phone, ears, address, workspace):
    open_page(phone, address)
    open_form(phone)
    clean, found = (
        phone.get_by_label(label_of("suction_pressure", words), exact=True).bounding_box()
        for words in ("coil clean", "as found")
    )
    assert abs(clean["y"] - found["y"]) < 2 and found["x"] > clean["x"] + clean["width"], "side by side"
    type_unit(phone, "Typed on a phone", ("as found",))
    press(phone, "Save and see the result", ".ct-finding")
    assert (workspace / "typed-on-a-phone.toml").exists()
    silent(ears)


def test_two_tabs_edit_one_unit(desk, ears, address, workspace, browser):
    open_page(desk, address)
    open_demo(desk)
    turn_to(desk, "Unit and visits")
    press(desk, "Make a copy", "text=Everything is saved.")
    name = re.search(r"unit=([^&]+)", desk.url)[1]
    other = desk.context.new_page()
    ears.listen(other)
    open_page(other, f"{address}/edit?unit={name}")
    notes, pipe = "Notes", "Discharge pipe [degF]"
    for page, label, text in ((desk, notes, "from the first tab"), (other, pipe, "181")):
        if label == notes:
            page.get_by_text("Further readings, and notes").click()
        page.get_by_label(label, exact=True).fill(text)
        page.get_by_label(label, exact=True).press("Tab")
        page.wait_for_selector("text=1 unsaved change")
        settle(page)
    press(desk, "Save", "text=Everything is saved.")
    press(other, "Save", "text=This unit was also saved elsewhere")
    assert read_case(workspace / name).visits[-1].notes == "from the first tab"
    assert other.get_by_label(pipe, exact=True).input_value() == "181"
    press(other, "Add my changes to that version", "text=1 unsaved change")
    press(other, "Save", "text=Everything is saved.")
    saved = read_case(workspace / name).visits[-1]
    assert saved.notes == "from the first tab"
    assert saved.discharge_temperature == pytest.approx((181 - 32) / 1.8 + 273.15)
    silent(ears)


def test_the_slider_moves_every_number(desk, ears, address):
    open_page(desk, address)
    open_demo(desk)
    turn_to(desk, "What does fouling do?")
    slider = desk.get_by_role("slider").first
    strip = desk.locator(".ct-strip")
    before = strip.inner_text()
    slider.focus()
    for _ in range(5):
        slider.press("ArrowRight")
    wait_until(desk, "before => document.querySelector('.ct-strip').innerText !== before", before)
    desk.get_by_test_id("stMain").get_by_text(f"{slider.input_value()} % blocked").first.wait_for()
    settle(desk)
    silent(ears)
