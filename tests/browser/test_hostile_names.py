"""Names, labels and notes are shown as they are on every page; no page asks for anything from elsewhere."""

import csv
import re
from urllib.parse import quote

import pytest

from calibration.case.file import case_text
from dashboard.web.page_list import EVERY, GROWTH
from dashboard.web.screen import UNSEEN
from dashboard.workspace import Workspace
from tests.browser.hostile import hostile_case, hostile_text, listener
from tests.browser.served import open_page, settle

pytestmark = pytest.mark.browser

OWN_LINK = re.compile(
    rf"({'|'.join(one.address for one in EVERY)})(\?.*)?|#.*|(https?://localhost:\d+)?/(?!/).*"
)
TEXTS = """() => {
  const parts = [document.body.innerText];
  document.querySelectorAll('input, textarea').forEach(node => parts.push(node.value));
  document.querySelectorAll('svg text').forEach(node => parts.push(node.textContent));
  return parts.join('\\n');
}"""


def shown(page) -> str:
    """Everything that can be read on a page, pages inside it and charts too."""
    texts = [page.evaluate(TEXTS), *(frame.evaluate(TEXTS) for frame in page.frames[1:])]
    return re.sub(r"\s+", " ", "\n".join(texts).replace(UNSEEN, ""))


def acted_on(page) -> list[str]:
    """What a text has become on a page that is not a text: pictures, links, formulas, symbols in colour."""
    found = []
    for frame in page.frames:
        links = frame.eval_on_selector_all("a[href], a", "all => all.map(one => one.getAttribute('href') ||"
            " one.getAttribute('xlink:href') || '')")  # fmt: skip
        found += [link for link in links if not OWN_LINK.fullmatch(link)]
        found += frame.eval_on_selector_all(
            "img", "all => all.map(one => one.src).filter(one => !/^data:image|^http:..localhost:/.test(one))"
        )
        found += frame.eval_on_selector_all(
            ".katex, .stMarkdownColoredText", "all => all.map(n => n.outerHTML)"
        )
    return found


def open_everything(page) -> None:
    """Open what is folded together, so that it is drawn."""
    closed = page.locator("details:not([open]) > summary")
    for _ in range(closed.count()):
        closed.first.click()
        settle(page)


@pytest.fixture
def kept(workspace):
    """Port of the listener, what it was asked for, and the file name of a unit with hostile texts."""
    with listener() as (port, asked):
        name = Workspace(workspace).create(hostile_case(port)).name
        yield port, asked, name
        for path in workspace.iterdir():
            path.unlink()


def test_every_page_shows_hostile_texts_as_they_are_and_asks_nobody(desk, ears, address, kept):
    port, asked, name = kept
    title, label = hostile_text("name", port), hostile_text("label21", port)
    problems = {}
    for question in EVERY:
        open_page(desk, f"{address}/{question.address}?unit={name}")
        open_everything(desk)
        texts = shown(desk)
        wanted = (title, label) if question.needs_unit and question != GROWTH else (title,)  # it has no visit
        missing = [text[:8] for text in wanted if text not in texts]
        acted = acted_on(desk)
        if missing or acted:
            problems[question.title] = {"not shown": missing, "acted on": acted}
    assert problems == {}
    assert (ears.foreign, ears.complaints, asked) == ([], [], [])


def test_sentences_buttons_and_tables_show_hostile_texts_as_they_are(desk, ears, address, kept, tmp_path):
    port, asked, name = kept
    title = hostile_text("name", port)
    odd = hostile_text("file", port)
    header = f"![x](http://127.0.0.1:{port}/h.png) :material/home: <b>b</b>"

    open_page(desk, f"{address}/units")
    desk.get_by_role("button", name="More").first.click()
    desk.get_by_role("button", name="Duplicate").click()
    desk.wait_for_selector("[data-testid=stAlert]")
    settle(desk)
    assert f"Duplicated as {title}" in shown(desk)
    assert acted_on(desk) == []

    open_page(desk, f"{address}/units?unit={quote(odd)}")
    assert odd[:60] in shown(desk)
    assert acted_on(desk) == []

    case_file, table = tmp_path / "case.toml", tmp_path / "table.csv"
    case_file.write_text(case_text(hostile_case(port)), encoding="utf-8")
    with table.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([["outdoor_db", header], ["95", header]])
    open_page(desk, f"{address}/read-in?unit={name}")
    desk.locator("input[type=file]").set_input_files(case_file)
    desk.get_by_role("button", name="Save as a unit").wait_for()
    settle(desk)
    assert f"{title}: R410A" in shown(desk)
    assert acted_on(desk) == []
    desk.get_by_text("A table of visits", exact=True).click()
    desk.get_by_text("One visit in each row or column").wait_for()
    settle(desk)
    desk.locator("input[type=file]").set_input_files(table)
    desk.get_by_text("Coil of visits without an entry for it").wait_for()
    settle(desk)
    texts = shown(desk)
    assert f"form of {title}" in texts
    assert f"Column “{header}”, such as {header[:20]}" in texts
    assert acted_on(desk) == []
    assert (ears.foreign, ears.complaints, asked) == ([], [], [])
