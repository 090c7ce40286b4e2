"""Rows of a table of units as case files: one for each unit, and a sentence for every row that is left out.

Rows of one site and unit name are one unit; a row without either belongs to the unit above it. Cells may
carry a unit of their own ("35 °C"), else that of the header counts, else that of the row's system of units.
The nameplate is that of the unit's rows together: rows that contradict it are left out, as is every row with
a fault; the other rows of the unit are kept. Season, tariff, cleaning and meters that a table does not have
come from a case that is given beside it.

Assumptions: a visit is as found where the row does not say otherwise. Of two prices or dates of cleaning that
a unit's rows name the later row's counts.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from calibration.case.document import MOST_VISITS, case_from_document
from calibration.case.entries import number_of
from calibration.case.errors import CaseError, Problem, shortened
from calibration.case.keys import Key, keys_of
from calibration.case.records import ambient_pressure_at
from calibration.case.toml_text import toml_text
from calibration.case.units import System
from calibration.files.headers import Column, scale_of
from calibration.files.visit_table import coil_of, iso_date
from calibration.fleet.table import ROW, UNITS, FleetTable

EMPTY = frozenset(
    {
        "",
        "-",
        "--",
        "–",
        "—",
        "n/a",
        "na",
        "n.a.",
        "none",
        "nan",
        "null",
        "?",
        "not taken",
        "not read",
        "#n/a",
    }
)
"""What stands in a cell for a reading that was not taken; common practice, no source."""
CHOICES: dict[str, dict[str, tuple[str, ...]]] = {
    "expansion": {
        "TXV": ("txv", "tev", "tx valve", "valve", "thermostatic valve", "thermostatic expansion valve"),
        "fixed orifice": ("orifice", "piston", "fixed", "accurator", "fixed orifice", "short tube"),
    },
    "called_for": {"routine": ("pm", "maintenance", "planned"), "complaint": ("call", "service call")},
}
"""Words in use for choices of a case file; common practice, no source."""
SAME = 1e-3
"""Two numbers of a nameplate that differ by a smaller share are the same, told in two units [-]."""
_NUMBER = re.compile(r"(?:ca\.?|~|approx\.?)?\s*([+\-−]?[\d.,\s]*\d[\d.,]*(?:[eE][+-]?\d+)?)\s*(.*)")


@dataclass(frozen=True)
class LeftOut:
    """A row that was left out: its table, number and cells, and what is wrong with it."""

    table: FleetTable
    number: int
    cells: tuple[str, ...]
    sentence: str

    @property
    def place(self) -> str:
        """Table and row, as a later table names the row that it replaces."""
        column = self.table.named(ROW)
        first = self.cells[column] if column is not None else ""
        return first or row_place(self.table, self.number)


@dataclass(frozen=True)
class ListedUnit:
    """One unit of a table.

    Attributes
    ----------
    unit, site, exposure : str
        Names as written.
    text : str
        Case file of its good rows; empty where none is good.
    left_out : tuple of LeftOut
        Its other rows.
    """

    unit: str
    site: str
    exposure: str
    text: str
    left_out: tuple[LeftOut, ...]


@dataclass(frozen=True)
class _Row:
    """One row: entries by section and key in the system of the document, or what is wrong with it."""

    table: FleetTable
    number: int
    cells: tuple[str, ...]
    name: str
    site: str
    entries: Mapping[str, Mapping[str, Any]]
    sentence: str

    def left_out(self, sentence: str) -> LeftOut:
        return LeftOut(self.table, self.number, self.cells, sentence)


def row_place(table: FleetTable, number: int) -> str:
    """Table and row in words."""
    return f"{table.name}, row {number}"


def listed_units(
    tables: Sequence[FleetTable], system: System = "US", like: Mapping[str, Any] | None = None
) -> list[ListedUnit]:
    """Units of one or more tables, in the order in which they first come.

    Parameters
    ----------
    tables : sequence of FleetTable
        A row of a later table that names a row of an earlier one replaces it.
    system : {"US", "SI"}
        Of columns whose header names no unit, and of the case files.
    like : mapping, optional
        Tables of a case file in the same system, for what the rows leave out of its season, tariff, cleaning
        and instruments.

    Returns
    -------
    list of ListedUnit
    """
    groups: dict[tuple[str, str], list[_Row]] = {}
    for number, table in enumerate(tables, start=1):
        replaced = {place for later in tables[number:] for place in _replaced(later)}
        for row in _rows(table, system):
            if row.left_out("").place not in replaced:
                groups.setdefault((row.site.casefold(), row.name.casefold()), []).append(row)
    return [_listed(group, system, like or {}) for group in groups.values()]


def _replaced(table: FleetTable) -> set[str]:
    """Rows of other tables that a table's rows take the place of."""
    place = table.named(ROW)
    return set() if place is None else {cells[place] for _, cells in table.rows if cells[place]}


def _rows(table: FleetTable, system: System) -> list[_Row]:
    """Rows of a table, each with the name of its unit."""
    name_place, site_place = (table.named(keys_of("unit")[name]) for name in ("name", "site"))
    orders = _date_orders(table, system)
    rows: list[_Row] = []
    for number, cells in table.rows:
        name = "" if name_place is None else _filled(cells[name_place])
        site = "" if site_place is None else _filled(cells[site_place])
        if not name and rows and site in ("", rows[-1].site):
            name, site = rows[-1].name, rows[-1].site
        entries, sentence = _entries(table, cells, system, orders)
        if not name:
            sentence = "no unit is named; its name is expected"
        rows.append(_Row(table, number, cells, name, site, entries, sentence))
    return rows


def _filled(cell: str) -> str:
    return "" if cell.strip().lower() in EMPTY else cell.strip()


def _date_orders(table: FleetTable, system: System) -> dict[int, System]:
    """For each column of dates whether the day comes first ("SI"), as far as its cells leave no choice."""
    orders: dict[int, System] = {}
    for place, column in table.columns.items():
        if column.key.form == "date":
            parts = [re.fullmatch(r"(\d{1,2})[/-](\d{1,2})[/-]\d{2,4}", row[place]) for _, row in table.rows]
            firsts = max((int(part[1]) for part in parts if part), default=0)
            seconds = max((int(part[2]) for part in parts if part), default=0)
            orders[place] = system if (firsts > 12) == (seconds > 12) else "SI" if firsts > 12 else "US"
    return orders


def _entries(
    table: FleetTable, cells: Sequence[str], system: System, orders: Mapping[int, System]
) -> tuple[dict[str, dict[str, Any]], str]:
    """Entries of a row by section, and a sentence on its first cell that cannot be understood."""
    units = table.named(UNITS)
    written = cells[units].strip().upper() if units is not None else ""
    own: System = "SI" if written == "SI" else "US" if written == "US" else system
    entries: dict[str, dict[str, Any]] = {}
    ambient = _ambient(table, cells, own)
    for place, column in table.columns.items():
        cell = cells[place].strip()
        if column.key.section == "fleet" or not _filled(cell):
            continue
        try:
            value = _value(cell, column, (own, system, ambient), orders.get(place, own))
        except ValueError as error:
            return entries, f"column {table.headers[place]!r}: {error}"
        entries.setdefault(column.key.section, {})[column.key.name] = value
    return entries, ""


def _ambient(table: FleetTable, cells: Sequence[str], own: System) -> float:
    """Pressure of the air that the row's gauges read from [Pa]."""
    found = {}
    for section, name in (("visit", "barometer"), ("unit", "altitude")):
        place = table.named(keys_of(section)[name])
        if place is not None and _filled(cells[place]):
            try:
                found[name] = _in_si(cells[place], table.columns[place], own, 0.0)
            except ValueError:
                continue
    if "barometer" in found:
        return found["barometer"]
    return ambient_pressure_at(found.get("altitude", 0.0))


def _value(cell: str, column: Column, ways: tuple[System, System, float], order: System) -> Any:
    """A cell as an entry of a case file in the document's system."""
    key, (own, system, ambient) = column.key, ways
    match key.form:
        case "number":
            number = _in_si(cell, column, own, ambient)
            return number if key.quantity is None else _rounded(key.quantity.from_si(number, system, ambient))
        case "whole":
            return round(number_of(cell))
        case "date":
            typed = iso_date(cell, order)
            try:
                return dt.date.fromisoformat(typed)
            except ValueError:
                raise ValueError(
                    f"{shortened(cell)} is no date; one such as 2026-05-14 is expected"
                ) from None
        case "time":
            return cell
        case "choice":
            return coil_of(cell) if key.name == "coil" else _choice(key, cell)
        case _:
            return " ".join(cell.split())


def _in_si(cell: str, column: Column, own: System, ambient: float) -> float:
    """A number with or without a unit of its own [SI]."""
    found = _NUMBER.fullmatch(cell.strip())
    quantity = column.key.quantity
    if found is None or quantity is None:
        raise ValueError(f"{shortened(cell)} is no number")
    number, unit = number_of(found[1]), found[2].strip().strip("[]()")
    scale, absolute = (column.scale, column.absolute) if not unit else scale_of(unit, quantity)
    if unit and scale is None:
        raise ValueError(f"{shortened(cell)} has a unit that is none of {column.key.words.lower()}")
    if scale is None:
        return quantity.to_si(number, own, ambient)
    return scale.to_si(number) + (ambient if quantity.gauge and not absolute else 0.0)


def _rounded(number: float) -> float:
    return float(f"{number:.9g}")


def _choice(key: Key, cell: str) -> str:
    words = CHOICES.get(key.name, {})
    plain = " ".join(cell.lower().replace("-", " ").split())
    return next((choice for choice, others in words.items() if plain in others), cell)


def _listed(rows: list[_Row], system: System, like: Mapping[str, Any]) -> ListedUnit:
    """One unit: the case file of its good rows, and the others."""
    good = [row for row in rows if not row.sentence]
    left = [row.left_out(row.sentence) for row in rows if row.sentence]
    text = ""
    while good:
        document, origins = _document(good, system, like)
        bad = _contradicting(good, origins) or _at_fault(document, good, origins)
        if not bad:
            text = toml_text(document)
            break
        left += [good[place].left_out(sentence) for place, sentence in bad.items()]
        good = [row for place, row in enumerate(good) if place not in bad]
    unit = (good or rows)[0]
    exposure = next((str(row.entries["unit"]["exposure"]) for row in good if _has(row, "exposure")), "")
    left.sort(key=lambda one: (one.table.name, one.number))
    return ListedUnit(unit.name, unit.site, exposure, text, tuple(left))


def _has(row: _Row, name: str) -> bool:
    return name in row.entries.get("unit", {})


def _document(
    rows: Sequence[_Row], system: System, like: Mapping[str, Any]
) -> tuple[dict[str, Any], dict[tuple[str, ...], int]]:
    """Tables of a case file, and the row that each entry outside visits comes from."""
    document: dict[str, Any] = {"units": system, "unit": {"name": rows[0].name, "site": rows[0].site}}
    if not rows[0].site:
        del document["unit"]["site"]
    for name in ("instruments", "cleaning", "season"):
        if name in like:
            document[name] = dict(like[name])
    origins: dict[tuple[str, ...], int] = {}
    paths: dict[str, tuple[str, ...]] = {
        "unit": ("unit",),
        "cleaning": ("cleaning",),
        "season": ("season",),
        "tariff": ("season", "tariff"),
    }
    for place, row in enumerate(rows):
        for section, path in paths.items():
            for name, value in row.entries.get(section, {}).items():
                if (section, name) in (("unit", "name"), ("unit", "site")):
                    continue
                table: dict[str, Any] = document
                for part in path:
                    table[part] = dict(table.get(part, {}))
                    table = table[part]
                if section == "unit":
                    table.setdefault(name, value)
                    origins.setdefault((*path, name), place)
                else:
                    table[name] = value
                    origins[(*path, name)] = place
    document["visit"] = [{"coil": "as found", **row.entries.get("visit", {})} for row in rows]
    _label(document["visit"])
    return document, origins


def _label(visits: Sequence[dict[str, Any]]) -> None:
    """Give every visit a label of its own."""
    seen: set[str] = set()
    for visit in visits:
        usual = " ".join(str(visit[name]) for name in ("date", "coil") if visit.get(name))
        label = stem = str(visit.get("label", "")).strip() or usual
        number = 1
        while label in seen:
            number += 1
            label = f"{stem} ({number})"
        seen.add(label)
        visit["label"] = label


def _contradicting(rows: Sequence[_Row], origins: Mapping[tuple[str, ...], int]) -> dict[int, str]:
    """Rows whose nameplate is not that of the unit's first row which has the entry."""
    bad: dict[int, str] = {}
    for place, row in enumerate(rows):
        for name, value in row.entries.get("unit", {}).items():
            first = rows[origins.get(("unit", name), place)]
            before = first.entries["unit"][name]
            if name not in ("name", "site", "exposure") and not _alike(value, before):
                words = keys_of("unit")[name].words.lower()
                bad[place] = (
                    f"{words} is {shortened(value)}, but {shortened(before)} in row {first.number}; "
                    "one nameplate a unit is expected"
                )
                break
    return bad


def _alike(one: Any, other: Any) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return abs(one - other) <= SAME * max(abs(one), abs(other))
    return str(one).casefold() == str(other).casefold()


def _at_fault(
    document: Mapping[str, Any], rows: Sequence[_Row], origins: Mapping[tuple[str, ...], int]
) -> dict[int, str]:
    """Rows that a case file of all of them cannot have, with what is wrong; empty where it is whole."""
    if len(rows) > MOST_VISITS:
        return dict.fromkeys(range(MOST_VISITS, len(rows)), f"the unit has more than {MOST_VISITS} visits")
    try:
        case_from_document(document)
    except CaseError as error:
        bad: dict[int, list[Problem]] = {}
        for problem in error.problems:
            path = problem.path
            if path[:1] == ("visit",) and len(path) > 1 and isinstance(path[1], int):
                places = [path[1]]
            else:
                origin = origins.get(tuple(map(str, path)))
                places = list(range(len(rows))) if origin is None else [origin]
            for place in places:
                bad.setdefault(place, []).append(problem)
        return {place: _sentence(problems) for place, problems in bad.items()}
    return {}


def _sentence(problems: Sequence[Problem]) -> str:
    """What is wrong with a row, in one line; a row needs no place in a case file."""
    said = []
    for problem in problems:
        key = next((part for part in reversed(problem.path) if isinstance(part, str)), "")
        said.append(f"{key} {problem.sentence}".strip())
    return "; ".join(said)
