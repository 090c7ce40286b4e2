"""`coiltoll heating CASE`: what a fouled outdoor coil costs a heat pump while it heats."""

from typing import Annotated

import typer

from dashboard.commands.options import CaseArgument, JsonOption, UnitsOption

USUAL_SHARES = ("0,20,40,60",)  # blocked share of the face [%]

OutdoorOption = Annotated[
    list[float] | None,
    typer.Option(
        "--outdoor-db",
        metavar="TEMPERATURE",
        help="Outdoor dry bulb; may be repeated.  [default: the standard's 47, 35 and 17 degF]",
        show_default=False,
    ),
]
HumidityOption = Annotated[
    float | None,
    typer.Option(
        "--outdoor-rh",
        metavar="PERCENT",
        min=5.0,
        max=100.0,
        help="Outdoor relative humidity.  [default: that of the standard's heating tests, 70 to 82]",
        show_default=False,
    ),
]
SharesOption = Annotated[
    list[str] | None,
    typer.Option(
        "--blocked",
        metavar="PERCENT",
        help="Shares of the outdoor coil's face blocked, such as 30 or 10,30,50.  [default: 0,20,40,60]",
        show_default=False,
    ),
]


def heating(
    case: CaseArgument,
    outdoor_db: OutdoorOption = None,
    outdoor_rh: HumidityOption = None,
    blocked: SharesOption = None,
    as_json: JsonOption = False,
    units: UnitsOption = None,
) -> None:
    """Heating capacity, power and COP of a heat pump by blocked share of its outdoor coil, frost included.

    The cooling fit is turned round: the indoor coil condenses, the outdoor coil evaporates. The nameplate's
    heating capacity and COP at 47 and 17 degF and clean visits in heating are fitted. Frost and defrost
    follow AHRI 210/240 at 35 degF and the frost that the coil gathers in other weather. Needs
    heat_pump = true and rated_heating_capacity under [unit].
    """
    import numpy as np

    from calibration.case.file import read_case
    from calibration.clean_fit.baseline import baseline_of
    from calibration.heating.heating_fit import heating_fit_of, require_heating
    from calibration.heating.heating_losses import TEST_OUTDOOR, heating_losses
    from calibration.heating.heating_readings import usual_humidity
    from dashboard.commands import arguments, terminal
    from dashboard.results import cautions
    from dashboard.results.clean_fit import fit_sentence
    from dashboard.results.heating.heating_points import FROST_GROUND, heating_json, loss_tables, rating_rows
    from model.properties import moist_air
    from model.properties.refrigerant import refrigerant

    parsed = read_case(case)
    system = units.value if units else parsed.units
    shares = np.array(arguments.shares("--blocked", blocked or USUAL_SHARES))
    outdoor = np.array(TEST_OUTDOOR)
    if outdoor_db:
        outdoor = np.array([arguments.winter_outdoor(one, system) for one in outdoor_db])
    pressure = parsed.unit.ambient_pressure
    humidity = (
        usual_humidity(outdoor, pressure)
        if outdoor_rh is None
        else moist_air.humidity_ratio_from_relative_humidity(outdoor, outdoor_rh / 100.0, pressure)
    )
    require_heating(parsed.unit)
    baseline = baseline_of(parsed)
    fit = heating_fit_of(parsed, baseline)
    losses = heating_losses(fit, outdoor, humidity, shares, pressure)
    if as_json:
        terminal.print_json({"unit": parsed.unit.name, "units": system, **heating_json(fit, losses, system)})
        return
    terminal.print_lines(f"{parsed.unit.name} in heating. {fit_sentence(baseline)}", "")
    rows = [(rated.label, rated.unit, rated.text, fitted.text) for rated, fitted in rating_rows(fit, system)]
    terminal.print_table("Nameplate in heating", ("", "unit", "rated", "fitted"), rows)
    for heading, columns in loss_tables(losses, system):
        terminal.print_figures(heading, columns, intervals=len(columns) <= 2)
    terminal.print_lines(FROST_GROUND, "")
    safety = refrigerant(parsed.unit.refrigerant).safety_class
    terminal.print_lines(*cautions.cautions(parsed.unit.refrigerant, safety))
