"""`coiltoll interval CASE`: when to clean, and whether it is worth it."""

from typing import Annotated

import typer

from dashboard.commands.season import DrawsOption, TodayOption
from dashboard.options import CaseArgument, JsonOption, UnitsOption

YearsOption = Annotated[
    int, typer.Option("--years", min=1, max=40, help="Years that the unit is to serve yet.")
]


def interval(
    case: CaseArgument,
    today: TodayOption = None,
    years: YearsOption = 10,
    draws: DrawsOption = 200,
    as_json: JsonOption = False,
    units: UnitsOption = None,
) -> None:
    """When to clean: now, on a date, after measuring, or not at all; and how often from then on.

    The interval and the dates that cost least, what the rules that people follow cost instead, the condition
    to watch, the prices at which a cleaning breaks even, and how the advice moves with what is not known.
    """
    from calibration.case.file import read_case
    from calibration.clean_fit.baseline import baseline_of
    from calibration.costs.cleaning_interval import interval_findings
    from dashboard import advice, cautions, fitted, text
    from model.properties.refrigerant import refrigerant

    told = read_case(case)
    system = units.value if units else told.units
    baseline = baseline_of(told)
    with text.progress("Pricing cleanings") as tell:
        found = interval_findings(told, baseline, today.date() if today else None, years, tell, draws)
    if as_json:
        text.print_json({"unit": told.unit.name, "units": system, **advice.interval_json(found, system)})
        return
    text.print_lines(*told.remarks, f"{told.unit.name}, {told.unit.refrigerant}, {told.unit.expansion}")
    text.print_lines(fitted.fit_sentence(baseline), "")
    advised = advice.advice(found)
    text.print_lines(advised.headline, *advised.reasons, advised.measuring)
    text.print_lines(advice.watch_sentence(found, system), "")
    text.print_figures("When to clean", [("", advice.interval_figures(found))])
    text.print_table("Cleaned by other rules", *advice.rule_table(found))
    text.print_table("Condensing temperature over outdoor air", *advice.watch_table(found, system))
    text.print_table("How the advice moves", *advice.swing_table(found))
    text.print_lines(*advice.ground_sentences(found), "")
    safety = refrigerant(told.unit.refrigerant).safety_class
    text.print_lines(*cautions.cautions(told.unit.refrigerant, safety))
