"""A report as one HTML file that needs nothing else: pictures inside, no script, no font, no request."""

from base64 import b64encode
from collections.abc import Iterator, Sequence

from dashboard.charts import style
from dashboard.report.parts import Blanks, Block, Cards, Grid, Paragraph, Picture, Points, Report
from dashboard.results.html_text import cell, escape

LOOK = f"""
body {{ font-family: {style.FONT}; color: {style.INK}; max-width: 60rem; margin: 0 auto; padding: 1rem; }}
h2 {{ color: {style.TEAL}; font-size: 1.15rem; margin: 1.6rem 0 0.5rem; }}
.soft {{ color: {style.SOFT_INK}; }}
.strong {{ background: {style.PANEL}; border-left: 4px solid {style.TEAL}; padding: 0.6rem; }}
.cards {{ display: grid; grid-template-columns: repeat(auto-fit, minmax(8.5rem, 1fr)); gap: 0.6rem; }}
.cards div {{ background: {style.PANEL}; border-radius: 4px; padding: 0.6rem; }}
s {{ display: inline-block; color: {style.SOFT_INK}; font-weight: normal; font-size: 0.8em; }}
.cards b {{ color: {style.TEAL}; font-size: 1.5rem; display: block; }}
.cards b b {{ display: inline; }}
.wide {{ overflow-x: auto; }}
table {{ border-collapse: collapse; width: 100%; font-size: 0.9rem; }}
th, td {{ text-align: right; padding: 0.25rem 0.4rem; border-bottom: 1px solid {style.GRID}; }}
th:first-child, td:first-child {{ text-align: left; font-weight: normal; }}
thead th {{ border-bottom: 2px solid {style.INK}; vertical-align: bottom; }}
figure {{ margin: 0.8rem 0; }}
figure img {{ width: 100%; height: auto; }}
.two {{ display: grid; grid-template-columns: repeat(auto-fit, minmax(min(20rem, 100%), 1fr)); gap: 0 1.5rem;
  align-items: start; }}
.blanks {{ display: grid; grid-template-columns: repeat(auto-fit, minmax(14rem, 1fr)); gap: 2.2rem 1rem;
  padding-top: 2rem; }}
.blanks div {{ display: flex; flex-direction: column; justify-content: flex-end; font-size: 0.8rem; }}
.blanks b {{ font-size: 0.95rem; font-weight: 400; }} .blanks span {{ border-top: 1px solid {style.INK}; }}
.annex {{ border-top: 4px solid {style.PANEL}; margin-top: 2.4rem; break-before: page; }}
@media print {{ body {{ max-width: none; }} figure, table {{ break-inside: avoid; }} }}
"""


def html(report: Report) -> str:
    """The report as a page.

    Parameters
    ----------
    report : Report
        What to print.

    Returns
    -------
    str
        A whole HTML document.
    """
    sections = "\n".join(
        f"<section{' class=annex' if section.new_page else ''}>\n<h2>{escape(section.heading)}</h2>\n"
        + "\n".join(_side_by_side(section.blocks))
        + "\n</section>"
        for section in report.sections
    )
    return (
        f'<!doctype html>\n<html lang="{escape(report.language)}">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f'<meta name="generator" content="{escape(report.author)}">\n'
        f"<title>{escape(report.title)}</title>\n<style>{LOOK}</style>\n</head>\n<body>\n<main>\n"
        f'<h1>{escape(report.title)}</h1>\n<p class="soft">{escape(report.subtitle)}</p>\n'
        f"{sections}\n</main>\n</body>\n</html>\n"
    )


def _side_by_side(blocks: Sequence[Block]) -> Iterator[str]:
    """Blocks in order; two pictures or two narrow tables that follow each other stand side by side."""
    waiting: Block | None = None
    for block in blocks:
        if waiting is not None and _is_narrow(block) and type(block) is type(waiting):
            yield f'<div class="two">{_block(waiting)}{_block(block)}</div>'
            waiting = None
            continue
        if waiting is not None:
            yield _block(waiting)
        waiting = block if _is_narrow(block) else None
        if waiting is None:
            yield _block(block)
    if waiting is not None:
        yield _block(waiting)


def _is_narrow(block: Block) -> bool:
    """Whether it can share the width of the page with another of its kind."""
    return isinstance(block, Picture) or (isinstance(block, Grid) and len(block.headings) == 2)


def _block(block: Block) -> str:
    if isinstance(block, Paragraph):
        look = ' class="strong"' if block.strong else ""
        return f"<p{look}>{escape(block.text)}</p>"
    if isinstance(block, Points):
        return "<ul>" + "".join(f"<li>{escape(one)}</li>" for one in block.sentences) + "</ul>"
    if isinstance(block, Cards):
        cards = "".join(
            f'<div><b>{cell(number)}</b>{escape(words)}<br><span class="soft">{escape(more)}</span></div>'
            for number, words, more in block.figures
        )
        return f'<div class="cards">{cards}</div>'
    if isinstance(block, Grid):
        return _table(block)
    if isinstance(block, Picture):
        picture = b64encode(block.svg).decode("ascii")
        address = f"data:image/svg+xml;base64,{picture}"
        return f'<figure><img src="{address}" alt="{escape(block.description)}"></figure>'
    return _blanks(block)


def _table(grid: Grid) -> str:
    head = "".join(f'<th scope="col">{escape(one)}</th>' for one in grid.headings)
    rows = "".join(
        f'<tr><th scope="row">{escape(row[0])}</th>'
        + "".join(f"<td>{cell(one)}</td>" for one in row[1:])
        + "</tr>"
        for row in grid.rows
    )
    return f'<div class="wide"><table><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div>'


def _blanks(blanks: Blanks) -> str:
    drawn = "".join(
        f"<div><b>{escape(known)}</b><span>{escape(label)}</span></div>"
        for label, known in zip(blanks.labels, blanks.known, strict=True)
    )
    return f'<div class="blanks">{drawn}</div>'
