"""Tables of visits: columns are matched, units heeded, and whatever comes is a table or a sentence."""

import io
import zipfile

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calibration.case.errors import CaseError
from calibration.files.visit_table import (
    MOST_PARTS,
    MOST_ROWS,
    guessed_keys,
    read_visit_table,
    visit_entries,
)
from tests.fuzz.trial import counted_calls

CSV = b"""Date;Visit;Coil;Outdoor air [C];Return DB (C);Return wet bulb (C);Suction (bar);Watts outdoor;Sky
14.5.2026;spring;clean;28,0;24,5;17,5;9,1;2211;fair
8/12/2026;late;dirty;34,9;25,5;18,4;9,6;2707;hot
"""
KEYS = [
    "date",
    "label",
    "coil",
    "outdoor_db",
    "return_db",
    "return_wb",
    "suction_pressure",
    "outdoor_power",
    None,
]


def workbook(rows) -> bytes:
    from openpyxl import Workbook

    book = Workbook()
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_columns_are_matched_by_the_words_in_use():
    table = read_visit_table(CSV, "visits.csv")
    assert guessed_keys(table) == KEYS


def test_headers_as_people_write_them_and_units_without_brackets():
    text = (
        b"suction psig,liquid kPa,suction pipe degC,liquid pipe \xc2\xb0F,watts\n136,2744,19.4,105.4,2590\n"
    )
    table = read_visit_table(text, "visits.csv")
    keys = guessed_keys(table)
    assert keys == [
        "suction_pressure",
        "liquid_pressure",
        "suction_temperature",
        "liquid_temperature",
        "outdoor_power",
    ]
    (entries,) = visit_entries(table, keys, "US")
    assert float(entries["suction_pressure"]) == pytest.approx(136.0)
    assert float(entries["liquid_pressure"]) == pytest.approx(2744 / 6.894757, rel=1e-6)
    assert float(entries["suction_temperature"]) == pytest.approx(19.4 * 1.8 + 32)
    assert float(entries["liquid_temperature"]) == pytest.approx(105.4)
    assert entries["outdoor_power"] == "2590"


def test_headers_that_are_shortened():
    text = b"odb,idb,iwb,Suct psi,Liq psi,suct temp,Liq. temp,Disch Temp,watts\n1,2,3,4,5,6,7,8,9\n"
    assert guessed_keys(read_visit_table(text, "visits.csv")) == [
        "outdoor_db",
        "return_db",
        "return_wb",
        "suction_pressure",
        "liquid_pressure",
        "suction_temperature",
        "liquid_temperature",
        "discharge_temperature",
        "outdoor_power",
    ]


def test_units_of_headers_dates_and_coils_become_what_would_be_typed():
    table = read_visit_table(CSV, "visits.csv")
    first, second = visit_entries(table, KEYS, "US")
    assert (first["date"], first["coil"], second["coil"]) == ("2026-05-14", "clean", "as found")
    assert second["date"] == "2026-08-12"
    assert float(first["outdoor_db"]) == pytest.approx(82.4)
    assert float(first["suction_pressure"]) == pytest.approx(9.1e5 / 6894.757, rel=1e-6)  # 14.5038 psi a bar
    assert first["outdoor_power"] == "2211"


def test_a_comma_that_parts_thousands_is_no_decimal_comma():
    content = b'outdoor_power [W],suction_temperature [degC]\n"2,707","15,5"\n'
    table = read_visit_table(content, "visits.csv")
    (entries,) = visit_entries(table, guessed_keys(table), "US")
    assert float(entries["outdoor_power"]) == 2707.0
    assert float(entries["suction_temperature"]) == pytest.approx(59.9)


def test_the_same_in_a_spreadsheet_and_from_columns():
    import datetime as dt

    upright = [["date", "label", "outdoor_db", "return_db"], [dt.datetime(2026, 5, 14), "a", 82.4, 76]]
    turned = [list(column) for column in zip(*upright, strict=True)]
    for rows in (upright, turned):
        table = read_visit_table(workbook(rows), "visits.xlsx")
        keys = guessed_keys(table)
        assert visit_entries(table, keys, "US") == [
            {"date": "2026-05-14", "label": "a", "outdoor_db": "82.4", "return_db": "76"}
        ]


def test_two_columns_on_paper():
    text = "reading,clean,found\noutdoor_db,82.4,94.8\nreturn_db,76,78\nreturn_wb,63.6,65.2\n"
    table = read_visit_table(text.encode(), "paper.csv")
    clean, found = visit_entries(table, guessed_keys(table), "US")
    assert clean == {
        "label": "clean",
        "coil": "clean",
        "outdoor_db": "82.4",
        "return_db": "76",
        "return_wb": "63.6",
    }
    assert found["coil"] == "as found"


def test_absolute_pressures_lose_the_air_around():
    table = read_visit_table(b"suction_pressure (psia)\n146.7\n", "a.csv")
    (visit,) = visit_entries(table, ["suction_pressure"], "US", 101_325.0)
    assert float(visit["suction_pressure"]) == pytest.approx(146.7 - 14.695949, abs=1e-6)


@pytest.mark.parametrize(
    ("cell", "system", "date"),
    [
        ("2026-05-14", "US", "2026-05-14"),
        ("5/14/2026", "US", "2026-05-14"),
        ("14.05.2026", "SI", "2026-05-14"),
        ("03/04/2026", "US", "2026-03-04"),
        ("03/04/2026", "SI", "2026-04-03"),
        ("14 May 2026", "US", "2026-05-14"),
        ("soon", "US", "soon"),
    ],
)
def test_dates_in_the_usual_forms(cell, system, date):
    table = read_visit_table(f"date,outdoor_db\n{cell},80\n".encode(), "a.csv")
    assert visit_entries(table, ["date", "outdoor_db"], system)[0]["date"] == date


def test_formulas_count_by_their_saved_value_and_are_never_run():
    content = workbook([["label", "outdoor_db"], ['=HYPERLINK("http://localhost")', "=1+1"], ["b", 80]])
    table = read_visit_table(content, "a.xlsx")  # never opened by a spreadsheet: no saved values
    assert table.rows == (("b", "80"),)


@pytest.mark.parametrize(
    ("content", "name", "sentence"),
    [
        (b"", "a.csv", "no row under its header"),
        (b"outdoor_db\n", "a.csv", "no row under its header"),
        (b"PK\x03\x04broken", "a.xlsx", "cannot be read as a spreadsheet"),
        (b"a\0b\0", "a.csv", "is no table of text"),
        (b"x\n" + b"1\n" * 5000, "a.csv", "rows; at most"),
        (b"," * 5000 + b"\n" + b"1," * 5000, "a.csv", "no row under its header|at most"),
    ],
)
def test_what_is_no_table_of_visits(content, name, sentence):
    with pytest.raises(CaseError, match=sentence):
        read_visit_table(content, name)


def test_a_spreadsheet_that_unpacks_to_very_much_is_refused():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b" " * 250_000_000)
    with pytest.raises(CaseError, match="unpacks to far more"):
        read_visit_table(out.getvalue(), "a.xlsx")


def test_two_columns_for_one_reading_and_a_wrong_unit_are_said():
    table = read_visit_table(b"outdoor_db,outdoor\n80,81\n", "a.csv")
    with pytest.raises(CaseError, match="two columns"):
        visit_entries(table, ["outdoor_db", "outdoor_db"], "US")
    table = read_visit_table(b"outdoor_db [psi]\n80\n", "a.csv")
    with pytest.raises(CaseError, match="degF or degC"):
        visit_entries(table, ["outdoor_db"], "US")


@settings(derandomize=True, deadline=None, max_examples=60)
@given(st.binary(max_size=400), st.sampled_from(["a.csv", "a.xlsx", "a"]))
def test_any_bytes_are_a_table_or_a_sentence(content, name):
    try:
        table = read_visit_table(content, name)
        visits = visit_entries(table, guessed_keys(table), "SI")
    except CaseError as error:
        assert error.problems[0].sentence
    else:
        assert len(visits) == len(table.rows) <= MOST_ROWS


def hidden_first(shown: bool) -> bytes:
    """A spreadsheet whose first sheet, of other numbers, is hidden; the second too where none is shown."""
    from openpyxl import Workbook

    book = Workbook()
    book.active.append(["outdoor_db", "note"])
    book.active.append([1, "hidden"])
    second = book.create_sheet()
    second.append(["outdoor_db", "note"])
    second.append([95, "shown"])
    book.active = 1
    made = io.BytesIO()
    book.worksheets[0].sheet_state = "hidden"
    book.save(made)
    if shown:
        return made.getvalue()
    made, old = io.BytesIO(), zipfile.ZipFile(made)
    with zipfile.ZipFile(made, "w") as new:
        for name in old.namelist():
            new.writestr(name, old.read(name).replace(b'state="visible"', b'state="hidden"'))
    return made.getvalue()


def test_the_first_sheet_that_is_shown_is_read():
    assert read_visit_table(hidden_first(shown=True), "x.xlsx").rows == (("95", "shown"),)
    with pytest.raises(CaseError, match="has no sheet that is shown"):
        read_visit_table(hidden_first(shown=False), "x.xlsx")


def test_the_parts_of_a_spreadsheet_are_counted():
    content = io.BytesIO(workbook([["outdoor_db", "note"], [95, "a"]]))
    with zipfile.ZipFile(content, "a") as archive:
        for number in range(MOST_PARTS):
            archive.writestr(f"xl/worksheets/more{number}.rels", b"")
    with pytest.raises(CaseError, match=f"parts; at most {MOST_PARTS} are expected"):
        read_visit_table(content.getvalue(), "x.xlsx")


def test_four_hundred_columns_of_long_headers_are_little_work():
    """A header that is a text names no reading, and no header is compared twice."""
    long = [f"{'suction pressure ' * 200}{number}" for number in range(400)]
    short = [f"suction presure at tap {number}" for number in range(400)]
    for headers, most in ((long, 100_000), (short, 25_000_000)):
        table = read_visit_table(",".join(headers).encode() + b"\n" + b",".join([b"1"] * 400), "x.csv")
        with counted_calls() as calls:
            guessed_keys(table)
        assert calls[0] < most
        with counted_calls() as calls:
            guessed_keys(table)
        assert calls[0] < 200_000
