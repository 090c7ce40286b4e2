"""A case while it is being typed: texts as typed, with the system of units they were typed in.

A number that was typed in one system is shown in the other as a rounded conversion, and is again what was
typed when the screen is switched back; what is checked and saved is the number that was typed. Nothing here
knows what is right: the tables that the texts make are given to `calibration.case.document`, whose sentences
are put beside their fields.
"""

import datetime as dt
import itertools
import re
import secrets
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from calibration.case.document import case_from_document, document_of
from calibration.case.entries import Writing, number_of, shortest_number
from calibration.case.errors import CaseError, Path, shortened
from calibration.case.keys import Key, find_key
from calibration.case.records import Case
from calibration.case.units import Quantity, Scale, System
from calibration.case.written_units import number_with_unit

SHOWN_DIGITS = 5  # digits of a number shown in another unit than it was typed in
CONVERTED_DIGITS = 7  # of a number that was typed with a unit of its own
SECTIONS: dict[str, Path] = {
    "unit": ("unit",),
    "instruments": ("instruments",),
    "season": ("season",),
    "tariff": ("season", "tariff"),
    "bill": ("season", "bill"),
    "cleaning": ("cleaning",),
    "report": ("report",),
}
"""Sections of the table of keys and the place of each in a case; visits are under ("visit", number)."""
VISITS: Path = ("visit",)
ROWS: dict[str, Path] = {
    "visit": VISITS,
    "period": ("season", "tariff", "periods"),
    "block": ("season", "tariff", "blocks"),
}
"""Sections of which a case holds several, and the place of their list."""
NOT_IN_FORMS: tuple[Path, ...] = (("unit", "compressor_map"), ("unit", "capacity_table"), ("track",))
"""Parts of a case that no form shows; they are kept as they are."""
MOST_STEPS = 50
"""Changes that can be undone."""
_SERIALS = itertools.count(1)


class Typed(NamedTuple):
    """A text and the system of units in which it was typed."""

    text: str
    system: System


class EarlierState(NamedTuple):
    """What a change was about, and everything as it was before."""

    words: str
    path: Path
    entries: dict[Path, Typed]
    visits: list[int]


@dataclass(frozen=True)
class Checked:
    """What a draft comes to.

    Attributes
    ----------
    case : Case or None
        The case; None while something is wrong.
    faults : dict of path to str
        What is wrong, by the field that it belongs to.
    others : tuple of str
        What is wrong and has no field.
    """

    case: Case | None
    problems: dict[Path, str]
    others: tuple[str, ...]


@dataclass
class Draft:
    """A case that is being typed.

    Attributes
    ----------
    entries : dict of path to Typed
        ``("unit", "name")``, ``("visit", 3, "outdoor_db")``: the number of a visit or row is its own, not
        its place.
    visits : list of int
        Numbers of the visits in their order.
    base : Case or None
        The case that was opened; None for a new one.
    name, version : str
        File in the workspace and the version that was opened; empty for a new unit.
    tried : bool
        Whether saving was tried: from then on missing entries are marked, too.
    message : str
        Why it could not be written, where what was typed is not to blame.
    serial : int
        Number of the draft in this process, for the keys of its fields; a new one after a step back, so that
        the fields show what they hold then.
    key, origin : str
        What tells it from every other draft, and the draft that it is a copy of: its own where of none.
    remark : str
        Where it comes from, to be said until something is changed.
    steps : list of EarlierState
        What can be undone, the latest last.
    """

    entries: dict[Path, Typed] = field(default_factory=dict)
    visits: list[int] = field(default_factory=list)
    base: Case | None = None
    name: str = ""
    version: str = ""
    tried: bool = False
    message: str = ""
    serial: int = field(default_factory=lambda: next(_SERIALS))
    key: str = field(default_factory=lambda: secrets.token_hex(8))
    origin: str = ""
    remark: str = ""
    steps: list[EarlierState] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.origin = self.origin or self.key

    def put(self, path: Path, text: str, system: System) -> None:
        """Take what was typed into a field; an empty text empties it."""
        if text.strip() and self.text(path, system) == text:
            return
        if not text.strip() and path not in self.entries:
            return
        key = key_at(path)
        self._remember(key.words if key else str(path[-1]), path)
        if text.strip():
            self.entries[path] = Typed(text.strip(), system)
        else:
            self.entries.pop(path)

    def _remember(self, words: str, path: Path = ()) -> None:
        """Before a change: what it is about. Letters typed into one field are one change."""
        self.remark = ""
        if path and self.steps and self.steps[-1].path == path:
            return
        self.steps.append(EarlierState(words, path, dict(self.entries), list(self.visits)))
        del self.steps[:-MOST_STEPS]

    def undo(self) -> None:
        """Take the latest change back."""
        step = self.steps.pop()
        self.entries, self.visits = step.entries, step.visits
        self.serial, self.tried, self.message = next(_SERIALS), False, ""

    def show_anew(self) -> None:
        """Have the fields show what the draft holds, whatever they showed before."""
        self.serial = next(_SERIALS)

    def reset(self, system: System) -> None:
        """As the unit is stored, or an empty form; can be undone."""
        fresh = draft_of(self.base) if self.base else new_draft(system)
        self._remember("discarding" if self.base else "emptying")
        self.entries, self.visits = fresh.entries, fresh.visits
        self.serial, self.tried, self.message = next(_SERIALS), False, ""

    def text(self, path: Path, system: System, scale: Scale | None = None) -> str:
        """Text of a field on a screen in one system; empty where nothing was typed.

        Parameters
        ----------
        path : tuple
            The field.
        system : {"US", "SI"}
            System of the screen.
        scale : Scale or None
            Unit in which the field is shown, where that is not the system's.
        """
        typed = self.entries.get(path)
        if typed is None:
            return ""
        key = key_at(path)
        if key is None or key.form not in ("number", "series") or key.quantity is None:
            return typed.text
        if key.form == "series":
            return self._series_text(typed, key.quantity, system)
        try:
            number, own = number_with_unit(typed.text, key.quantity)
        except ValueError:
            return typed.text
        if scale is not None and own is not None and own.label == scale.label:
            return shortest_text(number)
        if scale is None and typed.system == system:
            return typed.text
        value = (own or key.quantity.scale(typed.system)).to_si(number)
        return f"{(scale or key.quantity.scale(system)).from_si(value):.{SHOWN_DIGITS}g}"

    @staticmethod
    def _series_text(typed: Typed, quantity: Quantity, system: System) -> str:
        """Several numbers in the other system than they were typed in."""
        if typed.system == system:
            return typed.text
        try:
            values = [quantity.to_si(one, typed.system) for one in _numbers(typed.text)]
        except ValueError:
            return typed.text
        return ", ".join(f"{quantity.from_si(one, system):.{SHOWN_DIGITS}g}" for one in values)

    def add_visit(self, values: Mapping[str, str], system: System) -> int:
        """A new visit with some fields filled; its number."""
        self._remember("new visit")
        number = max(self.visits, default=0) + 1
        self.visits.append(number)
        for name, text in values.items():
            if text.strip():
                self.entries["visit", number, name] = Typed(text.strip(), system)
        return number

    def copy_visit(self, number: int) -> int:
        """A second visit with the fields of another, but for its label; its number."""
        self._remember("copy of a visit")
        new = max(self.visits) + 1
        self.visits.insert(self.visits.index(number) + 1, new)
        for path, typed in list(self.entries.items()):
            if path[:2] == ("visit", number) and path[2] != "label":
                self.entries["visit", new, path[2]] = typed
        return new

    def drop_visit(self, number: int) -> None:
        """Take a visit out; can be undone."""
        self._remember("removal of a visit")
        self.visits.remove(number)
        self.entries = {path: typed for path, typed in self.entries.items() if path[:2] != ("visit", number)}

    def leave_humidity_open(self, number: int, is_open: bool, system: System) -> None:
        """Say of a visit that the humidity was not read, where none is typed, or take that back."""
        path = ("visit", number, "return_humidity")
        read = any(
            ("visit", number, f"return_{ending}") in self.entries for ending in ("wb", "rh", "dewpoint")
        )
        if is_open and not read:
            self.entries.setdefault(path, Typed("unknown", system))
        else:
            self.entries.pop(path, None)

    def typed_in(self, number: int) -> bool:
        """Whether a reading, or anything else about it, was typed for a visit."""
        quiet = {"label", "date", "time", "coil", "return_humidity"}
        return any(path[:2] == ("visit", number) and path[2] not in quiet for path in self.entries)

    def rows(self, place: Path) -> list[int]:
        """Numbers of the rows of a list, such as the tariff's periods, in which something was typed."""
        many = len(place) + 2
        return sorted({int(path[-2]) for path in self.entries if len(path) == many and path[:-2] == place})

    def swap_rows(self, place: Path, first: int, second: int) -> None:
        """Let two rows of a list, such as the tariff's periods, change places; can be undone."""
        self._remember("order of rows")
        numbers = {(*place, first): second, (*place, second): first}
        self.entries = {
            (*place, numbers[path[:-1]], path[-1]) if path[:-1] in numbers else path: typed
            for path, typed in self.entries.items()
        }
        self.show_anew()

    def changes(self) -> int:
        """Number of fields that are not as they were opened, and of visits added or removed."""
        opened = draft_of(self.base) if self.base else new_draft("US")
        before, now = opened.entries, self.entries
        changed = sum(_as_typed(before.get(path)) != _as_typed(now.get(path)) for path in {*before, *now})
        return changed + (self.visits != opened.visits and not changed)

    def checked(self, system: System) -> Checked:
        """The case that the texts make, or everything that is wrong, in the units of one system.

        Parameters
        ----------
        system : {"US", "SI"}
            System of the case and of the sentences.

        Returns
        -------
        Checked
            Visits in which nothing was typed are left out.
        """
        kept = {place: self.rows(place) for place in ROWS.values()}
        kept[VISITS] = [number for number in self.visits if self.typed_in(number)]
        document, problems = self._document(kept, system)
        try:
            case = case_from_document(document)
        except CaseError as error:
            others = []
            for problem in error.problems:
                path = _field_path(problem.path, kept)
                if key_at(path) is None:
                    others.append(str(problem))
                else:
                    problems.setdefault(path, problem.sentence)
            return Checked(None, problems, tuple(others))
        return Checked(None if problems else case, problems, ())

    def _document(
        self, kept: Mapping[Path, list[int]], system: System
    ) -> tuple[dict[str, Any], dict[Path, str]]:
        """Tables of the case with numbers in one system, and texts that are no numbers."""
        document: dict[str, Any] = {"units": system, "unit": {}}
        for place, numbers in kept.items():
            if numbers:
                _table_at(document, place)[str(place[-1])] = [{} for _ in numbers]
        problems: dict[Path, str] = {}
        for path, typed in self.entries.items():
            key = key_at(path)
            if key is None or (path[0] == "visit" and path[1] not in kept[VISITS]):
                continue
            try:
                value = _value(key, typed, system)
            except ValueError as error:
                problems[path] = str(error)
                continue
            _table_at(document, _document_path(path, kept))[str(path[-1])] = value
        self._keep_what_no_form_shows(document, system)
        return document, problems

    def _keep_what_no_form_shows(self, document: dict[str, Any], system: System) -> None:
        if self.base is None:
            return
        opened = document_of(self.base, system)
        for path in NOT_IN_FORMS:
            part = _part(opened, path)
            if part:
                _table_at(document, path)[str(path[-1])] = part


def _as_typed(typed: Typed | None) -> tuple[str, str] | None:
    """What distinguishes two entries: the system only matters for numbers."""
    if typed is None:
        return None
    return typed.text, typed.system if any(sign.isdigit() for sign in typed.text) else ""


def _field_path(path: Path, kept: Mapping[Path, list[int]]) -> Path:
    """Path of a field for the path of a problem, which counts visits and rows by their place."""
    for place, numbers in kept.items():
        many = len(place)
        if path[:many] == place and len(path) > many and isinstance(path[many], int):
            return (*place, numbers[int(path[many])], *path[many + 1 :])
    return path


def _document_path(path: Path, kept: Mapping[Path, list[int]]) -> Path:
    """Path in the document for that of a field: its visit or row by its place among those kept."""
    for place, numbers in kept.items():
        many = len(place)
        if path[:many] == place:
            return (*place, numbers.index(int(path[many])), *path[many + 1 :])
    return path


def _table_at(document: dict[str, Any], path: Path) -> dict[str, Any]:
    """The table of the entry at a path, made where there is none."""
    table: Any = document
    for step in path[:-1]:
        table = table[step] if isinstance(step, int) else table.setdefault(step, {})
    whole: dict[str, Any] = table
    return whole


def _value(key: Key, typed: Typed, system: System) -> Any:
    """What a text means, as a case file in one system would hold it.

    Raises
    ------
    ValueError
        With the sentence for the field.
    """
    text = typed.text
    match key.form:
        case "number":
            number = _number_in_field(key, typed)
            if typed.system == system or key.quantity is None:
                return number
            return shortest_number(key.quantity.to_si(number, typed.system), key.quantity, Writing(system))
        case "whole":
            return int(_number_in_field(key, typed))
        case "months" | "hours":
            return [int(word) for word in _words(text)]
        case "series":
            numbers = _numbers(text)
            if typed.system == system or key.quantity is None:
                return numbers
            quantity, own, other = key.quantity, typed.system, Writing(system)
            return [shortest_number(quantity.to_si(one, own), quantity, other) for one in numbers]
        case "numbers":
            return _numbers(text)
        case "weekdays":
            return _words(text)
        case "flag":
            return text == "true"
        case _:
            return text


def shortest_text(number: float) -> str:
    """A number without needless digits."""
    return f"{number:.15g}"


def number_in_system(key: Key, typed: Typed) -> float:
    """Number that was typed, in the system that it was typed in, whatever unit stands behind it.

    Raises
    ------
    ValueError
        When it is none.
    """
    number, scale = number_with_unit(typed.text, key.quantity)
    if scale is None or key.quantity is None:
        return number
    own = key.quantity.scale(typed.system)
    return number if scale == own else float(f"{own.from_si(scale.to_si(number)):.{CONVERTED_DIGITS}g}")


def _number_in_field(key: Key, typed: Typed) -> float:
    try:
        return number_in_system(key, typed)
    except ValueError:
        unit = key.quantity.label(typed.system) if key.quantity else ""
        example = key.example_in(typed.system) or key.example
        such = f", such as {example}" if example else ""
        raise ValueError(
            f"is {shortened(typed.text)}; a number{f' in {unit}' if unit else ''} is expected{such}"
        ) from None


def _numbers(text: str) -> list[float]:
    return [number_of(word) for word in text.split(";" if ";" in text else ",")]


def _words(text: str) -> list[str]:
    return [word for word in re.split(r"[,;\s]+", text) if word]


def key_at(path: Path) -> Key | None:
    """Row of the table of keys for a field; None where the path is that of no field."""
    for section, place in ROWS.items():
        if len(path) == len(place) + 2 and path[:-2] == place and isinstance(path[-2], int):
            return find_key(str(path[-1]), section)
    for section, place in SECTIONS.items():
        if path[:-1] == place:
            return find_key(str(path[-1]), section)
    return None


def draft_of(case: Case, name: str = "", version: str = "") -> Draft:
    """A draft of a case that there is, texts in the case's own system.

    Parameters
    ----------
    case : Case
        What is to be changed.
    name, version : str
        File and version in the workspace.

    Returns
    -------
    Draft
        Whose `checked` gives the same case back.
    """
    document = document_of(case)
    draft = Draft(base=case, name=name, version=version)
    for section, place in SECTIONS.items():
        draft.entries.update(_texts(_part(document, place) or {}, section, place, case.units))
    for section, place in ROWS.items():
        for number, row in enumerate(_part(document, place) or [], start=1):
            draft.entries.update(_texts(row, section, (*place, number), case.units))
    draft.visits += range(1, 1 + len(document.get("visit", [])))
    return draft


def _part(document: dict[str, Any], place: Path) -> Any:
    """What stands at a place of a document; None where nothing does."""
    part: Any = document
    for step in place:
        part = part.get(step) if isinstance(part, dict) else None
    return part


def _texts(
    table: Mapping[str, Any], section: str, place: Path, system: System
) -> Iterator[tuple[Path, Typed]]:
    for name, value in table.items():
        if find_key(name, section) is not None:
            yield (*place, name), Typed(text_of(value), system)


def text_of(value: Any) -> str:
    """Text that a value of a case file is typed as."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return f"{value:.15g}"
    if isinstance(value, list):
        return ", ".join(text_of(one) for one in value)
    return str(value)


def new_draft(system: System) -> Draft:
    """A draft of a new unit with the most common answers given and two empty visits, clean and as found."""
    draft = Draft()
    usual = {
        "refrigerant": "R410A",
        "expansion": "TXV",
        "compressor": "scroll",
        "indoor_blower": "fixed speed",
        "outdoor_fan": "fixed speed",
        "coil_type": "tube and fin",
    }
    for name, text in usual.items():
        draft.put(("unit", name), text, system)
    draft.add_visit({"coil": "clean"}, system)
    draft.add_visit({"coil": "as found", "date": dt.date.today().isoformat()}, system)
    draft.steps.clear()
    return draft
