"""Files that are there whole or not at all, whatever happens while they are written.

The content goes to a new file in the same folder, is made safe on the disk and then takes the place of the
old one in a single step, so that a crash, a kill or a full disk leaves either the old file or the new one.
"""

from __future__ import annotations

import errno
import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

PLAIN_FILE = 0o644
"""Permissions of a new file."""
UNFINISHED = ".tmp"
"""Ending of the hidden file that is being written."""
UNFINISHED_AGE = 3600.0
"""Age from which such a file is one that a killed process left behind [s]."""


def write_whole(path: str | os.PathLike[str], content: bytes) -> None:
    """Write a file in one step.

    Parameters
    ----------
    path : path
        New or old; a link is followed, an old file's permissions are kept. What is no file (a pipe, a
        terminal, the null device) is written to as it is.
    content : bytes
        Everything that is to be in it.

    Raises
    ------
    OSError
        When it cannot be written; whatever was there is as it was.
    """
    target = Path(path).resolve()
    if target.is_dir():
        raise OSError(errno.EISDIR, "is a folder; the name of a file is expected", str(path))
    if target.exists() and not target.is_file():
        target.write_bytes(content)
        return
    fresh = fresh_file(target, content)
    try:
        if target.exists():
            shutil.copymode(target, fresh)
        fresh.replace(target)
    except BaseException:
        fresh.unlink(missing_ok=True)
        raise
    settle_folder(target.parent)


def fresh_file(target: Path, content: bytes) -> Path:
    """New file beside a target, its content safe on the disk, to be put in the target's place.

    Parameters
    ----------
    target : Path
        The file that it will replace.
    content : bytes
        Everything that is to be in it.

    Returns
    -------
    Path
        Hidden file in the same folder.

    Raises
    ------
    OSError
        When it cannot be written, naming the target; nothing is left behind.
    """
    beginning = f".{target.name[:40]}."
    try:
        _clear_unfinished(target.parent, beginning)
        handle, name = tempfile.mkstemp(prefix=beginning, suffix=UNFINISHED, dir=target.parent)
    except OSError as problem:
        raise _told_of(target, problem) from problem
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        temporary.chmod(PLAIN_FILE)
    except OSError as problem:
        temporary.unlink(missing_ok=True)
        raise _told_of(target, problem) from problem
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
    return temporary


def _clear_unfinished(folder: Path, beginning: str) -> None:
    """Take away what killed processes left behind for the same file, once it is sure to be of no use."""
    now = time.time()
    for entry in os.scandir(folder):
        if entry.name.startswith(beginning) and entry.name.endswith(UNFINISHED):
            with suppress(OSError):
                if now - entry.stat(follow_symlinks=False).st_mtime > UNFINISHED_AGE:
                    Path(entry.path).unlink()


def _told_of(target: Path, problem: OSError) -> OSError:
    """The same error, naming the target instead of the hidden file."""
    return OSError(problem.errno, problem.strerror, str(target))


def settle_folder(folder: Path) -> None:
    """Make a new name safe on the disk where the system can; Windows has no such call.

    Parameters
    ----------
    folder : Path
        Where the file is.
    """
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


@contextmanager
def alone_in(folder: Path) -> Iterator[None]:
    """Keep other processes that ask for the same out of a folder meanwhile, where the system can.

    Parameters
    ----------
    folder : Path
        It must exist.

    Returns
    -------
    context manager
        Others wait as long as it is open.

    Raises
    ------
    OSError
        When the folder cannot be opened.
    """
    try:
        import fcntl
    except ImportError:  # Windows
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        with suppress(OSError):  # some network folders know no locks
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)
