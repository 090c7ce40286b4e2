"""First step of a fleet: clean visits fitted where others of the same nameplate can learn from them.

A unit alone in its nameplate, or in one of which no other was read clean, costs nothing here, and its row is
that of the unit alone. What the others say of a unit is part of the key of its row: where a new clean visit
to one of them changes it, its readings are looked at again.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from calibration.case.errors import CaseError
from calibration.case.file import parse_case
from calibration.clean_fit.kept_fit import kept_visits
from calibration.clean_fit.parameter_prior import prior_entry, prior_of_entry
from calibration.fleet.alike import LearntParameters, UnitShown, learnt_parameters, parts_of
from calibration.fleet.jobs import Job
from calibration.fleet.nameplates import nameplate_of
from calibration.fleet.unit_row import ALONE
from model.arrays import Array

Row = Mapping[str, Any]

CLEAN_ONLY, ALIKE = "|clean visits", "|alike "
"""What a key has behind that of the case: of the clean visits alone, and of what others say of the unit."""
KEY_LENGTH = 16
"""Characters of the digest of what others say."""


class UnitPlate(NamedTuple):
    """A unit's nameplate, empty for none that others may have, and whether it was read clean."""

    nameplate: str
    is_read: bool


def clean_units(jobs: Iterable[Job]) -> list[UnitPlate]:
    """Nameplates of the units of a fleet.

    Parameters
    ----------
    jobs : iterable of Job
        With a text.

    Returns
    -------
    list of UnitPlate
        None of a case that cannot be read or of a unit of several circuits: these are fitted one by one.
    """
    names: dict[str, str] = {}
    found = []
    for job in jobs:
        try:
            case = parse_case(job.text)
        except CaseError:
            found.append(UnitPlate("", False))
            continue
        name = nameplate_of(case.unit) if (case.unit.circuits or 1) == 1 else ""
        found.append(UnitPlate(names.setdefault(name, name), bool(case.clean_visits)))
    return found


def clean_jobs(jobs: Sequence[Job], units: Sequence[UnitPlate]) -> dict[int, Job]:
    """Jobs of the clean visits that another unit can learn from, by the place of the unit.

    Parameters
    ----------
    jobs : sequence of Job
    units : sequence of UnitPlate
        Of `clean_units`.

    Returns
    -------
    dict of int to Job
        None of a unit that is alone in its nameplate or was not read clean.
    """
    several = (place for part in parts_of([one.nameplate for one in units]) for place in part)
    return {
        place: replace(jobs[place], key=f"{jobs[place].key}{CLEAN_ONLY}", clean_only=True)
        for place in sorted(several)
        if units[place].is_read
    }


def learnt_clean(
    units: Sequence[UnitPlate], jobs: Mapping[int, Job], rows: Callable[[Iterable[Job]], Iterable[Row]]
) -> list[LearntParameters | None]:
    """What every unit learns from the others of its nameplate.

    Parameters
    ----------
    units : sequence of UnitPlate
        Of `clean_units`.
    jobs : mapping of int to Job
        Of `clean_jobs`.
    rows : callable
        Rows of some of these jobs, in their order.

    Returns
    -------
    list of LearntParameters or None
    """
    learnt: list[LearntParameters | None] = [None] * len(units)
    for part in parts_of([one.nameplate for one in units]):
        read = [place for place in part if place in jobs]
        known = dict(zip(read, rows(jobs[place] for place in read), strict=True))
        shown = [UnitShown(units[place].nameplate, _visits(known.get(place, {}))) for place in part]
        for place, one in zip(part, learnt_parameters(shown), strict=True):
            learnt[place] = one
    return learnt


def _visits(row: Row) -> tuple[Array, Array] | None:
    """What a unit's clean visits say; None where they could not be fitted."""
    entry = row.get(ALONE)
    return None if entry is None else kept_visits(entry)


def job_alike(job: Job, learnt: LearntParameters | None) -> Job:
    """A unit's job with what the others of its nameplate say of it; the same one where they say nothing.

    Parameters
    ----------
    job : Job
    learnt : LearntParameters or None

    Returns
    -------
    Job
    """
    if learnt is None:
        return job
    entry = prior_entry(learnt.prior)
    said = hashlib.sha256(json.dumps(entry).encode()).hexdigest()[:KEY_LENGTH]
    return replace(job, key=f"{job.key}{ALIKE}{said}", alike=prior_of_entry(entry))
