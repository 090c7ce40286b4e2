"""A report as PDF, by Typst: no browser, no system library, no network.

Tagged for screen readers after PDF/UA-1, with title, language and descriptions of the pictures. The same
report with the same date gives the same bytes.
"""

import dataclasses
import json
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, Literal

from dashboard.charts import style
from dashboard.report.parts import Report

TEMPLATE = Path(__file__).with_name("report.typ")
PaperSize = Literal["us-letter", "a4"]


def pdf(report: Report, made: date, paper_size: PaperSize = "us-letter") -> bytes:
    """The report as a PDF file.

    Parameters
    ----------
    report : Report
        What to print.
    made : date
        Day that the file says it was made on.
    paper_size : {"us-letter", "a4"}
        Paper.

    Returns
    -------
    bytes
        The file.
    """
    import typst

    look = {
        "ink": style.INK,
        "soft_ink": style.SOFT_INK,
        "accent": style.TEAL,
        "panel": style.PANEL,
        "grid": style.GRID,
        "paper_size": paper_size,
    }
    made_at = datetime(made.year, made.month, made.day, tzinfo=UTC)
    printed: bytes = typst.compile(
        TEMPLATE.read_bytes(),
        sys_inputs={"report": json.dumps(_plain(report)), "style": json.dumps(look)},
        ignore_system_fonts=True,
        pdf_standards=["ua-1"],
        timestamp=int(made_at.timestamp()),
    )
    return printed


def _plain(part: Any) -> Any:
    """Parts as dictionaries and lists, each part with the name of its kind."""
    if dataclasses.is_dataclass(part) and not isinstance(part, type):
        fields = {field.name: _plain(getattr(part, field.name)) for field in dataclasses.fields(part)}
        return {"kind": type(part).__name__, **fields}
    if isinstance(part, tuple | list):
        return [_plain(one) for one in part]
    return part.decode("utf-8") if isinstance(part, bytes) else part
