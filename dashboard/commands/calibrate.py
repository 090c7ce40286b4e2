"""`coiltoll calibrate CASE`: the clean unit that the clean visits and the nameplate describe."""

from dashboard.commands.options import CaseArgument, JsonOption, TablesOption, UnitsOption


def calibrate(
    case: CaseArgument,
    as_json: JsonOption = False,
    units: UnitsOption = None,
    output: TablesOption = None,
) -> None:
    """Clean-coil fit of the unit.

    Prints each fitted parameter over that of a typical unit with this nameplate, with its 90 % range; every
    clean reading beside the fit; and the clean unit at the rating conditions. Without a clean visit the fit
    rests on the nameplate alone.
    """
    from dashboard.commands import terminal

    with terminal.tables_into(output, case, as_json):
        _show(case, as_json, units)


def _show(case: CaseArgument, as_json: JsonOption, units: UnitsOption) -> None:
    """Print it."""
    from calibration.case.file import read_case
    from calibration.clean_fit.baseline import baseline_of
    from dashboard.commands import terminal
    from dashboard.results.clean_fit import (
        fit_sentence,
        fitted_json,
        parameter_rows,
        rating_figures,
        residual_rows,
    )
    from dashboard.results.figures import signed

    parsed = read_case(case)
    system = units.value if units else parsed.units
    baseline = baseline_of(parsed)
    if as_json:
        terminal.print_json(fitted_json(parsed, baseline, system))
        return
    terminal.print_lines(
        *parsed.remarks, f"{parsed.unit.name}, {parsed.unit.refrigerant}, {parsed.unit.expansion}"
    )
    terminal.print_lines(fit_sentence(baseline), "")
    if baseline.residuals:
        terminal.print_table(
            "Readings beside the fit",
            ["reading", "visit", "measured", "fitted", "standard errors"],
            [
                [f"{words} [{measured.unit}]", visit, measured.text, fit.text, signed(score, 2)]
                for visit, words, measured, fit, score in residual_rows(baseline, system)
            ],
        )
    terminal.print_table(
        "Fitted parameters, over those of a typical unit with this nameplate",
        ["", "fitted", "90 % range", "narrowed by the visits"],
        [list(row) for row in parameter_rows(baseline)],
    )
    terminal.print_figures(
        "Clean unit at the rating conditions", [("expected", rating_figures(parsed, baseline, system))]
    )
