"""`coiltoll season CASE`: what fouling costs in a year of weather: electricity, money and comfort."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dashboard.commands.options import CaseArgument, JsonOption, UnitsOption

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calibration.case.records import Case
    from calibration.case.units import System
    from calibration.clean_fit.baseline import Baseline
    from calibration.costs.season_cost import SeasonFindings

TodayOption = Annotated[
    datetime | None,
    typer.Option(
        "--today",
        formats=["%Y-%m-%d"],
        metavar="DATE",
        help="Day from which fouling grows.  [default: date of the last visit]",
        show_default=False,
    ),
]
DrawsOption = Annotated[
    int,
    typer.Option(
        "--draws",
        min=2,
        max=5000,
        help="Draws behind the 90 % ranges: fewer are quicker and coarser.",
    ),
]


HoursOption = Annotated[
    Path | None,
    typer.Option(
        "-o",
        "--output",
        metavar="FILE",
        help="Every hour of the year: weather, load, price, and capacity and power with a clean coil, with "
        "today's fouling and as it grows; .csv or .parquet.",
        show_default=False,
    ),
]
MonthsOption = Annotated[
    Path | None,
    typer.Option(
        "--months",
        metavar="FILE",
        help="Every month of the year: energy, money and hours, the same three ways; .csv or .parquet.",
        show_default=False,
    ),
]
AgainstOption = Annotated[
    Path | None,
    typer.Option(
        "--against",
        metavar="OTHER",
        help="Another case file, such as the same unit with another tariff, set point or machine: both years "
        "side by side, and their difference.",
        show_default=False,
    ),
]


def season(
    case: CaseArgument,
    today: TodayOption = None,
    draws: DrawsOption = 256,
    output: HoursOption = None,
    months: MonthsOption = None,
    against: AgainstOption = None,
    as_json: JsonOption = False,
    units: UnitsOption = None,
) -> None:
    """Yearly cost of fouling: electricity, money, carbon dioxide, unmet-load hours, hours tripped.

    A year of the calibrated unit is simulated three times: clean, with today's fouling, and with fouling as
    it grows. The 90 % ranges come from draws of the unit, its fouling and growth, the load, the year's
    weather and the trip setting. Weather, load and tariff that the case does not specify are assumed, and the
    assumptions are printed.
    """
    from calibration.case.circuits import circuit_cases
    from calibration.case.file import read_case
    from calibration.clean_fit.baseline import baseline_of
    from calibration.costs.season_cost import season_findings
    from dashboard.commands import terminal
    from dashboard.results import cautions
    from dashboard.results.costs import sensitivity, whole_unit
    from dashboard.results.costs.season_cost import season_json
    from model.properties.refrigerant import refrigerant

    parsed = read_case(case)
    _check_files(output, months, parsed)
    system = units.value if units else parsed.units
    day = today.date() if today else parsed.last_date
    other = None if against is None else _other_case(against, parsed)
    circuits = circuit_cases(parsed)
    baselines = [baseline_of(one) for one in circuits]
    found = []
    with terminal.progress("Simulating years of weather") as advance:
        for one, baseline in zip(circuits, baselines, strict=True):
            found.append(season_findings(one, baseline, day, advance, draws))
    _write(found, output, months, system)
    tables = []
    if other is not None and against is not None:
        pair = (found, _circuits_of(other, today, draws))
        tables = sensitivity.compared_tables(*pair, (case.stem, against.stem), system)
    if as_json:
        shown = season_json(found[0], system) if len(found) == 1 else whole_unit.season_json(found, system)
        shown |= {"against": sensitivity.compared_json(tables)} if tables else {}
        terminal.print_json({"unit": parsed.unit.name, "units": system, **shown})
        return
    terminal.print_lines(*parsed.remarks)
    for one, baseline, season_found in zip(circuits, baselines, found, strict=True):
        _print_season(one, baseline, season_found, system)
    if len(found) > 1:
        _print_together(parsed.unit.name, found, system)
    for heading, columns in tables:
        terminal.print_figures(heading, columns)
    safety = refrigerant(parsed.unit.refrigerant).safety_class
    terminal.print_lines(*cautions.cautions(parsed.unit.refrigerant, safety))


def _print_together(name: str, found: "Sequence[SeasonFindings]", system: "System") -> None:
    """The year of all circuits of a unit."""
    from dashboard.commands import terminal
    from dashboard.results.costs import whole_unit

    terminal.print_lines(f"{name}: {len(found)} circuits together", "")
    for heading, columns in whole_unit.season_tables(found, system):
        terminal.print_figures(heading, columns)
    terminal.print_lines(whole_unit.SHARES, "")


def _other_case(path: Path, case: "Case") -> "Case":
    """A case to compare with, in the same currency."""
    from calibration.case.file import read_case

    other = read_case(path)
    if other.currency != case.currency:
        raise ValueError(
            f"--against: prices are in {other.currency} there and in {case.currency} here; one is expected"
        )
    return other


def _circuits_of(case: "Case", today: datetime | None, draws: int) -> "list[SeasonFindings]":
    """The season of every circuit of another case."""
    from calibration.case.circuits import circuit_cases
    from calibration.clean_fit.baseline import baseline_of
    from calibration.costs.season_cost import season_findings

    day = today.date() if today else case.last_date
    return [season_findings(one, baseline_of(one), day, None, draws) for one in circuit_cases(case)]


def _check_files(output: Path | None, months: Path | None, case: "Case") -> None:
    """Refuse files of another kind, and those that are read, before any work."""
    from dashboard.commands.arguments import check_output
    from dashboard.results.costs.year_table import check_ending

    for option, file in (("-o", output), ("--months", months)):
        if file is not None:
            check_ending(file, option)
            check_output(file, [case.source], case)


def _write(
    found: "Sequence[SeasonFindings]", output: Path | None, months: Path | None, system: "System"
) -> None:
    """The files that were asked for, of a unit with one circuit."""
    from dashboard.results.costs.year_table import hour_table, month_table, write_columns

    if output is None and months is None:
        return
    if len(found) > 1:
        raise ValueError(
            "-o, --months: these tables are of one circuit, the unit has several; a case with one is expected"
        )
    # Both are made before either is written: a case without hours leaves nothing half-done.
    tables = [(output, hour_table(found[0], system))] if output is not None else []
    tables += [(months, month_table(found[0]))] if months is not None else []
    for path, columns in tables:
        if path is not None:
            write_columns(path, columns)


def _print_season(case: "Case", baseline: "Baseline", found: "SeasonFindings", system: "System") -> None:
    """Tables and sentences of one unit or circuit."""
    from dashboard.commands import terminal
    from dashboard.results.clean_fit import fit_sentence
    from dashboard.results.costs.season_cost import (
        month_columns,
        season_columns,
        season_sentences,
        worst_columns,
    )
    from dashboard.results.costs.season_ground import ground_sentences
    from dashboard.results.costs.sensitivity import effect_sentence, effect_table
    from dashboard.results.costs.winter import winter_columns, year_columns

    terminal.print_lines(f"{case.unit.name}, {case.unit.refrigerant}, {case.unit.expansion}")
    terminal.print_lines(fit_sentence(baseline), "")
    sentences = season_sentences(found, system)
    if found.unit.if_fouled:
        terminal.print_lines(sentences.pop(0), "")
    terminal.print_figures("A year", season_columns(found, system))
    terminal.print_figures("The hardest hour", worst_columns(found, system))
    if found.effects:
        terminal.print_table(*effect_table(found))
    supposed = "If it were fouling: cost by month" if found.unit.if_fouled else "Cost of fouling by month"
    terminal.print_figures(supposed, month_columns(found))
    if found.winter is not None:
        terminal.print_figures("A winter, while the unit heats", winter_columns(found, system))
        terminal.print_figures("Both seasons: cost of fouling by month", year_columns(found))
    terminal.print_lines(*sentences, *filter(None, [effect_sentence(found)]), "")
    terminal.print_lines(*ground_sentences(found, system), "")
