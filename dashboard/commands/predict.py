"""`coiltoll predict CASE`: what fouling does to this unit."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dashboard.commands.options import CaseArgument, JsonOption, UnitsOption

if TYPE_CHECKING:
    from calibration.case.records import Case
    from calibration.case.units import System
    from dashboard.results.prediction import ChosenWeather, Level

USUAL_LEVELS = ("0,10,20,30,40,50,60",)  # blocked share of the face [%]

BlockedOption = Annotated[
    list[str] | None,
    typer.Option(
        "--blocked",
        metavar="PERCENT",
        help="Shares of the condenser's face blocked, such as 30 or 10,30,50.  [default: 0 to 60 by tens]",
        show_default=False,
    ),
]
FaultOption = Annotated[
    list[str] | None,
    typer.Option(
        "--fault",
        metavar="NAME=NUMBER",
        help="Another fault, such as charge_change=-0.1; may be repeated.",
        show_default=False,
    ),
]
VisitOption = Annotated[
    str | None,
    typer.Option(
        help="Label of the visit whose weather to use.  [default: the last as-found visit, else the last]",
        show_default=False,
    ),
]
TemperatureOption = Annotated[float | None, typer.Option(show_default=False, metavar="TEMPERATURE")]
ConditionsOption = Annotated[
    Path | None,
    typer.Option(
        "--conditions",
        metavar="FILE.csv",
        help="Predict a whole table of operating points.",
        show_default=False,
    ),
]
HeaderOption = Annotated[
    bool,
    typer.Option("--header-units", help="With --conditions: units in brackets behind the names of columns."),
]
OutOption = Annotated[
    Path | None,
    typer.Option("-o", "--output", metavar="OUT.csv", help="Where to write it.", show_default=False),
]


def predict(
    case: CaseArgument,
    blocked: BlockedOption = None,
    fault: FaultOption = None,
    visit: VisitOption = None,
    outdoor_db: TemperatureOption = None,
    return_db: TemperatureOption = None,
    return_wb: TemperatureOption = None,
    conditions: ConditionsOption = None,
    output: OutOption = None,
    header_units: HeaderOption = False,
    as_json: JsonOption = False,
    units: UnitsOption = None,
) -> None:
    """What a blocked condenser face does to this unit, in the weather of a visit or any other.

    Prints pressures, temperatures, capacity, power, EER and COP from the clean-coil fit, each with its 90 %
    range; the change against the clean unit; and where the unit trips on high pressure: the outdoor
    temperature for each blocked share, and the blocked share in this weather. With --conditions it predicts a
    whole table: a CSV with the columns outdoor_db, return_db, one of return_wb, return_rh, return_dewpoint,
    and optional airflow, blower power and faults, in the units of the case.
    """
    from calibration.case.file import read_case
    from calibration.clean_fit.baseline import baseline_of
    from dashboard.commands import terminal
    from dashboard.results import trip
    from dashboard.results.clean_fit import fit_sentence
    from dashboard.results.prediction import fouling_levels, levels_json, weather_of

    parsed = read_case(case)
    system = units.value if units else parsed.units
    if conditions is not None or output is not None:
        _predict_table(parsed, conditions, output, header_units)
        return
    from dashboard.commands import arguments

    asked = {"outdoor_db": outdoor_db, "return_db": return_db, "return_wb": return_wb}
    weather = weather_of(parsed, arguments.visit_or_last(parsed, visit), arguments.settings(asked, system))
    arguments.check_return_air(weather.settings, system)
    shares = arguments.shares("--blocked", blocked or USUAL_LEVELS)
    baseline, others = baseline_of(parsed), arguments.faults(fault or (), system)
    temperatures = trip.trip_temperatures(baseline, weather, shares, system, others)
    share = trip.trip_share(baseline, weather, system, others)
    levels = fouling_levels(baseline, weather, shares, system, others)
    levels = trip.with_trips(levels, temperatures)
    if as_json:
        numbers = levels_json(weather, levels, system)
        terminal.print_json(
            {"unit": parsed.unit.name, **numbers, "trip": trip.trips_json(temperatures, share)}
        )
        return
    terminal.print_lines(f"{parsed.unit.name} at {weather.words}. {fit_sentence(baseline)}", "")
    _print(weather, levels, system)
    terminal.print_lines(share.sentence)


def _print(weather: "ChosenWeather", levels: "list[Level]", system: "System") -> None:
    """Conditions, figures and changes of all levels."""
    from dashboard.commands import terminal
    from dashboard.results.prediction import setting_figures

    terminal.print_figures("Conditions", [("", setting_figures(weather, system))])
    terminal.print_figures(
        "Expected, by blocked share of the condenser's face",
        [(level.heading, level.figures) for level in levels],
        intervals=len(levels) <= 2,
    )
    terminal.print_figures(
        "Change against the clean unit",
        [(level.heading, level.changes) for level in levels],
        intervals=len(levels) <= 4,
    )


def _predict_table(parsed: "Case", conditions: Path | None, output: Path | None, header_units: bool) -> None:
    if conditions is None or output is None:
        raise ValueError("--conditions FILE.csv and -o OUT.csv go together; both are expected")
    from calibration.clean_fit.baseline import baseline_of
    from calibration.clean_fit.conditions_table import predicted_table, read_conditions, write_predictions
    from dashboard.commands import arguments, terminal

    arguments.check_output(output, [conditions], parsed)
    table = read_conditions(conditions, parsed.units)
    ambient = parsed.unit.ambient_pressure
    point = predicted_table(baseline_of(parsed), table, ambient)
    write_predictions(output, table, point, parsed.units, ambient, header_units)
    terminal.print_lines(f"{output}: {len(table.rows)} operating points written")
