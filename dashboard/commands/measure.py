"""`coiltoll measure CASE`: measured performance of each visit, and whether its readings are consistent."""

from typing import TYPE_CHECKING, Annotated

import typer

from dashboard.commands.options import CaseArgument, JsonOption, UnitsOption

if TYPE_CHECKING:
    from calibration.case.records import Case
    from calibration.case.units import System
    from calibration.diagnosis.visit_check import VisitCheck

FiguresOption = Annotated[
    bool, typer.Option("--figures-only", help="Leave out heat balance and suspect readings (quicker).")
]


def measure(
    case: CaseArgument,
    figures_only: FiguresOption = False,
    as_json: JsonOption = False,
    units: UnitsOption = None,
) -> None:
    """Measured performance of every visit, its heat balance, and its suspect readings.

    Saturation temperatures, superheat, subcooling, condensing temperature over ambient, capacity, power, EER
    and COP, each with the 90 % range that the meters' accuracies give it, and what a reading that was not
    taken would add. Then the coil's capacity by every route that the readings allow, the loss by each against
    the clean unit, and the suspect readings beside what the others support, with what to check on them.
    """
    from calibration.case.file import read_case
    from calibration.measured.performance import measured_performance
    from dashboard.commands import terminal
    from dashboard.results import suspect_readings as suspects
    from dashboard.results import visit_check as checked
    from dashboard.results.performance import measured_json, missing_sentences

    parsed = read_case(case)
    if not parsed.visits:
        raise ValueError(f"{case}: has no visit; at least one [[visit]] is expected")
    system = units.value if units else parsed.units
    performances = [measured_performance(visit, parsed.unit, parsed.instruments) for visit in parsed.visits]
    checks = {} if figures_only else _checks(parsed)
    if as_json:
        numbers = measured_json(parsed, performances, system)
        for shown, visit in zip(numbers["visits"], parsed.visits, strict=True):
            if visit.label in checks:
                shown["check"] = checked.check_json(checks[visit.label], system)
        terminal.print_json(numbers)
        return
    names = [visit.label for visit in parsed.visits]
    readings, figures = [], []
    for visit, performance in zip(parsed.visits, performances, strict=True):
        finding = checks[visit.label].finding if visit.label in checks else None
        as_supported = finding.visit_as_supported if finding else visit
        errors = finding.supported_errors if finding else {}
        supported = measured_performance(as_supported, parsed.unit, parsed.instruments, errors)
        readings.append(suspects.readings_beside_supported(visit, finding, system))
        figures.append(suspects.performance_beside_supported(performance, supported, system))
    terminal.print_lines(
        *parsed.remarks, f"{parsed.unit.name}, {parsed.unit.refrigerant}, {parsed.unit.expansion}", ""
    )
    terminal.print_figures("Readings", list(zip(names, readings, strict=True)))
    terminal.print_figures("Measured performance", list(zip(names, figures, strict=True)))
    for name, performance in zip(names, performances, strict=True):
        missing = missing_sentences(performance)
        terminal.print_lines(*(f"{name}: {sentence}." for sentence in missing))
    for visit in parsed.visits:
        if visit.label in checks:
            _print_check(checks[visit.label], system)


def _checks(case: "Case") -> "dict[str, VisitCheck]":
    """Every visit judged by the unit as the other visits know it."""
    from calibration.clean_fit.baseline import baseline_of
    from calibration.diagnosis.visit_check import check_visit
    from dashboard.commands import terminal

    baseline = baseline_of(case)
    found = {}
    with terminal.progress("checking visits") as progress:
        for number, visit in enumerate(case.visits, start=1):
            found[visit.label] = check_visit(case, visit, baseline)
            progress(number / len(case.visits))
    return found


def _print_check(check: "VisitCheck", system: "System") -> None:
    from dashboard.commands import terminal
    from dashboard.results import suspect_readings as suspects
    from dashboard.results import visit_check as checked

    label = check.balance.visit
    terminal.print_lines("")
    if check.balance.capacities:
        terminal.print_figures(
            f"{label}: coil's capacity by every route", [("", checked.route_figures(check, system))]
        )
        if check.supported_loss is not None:
            terminal.print_figures("Loss against the clean unit", [("", checked.loss_figures(check))])
    rows = checked.difference_rows(check, system)
    if rows:
        terminal.print_table("Heat balance", ["", "difference", "joint standard errors"], rows)
    suspect = suspects.suspect_rows(check.finding, system) if check.finding else []
    if suspect:
        terminal.print_table("Suspect readings", suspects.HEADINGS, suspect)
    terminal.print_lines(*checked.sentences(check, system))
