"""`coiltoll match CASE`: which fault the readings of a visit match."""

from typing import TYPE_CHECKING, Annotated

import typer

from dashboard.commands.options import CaseArgument, JsonOption, UnitsOption

if TYPE_CHECKING:
    from calibration.case.units import System
    from calibration.diagnosis.match import Match

VisitOption = Annotated[
    str | None, typer.Option("--visit", help="Label of the visit to explain. [default: every as-found visit]")
]
PairsOption = Annotated[
    bool, typer.Option("--pairs", help="Consider plausible pairs of faults too (takes longer).")
]


def match(
    case: CaseArgument,
    visit: VisitOption = None,
    pairs: PairsOption = False,
    as_json: JsonOption = False,
    units: UnitsOption = None,
) -> None:
    """Probabilities of faults for the readings of a visit.

    The probabilities of every single fault, of no fault and of none of these add up to 1. Also printed: level
    and cost of the most probable faults, every reading beside the one expected of each, the readings that
    decide, the most informative next readings, and the cost of a wrong decision either way.
    """
    from calibration.case.file import read_case
    from calibration.clean_fit.baseline import baseline_of
    from calibration.diagnosis.match import match_visit
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
    found = [match_visit(parsed, one, baseline=baseline, pairs=pairs) for one in chosen]
    if as_json:
        matches = [match_json(one, system, parsed.currency) for one in found]
        terminal.print_json({"unit": parsed.unit.name, "units": system, "matches": matches})
        return
    terminal.print_lines(
        *parsed.remarks, f"{parsed.unit.name}, {parsed.unit.refrigerant}, {parsed.unit.expansion}"
    )
    terminal.print_lines(fit_sentence(baseline), "")
    for one in found:
        _print_match(one, system, parsed.currency)
    safety = refrigerant(parsed.unit.refrigerant).safety_class
    terminal.print_lines(*cautions.cautions(parsed.unit.refrigerant, safety))


def _print_match(found: "Match", system: "System", currency: str) -> None:
    from calibration.diagnosis.hypotheses import in_a_sentence
    from dashboard.commands import terminal
    from dashboard.results.match import (
        all_sentences,
        expected_table,
        level_figures,
        probability_rows,
        suggestion_rows,
        told_faults,
        toll_figures,
    )

    rows = [list(row) for row in probability_rows(found)]
    terminal.print_table(found.visit.label, ["", "probability [%]", "before any reading [%]"], rows)
    terminal.print_lines(*all_sentences(found, system, currency), "")
    terminal.print_table("Expected beside measured", *expected_table(found, system))
    for one in told_faults(found):
        figures = [
            ("today", [*level_figures(one, system), *toll_figures(one.today, system)]),
            ("design weather", toll_figures(one.design, system)),
        ]
        terminal.print_figures(f"If it is {in_a_sentence(one.name)}", figures)
    if found.suggestions:
        suggested = [list(row) for row in suggestion_rows(found, system)]
        terminal.print_table("Most informative next readings", ["", "uncertainty removed [%]"], suggested)
