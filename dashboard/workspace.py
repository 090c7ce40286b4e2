"""A folder of case files, one unit a file: list, open, create, save, duplicate, remove and bring back.

Every save goes through `calibration.case.file.write_case`: in one step, the previous version kept beside the
file. Who saves says which version was edited; when the file is another one by then, nothing is written. What
is removed is moved into a folder of its own and can be brought back. Names of files are made from names of
units, plain letters and digits only, and a name that comes from outside (an address, a page) is taken only
when it is that of a case file in the folder itself.
"""

import datetime as dt
import os
import re
import threading
import unicodedata
from dataclasses import dataclass, replace
from pathlib import Path

from calibration.case.errors import CaseError
from calibration.case.file import fingerprint, parse_case, read_case, write_case
from calibration.case.records import Case
from dashboard.web.settings import USUAL_WORKSPACE, WORKSPACE_VARIABLE

REMOVED = "removed"
"""Folder inside the workspace that removed units are moved to."""
LONGEST_NAME = 60
"""Characters of a file's name before its ending: short enough for every file system."""
MOST_UNITS = 2000
"""Files that are listed: beyond, a list is no help."""
RESERVED = frozenset(
    {"con", "prn", "aux", "nul", *(f"com{i}" for i in range(10)), *(f"lpt{i}" for i in range(10))}
)
"""Names that Windows keeps for devices."""
_KNOWN_NAME = re.compile(r"[^\\/:\0]+\.toml")
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
    """

    folder: Path

    def stamps(self) -> tuple[tuple[str, int, int], ...]:
        """Name, time of change [ns] and size of every case file, to see cheaply whether anything changed."""
        found = []
        try:
            with os.scandir(self.folder) as files:
                for file in files:
                    if _is_case_name(file.name) and file.is_file(follow_symlinks=False):
                        state = file.stat(follow_symlinks=False)
                        found.append((file.name, state.st_mtime_ns, state.st_size))
        except FileNotFoundError:
            return ()
        return tuple(sorted(found)[:MOST_UNITS])

    def entries(self) -> list[Entry]:
        """Every case file, the latest change first."""
        listed = [self._entry(name, changed) for name, changed, _ in self.stamps()]
        return sorted(listed, key=lambda entry: entry.changed, reverse=True)

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
        if not _is_case_name(name):
            raise ValueError(f"{name[:80]!r} is no name of a case file in the workspace")
        if (self.folder / name).is_symlink():
            raise ValueError(f"{name!r} points out of the workspace")
        return name

    def _path(self, name: str) -> Path:
        return self.folder / self.checked(name)

    def create(self, case: Case) -> Held:
        """Write a new unit to a file named after it.

        Raises
        ------
        CaseError
            When the case could not be read back; nothing is written.
        OSError
            When the folder cannot be written to.
        """
        with _CREATING:
            self.folder.mkdir(parents=True, exist_ok=True)
            name = self._free_name(case.unit.name)
            version = write_case(case, self.folder / name, expected="")
        return Held(name, case, version)

    def _free_name(self, title: str) -> str:
        plain = file_stem(title)
        for number in range(1, MOST_UNITS + 2):
            name = f"{plain}.toml" if number == 1 else f"{plain}-{number}.toml"
            if not (self.folder / name).exists():
                return name
        raise ValueError(f"the workspace already holds {MOST_UNITS} units of the name {title!r}")

    def save(self, held: Held, case: Case) -> Held:
        """Write the new content of a unit that was opened.

        Parameters
        ----------
        held : Held
            As it was opened.
        case : Case
            New content.

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
        version = write_case(case, self._path(held.name), expected=held.version)
        return Held(held.name, case, version)

    def duplicate(self, name: str) -> Held:
        """A second unit like one that there is, named as its copy."""
        case = self.read(name).case
        titles = {entry.title for entry in self.entries()}
        return self.create(with_title(case, copy_title(case.unit.name, titles)))

    def remove(self, name: str, version: str) -> str:
        """Move a unit into the folder of removed ones.

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
        path = self._path(name)
        with _CREATING:
            if fingerprint(path) != version:
                raise ValueError("the unit was changed by somebody else meanwhile; open it again first")
            home = self.folder / REMOVED
            home.mkdir(exist_ok=True)
            moment = dt.datetime.now().strftime("%Y%m%d-%H%M%S-%f")
            target = home / f"{path.stem}.{moment}.toml"
            path.replace(target)
        return target.name

    def removed(self) -> list[str]:
        """Names of removed units, the latest first."""
        home = Workspace(self.folder / REMOVED)
        return sorted(
            (name for name, _, _ in home.stamps()), key=lambda name: name.split(".")[-2], reverse=True
        )

    def bring_back(self, name: str) -> Held:
        """Put a removed unit back under a free name.

        Raises
        ------
        CaseError
            When it cannot be read.
        """
        home = Workspace(self.folder / REMOVED)
        held = self.create(home.read(name).case)
        (home.folder / name).unlink(missing_ok=True)
        return held

    def version(self, name: str) -> str:
        """Fingerprint of a file as it is now; empty where there is none."""
        return fingerprint(self._path(name))

    def put_previous_back(self, name: str) -> Held:
        """Make the version before the last save the present one; the present one becomes the one before.

        Raises
        ------
        ValueError
            When there is none.
        OSError
            When the folder cannot be written to.
        """
        version, case = self.version(name), self.previous(name)
        if case is None:
            raise ValueError(f"{name} has no version before this one")
        return Held(name, case, write_case(case, self._path(name), expected=version))

    def previous(self, name: str) -> Case | None:
        """The version before the last save, None where there is none."""
        path = self._path(name)
        kept = path.with_name(f"{path.name}.bak")
        try:
            return parse_case(kept.read_text(encoding="utf-8"))
        except (OSError, UnicodeDecodeError, CaseError):
            return None


def _is_case_name(name: str) -> bool:
    return bool(_KNOWN_NAME.fullmatch(name)) and not name.startswith(".") and len(name) <= 200


def file_stem(title: str) -> str:
    """Name of a file, without its ending, for the name of a unit.

    Parameters
    ----------
    title : str
        Any text.

    Returns
    -------
    str
        Small plain letters, digits and single hyphens; never empty, never a device of Windows.
    """
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode()
    stem = re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")[:LONGEST_NAME].strip("-")
    return f"unit-{stem}" if stem in RESERVED else stem or "unit"


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
    return Workspace(Path(os.environ.get(WORKSPACE_VARIABLE) or USUAL_WORKSPACE).resolve())
