"""Texts of files as cells of a table that people open in a spreadsheet: none of them runs as a formula."""

from __future__ import annotations

import math

FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""First characters that a spreadsheet would run as a formula, full-width signs among them; such a text is
written with an apostrophe."""


def harmless_cell(cell: str) -> str:
    """A cell that no spreadsheet will run: text like a formula gets an apostrophe, numbers stay.

    A return alone becomes a line feed, for which the cell is quoted: bare, it would begin a row.

    Parameters
    ----------
    cell : str
        Any text.

    Returns
    -------
    str
    """
    cell = cell.replace("\r\n", "\n").replace("\r", "\n")
    if cell.startswith(FORMULA_SIGNS) and not (is_number(cell) and math.isfinite(float(cell))):
        return "'" + cell
    return cell


def is_number(cell: str) -> bool:
    """Whether a cell is a number as people write it; Python's own 1_000 is none.

    Parameters
    ----------
    cell : str
        Any text.

    Returns
    -------
    bool
    """
    try:
        float(cell)
    except ValueError:
        return False
    return "_" not in cell
