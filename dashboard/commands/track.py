"""`coiltoll track CASE LOG...`: fouling over months from a trend log."""

from contextlib import nullcontext
from pathlib import Path
from typing import Annotated

import typer

from dashboard.commands.options import CaseArgument, JsonOption

LogsArgument = Annotated[
    list[Path],
    typer.Argument(metavar="LOG...", help="Logs of this unit (CSV or Parquet).", show_default=False),
]
TableOption = Annotated[
    Path | None,
    typer.Option(
        "-o",
        "--output",
        metavar="OUT.csv|OUT.parquet",
        help="Where to write the level day by day.",
        show_default=False,
    ),
]
IntoOption = Annotated[
    Path | None,
    typer.Option("--into", metavar="CASE", help="Case file to put the growth rate into.", show_default=False),
]


def track(
    case: CaseArgument,
    log: LogsArgument,
    into: IntoOption = None,
    output: TableOption = None,
    as_json: JsonOption = False,
) -> None:
    """Fouling over months from a log: level with its 90 % range, growth rate, days when something changed.

    Every steady stretch of the log counts as a visit with the readings at hand: outdoor temperature and one
    pressure are enough. Columns are named by the keys of the case file, units are those in brackets, else
    those of the case; times need dates. Known to be clean are the days of clean visits and of the last
    cleaning. The growth rate is printed as the case file takes it; --into puts it there, its range as a
    comment, so that season and interval use it. With a price of a cleaning in the case, the day when cleaning
    pays is printed too.
    """
    from calibration.case.file import fingerprint, read_case, write_case
    from calibration.clean_fit.baseline import baseline_of
    from calibration.files.atomic_file import written_at_the_end
    from calibration.track.cleaning_day import cleaning_day, with_growth
    from calibration.track.stretches import steady_stretches
    from calibration.track.track import fouling_track
    from dashboard.commands import arguments, terminal
    from dashboard.results import track as results

    if output is not None and output.suffix.lower() not in results.SUFFIXES:
        raise ValueError(f"-o: {output} ends in {output.suffix or 'nothing'}; .csv or .parquet is expected")
    version = fingerprint(into) if into else ""
    target = read_case(into) if into else None
    parsed = read_case(case)
    arguments.check_output(output, [*log, into], parsed)
    with terminal.progress("Reading the log") as progress:
        stretches = steady_stretches(log, parsed, progress)
    baseline = baseline_of(parsed)
    with terminal.progress("Tracking") as progress:
        found = fouling_track(parsed, baseline, stretches, progress)
    with terminal.progress("Pricing cleanings") as progress:
        advised = cleaning_day(parsed, baseline, found, progress)
    content = results.track_file(found, output) if output else b""
    with written_at_the_end(output, content) if output else nullcontext():
        if target is not None and into is not None:
            grown = with_growth(target, found)
            former = results.remarked_text(grown, into.read_text(encoding="utf-8-sig"), found)
            write_case(grown, into, version, former)
    if as_json:
        terminal.print_json({"unit": parsed.unit.name, **results.track_json(found, advised)})
        return
    terminal.print_lines(*parsed.remarks, *results.sentences(found, advised), "")
    if found.events:
        terminal.print_table("Changes", results.EVENT_HEADINGS, results.event_rows(found))
    if into is None:
        terminal.print_lines("For [cleaning] of the case file:", results.growth_line(found))
    else:
        kept = f"the previous version is kept as {into.name}.bak"
        terminal.print_lines(f"{into}: {results.growth_line(found)}", f"Put under [cleaning]; {kept}.")
    if output is not None:
        terminal.print_lines(f"{output}: {len(found.seconds)} days written")
