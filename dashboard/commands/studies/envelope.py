"""`coiltoll study envelope`: whether the solver converges over the operating envelope."""

from typing import TYPE_CHECKING, Annotated, Any

import typer

from dashboard.commands.options import JsonOption

if TYPE_CHECKING:
    from collections.abc import Sequence

    from calibration.studies.envelope import EnvelopeOutcomes

PointsOption = Annotated[
    int, typer.Option("--points", min=1, help="Points to draw for each refrigerant and expansion device.")
]
RefrigerantsOption = Annotated[
    str, typer.Option("--refrigerants", help="Names separated by commas, or `all`.")
]


def envelope(
    points: PointsOption = 100_000,
    refrigerants: RefrigerantsOption = "R410A,R454B,R22",
    as_json: JsonOption = False,
) -> None:
    """Draw points over the operating envelope, solve them, and print how many converged.

    Weather, altitude, size, airflows and charge are drawn evenly within wide limits. Every point must either
    converge or end in a named limit state, with all balances closed. A hundred thousand points take a few
    seconds for each refrigerant and expansion device.
    """
    from calibration.studies.envelope import AXES, SHARE_WANTED, envelope_study
    from dashboard.commands import terminal
    from model.cycle.operating_point import CONVERGED
    from model.properties.refrigerant import KNOWN_REFRIGERANTS

    every = refrigerants.strip().lower() == "all"
    names = KNOWN_REFRIGERANTS if every else [word.strip() for word in refrigerants.split(",")]
    with terminal.progress("solving points") as progress:
        study = envelope_study(points, names, progress=progress)
    met = all(outcomes.met for outcomes in study)
    if as_json:
        terminal.print_json({**_json(study), "met": met})
        return
    headings = ["points", *(f"{outcomes.refrigerant} {outcomes.expansion}" for outcomes in study)]
    terminal.print_table(
        f"{points:,} points for each refrigerant and expansion device", headings, _rows(study)
    )
    drawn = "; ".join(f"{a.name} {a.low:g} to {a.high:g} {a.unit}".replace(" -", "") for a in AXES)
    terminal.print_lines(
        f"Drawn: {drawn}.",
        "A point at a pressure limit is the one at which the switch opens. The coil temperature is still "
        "changing there, so its balance is not counted.",
        f"All points converged or ended in a named limit state. At least {SHARE_WANTED:.1%} of those without "
        f"a limit converged, every number is finite and every balance closes within {CONVERGED:g}."
        if met
        else "The requirements are not all met.",
    )


def _json(study: "Sequence[EnvelopeOutcomes]") -> dict[str, Any]:
    from calibration.studies.envelope import AXES

    return {
        "drawn_between": {f"{axis.name} [{axis.unit}]": [axis.low, axis.high] for axis in AXES},
        "outcomes": [
            {
                **vars(outcomes),
                "points": outcomes.points,
                "answered": outcomes.answered,
                "converged_without_limit": outcomes.converged_without_limit,
            }
            for outcomes in study
        ],
    }


def _rows(study: "Sequence[EnvelopeOutcomes]") -> list[list[str]]:
    from model.cycle.solve import STATES

    return [
        *([state, *(f"{outcomes.counts[state]:,}" for outcomes in study)] for state in STATES),
        ["converged or named", *(f"{outcomes.answered:.3%}" for outcomes in study)],
        ["converged of those without a limit", *(f"{o.converged_without_limit:.3%}" for o in study)],
        ["with a number that is not finite", *(str(outcomes.not_finite) for outcomes in study)],
        ["largest imbalance of flow, charge, heat", *(f"{outcomes.residual:.0e}" for outcomes in study)],
        ["  of the first law", *(f"{outcomes.first_law:.0e}" for outcomes in study)],
        ["  of indoor air and refrigerant", *(f"{outcomes.indoor_air:.0e}" for outcomes in study)],
        ["  of outdoor air and refrigerant", *(f"{outcomes.outdoor_air:.0e}" for outcomes in study)],
    ]
