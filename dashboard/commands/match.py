"""`coiltoll match CASE`: which fault the readings of a visit match."""

from typing import TYPE_CHECKING, Annotated

import typer

from dashboard.commands.options import CaseArgument, JsonOption, UnitsOption

if TYPE_CHECKING:
    from calibration.case.units import System
    from calibration.diagnosis.finding import Finding

VisitOption = Annotated[
    str | None, typer.Option("--visit", help="Label of the visit to explain. [default: every as-found visit]")
]


def match(
    case: CaseArgument,
    visit: VisitOption = None,
    as_json: JsonOption = False,
    units: UnitsOption = None,
) -> None:
    """What the readings of a visit say: verdict, probabilities of faults, suspect readings.

    No fault, every fault, the likely pairs and "none of these" share one probability, gross errors of the
    readings among them. With it: fault level and loss, every reading beside what each fault would show, the
    most informative next readings, what to do, and the cost of being wrong either way.
    """
    from calibration.case.file import read_case
    from calibration.clean_fit.baseline import baseline_of
    from calibration.diagnosis.finding import find
    from dashboard.commands import terminal
    from dashboard.commands.compare import chosen_visits
    from dashboard.results import cautions
    from dashboard.results.clean_fit import fit_sentence
    from dashboard.results.match import match_json
    from model.properties.refrigerant import refrigerant

    parsed = read_case(case)
    system = units.value if units else parsed.units
    chosen = chosen_visits(parsed, visit, str(case))
    baseline = baseline_of(parsed)
    found = [find(parsed, one, baseline=baseline) for one in chosen]
    if as_json:
        matches = [match_json(one, system, parsed.currency) for one in found]
        terminal.print_json({"unit": parsed.unit.name, "units": system, "matches": matches})
        return
    terminal.print_lines(
        *parsed.remarks, f"{parsed.unit.name}, {parsed.unit.refrigerant}, {parsed.unit.expansion}"
    )
    terminal.print_lines(fit_sentence(baseline), "")
    for one in found:
        _print_finding(one, system, parsed.currency)
    safety = refrigerant(parsed.unit.refrigerant).safety_class
    terminal.print_lines(*cautions.cautions(parsed.unit.refrigerant, safety))


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
