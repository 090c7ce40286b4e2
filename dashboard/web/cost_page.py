"""Cost of fouling and when to clean, as the body of a page."""

from datetime import date

import streamlit as st

from calibration.case.records import Case
from calibration.case.units import System
from calibration.costs.case_costs import Costs
from calibration.costs.cleaning_interval import IntervalFindings
from calibration.costs.season_cost import SeasonFindings
from dashboard.charts import cost_charts
from dashboard.results.costs import cleaning_advice, joint_dates, sensitivity
from dashboard.results.costs.season_cost import (
    NO_PRICE,
    headline_figures,
    month_columns,
    season_columns,
    season_sentences,
    worst_columns,
)
from dashboard.results.costs.season_ground import ground_sentences
from dashboard.results.costs.sensitivity import effect_sentence
from dashboard.results.costs.winter import winter_columns, year_columns
from dashboard.results.suspect_readings import cost_readings
from dashboard.web import cached, screen

SHOWN_FIRST = 2  # reasons of the advice that stand under the headline
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
    said = cost_readings(found.season.unit.whole_finding)
    rest: list[str] = []  # what the finding above says is not said again
    if found.interval is None:
        screen.finding([*lines, NO_PRICE])
        screen.tiles(headline_figures(found.season, system))
    else:
        advised = cleaning_advice.advice(found.interval)
        screen.finding([advised.headline, *said, *_first_reasons(found, advised, lines)])
        screen.tiles(
            [
                *headline_figures(found.season, system),
                *cleaning_advice.headline_figures(found.interval),
            ]
        )
        _when(found.interval, system, advised)
        rest = [one for one in lines[1:] if one not in said]
    _season(found.season, system, rest)
    _grounds(found, system)


def _first_reasons(found: Costs, advised: cleaning_advice.CleaningAdvice, lines: list[str]) -> list[str]:
    """What stands under the headline: why, and what fouling costs where it is the matter."""
    if found.season.unit.if_fouled:
        return list(advised.reasons)
    return [lines[0], *advised.reasons[:SHOWN_FIRST]]


def _when(found: IntervalFindings, system: System, advised: cleaning_advice.CleaningAdvice) -> None:
    """The interval, the day, the condition to watch, and what moves the advice."""
    supposed = found.unit.if_fouled
    st.subheader("If it were fouling: when to clean" if supposed else "When to clean", anchor=False)
    screen.draw(cost_charts.interval_chart(found), "cost_interval")
    screen.draw(cost_charts.day_chart(found), "cost_day", 320)
    rest = () if supposed else advised.reasons[SHOWN_FIRST:]
    _sentences((*rest, advised.measuring, cleaning_advice.watch_sentence(found, system)))
    if found.joint is not None:
        _sentences(tuple(joint_dates.joint_sentences(found)))
        screen.text_table("Condenser, indoor coil and filter", *joint_dates.joint_table(found))
    screen.draw(cost_charts.swing_chart(found).without_texts(), "cost_swings", 280)
    screen.text_table("How the advice moves", *sensitivity.swing_table(found))
    st.caption("Lost is what keeping to the usual interval would cost more, if the input were so.")
    words = "break-even prices" if supposed else "the condition to watch, break-even prices"
    with st.expander(f"Other rules, {words}", key="cost_rules"):
        screen.text_table("Cleaned by other rules", *cleaning_advice.rule_table(found))
        if not supposed:
            watched = cleaning_advice.watch_table(found, system)
            screen.text_table("Condensing temperature over outdoor air", *watched)
        screen.figure_table("Prices and chances", [("", cleaning_advice.interval_figures(found))])


def _season(found: SeasonFindings, system: System, lines: list[str]) -> None:
    """What the year takes: sentences, hours, months, tables."""
    words = "If it were fouling: cost in a year" if found.unit.if_fouled else "Cost of fouling in a year"
    st.subheader(words, anchor=False)
    _sentences(tuple(lines))
    _map(found)
    screen.draw(cost_charts.month_chart(found), "cost_months", 420)
    screen.figure_table("A year", season_columns(found, system))
    if found.winter is not None:
        screen.figure_table("A winter, while the unit heats", winter_columns(found, system))
    effects = cost_charts.effect_chart(found)
    if effects is not None:
        screen.draw(effects.without_texts(), "cost_effects", 320)
        _sentences((effect_sentence(found),))
    with st.expander("Month by month, and the worst hour", key="cost_months_table"):
        if found.winter is not None:
            screen.figure_table("Both seasons: cost of fouling by month", year_columns(found))
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
    """What all of it rests on."""
    st.subheader("What this rests on", anchor=False)
    lines = ground_sentences(found.season, system)
    if found.interval is not None:
        lines += cleaning_advice.ground_sentences(found.interval)
        lines += joint_dates.joint_grounds(found.interval)
    _sentences(tuple(lines))


def _sentences(sentences: tuple[str, ...]) -> None:
    st.markdown("\n".join(f"- {screen.plain(one)}" for one in sentences if one))
