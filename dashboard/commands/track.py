"""`coiltoll track CASE LOG...`: fouling over months from a trend log."""

from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dashboard.commands.options import CaseArgument, JsonOption

if TYPE_CHECKING:
    from calibration.case.records import Case
    from calibration.track.cleaning_day import TrackCosts
    from calibration.track.kept import KeptTrack
    from calibration.track.track import Track

CHART_SIZE = (190.0, 90.0)  # [mm]

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
ChartOption = Annotated[
    Path | None,
    typer.Option(
        "--chart", metavar="CHART.svg", help="Where to draw the level over time.", show_default=False
    ),
]
IntoOption = Annotated[
    Path | None,
    typer.Option(
        "--into", metavar="CASE", help="Case file to put growth rate and level into.", show_default=False
    ),
]

CircuitOption = Annotated[
    int | None,
    typer.Option(
        "--circuit", metavar="N", help="Circuit of the log, of a unit with several.", show_default=False
    ),
]


def track(
    case: CaseArgument,
    log: LogsArgument,
    into: IntoOption = None,
    circuit: CircuitOption = None,
    output: TableOption = None,
    chart: ChartOption = None,
    as_json: JsonOption = False,
) -> None:
    """Fouling over months from a log: level with its 90 % range, growth rate, days when something changed.

    Every steady stretch of the log counts as a visit with the readings at hand: outdoor temperature and one
    pressure are enough. Columns are named by the keys of the case file, units are those in brackets, else
    those of the case; times need dates. Of a unit with several circuits a log is of one of them. Known to be
    clean are the days of clean visits and of the last cleaning. The growth rate is printed as the case file
    takes it; --into puts it there with its range, so that season and interval use it, and keeps the level
    week by week for page and report. With a price of a cleaning in the case, the cost so far and to come and
    the day when cleaning pays are printed too.
    """
    from calibration.case.file import fingerprint, read_case
    from calibration.files.atomic_file import written_at_the_end
    from calibration.track.kept import with_track
    from dashboard.charts.draw_svg import svg
    from dashboard.charts.track_chart import track_chart
    from dashboard.commands import arguments, terminal
    from dashboard.results import track as results

    _check_ending("-o", output, results.SUFFIXES)
    _check_ending("--chart", chart, (".svg",))
    version = fingerprint(into) if into else ""
    target = read_case(into) if into else None
    parsed = read_case(case)
    _check_same_unit(parsed, target, into)
    arguments.check_output(output, [*log, into], parsed)
    arguments.check_output(chart, [*log, into, output], parsed, "--chart")
    found, kept, costs = _followed(parsed, log, circuit)
    content = results.track_file(found, output) if output else b""
    drawn = svg(track_chart(kept), *CHART_SIZE) if chart else b""
    with (
        written_at_the_end(output, content) if output else nullcontext(),
        written_at_the_end(chart, drawn) if chart else nullcontext(),
    ):
        if target is not None and into is not None:
            _put_into(into, with_track(target, kept), found, version)
    if as_json:
        terminal.print_json(
            {"unit": parsed.unit.name, "circuit": circuit, **results.track_json(found, costs)}
        )
        return
    lines = [*results.level_sentences(kept, costs, parsed.currency), *results.ground_sentences(found)]
    terminal.print_lines(*parsed.remarks, *lines, "")
    _print_changes(found, into)
    for path, words in ((output, f"{len(found.seconds)} days written"), (chart, "level over time drawn")):
        if path is not None:
            terminal.print_lines(f"{path}: {words}")


def _followed(
    whole: "Case", log: list[Path], circuit: int | None
) -> "tuple[Track, KeptTrack, TrackCosts | None]":
    """Track of the logs, as it is kept, and its costs."""
    from calibration.clean_fit.baseline import baseline_of
    from calibration.track.circuit import circuit_followed, stretches_of_circuit
    from calibration.track.cleaning_day import track_costs
    from calibration.track.kept import track_to_keep
    from calibration.track.stretches import steady_stretches
    from calibration.track.track import fouling_track
    from dashboard.commands import terminal

    parsed = circuit_followed(whole, circuit)
    with terminal.progress("Reading the log") as progress:
        stretches = stretches_of_circuit(steady_stretches(log, parsed, progress), whole.unit.circuits or 1)
    baseline = baseline_of(parsed)
    with terminal.progress("Tracking") as progress:
        found = fouling_track(parsed, baseline, stretches, progress)
    kept = track_to_keep(found)
    with terminal.progress("Pricing cleanings") as progress:
        return found, kept, track_costs(parsed, baseline, kept, progress)


def _check_same_unit(parsed: "Case", target: "Case | None", into: Path | None) -> None:
    """Refuse to put a track into the case of another unit, or of several circuits that share one growth."""
    if target is None:
        return
    if target.unit != parsed.unit:
        raise ValueError(
            f"--into: {into} is of {target.unit.name}, the log is followed as one of {parsed.unit.name}; "
            "the case of the same unit with the same nameplate is expected"
        )
    if target.unit.circuits:
        raise ValueError(
            f"--into: {into} has {target.unit.circuits} circuits, whose coils foul apart, and one growth "
            "rate; the case of a unit of one circuit is expected"
        )


def _check_ending(option: str, path: Path | None, endings: tuple[str, ...]) -> None:
    """Refuse a file of another kind than can be written."""
    if path is not None and path.suffix.lower() not in endings:
        words = f"{' or '.join(endings)} is expected"
        raise ValueError(f"{option}: {path} ends in {path.suffix or 'nothing'}; {words}")


def _print_changes(found: "Track", into: Path | None) -> None:
    """The table of changes, and the growth rate with where it is or belongs."""
    from dashboard.commands import terminal
    from dashboard.results import track as results

    if found.events:
        terminal.print_table("Changes", results.EVENT_HEADINGS, results.event_rows(found))
    where = f"{into}, previous version kept as {into.name}.bak" if into else "For [cleaning] of the case file"
    terminal.print_lines(f"{where}:", *results.growth_lines(found))


def _put_into(into: Path, grown: "Case", found: "Track", version: str) -> None:
    """Write the case with the track over the version that was read."""
    from calibration.case.file import write_case
    from dashboard.results.track import remarked_text

    former = into.read_text(encoding="utf-8-sig")
    write_case(grown, into, version, remarked_text(grown, former, found))
