"""The owner's report: totals, ranking, a line a unit, what could not be said."""

from calibration.fleet.unit_row import UnitRow
from dashboard.report.fleet_report import fleet_report
from dashboard.report.html import html
from dashboard.report.pdf import pdf
from tests.dashboard.charts.test_fleet_charts import row


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


def test_it_is_printed_and_two_currencies_have_no_common_chart():
    from datetime import date

    assert pdf(fleet_report(ROWS, "a test"), date(2026, 6, 1)).startswith(b"%PDF")
    mixed = fleet_report([*ROWS, whole("d", 5.0, currency="EUR")], "a test")
    assert len(mixed.sections[1].blocks) == 1
    assert "5 EUR" in html(mixed)
