"""The owner's report: totals, ranking, a line a unit, what could not be said."""

from dataclasses import replace

from calibration.fleet.unit_row import UnitRow
from dashboard.report.fleet_report import fleet_report
from dashboard.report.html import html
from dashboard.report.pdf import pdf
from dashboard.report.unit_page import IF_FOULED, unit_section
from tests.dashboard.charts.test_fleet_charts import row
from tests.made_results import made_rows


def whole(unit, money, **more):
    kwh = {"kwh_year": money, "kwh_year_low": money, "kwh_year_high": money}
    return vars(UnitRow(**(row(unit, money) | {"verdict": "fault", "advice": "now"} | kwh | more)))


ROWS = [whole("a", 1000.0), whole("b", 2000.0), vars(UnitRow("c", "Annex", problem="no visit has a date"))]


def test_the_report_has_totals_ranking_and_a_line_a_unit():
    report = fleet_report(ROWS, "a test")
    text = html(report)
    assert "3,000 USD" in text
    assert "3 units at 2 sites" in text
    grid = report.sections[2].blocks[0]
    assert [line[0] for line in grid.rows] == ["b", "a", "c"]
    assert "c: no visit has a date" in text


def test_each_unit_has_a_page_of_its_own_where_asked():
    rows = made_rows(12)
    plain, paged = fleet_report(rows, "a test"), fleet_report(rows, "a test", unit_pages=True)
    pages = paged.sections[len(plain.sections) :]
    assert len(pages) == 12
    assert all(page.new_page for page in pages)
    first = rows[0]
    (page,) = (one for one in pages if one.heading == f"{first['unit']}, {first['site']}")
    text = html(replace(paged, sections=(page,)))
    assert f"{first['money_year']:,.0f} USD" in text
    assert "Growth: 6 (3 to 10) points a year; fitted to 1 as-found visit, linear, and to other units" in text
    assert "(39 of them, 5 at this site)" in text
    (second,) = (one for one in pages if one.heading == f"{rows[1]['unit']}, {rows[1]['site']}")
    said = "The clean baseline leans on 7 other units with the same nameplate."
    assert said in html(replace(paged, sections=(second,)))
    assert said not in text
    supposed = next(row for row in rows if row["if_fouled"])
    assert IF_FOULED in html(replace(paged, sections=(unit_section(supposed),)))


def test_a_unit_of_which_nothing_is_known_has_a_page_that_says_why():
    page = unit_section(vars(UnitRow("c", "", problem="no visit has a date")))
    assert [block.text for block in page.blocks] == ["no visit has a date"]


def test_it_is_printed_and_two_currencies_have_no_common_chart():
    from datetime import date

    assert pdf(fleet_report(ROWS, "a test"), date(2026, 6, 1)).startswith(b"%PDF")
    mixed = fleet_report([*ROWS, whole("d", 5.0, currency="EUR")], "a test")
    assert len(mixed.sections[1].blocks) == 1
    assert len(pdf_pages(fleet_report(made_rows(40), "a test"))) == 2
    assert "5 EUR" in html(mixed)
    usual = {"next_reading": "outdoor_fan_power", "advice": "measure_first", "site": "Town hall"}
    wordy = [one | usual | {"verdict": "inconclusive"} for one in made_rows(12)]
    assert len(pdf_pages(fleet_report(wordy, "a test"))) == 2


def pdf_pages(report):
    from datetime import date
    from io import BytesIO

    from pypdf import PdfReader

    return PdfReader(BytesIO(pdf(report, date(2026, 6, 1)))).pages
