"""Keep tables of fluid properties in files, so that a command need not import CoolProp to read them.

The only module of this package that touches the disk. One table is one NumPy archive (plain numbers, no
pickled objects) whose name carries the refrigerant, the CoolProp version it came from and the version of
the grid. A folder that cannot be written to, or an archive that cannot be read, is no error: the tables are
built again, which takes a fraction of a second beside the import of CoolProp.

The folder is `$COILTOLL_CACHE`, else `$XDG_CACHE_HOME/coiltoll`, else `~/.cache/coiltoll`.
"""

from __future__ import annotations

import os
import tempfile
import zipfile
import zlib
from collections.abc import Mapping
from importlib.metadata import version
from pathlib import Path

import numpy as np

from model.arrays import Array

FOLDER_VARIABLE = "COILTOLL_CACHE"
UNREADABLE = (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile, zlib.error, NotImplementedError)
"""What NumPy and zipfile raise on an archive that is missing, cut short or damaged."""


def folder() -> Path:
    """Folder that holds the tables, whether or not it exists yet.

    Returns
    -------
    Path
        `$COILTOLL_CACHE`, else `$XDG_CACHE_HOME/coiltoll`, else `~/.cache/coiltoll`.
    """
    chosen = os.environ.get(FOLDER_VARIABLE)
    if chosen:
        return Path(chosen)
    base = os.environ.get("XDG_CACHE_HOME")
    try:
        return (Path(base) if base else Path.home() / ".cache") / "coiltoll"
    except RuntimeError:  # nobody's home: a place where nothing can be read or written
        return Path(os.devnull) / "coiltoll"


def file_of(name: str, grid_version: int) -> Path:
    """File of one table, named after everything that its numbers depend on.

    Parameters
    ----------
    name : str
        Name of the refrigerant.
    grid_version : int
        Version of the grid and of the meaning of the arrays; changes whenever they do.

    Returns
    -------
    Path
        File, whether or not it exists yet.
    """
    return folder() / f"{name}-coolprop-{version('CoolProp')}-grid-{grid_version}.npz"


def load(file: Path, shapes: Mapping[str, tuple[int, ...]]) -> dict[str, Array] | None:
    """Arrays of a table, if the file holds them whole.

    Parameters
    ----------
    file : Path
        File to read.
    shapes : mapping
        Names and shapes that the arrays must have.

    Returns
    -------
    dict of ndarray, or None
        None where the file is missing, damaged, of other shapes or with numbers that are not finite.
    """
    try:
        with np.load(file, allow_pickle=False) as archive:
            arrays = {name: archive[name] for name in shapes}
    except UNREADABLE:
        return None
    for name, shape in shapes.items():
        array = arrays[name]
        if array.shape != shape or array.dtype != np.float64 or not np.isfinite(array).all():
            return None
    return arrays


def store(file: Path, arrays: Mapping[str, Array]) -> bool:
    """Write a table so that another process sees the old file or the whole new one, never a part.

    Parameters
    ----------
    file : Path
        File to write.
    arrays : mapping
        Arrays by name.

    Returns
    -------
    bool
        Whether the file was written; False where the folder cannot be written to.
    """
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        handle, part = tempfile.mkstemp(dir=file.parent, prefix=file.stem, suffix=".part")
    except OSError:
        return False
    try:
        with os.fdopen(handle, "wb") as stream:
            np.savez(stream, allow_pickle=False, **dict(arrays))
        Path(part).replace(file)
    except OSError:
        Path(part).unlink(missing_ok=True)
        return False
    return True
