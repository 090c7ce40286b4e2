"""`coiltoll compare CASE`: as-found visits beside the clean unit in the same weather."""

from typing import TYPE_CHECKING, Annotated

import typer

from dashboard.commands.options import CaseArgument, JsonOption, TablesOption, UnitsOption

if TYPE_CHECKING:
    from calibration.case.records import Case, Visit
    from calibration.case.units import System
    from calibration.diagnosis.comparison import Comparison

VisitOption = Annotated[
    str | None, typer.Option("--visit", help="Label of the visit to compare. [default: every as-found visit]")
]


def compare(
    case: CaseArgument,
    visit: VisitOption = None,
    as_json: JsonOption = False,
    units: UnitsOption = None,
    output: TablesOption = None,
) -> None:
    """As-found visits beside the clean unit at the same weather: what the readings point to, and the loss.

    Measured figures with their 90 % ranges, what the clean unit would show at this weather, and what it would
    show with the blocked share of the condenser's face that the readings support; suspect readings beside
    what the others support. Level and loss are those of `coiltoll match`.
    """
    from dashboard.commands import terminal

    with terminal.tables_into(output, case, as_json):
        _show(case, visit, as_json, units)


def _show(case: CaseArgument, visit: VisitOption, as_json: JsonOption, units: UnitsOption) -> None:
    """Print it."""
    from calibration.case.file import read_case
    from calibration.clean_fit.baseline import baseline_of
    from calibration.diagnosis.comparison import compare_visit
    from dashboard.commands import terminal
    from dashboard.results import cautions
    from dashboard.results.clean_fit import fit_sentence
    from dashboard.results.comparison import comparison_json
    from model.properties.refrigerant import refrigerant

    parsed = read_case(case)
    system = units.value if units else parsed.units
    chosen = chosen_visits(parsed, visit, str(case))
    baseline = baseline_of(parsed)
    comparisons = [compare_visit(parsed, one, baseline) for one in chosen]
    if as_json:
        terminal.print_json(
            {
                "unit": parsed.unit.name,
                "units": system,
                "clean_visits": list(baseline.visits),
                "comparisons": [comparison_json(one, system) for one in comparisons],
            }
        )
        return
    terminal.print_lines(
        *parsed.remarks, f"{parsed.unit.name}, {parsed.unit.refrigerant}, {parsed.unit.expansion}"
    )
    terminal.print_lines(fit_sentence(baseline), "")
    for one in comparisons:
        _print(one, system)
    safety = refrigerant(parsed.unit.refrigerant).safety_class
    terminal.print_lines(*cautions.cautions(parsed.unit.refrigerant, safety))


def _print(one: "Comparison", system: "System") -> None:
    """Figures, readings, losses and sentences of one visit."""
    from dashboard.commands import terminal
    from dashboard.results import comparison as compared
    from dashboard.results.figures import signed

    terminal.print_figures(one.visit.label, compared.comparison_columns(one, system))
    terminal.print_table(
        "Readings",
        ["", "measured", "clean", compared.nearest_heading(one), "measured less clean [standard errors]"],
        [
            [
                measured.heading.replace(measured.label, words),
                measured.cell,
                clean.text,
                fault.text,
                signed(score, 1),
            ]
            for words, measured, clean, fault, score in compared.reading_rows(one, system)
        ],
    )
    terminal.print_figures("Level", [("", compared.level_figures(one))])
    terminal.print_figures("Loss in this weather", [("", compared.loss_figures(one, system))])
    terminal.print_lines(*compared.sentences(one, system), "")


def chosen_visits(case: "Case", label: str | None, name: str) -> "list[Visit]":
    """The named visit, or every as-found one.

    Raises
    ------
    ValueError
        Where there is none.
    """
    if label is not None:
        try:
            return [case.visit(label)]
        except KeyError as problem:
            raise ValueError(f"--visit: {problem.args[0]}") from None
    if not case.found_visits:
        raise ValueError(
            f'{name}: has no visit with coil = "as found"; at least one is expected, or --visit LABEL'
        )
    return list(case.found_visits)
