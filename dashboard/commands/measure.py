"""`coiltoll measure CASE`: what was measured at each visit, and whether the readings are consistent."""

from typing import TYPE_CHECKING, Annotated

import typer

from dashboard.commands.options import CaseArgument, JsonOption, UnitsOption

if TYPE_CHECKING:
    from calibration.case.records import Case, Visit
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
    """Measured performance of every visit, its heat balance, and suspect readings.

    Saturation temperatures, superheat, subcooling, condensing temperature over ambient, capacity, power, EER
    and COP, each with its 90 % range from the accuracy of the meters, and what each missing reading would
    add. Then the capacity of the coil by every route that the readings allow, the loss by each route against
    the clean unit, and suspect readings with what to check.
    """
    from calibration.case.file import read_case
    from calibration.measured.performance import measured_performance
    from dashboard.commands import terminal
    from dashboard.results.performance import (
        measured_json,
        missing_sentences,
        performance_figures,
        reading_figures,
    )
    from dashboard.results.visit_check import check_json

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
                shown["check"] = check_json(checks[visit.label], visit, system)
        terminal.print_json(numbers)
        return
    names = [visit.label for visit in parsed.visits]
    readings = [reading_figures(visit, system) for visit in parsed.visits]
    figures = [performance_figures(performance, system) for performance in performances]
    terminal.print_lines(
        *parsed.remarks, f"{parsed.unit.name}, {parsed.unit.refrigerant}, {parsed.unit.expansion}", ""
    )
    terminal.print_figures("Readings", list(zip(names, readings, strict=True)))
    terminal.print_figures("Measured performance", list(zip(names, figures, strict=True)))
    for name, performance in zip(names, performances, strict=True):
        terminal.print_lines(*(f"{name}: {sentence}." for sentence in missing_sentences(performance)))
    for visit in parsed.visits:
        if visit.label in checks:
            _print_check(checks[visit.label], visit, system)


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


def _print_check(check: "VisitCheck", visit: "Visit", system: "System") -> None:
    from dashboard.commands import terminal
    from dashboard.results.visit_check import (
        difference_rows,
        doubt_rows,
        loss_figures,
        route_figures,
        sentences,
    )

    terminal.print_lines("")
    if check.balance.capacities:
        terminal.print_figures(
            f"{visit.label}: capacity of the coil by every route", [("", route_figures(check, system))]
        )
        if visit.coil == "as found":
            terminal.print_figures("Loss against the clean unit", [("", loss_figures(check))])
    rows = difference_rows(check, system)
    if rows:
        terminal.print_table("Heat balance", ["", "difference", "joint standard errors"], rows)
    doubts = doubt_rows(check, visit, system)
    if doubts:
        headings = ["", "read", "expected from all others", "difference [standard errors]", "share"]
        terminal.print_table("Suspect readings", headings, doubts)
    terminal.print_lines(*sentences(check, visit, system))
