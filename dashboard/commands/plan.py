"""`coiltoll plan OUT`: the crew's weeks, from the table of results of a fleet."""

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from dashboard.commands.options import JsonOption

TableArgument = Annotated[
    Path, typer.Argument(metavar="OUT", help="Table of results of `coiltoll fleet`.", show_default=False)
]
OutOption = Annotated[
    Path, typer.Option("-o", "--output", metavar="FILE", help="The plan: .csv.", show_default=False)
]


def plan(
    table: TableArgument,
    output: OutOption,
    crews: Annotated[int, typer.Option(min=1, max=500, metavar="N", help="How many crews.")],
    first: Annotated[
        datetime,
        typer.Option("--from", formats=["%Y-%m-%d"], metavar="DATE", help="First day.", show_default=False),
    ],
    weeks: Annotated[int, typer.Option(min=1, max=52, metavar="N", help="How many weeks.")],
    hours: Annotated[float, typer.Option(min=1.0, max=24.0, help="Hours a day of a crew.")] = 8.0,
    call_out: Annotated[
        float, typer.Option("--call-out", min=0.0, help="Price of each visit to a site, paid once a day.")
    ] = 60.0,
    travel: Annotated[
        float, typer.Option(min=0.0, max=8.0, help="Hours of travel to a site and back.")
    ] = 0.5,
    clean_hours: Annotated[float, typer.Option(min=0.1, max=24.0, help="Hours of a cleaning.")] = 1.5,
    measure_hours: Annotated[float, typer.Option(min=0.1, max=24.0, help="Hours of readings alone.")] = 1.0,
    repair_hours: Annotated[float, typer.Option(min=0.1, max=24.0, help="Hours of other work.")] = 3.0,
    holiday: Annotated[
        list[datetime], typer.Option(formats=["%Y-%m-%d"], metavar="DATE", help="A day off; repeat it.")
    ] = [],  # noqa: B006
    must: Annotated[
        list[str], typer.Option(metavar="SITE/UNIT=DATE", help="What must be done, by when; repeat it.")
    ] = [],  # noqa: B006
    calendar: Annotated[
        Path | None, typer.Option(metavar="FILE", help="The visits as a calendar file: .ics.")
    ] = None,
    orders: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="A work order (PDF) of each visit, into a folder.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Which unit in which week, so that running, cleaning and travel together cost least.

    Units to be cleaned, to be measured first, or with another fault, from the table of results. The
    call-out is paid once for each site and day. Printed with the greatest possible gain, and beside plans
    that take the worst unit first or go from site to site.
    """
    from calibration.files.atomic_file import write_whole
    from calibration.fleet.crew_plan import Terms, crew_plan
    from calibration.fleet.jobs_to_plan import read_rows
    from dashboard.commands import arguments, terminal
    from dashboard.report.calendar_file import calendar_file
    from dashboard.report.work_order import write_orders
    from dashboard.results.fleet import plan as results

    _check_endings(output, calendar, orders)
    for path in (output, calendar):
        arguments.check_output(path, [table])
    terms = Terms(
        first_day=first.date(),
        weeks=weeks,
        crews=crews,
        hours_a_day=hours,
        travel_hours=travel,
        call_out=call_out,
        hours={"clean": clean_hours, "measure": measure_hours, "repair": repair_hours},
        holidays={one.date() for one in holiday},
        must=dict(map(arguments.must_date, must)),
    )
    made = crew_plan(read_rows(table), terms)
    write_whole(output, results.plan_csv(made))
    if calendar is not None:
        write_whole(calendar, calendar_file(made, terms.first_day))
    if orders is not None:
        write_orders(made, orders)
    if as_json:
        terminal.print_json(results.plan_json(made, str(output), terms.first_day))
        return
    terminal.print_table(f"Plan of {weeks} weeks from {terms.first_day}", *results.plan_table(made))
    terminal.print_lines(
        *results.plan_sentences(made), "", f"{output}: {results.visits_words(len(made.visits))} written"
    )


def _check_endings(output: Path, calendar: Path | None, orders: Path | None) -> None:
    if output.suffix.lower() != ".csv":
        raise ValueError(f"-o: is {output}; a file ending in .csv is expected")
    if calendar is not None and calendar.suffix.lower() != ".ics":
        raise ValueError(f"--calendar: is {calendar}; a file ending in .ics is expected")
    if orders is not None and orders.exists() and not orders.is_dir():
        raise ValueError(f"--orders: {orders} is a file; a folder is expected")
