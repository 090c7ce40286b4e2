"""What people read keeps to the words of DEVELOPERS.md: nothing from the last column of its table of words.

Looked through: the help of every command, each README.md without its code, the pages of the demo; its report
in `tests/dashboard/report/test_comparison_report.py`, where it is there already.
Words of the case file and of `--json` are keys, not text: with an underscore, or as code in the README.
"""

import re
from functools import cache
from pathlib import Path

import pytest

from dashboard.cli import COMMANDS, run
from dashboard.commands.study import STUDIES
from dashboard.web.page_list import EDIT, EVERY, START
from tests.dashboard.web.drawn_pages import drawn
from tests.dashboard.web.test_app import texts

ROOT = Path(__file__).resolve().parents[1]
LABELLED = ("button", "selectbox", "slider", "text_input", "segmented_control", "expander", "warning", "info")


@cache
def forbidden() -> dict[str, re.Pattern[str]]:
    """Words of the last column of the table under "Words", each with what finds it in a text."""
    section = (ROOT / "DEVELOPERS.md").read_text("utf-8").split("\n## Words\n")[1].split("\n## ")[0]
    rows = [line.strip("|").split("|") for line in section.splitlines() if line.startswith("|")][2:]
    words = [word.strip() for row in rows for word in row[2].split(",") if word.strip()]
    return {word: re.compile(rf"(?<![\w-]){re.escape(word)}(?![\w-])", re.IGNORECASE) for word in words}


def found_in(text: str) -> list[str]:
    """Each forbidden word of a text with what stands around it."""
    flat = re.sub(r"\s+", " ", text)
    matches = ((word, pattern.search(flat)) for word, pattern in forbidden().items())
    return [f"{word}: … {flat[max(one.start() - 40, 0) : one.end() + 40]} …" for word, one in matches if one]


def test_the_table_is_read_and_its_words_are_found():
    assert len(forbidden()) > 30
    found = found_in("It is Settled that the approach\nis nought, for want of a 90 %  interval.")
    assert {line.split(":")[0] for line in found} == {
        "settled", "approach", "nought", "for want of", "90 % interval",
    }  # fmt: skip
    assert not found_in("settled_minutes, an interval between cleanings, approaching, high-toll")


@pytest.mark.parametrize("words", [(), *((c,) for c in COMMANDS), *(("study", name) for name in STUDIES)])
def test_help(words, capsys):
    assert run([*words, "--help"]) == 0
    assert found_in(capsys.readouterr().out) == []


@pytest.mark.parametrize("folder", [".", "model", "calibration", "dashboard", "cases"])
def test_readme(folder):
    text = (ROOT / folder / "README.md").read_text("utf-8")
    assert found_in(re.sub(r"`[^`]*`", "", re.sub(r"```.*?```", "", text, flags=re.DOTALL))) == []


@pytest.mark.parametrize("demo_open", [False, True], ids=["nothing open", "demo open"])
@pytest.mark.parametrize("question", EVERY, ids=lambda one: one.address or "start")
def test_page(question, demo_open):
    page = drawn(question, demo_open)
    assert not page.exception
    shown = [texts(page), *(str(getattr(one, "label", "")) for kind in LABELLED for one in page.get(kind))]
    assert question.title in " ".join(shown) or question in (START, EDIT)
    assert found_in(" | ".join(shown)) == []
