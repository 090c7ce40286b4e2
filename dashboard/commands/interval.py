"""`coiltoll interval CASE`: when to clean, and whether it is worth it."""

from typing import TYPE_CHECKING, Annotated

import typer

from dashboard.commands.options import CaseArgument, JsonOption, TablesOption, UnitsOption
from dashboard.commands.season import DrawsOption, TodayOption

if TYPE_CHECKING:
    from calibration.case.records import Case
    from calibration.case.units import System
    from calibration.clean_fit.baseline import Baseline
    from calibration.costs.cleaning_interval import IntervalFindings

YearsOption = Annotated[
    int, typer.Option("--years", min=1, max=40, help="Remaining service life of the unit in years.")
]


def interval(
    case: CaseArgument,
    today: TodayOption = None,
    years: YearsOption = 10,
    draws: DrawsOption = 256,
    as_json: JsonOption = False,
    units: UnitsOption = None,
    output: TablesOption = None,
) -> None:
    """When to clean: now, on a date, after measuring, or not at all; and how often from then on.

    Prints the interval and the dates of least cost, the cost of common cleaning rules, the condition to
    watch, break-even prices, and how the advice changes with each uncertain input.
    """
    from dashboard.commands import terminal

    with terminal.tables_into(output, case, as_json):
        _show(case, today, years, draws, as_json, units)


def _show(
    case: CaseArgument,
    today: TodayOption,
    years: YearsOption,
    draws: DrawsOption,
    as_json: JsonOption,
    units: UnitsOption,
) -> None:
    """Print it."""
    from calibration.case.circuits import circuit_cases
    from calibration.case.file import read_case
    from calibration.clean_fit.baseline import baseline_of
    from calibration.costs.cleaning_interval import interval_findings
    from dashboard.commands import terminal
    from dashboard.results import cautions
    from dashboard.results.costs import cleaning_advice, whole_unit
    from model.properties.refrigerant import refrigerant

    parsed = read_case(case)
    system = units.value if units else parsed.units
    day = today.date() if today else parsed.last_date
    circuits = circuit_cases(parsed)
    baselines = [baseline_of(one) for one in circuits]
    found = []
    with terminal.progress("Pricing cleanings") as advance:
        for one, baseline in zip(circuits, baselines, strict=True):
            found.append(interval_findings(one, baseline, day, years, advance, draws))
    if as_json:
        if len(found) == 1:
            shown = cleaning_advice.interval_json(found[0], system)
        else:
            shown = whole_unit.interval_json(found, system)
        terminal.print_json({"unit": parsed.unit.name, "units": system, **shown})
        return
    terminal.print_lines(*parsed.remarks)
    for one, baseline, interval_found in zip(circuits, baselines, found, strict=True):
        _print_interval(one, baseline, interval_found, system)
    if len(found) > 1:
        terminal.print_lines(f"{parsed.unit.name}: {len(found)} circuits together", "")
        terminal.print_figures("In the long run", [("", whole_unit.upkeep_figures(found))])
        terminal.print_lines(whole_unit.SHARES, "")
    safety = refrigerant(parsed.unit.refrigerant).safety_class
    terminal.print_lines(*cautions.cautions(parsed.unit.refrigerant, safety))


def _print_interval(case: "Case", baseline: "Baseline", found: "IntervalFindings", system: "System") -> None:
    """Tables and sentences of one unit or circuit."""
    from dashboard.commands import terminal
    from dashboard.results.clean_fit import fit_sentence
    from dashboard.results.costs import cleaning_advice, joint_dates, sensitivity
    from dashboard.results.suspect_readings import cost_readings

    terminal.print_lines(f"{case.unit.name}, {case.unit.refrigerant}, {case.unit.expansion}")
    terminal.print_lines(fit_sentence(baseline), "")
    advised = cleaning_advice.advice(found)
    readings, measuring = (
        cost_readings(found.unit.whole_finding),
        [advised.measuring] if advised.measuring else [],
    )
    terminal.print_lines(advised.headline, *readings, *advised.reasons, *measuring)
    watch = cleaning_advice.watch_sentence(found, system)
    terminal.print_lines(*(one for one in [watch, *found.inputs.warnings] if one), "")
    supposed = "If it were fouling: when to clean" if found.unit.if_fouled else "When to clean"
    terminal.print_figures(supposed, [("", cleaning_advice.interval_figures(found))])
    if found.joint is not None:
        terminal.print_lines(*joint_dates.joint_sentences(found), "")
        terminal.print_table("Condenser, indoor coil and filter", *joint_dates.joint_table(found))
    terminal.print_table("Cleaned by other rules", *cleaning_advice.rule_table(found))
    if not found.unit.if_fouled:
        watched = cleaning_advice.watch_table(found, system)
        terminal.print_table("Condensing temperature over outdoor air", *watched)
    terminal.print_table("How the advice moves", *sensitivity.swing_table(found))
    grounds = [*cleaning_advice.ground_sentences(found), *joint_dates.joint_grounds(found)]
    terminal.print_lines(*grounds, "")
