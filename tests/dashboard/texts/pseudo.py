"""A language that nobody speaks: every letter of the template is another, and every text a third longer."""

import re
from pathlib import Path

from babel.messages.pofile import read_po

from calibration.said import PLACEHOLDER
from dashboard.texts.template import TEMPLATE

HEADER = 'msgid ""\nmsgstr ""\n"Language: eo\\n"\n"Plural-Forms: nplurals=2; plural=(n != 1);\\n"\n\n'
OTHERS = str.maketrans(
    {chr(first + n): chr(other + n) for first, other in ((65, 0x410), (97, 0x430)) for n in range(26)}
)
LONGER = 0.3
LETTERS = re.compile(r"[A-Za-z]{2,}")


def other(text: str) -> str:
    """The text in that language, its placeholders as they are."""
    parts = re.split(f"({PLACEHOLDER.pattern.replace('(', '(?:')})", text.strip())
    core = "".join(one if one.startswith("{") else one.translate(OTHERS) for one in parts)
    more = "".join(" жжжжж"[n % 6] for n in range(int(LONGER * len(core)))).rstrip()
    end = text[len(text.rstrip()) :]
    return text[: len(text) - len(text.lstrip())] + core + more + end


def quoted(text: str) -> str:
    """A text as a language file has it."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def pseudo_file(folder: Path) -> Path:
    """Its language file."""
    with TEMPLATE.open(encoding="utf-8") as file:
        entries = [one.id for one in read_po(file) if one.id]
    lines = []
    for entry in entries:
        if isinstance(entry, str):
            lines.append(f"msgid {quoted(entry)}\nmsgstr {quoted(other(entry))}\n")
        else:
            one, many = entry
            lines.append(
                f"msgid {quoted(one)}\nmsgid_plural {quoted(many)}\n"
                f"msgstr[0] {quoted(other(one))}\nmsgstr[1] {quoted(other(many))}\n"
            )
    path = folder / "pseudo.po"
    path.write_text(HEADER + "\n".join(lines), encoding="utf-8")
    return path
