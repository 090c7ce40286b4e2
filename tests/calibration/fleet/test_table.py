"""Tables of units are read as offices keep them: where the header is, what columns hold, in which unit."""

import pytest

from calibration.case.errors import CaseError
from calibration.fleet.table import read_fleet_table, table_of_cells
from tests.calibration.fleet.office import HEADS, office_book

PLAIN = """unit,site,refrigerant,valve,capacity [tons],outdoor air [°F],return air [°F],return wet bulb [°F]
A,Library,R410A,TXV,3,95,80,67
"""


@pytest.fixture
def plain(tmp_path):
    path = tmp_path / "visits.csv"
    path.write_text(PLAIN, "utf-8")
    return read_fleet_table(path)


def test_a_spreadsheet_with_merged_heads_and_a_line_of_units(tmp_path):
    path = tmp_path / "office.xlsx"
    path.write_bytes(office_book())
    table = read_fleet_table(path)
    found = {place: (one.key.section, one.key.name) for place, one in table.columns.items()}
    assert len(found) == len(HEADS)
    assert found[0] == ("unit", "name")
    assert found[1] == ("unit", "site")
    assert found[11] == ("visit", "suction_pressure")
    assert found[12] == ("visit", "suction_temperature")
    assert found[14] == ("visit", "liquid_temperature")
    assert found[15] == ("visit", "outdoor_power")
    assert found[17] == ("cleaning", "last_cleaned")
    assert table.columns[8].scale.label == "degF"
    assert len(table.rows) == 40
    assert [cells[0] for _, cells in table.rows[:4]] == ["RTU-1", "RTU-1", "RTU-2", "RTU-2"]
    assert table.rows[0][0] == 6  # as the spreadsheet numbers it


def test_headers_mean_the_same_when_they_are_read_again(tmp_path):
    path = tmp_path / "office.xlsx"
    path.write_bytes(office_book())
    table = read_fleet_table(path)
    again = table_of_cells([table.headers, *(cells for _, cells in table.rows)], "again")
    assert again.columns == table.columns


def test_a_plain_table_and_its_units(plain):
    assert plain.columns[4].scale.to_si(3.0) == pytest.approx(10550.6, abs=1)
    assert plain.columns[5].key.name == "outdoor_db"
    assert plain.rows == ((2, ("A", "Library", "R410A", "TXV", "3", "95", "80", "67")),)


def test_pipes_named_by_their_side_and_unit_alone():
    head = ["unit", "refrigerant", "suction [psig]", "suction [°F]", "liquid [psig]", "liquid [°F]"]
    table = table_of_cells([head, ["A", "R410A", "132", "60", "370", "100"]], "visits")
    assert [one.key.name for one in table.columns.values()][2:] == [
        "suction_pressure", "suction_temperature", "liquid_pressure", "liquid_temperature",
    ]  # fmt: skip


def test_headings_between_rows_and_the_header_again_are_no_visits():
    head = ["unit", "refrigerant", "capacity [tons]", "outdoor air [°F]"]
    cells = [
        head,
        ["North", "", "", ""],
        ["A", "R410A", "3", "95"],
        head,
        ["", "", "", ""],
        ["B", "R22", "4", "90"],
    ]
    assert [number for number, _ in table_of_cells(cells, "visits").rows] == [3, 6]


def test_parquet(tmp_path, plain):
    import pyarrow as pa
    from pyarrow import parquet

    columns = dict(zip(plain.headers, zip(*(cells for _, cells in plain.rows), strict=True), strict=True))
    parquet.write_table(
        pa.table({name: list(cells) for name, cells in columns.items()}), tmp_path / "v.parquet"
    )
    assert read_fleet_table(tmp_path / "v.parquet").rows[0][1] == plain.rows[0][1]


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.csv", b"1,2,3\n4,5,6\n", "has no header that names units and readings"),
        ("a.csv", PLAIN.split("\n")[0].encode(), "has no row under its header"),
        (
            "a.csv",
            PLAIN.replace("outdoor air [°F]", "outdoor air [psi]").encode(),
            "is no unit of outdoor air",
        ),
        ("a.csv", b"\0\1\2", "is no table of text"),
        ("a.xlsx", b"no workbook", "cannot be read as a spreadsheet"),
        ("a.parquet", b"no parquet", "cannot be read as a Parquet file"),
    ],
)
def test_what_is_no_table_of_units_is_refused(tmp_path, name, content, words):
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(CaseError, match="a\\.") as refused:
        read_fleet_table(path)
    assert words in str(refused.value)


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(CaseError, match="there is no such file"):
        read_fleet_table(tmp_path / "none.csv")
