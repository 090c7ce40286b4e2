"""Arguments and options that several commands share, so that they read alike everywhere."""

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer


class UnitSystem(StrEnum):
    """Unit systems of case files and screens."""

    US = "US"
    SI = "SI"


CaseArgument = Annotated[Path, typer.Argument(metavar="CASE", help="Case file (TOML).", show_default=False)]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON instead of tables.")]
UnitsOption = Annotated[
    UnitSystem | None,
    typer.Option(
        "--units",
        case_sensitive=False,
        help="Units to show.  [default: those of the case]",
        show_default=False,
    ),
]
TablesOption = Annotated[
    Path | None,
    typer.Option(
        "-o",
        "--output",
        metavar="FILE",
        help="Write the tables to a file, too: .csv or .xlsx.",
        show_default=False,
    ),
]
