"""`coiltoll study published`: the model beside published figures and the charging rule."""

from typing import TYPE_CHECKING

from dashboard.commands.options import JsonOption

if TYPE_CHECKING:
    from calibration.studies.published import PublishedStudy


def published(as_json: JsonOption = False) -> None:
    """Compare the model with published figures that it was not fitted to.

    Superheat of fixed-orifice units beside the charging rule, from the nameplate and after one clean visit;
    the cost of wrong charge beside reported tests; low charge on a valve beside NIST TN 1848; head and
    suction from one test of NISTIR 7350 to another.
    """
    from dataclasses import asdict

    from calibration.studies.published import published_study
    from dashboard.commands import terminal

    study = published_study()
    if as_json:
        terminal.print_json({**asdict(study), "low_charge_error": study.low_charge_error})
        return
    _print_charging(study)
    _print_weather(study)


def _print_charging(study: "PublishedStudy") -> None:
    from calibration.studies.published import ORIFICE_CHARGES, ORIFICE_REPORTED
    from dashboard.commands import terminal
    from dashboard.results.figures import signed

    terminal.print_table(
        "Superheat of fixed-orifice units less that of the charging rule",
        ["", "cells", "root mean square [degF]", "mean [degF]", "slope over the rule's", "in the 90 % range"],
        [
            [
                f"{one.refrigerant}, {one.fitted_to}", str(one.cells), f"{1.8 * one.error:.1f}",
                signed(1.8 * one.mean, 1), f"{one.slope:.2f}", f"{100 * one.coverage:.0f} %",
            ]
            for one in study.charging
        ],
    )  # fmt: skip
    terminal.print_table(
        "Change of EER with the charge of fixed-orifice units [%]",
        ["charge", *study.orifice_eer, "reported"],
        [
            [
                f"{100 * change:+.0f} %",
                *(signed(row[place], 1) for row in study.orifice_eer.values()),
                ORIFICE_REPORTED[place],
            ]
            for place, change in enumerate(ORIFICE_CHARGES)
        ],
    )


def _print_weather(study: "PublishedStudy") -> None:
    from dashboard.commands import terminal
    from dashboard.results.figures import signed

    terminal.print_table(
        "Change from one test of NISTIR 7350 to another [K]",
        ["", "tests", "weather", "predicted", "measured"],
        [
            [
                one.quantity, f"{one.tests[0]} to {one.tests[1]}", signed(one.shift, 2),
                signed(one.predicted, 2), signed(one.measured, 2),
            ]
            for one in study.following
        ],
    )  # fmt: skip
    terminal.print_lines(
        "Low charge on a valve, nine points of NIST TN 1848: "
        f"{study.low_charge_error:.2f} points of capacity, root mean square."
    )
