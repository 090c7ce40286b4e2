"""`coiltoll report CASE -o FILE`: the printed report of an as-found visit."""

from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from dashboard.commands.options import CaseArgument, JsonOption, LanguageOption, UnitsOption, writing_in

OutOption = Annotated[
    Path,
    typer.Option(
        "-o", "--output", metavar="FILE", help="Where to write it: .pdf or .html.", show_default=False
    ),
]
VisitOption = Annotated[
    str | None,
    typer.Option(
        "--visit", help="Label of the visit.  [default: the last as-found visit]", show_default=False
    ),
]


def report(
    case: CaseArgument,
    output: OutOption,
    visit: VisitOption = None,
    as_json: JsonOption = False,
    units: UnitsOption = None,
    language: LanguageOption = None,
) -> None:
    """The report of an as-found visit for the owner and the file, as PDF or HTML.

    Finding, yearly cost, what to do and when, measured and expected figures with 90 % ranges, charts, what
    was not measured, cautions, and lines for company, licence number and signature. With --json the figures
    are also
    """
    from calibration.case.circuits import circuit_of
    from calibration.case.file import read_case
    from calibration.clean_fit.baseline import baseline_of
    from calibration.costs.whole_unit import circuit_seasons
    from calibration.diagnosis.comparison import compare_visit
    from dashboard.commands import arguments, terminal
    from dashboard.commands.compare import chosen_visits
    from dashboard.report import cost_sections
    from dashboard.report.comparison_report import check_suffix, comparison_report, write_report
    from dashboard.report.findings import findings_json, visit_findings
    from dashboard.report.pdf import lost_sentence, words_of
    from dashboard.results.comparison import comparison_json

    check_suffix(output)
    written_in = writing_in(language)
    parsed = read_case(case)
    arguments.check_output(output, [case, language], parsed)
    system = units.value if units else parsed.units
    label = chosen_visits(parsed, visit, str(case))[-1].label
    whole, parsed = parsed, circuit_of(parsed, label)
    chosen = parsed.visit(label)
    baseline = baseline_of(parsed)
    comparison = compare_visit(parsed, chosen, baseline)
    with terminal.progress("Simulating years of weather, pricing cleanings") as tell:
        cost = cost_sections.costs_of_visit(parsed, baseline, comparison.finding, tell)
    findings = visit_findings(parsed, baseline, comparison, cost)
    if whole.unit.circuits and not isinstance(cost, str):
        seasons = circuit_seasons(whole, {parsed.unit.name: cost.season}, chosen.date)
        findings = replace(findings, circuits=seasons)
    with written_in:
        content = comparison_report(parsed, baseline, comparison, system, findings)
        write_report(content, output, chosen.date, system)
    if output.suffix.lower() == ".pdf" and (lost := lost_sentence(words_of(content))):
        terminal.print_notices(lost)
    if as_json:
        more = findings_json(findings, comparison, system, parsed.currency)
        made = {"written": str(output), "unit": parsed.unit.name, "units": system}
        terminal.print_json({**made, **comparison_json(comparison, system), **more})
        return
    terminal.print_lines(f"{output}: report of {parsed.unit.name}, {chosen.label}, written")
