"""Files that are read: only what lies there whole, so that no input can block or go on for ever.

A pipe without a writer waits for one, and a device such as ``/dev/zero`` has no end.
"""

from __future__ import annotations

import errno
import stat
from pathlib import Path


def require_regular(path: Path) -> int:
    """Refuse a folder, pipe, socket or device before it is opened.

    Parameters
    ----------
    path : Path
        A file or a link to one.

    Returns
    -------
    int
        Bytes that it has.

    Raises
    ------
    OSError
        Where there is none, or something else.
    """
    found = path.stat()
    if not stat.S_ISREG(found.st_mode):
        words = "is a folder" if stat.S_ISDIR(found.st_mode) else "is a pipe or a device"
        raise OSError(errno.EINVAL, f"{words}; a file is expected", str(path))
    return found.st_size


def input_bytes(path: Path, most: int) -> bytes:
    """Content of a regular file, at most so many bytes of it.

    Parameters
    ----------
    path : Path
        A file or a link to one.
    most : int
        Bytes that are read at most.

    Returns
    -------
    bytes
        From its beginning.

    Raises
    ------
    OSError
        Where it is no regular file or cannot be read.
    """
    require_regular(path)
    with path.open("rb") as file:
        return file.read(most)
