"""The parts that a printed report is made of; `report_pdf` and `report_html` print them alike.

Everything is text as it is to be read, or a picture: no number is calculated after this point.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Paragraph:
    """A sentence or several; `strong` for what must not be missed."""

    text: str
    strong: bool = False


@dataclass(frozen=True)
class Points:
    """Sentences one under the other."""

    sentences: tuple[str, ...]


@dataclass(frozen=True)
class Cards:
    """A few figures to see first.

    Parameters
    ----------
    figures : tuple of (str, str, str)
        Number with its unit, what it is, and its interval in words.

    A number in a card or a table may be a `dashboard.results.figures.Struck`.
    """

    figures: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True)
class Grid:
    """A table: the first column is words, the others are numbers.

    Parameters
    ----------
    headings : tuple of str
        One for each column.
    rows : tuple of tuple of str
        Cells as they are to be read.
    """

    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Picture:
    """A chart as SVG, with a description for those who cannot see it."""

    svg: bytes
    description: str


@dataclass(frozen=True)
class Blanks:
    """Lines to be filled in by hand, each with what belongs there, and what is known already."""

    labels: tuple[str, ...]
    known: tuple[str, ...]


Block = Paragraph | Points | Cards | Grid | Picture | Blanks


@dataclass(frozen=True)
class Section:
    """A heading and its blocks; pictures side by side where two follow each other.

    `new_page` where it begins a page of its own on paper.
    """

    heading: str
    blocks: tuple[Block, ...]
    new_page: bool = False


@dataclass(frozen=True)
class Report:
    """A whole report.

    Parameters
    ----------
    title : str
        Heading of the first page.
    subtitle : str
        Unit, visit and date under it.
    author : str
        Who made it: the program and its version.
    sections : tuple of Section
        In order.
    language : str
        Code of the language that it is in, such as "en" or "pt-BR".
    """

    title: str
    subtitle: str
    author: str
    sections: tuple[Section, ...]
    language: str = "en"
