"""Rows become case files: units of cells and headers, typed dates, faults by row, good rows kept."""

import pytest

from calibration.case.file import parse_case
from calibration.case.units import TEMPERATURE, TON
from calibration.fleet.listed_units import listed_units
from calibration.fleet.table import read_fleet_table, table_of_cells
from tests.calibration.fleet.office import office_book, office_rows

HEAD = ["unit", "site", "refrigerant", "expansion", "capacity", "date", "coil", "outdoor air", "return air",
        "return wet bulb", "suction pressure", "liquid pressure"]  # fmt: skip
GOOD = ["A", "Library", "R410A", "TXV", "36000", "2026-08-12", "dirty", "95", "80", "67", "132", "420"]


def units_of(*rows, head=HEAD, **options):
    return listed_units([table_of_cells([head, *rows], "visits.csv")], **options)


def changed(**cells):
    names = dict(zip(["unit", "site", "gas", "valve", "capacity", "date", "coil", "outdoor", "back", "wet",
    "low",
                      "high"], range(12), strict=True))  # fmt: skip
    row = list(GOOD)
    for name, cell in cells.items():
        row[names[name]] = cell
    return row


def test_an_office_spreadsheet_of_forty_rows_is_read_whole(tmp_path):
    path = tmp_path / "office.xlsx"
    path.write_bytes(office_book())
    units = listed_units([read_fleet_table(path)])
    assert [one.unit for one in units] == [f"RTU-{number + 1}" for number in range(20)]
    assert not any(one.left_out for one in units)
    cases = [parse_case(one.text) for one in units]
    assert sum(len(case.visits) for case in cases) == 40
    for number, case in enumerate(cases):
        clean, found = case.visits
        assert (clean.coil, found.coil) == ("clean", "as found")
        assert clean.outdoor_db == pytest.approx(TEMPERATURE.to_si(82.4, "US"), abs=0.01)
        assert clean.suction_pressure == pytest.approx(132 * 6894.757 + 101325, abs=100)
        assert found.outdoor_power == pytest.approx(2600, abs=1)
        assert found.date.isoformat() in {f"2026-08-{day}" for day in (12, 13, 14, 15, 17, 18)}
        assert clean.date.isoformat() == "2026-05-19"
        assert case.unit.rated_capacity == pytest.approx(10258, rel=0.03)
        assert case.unit.site == ("Library" if number < 10 else "Town hall")
        assert case.cleaning.price == 165.0


def test_a_cell_may_have_a_unit_of_its_own():
    (unit,) = units_of(changed(outdoor="35 °C", capacity="3 tons", high="29 bar"))
    case = parse_case(unit.text)
    assert case.visits[0].outdoor_db == pytest.approx(308.15)
    assert case.unit.rated_capacity == pytest.approx(3 * TON)
    assert case.visits[0].liquid_pressure == pytest.approx(29e5 + 101325, rel=1e-6)


def test_a_column_says_the_system_of_each_row():
    si = [*changed(outdoor="35", back="26.7", wet="19.4", capacity="10550", low="910", high="2896"), "SI"]
    one, other = units_of(si, [*changed(unit="B"), "US"], head=[*HEAD, "units"])
    assert parse_case(one.text).visits[0].outdoor_db == pytest.approx(308.15)
    assert parse_case(other.text).visits[0].outdoor_db == pytest.approx(308.15)


def test_the_order_of_day_and_month_is_that_of_the_column():
    rows = [changed(unit=name, date=date) for name, date in (("A", "3/4/2026"), ("B", "25/4/2026"))]
    dates = [parse_case(one.text).visits[0].date.isoformat() for one in units_of(*rows)]
    assert dates == ["2026-04-03", "2026-04-25"]
    (alone,) = units_of(rows[0])
    assert parse_case(alone.text).visits[0].date.isoformat() == "2026-03-04"


@pytest.mark.parametrize(
    ("cells", "words"),
    [
        ({"outdoor": "hot"}, "column 'outdoor air': 'hot' is no number"),
        ({"outdoor": "95 psi"}, "has a unit that is none of outdoor air"),
        ({"outdoor": "301"}, "outdoor_db is 301 degF"),
        ({"date": "in May"}, "'in May' is no date"),
        ({"wet": ""}, "return_wb is missing"),
        ({"high": "100"}, "liquid_pressure is 100 psi"),
        ({"capacity": "60000"}, "but 36000.0 in row 2; one nameplate a unit is expected"),
    ],
)
def test_a_row_with_a_fault_is_left_out_and_the_others_are_kept(cells, words):
    (unit,) = units_of(GOOD, changed(**cells))
    assert len(parse_case(unit.text).visits) == 1
    (left,) = unit.left_out
    assert left.number == 3
    assert words in left.sentence


def test_a_unit_without_a_good_row_has_no_case():
    (unit,) = units_of(changed(gas="R999"))
    assert unit.text == ""
    assert "R999" in unit.left_out[0].sentence


def test_a_row_without_names_belongs_to_the_unit_above_it():
    (unit,) = units_of(GOOD, changed(unit="", site="", date="2026-08-20"))
    assert len(parse_case(unit.text).visits) == 2
    (nameless,) = units_of(changed(unit=""))
    assert "no unit is named" in nameless.left_out[0].sentence


def test_a_corrected_row_takes_the_place_of_the_one_that_was_left_out():
    table = table_of_cells([HEAD, GOOD, changed(unit="B", outdoor="hot")], "visits.csv")
    corrected = table_of_cells(
        [["row", *HEAD], ["visits.csv, row 3", *changed(unit="B", outdoor="96")]], "more.csv"
    )
    units = listed_units([table, corrected])
    assert [one.unit for one in units] == ["A", "B"]
    assert not any(one.left_out for one in units)


def test_what_rows_leave_out_comes_from_a_case():
    like = {"season": {"weather": "bins", "tariff": {"energy_price": 0.2}}, "cleaning": {"price": 100.0}}
    (unit,) = units_of([*GOOD, "180"], head=[*HEAD, "price"], like=like)
    case = parse_case(unit.text)
    assert (case.season.tariff.energy_price, case.cleaning.price) == (0.2, 180.0)


def test_the_same_name_at_two_sites_is_two_units():
    assert len(units_of(GOOD, changed(site="Town hall"))) == 2
    assert len(office_rows()) == 40
