"""`coiltoll study fleet`: an invented fleet with known truth, as a table to try `coiltoll fleet` on."""

from pathlib import Path
from typing import Annotated

import typer

from dashboard.commands.options import JsonOption

UnitsOption = Annotated[int, typer.Option("--units", min=1, max=20_000, help="How many units to invent.")]
OutOption = Annotated[
    Path,
    typer.Option(
        "-o", "--output", metavar="FILE", help="The table: .csv; the truth beside it.", show_default=False
    ),
]
SeedOption = Annotated[int, typer.Option("--seed", min=0, help="Seed of the random draws.")]


def fleet(
    output: OutOption, units: UnitsOption = 40, seed: SeedOption = 20_261_129, as_json: JsonOption = False
) -> None:
    """Write the visits of an invented fleet, and beside them what is really wrong with each unit.

    Sites in four sorts of surroundings, units of a few makes, a clean visit and one as found of each, with
    meter errors. Nobody's units: names, prices and every number are made up. The truth goes to a second
    file, which no other command reads.
    """
    from calibration.files.atomic_file import write_whole
    from calibration.studies.invented_fleet import invented_fleet, table_of, truth_of
    from dashboard.commands import arguments, terminal

    if output.suffix.lower() != ".csv":
        raise ValueError(f"-o: is {output}; a file ending in .csv is expected")
    truth = output.with_name(f"{output.stem}-truth.csv")
    for path in (output, truth):
        arguments.check_output(path)
    with terminal.progress(f"Inventing {units} units") as advance:
        made = invented_fleet(units, seed, advance)
    write_whole(output, table_of(made).encode("utf-8"))
    write_whole(truth, truth_of(made).encode("utf-8"))
    sites = len({one.site for one in made})
    if as_json:
        terminal.print_json(
            {
                "written": str(output),
                "truth": str(truth),
                "units": len(made),
                "sites": sites,
                "invented": True,
            }
        )
        return
    terminal.print_lines(
        f"{output}: visits of {len(made)} invented units at {sites} sites",
        f"{truth}: what is really wrong with each of them",
    )
