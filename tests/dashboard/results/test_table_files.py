"""Tables as files: what is shown, in numbers that can be worked with, and nothing that runs."""

import csv
import io

import pytest
from openpyxl import load_workbook

from dashboard.cli import run
from dashboard.results.figures import Figure
from dashboard.results.table_files import Sheet, figures_sheet, file_of, text_sheet
from tests.dashboard.demo_findings import DEMO

SUSPECT = Figure(
    "eer", "EER", 9.04, "Btu/(W h)", 2, 8.5, 9.5, supported=Figure("eer", "EER", 10.2, "", 2, 9.9, 10.5)
)
COLUMNS = [
    ("now", [Figure("power", "Power", 2707.4, "W", 0, 2690.0, 2725.0), SUSPECT]),
    ("clean", [Figure("power", "Power", 2542.0, "W", 0)]),
]


def test_figures_are_numbers_with_their_units_and_ranges():
    sheet = figures_sheet("Now and clean", COLUMNS)
    assert sheet.headings == (
        "",
        "unit",
        "now",
        "now, 90 % from",
        "now, 90 % to",
        "now, suspect, as read",
        "clean",
    )
    assert sheet.rows == (
        ("Power", "W", 2707.0, 2690.0, 2725.0, None, 2542.0),
        ("EER", "Btu/(W h)", 10.2, 9.9, 10.5, 9.04, None),
    )


@pytest.mark.parametrize("ending", [".csv", ".xlsx"])
def test_the_same_tables_give_the_same_bytes_and_none_runs(ending):
    sheets = [
        figures_sheet("Now", COLUMNS),
        text_sheet("=HYPERLINK(1)", ["name", "value"], [["=1+1", "1,234.5"], ["@cmd", "-3"]]),
        Sheet("now", ("",), ()),
    ]
    first = file_of(sheets, ending)
    assert file_of(sheets, ending) == first
    if ending == ".csv":
        rows = list(csv.reader(io.StringIO(first.decode("utf-8"))))
        assert ["'=1+1", "1234.5"] in rows and ["'@cmd", "-3"] in rows and ["'=HYPERLINK(1)"] in rows
    else:
        book = load_workbook(io.BytesIO(first))
        assert book.sheetnames == ["Now", "=HYPERLINK(1)", "now 2"]
        cells = [cell for sheet in book for row in sheet for cell in row]
        assert not any(cell.data_type == "f" for cell in cells)
        assert 1234.5 in [cell.value for cell in cells]


def test_a_command_writes_what_it_prints(tmp_path, capsys):
    out = tmp_path / "tables.csv"
    assert run(["measure", str(DEMO), "--figures-only", "-o", str(out)]) == 0
    rows = list(csv.reader(io.StringIO(out.read_text(encoding="utf-8"))))
    printed = capsys.readouterr().out
    assert "2 tables written" in printed
    pressure = next(row for row in rows if row and row[0] == "Suction pressure")
    assert pressure[1:] == ["psi", "132", "139"]
    superheat = next(row for row in rows if row and row[0] == "Superheat")
    assert f"{float(superheat[2]):.1f}" in printed and len(superheat) == 8
    assert run(["measure", str(DEMO), "--json", "-o", str(out)]) == 2
    assert run(["measure", str(DEMO), "-o", str(tmp_path / "tables.txt")]) == 2
