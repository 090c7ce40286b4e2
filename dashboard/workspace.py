"""A folder of case files, one unit a file: list, open, create, save, duplicate, remove and bring back.

Every save goes through `calibration.case.file.write_case`: in one step, the previous version kept beside the
file. Who saves says which version was edited; when the file is another one by then, nothing is written. What
is removed is moved as it is, with its previous version, into a folder of its own and can be brought back,
whatever is in it. Names of files are made from names of units, and none is given again while a file, a
previous version or a removed unit still has it; what files hold is told apart by the identifiers in them. A
name from outside (an address, a page) is taken only when it is that of a case file in the folder itself.
"""

import datetime as dt
import os
import threading
from collections.abc import Iterable
from dataclasses import dataclass, replace
from errno import EACCES
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

from calibration.case.errors import CaseError
from calibration.case.file import (
    BACKUP,
    fingerprint,
    identifier,
    read_case,
    unit_name,
    with_identifier,
    write_case,
    write_version,
)
from calibration.case.records import Case
from calibration.files.atomic_file import alone_in, settle_folder, write_whole
from dashboard.file_names import alike, file_stem, is_case_name, removed_name, stem_of_removed
from dashboard.web.settings import READ_ONLY_VARIABLE, USUAL_WORKSPACE, WORKSPACE_VARIABLE

REMOVED = "removed"
"""Folder inside the workspace that removed units are moved to."""
MOST_UNITS = 5000
"""Files that are listed: beyond, a list is no help."""
_CREATING = threading.Lock()


@dataclass(frozen=True)
class Entry:
    """One file of the workspace.

    Attributes
    ----------
    name : str
        File name.
    title : str
        Name of the unit; the file's where it cannot be read.
    words : str
        Refrigerant and number of visits, or what is wrong with the file.
    changed : datetime
        When it was last written.
    readable : bool
        Whether it is a case without a fault.
    """

    name: str
    title: str
    words: str
    changed: dt.datetime
    readable: bool


class Titled(NamedTuple):
    """A file, the name of its unit, and when it was last written [ns]."""

    name: str
    title: str
    changed_ns: int


@dataclass(frozen=True)
class Held:
    """A unit as it was opened.

    Attributes
    ----------
    name : str
        File name in the workspace.
    case : Case
        Its content.
    version : str
        Fingerprint of the file that this content was read from.
    """

    name: str
    case: Case
    version: str


@dataclass(frozen=True)
class Workspace:
    """A folder of case files.

    Attributes
    ----------
    folder : Path
        Where; made at the first save.
    read_only : bool
        Whether every change is refused.
    """

    folder: Path
    read_only: bool = False

    def _check_writable(self) -> None:
        """Refuse a change where none may be made.

        Raises
        ------
        PermissionError
        """
        if self.read_only:
            raise PermissionError(EACCES, "the units are shared for reading only")

    def stamps(self) -> tuple[tuple[str, int, int], ...]:
        """Name, time of change [ns] and size of every case file, to see cheaply whether anything changed."""
        found = []
        try:
            with os.scandir(self.folder) as files:
                for file in files:
                    if is_case_name(file.name) and file.is_file(follow_symlinks=False):
                        state = file.stat(follow_symlinks=False)
                        found.append((file.name, state.st_mtime_ns, state.st_size))
        except (FileNotFoundError, NotADirectoryError):
            return ()
        return tuple(sorted(found)[:MOST_UNITS])

    def entries(self) -> list[Entry]:
        """Every case file, the latest change first."""
        return self.entries_of(self.titles())

    def titles(self) -> tuple[Titled, ...]:
        """Every case file with the name of its unit, the latest change first; none is checked."""
        listed = [
            Titled(name, _unit_name(self.folder / name, ns, size) or name, ns)
            for name, ns, size in self.stamps()
        ]
        return tuple(sorted(listed, key=lambda one: one.changed_ns, reverse=True))

    def entries_of(self, some: Iterable[Titled]) -> list[Entry]:
        """What is listed of some of them, each file read and checked."""
        return [self._entry(one.name, one.changed_ns) for one in some]

    def _entry(self, name: str, changed_ns: int) -> Entry:
        changed = dt.datetime.fromtimestamp(changed_ns / 1e9)
        try:
            case = read_case(self.folder / name)
        except CaseError as problem:
            return Entry(name, name, f"cannot be read: {problem.problems[0]}", changed, False)
        visits = len(case.visits)
        words = f"{case.unit.refrigerant}, {visits} visit{'' if visits == 1 else 's'}"
        return Entry(name, case.unit.name, words, changed, True)

    def read(self, name: str) -> Held:
        """One unit.

        Parameters
        ----------
        name : str
            File name in the workspace.

        Returns
        -------
        Held
            Content and version.

        Raises
        ------
        CaseError
            When it cannot be read.
        ValueError
            When the name is none of a case file in this folder.
        """
        path = self._path(name)
        for _ in range(5):
            version = fingerprint(path)
            case = read_case(path)
            if fingerprint(path) == version:  # not written between the two readings
                return Held(name, case, version)
        raise ValueError(
            f"{name} is being written to all the time; close the other program and open it again"
        )

    def checked(self, name: str) -> str:
        """The name itself, when it can be that of a case file in this folder.

        Raises
        ------
        ValueError
            When it cannot.
        """
        if not is_case_name(name):
            raise ValueError(f"{name[:80]!r} is no name of a case file in the workspace")
        if (self.folder / name).is_symlink():
            raise ValueError(f"{name!r} points out of the workspace")
        return name

    def _path(self, name: str) -> Path:
        return self.folder / self.checked(name)

    def create(self, case: Case, former: str = "") -> Held:
        """Write a new unit to a file named after it.

        Parameters
        ----------
        case : Case
            What to write, with an identifier of its own.
        former : str
            Text that the case was read from, for the comments in it.

        Raises
        ------
        CaseError
            When the case could not be read back; nothing is written.
        OSError
            When the folder cannot be written to.
        """
        self._check_writable()
        case = with_identifier(replace(case, id=""))
        with _CREATING:
            _make_folder(self.folder)
            name = self._free_name(file_stem(case.unit.name))
            version = write_case(case, self.folder / name, "", former)
        return Held(name, case, version)

    def _free_name(self, stem: str, leaving: str = "") -> str:
        """Name like a stem of which nothing is left but one removed file, `leaving`."""
        taken = self._taken_stems(leaving)
        for number in range(1, MOST_UNITS + 2):
            free = stem if number == 1 else f"{stem}-{number}"
            if alike(free) not in taken:
                return f"{free}.toml"
        raise ValueError(f"the workspace already holds {MOST_UNITS} units of the name {stem!r}")

    def _taken_stems(self, leaving: str) -> set[str]:
        """What is kept or removed here, or has left a previous version, without its ending."""
        kept = [name.removesuffix(BACKUP) for name in _names_in(self.folder)]
        stems = {alike(name.removesuffix(".toml")) for name in kept if name.endswith(".toml")}
        removed = {name.removesuffix(BACKUP) for name in _names_in(self.folder / REMOVED)} - {leaving}
        return stems | {alike(stem_of_removed(name)) for name in removed}

    def save(self, held: Held, case: Case) -> Held:
        """Write the new content of a unit that was opened.

        Parameters
        ----------
        held : Held
            As it was opened.
        case : Case
            New content; it keeps the identifier of the unit.

        Returns
        -------
        Held
            The new version.

        Raises
        ------
        CaseError
            When the file is another one by now, or the case could not be read back; nothing is written.
        OSError
            When the folder cannot be written to; the file is as it was.
        """
        self._check_writable()
        case = with_identifier(replace(case, id=held.case.id))
        version = write_case(case, self._path(held.name), expected=held.version)
        return Held(held.name, case, version)

    def is_same_unit(self, held: Held, now: Held) -> bool:
        """Whether a file still holds the unit that was opened under its name.

        Parameters
        ----------
        held, now : Held
            As it was opened, and as the file says now.

        Returns
        -------
        bool
            By their identifiers. A file made by hand has none until it is saved: it holds the same unit while
            it has none, and when its previous version is the one that was opened.
        """
        if held.case.id == now.case.id:
            return True
        return not held.case.id and fingerprint(self._kept(held.name)) == held.version

    def duplicate(self, name: str) -> Held:
        """A second unit like one that there is, named as its copy."""
        case = self.read(name).case
        titles = {one.title for one in self.titles()}
        former = self._path(name).read_text(encoding="utf-8-sig")
        return self.create(with_title(case, copy_title(case.unit.name, titles)), former)

    def remove(self, name: str, version: str) -> str:
        """Move a unit with its previous version into the folder of removed ones.

        Parameters
        ----------
        name, version : str
            The file and the version that is to go.

        Returns
        -------
        str
            Its name there, for `bring_back`.

        Raises
        ------
        ValueError
            When the file is another one by now.
        OSError
            When it cannot be moved.
        """
        self._check_writable()
        path = self._path(name)
        home = self.folder / REMOVED
        with _CREATING, alone_in(self.folder):
            if fingerprint(path) != version:
                raise ValueError("the unit was changed by somebody else meanwhile; open it again first")
            _make_folder(home)
            moment, there = dt.datetime.now(), set(_names_in(home))
            while (target := removed_name(path.stem, moment)) in there:
                moment += dt.timedelta(microseconds=1)
            self._move(path, home / target)
        return target

    def _move(self, path: Path, target: Path) -> None:
        """Give a file and its previous version another name, and make that safe on the disk."""
        path.rename(target)
        kept = path.with_name(path.name + BACKUP)
        if kept.is_file():
            kept.rename(target.with_name(target.name + BACKUP))
        for folder in (target.parent, path.parent):
            settle_folder(folder)

    def removed(self) -> list[str]:
        """Names of removed units, the latest first."""
        home = Workspace(self.folder / REMOVED)
        return sorted(
            (name for name, _, _ in home.stamps()), key=lambda name: name.split(".")[-2], reverse=True
        )

    def bring_back(self, name: str) -> Entry:
        """Move a removed unit back as it is, under its name of before or, where that is taken, a free one.

        Parameters
        ----------
        name : str
            Its name among the removed ones.

        Returns
        -------
        Entry
            The unit as it is listed, be it with what is wrong in its file.

        Raises
        ------
        OSError
            When it cannot be moved, or is not there any more.
        """
        self._check_writable()
        path = Workspace(self.folder / REMOVED)._path(name)
        with _CREATING, alone_in(self.folder):
            free = self._free_name(stem_of_removed(name), leaving=name)
            self._move(path, self.folder / free)
        return self._entry(free, (self.folder / free).stat().st_mtime_ns)

    def keep_file(self, name: str, content: bytes) -> str:
        """Write a file that cases refer to, such as weather, beside them.

        Parameters
        ----------
        name : str
            As it was called elsewhere; its ending is kept.
        content : bytes
            All of it.

        Returns
        -------
        str
            Its name here: another one where a file of other content has it.

        Raises
        ------
        OSError
            When the folder cannot be written to.
        """
        self._check_writable()
        stem, ending = file_stem(Path(name).stem), Path(name).suffix.lower()
        with _CREATING:
            _make_folder(self.folder)
            for number in range(1, MOST_UNITS + 2):
                here = f"{stem}{'' if number == 1 else f'-{number}'}{ending}"
                path = self.folder / here
                if not path.exists():
                    write_whole(path, content)
                    return here
                if path.is_file() and path.stat().st_size == len(content) and path.read_bytes() == content:
                    return here
        raise ValueError(f"the workspace already holds {MOST_UNITS} files of the name {stem!r}")

    def version(self, name: str) -> str:
        """Fingerprint of a file as it is now; empty where there is none."""
        return fingerprint(self._path(name))

    def put_previous_back(self, name: str) -> Held:
        """Make the version before the last save the present one; the present one becomes the one before.

        Raises
        ------
        ValueError
            When there is none, or it is one of another unit.
        OSError
            When the folder cannot be written to.
        """
        self._check_writable()
        version, kept = self.version(name), self._kept(name)
        if self._is_of_another_unit(name):
            raise ValueError(f"the version kept beside {name} is one of another unit and stays where it is")
        if self.previous(name) is None:
            raise ValueError(f"{name} has no version before this one")
        write_version(kept.read_bytes(), self._path(name), expected=version)
        return self.read(name)

    def previous(self, name: str) -> Case | None:
        """The version before the last save, None where there is none of this unit."""
        if self._is_of_another_unit(name):
            return None
        try:
            return read_case(self._kept(name))
        except CaseError:
            return None

    def _is_of_another_unit(self, name: str) -> bool:
        """Whether file and previous version have identifiers, and not the same."""
        present, former = identifier(self._path(name)), identifier(self._kept(name))
        return bool(present and former) and present != former

    def _kept(self, name: str) -> Path:
        return self._path(name).with_name(name + BACKUP)


@lru_cache(maxsize=2 * MOST_UNITS)
def _unit_name(path: Path, changed_ns: int, size: int) -> str:
    """Name of the unit in a file, read again when time or size of the file are other ones."""
    return unit_name(path)


def _names_in(folder: Path) -> list[str]:
    """Names of everything in a folder; none where there is no such folder."""
    return [path.name for path in folder.iterdir()] if folder.is_dir() else []


def _make_folder(folder: Path) -> None:
    """Make a folder where there is none, safe on the disk."""
    if not folder.is_dir():
        folder.mkdir(parents=True, exist_ok=True)
        settle_folder(folder.parent)


def copy_title(title: str, taken: set[str]) -> str:
    """Name of a copy that no other unit has."""
    name, number = f"{title} (copy)", 2
    while name in taken:
        name, number = f"{title} (copy {number})", number + 1
    return name


def with_title(case: Case, title: str) -> Case:
    """The same case for a unit of another name."""
    return replace(case, unit=replace(case.unit, name=title), source=None)


def workspace_of_session() -> Workspace:
    """The folder that `coiltoll app` was given, else `workspace` in the current one."""
    folder = Path(os.environ.get(WORKSPACE_VARIABLE) or USUAL_WORKSPACE).resolve()
    return Workspace(folder, os.environ.get(READ_ONLY_VARIABLE) == "1")
