"""Tables, sentences and JSON on the command line.

Rich is imported on the first table only. Text from case files is printed as it is: nothing in it is read as
markup. Where the output is not a terminal, tables are as wide as they need to be and have no colour.
"""

import json
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from dashboard.results.figures import Figure, merged
from dashboard.results.table_files import Sheet, check_ending, figures_sheet, file_of, text_sheet

if TYPE_CHECKING:
    from rich.console import Console

COLUMN_GAP = 3  # between two columns [characters]
FIRST_COLUMN = 24  # width below which the first column is folded last [characters]
FILE_WIDTH = 160  # width of a table written to a file or a pipe where COLUMNS says nothing else [characters]
Row = list[str]


_kept: list[Sheet] | None = None


@contextmanager
def tables_into(output: Path | None, case: Path, as_json: bool = False) -> Iterator[None]:
    """Write the tables that are printed meanwhile into a file, too, when all are printed.

    Parameters
    ----------
    output : Path or None
        File, typed for -o: .csv or .xlsx; None for none.
    case : Path
        Case file that is read.
    as_json : bool
        Whether JSON is printed instead.

    Raises
    ------
    ValueError
        Before the work, where nothing could be written there.
    """
    global _kept
    if output is None:
        yield
        return
    from calibration.case.file import read_case
    from calibration.files.atomic_file import write_whole
    from dashboard.commands.arguments import check_output

    check_output(output, [case], read_case(case))
    check_ending(output)
    if as_json:
        raise ValueError("-o: writes the tables that are printed; without --json is expected")
    _kept = []
    try:
        yield
        write_whole(output, file_of(_kept, output.suffix.lower()))
        number = len(_kept)
    finally:
        _kept = None
    print_lines(f"{output}: {number} tables written")


def print_json(content: Any) -> None:
    """Print JSON on standard output.

    Parameters
    ----------
    content : JSON-like
        Dictionaries, lists, strings, numbers; a number that is not finite is refused.

    Raises
    ------
    ValueError
        If a number is not finite.
    """
    plain = "utf" not in (sys.stdout.encoding or "utf").lower()  # escapes where letters would be lost
    sys.stdout.write(json.dumps(content, indent=2, ensure_ascii=plain, allow_nan=False) + "\n")


def print_lines(*lines: str) -> None:
    """Print sentences on standard output, folded at the width of the terminal."""
    console = _console()
    for line in lines:
        console.print(harmless(line))


def print_notices(*lines: str) -> None:
    """Print sentences that go with a result on standard error, one a line, as a refusal has them."""
    for line in lines:
        sys.stderr.write(f"coiltoll: {harmless(line)}\n")


def harmless(text: str) -> str:
    r"""Text without characters that would act on a terminal instead of shown; breaks and tabs stay.

    Parameters
    ----------
    text : str
        Any text, such as the header of a file.

    Returns
    -------
    str
        With each such character as its code, such as ``\\x1b``.
    """
    if text.isprintable():
        return text
    from calibration.case.entries import JOINING

    shown = JOINING | {"\n", "\t"}
    return "".join(c if c.isprintable() or c in shown else ascii(c)[1:-1] for c in text)


def print_table(title: str, headings: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print a table: the first column left, all others right.

    Parameters
    ----------
    title : str
        Above the table; empty for none.
    headings : sequence of str
        One for each column.
    rows : sequence of sequences of str
        Cells as they are to be read.
    """
    if _kept is not None:
        _kept.append(text_sheet(title, headings, rows))
    _print_table(title, headings, rows)


def _print_table(title: str, headings: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    from rich import box
    from rich.table import Table

    console = _console()
    # No column is narrower than its longest word, with what a hard space joins to it: a narrow terminal folds
    # cells between words.
    lines = [
        "\n".join([heading, *(row[number] for row in rows)]).split("\n")
        for number, heading in enumerate(headings)
    ]
    whole = [max(map(len, column)) for column in lines]
    longest = [max(len(word) for line in column for word in line.split(" ")) for column in lines]
    for part in _parts(longest, console.width):
        widths = _widths(
            [longest[number] for number in part], [whole[number] for number in part], console.width
        )
        table = Table(
            title=title or None, title_justify="left", box=box.SIMPLE_HEAD, show_edge=False, pad_edge=False
        )
        for number, width in zip(part, widths, strict=True):
            justify: Literal["left", "right"] = "left" if number == 0 else "right"
            table.add_column(headings[number], justify=justify, overflow="fold", width=width)
        for row in rows:
            table.add_row(*(harmless(row[number]) for number in part))
        console.print(table)
        console.print()


def _parts(longest: Sequence[int], width: int) -> list[list[int]]:
    """Columns that fit beside each other, the first in every part, by the longest word of each."""
    parts, taken = [[0]], 0
    for number in range(1, len(longest)):
        needed = longest[number] + COLUMN_GAP
        if len(parts[-1]) > 1 and longest[0] + taken + needed > width:
            parts.append([0])
            taken = 0
        parts[-1].append(number)
        taken += needed
    return parts


def _widths(longest: Sequence[int], whole: Sequence[int], width: int) -> list[int]:
    """Widths of columns that together fit: the widest are folded first, a narrow first column last."""
    widths = list(whole)
    room = width - COLUMN_GAP * (len(widths) - 1)
    while sum(widths) > room:
        wide = [number for number, least in enumerate(longest) if widths[number] > least]
        if not wide:
            break
        widths[max(wide, key=lambda number: (number > 0 or widths[0] > FIRST_COLUMN, widths[number]))] -= 1
    return widths


def print_figures(
    title: str, columns: Sequence[tuple[str, Sequence[Figure]]], intervals: bool = True
) -> None:
    """Print figures side by side, one row for each key.

    Parameters
    ----------
    title : str
        Above the table.
    columns : sequence of (str, sequence of Figure)
        Heading and figures of each column; a key that a column has not is left empty there.
    intervals : bool
        Whether 90 % ranges are shown where there are any: in a column of their own, or under each value where
        the terminal is too narrow for that.
    """
    if _kept is not None:
        _kept.append(figures_sheet(title, columns))
    headings, rows = _beside(columns, intervals)
    if sum(_width(column) for column in zip(headings, *rows, strict=True)) > _console().width:
        headings, rows = _below(columns, intervals)
    _print_table(title, headings, rows)


def _beside(columns: Sequence[tuple[str, Sequence[Figure]]], intervals: bool) -> tuple[Row, list[Row]]:
    """Headings and rows, each column followed by its 90 % ranges."""
    names, cells = [""], {one.key: [one.heading] for one in merged([figures for _, figures in columns])}
    for name, figures in columns:
        by_key = {one.key: one for one in figures}
        names.append(name)
        shows_intervals = intervals and any(one.interval_text for one in figures)
        if shows_intervals:
            names.append("90 % range")
        for key, row in cells.items():
            found = by_key.get(key)
            row.append(found.cell if found else "")
            if shows_intervals:
                row.append(found.best.interval_text if found else "")
    return names, list(cells.values())


def _below(columns: Sequence[tuple[str, Sequence[Figure]]], intervals: bool) -> tuple[Row, list[Row]]:
    """The same, each 90 % range under its value."""
    names, cells = [""], {one.key: [one.heading] for one in merged([figures for _, figures in columns])}
    for name, figures in columns:
        by_key = {one.key: one for one in figures}
        shows_intervals = intervals and any(one.interval_text for one in figures)
        names.append(f"{name}\n90 % range" if shows_intervals else name)
        for key, row in cells.items():
            found = by_key.get(key)
            lines = [found.cell, found.best.interval_text if shows_intervals else ""] if found else []
            row.append("\n".join(line for line in lines if line))
    return names, list(cells.values())


def _width(cells: Sequence[str]) -> int:
    """Width of a column that folds nothing, with the gap to the next [characters]."""
    return COLUMN_GAP + max(len(line) for cell in cells for line in (cell.split("\n") or [""]))


@contextmanager
def progress(words: str) -> Iterator[Callable[[float], None]]:
    """Progress bar on standard error, when that is a terminal.

    Parameters
    ----------
    words : str
        What is going on.

    Yields
    ------
    callable
        To be called with the share done, 0 to 1.
    """
    if not sys.stderr.isatty():
        yield lambda share: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(words, total=1.0)
        yield lambda share: bar.update(task, completed=share)


def _console() -> "Console":
    from rich.console import Console

    width = None if sys.stdout.isatty() or os.environ.get("COLUMNS", "").isdigit() else FILE_WIDTH
    return Console(width=width, markup=False, emoji=False, highlight=False)
