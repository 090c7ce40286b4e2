"""Cost of fouling and when to clean, as the body of a page."""

from datetime import date

import streamlit as st

from calibration.case.records import Case
from calibration.case.units import System
from calibration.costs.cleaning_interval import IntervalFindings
from calibration.costs.season_cost import SeasonFindings
from dashboard.charts import cost_charts
from dashboard.results import cleaning_advice
from dashboard.results.season_cost import (
    Costs,
    ground_sentences,
    headline_figures,
    month_columns,
    season_columns,
    season_sentences,
    worst_columns,
)
from dashboard.web import cached, screen

AS_IT_IS, AS_IT_GROWS = "as it is today", "as it grows"


def show_costs(case: Case, system: System) -> None:
    """Cost of fouling, when to clean, charts, tables and assumptions; a sentence where the season fails.

    Parameters
    ----------
    case : Case
        The open unit; what it does not specify about season and prices is assumed, and listed.
    system : {"US", "SI"}
        Units of the screen.
    """
    dated = any(visit.date is not None for visit in case.visits)
    try:
        found = cached.costs(case, None if dated else date.today())
    except ValueError as problem:
        screen.problems("The season cannot be calculated", str(problem).splitlines())
        return
    lines = season_sentences(found.season, system)
    if found.interval is None:
        screen.finding([*lines, found.missing])
        screen.tiles(headline_figures(found.season, system))
    else:
        advised = cleaning_advice.advice(found.interval)
        screen.finding([advised.headline, lines[0], *advised.reasons[:2]])
        screen.tiles(
            [
                *headline_figures(found.season, system),
                *cleaning_advice.interval_figures(found.interval)[:2],
            ]
        )
        _when(found.interval, system, advised)
    # Without advice on cleaning the finding above has all sentences.
    _season(found.season, system, [] if found.interval is None else lines[1:])
    _grounds(found, system)


def _when(found: IntervalFindings, system: System, advised: cleaning_advice.Advice) -> None:
    """The interval, the day, the condition to watch, and what changes the advice."""
    st.subheader("When to clean", anchor=False)
    screen.draw(cost_charts.interval_chart(found), "cost_interval")
    screen.draw(cost_charts.day_chart(found), "cost_day", 320)
    _sentences((*advised.reasons[2:], advised.measuring, cleaning_advice.watch_sentence(found, system)))
    screen.draw(cost_charts.swing_chart(found).without_texts(), "cost_swings", 280)
    screen.text_table("How the advice changes with each input", *cleaning_advice.swing_table(found))
    st.caption("Lost: extra yearly cost of keeping the base-case interval.")
    with st.expander("Other rules, the condition to watch, break-even prices", key="cost_rules"):
        screen.text_table("Cost of other cleaning rules", *cleaning_advice.rule_table(found))
        screen.text_table("Condensing temperature over ambient", *cleaning_advice.watch_table(found, system))
        screen.figure_table("Prices and chances", [("", cleaning_advice.interval_figures(found))])


def _season(found: SeasonFindings, system: System, lines: list[str]) -> None:
    """Cost of a year: sentences, hours, months, tables."""
    st.subheader("Cost of fouling in a year", anchor=False)
    _sentences(tuple(lines))
    _map(found)
    screen.draw(cost_charts.month_chart(found), "cost_months", 420)
    screen.figure_table("A year", season_columns(found, system))
    with st.expander("Month by month, and the worst hour", key="cost_months_table"):
        screen.figure_table("Cost of fouling by month", month_columns(found))
        screen.figure_table("The worst hour", worst_columns(found, system))


@st.fragment
def _map(found: SeasonFindings) -> None:
    """Extra power hour by hour, with today's fouling or as it grows."""
    if found.extra_today is None:
        st.caption("The hourly map needs an hourly weather file.")
        return
    which = st.segmented_control(
        "Fouling", (AS_IT_IS, AS_IT_GROWS), default=AS_IT_IS, required=True, key="cost_map_which"
    )
    chart = cost_charts.year_map(found, growing=which == AS_IT_GROWS)
    if chart is not None:
        screen.draw(chart, "cost_map", 340)


def _grounds(found: Costs, system: System) -> None:
    """Basis of the figures."""
    st.subheader("Basis and assumptions", anchor=False)
    lines = ground_sentences(found.season, system)
    if found.interval is not None:
        lines += cleaning_advice.ground_sentences(found.interval)
    _sentences(tuple(lines))


def _sentences(sentences: tuple[str, ...]) -> None:
    st.markdown("\n".join(f"- {screen.plain(one)}" for one in sentences if one))
