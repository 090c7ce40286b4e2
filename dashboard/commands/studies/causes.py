"""`coiltoll study causes`: how often the fault match is right, and whether its probabilities hold."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dashboard.commands.options import JsonOption

if TYPE_CHECKING:
    from calibration.studies.causes import FaultsStudy

VisitsOption = Annotated[int, typer.Option("--visits", min=1, help="How many invented visits to match.")]
CostlyOption = Annotated[
    int,
    typer.Option(
        "--costly", min=0, help="How many more with one costly fault, and as many with two of them."
    ),
]
FullOption = Annotated[
    bool, typer.Option("--full-only", help="Only with the full set of readings: a third of the time.")
]
KeepOption = Annotated[
    Path | None,
    typer.Option(
        "--keep",
        metavar="FILE.json",
        help="Where to keep the visits: the same command goes on from there.",
        show_default=False,
    ),
]
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
    visits: VisitsOption = 1000,
    costly: CostlyOption = 200,
    seed: SeedOption = 20_261_125,
    odds: OddsOption = "as weighed",
    full_only: FullOption = False,
    keep: KeepOption = None,
    output: PictureOption = None,
    as_json: JsonOption = False,
) -> None:
    """Find what is wrong at invented visits with known faults, and count how often the finding is right.

    The units differ in structure from the model that is fitted to them; meters err within their documented
    accuracy, and one visit in three has a reading that is grossly wrong. Printed for each set of readings:
    how often the right work is ranked first, pairs of faults, false alarms, missed faults by their cost, the
    confusion table, and whether the probabilities of faults and of suspect readings hold. A visit takes about
    a second for each set of readings.
    """
    from calibration.files.atomic_file import write_whole
    from calibration.studies.causes import READING_SETS, Judged, faults_study
    from dashboard.charts.draw_svg import svg
    from dashboard.commands import arguments, terminal
    from dashboard.commands.studies.kept_visits import KeptVisits
    from dashboard.results.studies import fault_study

    arguments.check_output(output)
    arguments.check_output(keep)
    if output is not None and output.suffix.lower() != ".svg":
        raise ValueError(f"-o: {output} ends in {output.suffix or 'nothing'}; .svg is expected")
    kept = KeptVisits(
        keep,
        {"study": "causes", "seed": seed},
        lambda value: {name: Judged(**one) for name, one in value.items()},
        lambda value: {name: vars(one) for name, one in value.items()},
    )
    sets = tuple(READING_SETS)[: 1 if full_only else None]
    with terminal.progress("matching visits") as progress, kept:
        study = faults_study(visits, seed, sets, progress, odds, costly, kept)
    if output is not None:
        write_whole(output, svg(fault_study.reliability_chart(study)))
    if as_json:
        terminal.print_json(fault_study.faults_json(study))
        return
    for name in study.outcomes:
        _print(study, name)
    terminal.print_lines(*fault_study.faults_sentences(study))


def _print(study: "FaultsStudy", name: str) -> None:
    from dashboard.commands import terminal
    from dashboard.results.studies import fault_study

    outcomes = study.outcomes[name]
    terminal.print_table(name, fault_study.TARGET_HEADINGS, fault_study.target_rows(study, name))
    missed = [
        [f"{100 * low:.0f} to {100 * high:.0f} %", str(count), f"{100 * share:.0f} %"]
        for low, high, count, share in outcomes.missed
    ]
    terminal.print_table("Missed faults, by EER loss", ["EER loss", "visits", "missed"], missed)
    for title, part in (
        ("clean units, none of these and the costly faults among them", outcomes),
        ("visits with costly faults", study.costly[name]),
    ):
        headings, rows = fault_study.confusion_rows(part)
        if not rows:
            continue
        words = f"Confusion table, {title}: true (rows), ranked first (columns)"
        terminal.print_table(words, headings, rows)
    for title, calibration in (
        ("probability of the first", outcomes.calibration),
        ("probability that a reading is suspect", outcomes.suspect_calibration),
    ):
        terminal.print_table(
            "Calibration of the probabilities",
            [title, "count", "mean", "share right"],
            fault_study.reliability_table(calibration),
        )
