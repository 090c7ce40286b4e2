"""`coiltoll study coverage`: how often 90 % ranges contain the true value."""

from typing import Annotated

import typer

from dashboard.commands.options import JsonOption

UnitsCountOption = Annotated[int, typer.Option("--drawn", min=1, help="How many invented units to draw.")]
SeedOption = Annotated[int, typer.Option("--seed", min=0, help="Seed of the random draws.")]


def coverage(
    drawn: UnitsCountOption = 500, seed: SeedOption = 20_261_125, as_json: JsonOption = False
) -> None:
    """Fit invented units to one visit each; count predictions whose 90 % range contains the true value.

    The units differ in structure from the model that is fitted to them: other exponents, fan curves and
    volumes, and half of them another compressor model. Meters err within their documented accuracy. Printed
    for a full visit, for gauges and pipe probes only, and for the nameplate alone. Five hundred units take
    about ten minutes.
    """
    from calibration.studies.coverage import coverage_study
    from dashboard.commands import terminal
    from dashboard.results.studies import reliability

    with terminal.progress("fitting units") as progress:
        study = coverage_study(drawn, seed, progress=progress)
    if as_json:
        terminal.print_json(reliability.coverage_json(study))
        return
    for kind in study.shares:
        terminal.print_table(
            f"Fitted to: {kind}", reliability.COVERAGE_HEADINGS, reliability.coverage_rows(study, kind)
        )
    terminal.print_lines(*reliability.coverage_sentences(study))
