"""Does it match a fouled coil? An as-found visit beside the clean unit in the same weather."""

import streamlit as st

from calibration.case import Case
from calibration.comparison import Comparison
from calibration.units import System
from dashboard import cached, compared, cycles, loss_charts, screen, style
from dashboard.charts import pressure_enthalpy_chart
from dashboard.questions import MATCH, links_onward
from dashboard.visit_chooser import visit_to_explain
from model.refrigerant import refrigerant

LEAD = "What was read beside what this unit would show clean, in the same weather and with the same airflow."


def page() -> None:
    """Draw the page."""
    case, system = screen.unit_or_stop(MATCH, LEAD)
    screen.visits_or_stop(case)
    visit = visit_to_explain(case)
    if visit is None:
        screen.finding(["No visit with the coil as found yet: nothing to compare with the clean unit."])
        links_onward(MATCH)
        return
    found = cached.comparison(case, visit.label)
    screen.finding(compared.sentences(found)[:-1])
    screen.tiles(compared.severity_figures(found) + compared.loss_figures(found, system)[-3:])
    screen.draw(
        loss_charts.difference_chart(found, system).without_texts(), "differences", 90 + 30 * len(found.rows)
    )
    _cycle_diagram(case, found, system)
    _tables(found, system)
    screen.caution(case.unit.refrigerant)
    links_onward(MATCH)


def _cycle_diagram(case: Case, found: Comparison, system: System) -> None:
    """Pressure-enthalpy diagram of the clean unit, the unit with the best fouling, and the readings."""
    name = case.unit.refrigerant
    traces = [
        cycles.expected_cycle(found.clean.point, style.CLEAN, "clean, same weather"),
        cycles.expected_cycle(found.fouled.point, style.EXPECTED, f"{found.blocked.value:.0%} blocked"),
        cycles.measured_cycle(found.visit, name, style.MEASURED, "measured"),
    ]
    drawn = [trace for trace in traces if trace is not None]
    screen.draw(pressure_enthalpy_chart(refrigerant(name), drawn, system), "cycles", 480)
    if traces[-1] is None:
        st.caption(
            "The measured cycle needs pressure and temperature of both the suction and the liquid line."
        )


def _tables(found: Comparison, system: System) -> None:
    rows = compared.reading_rows(found, system)
    screen.text_table(
        "Readings",
        ["", "measured", "clean", "with the fouling", "measured less clean, standard errors"],
        [
            [f"{words} [{read.unit}]", read.text, clean.text, fouled.text, f"{score:+.1f}"]
            for words, read, clean, fouled, score in rows
        ],
        far=[abs(row[4]) >= screen.FAR for row in rows],
    )
    screen.figure_table("Figures", compared.comparison_columns(found, system))
    screen.figure_table(
        "What the fouling takes at this weather",
        [("loss, 90 % interval", compared.loss_figures(found, system))],
    )


page()
