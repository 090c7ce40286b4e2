"""What is wrong with a case file: one sentence a problem, with its place."""

from __future__ import annotations

import datetime as dt
import reprlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from calibration.case.units import Quantity, System

MOST_PROBLEMS = 100
"""Problems of one document that are listed; of more only the number is given."""
Path = tuple[str | int, ...]
"""Place of an entry: ("unit", "altitude") or ("visit", 0, "return_wb")."""


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong.

    Attributes
    ----------
    path : tuple of str and int
        Its place in the document, for a form that shows it beside its field.
    place : str
        The same in words.
    sentence : str
        What is there and what is expected.
    """

    path: Path
    place: str
    sentence: str

    def __str__(self) -> str:
        return f"{self.place}: {self.sentence}" if self.place else self.sentence


class CaseError(ValueError):
    """A case that cannot be read; `problems` lists everything that is wrong with it.

    Parameters
    ----------
    faults : iterable of Fault
        At least one.
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class Problems:
    """Faults of one document as they are found, one at most for each path, `MOST_PROBLEMS` at most."""

    def __init__(self, document: Mapping[str, object]) -> None:
        self._document = document
        self._paths: set[Path] = set()
        self.found: list[Problem] = []
        self.more = 0

    @property
    def full(self) -> bool:
        """Whether no more faults are listed, so that looking for more is of no use."""
        return len(self.found) >= MOST_PROBLEMS

    def add(self, path: Path, sentence: str) -> None:
        """Note one fault at a path of the document."""
        if self.full:
            self.more += 1
            return
        self._paths.add(path)
        self.found.append(Problem(path, place_in_words(path, self._document), sentence))

    def has(self, path: Path) -> bool:
        """Whether a problem is at this very path."""
        return path in self._paths

    def at(self, path: Path) -> bool:
        """Whether a problem is at this path or below it."""
        return any(problem.path[: len(path)] == path for problem in self.found)

    def error(self) -> CaseError:
        """Everything that was found, and how much was left out."""
        if not self.more:
            return CaseError(self.found)
        return CaseError([*self.found, Problem((), "", f"and {self.more} more")])


def place_in_words(path: Path, document: Mapping[str, object]) -> str:
    """Words for the place of an entry: ``[unit] altitude``, ``visit 2 (as found), return_wb``.

    Parameters
    ----------
    path : Path
        Place of an entry.
    document : mapping of str to object
        The tables around it, for the names of visits.

    Returns
    -------
    str
        Words; empty for the document as a whole.
    """
    if not path:
        return ""
    path = tuple(part if isinstance(part, int) else _key_name(part) for part in path)
    if path[0] == "visit" and len(path) > 1 and isinstance(path[1], int):
        head, rest = f"visit {path[1] + 1}{_visit_name(document, path[1])}", path[2:]
        return ", ".join([head, *map(str, rest)])
    entry = f", entry {path[-1] + 1}" if isinstance(path[-1], int) else ""
    inner = path[:-1] if entry else path
    tables = ".".join(str(part) for part in inner[:-1] if isinstance(part, str))
    number = next((f"{part + 1}, " for part in inner if isinstance(part, int)), "")
    return f"{f'[{tables}] ' if tables else ''}{number}{inner[-1]}{entry}"


def _key_name(key: str) -> str:
    """A key of the file as it can be shown."""
    return key if key.isprintable() and len(key) <= 60 else shortened(key)


def _visit_name(document: Mapping[str, object], index: int) -> str:
    """Label of a visit in brackets, else its coil, else nothing."""
    visits = document.get("visit")
    visit = visits[index] if isinstance(visits, list) and index < len(visits) else None
    if not isinstance(visit, Mapping):
        return ""
    name = visit.get("label") or visit.get("coil")
    return f" ({name})" if isinstance(name, str) and name.isprintable() and len(name) <= 60 else ""


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """The end of a sentence about a word that is not known: the nearest known one, or all of a short list.

    Parameters
    ----------
    word : str
        The entry.
    known : sequence of str
        Entries that are allowed.

    Returns
    -------
    str
        End of a sentence, without a full stop.
    """
    names = list(known)
    word = word[:60]
    lowered = {name.lower(): name for name in names}
    near = get_close_matches(word.lower(), lowered, n=1, cutoff=0.6)
    if near:
        return f"did you mean {lowered[near[0]]}?"
    return f"known are {', '.join(names)}" if len(names) <= 12 else "there is no such entry"


def in_unit(value: float, quantity: Quantity, system: System) -> str:
    """A typed number with its unit.

    Parameters
    ----------
    value : float
        As typed.
    quantity : Quantity
        Its kind.
    system : System
        System in which it was typed.

    Returns
    -------
    str
        Such as "301.2 degF".
    """
    return f"{number_text(value)} {quantity.label(system)}".rstrip()


def number_text(value: float) -> str:
    """A number with its first six digits, without an exponent as long as it is readable.

    Parameters
    ----------
    value : float
        Any number.

    Returns
    -------
    str
        Such as "0.123457" or "35000".
    """
    return f"{value:.0f}" if 1e5 <= abs(value) < 1e15 else f"{value:.6g}"


_BRIEFLY = reprlib.Repr()
_BRIEFLY.maxlevel, _BRIEFLY.maxlist, _BRIEFLY.maxdict = 3, 20, 8
_BRIEFLY.maxother = _BRIEFLY.maxlong = _BRIEFLY.maxstring = 60


def shortened(value: object) -> str:
    """An entry as in the file, cut to one line.

    Parameters
    ----------
    value : object
        Anything that a document can hold, however long or deep.

    Returns
    -------
    str
        At most 60 printable characters.
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dt.date | dt.time):
        return value.isoformat()
    if isinstance(value, str):
        text = repr(value[:60]) if value[:60].isprintable() else ascii(value[:60])
        return text if len(value) <= 60 and len(text) <= 60 else f"{text[:57]}..."
    text = _BRIEFLY.repr(value)  # an entry may be nested as deep as it is long
    return text if len(text) <= 60 else f"{text[:57]}..."
