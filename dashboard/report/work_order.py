"""The work order of a visit of a plan: which units, what to do, what to read, cautions, lines to sign."""

import io
import zipfile
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path

from calibration.files.atomic_file import write_whole
from calibration.fleet.crew_days import Visit
from calibration.fleet.crew_plan import CrewPlan
from calibration.fleet.jobs_to_plan import UnitJob
from dashboard.file_names import file_stem
from dashboard.report.parts import Blanks, Block, Grid, Paragraph, Points, Report, Section
from dashboard.report.pdf import pdf
from dashboard.results.fleet.plan import work_words
from dashboard.results.fleet.units import reading_words
from dashboard.results.wording import ACTS, HOW

USUAL_READINGS = (
    "outdoor_db", "return_db", "return_wb", "supply_db", "supply_wb", "suction_pressure", "liquid_pressure",
    "suction_temperature", "liquid_temperature", "outdoor_power",
)  # fmt: skip
"""What every visit reads: with these a finding is possible (README, "Case file")."""
BEFORE = (
    "Only licensed and certified people: gauges by EPA Section 608 in the US, by local law elsewhere.",
    "Unit off, locked out and capacitors discharged before anything is opened; live work by qualified people"
    " (NFPA 70E).",
    "The nameplate's limits come before any rule of thumb; flammable refrigerants by their own rules.",
    "Local codes prevail.",
    "Never block a running coil.",
)


MOST_ORDERS = 2000
"""Work orders that are written."""


@dataclass(frozen=True)
class WorkOrder:
    """Name of a file, and the report to print into it."""

    name: str
    report: Report


def work_orders(made: CrewPlan, author: str) -> list[WorkOrder]:
    """Work orders of all visits of a plan, in order of time.

    Parameters
    ----------
    made : CrewPlan
    author : str
        Who made them: the program and its version.

    Returns
    -------
    list of WorkOrder
    """
    orders, names = [], set()
    for visit in made.visits:
        stem = f"{visit.date.isoformat()}-crew-{visit.crew}-{file_stem(visit.site or 'no site')}"
        name, number = stem, 1
        while name in names:
            number += 1
            name = f"{stem}-{number}"
        names.add(name)
        orders.append(WorkOrder(f"{name}.pdf", _report(made, visit, author)))
    return orders


def printed_orders(made: CrewPlan, visits: Collection[Visit] | None = None) -> Iterator[tuple[str, bytes]]:
    """Work orders as PDF files, one after the other as they are printed.

    Parameters
    ----------
    made : CrewPlan
    visits : collection of Visit, optional
        Those of the plan that are asked for; left out, all of them.

    Yields
    ------
    (str, bytes)
        Name, the same whatever else is asked for, and file.

    Raises
    ------
    ValueError
        When there are more visits than anybody prints.
    """
    number = len(made.visits if visits is None else visits)
    if number > MOST_ORDERS:
        raise ValueError(f"--orders: there are {number} visits; at most {MOST_ORDERS} are expected")
    for visit, order in zip(made.visits, work_orders(made, f"Coiltoll {version('coiltoll')}"), strict=True):
        if visits is None or visit in visits:
            yield order.name, pdf(order.report, visit.date)


def write_orders(made: CrewPlan, folder: Path) -> None:
    """A PDF of each visit, in a folder.

    Parameters
    ----------
    made : CrewPlan
    folder : Path
        Made where it is not there; files of the same names are replaced.

    Raises
    ------
    ValueError
        When there are more visits than anybody prints.
    OSError
        When the folder cannot be written to.
    """
    for name, content in printed_orders(made):
        folder.mkdir(parents=True, exist_ok=True)
        write_whole(folder / name, content)


def orders_file(made: CrewPlan, visits: Collection[Visit]) -> bytes:
    """Work order of one visit as PDF, of several as one ZIP file of these.

    Parameters
    ----------
    made : CrewPlan
    visits : collection of Visit
        Of the plan.

    Returns
    -------
    bytes
        The same for the same plan: no entry of the ZIP file has a time.

    Raises
    ------
    ValueError
        When there are more visits than anybody prints.
    """
    orders = printed_orders(made, visits)
    if len(visits) == 1:
        return next(orders)[1]
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_STORED) as archive:
        for name, content in orders:
            archive.writestr(zipfile.ZipInfo(name), content)
    return buffer.getvalue()


def _report(made: CrewPlan, visit: Visit, author: str) -> Report:
    jobs = [made.jobs[place] for place in visit.jobs]
    hours = sum(job.hours for job in jobs)
    day = f"{visit.date.day} {visit.date:%B %Y}"
    return Report(
        title=f"Work order: {visit.site or 'no site named'}",
        subtitle=f"{day}, crew {visit.crew}, {len(jobs)} units, {hours:g} h",
        author=author,
        sections=(
            Section("What to do", (_units(jobs), Points(tuple(_acts(jobs))))),
            Section("What to read", tuple(_readings(jobs))),
            Section("Before anyone goes to the unit", (Points(BEFORE),)),
            Section("Signed", (Blanks(("Technician", "Licence number", "Date", "Signature"), ("",) * 4),)),
        ),
    )


def _units(jobs: list[UnitJob]) -> Grid:
    rows = tuple((job.unit, work_words(job), f"{job.hours:g}", reading_words(job.read)) for job in jobs)
    return Grid(("Unit", "Work", "Hours", "Worth reading"), rows)


def _acts(jobs: list[UnitJob]) -> list[str]:
    """How the work is done, each once."""
    wanted = ["clean_condenser"] if any(job.work == "clean" for job in jobs) else []
    wanted += [one for job in jobs if job.work == "repair" for one in job.treatments.split("; ")]
    return [f"{ACTS[one][0].upper()}{ACTS[one][1:]}." for one in dict.fromkeys(wanted) if one in ACTS]


def _readings(jobs: list[UnitJob]) -> list[Block]:
    """Lines for the readings of each unit, and how the most informative one is taken."""
    blocks: list[Block] = [
        Paragraph(
            "After the work, in steady state; the date and the state of the coil with every set of readings."
        )
    ]
    for job in jobs:
        first = job.read.removesuffix(" again")
        if first in HOW:
            how = HOW[first]
            blocks.append(
                Paragraph(f"{job.unit}: {reading_words(job.read)} first. {how[0].upper()}{how[1:]}.")
            )
        readings = dict.fromkeys([first, *USUAL_READINGS] if first else USUAL_READINGS)
        blocks.append(
            Grid((job.unit, "as found", "after"), tuple((reading_words(r), "", "") for r in readings))
        )
    return blocks
