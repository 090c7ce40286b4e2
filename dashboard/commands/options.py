"""Arguments and options that several commands share, so that they read alike everywhere."""

from contextlib import AbstractContextManager
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
LanguageOption = Annotated[
    Path | None,
    typer.Option(
        "--language",
        metavar="FILE.po",
        help="Language file to write the report in.  [default: US English]",
        show_default=False,
    ),
]


def writing_in(language: Path | None) -> AbstractContextManager[None]:
    """What a report is written in.

    Parameters
    ----------
    language : Path or None
        A language file, which is read here; None for US English.

    Returns
    -------
    context manager
        To make and write the report in.
    """
    from dashboard.texts.language_file import read_language
    from dashboard.texts.translate import ENGLISH, in_language

    return in_language(read_language(language) if language else ENGLISH)
