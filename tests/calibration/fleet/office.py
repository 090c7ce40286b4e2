"""A spreadsheet of visits as an office would keep it, invented: merged heads, mixed units, typed dates."""

import datetime as dt
import io
from itertools import pairwise

from openpyxl import Workbook

UNITS_ROW = ("", "", "", "", "", "", "", "", "°F", "°F", "°F", "psig", "°F", "psig", "°F", "W", "", "")
GROUPS = ("Unit", "", "Nameplate", "", "", "", "Visit", "", "Air", "", "", "Suction", "", "Liquid", "",
          "Outdoor unit", "Cleaning", "")  # fmt: skip
HEADS = ("Tag", "Building", "Refrigerant", "Metering device", "Capacity", "EER", "Date", "Coil", "Outdoor DB",
         "Return DB", "Return WB", "pressure", "temp.", "pressure", "temp.", "power", "price [USD]",
         "last cleaned")  # fmt: skip
DATES = ("12 Aug 2026", "8/13/2026", "Aug 14, 2026", "2026-08-15", "Mon 17-Aug-2026", dt.date(2026, 8, 18))
CAPACITIES = (35000, "3 tons", "10.3 kW", "35,000 Btu/h", "35 MBH")


def cells_of_visit(number: int, clean: bool) -> list[object]:
    """Cells of one row from the outdoor dry bulb to the power, some in other units than the column's."""
    outdoor, dry, wet, low, pipe, high, liquid, power = (
        (82.4, 76.1, 63.6, 132, 64.0, 333, 91.8, 2211)
        if clean
        else (94.8, 77.9, 65.2, 139, 68.3, 400 + number, 107.0, 2600)
    )
    cells: list[object] = [outdoor, dry, wet, low, pipe, high, liquid, power]
    if number % 4 == 1:
        cells[0] = f"{(outdoor - 32) / 1.8:.2f} °C"
        cells[7] = f"{power / 1000:.3f} kW"
    if number % 4 == 2:
        cells[3] = f"{low * 6.894757:.1f} kPa"
        cells[5] = f"{(high + 14.696) * 0.06894757:.4f} bar abs"
    return cells


def office_rows() -> list[list[object]]:
    """Twenty units, a clean visit and one as found of each."""
    rows: list[list[object]] = []
    for number in range(20):
        names = [f"RTU-{number + 1}", "Library" if number < 10 else "Town hall"]
        plate = [
            "R-410A",
            "TXV" if number % 2 else "TEV",
            CAPACITIES[number % 5],
            12.1 if number % 3 else "n/a",
        ]
        for clean in (True, False):
            date: object = dt.datetime(2026, 5, 19) if clean else DATES[number % 6]
            coil = "cleaned" if clean else "dirty"
            end = [165, "5/19/26"] if number % 2 else ["$165".replace("$", ""), ""]
            rows.append([*names, *plate, date, coil, *cells_of_visit(number, clean), *end])
    return rows


def office_book(rows: list[list[object]] | None = None) -> bytes:
    """The workbook: a title, a head of two lines with merged cells, a line of units, the visits."""
    book = Workbook()
    sheet = book.active
    sheet.append(["Service visits 2026 (invented)"])
    sheet.merge_cells(start_row=1, end_row=1, start_column=1, end_column=len(HEADS))
    sheet.append([])
    sheet.append(list(GROUPS))
    starts = [place for place, group in enumerate(GROUPS) if group] + [len(GROUPS)]
    for first, after in pairwise(starts):
        if after - first > 1:
            sheet.merge_cells(start_row=3, end_row=3, start_column=first + 1, end_column=after)
    sheet.append(list(HEADS))
    sheet.append(list(UNITS_ROW))
    rows = office_rows() if rows is None else rows
    for place, row in enumerate(rows):
        sheet.append(row)
        if place % 2 == 1 and rows[place - 1][:2] == row[:2]:
            for column in (1, 2):
                last = sheet.max_row
                sheet.merge_cells(start_row=last - 1, end_row=last, start_column=column, end_column=column)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()
