"""Files that are there whole or not at all, whatever happens while they are written.

The content goes to a new file in the same folder, is made safe on the disk and then takes the place of the
old one in a single step, so that a crash, a kill or a full disk leaves either the old file or the new one.
The new file is hidden, carries this program's mark in its name, and is locked by its writer until it is in
place: one that nobody has locked was left behind by a killed process, and the next save takes it away.
"""

from __future__ import annotations

import errno
import os
import re
import secrets
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

try:
    import fcntl
except ImportError:  # Windows
    CAN_LOCK = False
else:
    CAN_LOCK = True

NEW_FILE = 0o666
"""Permissions of a new file, of which the system takes those away that the user's mask names."""
BEFORE_COPY = 0o600
"""Permissions of what will replace a file, until it gets those of the file."""
UNFINISHED = re.compile(r"\..*\.coiltoll-[0-9a-f]{16}\.tmp", re.DOTALL)
"""Names of hidden files that are being written."""
UNFINISHED_AGE = 3600.0
"""Age from which such a file counts as left behind where the system cannot lock files [s]."""


def write_whole(path: str | os.PathLike[str], content: bytes) -> None:
    """Write a file in one step.

    Parameters
    ----------
    path : path
        New or old; a link is followed, an old file's permissions are kept, a new one gets those that the
        user's mask leaves. What is no file (a pipe, a terminal, the null device) is written to as it is.
    content : bytes
        Everything that is to be in it.

    Raises
    ------
    OSError
        When it cannot be written; whatever was there is as it was.
    """
    with written_at_the_end(path, content):
        pass


@contextmanager
def written_at_the_end(path: str | os.PathLike[str], content: bytes) -> Iterator[None]:
    """Get a file ready on the disk, and put it in its place when the block ends without a fault.

    Two files are written together or not at all when the second is written inside the block of the first.

    Parameters
    ----------
    path, content : path and bytes
        As for `write_whole`.

    Returns
    -------
    context manager
        After a fault inside, nothing of the file is left and whatever was there is as it was.

    Raises
    ------
    OSError
        When it cannot be written: at the start, but for what is no file.
    """
    target = Path(path).resolve()
    if target.is_dir():
        raise OSError(errno.EISDIR, "is a folder; the name of a file is expected", str(path))
    if target.exists() and not target.is_file():
        yield
        target.write_bytes(content)
        return
    with fresh_file(target, content) as fresh:
        yield
        fresh.replace(target)
    settle_folder(target.parent)


@contextmanager
def fresh_file(target: Path, content: bytes) -> Iterator[Path]:
    """New file beside a target, its content safe on the disk, to be put in the target's place.

    Parameters
    ----------
    target : Path
        The file that it will replace; its permissions are taken over where there is one.
    content : bytes
        Everything that is to be in it.

    Returns
    -------
    context manager of Path
        Hidden file in the same folder; removed at the end where it was not renamed.

    Raises
    ------
    OSError
        When it cannot be written, with the name of the target; nothing is left behind.
    """
    clear_unfinished(target.parent)
    lock, temporary = -1, None
    try:
        try:
            handle, temporary = _locked_file(target)
            lock = os.dup(handle) if CAN_LOCK else -1
            with os.fdopen(handle, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            if target.exists():
                shutil.copymode(target, temporary)
        except OSError as problem:
            raise OSError(problem.errno, problem.strerror, str(target)) from problem
        yield temporary
    finally:
        if temporary is not None:
            temporary.unlink(missing_ok=True)
        if lock >= 0:
            os.close(lock)


def _locked_file(target: Path) -> tuple[int, Path]:
    """Handle and path of an empty hidden file beside a target, locked where the system can."""
    while True:
        path = target.with_name(f".{target.name[:40]}.coiltoll-{secrets.token_hex(8)}.tmp")
        mode = BEFORE_COPY if target.exists() else NEW_FILE
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), mode)
        if not CAN_LOCK:
            return handle, path
        with suppress(OSError):  # some network folders know no locks
            fcntl.flock(handle, fcntl.LOCK_EX)
        if os.fstat(handle).st_nlink:
            return handle, path
        os.close(handle)  # somebody took it for one left behind before it was locked


def clear_unfinished(folder: Path) -> None:
    """Take away what killed processes left half written in a folder; what is being written stays.

    Parameters
    ----------
    folder : Path
        Where; nothing happens where there is no such folder.
    """
    with suppress(OSError):
        for entry in os.scandir(folder):
            if UNFINISHED.fullmatch(entry.name) and entry.is_file(follow_symlinks=False):
                with suppress(OSError):
                    _clear_if_left_behind(Path(entry.path))


def _clear_if_left_behind(path: Path) -> None:
    """Remove a hidden file whose writer is gone: its lock went with it."""
    if not CAN_LOCK:
        if time.time() - path.stat().st_mtime > UNFINISHED_AGE:
            path.unlink()
        return
    handle = os.open(path, os.O_RDWR | os.O_NOFOLLOW | os.O_NONBLOCK)
    try:
        if _locks_work(handle) or time.time() - os.fstat(handle).st_mtime > UNFINISHED_AGE:
            path.unlink()
    finally:
        os.close(handle)


def _locks_work(handle: int) -> bool:
    """Whether a file could be locked; False where its folder knows no locks.

    Raises
    ------
    BlockingIOError
        When somebody else has locked it.
    """
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        raise
    except OSError:
        return False
    return True


def settle_folder(folder: Path) -> None:
    """Make the names in a folder safe on the disk where the system can; Windows has no such call.

    Parameters
    ----------
    folder : Path
        In which a file was put, renamed or removed.
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
    if not CAN_LOCK:
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        with suppress(OSError):  # some network folders know no locks
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)
