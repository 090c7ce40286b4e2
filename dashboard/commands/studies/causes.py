"""`coiltoll study causes`: how often the fault match is right, and whether its probabilities hold."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dashboard.commands.options import JsonOption

if TYPE_CHECKING:
    from calibration.studies.outcomes import Outcomes

VisitsOption = Annotated[int, typer.Option("--visits", min=1, help="How many invented visits to match.")]
SeedOption = Annotated[int, typer.Option("--seed", min=0, help="Seed of the random draws.")]
OddsOption = Annotated[
    str,
    typer.Option(
        "--odds", help="Mix that faults are drawn from: as weighed, mostly healthy, every fault alike."
    ),
]
PictureOption = Annotated[
    Path | None,
    typer.Option(
        "-o",
        "--output",
        metavar="CHART.svg",
        help="Where to draw the reliability diagram.",
        show_default=False,
    ),
]


def causes(
    visits: VisitsOption = 2000,
    seed: SeedOption = 20_261_125,
    odds: OddsOption = "as weighed",
    output: PictureOption = None,
    as_json: JsonOption = False,
) -> None:
    """Find what is wrong at invented visits with known faults, and count how often the finding is right.

    The units differ in structure from the model that is fitted to them; meters err within their documented
    accuracy, and one visit in three has a reading that is grossly wrong. Printed for each set of readings:
    how often the right work is ranked first, pairs of faults, false alarms, missed faults by their cost, the
    confusion table, and whether the probabilities of faults and of suspect readings hold. Two thousand visits
    take more than an hour.
    """
    from calibration.case.atomic_file import write_whole
    from calibration.studies.causes import faults_study
    from dashboard.charts.draw_svg import svg
    from dashboard.commands import arguments, terminal
    from dashboard.results import fault_study

    arguments.check_output(output)
    if output is not None and output.suffix.lower() != ".svg":
        raise ValueError(f"-o: {output} ends in {output.suffix or 'nothing'}; .svg is expected")
    with terminal.progress("matching visits") as progress:
        study = faults_study(visits, seed, progress=progress, odds=odds)
    if output is not None:
        write_whole(output, svg(fault_study.reliability_chart(study)))
    if as_json:
        terminal.print_json(fault_study.faults_json(study))
        return
    for name, outcomes in study.outcomes.items():
        _print(name, outcomes)
    terminal.print_lines(*fault_study.faults_sentences(study))


def _print(name: str, outcomes: "Outcomes") -> None:
    from dashboard.commands import terminal
    from dashboard.results import fault_study

    terminal.print_table(name, ["", "found", "required"], fault_study.target_rows(name, outcomes))
    missed = [
        [f"{100 * low:.0f} to {100 * high:.0f} %", str(count), f"{100 * share:.0f} %"]
        for low, high, count, share in outcomes.missed
    ]
    terminal.print_table("Missed faults, by EER loss", ["EER loss", "visits", "missed"], missed)
    headings, rows = fault_study.confusion_rows(outcomes)
    title = (
        "Confusion table of costly faults, clean units and none of these: true (rows), ranked first (columns)"
    )
    terminal.print_table(title, headings, rows)
    reliable = [
        [f"{low:.1f} to {high:.1f}", str(count), f"{mean:.2f}", f"{share:.2f}"]
        for low, high, count, mean, share in outcomes.reliability
    ]
    terminal.print_table(
        "Calibration of the probabilities",
        ["probability of the first", "visits", "mean", "share right"],
        reliable,
    )
