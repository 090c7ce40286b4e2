"""`coiltoll match CASE`: which fault the readings of a visit match."""

from typing import TYPE_CHECKING, Annotated

import typer

from dashboard.commands.options import CaseArgument, JsonOption, TablesOption, UnitsOption

if TYPE_CHECKING:
    from calibration.case.records import Case, Visit
    from calibration.case.units import System
    from calibration.clean_fit.baseline import Baseline
    from calibration.diagnosis.finding import Finding
    from calibration.heating.heating_match import HeatingFinding
    from dashboard.results.figures import Figure

VisitOption = Annotated[
    str | None, typer.Option("--visit", help="Label of the visit to explain. [default: every as-found visit]")
]


def match(
    case: CaseArgument,
    visit: VisitOption = None,
    as_json: JsonOption = False,
    units: UnitsOption = None,
    output: TablesOption = None,
) -> None:
    """What the readings of a visit say: verdict, probabilities of faults, suspect readings.

    No fault, every fault, the likely pairs and "none of these" share one probability, gross errors of the
    readings among them. With it: fault level and loss, every reading beside what each fault would show, the
    most informative next readings, what to do, and the cost of being wrong either way.
    """
    from dashboard.commands import terminal

    with terminal.tables_into(output, case, as_json):
        _show(case, visit, as_json, units)


def _show(case: CaseArgument, visit: VisitOption, as_json: JsonOption, units: UnitsOption) -> None:
    """Print it."""
    from calibration.case.circuits import circuit_of
    from calibration.case.file import read_case
    from calibration.clean_fit.baseline import baseline_of
    from calibration.diagnosis.finding import find
    from dashboard.commands import terminal
    from dashboard.commands.compare import chosen_visits
    from dashboard.results import cautions
    from dashboard.results.figures import to_json
    from dashboard.results.heating.heating_visit import finding_json
    from dashboard.results.match import match_json
    from model.properties.refrigerant import refrigerant

    parsed = read_case(case)
    system = units.value if units else parsed.units
    winter = [one for one in parsed.heating_visits if visit in (None, one.label)]
    only_winter = bool(winter) and (visit is not None or not parsed.found_visits)
    chosen = [] if only_winter else chosen_visits(parsed, visit, str(case))
    circuits = [circuit_of(parsed, one.label) for one in chosen]
    by_name = {one.unit.name: one for one in circuits}
    baselines = {name: baseline_of(one) for name, one in by_name.items()}
    found = [
        find(one, one.visit(visited.label), baseline=baselines[one.unit.name])
        for one, visited in zip(circuits, chosen, strict=True)
    ]
    several = (parsed.unit.circuits or 1) > 1
    together = _together(parsed, found, system) if several and visit is None else []
    if as_json:
        matches = [match_json(one, system, parsed.currency) for one in found]
        more: dict[str, object] = {"whole_unit": to_json(together)} if several else {}
        if winter:
            more["heating"] = [finding_json(one, system) for one in _in_heating(parsed, winter)]
        terminal.print_json({"unit": parsed.unit.name, "units": system, "matches": matches, **more})
        return
    _print_all(parsed, baselines, (found, winter), system)
    if together:
        title = f"{parsed.unit.circuits} circuits together, last visit as found to each, design weather"
        terminal.print_figures(title, [("", together)])
    safety = refrigerant(parsed.unit.refrigerant).safety_class
    terminal.print_lines(*cautions.cautions(parsed.unit.refrigerant, safety))


def _print_all(
    parsed: "Case",
    baselines: "dict[str, Baseline]",
    findings: "tuple[list[Finding], list[Visit]]",
    system: "System",
) -> None:
    """Findings in cooling, and those of visits in heating."""
    from dashboard.commands import terminal
    from dashboard.results.clean_fit import fit_sentence

    found, winter = findings
    several = (parsed.unit.circuits or 1) > 1
    terminal.print_lines(
        *parsed.remarks, f"{parsed.unit.name}, {parsed.unit.refrigerant}, {parsed.unit.expansion}"
    )
    for name, baseline in baselines.items():
        terminal.print_lines(*([f"{name}:"] if several else []), fit_sentence(baseline), "")
    for one in found:
        _print_finding(one, system, parsed.currency)
    for seen in _in_heating(parsed, winter) if winter else []:
        _print_heating(seen, system)


def _in_heating(case: "Case", visits: "list[Visit]") -> "list[HeatingFinding]":
    """Findings of visits in heating."""
    from calibration.clean_fit.baseline import baseline_of
    from calibration.heating.heating_match import heating_findings

    return heating_findings(case, baseline_of(case), visits)


def _print_heating(found: "HeatingFinding", system: "System") -> None:
    from dashboard.commands import terminal
    from dashboard.results.heating import heating_visit as shown

    terminal.print_table(f"{found.label}, in heating", ["", "probability [%]"], shown.probability_rows(found))
    terminal.print_lines(*shown.finding_sentences(found), "")
    terminal.print_table(
        "Expected beside measured", shown.EXPECTED_HEADINGS, shown.expected_rows(found, system)
    )


def _together(case: "Case", found: "list[Finding]", system: "System") -> "list[Figure]":
    """What the last visits as found to each circuit come to together; nothing where one has none."""
    from calibration.case.circuits import last_visits
    from dashboard.results.costs import whole_unit

    last = last_visits(case, "as found")
    whole = [one for one in found if one.visit.label in last]
    return whole_unit.loss_figures(whole, system) if whole else []


def _print_finding(found: "Finding", system: "System", currency: str) -> None:
    from dashboard.commands import terminal
    from dashboard.results import expected_readings as expected
    from dashboard.results import match as matched
    from dashboard.results import next_steps as steps
    from dashboard.results import suspect_readings as suspects
    from dashboard.results.wording import in_a_sentence

    rows = [list(row) for row in matched.probability_rows(found)]
    terminal.print_table(found.visit.label, ["", "probability [%]", "before any reading [%]"], rows)
    terminal.print_lines(*matched.all_sentences(found, system, currency), "")
    suspect = suspects.suspect_rows(found, system)
    if suspect:
        terminal.print_table("Suspect readings", suspects.HEADINGS, suspect)
    if found.suspects:
        terminal.print_lines(*suspects.suspect_sentences(found, system), "")
    terminal.print_table("Expected beside measured", *expected.expected_table(found, system))
    terminal.print_lines(expected.table_note(found), "")
    for one in matched.shown_faults(found):
        figures = [
            ("today", [*matched.level_figures(one, system), *matched.loss_figures(one.today, system)]),
            ("design weather", matched.loss_figures(one.design, system)),
        ]
        terminal.print_figures(f"If it is {in_a_sentence(one.key)}", figures)
    if found.suggestions:
        terminal.print_lines("Most informative next readings")
        terminal.print_lines(*(f"- {said}" for said in steps.next_reading_sentences(found, system)))
