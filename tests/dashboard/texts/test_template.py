"""The template: every text is in it, and it is up to date."""

import ast
from pathlib import Path

from babel.messages.pofile import read_po

from dashboard.texts.template import KEYWORDS, PACKAGES, TEMPLATE, tabled, template

ROOT = Path(__file__).resolve().parents[3]


def test_it_is_up_to_date():
    assert TEMPLATE.read_text(encoding="utf-8") == template(), "run python -m dashboard.texts.template"


def test_it_is_a_gettext_file_with_the_texts_of_tables():
    with TEMPLATE.open(encoding="utf-8") as file:
        known = {one.id for one in read_po(file, abort_invalid=True)}
    assert len(known) > 500
    assert {text for texts in tabled().values() for text in texts} <= known
    assert ("{number} year", "{number} years") in known


def test_no_text_is_put_together_before_it_is_looked_up():
    for path in (one for package in PACKAGES for one in (ROOT / package).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in KEYWORDS:
                for one in node.args[: KEYWORDS[node.func.id]]:
                    where = f"{path.relative_to(ROOT)}:{one.lineno}"
                    assert not isinstance(one, ast.JoinedStr | ast.BinOp), where
