"""Names of the files of a workspace: made from names of units, of removed ones, and those from outside.

A name is made of letters and digits of any script, so that a unit's file is found by what it is called, and
is short enough for every file system with everything that is put at its end.

References
----------
Unicode Standard, normalization forms (Annex 15) and general categories. Names that Windows keeps: from
memory.
"""

import datetime as dt
import re
import unicodedata

LONGEST_NAME, MOST_BYTES = 60, 150
"""Characters and bytes of a new file's name before its ending."""
MOST_NAME_BYTES = 251
"""Bytes of any name: file systems hold 255, and that of the previous version has four more."""
RESERVED = frozenset(
    {"con", "prn", "aux", "nul", *(f"com{i}" for i in range(10)), *(f"lpt{i}" for i in range(10))}
)
"""Names that Windows keeps for devices."""
_CASE_NAME = re.compile(r"[^\\/:\0]+\.toml")
_REMOVED_NAME = re.compile(r"(.+)\.\d{8}-\d{6}-\d{6}\.toml", re.DOTALL)


def is_case_name(name: str) -> bool:
    """Whether a name can be that of a case file in a folder itself.

    Parameters
    ----------
    name : str
        Any text, such as a part of an address.

    Returns
    -------
    bool
        False for what leads out of the folder, is hidden, has another ending or is too long.
    """
    if not _CASE_NAME.fullmatch(name) or name.startswith("."):
        return False
    return len(name.encode("utf-8", "surrogatepass")) <= MOST_NAME_BYTES


def removed_name(stem: str, moment: dt.datetime) -> str:
    """Name of a removed file.

    Parameters
    ----------
    stem : str
        Its name of before, without its ending; cut where it would be too long.
    moment : datetime
        When it was removed.

    Returns
    -------
    str
        Name and moment, which `stem_of_removed` takes apart.
    """
    end = f".{moment:%Y%m%d-%H%M%S-%f}.toml"
    return _cut(stem, MOST_NAME_BYTES - len(end)) + end


def stem_of_removed(name: str) -> str:
    """Name that a removed file had before, without its ending.

    Parameters
    ----------
    name : str
        As `removed_name` made it, or any other.

    Returns
    -------
    str
        The name without moment and ending.
    """
    found = _REMOVED_NAME.fullmatch(name)
    return found[1] if found else name.removesuffix(".toml")


def alike(stem: str) -> str:
    """What is the same for two names that some file systems take for one.

    Parameters
    ----------
    stem : str
        Name of a file without its ending.

    Returns
    -------
    str
        Without difference of capitals and of how marks are stored.
    """
    return unicodedata.normalize("NFC", stem).casefold()


def file_stem(title: str) -> str:
    """Name of a file, without its ending, for the name of a unit.

    Parameters
    ----------
    title : str
        Any text.

    Returns
    -------
    str
        Small letters of any script with the marks that belong to them, digits and single hyphens; for a title
        of pictures alone their names; never empty, never a device of Windows.
    """
    pictures = (unicodedata.name(sign, "") for sign in title if unicodedata.category(sign)[0] in "SP")
    stem = _letters_of(title) or _letters_of(" ".join(pictures))
    return f"unit-{stem}" if stem in RESERVED else stem or "unit"


def _letters_of(title: str) -> str:
    """Letters and digits of a text, a hyphen for all between them; plain ones where only a mark is added."""
    plain = ""
    for sign in unicodedata.normalize("NFKD", title).lower():
        if sign.isalnum():
            plain += sign
        elif not unicodedata.category(sign).startswith("M"):
            plain += "-"
        elif plain and not plain.endswith("-") and not plain[-1].isascii():
            plain += sign
    joined = re.sub("-+", "-", unicodedata.normalize("NFC", plain)).strip("-")
    return _cut(joined[:LONGEST_NAME], MOST_BYTES).strip("-")


def _cut(text: str, most: int) -> str:
    """The beginning of a text of so many bytes at most, whole characters only."""
    written = text.encode("utf-8", "surrogatepass")
    return text if len(written) <= most else written[:most].decode("utf-8", "ignore")
