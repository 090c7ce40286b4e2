"""`coiltoll study laboratory`: errors of the model on the published tests of one unit."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from dashboard.commands.options import JsonOption

if TYPE_CHECKING:
    from calibration.studies.laboratory import LaboratoryStudy

TestsOption = Annotated[
    str, typer.Option("--fit", help="Numbers of the published tests to fit to, separated by commas.")
]


def laboratory(fit: TestsOption = "5", as_json: JsonOption = False) -> None:
    """Fit the model to some published tests of one unit and print its errors on all of them.

    The tests are the fault-free cooling tests of NISTIR 7350 (2006). The root mean square leaves out the
    tests that were fitted.
    """
    from calibration.studies.laboratory import QUANTITIES, laboratory_study
    from dashboard.commands import terminal

    try:
        numbers = [int(word) for word in fit.split(",")]
    except ValueError:
        raise ValueError(f"--fit is {fit!r}; numbers of tests separated by commas are expected") from None
    study = laboratory_study(numbers)
    if as_json:
        terminal.print_json(_json(study))
        return
    headings = ["predicted minus measured"]
    headings += [
        quantity.name.replace("_", " ") + (f" [{quantity.unit}]" if quantity.unit else "")
        for quantity in QUANTITIES
    ]
    terminal.print_table("NISTIR 7350 (2006), fault-free cooling tests", headings, _rows(study))
    terminal.print_lines(
        "The source's two capacity measurements disagree by -2.6 to +4.3 %: no comparison can be closer.",
        "Every root mean square meets its requirement."
        if study.met
        else "Not every root mean square meets its requirement.",
    )


def _json(study: "LaboratoryStudy") -> dict[str, Any]:
    from calibration.studies.laboratory import QUANTITIES

    return {
        "fitted": list(study.fitted),
        "tests": {
            test: {
                **{name: round(float(error[place]), 6) for name, error in study.errors.items()},
                "state": study.states[place],
            }
            for place, test in enumerate(study.tests)
        },
        "root_mean_square": {name: round(value, 6) for name, value in study.root_mean_square.items()},
        "wanted": {quantity.name: quantity.wanted for quantity in QUANTITIES},
        "met": study.met,
    }


def _rows(study: "LaboratoryStudy") -> list[list[str]]:
    """A row a test, then the root mean square, then what is required."""
    from calibration.studies.laboratory import QUANTITIES

    digits = {quantity.name: 2 if quantity.unit else 3 for quantity in QUANTITIES}
    errors, together = study.errors, study.root_mean_square
    return [
        *(
            [
                test + (" (fitted)" if test in study.fitted else ""),
                *(f"{errors[name][place]:+.{places}f}" for name, places in digits.items()),
            ]
            for place, test in enumerate(study.tests)
        ),
        [
            "root mean square of the others",
            *(f"{together[name]:.{places}f}" for name, places in digits.items()),
        ],
        ["required, at most", *(f"{quantity.wanted:g}" for quantity in QUANTITIES)],
    ]
