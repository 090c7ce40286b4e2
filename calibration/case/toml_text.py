"""TOML text of plain tables: what the standard library reads but does not write.

Deterministic: the same tables give the same text, in the order in which they come. Only what a case file
holds is written: texts, numbers, dates, times, lists of these, tables, and lists of tables.

References
----------
TOML v1.0.0.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from math import isfinite

_ESCAPES = {"\\": "\\\\", '"': '\\"', "\n": "\\n", "\t": "\\t", "\r": "\\r", "\b": "\\b", "\f": "\\f"}


def toml_text(tables: Mapping[str, object]) -> str:
    """TOML document of nested tables.

    Parameters
    ----------
    tables : mapping of str to value
        Values are str, bool, int, finite float, date, time, a list of these, a mapping, or a list of
        mappings.

    Returns
    -------
    str
        Text that ends with a line break.

    Raises
    ------
    ValueError
        For a value that a case file cannot hold.
    """
    return "\n".join(_lines(tables, ())).strip("\n") + "\n"


def _lines(table: Mapping[str, object], path: tuple[str, ...]) -> list[str]:
    """Lines of a table: first its values, then the tables in it."""
    lines = [f"{_name(key)} = {_value(value)}" for key, value in table.items() if not _is_table(value)]
    for key, value in table.items():
        inner = (*path, key)
        head = ".".join(_name(part) for part in inner)
        if isinstance(value, Mapping):
            lines += ["", f"[{head}]", *_lines(value, inner)]
        elif isinstance(value, Sequence) and _is_table(value):
            for entry in value:
                lines += ["", f"[[{head}]]", *_lines(entry, inner)]
    return lines


def _is_table(value: object) -> bool:
    """Whether a value is a table or a list of tables."""
    if isinstance(value, list | tuple):
        return bool(value) and all(isinstance(entry, Mapping) for entry in value)
    return isinstance(value, Mapping)


def _name(key: str) -> str:
    """A key, in quotes where it is more than letters, digits, dashes and underlines."""
    plain = key and all(c.isascii() and (c.isalnum() or c in "_-") for c in key)
    return key if plain else _quoted(key)


def _value(value: object) -> str:
    """One value on one line."""
    match value:
        case bool():
            return "true" if value else "false"
        case str():
            return _quoted(value)
        case int():
            return str(value)
        case float():
            if not isfinite(value):
                raise ValueError(f"a number in a case file must be finite, got {value}")
            return repr(float(value))
        case dt.date() | dt.time():
            return value.isoformat()
        case list() | tuple():
            return f"[{', '.join(_value(entry) for entry in value)}]"
        case _:
            raise ValueError(f"a case file cannot hold {type(value).__name__}")


def _quoted(text: str) -> str:
    """Text in quotes, with everything escaped that TOML does not take as it is."""
    return f'"{"".join(_escaped(c) for c in text)}"'


def _escaped(character: str) -> str:
    """One character of a quoted text."""
    if character in _ESCAPES:
        return _ESCAPES[character]
    code = ord(character)
    return f"\\u{code:04X}" if code < 0x20 or code == 0x7F else character
