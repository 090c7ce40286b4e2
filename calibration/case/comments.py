"""Comments of a case file, carried over from its former text to a new one.

A comment belongs to what it stands at: the entry or table on its own line or, where it has lines of its own,
the next one; the first comment belongs to the beginning of the file and the last to its end. It goes wherever
that entry goes, a visit being known by its label, and goes with a visit or a table that is taken out. Lines
of comment at an entry that is not written any more stay with its table. The new text with its comments must
say the very same as without them; otherwise it is taken without.

References
----------
TOML v1.0.0.
"""

from __future__ import annotations

import re
import tomllib
from collections import Counter, defaultdict
from collections.abc import Iterator
from typing import Any, NamedTuple

Place = tuple[str | int, ...]
"""Names of tables and entry, the number of a table in a list after the list's name."""

BEGINNING: Place = ()
END: Place = ("",)
"""Places of what stands before the first line and after the last; no entry of a case has an empty name."""
_TOKEN = re.compile(
    r'"""(?:\\.|"{1,2}(?!")|[^"\\])*"{3,5}'
    r"|'''(?:'{1,2}(?!')|[^'])*'{3,5}"
    r'|"(?:\\.|[^"\\\n])*"'
    r"|'[^'\n]*'"
    r"|#[^\n]*"
    r"|[^\"'#\n=\[\]{}]+"
    r"|.",
    re.DOTALL,
)


class Statement(NamedTuple):
    """One entry, head of a table or blank line, on one line or several.

    Attributes
    ----------
    text : str
        As it stands, without its comments.
    name : str
        What is before its equals sign; empty for a head or a blank line.
    within : tuple of str
        Comments inside, between the lines of a list.
    beside : str
        Comment at its end, empty for none.
    """

    text: str
    name: str
    within: tuple[str, ...]
    beside: str


class Commented(NamedTuple):
    """A statement at its place with the comments that belong to it.

    Attributes
    ----------
    place : Place
        Where it stands; the one that follows for a blank line.
    statement : Statement
        The statement; an empty one for the comments at the end of the file.
    above : tuple of str
        Lines of comment before it, blank ones between them.
    """

    place: Place
    statement: Statement
    above: tuple[str, ...]


def with_comments(new: str, former: str) -> str:
    """Text of a case with the comments of its former text.

    Parameters
    ----------
    new : str
        Text without comments.
    former : str
        What it replaces: any text in TOML.

    Returns
    -------
    str
        The new text with comments; without where that could not be done without changing what it says.
    """
    former = former.replace("\r\n", "\n")
    if "#" not in former:
        return new
    try:
        text = _joined(new, former)
        return text if tomllib.loads(text) == tomllib.loads(new) else new
    except ValueError:
        return new


def _joined(new: str, former: str) -> str:
    """New text with every comment of the former one that has a place in it."""
    lines = list(_commented(new))
    places = {line.place for line in lines}
    above, beside = _comments_by_place(former, new, places)
    text = [*above[BEGINNING]]
    for line in lines:
        if line.statement.text.strip():
            text += above[line.place]
        comment = beside.get(line.place) if line.statement.text.strip() else None
        text.append(f"{line.statement.text}  {comment}" if comment else line.statement.text)
    while text and not text[-1]:
        text.pop()
    return "\n".join([*text, *([""] if above[END] else []), *above[END]]) + "\n"


def _comments_by_place(
    former: str, new: str, places: set[Place]
) -> tuple[dict[Place, list[str]], dict[Place, str]]:
    """Lines of comment and comments beside, by the places of the new text."""
    visits = _same_visits(tomllib.loads(former), tomllib.loads(new))
    above: dict[Place, list[str]] = defaultdict(list)
    beside: dict[Place, str] = {}
    for line in _commented(former):
        place = line.place
        if place[:1] == ("visit",) and len(place) > 1:
            if place[1] not in visits:
                continue
            place = ("visit", visits[int(place[1])], *place[2:])
        if place in places or place in (BEGINNING, END):
            above[place] += line.above
            if line.statement.beside:
                beside[place] = line.statement.beside
        elif place[:-1] in places:
            above[place[:-1]] += line.above
    return above, beside


def _same_visits(former: dict[str, Any], new: dict[str, Any]) -> dict[int, int]:
    """Number of each visit in the new tables by its number in the former ones."""
    before, now = ([_label(visit) for visit in _visits(tables)] for tables in (former, new))
    same = {number: now.index(label) for number, label in enumerate(before) if label in now}
    renamed = {
        number: number
        for number, (label, new_label) in enumerate(zip(before, now, strict=False))
        if label not in now and new_label not in before
    }
    return same | renamed


def _visits(tables: dict[str, Any]) -> list[dict[str, Any]]:
    """Visits of a case, whatever else is there under their name."""
    visits = tables.get("visit")
    return [visit for visit in visits if isinstance(visit, dict)] if isinstance(visits, list) else []


def _label(visit: dict[str, Any]) -> str:
    """Label of a visit, or what it is called where it has none."""
    usual = " ".join(str(visit[name]) for name in ("date", "coil") if visit.get(name))
    return str(visit.get("label") or usual).strip()


def _commented(text: str) -> Iterator[Commented]:
    """Statements of a text at their places, the comments before each with it."""
    table: Place = ()
    counted: Counter[tuple[str, ...]] = Counter()
    waiting: list[str] = []
    first = True
    for statement in _statements(text):
        if not statement.text.strip():
            waiting += [statement.beside] if statement.beside or waiting else []
            if not statement.beside:
                yield Commented(END, Statement("", "", (), ""), ())
            continue
        if statement.name:
            place = (*table, *_names(f"{statement.name}= 0"))
        else:
            place = table = _table_place(statement.text.strip(), counted)
        if first and waiting:
            yield Commented(BEGINNING, Statement("", "", (), ""), tuple(waiting))
            waiting = []
        first = False
        yield Commented(place, statement, (*waiting, *statement.within))
        waiting = []
    yield Commented(END, Statement("", "", (), ""), tuple(waiting))


def _table_place(head: str, counted: Counter[tuple[str, ...]]) -> Place:
    """Place of a table by its head; tables of a list are counted."""
    names = _names(head)
    if not head.startswith("[["):
        return names
    counted[names] += 1
    return (*names, counted[names] - 1)


def _names(statement: str) -> tuple[str, ...]:
    """Names in a head or before an equals sign, as the reader of TOML understands them."""
    inner: Any = tomllib.loads(statement)
    names = []
    while isinstance(inner, dict | list) and inner:
        if isinstance(inner, list):
            inner = inner[0]
        else:
            ((name, inner),) = inner.items()
            names.append(name)
    return tuple(names)


def _statements(text: str) -> Iterator[Statement]:
    """Statements and blank lines of a text, comments taken out of them."""
    pieces: list[str] = []
    within: list[str] = []
    name, beside, depth = "", "", 0
    for token in (*_TOKEN.findall(text.removesuffix("\n")), "\n"):
        if token == "\n" and depth == 0:
            yield Statement("".join(pieces).rstrip(), name, tuple(within), beside)
            pieces, within, name, beside = [], [], "", ""
            continue
        if token.startswith("#"):
            if depth:
                within.append(token.rstrip())
            else:
                beside = token.rstrip()
            continue
        if token == "=" and depth == 0 and not name:
            name = "".join(pieces)
        depth += (token in "[{") - (token in "]}")
        pieces.append(token)
