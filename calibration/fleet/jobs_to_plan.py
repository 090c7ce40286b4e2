"""Jobs that a table of results asks for: what to do at each unit, how long it takes, what it saves by week.

A unit that is to be cleaned now or later is a cleaning; one to be measured first a visit that measures; one
whose readings claim another fault a repair. A cleaning saves what the unit's row says for the week (the
running cost until the day on which it would be cleaned anyway); a measurement is worth what knowing more is
worth, as long as a cleaning would still save as much; a repair saves what the fault costs in a year, less
what has passed until then.

Assumptions: a repair's price is not known and counts as zero; a year has `RUNNING_HOURS` of running for a
repair. Job times are common practice, no source.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from calibration.case.errors import CaseError, Problem
from calibration.costs.cleaning_interval import MEASURING_PRICE
from calibration.files.input_file import input_bytes
from calibration.fleet.table import LARGEST_TABLE
from calibration.fleet.unit_row import UnitRow

Array = NDArray[np.float64]
Work = Literal["clean", "measure", "repair"]

HOURS: dict[str, float] = {"clean": 1.5, "measure": 1.0, "repair": 3.0}
"""How long each job takes [h]."""
DAYS_A_WEEK = 7
WEEKS_A_YEAR = 365.0 / DAYS_A_WEEK
_NEEDED = ("unit", "site", "advice", "saving_by_week", "as_of", "price")


@dataclass(frozen=True)
class UnitJob:
    """One unit's job.

    Attributes
    ----------
    unit, site : str
    work : str
        "clean", "measure" or "repair".
    hours : float
        How long it takes [h].
    price : float
        What it costs, the way there left out [money].
    saving : ndarray, shape (weeks,)
        What it saves when it is done in each week [money].
    must_by : int or None
        Last week in which it has to be done; None where it need not be.
    must_on : date or None
        Last day of that week on which it has to be done.
    read : str
        What to read there.
    treatments : str
        Keys of the treatments that a repair is for, joined by "; ".
    """

    unit: str
    site: str
    work: Work
    hours: float
    price: float
    saving: Array
    must_by: int | None = None
    must_on: dt.date | None = None
    read: str = ""
    treatments: str = ""


def read_rows(path: Path) -> list[dict[str, Any]]:
    """Rows of a table of results.

    Parameters
    ----------
    path : Path
        CSV or Parquet, as `calibration.fleet.journal.write_table` writes it.

    Returns
    -------
    list of dict
        Values by column, numbers as numbers; None and empty in columns that the table does not have.

    Raises
    ------
    CaseError
        When it cannot be read or is another table.
    """
    try:
        content = input_bytes(path, LARGEST_TABLE)
    except OSError as error:
        reason = "there is no such file" if isinstance(error, FileNotFoundError) else str(error.strerror)
        raise CaseError([Problem((), str(path), reason)]) from error
    rows = _parquet(content, path) if path.suffix.lower() == ".parquet" else _csv(content)
    if not rows or not set(_NEEDED) <= set(rows[0]):
        sentence = f"is no table of `coiltoll fleet`; the columns {', '.join(_NEEDED)} are expected"
        raise CaseError([Problem((), str(path), sentence)])
    empty = vars(UnitRow("", ""))
    return [empty | {name: value for name, value in row.items() if name in empty} for row in rows]


def _parquet(content: bytes, path: Path) -> list[dict[str, Any]]:
    import pyarrow as pa
    from pyarrow import parquet

    try:
        rows: list[dict[str, Any]] = parquet.read_table(pa.BufferReader(content)).to_pylist()
    except (pa.ArrowException, OSError) as error:
        raise CaseError([Problem((), str(path), "cannot be read as a Parquet file")]) from error
    return rows


def _csv(content: bytes) -> list[dict[str, Any]]:
    kinds = {name: str(kind).split(" ")[0] for name, kind in UnitRow.__annotations__.items()}
    rows = csv.DictReader(io.StringIO(content.decode("utf-8-sig", errors="replace"), newline=""))
    return [
        {name: _value(cell or "", kinds.get(name, "str")) for name, cell in row.items() if name}
        for row in rows
    ]


def _value(cell: str, kind: str) -> Any:
    if kind == "bool":
        return None if not cell else cell == "yes"
    if kind in ("float", "int"):
        try:
            return float(cell) if cell else None
        except ValueError:
            return None
    return cell


def jobs_of_rows(
    rows: Sequence[Mapping[str, Any]],
    first_day: dt.date,
    weeks: int,
    hours: Mapping[str, float] = HOURS,
    must: Mapping[tuple[str, str], dt.date] | None = None,
) -> list[UnitJob]:
    """Jobs of a fleet.

    Parameters
    ----------
    rows : sequence of mapping
        Of the table of results.
    first_day : date
        Of the first week.
    weeks : int
        How many weeks to plan.
    hours : mapping of str to float
        How long each job takes [h].
    must : mapping of (str, str) to date, optional
        Site and unit of what has to be done, and by when.

    Returns
    -------
    list of UnitJob
        A unit that has to be visited is cleaned where nothing else is known of it.

    Raises
    ------
    ValueError
        When a unit that has to be visited is not in the table, or was to be visited before the first day.
    """
    by = dict(must or {})
    for (site, unit), day in by.items():
        if day < first_day:
            raise ValueError(
                f"must be done: {_named(site, unit)} by {day}; a day from {first_day} on, the first of the"
                " plan, is expected"
            )
    jobs = []
    for row in rows:
        date = by.pop((str(row["site"] or ""), str(row["unit"])), None)
        work = _work(row) or ("clean" if date is not None else None)
        if work is None:
            continue
        week = None if date is None else min((date - first_day).days // DAYS_A_WEEK, weeks - 1)
        price = float(row["price"] or 0.0)
        jobs.append(
            UnitJob(
                unit=str(row["unit"]),
                site=str(row["site"] or ""),
                work=work,
                hours=hours[work],
                price={"clean": price, "measure": MEASURING_PRICE * price, "repair": 0.0}[work],
                saving=_saving(row, work, first_day, weeks),
                must_by=week,
                must_on=date,
                read=str(row.get("next_reading") or ""),
                treatments=str(row.get("treatments") or ""),
            )
        )
    if by:
        named = _named(*next(iter(by)))
        raise ValueError(f"must be done: {named} is not in the table; SITE/UNIT=DATE is expected")
    return jobs


def _named(site: str, unit: str) -> str:
    return f"{site}/{unit}" if site else unit


def _work(row: Mapping[str, Any]) -> Work | None:
    """What a row asks for."""
    if row["advice"] in ("now", "later"):
        return "clean"
    if row["advice"] == "measure_first":
        return "measure"
    if row.get("verdict") == "fault" and row.get("treatments") and row["advice"] != "leave":
        return "repair"
    return None


def _saving(row: Mapping[str, Any], work: Work, first_day: dt.date, weeks: int) -> Array:
    """What a job saves in each week [money]."""
    if work == "repair":
        passed = np.arange(weeks) / WEEKS_A_YEAR
        return float(row.get("left_cost") or 0.0) * np.maximum(1.0 - passed, 0.0)
    saved = np.array([float(part) for part in str(row["saving_by_week"] or "0").split(";")])
    try:
        since = (first_day - dt.date.fromisoformat(str(row["as_of"]))).days / DAYS_A_WEEK
    except ValueError:
        since = 0.0
    ahead = np.mod(since + np.arange(weeks), len(saved))
    saving = np.interp(ahead, np.arange(len(saved)), saved)
    if work == "measure":
        left = saving / saved[0] if saved[0] > 0.0 else np.ones(weeks)
        return float(row.get("worth_of_measuring") or 0.0) * np.clip(left, 0.0, 1.0)
    return np.asarray(saving)
