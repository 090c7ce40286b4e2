"""What everybody needs of a page: names for inputs, reach by keyboard, contrast, silence on the network."""

import pytest

from dashboard.web.page_list import ANSWERS, KEEPING
from tests.browser.accessibility import violations
from tests.browser.served import open_demo, open_form, open_page, press, settle, turn_to

pytestmark = pytest.mark.browser

NAMELESS = """() => {
  const named = node => {
    const text = ids => (ids || '').split(' ').map(id => document.getElementById(id)?.innerText).join('');
    return (node.getAttribute('aria-label') || text(node.getAttribute('aria-labelledby'))
      || [...(node.labels || [])].map(one => one.innerText).join('') || node.textContent || node.title
      || node.getAttribute('placeholder') || '').trim();
  };
  const shown = node => { const box = node.getBoundingClientRect();
    return box.width > 0 && box.height > 0 && getComputedStyle(node).visibility !== 'hidden'; };
  const asked = 'input, select, textarea, button, a[href], [role=slider], [role=combobox]';
  const hidden = '[type=date][tabindex="-1"]';  // of a date picker, reached by nobody
  return [...document.querySelectorAll(asked)]
    .filter(node => shown(node) && !named(node) && !node.matches(hidden))
    .map(node => node.outerHTML.slice(0, 160));
}"""

PALE = """() => {
  const parts = colour => { const found = colour.match(/[\\d.]+/g).map(Number);
    return found.length < 4 ? [...found, 1] : found; };
  const over = (top, under) => [0, 1, 2].map(i => top[i] * top[3] + under[i] * (1 - top[3])).concat(1);
  const behind = node => {
    const stack = [];
    for (let one = node; one; one = one.parentElement)
      stack.push(parts(getComputedStyle(one).backgroundColor));
    return stack.reverse().reduce((under, top) => over(top, under), [255, 255, 255, 1]);
  };
  const linear = v => v <= 10.31475 ? v / 3294.6 : ((v / 255 + 0.055) / 1.055) ** 2.4;
  const light = ([r, g, b]) => 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
  const faults = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const node = walk.currentNode.parentElement, text = walk.currentNode.textContent.trim();
    if (!text || !node || node.closest('script, style, [disabled], [aria-hidden=true], .bar')) continue;
    // the number over a slider's knob is inside the knob for the document and above it for the eye
    if (node.closest('[data-testid=stSliderThumbValue]')) continue;
    const box = node.getBoundingClientRect(), style = getComputedStyle(node);
    if (!box.width || !box.height || style.visibility === 'hidden' || +style.opacity === 0) continue;
    const svg = node.closest('svg'), ground = svg ? [255, 255, 255, 1] : behind(node);
    let own = parts(svg ? style.fill : style.color), fade = 1;
    for (let one = node; one; one = one.parentElement) fade *= +getComputedStyle(one).opacity;
    if (!fade) continue;
    own = over([...own.slice(0, 3), own[3] * fade], ground);
    const [a, b] = [light(own), light(ground)], ratio = (Math.max(a, b) + .05) / (Math.min(a, b) + .05);
    const size = parseFloat(style.fontSize), bold = +style.fontWeight >= 700;
    const large = size >= 24 || (size >= 18.66 && bold);
    if (ratio < (large ? 3 : 4.5)) faults.push(`${text.slice(0, 40)}: ${ratio.toFixed(2)}`);
  }
  return faults;
}"""


def problems_of(page) -> dict[str, list[str]]:
    """What is wrong with a page that is on the screen, by kind; empty where nothing is."""
    charts = page.get_by_test_id("stPlotlyChart").all()
    found = {
        "axe": violations(page),
        "headings": [] if page.locator("h1").count() == 1 else ["not one first heading"],
        "nameless": page.evaluate(NAMELESS),
        "pale": page.evaluate(PALE),
        "undescribed": [
            str(place) for place, one in enumerate(charts) if not one.get_attribute("aria-label")
        ],
    }
    return {kind: problems for kind, problems in found.items() if problems}


def too_wide(page) -> list[str]:
    """What sticks out of a phone's screen, but for what is meant to be scrolled by itself."""
    main = page.get_by_test_id("stMain")
    extra = main.evaluate("node => node.scrollWidth - node.clientWidth")
    beyond = main.evaluate(
        "node => [...node.querySelectorAll('*')].filter(one =>"
        " one.getBoundingClientRect().right > innerWidth + 1 && !one.closest("
        "'.ct-scroll, .js-plotly-plot, [data-testid=stIFrame]')).map(one => one.className)"
    )
    return [f"{extra} px"] * (extra > 0) + beyond[:3]


def test_pages_on_a_phone_fit_and_have_names_contrast_one_heading_and_no_complaints(phone, ears, address):
    open_page(phone, address)
    assert phone.evaluate("document.documentElement.lang") == "en"
    assert phone.evaluate("innerWidth") == 390
    problems = {"Start": problems_of(phone)}
    open_demo(phone)
    for question in (*ANSWERS, *KEEPING):
        turn_to(phone, question.title)
        assert phone.get_by_test_id("stSidebar").get_attribute("data-collapsed") == "true"
        wide = too_wide(phone)
        problems[question.title] = problems_of(phone) | ({"too wide": wide} if wide else {})
    assert {title: found for title, found in problems.items() if found} == {}
    assert ears.complaints == []
    assert ears.foreign == []


def test_pages_at_a_desk_break_no_rule(desk, ears, address):
    open_page(desk, address)
    broken = {"Start": violations(desk)}
    open_demo(desk)
    for question in (*ANSWERS, *KEEPING):
        turn_to(desk, question.title)
        broken[question.title] = violations(desk)
    assert {title: found for title, found in broken.items() if found} == {}
    assert ears.complaints == []


def test_the_form_has_names_and_contrast_with_faults_in_it(desk, ears, address):
    open_page(desk, address)
    open_form(desk)
    desk.get_by_label("Rated capacity").fill("35")
    desk.get_by_label("Outdoor air, dry bulb [degF], coil clean", exact=True).fill("40")
    press(desk, "Save and see the result", ".ct-faults")
    assert desk.locator(".ct-fault, .ct-unusual").count() >= 3
    assert problems_of(desk) == {}
    assert ears.complaints == []


def test_the_demo_is_reached_by_keyboard_alone(desk, ears, address):
    open_page(desk, address)
    for _ in range(40):
        desk.keyboard.press("Tab")
        if desk.evaluate("document.activeElement.innerText") == "Open the demo":
            break
    assert desk.evaluate("document.activeElement.innerText") == "Open the demo"
    outline = desk.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    shadow = desk.evaluate("getComputedStyle(document.activeElement).boxShadow")
    assert outline != "none" or shadow != "none", "where the keyboard is can be seen"
    desk.keyboard.press("Enter")
    desk.wait_for_selector(".ct-finding")
    settle(desk)
    assert ears.complaints == []


def test_examples_can_be_read_and_every_field_of_the_form_is_reached_in_order(desk, ears, address):
    open_page(desk, f"{address}/edit")
    assert ears.complaints == [], "a page that is opened by its address is as quiet"
    colour = desk.evaluate(
        "getComputedStyle(document.querySelector('input[placeholder^=\"e.g.\"]'), '::placeholder').color"
    )
    red, green, blue = (int(part) for part in colour[4:-1].split(",")[:3])
    assert (red, green, blue) == (0x5D, 0x6B, 0x75)  # 5.4:1 on white
    desk.get_by_label("Outdoor air, dry bulb [degF], coil clean", exact=True).focus()
    reached = []
    for key in ("Tab", "Enter", "Tab", "Shift+Tab"):
        desk.keyboard.press(key)
        reached.append(desk.evaluate("document.activeElement.getAttribute('aria-label')"))
    assert reached == [
        "Return air, dry bulb [degF], coil clean",
        "Return air, wet bulb [degF], coil clean",
        "Supply air, dry bulb [degF], coil clean",
        "Return air, wet bulb [degF], coil clean",
    ], "down a visit, not across"
    desk.get_by_label("Supply air, wet bulb [degF], coil clean", exact=True).focus()
    desk.keyboard.press("Tab")
    assert desk.evaluate("!!document.activeElement.closest('[data-testid=stButtonGroup]')"), "what is between"
    desk.get_by_label("Blower power [W], coil clean", exact=True).focus()
    desk.keyboard.press("Tab")
    assert desk.evaluate("document.activeElement.getAttribute('aria-label')").endswith("as found")
    desk.get_by_label("Blower power [W], as found", exact=True).focus()
    desk.keyboard.press("Tab")
    assert desk.evaluate("document.activeElement.matches('summary')"), "what follows the readings"
    desk.get_by_label("Rated capacity [Btu/h]", exact=True).focus()
    reached = []
    for _ in range(16):
        desk.keyboard.press("Enter")  # Next on a keypad
        reached.append(desk.evaluate("document.activeElement.getAttribute('aria-label')"))
    assert reached[0] == "Outdoor air, dry bulb [degF], coil clean"
    assert reached[-2:] == ["Outdoor air, dry bulb [degF], as found", "Return air, dry bulb [degF], as found"]
