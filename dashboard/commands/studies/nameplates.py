"""`coiltoll study nameplates`: what units of the same nameplate learn from one another."""

from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated

import typer

from dashboard.commands.options import JsonOption

if TYPE_CHECKING:
    from calibration.studies.nameplates import NameplateFleet, Score

NameplatesOption = Annotated[
    int, typer.Option("--nameplates", min=1, max=100, help="Nameplates of each fleet, five units each.")
]
ShareOption = Annotated[
    list[float],
    typer.Option(
        "--share",
        min=0.0,
        max=1.0,
        help="What units of one nameplate have in common, of the variance of each number; a fleet for each.",
    ),
]
SeedOption = Annotated[int, typer.Option("--seed", min=0, help="Seed of the random draws.")]

FIGURES = {
    "net_capacity": ("clean capacity", "%"),
    "eer": ("clean EER", "%"),
    "condensing_temperature": ("clean condensing temperature", "K"),
    "subcooling": ("clean subcooling", "K"),
    "level": ("blocked share found", "%"),
    "eer_lost": ("EER lost", "%"),
}
"""Figures that are printed, by how the study names them, and their units; % of EER lost and blocked share are
points."""
HEADINGS = (
    "units",
    "figure",
    "error alone",
    "pooled",
    "90 % range alone",
    "pooled",
    "contains alone",
    "pooled",
)


def nameplates(
    nameplates: NameplatesOption = 8,
    share: ShareOption = [0.0, 0.5, 0.9],  # noqa: B006
    seed: SeedOption = 20_261_201,
    as_json: JsonOption = False,
) -> None:
    """Errors of the clean unit and of the finding, with and without other units of the same nameplate.

    Invented fleets whose units have a known share in common, some known by their nameplate alone, some read
    clean once, a few with a wrong nameplate. Compared with the truth: each unit alone, and with what the
    others of its nameplate show.
    """
    from calibration.studies.nameplates import nameplate_study
    from dashboard.commands import terminal

    with terminal.progress("Pooling equal nameplates") as advance:
        found = nameplate_study(nameplates, share, seed, advance)
    if as_json:
        terminal.print_json({"fleets": [asdict(one) for one in found]})
        return
    for one in found:
        title = f"Units of a nameplate with {100 * one.share:.0f} % of the variance in common"
        terminal.print_table(title, HEADINGS, _rows(one))
        terminal.print_lines(
            f"Taken for {100 * one.found_share:.0f} %. Of {one.odd} odd units that were read clean"
            f" {one.odd_found} were taken for such, and {one.wrongly_odd} others.",
            "",
        )
    terminal.print_lines(
        "Error: root mean square. 90 % range: mean width. Contains: share of ranges with the true value."
    )


def _rows(one: "NameplateFleet") -> list[tuple[str, ...]]:
    return [
        (f"{scores[name].units} {kind}" if place == 0 else "", words, *_cells(scores[name], unit))
        for kind, scores in one.scores.items()
        for place, (name, (words, unit)) in enumerate(FIGURES.items())
    ]


def _cells(score: "Score", unit: str) -> list[str]:
    factor = 100.0 if unit == "%" else 1.0
    sizes = (score.alone, score.pooled, score.alone_width, score.pooled_width)
    shares = (score.alone_inside, score.pooled_inside)
    return [*(f"{factor * one:.1f} {unit}" for one in sizes), *(f"{100 * one:.0f} %" for one in shares)]
