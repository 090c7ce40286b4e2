"""Which entries a case file may hold and of what sort each must be, before any of them is understood.

The pydantic models are made from the table of keys, so that an entry is described once. They are strict: a
number in quotes is text, a yes is no number, an unknown key is refused. Every fault is turned into one
sentence.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError, create_model
from pydantic_core import ErrorDetails

from calibration.case.errors import Path, Problems, did_you_mean, shortened
from calibration.case.keys import SECTIONS, Key, find_key, keys_of
from calibration.case.units import SYSTEMS, System

Finite = Annotated[float, Field(allow_inf_nan=False)]
_STRICT = ConfigDict(extra="forbid", strict=True, frozen=True)
_TYPES: dict[str, Any] = {
    "number": Finite,
    "whole": int,
    "text": str,
    "choice": str,
    "flag": bool,
    "date": dt.date | str,
    "time": dt.time | str,
    "months": list[int],
    "weekdays": list[str],
    "hours": list[int],
    "numbers": list[Finite],
    "series": list[Finite],
}
_DAYS_AND_TIMES = {
    "date",
    "time",
    "last_cleaned",
    "indoor_coil_cleaned",
    "filter_changed",
    "first_day",
    "last_day",
}
_TABLES = {
    "unit": "unit",
    "instruments": "instruments",
    "season": "season",
    "cleaning": "cleaning",
    "report": "report",
}


class CompressorMapEntry(BaseModel):
    """[unit.compressor_map]: coefficients as the maker prints them."""

    model_config = _STRICT
    form: str
    mass_flow: list[Finite]
    power: list[Finite]
    superheat: Finite | None = None
    return_gas_temperature: Finite | None = None
    suction_range: list[Finite] | None = None
    discharge_range: list[Finite] | None = None


def _model(name: str, section: str, **others: Any) -> type[BaseModel]:
    """Strict model of one section, its fields taken from the table of keys."""
    entries: dict[str, Any] = {
        key.name: (_TYPES[key.form], ...) if key.required else (_TYPES[key.form] | None, None)
        for key in keys_of(section).values()
    }
    model: type[BaseModel] = create_model(name, __config__=_STRICT, **entries, **others)
    return model


def _case_model() -> type[BaseModel]:
    """Strict model of a whole case."""
    period: Any = _model("PeriodEntry", "period")
    block: Any = _model("BlockEntry", "block")
    tariff: Any = _model("TariffEntry", "tariff", periods=(list[period], []), blocks=(list[block], []))
    visit: Any = _model("VisitEntry", "visit")
    instruments: Any = _model("InstrumentsEntry", "instruments")
    bill: Any = _model("BillEntry", "bill")
    season: Any = _model("SeasonEntry", "season", tariff=(tariff | None, None), bill=(bill | None, None))
    cleaning: Any = _model("CleaningEntry", "cleaning")
    named: Any = _model("ReportEntry", "report")
    row: Any = _model("CapacityRowEntry", "capacity_table")
    tracked: Any = _model("TrackedDayEntry", "track")
    unit: Any = _model(
        "UnitEntry",
        "unit",
        compressor_map=(CompressorMapEntry | None, None),
        capacity_table=(list[row], []),
    )
    tables: dict[str, Any] = {
        "id": (str | None, None),
        "units": (str, ...),
        "unit": (unit, ...),
        "visit": (list[visit], []),
        "instruments": (instruments | None, None),
        "season": (season | None, None),
        "cleaning": (cleaning | None, None),
        "report": (named | None, None),
        "track": (list[tracked], []),
    }
    model: type[BaseModel] = create_model("CaseEntry", __config__=_STRICT, **tables)
    return model


_CASE = _case_model()


def note_structural_problems(document: Mapping[str, object], problems: Problems) -> None:
    """Note every entry that is unknown, missing or of the wrong sort.

    Parameters
    ----------
    document : mapping
        A case as plain tables, its schema number taken out.
    problems : Problems
        Where they are noted.
    """
    units = document.get("units")
    system = next((name for name in SYSTEMS if name == units), None)
    if isinstance(units, str) and system is None:
        problems.add(("units",), f'is {shortened(units)}; "US" or "SI" is expected')
    try:
        _CASE.model_validate(dict(document))
    except ValidationError as error:
        for details in error.errors(include_url=False):
            path = _path_of(details)
            if not problems.has(path):
                problems.add(path, "" if problems.full else _sentence(details, path, system or "US"))


def _path_of(details: ErrorDetails) -> Path:
    """Place of a fault without the names that pydantic adds for the branches of a union."""
    path = details["loc"]
    branches = {"date", "str", "time"}
    if len(path) > 2 and path[-1] in branches and path[-2] in _DAYS_AND_TIMES:
        return path[:-1]
    return path


def _sentence(details: ErrorDetails, path: Path, system: System) -> str:
    """What is there and what is expected instead."""
    kind, value = details["type"], shortened(details["input"])
    if kind == "extra_forbidden":
        return _unknown_key(path)
    section = section_of(path)
    name = next((str(part) for part in reversed(path) if isinstance(part, str)), "")
    key = find_key(name, section)
    if kind == "missing":
        return f"is missing; {_expected(key, name, path, system)} is expected"
    if kind == "finite_number":
        return f"is {value}; a finite number is expected"
    if kind == "float_type" and isinstance(details["input"], int) and not isinstance(details["input"], bool):
        return "is too large a number"
    return f"is {value}; {_expected(key, name, path, system)} is expected"


def section_of(path: Path) -> str:
    """Section of the table of keys to which an entry at a path belongs.

    Parameters
    ----------
    path : Path
        Place of the entry.

    Returns
    -------
    str
        One of `calibration.case.keys.SECTIONS`, or the name of the table.
    """
    if "periods" in path:
        return "period"
    if "blocks" in path:
        return "block"
    if "capacity_table" in path:
        return "capacity_table"
    if "tariff" in path and path[-1] != "tariff":
        return "tariff"
    if path[:2] == ("season", "bill") and len(path) > 2:
        return "bill"
    return str(path[0]) if path else ""


def _unknown_key(path: Path) -> str:
    """Sentence about a key that no section or another section knows."""
    name, section = str(path[-1]), section_of(path)
    if len(path) == 1:
        return (
            f"is not known here; {did_you_mean(name, ('id', 'units', 'visit', 'track', 'schema', *_TABLES))}"
        )
    elsewhere = [other for other in SECTIONS if other in (*_TABLES, "visit") and find_key(name, other)]
    if elsewhere and "compressor_map" not in path:
        table = "[[visit]]" if elsewhere[0] == "visit" else f"[{elsewhere[0]}]"
        return f"is not known here; it belongs under {table}"
    if "compressor_map" in path:
        return f"is not known here; {did_you_mean(name, CompressorMapEntry.model_fields)}"
    extra = {
        "unit": ["compressor_map", "capacity_table"],
        "season": ["tariff", "bill"],
        "tariff": ["periods", "blocks"],
    }.get(section, [])
    return f"is not known here; {did_you_mean(name, [*keys_of(section), *extra])}"


_EXPECTED = {
    "text": "text in quotes",
    "choice": "text in quotes",
    "flag": "true or false without quotes",
    "date": "a date such as 2026-05-14",
    "time": 'a time of day such as "14:30"',
    "whole": "a whole number",
    "months": "a list of months such as [6, 7, 8]",
    "weekdays": 'a list of days such as ["Mon", "Tue"]',
    "hours": "a list of two hours such as [14, 20]",
    "numbers": "a list of numbers such as [0.67, 1.0]",
    "series": "a list of numbers, one for each month,",
}
_EXPECTED_BY_NAME = {
    "id": "text in quotes",
    "units": '"US" or "SI"',
    "unit": "one table [unit]",
    "visit": "one table [[visit]] for each visit",
    "track": "one table [[track]] for each day",
    "periods": "one table [[season.tariff.periods]] for each period",
    "blocks": "one table [[season.tariff.blocks]] for each step of the price",
    "capacity_table": "one table [[unit.capacity_table]] for each line",
    "mass_flow": "a list of ten numbers",
    "power": "a list of ten numbers",
    "superheat": "a number",
    "return_gas_temperature": "a number",
    "suction_range": "a list of two temperatures",
    "discharge_range": "a list of two temperatures",
    "form": '"US" or "SI"',
}


def _expected(key: Key | None, name: str, path: Path, system: System) -> str:
    """What is expected at an entry."""
    if isinstance(path[-1], int) and key is not None and key.form in ("months", "hours"):
        return "a whole number"
    if key is None:
        return _EXPECTED_BY_NAME.get(name, f"a table [{name}]")
    if key.form == "choice":
        return " or ".join(f'"{choice}"' for choice in key.choices)
    if key.form != "number" or key.quantity is None:
        return _EXPECTED[key.form]
    unit = key.quantity.label(system)
    number = f"a number in {unit}".replace(" in per", " per") if unit else "a number"
    return f"{number}, for example {key.example_in(system)}," if key.example is not None else number
