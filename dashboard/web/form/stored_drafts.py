"""Drafts on the disk: what was typed and not saved, beside the cases, until it is saved or discarded.

Each is one file in a folder of the workspace, written in one step after every field, so that a closed tab, a
flat battery or a crash of the server loses at most the field that was being typed. A draft holds the texts as
typed and the version of the unit that they belong to, so that whatever was saved meanwhile is seen as a
conflict and not overwritten. What is no draft, or of another form, is left alone and not read.
"""

import datetime as dt
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple, cast

from calibration.case.entries import LONGEST_TEXT
from calibration.case.errors import CaseError
from calibration.case.errors import Path as Place
from calibration.case.file import case_text, parse_case
from calibration.case.units import SYSTEMS, System
from calibration.files.atomic_file import write_whole
from dashboard.web.form.draft import Draft, Typed, key_at

FOLDER = "drafts"
"""Folder inside the workspace that drafts are in."""
FORM = 1
"""Number of the form of a file; another is not read."""
LARGEST_DRAFT = 2_000_000
"""Bytes of a file that is read."""
MOST_DRAFTS = 200
"""Files that are looked at, the latest first."""
_KEY = re.compile(r"[0-9a-f]{16}")


class StoredDraft(NamedTuple):
    """A draft of the disk, and when it was written."""

    draft: Draft
    written: dt.datetime


def store(workspace: Path, draft: Draft) -> None:
    """Write a draft, over its former state.

    Parameters
    ----------
    workspace : Path
        Folder of the cases; made where there is none.
    draft : Draft
        What is typed.

    Raises
    ------
    OSError
        When it cannot be written; the former state stays.
    """
    document = {
        "form": FORM,
        "name": draft.name,
        "version": draft.version,
        "origin": draft.origin,
        "visits": draft.visits,
        "base": case_text(draft.base) if draft.base else None,
        "entries": [[list(path), *typed] for path, typed in draft.entries.items()],
    }
    path = _path(workspace, draft.key)
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, json.dumps(document, ensure_ascii=False).encode("utf-8", "surrogatepass"))


def forget(workspace: Path, key: str) -> None:
    """Delete a draft; one that is not there is deleted already."""
    _path(workspace, key).unlink(missing_ok=True)


def forget_saved(workspace: Path, saved: Draft) -> None:
    """Delete a draft that was saved, and its copies that say the same.

    Parameters
    ----------
    workspace : Path
        Folder of the cases.
    saved : Draft
        As it was saved.
    """
    for found, _ in stored(workspace, saved.name):
        if found.key == saved.key or (found.origin == saved.origin and found.entries == saved.entries):
            forget(workspace, found.key)


def stored(workspace: Path, name: str) -> list[StoredDraft]:
    """Drafts of one unit, the latest first.

    Parameters
    ----------
    workspace : Path
        Folder of the cases.
    name : str
        File name of the unit; empty for new ones.

    Returns
    -------
    list of StoredDraft
        Those that can be read.
    """
    return [found for found in _all_stored(workspace) if found.draft.name == name]


def _all_stored(workspace: Path) -> Iterator[StoredDraft]:
    folder = workspace / FOLDER
    paths = (path for path in folder.glob("*.json") if _KEY.fullmatch(path.stem))
    dated = [(path.stat().st_mtime_ns, path) for path in paths if path.is_file() and not path.is_symlink()]
    for moment, path in sorted(dated, reverse=True)[:MOST_DRAFTS]:
        draft = _read(path)
        if draft is not None:
            yield StoredDraft(draft, dt.datetime.fromtimestamp(moment / 1e9))


def _path(workspace: Path, key: str) -> Path:
    if not _KEY.fullmatch(key):
        raise ValueError(f"key must be sixteen hexadecimal digits, got {key!r}")
    return workspace / FOLDER / f"{key}.json"


def _read(path: Path) -> Draft | None:
    """The draft in a file; None where there is none that can be read."""
    try:
        if path.stat().st_size > LARGEST_DRAFT:
            return None
        document = json.loads(path.read_bytes().decode("utf-8", "surrogatepass"))
        return _draft(document, path.stem) if document["form"] == FORM else None
    except (OSError, ValueError, TypeError, KeyError, AttributeError, RecursionError, CaseError):
        return None


def _draft(document: dict[str, Any], key: str) -> Draft:
    """The draft that a document says.

    Raises
    ------
    ValueError, TypeError, KeyError, CaseError
        Where it says none.
    """
    visits = [int(number) for number in document["visits"]]
    base = document["base"]
    return Draft(
        entries=dict(_entry(path, text, system, visits) for path, text, system in document["entries"]),
        visits=visits,
        base=None if base is None else parse_case(base),
        name=str(document["name"]),
        version=str(document["version"]),
        key=key,
        origin=str(document["origin"]),
    )


def _entry(path: list[Any], text: Any, system: Any, visits: list[int]) -> tuple[Place, Typed]:
    place = tuple(path)
    known = key_at(place) is not None and (place[0] != "visit" or place[1] in visits)
    if not known or system not in SYSTEMS or not isinstance(text, str) or len(text) > 2 * LONGEST_TEXT:
        raise ValueError(f"{path!r} is no entry of a form")
    return place, Typed(text, cast(System, system))
