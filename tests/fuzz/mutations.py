"""Random changes of a text, by a generator of random numbers that the caller seeds.

Not a test. The changes are of the kind that hands, programs and disks make: digits that slip, lines that go
missing or come twice, files that end early, numbers out of all bounds, characters from elsewhere.
"""

import random
import re
from collections.abc import Callable

NUMBERS = (
    "0", "-0.0", "-1", "1e-320", "1e9", "-1e9", "1e308", "1e309", "-1e309", "nan", "inf", "-inf", "0x10",
    "1_0", "99999999999999999999999", "0.1e", "1e", "--1", "+5", "1,5", "''", '"12"', "true", "[]", "{}",
    "2026-05-14", "1979-05-27T07:32:00Z", "14:30:00", "=1+1", "32", "212", "14.7", "101325", "293.15", "0.5",
    "50", "5000",
)  # fmt: skip
PIECES = (
    "\0", "\x1b[2J", "\u202e", "\ufeff", "\ud7ff", "é", "𝔘", "\\", '"', "'", '"""', "[", "]]", "{", "}", "=",
    "#", ",", ";", "\t", "\r", "\n\n", "=cmd|'/C calc'!A0", "@SUM(A1)", "../../x", "C:\\x", "%s%n", "$(id)",
    "`id`", "<script>", "#panic()", "a" * 5000, "null", "NaN", "\u2028",
)  # fmt: skip
NUMBER = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?")


def mutated(text: str, rng: random.Random) -> bytes:
    """The text after one to four random changes, as bytes of the encoding that they ended in."""
    for _ in range(rng.choice((1, 1, 1, 2, 2, 3, 4))):
        text = rng.choice(CHANGES)(text, rng)
    encoding = rng.choices(("utf-8", "utf-16", "latin-1", "utf-8-sig"), (40, 1, 1, 2))[0]
    content = text.encode(encoding, errors="replace")
    if rng.random() < 0.03:
        place = rng.randrange(len(content) + 1)
        content = (
            content[:place] + bytes(rng.randrange(256) for _ in range(rng.randrange(40))) + content[place:]
        )
    return content


def damaged(content: bytes, rng: random.Random) -> bytes:
    """A binary file after one to four random changes: bits that flip, pieces that are lost or come twice."""
    for _ in range(rng.choice((1, 1, 2, 4))):
        place, size = rng.randrange(len(content) + 1), rng.choice((1, 1, 4, 64, 1000))
        middle = content[place : place + size]
        new = rng.choice(
            (bytes(len(middle)), middle * 2, b"", bytes(b ^ 1 << rng.randrange(8) for b in middle))
        )
        content = content[:place] + new + content[place + size :]
    return content


def _other_number(text: str, rng: random.Random) -> str:
    found = list(NUMBER.finditer(text))
    if not found:
        return text
    place = rng.choice(found)
    new = rng.choice((*NUMBERS, f"{float(place[0]) * rng.choice((0.0, 0.1, 0.5, 0.9, 1.1, 2, 10, -1)):.6g}"))
    return text[: place.start()] + new + text[place.end() :]


def _swapped_numbers(text: str, rng: random.Random) -> str:
    found = list(NUMBER.finditer(text))
    if len(found) < 2:
        return text
    first, second = sorted(rng.sample(found, 2), key=lambda one: one.start())
    between = text[first.end() : second.start()]
    return text[: first.start()] + second[0] + between + first[0] + text[second.end() :]


def _cut(text: str, rng: random.Random) -> str:
    return text[: rng.randrange(len(text) + 1)]


def _without_a_piece(text: str, rng: random.Random) -> str:
    place = rng.randrange(len(text) + 1)
    return text[:place] + text[place + rng.randrange(1, 60) :]


def _with_a_piece(text: str, rng: random.Random) -> str:
    place = rng.randrange(len(text) + 1)
    return text[:place] + rng.choice(PIECES) + text[place:]


def _lines(change: Callable[[list[str], random.Random], None]) -> Callable[[str, random.Random], str]:
    def changed(text: str, rng: random.Random) -> str:
        lines = text.split("\n")
        change(lines, rng)
        return "\n".join(lines)

    return changed


def _drop_line(lines: list[str], rng: random.Random) -> None:
    del lines[rng.randrange(len(lines))]


def _double_line(lines: list[str], rng: random.Random) -> None:
    place = rng.randrange(len(lines))
    lines.insert(rng.randrange(len(lines) + 1), lines[place])


def _swap_lines(lines: list[str], rng: random.Random) -> None:
    first, second = rng.randrange(len(lines)), rng.randrange(len(lines))
    lines[first], lines[second] = lines[second], lines[first]


CHANGES: tuple[Callable[[str, random.Random], str], ...] = (
    _other_number,
    _other_number,
    _other_number,
    _other_number,
    _swapped_numbers,
    _cut,
    _without_a_piece,
    _with_a_piece,
    _lines(_drop_line),
    _lines(_drop_line),
    _lines(_double_line),
    _lines(_swap_lines),
)
"""Changes; those that come closest to a person's mistakes stand several times."""
