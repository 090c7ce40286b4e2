"""Made for a thumb: keypads, targets that are hit, what readings say while they are typed, looks."""

import re

import pytest

from calibration.case.file import read_case
from tests.browser.served import open_demo, open_form, open_page, press, settle, turn_to, wait_until

pytestmark = pytest.mark.browser

SMALL = """() => [...document.querySelectorAll(
    '[data-testid=stMain] :is(button, a, summary, input), [data-testid=stSidebarNavLink]')]
  .map(node => node.matches('input') ? node.parentElement.parentElement : node)
  .filter(node => { const box = node.getBoundingClientRect(); return box.width && box.height < 43.5; })
  .map(node => `${node.innerText || node.outerHTML.slice(0, 120)}: ${node.getBoundingClientRect().height}`)"""


def test_gauges_alone_are_typed_with_a_thumb_to_an_answer(phone, ears, address, workspace):
    open_page(phone, address)
    open_form(phone)
    assert phone.evaluate(SMALL) == []
    pressure = phone.get_by_label("Suction pressure [psi], as found", exact=True)
    assert pressure.get_attribute("inputmode") == "decimal"
    assert phone.get_by_label("Name of the unit", exact=True).get_attribute("inputmode") is None
    phone.get_by_label("Name of the unit", exact=True).fill("Gauges alone")
    phone.get_by_label("Rated capacity [Btu/h]", exact=True).fill("36")
    press(phone, "I mean 36,000 Btu/h (3 tons)", "text=36,000 Btu/h = 3.0 tons = 10.6 kW")
    phone.locator(".st-key-pair_so_far").wait_for()
    phone.get_by_test_id("stMain").get_by_text("Not read", exact=True).click()
    phone.wait_for_selector("text=gauges and thermometers alone give an answer")
    phone.get_by_test_id("stMain").get_by_text("bar", exact=True).click()
    phone.wait_for_selector("text=Suction pressure [bar]")
    settle(phone)
    readings = {
        "Outdoor air, dry bulb [degF]": "94,8",
        "Return air, dry bulb [degF]": "77.9",
        "Suction pressure [bar]": "30,13",
        "Liquid-line pressure [bar]": "9.58",
        "Suction pipe [degF]": "68.3",
        "Liquid pipe [degF]": "113",
    }
    for label, text in readings.items():
        phone.get_by_label(f"{label}, as found", exact=True).fill(text)
    phone.locator(".ct-fault", has_text="are the gauges swapped?").wait_for()
    phone.get_by_label("Suction pressure [bar], as found", exact=True).fill("9.58")
    phone.get_by_label("Liquid-line pressure [bar], as found", exact=True).fill("30,13")
    figures = phone.locator(".ct-live").nth(1)
    figures.get_by_text(re.compile(r"^Superheat 19\.\d degF$")).wait_for()
    figures.get_by_text(re.compile(r"^Subcooling 10\.\d degF$")).wait_for()
    settle(phone)
    press(phone, "Save and see the result", ".ct-finding")
    visit = read_case(workspace / "gauges-alone.toml").visits[-1]
    assert (visit.return_humidity, visit.return_wb) == ("unknown", None)
    assert visit.liquid_pressure - 101_325 == pytest.approx(30.13e5, rel=2e-3)
    assert visit.date is not None
    assert ears.complaints == []


def test_looks_for_night_and_sun_stay_from_page_to_page(phone, ears, address):
    open_page(phone, address)
    open_demo(phone)
    phone.get_by_test_id("stExpandSidebarButton").click()
    phone.get_by_role("radio", name="Night").click()
    wait_until(phone, "getComputedStyle(document.documentElement).filter.startsWith('invert')")
    settle(phone)
    phone.reload()
    wait_until(phone, "getComputedStyle(document.documentElement).filter.startsWith('invert')")
    settle(phone)
    turn_to(phone, "What was measured?")
    assert "look=Night" in phone.url
    assert phone.get_by_test_id("stSidebar").get_attribute("data-collapsed") == "true"
    phone.get_by_test_id("stExpandSidebarButton").click()
    phone.get_by_role("radio", name="Sun").click()
    wait_until(phone, "getComputedStyle(document.documentElement).filter === 'none'")
    wait_until(phone, "getComputedStyle(document.querySelector('.ct-unit')).color === 'rgb(0, 0, 0)'")
    assert ears.complaints == []
