"""`coiltoll study coverage`: how often 90 % ranges contain the true value."""

from typing import TYPE_CHECKING, Annotated

import typer

from dashboard.commands.options import JsonOption

if TYPE_CHECKING:
    from calibration.studies.coverage import Coverage
    from calibration.studies.foreign.found_ranges import FoundRanges
    from calibration.studies.season_coverage import SeasonCoverage

UnitsCountOption = Annotated[
    int, typer.Option("--drawn", min=1, help="How many invented units to draw of each structure.")
]
VisitsOption = Annotated[
    int | None,
    typer.Option(
        "--visits",
        min=1,
        help="How many visits to find faults at, of each structure; as many as units if not given.",
        show_default=False,
    ),
]
SeasonsOption = Annotated[
    int, typer.Option("--seasons", min=0, help="How many of other invented units to run through a year.")
]
SeedOption = Annotated[int, typer.Option("--seed", min=0, help="Seed of the random draws.")]


def coverage(
    drawn: UnitsCountOption = 40,
    visits: VisitsOption = None,
    seasons: SeasonsOption = 10,
    seed: SeedOption = 20_261_125,
    as_json: JsonOption = False,
) -> None:
    """Fit invented units to one visit each; count predictions whose 90 % range contains the true value.

    Twice: with units that differ from the fitted model in numbers (exponents, fan curves, volumes, half of
    them another compressor), and with machines of another structure throughout: coils in segments, two other
    laws of the orifice and one of the valve, two other void fractions, accumulators, bent fan curves,
    compressor maps. Printed for a full visit, for gauges and pipe probes only, and for the nameplate alone.
    Then for a second visit with a fault or none: whether the ranges of the fault's level and of the loss of
    EER, capacity and power contain the true ones. Meters err within their documented accuracy. A unit takes
    about six seconds in all.

    Other units, read clean and fouled, run through years whose load and weather are not those of their cases;
    counted are the ranges of a year's electricity and of the fouling's part in it, with a load that is
    assumed, given, or known by a bill. A year takes about six seconds.
    """
    from calibration.studies.coverage import coverage_study
    from calibration.studies.foreign.found_ranges import TRUTHS, found_ranges
    from calibration.studies.season_coverage import season_coverage
    from dashboard.commands import terminal

    with terminal.progress("fitting units") as progress:
        parts = [lambda done, part=part: progress((part + done) / len(TRUTHS)) for part in (0, 1)]
        studies = [
            coverage_study(drawn, seed, progress=part, truth=truth)
            for truth, part in zip(TRUTHS, parts, strict=True)
        ]
    with terminal.progress("finding faults") as progress:
        parts = [lambda done, part=part: progress((part + done) / len(TRUTHS)) for part in (0, 1)]
        found = [
            found_ranges(truth, visits or drawn, seed, part)
            for truth, part in zip(TRUTHS, parts, strict=True)
        ]
    years = None
    if seasons:
        with terminal.progress("running years") as progress:
            years = season_coverage(seasons, seed, progress)
    _print(studies, found, years, as_json)


def _print(
    studies: "list[Coverage]", found: "list[FoundRanges]", years: "SeasonCoverage | None", as_json: bool
) -> None:
    from dashboard.commands import terminal
    from dashboard.results.studies import reliability

    if as_json:
        own, foreign = (reliability.coverage_json(study) for study in studies)
        shown = own | {
            "foreign": foreign,
            "found": {study.truth: reliability.found_json(study) for study in found},
        }
        if years is not None:
            shown["seasons"] = reliability.season_coverage_json(years)
        terminal.print_json(shown)
        return
    for study in studies:
        for kind in study.shares:
            terminal.print_table(
                f"Units of {study.truth}, fitted to: {kind}",
                reliability.COVERAGE_HEADINGS,
                reliability.coverage_rows(study, kind),
            )
        terminal.print_lines(*reliability.coverage_sentences(study))
    for result in found:
        terminal.print_table(
            f"Visits to units of {result.truth}", reliability.FOUND_HEADINGS, reliability.found_rows(result)
        )
        terminal.print_lines(*reliability.found_sentences(result))
    if years is not None:
        terminal.print_table(
            f"A year of {years.units} other units",
            reliability.SEASON_COVERAGE_HEADINGS,
            reliability.season_coverage_rows(years),
        )
