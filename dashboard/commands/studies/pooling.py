"""`coiltoll study pooling`: what units of a fleet learn from one another about how fast they foul."""

from dataclasses import asdict
from typing import Annotated

import typer

from dashboard.commands.options import JsonOption

FleetsOption = Annotated[int, typer.Option("--fleets", min=1, max=1000, help="How many fleets to invent.")]
UnitsOption = Annotated[int, typer.Option("--units", min=2, max=2000, help="Units of each.")]
SeedOption = Annotated[int, typer.Option("--seed", min=0, help="Seed of the random draws.")]


def pooling(
    fleets: FleetsOption = 10,
    units: UnitsOption = 100,
    seed: SeedOption = 20_261_130,
    as_json: JsonOption = False,
) -> None:
    """Errors of growth rates with and without what other units of the fleet show.

    Invented fleets with known rates by surroundings, site and unit, a few units far off. Compared with the
    truth: each unit's own level alone, weighed with the published span of rates, and pooled; units that were
    never read, at sites that have others; and the odd units.
    """
    from calibration.studies.pooling import pooling_study
    from dashboard.commands import terminal

    with terminal.progress("Pooling invented fleets") as advance:
        found = pooling_study(fleets, units, seed, advance)
    if as_json:
        terminal.print_json({name: round(value, 6) for name, value in asdict(found).items()})
        return
    rows = [
        (f"{found.units} usual units", f"{found.own:.2f}", f"{found.published:.2f}", f"{found.pooled:.2f}"),
        (f"{found.new} units never read", "", f"{found.new_published:.2f}", f"{found.new_pooled:.2f}"),
        (
            f"{found.odd} odd units, clearly read",
            f"{found.odd_own:.2f}",
            f"{found.odd_published:.2f}",
            f"{found.odd_pooled:.2f}",
        ),
        (
            f"{found.faint} odd units, hardly fouled yet",
            f"{found.faint_own:.2f}",
            f"{found.faint_published:.2f}",
            f"{found.faint_pooled:.2f}",
        ),
    ]
    headings = ("", "own level alone", "with the published span", "pooled")
    terminal.print_table("Root mean square error of the logarithm of the growth rate", headings, rows)
    terminal.print_lines(
        f"The pooled 90 % range contains the true rate of {100 * found.inside:.0f} % of usual units."
    )
