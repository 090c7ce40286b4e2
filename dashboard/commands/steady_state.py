"""`coiltoll steady-state LOG.csv`: the longest steady stretch of a log, and its averages as a visit."""

from contextlib import nullcontext
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dashboard.commands.options import JsonOption, UnitsOption

if TYPE_CHECKING:
    from calibration.case.records import Case
    from calibration.case.units import System
    from calibration.files.log_file import Log
    from calibration.measured.steady_state import SteadyRecord
    from dashboard.charts.chart import Chart

LANE_HEIGHT = 14.0  # of each reading in the picture [mm]
PICTURE_WIDTH = 190.0  # [mm]


class CoilState(StrEnum):
    """States of a condenser coil, as in a case file."""

    CLEAN = "clean"
    AS_FOUND = "as found"


LogArgument = Annotated[
    Path, typer.Argument(metavar="LOG.csv", help="Logged readings (CSV).", show_default=False)
]
AltitudeOption = Annotated[
    float | None,
    typer.Option(
        metavar="ALTITUDE",
        help="Altitude in ft or m, for gauge pressures.  [default: 0, or that of the case]",
        show_default=False,
    ),
]
CoilOption = Annotated[CoilState, typer.Option(case_sensitive=False, help="State of the condenser coil.")]
LabelOption = Annotated[str, typer.Option(metavar="TEXT", help="Name of the visit.")]
IntoOption = Annotated[
    Path | None,
    typer.Option("--into", metavar="CASE", help="Case file to add the visit to.", show_default=False),
]
PictureOption = Annotated[
    Path | None,
    typer.Option("-o", "--output", metavar="CHART.svg", help="Where to draw the traces.", show_default=False),
]


def steady_state(
    log: LogArgument,
    coil: CoilOption = CoilState.AS_FOUND,
    label: LabelOption = "from a log",
    altitude: AltitudeOption = None,
    into: IntoOption = None,
    output: PictureOption = None,
    as_json: JsonOption = False,
    units: UnitsOption = None,
) -> None:
    """Longest steady stretch of a log: averages with standard errors, as a visit.

    The log has a column of times and columns named by the keys of the case file. Units are those in brackets,
    else those of the case (without a case those of --units; US by default). Any sampling rate, gaps and bad
    rows are allowed. Where there is no steady stretch, the readings that are still changing are listed.
    """
    from calibration.case.file import fingerprint, read_case, write_case
    from calibration.files.atomic_file import written_at_the_end
    from calibration.files.log_file import read_log
    from calibration.measured.steady_state import steady_record
    from dashboard.charts import trace_chart
    from dashboard.commands import arguments, terminal
    from dashboard.results.steady_state import steady_state_json

    if output is not None and output.suffix.lower() != ".svg":
        raise ValueError(f"-o: {output} ends in {output.suffix or 'nothing'}; .svg is expected")
    version = fingerprint(into) if into else ""
    parsed = read_case(into) if into else None
    arguments.check_output(output, [log, into], parsed)
    system: System = units.value if units else parsed.units if parsed else "US"
    ambient = _ambient_pressure(altitude, parsed, system)
    with terminal.progress("reading the log") as progress:
        read = read_log(log, system, ambient, progress)
    record = steady_record(read, coil.value, label)
    grown = parsed and _grown(parsed, record)
    drawn = _picture(trace_chart.trace_chart(record, read, system)) if output else b""
    with written_at_the_end(output, drawn) if output else nullcontext():
        if grown is not None and into is not None:
            write_case(grown, into, expected=version)
    if as_json:
        terminal.print_json(steady_state_json(record, read, system))
        return
    terminal.print_lines(*(parsed.remarks if parsed else ()))
    _print(record, read, system, with_visit=into is None)
    if into is not None:
        terminal.print_lines(
            f"{into}: visit {label!r} added; the previous version is kept as {into.name}.bak"
        )
    if output is not None:
        terminal.print_lines(f"{output}: traces drawn")


def _ambient_pressure(altitude: float | None, parsed: "Case | None", system: "System") -> float:
    """Barometric pressure where the log was taken [Pa]."""
    from calibration.case.records import ambient_pressure_at
    from dashboard.commands import arguments

    if parsed is not None:
        if altitude is not None:
            raise ValueError(
                "--altitude: is given with --into; the altitude of the case applies, leave --altitude out"
            )
        return parsed.unit.ambient_pressure
    return ambient_pressure_at(0.0 if altitude is None else arguments.altitude(altitude, system))


def _grown(parsed: "Case", record: "SteadyRecord") -> "Case":
    """The case with the visit at its end, checked."""
    from calibration.case.file import case_text, parse_case
    from dashboard.results.steady_state import rounded_visit, with_visit

    if record.visit is None:
        why = record.reason or f"not logged: {', '.join(record.lacking)}"
        raise ValueError(f"--into: the log gives no visit ({why}); nothing was written")
    grown = with_visit(parsed, rounded_visit(record.visit, parsed.units))
    parse_case(case_text(grown))
    return grown


def _picture(chart: "Chart") -> bytes:
    """The traces as an SVG picture, high enough for all lanes."""
    from dashboard.charts.draw_svg import svg

    return svg(chart, PICTURE_WIDTH, 30.0 + LANE_HEIGHT * max(len(chart.y.ticks), 2))


def _print(record: "SteadyRecord", read: "Log", system: "System", with_visit: bool) -> None:
    """Sentences, the table of readings, and the visit to be copied into a case file."""
    from calibration.case.toml_text import toml_text
    from dashboard.commands import terminal
    from dashboard.results.steady_state import (
        STEADINESS_HEADINGS,
        sentences,
        steadiness,
        steadiness_rows,
        visit_table,
    )

    terminal.print_lines(*sentences(record, read, system), "")
    rows = steadiness(record, read, system)
    if rows:
        terminal.print_table(
            "Readings over the steady stretch"
            if record.is_steady
            else "Readings over the last running minutes",
            STEADINESS_HEADINGS,
            steadiness_rows(rows),
        )
    table = visit_table(record, read, system)
    if table is not None and with_visit:
        terminal.print_lines(
            f"As a visit for a case file in {system} units:", "", toml_text({"visit": [table]})
        )
