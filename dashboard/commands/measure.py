"""`coiltoll measure CASE`: measured performance of each visit, and whether its readings are consistent."""

from typing import TYPE_CHECKING, Annotated

import typer

from dashboard.commands.options import CaseArgument, JsonOption, TablesOption, UnitsOption

if TYPE_CHECKING:
    from calibration.case.records import Case, Visit
    from calibration.case.units import System
    from calibration.diagnosis.visit_check import VisitCheck
    from calibration.heating.heating_visit import HeatingMeasured
    from calibration.measured.performance import MeasuredPerformance
    from dashboard.results.figures import Figure

FiguresOption = Annotated[
    bool, typer.Option("--figures-only", help="Leave out heat balance and suspect readings (quicker).")
]


def measure(
    case: CaseArgument,
    figures_only: FiguresOption = False,
    as_json: JsonOption = False,
    units: UnitsOption = None,
    output: TablesOption = None,
) -> None:
    """Measured performance of every visit, its heat balance, and its suspect readings.

    Saturation temperatures, superheat, subcooling, condensing temperature over ambient, capacity, power, EER
    and COP, each with the 90 % range that the meters' accuracies give it, and what a reading that was not
    taken would add. Then the coil's capacity by every route that the readings allow, the loss by each against
    the clean unit, and the suspect readings beside what the others support, with what to check on them.
    """
    from dashboard.commands import terminal

    with terminal.tables_into(output, case, as_json):
        _show(case, figures_only, as_json, units)


def _show(case: CaseArgument, figures_only: FiguresOption, as_json: JsonOption, units: UnitsOption) -> None:
    """Print it."""
    from calibration.case.file import read_case
    from dashboard.commands import terminal
    from dashboard.results import visit_check as checked
    from dashboard.results.figures import to_json
    from dashboard.results.heating.heating_visit import measured_heating_json
    from dashboard.results.performance import measured_json

    parsed = read_case(case)
    if not (parsed.visits or parsed.heating_visits):
        raise ValueError(f"{case}: has no visit; at least one [[visit]] is expected")
    system = units.value if units else parsed.units
    visits, performances, together = _measured(parsed, system)
    checks = {} if figures_only else _checks(parsed)
    if as_json:
        numbers = measured_json(parsed, performances, system)
        for shown, visit in zip(numbers["visits"], parsed.visits, strict=True):
            if visit.label in checks:
                shown["check"] = checked.check_json(checks[visit.label], system)
        if parsed.unit.circuits:
            numbers["whole_unit"] = to_json(together)
        if parsed.heating_visits:
            numbers["heating_visits"] = [measured_heating_json(one, system) for one in _winter(parsed)]
        terminal.print_json(numbers)
        return
    _print_all(parsed, (visits, performances, together), checks, system)


def _print_all(
    parsed: "Case",
    measured: "tuple[list[Visit], list[MeasuredPerformance], list[Figure]]",
    checks: "dict[str, VisitCheck]",
    system: "System",
) -> None:
    """Tables and sentences of all visits."""
    from dashboard.commands import terminal
    from dashboard.results.performance import missing_sentences

    visits, performances, together = measured
    terminal.print_lines(
        *parsed.remarks, f"{parsed.unit.name}, {parsed.unit.refrigerant}, {parsed.unit.expansion}", ""
    )
    if visits:
        _print_tables(parsed, list(zip(visits, performances, strict=True)), checks, system)
    if parsed.heating_visits:
        _print_heating(parsed, system)
    if together:
        terminal.print_figures(f"{parsed.unit.circuits} circuits together, last visits", [("", together)])
    for performance in performances:
        missing = missing_sentences(performance)
        terminal.print_lines(*(f"{performance.label}: {sentence}." for sentence in missing))
    for visit in visits:
        if visit.label in checks:
            _print_check(checks[visit.label], system)


def _winter(case: "Case") -> "list[HeatingMeasured]":
    """What was measured on each visit in heating."""
    from calibration.heating.heating_visit import heating_measured

    return [heating_measured(one, case.unit, case.instruments) for one in case.heating_visits]


def _print_heating(case: "Case", system: "System") -> None:
    """Readings and figures of the visits in heating, and how far they can be trusted."""
    from dashboard.commands import terminal
    from dashboard.results.heating import heating_visit as shown

    measured = _winter(case)
    readings = [(one.label, shown.reading_figures(one, system)) for one in case.heating_visits]
    terminal.print_figures("Readings in heating", readings)
    figures = [(one.label, shown.measured_figures(one, system)) for one in measured]
    terminal.print_figures("Measured performance in heating", figures)
    for one in measured:
        terminal.print_lines(*(f"{one.label}: {sentence}" for sentence in shown.measured_sentences(one)))


def _measured(
    case: "Case", system: "System"
) -> "tuple[list[Visit], list[MeasuredPerformance], list[Figure]]":
    """Visits, what was measured on each, and the last of each circuit added up where there are several."""
    from calibration.case.circuits import circuit_of, last_visits
    from calibration.measured.performance import measured_performance
    from dashboard.results.costs import whole_unit

    circuits = [circuit_of(case, visit.label) for visit in case.visits]
    visits = [one.visit(visit.label) for one, visit in zip(circuits, case.visits, strict=True)]
    performances = [
        measured_performance(visit, one.unit, one.instruments)
        for one, visit in zip(circuits, visits, strict=True)
    ]
    last = last_visits(case) if case.unit.circuits else ()
    together = whole_unit.measured_figures([one for one in performances if one.label in last], system)
    return visits, performances, together


def _print_tables(
    case: "Case",
    measured: "list[tuple[Visit, MeasuredPerformance]]",
    checks: "dict[str, VisitCheck]",
    system: "System",
) -> None:
    """Readings and performance of every visit side by side, suspect ones beside what the others support."""
    from calibration.case.circuits import circuit_of
    from calibration.measured.performance import measured_performance
    from dashboard.commands import terminal
    from dashboard.results import suspect_readings as suspects

    names = [visit.label for visit, _ in measured]
    readings, figures = [], []
    for visit, performance in measured:
        finding = checks[visit.label].finding if visit.label in checks else None
        as_supported = finding.visit_as_supported if finding else visit
        unit = circuit_of(case, visit.label).unit
        errors = finding.supported_errors if finding else {}
        supported = measured_performance(as_supported, unit, case.instruments, errors)
        readings.append(suspects.readings_beside_supported(visit, finding, system))
        figures.append(suspects.performance_beside_supported(performance, supported, system))
    terminal.print_figures("Readings", list(zip(names, readings, strict=True)))
    terminal.print_figures("Measured performance", list(zip(names, figures, strict=True)))


def _checks(case: "Case") -> "dict[str, VisitCheck]":
    """Every visit judged by the unit as the other visits know it."""
    from calibration.case.circuits import circuit_cases
    from calibration.clean_fit.baseline import baseline_of
    from calibration.diagnosis.visit_check import VisitCheck, check_visits
    from dashboard.commands import terminal

    found: dict[str, VisitCheck] = {}
    with terminal.progress("checking visits") as progress:
        for one in circuit_cases(case):
            baseline = baseline_of(one)
            for visit, check in zip(one.visits, check_visits(one, one.visits, baseline), strict=True):
                found[visit.label] = check
                progress(len(found) / len(case.visits))
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
