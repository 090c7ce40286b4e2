"""`coiltoll compare CASE`: as-found visits beside the clean unit in the same weather."""

from typing import TYPE_CHECKING, Annotated

import typer

from dashboard.commands.options import CaseArgument, JsonOption, UnitsOption

if TYPE_CHECKING:
    from calibration.case.records import Case, Visit
    from calibration.case.units import System
    from calibration.diagnosis.comparison import Comparison

VisitOption = Annotated[
    str | None, typer.Option("--visit", help="Label of the visit to compare. [default: every as-found visit]")
]


def compare(
    case: CaseArgument, visit: VisitOption = None, as_json: JsonOption = False, units: UnitsOption = None
) -> None:
    """As-found visits beside the clean unit in the same weather, and the best-fit fouling.

    Prints measured figures with 90 % ranges, figures expected of the clean unit in the same weather, figures
    at the best-fit blocked face area of the condenser, and the losses.
    """
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
    from dashboard.results.comparison import comparison_columns, loss_figures, reading_rows, sentences
    from dashboard.results.figures import signed

    terminal.print_figures(one.visit.label, comparison_columns(one, system))
    terminal.print_table(
        "Readings",
        ["", "measured", "clean", "with fouling", "measured minus clean [standard errors]"],
        [
            [
                measured.heading.replace(measured.label, words),
                measured.text,
                clean.text,
                fouled.text,
                signed(score, 1),
            ]
            for words, measured, clean, fouled, score in reading_rows(one, system)
        ],
    )
    terminal.print_figures("Loss to fouling in this weather", [("", loss_figures(one, system))])
    terminal.print_lines(*sentences(one), "")


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
