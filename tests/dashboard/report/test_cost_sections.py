"""The cost sections of the report for a unit of several circuits."""

from dashboard.report.cost_sections import circuit_sections
from dashboard.report.parts import Grid
from dashboard.results.costs import season_cost


def test_the_report_adds_the_circuits_up(priced):
    (section,) = circuit_sections((priced.season, priced.season), "US")
    (grid,) = [block for block in section.blocks if isinstance(block, Grid)]
    clean = {one.key: one for one in season_cost.season_columns(priced.season, "US")[0][1]}
    rows = {row[0]: row[1] for row in grid.rows}
    energy = clean["energy"]
    assert rows[energy.heading] == f"{2.0 * energy.value:,.0f}"
    assert rows[clean["run_hours"].heading] == clean["run_hours"].text
    assert circuit_sections((), "US") == ()
