"""`coiltoll demo`: the main job on an invented case."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dashboard.commands.options import JsonOption, UnitsOption

if TYPE_CHECKING:
    from calibration.case.units import System

OutOption = Annotated[
    Path, typer.Option("-o", "--output", metavar="FILE", help="Where to write the report: .pdf or .html.")
]
CASES = Path(__file__).resolve().parents[2] / "cases"
DEMO_CASE, HEAT_PUMP_CASE = CASES / "demo.toml", CASES / "heat_pump.toml"


def demo(
    output: OutOption = Path("demo-report.pdf"), as_json: JsonOption = False, units: UnitsOption = None
) -> None:
    """The main job on an invented case: clean fit, comparison, and the report written to a file.

    The same as `coiltoll compare cases/demo.toml` followed by `coiltoll report cases/demo.toml -o FILE`;
    then, in short, what fouling costs an invented heat pump in summer and in winter (`coiltoll season
    cases/heat_pump.toml`).
    """
    from dashboard.commands import arguments, terminal
    from dashboard.commands.compare import compare
    from dashboard.commands.report import report
    from dashboard.report.comparison_report import check_suffix

    check_suffix(output)
    arguments.check_output(output, [DEMO_CASE])
    if as_json:
        report(DEMO_CASE, output, as_json=True, units=units)
        return
    terminal.print_lines("An invented unit: place, building and every number are made up.", "")
    compare(DEMO_CASE, units=units)
    terminal.print_lines("")
    report(DEMO_CASE, output, units=units)
    terminal.print_lines("")
    _print_heat_pump(units.value if units else None)


def _print_heat_pump(system: "System | None") -> None:
    """What a year's fouling costs the second unit, in both its seasons."""
    from calibration.case.file import read_case
    from calibration.clean_fit.baseline import baseline_of
    from calibration.costs.season_cost import season_findings
    from dashboard.commands import terminal
    from dashboard.results.costs.winter import seasons_columns, winter_sentences

    case = read_case(HEAT_PUMP_CASE)
    found = season_findings(case, baseline_of(case))
    terminal.print_lines(f"An invented heat pump, {case.unit.name}: one coil in summer and winter.", "")
    terminal.print_figures("Cost of fouling", seasons_columns(found))
    terminal.print_lines(*winter_sentences(found, system or case.units))
