"""`coiltoll study coverage`: how often 90 % ranges contain the true value."""

from typing import Annotated

import typer

from dashboard.commands.options import JsonOption

UnitsCountOption = Annotated[int, typer.Option("--drawn", min=1, help="How many invented units to draw.")]
SeasonsOption = Annotated[
    int, typer.Option("--seasons", min=0, help="How many of other invented units to run through a year.")
]
SeedOption = Annotated[int, typer.Option("--seed", min=0, help="Seed of the random draws.")]


def coverage(
    drawn: UnitsCountOption = 500,
    seasons: SeasonsOption = 100,
    seed: SeedOption = 20_261_125,
    as_json: JsonOption = False,
) -> None:
    """Fit invented units to one visit each; count predictions whose 90 % range contains the true value.

    The units differ in structure from the model that is fitted to them: other exponents, fan curves and
    volumes, and half of them another compressor model. Meters err within their documented accuracy. Printed
    for a full visit, for gauges and pipe probes only, and for the nameplate alone. Five hundred units take
    about ten minutes. A hundred more units, read clean and fouled, run through years whose load and weather
    are not those of their cases; counted are the ranges of a year's electricity and of the fouling's part in
    it, with a load that is assumed, given, or known by a bill. They take as long again.
    """
    from calibration.studies.coverage import coverage_study
    from calibration.studies.season_coverage import season_coverage
    from dashboard.commands import terminal
    from dashboard.results.studies import reliability

    with terminal.progress("fitting units") as progress:
        study = coverage_study(drawn, seed, progress=progress)
    years = None
    if seasons:
        with terminal.progress("running years") as progress:
            years = season_coverage(seasons, seed, progress)
    if as_json:
        shown = reliability.coverage_json(study)
        if years is not None:
            shown["seasons"] = reliability.season_coverage_json(years)
        terminal.print_json(shown)
        return
    for kind in study.shares:
        terminal.print_table(
            f"Fitted to: {kind}", reliability.COVERAGE_HEADINGS, reliability.coverage_rows(study, kind)
        )
    terminal.print_lines(*reliability.coverage_sentences(study))
    if years is not None:
        terminal.print_table(
            f"A year of {years.units} other units",
            reliability.SEASON_COVERAGE_HEADINGS,
            reliability.season_coverage_rows(years),
        )
