"""`coiltoll demo`: the main job on an invented case."""

from pathlib import Path
from typing import Annotated

import typer

from dashboard.commands.options import JsonOption, UnitsOption

OutOption = Annotated[
    Path, typer.Option("-o", "--output", metavar="FILE", help="Where to write the report: .pdf or .html.")
]
DEMO_CASE = Path(__file__).resolve().parents[2] / "cases" / "demo.toml"


def demo(
    output: OutOption = Path("demo-report.pdf"), as_json: JsonOption = False, units: UnitsOption = None
) -> None:
    """The main job on an invented case: clean fit, comparison, and the report written to a file.

    The same as `coiltoll compare cases/demo.toml` followed by `coiltoll report cases/demo.toml -o FILE`.
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
