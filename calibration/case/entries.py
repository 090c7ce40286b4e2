"""Entries of one section of a case file, to SI and back.

The way in checks each entry against its own limits and spelling; what entries say about one another is
checked in `calibration.case.checks`. The way out finds the shortest number that reads back to the very same
SI value, so that a file that is read and written again keeps the numbers that were typed.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from typing import Any, NamedTuple

from calibration.case.errors import Path, Problems, did_you_mean, in_unit, number_text, shortened
from calibration.case.keys import WEEKDAYS, Key, keys_of
from calibration.case.units import SYSTEMS, Quantity, Scale, System
from model.properties.moist_air import STANDARD_PRESSURE
from model.season.weather_year import MONTHS_PER_YEAR

JOINING = frozenset("\u00a0\u2007\u202f\u200c\u200d")
"""Spaces that do not break and joiners, which names in many scripts need; nothing acts on them."""
FAN_SPEEDS = ("outdoor_fan_speeds", "blower_speeds")
"""Keys of the speeds of a fan at each speed of the compressor."""
SLOWEST = 0.1
"""Least speed of a compressor or fan, share of full [-]: below, none runs."""
LONGEST_TEXT = 4000
"""Characters that one text of a case may have."""
EARLIEST_YEAR, LATEST_YEAR = 1950, 2200
"""Years that a date may have: before, there was no such unit; after, it is a slip of the pen."""


class Writing(NamedTuple):
    """How numbers are written: the system of units, and the air pressure [Pa] that gauges read from."""

    system: System
    ambient_pressure: float = STANDARD_PRESSURE


class Table(NamedTuple):
    """One table of a document: its section in the table of keys and its place."""

    section: str
    path: Path


def entries_in_si(
    raw: Mapping[str, Any], table: Table, writing: Writing, problems: Problems
) -> dict[str, Any]:
    """Entries of one section in SI, those with a fault left out and noted.

    Parameters
    ----------
    raw : mapping
        Entries as typed.
    table : Table
        Section and place.
    writing : Writing
        System in which numbers were typed, and the local air pressure.
    problems : Problems
        Where they are noted.

    Returns
    -------
    dict
        Values by key: numbers in SI, tuples, dates, texts.
    """
    values: dict[str, Any] = {}
    for name, key in keys_of(table.section).items():
        entry = raw.get(name)
        place = (*table.path, name)
        left_empty = entry is None or (entry == "" and not key.required)
        if left_empty or problems.at(place):
            continue
        value, complaint = _understood(key, entry, writing)
        if complaint:
            problems.add(place, complaint)
        else:
            values[name] = value
    return values


def _understood(key: Key, entry: Any, writing: Writing) -> tuple[Any, str]:
    """Value of one entry and an empty text, or nothing and what is wrong with it."""
    if key.form == "number" and key.quantity is not None:
        number = float(entry)
        complaint = _outside(key, key.quantity, number, writing.system)
        return (None, complaint) if complaint else (key.quantity.to_si(number, *writing), "")
    if key.form == "series" and key.quantity is not None:
        return _series(key, key.quantity, entry, writing)
    match key.form:
        case "whole":
            known = str(entry) in key.choices
            return entry, "" if known else f"is {entry}; {' or '.join(key.choices)} is expected"
        case "choice":
            return _chosen(key, entry)
        case "date":
            return _date(entry)
        case "time":
            return _time(entry)
        case "text":
            return _text(entry)
        case "flag":
            return entry, ""
        case "numbers":
            return _shares(key, entry)
        case _:
            return _calendar(key, entry)


def _series(
    key: Key, quantity: Quantity, entry: list[float], writing: Writing
) -> tuple[tuple[float, ...] | None, str]:
    """Numbers of the months, one of them for all or twelve."""
    if len(entry) not in (1, MONTHS_PER_YEAR):
        return None, f"has {len(entry)}; {MONTHS_PER_YEAR} numbers, from January on, are expected"
    for number in entry:
        complaint = _outside(key, quantity, float(number), writing.system)
        if complaint:
            return None, f"holds one that {complaint}"
    values = tuple(quantity.to_si(float(number), *writing) for number in entry)
    return values * (MONTHS_PER_YEAR // len(entry)), ""


def _outside(key: Key, quantity: Quantity, number: float, system: System) -> str:
    """What is wrong with a number that cannot be true, or an empty text."""
    if key.limits is None:
        return ""
    low, high = (quantity.from_si(limit, system) for limit in key.limits)
    slack = 1e-9 * (abs(low) + abs(high))
    if low - slack <= number <= high + slack:
        return ""
    span = f"{_rounded(low)} to {_rounded(high)} {quantity.label(system)}".rstrip()
    hint = _look_alike(key, quantity, number, system)
    return f"is {in_unit(number, quantity, system)}; {span} is expected{hint}"


def _look_alike(key: Key, quantity: Quantity, number: float, system: System) -> str:
    """Words about another unit in which the number would be an ordinary one, or an empty text."""
    labels = [scale.label or "a fraction" for scale in look_alikes(key, quantity, number, system)]
    return f" ({number_text(number)} looks like {' or '.join(labels)})" if labels else ""


def look_alikes(key: Key, quantity: Quantity, number: float, system: System) -> list[Scale]:
    """Other units in which a number would be an ordinary one.

    Parameters
    ----------
    key : Key
        What was entered.
    quantity : Quantity
        Its kind.
    number : float
        As typed.
    system : {"US", "SI"}
        System in which it is out of bounds.

    Returns
    -------
    list of Scale
        Each label once, that of the system itself left out.
    """
    if key.typical is None:
        return []
    low, high = key.typical
    zero = STANDARD_PRESSURE if quantity.gauge else 0.0
    scales = [quantity.scale(other) for other in SYSTEMS] + list(quantity.look_alikes)
    fitting = {scale.label: scale for scale in scales if low <= scale.to_si(number) + zero <= high}
    fitting.pop(quantity.label(system), None)
    return list(fitting.values())


def _rounded(value: float) -> str:
    """A bound with four digits."""
    return number_text(float(f"{value:.4g}"))


def _chosen(key: Key, entry: str) -> tuple[str | None, str]:
    """The choice that was meant, whatever its capitals."""
    for choice in key.choices:
        if entry.strip().lower() == choice.lower():
            return choice, ""
    return None, f"is {shortened(entry)}; {did_you_mean(entry, key.choices)}"


def _date(entry: dt.date | str) -> tuple[dt.date | None, str]:
    """A date, typed as such or as text in the same form."""
    try:
        value = dt.date.fromisoformat(entry) if isinstance(entry, str) else entry
    except ValueError:
        return None, f"is {shortened(entry)}; year-month-day is expected, such as 2026-05-14"
    if not EARLIEST_YEAR <= value.year <= LATEST_YEAR:
        return None, f"is {value.isoformat()}; a year from {EARLIEST_YEAR} to {LATEST_YEAR} is expected"
    return value, ""


def _time(entry: dt.time | str) -> tuple[dt.time | None, str]:
    """A time of day without a time zone."""
    try:
        value = dt.time.fromisoformat(entry) if isinstance(entry, str) else entry
    except ValueError:
        return None, f'is {shortened(entry)}; hours and minutes are expected, such as "14:30"'
    if value.tzinfo is not None:
        return None, f"is {shortened(entry)}; local time without a zone is expected"
    return value, ""


def _text(entry: str) -> tuple[str | None, str]:
    """A text that can be shown and stored."""
    if len(entry) > LONGEST_TEXT:
        return None, f"has {len(entry)} characters; at most {LONGEST_TEXT} are expected"
    odd = next((c for c in entry if not c.isprintable() and c not in "\n\t" and c not in JOINING), None)
    if odd is not None:
        return None, f"holds the character {odd!a}; plain text is expected"
    return entry, ""


def _shares(key: Key, entry: list[float]) -> tuple[tuple[float, ...] | None, str]:
    """Speeds as fractions of full speed, rising; a fan may have the same speed at two stages."""
    shares = tuple(float(share) for share in entry)
    may_repeat = key.name in FAN_SPEEDS
    rising = list(shares) == sorted(shares if may_repeat else set(shares))
    if all(SLOWEST <= share <= 2 for share in shares) and rising:
        return shares, ""
    words = f"fractions of full speed from {SLOWEST:g} to 2 that rise are expected, such as [{key.example}]"
    return None, f"is {shortened(entry)}; {words}"


def _calendar(key: Key, entry: list[Any]) -> tuple[tuple[int, ...] | None, str]:
    """Months as 1 to 12, weekdays as 0 to 6, or a pair of hours."""
    if key.form == "weekdays":
        numbers = [_weekday(day) for day in entry]
        unknown = next((day for day, number in zip(entry, numbers, strict=True) if number is None), None)
        if unknown is not None:
            return None, f"holds {shortened(unknown)}; days such as {', '.join(WEEKDAYS)} are expected"
        return tuple(sorted({number for number in numbers if number is not None})), ""
    if key.form == "months":
        if all(1 <= month <= 12 for month in entry):
            return tuple(sorted(set(entry))), ""
        return None, f"is {shortened(entry)}; months from 1 to 12 are expected"
    if len(entry) == 2 and all(0 <= hour <= 24 for hour in entry):
        return tuple(entry), ""
    return None, f"is {shortened(entry)}; two hours from 0 to 24 are expected, such as [14, 20]"


def _weekday(day: str) -> int | None:
    """Number of a day of the week, 0 for Monday, by the first three letters of its name."""
    short = day.strip()[:3].capitalize()
    return WEEKDAYS.index(short) if short in WEEKDAYS else None


def number_of(text: str) -> float:
    """Number that a person typed, with a point or a comma before the decimals.

    Parameters
    ----------
    text : str
        Such as ``"95.5"``, ``"95,5"``, ``"36,000"``: a comma before exactly three digits parts thousands.

    Returns
    -------
    float
        The number.

    Raises
    ------
    ValueError
        When it is none, or not finite.
    """
    plain = text.strip().replace("−", "-").replace(" ", "").replace(" ", "")
    if not re.fullmatch(r"[+-]?[\d.,]*\d[\d.,]*(?:[eE][+-]?\d{1,3})?", plain):
        raise ValueError(f"{text!r} is no number")
    if "," in plain:
        thousands = re.fullmatch(r"[+-]?\d{1,3}(?:,\d{3})+(?:\.\d*)?", plain)
        plain = plain.replace(",", "") if thousands else plain.replace(",", ".")
    value = float(plain)
    if abs(value) > 1e15:
        raise ValueError(f"{text!r} is out of all bounds")
    return value


def entries_as_typed(values: Mapping[str, Any], section: str, writing: Writing) -> dict[str, Any]:
    """Entries of one section as they are written, empty ones left out; undoes `entries_in_si`.

    Parameters
    ----------
    values : mapping of str to Any
        Values by key [SI].
    section : str
        Section of the table of keys.
    writing : Writing
        System of the numbers and the local air pressure.

    Returns
    -------
    dict of str to Any
        Entries in the order of the table of keys.
    """
    typed: dict[str, Any] = {}
    for name, key in keys_of(section).items():
        value = values.get(name)
        if value is None or value is False or value == () or value == "":
            continue
        if key.form == "number" and key.quantity is not None:
            typed[name] = shortest_number(float(value), key.quantity, writing)
        elif key.form == "series" and key.quantity is not None:
            series = [shortest_number(float(one), key.quantity, writing) for one in value]
            typed[name] = series[:1] if len(set(series)) == 1 else series
        elif key.form == "weekdays":
            typed[name] = [WEEKDAYS[day] for day in value]
        elif isinstance(value, tuple):
            typed[name] = list(value)
        elif isinstance(value, dt.time):
            typed[name] = value.isoformat("auto") if value.second or value.microsecond else f"{value:%H:%M}"
        else:
            typed[name] = value
    return typed


def shortest_number(value: float, quantity: Quantity, writing: Writing) -> float:
    """Number with the fewest digits that means exactly this SI value.

    Parameters
    ----------
    value : float
        Value [SI].
    quantity : Quantity
        Its kind.
    writing : Writing
        System in which the number is written, and the local air pressure.

    Returns
    -------
    float
        The number; where none gives the very same value, the nearest one that there is.
    """
    number = quantity.from_si(value, *writing)
    if quantity.to_si(0.0, *writing) == value:
        return 0.0
    for digits in range(1, 18):
        rounded = float(f"{number:.{digits}g}")
        if quantity.to_si(rounded, *writing) == value:
            return rounded
    return number
