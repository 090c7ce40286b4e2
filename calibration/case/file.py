"""Case files: TOML in one system of units, read into a `Case` in SI and written back.

A file is read whole or refused whole: every fault is listed, each in one sentence with its place. A file is
written only after its text was read back without a fault; the new version replaces the old one in one step
and the old one is kept beside it as ``.bak``, so that a crash at any moment leaves one or the other.
"""

from __future__ import annotations

import dataclasses
import hashlib
import os
import re
import shutil
import threading
import tomllib
from pathlib import Path

from calibration.case.atomic_file import alone_in, fresh_file, settle_folder
from calibration.case.document import case_from_document, document_of
from calibration.case.errors import CaseError, Problem
from calibration.case.records import Case
from calibration.case.toml_text import toml_text

LARGEST_FILE = 4_000_000
"""Bytes that a case file may have: some ten thousand visits."""
MOST_LINES = 40_000
"""Lines that a case file may have, counted before it is taken apart: twice what 500 visits with every key
need. Each line costs the reader of TOML far more than its bytes."""
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
    try:
        with source.open("rb") as file:
            raw = file.read(LARGEST_FILE + 1)
    except OSError as error:
        raise CaseError([Problem((), str(source), _os_words(error))]) from error
    if len(raw) > LARGEST_FILE:
        raise CaseError([Problem((), str(source), f"is longer than the {LARGEST_FILE} bytes of a case file")])
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        sentence = f"is not text in UTF-8 (byte {error.start + 1} of the file)"
        raise CaseError([Problem((), str(source), sentence)]) from error
    return dataclasses.replace(parse_case(text), source=source)


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
    text = text.replace("\r\n", "\n")
    if text.count("\n") > MOST_LINES:
        raise CaseError([Problem((), "TOML", f"has more than the {MOST_LINES} lines of a case file")])
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise CaseError([Problem((), "TOML", _toml_words(error, text))]) from error
    except (RecursionError, ValueError) as error:
        raise CaseError(
            [Problem((), "TOML", "a list, table or number in it is out of all bounds")]
        ) from error
    return case_from_document(document)


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
        return hashlib.sha256(Path(path).read_bytes()).hexdigest()
    except FileNotFoundError:
        return ""


def write_case(case: Case, path: str | os.PathLike[str], expected: str | None = None) -> str:
    """Write a case to a file in one step and keep the previous version as ``.bak``.

    Parameters
    ----------
    case : Case
        What to write.
    path : path
        TOML file, new or old.
    expected : str or None
        `fingerprint` of the version that was edited; None overwrites whatever is there.

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
    text = case_text(case)
    parse_case(text)
    target = Path(path).resolve()
    with _SAVING, alone_in(target.parent):
        if expected is not None and fingerprint(target) != expected:
            sentence = "was changed by somebody else meanwhile; open it again and repeat the change"
            raise CaseError([Problem((), str(target), sentence)])
        _replace(target, text.encode("utf-8"))
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def _replace(target: Path, content: bytes) -> None:
    """Put content in place of a file in one step, its previous version beside it."""
    fresh = fresh_file(target, content)
    try:
        if target.exists():
            former = fresh_file(target, target.read_bytes())
            shutil.copymode(target, former)
            shutil.copymode(target, fresh)
            former.replace(target.with_name(f"{target.name}.bak"))
        fresh.replace(target)
    except BaseException:
        fresh.unlink(missing_ok=True)
        raise
    settle_folder(target.parent)
