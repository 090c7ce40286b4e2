"""`coiltoll study pooling`: what units of a fleet learn from one another about how fast they foul."""

from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated

import typer

from dashboard.commands.options import JsonOption

if TYPE_CHECKING:
    from calibration.studies.pooling import PoolingStudy

FleetsOption = Annotated[int, typer.Option("--fleets", min=1, max=1000, help="How many fleets to invent.")]
UnitsOption = Annotated[int, typer.Option("--units", min=2, max=2000, help="Units of each.")]
SeedOption = Annotated[int, typer.Option("--seed", min=0, help="Seed of the random draws.")]

WAYS = {
    "own": "own level alone",
    "published": "with the published span",
    "pooled": "pooled",
    "best": "best possible",
}
"""Estimates, by how the study names them."""


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
    kinds = (
        ("", f"{found.units} usual units"),
        ("new_", f"{found.new} units never read"),
        ("odd_", f"{found.odd} odd units, clearly read"),
        ("faint_", f"{found.faint} odd units, hardly fouled yet"),
        ("odd_read_", "all odd units that were read"),
    )
    rows = [(words, *(_error(found, kind, way) for way in WAYS)) for kind, words in kinds]
    headings = ("", *WAYS.values())
    terminal.print_table("Root mean square error of the logarithm of the growth rate", headings, rows)
    terminal.print_lines(
        "Best possible: the least error over all units, by one who knows how the fleet was drawn.",
        f"The pooled 90 % range contains the true rate of {100 * found.inside:.0f} % of usual units.",
    )


def _error(found: "PoolingStudy", kind: str, way: str) -> str:
    """Error of one estimate for units of one kind; empty where there is none."""
    value = getattr(found, f"{kind}{way}", None)
    return "" if value is None else f"{value:.2f}"
