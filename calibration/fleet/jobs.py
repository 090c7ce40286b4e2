"""What has to be worked out for a fleet: one job a unit, known by the content of its case and the version.

A fleet is a folder of case files (a subfolder is a site where the file names none), or tables of units. A
job's key is a digest of the case's text, of the weather and load files that it names, of the day it is worked
out for, and of the program itself: the same key means the same row, so that nothing is worked out twice.
"""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import calibration
import model
from calibration.case.document import document_of
from calibration.case.errors import CaseError, Problem
from calibration.case.file import BACKUP, LARGEST_FILE, read_case
from calibration.case.units import System
from calibration.clean_fit.parameter_prior import ParameterPrior
from calibration.costs.rate_prior import RatePrior
from calibration.files.input_file import input_bytes
from calibration.fleet.listed_units import LeftOut, ListedUnit, listed_units
from calibration.fleet.table import read_fleet_table

ASIDE = "removed"
"""Subfolder in which the pages keep removed units."""
MOST_CASES = 200_000
"""Case files of a folder that are read."""
TABLES = (".csv", ".tsv", ".txt", ".xlsx", ".xlsm", ".parquet")
"""Endings of tables of units."""


@dataclass(frozen=True)
class FirstLook:
    """What is known of a unit before its costs are worked out.

    Attributes
    ----------
    row : dict
        What its readings show, as `calibration.fleet.unit_row.shown_row` gives it.
    prior : RatePrior or None
        What other units of the fleet show of its growth.
    """

    row: dict[str, Any]
    prior: RatePrior | None = None


@dataclass(frozen=True)
class Job:
    """One unit to be worked out.

    Attributes
    ----------
    unit, site, exposure : str
        Names, as far as they are known before the case is read.
    text : str
        Its case file; empty where there is none that can be read.
    folder : str
        Folder that weather and load files lie in.
    today : str
        Day for which it is worked out, year-month-day; empty for that of its last visit.
    key : str
        Digest of all that its row depends on.
    problem : str
        What is wrong with it, or with some of its rows.
    look : FirstLook or None
        None before its readings were looked at.
    alike : ParameterPrior or None
        What other units of its nameplate show of the clean unit; None where there are none, or not yet.
    clean_only : bool
        Whether only its clean visits are to be fitted, for the others of its nameplate.
    """

    unit: str
    site: str
    exposure: str
    text: str
    folder: str
    today: str
    key: str
    problem: str
    look: FirstLook | None = None
    alike: ParameterPrior | None = None
    clean_only: bool = False


@dataclass(frozen=True)
class Fleet:
    """Jobs of a fleet, in the order of its source, the rows that were left out, and the tables read."""

    jobs: tuple[Job, ...]
    left_out: tuple[LeftOut, ...]
    tables: tuple[Path, ...] = ()


def fleet_of(
    sources: Sequence[Path], system: System = "US", like: Path | None = None, today: str = ""
) -> Fleet:
    """Jobs of a folder of cases, or of one or more tables.

    Parameters
    ----------
    sources : sequence of Path
        One folder, or tables; of two tables a row of the later one may replace one of the earlier.
    system : {"US", "SI"}
        Of columns of tables whose header names no unit.
    like : Path, optional
        Case file whose season, tariff, cleaning and meters count for units of a table that have none.
    today : str
        Day for which all are worked out, year-month-day; empty for that of each unit's last visit.

    Returns
    -------
    Fleet

    Raises
    ------
    CaseError
        When there is no case in the folder, or a table or the case cannot be read.
    """
    if len(sources) == 1 and sources[0].is_dir():
        return Fleet(tuple(_job_of_file(path, sources[0], today) for path in _case_files(sources[0])), ())
    for path in sources:
        if path.suffix.lower() not in TABLES:
            sentence = f"a folder of cases or a table ({', '.join(TABLES)}) is expected"
            raise CaseError([Problem((), str(path), sentence)])
    given = read_case(like) if like is not None else None
    tables = document_of(given, system) if given is not None else None
    folder = str((like or sources[0]).resolve().parent)
    units = listed_units([read_fleet_table(path) for path in sources], system, tables)
    return Fleet(
        tuple(_job_of_rows(unit, folder, today) for unit in units),
        tuple(one for unit in units for one in unit.left_out),
        tuple(sources),
    )


def _case_files(folder: Path) -> list[Path]:
    """Case files of a folder and of its subfolders, by name."""
    found = [
        path
        for pattern in ("*.toml", "*/*.toml")
        for path in folder.glob(pattern)
        if path.is_file()
        and not any(part.startswith(".") or part == ASIDE for part in path.relative_to(folder).parts)
        and not path.name.endswith(BACKUP)
    ]
    if not found:
        raise CaseError([Problem((), str(folder), "has no case file (.toml); one a unit is expected")])
    if len(found) > MOST_CASES:
        raise CaseError([Problem((), str(folder), f"has more than {MOST_CASES} case files")])
    return sorted(found)


def _job_of_file(path: Path, folder: Path, today: str) -> Job:
    """Job of a case file; it is read whole by whoever works it out."""
    site = "" if path.parent == folder else path.parent.name
    text, problem = "", ""
    names: Any = {}
    try:
        text = input_bytes(path, LARGEST_FILE).decode("utf-8-sig")
        names = tomllib.loads(text).get("unit", {})
    except OSError as error:
        problem = f"{path.name} cannot be read ({error.strerror})"
    except (ValueError, RecursionError):
        problem = "" if text else f"{path.name} is not text in UTF-8"
    names = names if isinstance(names, dict) else {}
    unit, own_site, exposure = (str(names.get(name) or "") for name in ("name", "site", "exposure"))
    home = str(path.resolve().parent)
    return Job(
        unit or path.stem, own_site or site, exposure, text, home, today, _key(text, home, today), problem
    )


def _job_of_rows(unit: ListedUnit, folder: str, today: str) -> Job:
    """Job of a unit of a table, with a sentence on rows that were left out."""
    problem = ""
    if unit.left_out:
        first = unit.left_out[0]
        more = f", and {len(unit.left_out) - 1} more" if len(unit.left_out) > 1 else ""
        problem = f"left out: row {first.number}: {first.sentence}{more}"
    key = _key(unit.text, folder, today)
    return Job(unit.unit, unit.site, unit.exposure, unit.text, folder, today, key, problem)


def _key(text: str, folder: str, today: str) -> str:
    """Digest of everything that the row of a case depends on."""
    digest = hashlib.sha256()
    for part in (program_digest(), today, text, _digest_of_files(text, folder)):
        digest.update(f"{len(part)}:{part}".encode())
    return digest.hexdigest()[:32]


def _digest_of_files(text: str, folder: str) -> str:
    """Digest of the weather and load files that a case names; empty where it names none."""
    try:
        season = tomllib.loads(text).get("season", {})
    except (ValueError, RecursionError):
        return ""
    names = [season.get(name) for name in ("weather", "load_file")] if isinstance(season, dict) else []
    paths = [Path(folder, name) for name in names if isinstance(name, str) and "\0" not in name]
    return " ".join(_digest_of_file(path) for path in paths if path.is_file())


@cache
def _digest_of_file(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


@cache
def program_digest() -> str:
    """Digest of the version and of the source of everything that a row is worked out with.

    Returns
    -------
    str
        Another one as soon as a line of `model` or `calibration` is another one.
    """
    digest = hashlib.sha256()
    try:
        digest.update(version("coiltoll").encode())
    except PackageNotFoundError:
        digest.update(b"not installed")
    for package in (model, calibration):
        root = Path(str(package.__file__)).parent
        for path in sorted(root.rglob("*.py")):
            digest.update(str(path.relative_to(root)).encode())
            digest.update(path.read_bytes())
    return digest.hexdigest()
