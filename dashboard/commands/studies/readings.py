"""`coiltoll study readings`: whether a gross error in one reading is found."""

from typing import Annotated

import typer

from dashboard.commands.options import JsonOption

FoundOption = Annotated[
    bool,
    typer.Option(
        "--as-found", help="Judge the tests as those of a unit that may have any fault (takes longer)."
    ),
]
FieldOption = Annotated[
    bool, typer.Option("--field-meters", help="Assume the documented accuracy of field meters.")
]


def readings(
    as_found: FoundOption = False, field_meters: FieldOption = False, as_json: JsonOption = False
) -> None:
    """Put one gross error at a time into published tests and print which reading is suspect.

    The tests are the fault-free cooling tests of NISTIR 7350 (2006), each judged by the unit as fitted to
    another of them. Errors: pressures 15 psi high, wet bulbs 3 degF high, airflow 20 % low, watts of one leg
    only, pipe probes 8 degF low.
    """
    from calibration.case.meters import Instruments
    from calibration.studies.laboratory import INSTRUMENTS
    from calibration.studies.readings import readings_study
    from dashboard.commands import terminal
    from dashboard.results.studies import reliability

    meters = Instruments() if field_meters else INSTRUMENTS
    with terminal.progress("judging tests") as progress:
        study = readings_study(as_found, meters, progress=progress)
    if as_json:
        terminal.print_json(reliability.readings_json(study))
        return
    terminal.print_table(
        "One gross error at a time", reliability.READINGS_HEADINGS, reliability.readings_rows(study)
    )
    terminal.print_lines(*reliability.readings_sentences(study))
