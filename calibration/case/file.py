"""Case files: TOML in one system of units, read into a `Case` in SI and written back.

A file is read whole or refused whole: every fault is listed, each in one sentence with its place. A file is
written only after its text was read back without a fault; the new version replaces the old one in one step
and the old one is kept beside it as ``.bak``, so that a crash at any moment leaves one or the other. At its
first save a case is given a random identifier, which tells it from every other one whatever files are called.
Comments in the file that a case replaces are carried over.
"""

from __future__ import annotations

import dataclasses
import hashlib
import io
import os
import re
import secrets
import threading
import tomllib
from pathlib import Path
from typing import Any

from calibration.case.comments import with_comments
from calibration.case.document import IDENTIFIER, case_from_document, document_of
from calibration.case.errors import CaseError, Problem
from calibration.case.records import Case
from calibration.case.toml_text import toml_text
from calibration.files.atomic_file import alone_in, fresh_file, settle_folder
from calibration.files.input_file import input_bytes

LARGEST_FILE = 4_000_000
"""Bytes that a case file may have: some ten thousand visits."""
MOST_LINES = 40_000
"""Lines that a case file may have, counted before it is taken apart: twice what 500 visits with every key
need. Each line costs the reader of TOML far more than its bytes."""
BACKUP = ".bak"
"""What the name of the previous version has at its end."""
LONGEST_LINE = 100_000
"""Characters that a line of it may have: a text of the longest kind, every letter written as a code."""
LONGEST_QUOTED = 80
"""Characters of a line that a fault still quotes."""
SLIPS = (
    (r"=\s*[+-]?\d+,\d", "a decimal point, and no other mark inside a number, is expected"),
    (r"=\s*\d+[/.-]\d+[/.-]\d+", "year-month-day is expected, such as 2026-05-14"),
    (r"=\s*[+-]?[\d.]+\s*[^\s\d.#]", "a number alone, without its unit, is expected"),
    (r"=\s*[^\W\d]", "words in quotation marks are expected"),
    (r'=\s*"[^"]*$', "a quotation mark at the end is expected"),
    (r"=\s*(#.*)?$", "a value is expected, or no such line where it was not taken"),
)
"""What a line that is not TOML often has wrong, as pattern and what is expected instead."""

_SAVING = threading.Lock()


def read_case(path: str | os.PathLike[str]) -> Case:
    """Case of a file.

    Parameters
    ----------
    path : path
        TOML file.

    Returns
    -------
    Case
        In SI; `Case.source` is the path.

    Raises
    ------
    CaseError
        When there is no such file, or with every fault of what is in it.
    """
    source = Path(path)
    return dataclasses.replace(parse_case(_text_of(source)), source=source)


def _text_of(source: Path) -> str:
    """Text of a file of bounded size."""
    try:
        raw = input_bytes(source, LARGEST_FILE + 1)
    except OSError as error:
        raise CaseError([Problem((), str(source), _os_words(error))]) from error
    if len(raw) > LARGEST_FILE:
        raise CaseError([Problem((), str(source), f"is longer than the {LARGEST_FILE} bytes of a case file")])
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        sentence = f"is not text in UTF-8 (byte {error.start + 1} of the file)"
        raise CaseError([Problem((), str(source), sentence)]) from error


def _os_words(error: OSError) -> str:
    """Why a file cannot be read."""
    if isinstance(error, FileNotFoundError):
        return "there is no such file"
    return f"cannot be read ({error.strerror or error})"


def parse_case(text: str) -> Case:
    """Case of the text of a file.

    Parameters
    ----------
    text : str
        Whole content of the file.

    Returns
    -------
    Case
        In SI.

    Raises
    ------
    CaseError
        With every fault.
    """
    return case_from_document(_tables_of(text))


def _tables_of(text: str) -> dict[str, Any]:
    """Tables of a text of bounded length."""
    text = text.replace("\r\n", "\n")
    if text.count("\n") > MOST_LINES:
        raise CaseError([Problem((), "TOML", f"has more than the {MOST_LINES} lines of a case file")])
    if any(len(line) > LONGEST_LINE for line in io.StringIO(text)):
        sentence = f"has a line of more than the {LONGEST_LINE} characters of a case file"
        raise CaseError([Problem((), "TOML", sentence)])
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise CaseError([Problem((), "TOML", _toml_words(error, text))]) from error
    except (RecursionError, ValueError) as error:
        raise CaseError(
            [Problem((), "TOML", "a list, table or number in it is out of all bounds")]
        ) from error


def _toml_words(error: tomllib.TOMLDecodeError, text: str) -> str:
    """Why a text is not TOML, with the line and what is likely wrong in it."""
    words = str(error)
    if words.startswith(("Cannot overwrite a value", "Cannot declare")):
        return f"a key or table appears twice{words[words.rfind(' (at') :]}"
    reason = f"is not valid TOML: {words[0].lower()}{words[1:]}"
    found = re.search(r"\(at line (\d+), column", words)
    line = text.split("\n")[int(found[1]) - 1].strip() if found else ""
    if not line or len(line) > LONGEST_QUOTED or not line.isprintable():
        return reason
    advised = next((advice for slip, advice in SLIPS if re.search(slip, line)), "")
    return f"{reason}, which reads: {line}{advised and f' ({advised})'}"


def identifier(path: str | os.PathLike[str]) -> str:
    """Identifier of the case in a file, whatever else is wrong with the file.

    Parameters
    ----------
    path : path
        Any file.

    Returns
    -------
    str
        Empty where it has none or cannot be found out.
    """
    try:
        found = _tables_of(_text_of(Path(path))).get("id")
    except CaseError:
        return ""
    return found if isinstance(found, str) and IDENTIFIER.fullmatch(found) else ""


def unit_name(path: str | os.PathLike[str]) -> str:
    """Name of the unit in a file, whatever else is wrong with the file.

    Parameters
    ----------
    path : path
        Any file.

    Returns
    -------
    str
        Empty where it has none or cannot be found out.
    """
    try:
        unit = _tables_of(_text_of(Path(path))).get("unit")
    except CaseError:
        return ""
    found = unit.get("name") if isinstance(unit, dict) else None
    return found if isinstance(found, str) else ""


def holds_a_case(path: str | os.PathLike[str]) -> bool:
    """Whether somebody's case may be lost where a file is replaced.

    Parameters
    ----------
    path : path
        Any file, or none.

    Returns
    -------
    bool
        True for a file that is named as a case or its previous version, and for one with the tables of a
        case, be it of a newer form or with entries at fault. What is no file is never opened.
    """
    file = Path(path)
    if not file.is_file():
        return False
    if file.resolve().name.lower().removesuffix(BACKUP).endswith(".toml"):
        return True
    try:
        return not {"units", "unit"}.isdisjoint(_tables_of(_text_of(file)))
    except CaseError:
        return False


def with_identifier(case: Case) -> Case:
    """A case that can be told from every other one.

    Parameters
    ----------
    case : Case
        With or without an identifier.

    Returns
    -------
    Case
        The same where it has one; else with a new random one.
    """
    return case if case.id else dataclasses.replace(case, id=secrets.token_hex(16))


def case_text(case: Case) -> str:
    """Text of the file of a case, in the case's system of units.

    Parameters
    ----------
    case : Case
        What to write.

    Returns
    -------
    str
        TOML in the case's system of units; `parse_case` is the way back.
    """
    return toml_text(document_of(case))


def fingerprint(path: str | os.PathLike[str]) -> str:
    """Digest of a file's content, to see whether it was changed.

    Parameters
    ----------
    path : str or os.PathLike[str]
        The file.

    Returns
    -------
    str
        Hexadecimal; empty when there is no such file.
    """
    try:
        return hashlib.sha256(input_bytes(Path(path), LARGEST_FILE + 1)).hexdigest()
    except FileNotFoundError:
        return ""


def write_case(
    case: Case, path: str | os.PathLike[str], expected: str | None = None, former: str | None = None
) -> str:
    """Write a case to a file in one step and keep the previous version as ``.bak``.

    Parameters
    ----------
    case : Case
        What to write; without an identifier it is given that of the file, else a new one.
    path : path
        TOML file, new or old.
    expected : str or None
        `fingerprint` of the version that was edited; None overwrites whatever is there.
    former : str or None
        Text whose comments are carried over; None for that of the file.

    Returns
    -------
    str
        Fingerprint of the new version.

    Raises
    ------
    CaseError
        When the case could not be read back, or the file is no longer the one that was edited; nothing is
        written.
    OSError
        When the folder cannot be written to; the file is as it was.
    """
    case = with_identifier(case if case.id else dataclasses.replace(case, id=identifier(path)))
    text = case_text(case)
    parse_case(text)
    commented = with_comments(text, _former_text(case, Path(path)) if former is None else former)
    if len(commented.encode("utf-8")) > LARGEST_FILE or commented.count("\n") > MOST_LINES:
        commented = text
    return write_version(commented.encode("utf-8"), path, expected)


def _former_text(case: Case, path: Path) -> str:
    """Text of the file that a case replaces; empty where there is none, or it is one of another unit."""
    try:
        text = _text_of(path)
        return text if _tables_of(text).get("id") in (None, "", case.id) else ""
    except CaseError:
        return ""


def write_version(content: bytes, path: str | os.PathLike[str], expected: str | None = None) -> str:
    """Put the bytes of a case file in place of its present version, which is kept as ``.bak``.

    Parameters
    ----------
    content : bytes
        The file as it is to be, comments and all; it is not looked at.
    path, expected
        As for `write_case`.

    Returns
    -------
    str
        Fingerprint of the new version.

    Raises
    ------
    CaseError
        When the file is no longer the one that was edited; nothing is written.
    OSError
        When the folder cannot be written to; the file is as it was.
    """
    target = Path(path).resolve()
    with _SAVING, alone_in(target.parent):
        if expected is not None and fingerprint(target) != expected:
            sentence = "was changed by somebody else meanwhile; open it again and repeat the change"
            raise CaseError([Problem((), str(target), sentence)])
        _replace(target, content)
    return hashlib.sha256(content).hexdigest()


def _replace(target: Path, content: bytes) -> None:
    """Put content in place of a file in one step, its previous version beside it."""
    with fresh_file(target, content) as fresh:
        if target.exists():
            with fresh_file(target, target.read_bytes()) as former:
                former.replace(target.with_name(target.name + BACKUP))
        fresh.replace(target)
    settle_folder(target.parent)
