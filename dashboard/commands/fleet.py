"""`coiltoll fleet SOURCE -o OUT`: every unit of a fleet in one table, and which first."""

from datetime import datetime
from enum import StrEnum
from importlib.metadata import version
from pathlib import Path
from typing import Annotated

import typer

from dashboard.commands.options import JsonOption, LanguageOption, UnitSystem, writing_in


class Ranking(StrEnum):
    """What units are ranked by."""

    money = "money"
    energy = "energy"
    comfort = "comfort"
    knowing = "knowing"


SourceArgument = Annotated[
    list[Path],
    typer.Argument(
        metavar="SOURCE...",
        help="A folder of case files, or a table with a row a visit (CSV, XLSX, Parquet); after a table, the "
        "file of its corrected rows.",
        show_default=False,
    ),
]
OutOption = Annotated[
    Path,
    typer.Option(
        "-o", "--output", metavar="FILE", help="Table of results: .csv or .parquet.", show_default=False
    ),
]
LikeOption = Annotated[
    Path | None,
    typer.Option(
        "--like",
        metavar="CASE",
        help="Case file whose season, tariff, cleaning and meters count for units of a table without them.",
        show_default=False,
    ),
]
TodayOption = Annotated[
    datetime | None,
    typer.Option(
        "--today",
        formats=["%Y-%m-%d"],
        metavar="DATE",
        help="Day for which all units are worked out.  [default: date of each unit's last visit]",
        show_default=False,
    ),
]
UnitsOption = Annotated[
    UnitSystem,
    typer.Option("--units", case_sensitive=False, help="Units of table columns whose header names none."),
]
SchedulerOption = Annotated[
    str,
    typer.Option(
        "--scheduler",
        metavar="ADDRESS",
        help="Use the Dask cluster at this address, such as tcp://host:8786.",
    ),
]
WorkersOption = Annotated[
    int | None,
    typer.Option(
        "--workers",
        min=1,
        max=1024,
        metavar="N",
        help="Processes of this machine.  [default: one a processor]",
        show_default=False,
    ),
]
ReportOption = Annotated[
    Path | None,
    typer.Option(
        "--report", metavar="FILE", help="Also a report for the owner: .pdf or .html.", show_default=False
    ),
]
NamesOption = Annotated[
    list[str], typer.Option(metavar="NAME", help="Print and report units of this one only.")
]


def fleet(
    source: SourceArgument,
    output: OutOption,
    like: LikeOption = None,
    today: TodayOption = None,
    scheduler: SchedulerOption = "",
    workers: WorkersOption = None,
    by: Annotated[Ranking, typer.Option("--by", help="What the printed ranking goes by.")] = Ranking.money,
    site: NamesOption = [],  # noqa: B006
    refrigerant: NamesOption = [],  # noqa: B006
    verdict: NamesOption = [],  # noqa: B006
    report: ReportOption = None,
    unit_pages: Annotated[
        bool, typer.Option("--unit-pages", help="The report has a page of its own for each unit.")
    ] = False,
    language: LanguageOption = None,
    as_json: JsonOption = False,
    units: UnitsOption = UnitSystem.US,
) -> None:
    """Finding, loss, cost, advice and next reading of every unit, in one table; and which unit first.

    A row that cannot be read is left out and written beside the table, to be corrected and read again; a
    unit that cannot be worked out says why in the column "problem". Run again, only what is missing or has
    changed is worked out.
    """
    from calibration.fleet.jobs import fleet_of
    from calibration.fleet.ranking import chosen
    from calibration.fleet.run import check_table, run_fleet
    from dashboard.commands import arguments, terminal
    from dashboard.report.comparison_report import check_suffix, write_report
    from dashboard.report.fleet_report import fleet_report
    from dashboard.results.fleet import units as results

    check_table(output)
    if report is not None:
        check_suffix(report)
    for path in (output, report):
        arguments.check_output(path, [*source, like, language])
    in_words = writing_in(language)
    read = fleet_of(source, units.value, like, today.date().isoformat() if today else "")
    with terminal.progress(f"Working out {len(read.jobs)} units") as advance:
        run = run_fleet(read, output, workers or 0, scheduler, advance)
    terminal.print_notices(*results.left_out_sentences(run, source))
    asked = {"site": site, "refrigerant": refrigerant, "verdict": verdict}
    terminal.print_notices(*results.unknown_filters(run.rows, asked))
    rows = chosen(run.rows, site, refrigerant, verdict)
    if report is not None:
        with in_words:
            made = fleet_report(rows, f"coiltoll {version('coiltoll')}", unit_pages)
            write_report(made, report, None, units.value)
    if as_json:
        terminal.print_json(results.fleet_json(run, rows))
        return
    words = results.BY_WORDS[by.value]
    terminal.print_table(
        f"Which first, by {words}", results.headings(by.value), results.ranking_rows(rows, by.value)
    )
    said = [*results.total_sentences(rows), *results.learnt_sentences(rows)]
    terminal.print_lines(*said, "", *results.run_sentences(run))
