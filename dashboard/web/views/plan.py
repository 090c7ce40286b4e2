"""Which unit in which week? The crew's plan from the table of all units, as a calendar."""

import datetime as dt
from collections.abc import Mapping, Sequence
from contextlib import suppress
from functools import partial

import streamlit as st

from calibration.case.errors import CaseError
from calibration.fleet.crew_days import working_days
from calibration.fleet.crew_plan import (
    LONGEST_DAY,
    LONGEST_WAY,
    MOST_CREWS,
    MOST_WEEKS,
    SHORTEST_DAY,
    SHORTEST_JOB,
    CrewPlan,
    Terms,
)
from calibration.fleet.jobs_to_plan import DAYS_A_WEEK, HOURS
from calibration.fleet.ranking import Row
from dashboard.report.calendar_file import calendar_file
from dashboard.report.work_order import orders_file
from dashboard.results.fleet import plan as results
from dashboard.results.html_text import escape
from dashboard.web import cached, screen, session
from dashboard.web.fleet_page import RESULTS
from dashboard.web.page_list import PLAN, UNITS, link

LEAD = "Cleanings, readings and other work put into weeks so that running, cleaning and travel cost least."
NOTHING = "There is nothing to plan yet: first work out all units."
JOBS = {"clean": "Hours of a cleaning", "measure": "Hours of readings alone", "repair": "Hours of other work"}
ALL_WEEKS = "All weeks"


def page() -> None:
    """Draw the page."""
    screen.head(PLAN, None, LEAD)
    path = session.workspace().folder / RESULTS
    if not path.is_file():
        st.write(NOTHING)
        link(UNITS, "All units")
        return
    changed = path.stat().st_mtime_ns
    try:
        made = cached.plan_of_rows(path, changed, terms := _terms(cached.fleet_rows(path, changed)))
    except CaseError as problem:
        screen.problems("The table of all units cannot be read", [str(one) for one in problem.problems])
        return
    except ValueError as problem:
        screen.problems("This cannot be planned", str(problem).splitlines())
        return
    screen.finding(results.plan_sentences(made))
    _not_planned(made)
    if made.visits:
        _downloads(made, terms)
        _orders(made)
        _calendar(made)


def _terms(rows: Sequence[Row]) -> Terms:
    """What is asked for: first day, weeks, crews, hours, prices, days off, dates to keep."""
    with st.container(horizontal=True, key="plan_terms", vertical_alignment="bottom"):
        first = st.date_input("From", _usual_day(rows), key="plan_from", format=_date_order())
        weeks = st.number_input("Weeks", 1, MOST_WEEKS, 13, key="plan_weeks")
        crews = st.number_input("Crews", 1, MOST_CREWS, 1, key="plan_crews")
        hours = st.number_input("Hours a day", SHORTEST_DAY, LONGEST_DAY, 8.0, 0.5, key="plan_hours")
        call_out = st.number_input("Price of a call-out", 0.0, None, 60.0, 5.0, key="plan_call_out")
        travel = st.number_input("Hours of travel", 0.0, LONGEST_WAY, 0.5, 0.25, key="plan_travel")
    with st.expander("Job times, days off, dates to keep", key="plan_more"):
        with st.container(horizontal=True, key="plan_jobs", vertical_alignment="bottom"):
            jobs = {
                work: st.number_input(words, SHORTEST_JOB, LONGEST_DAY, HOURS[work], 0.25, key=f"plan_{work}")
                for work, words in JOBS.items()
            }
        off = _days_off(first, int(weeks))
        must = _must(rows, first + dt.timedelta(days=DAYS_A_WEEK * int(weeks) - 1))
    return Terms(first, int(weeks), int(crews), float(hours), float(travel), float(call_out), jobs, off, must)


def _date_order() -> str:
    return session.date_order(session.system())


def _days_off(first: dt.date, weeks: int) -> tuple[dt.date, ...]:
    """Days on which nobody works, out of those of the plan; one that was chosen stays when the plan moves."""
    chosen = st.session_state.get("plan_off", [])
    days = sorted({day for week in working_days(first, weeks) for day in week} | set(chosen))
    off = st.multiselect("Days off", days, format_func=lambda day: f"{day:%a} {day}", key="plan_off")
    return tuple(sorted(off))


def _must(rows: Sequence[Row], last: dt.date) -> Mapping[tuple[str, str], dt.date]:
    """Units that must be visited, each with the day by which."""
    units = {f"{row['site']}, {row['unit']}" if row["site"] else str(row["unit"]): row for row in rows}
    chosen = st.multiselect("Must be done", list(units), key="plan_must")
    must: dict[tuple[str, str], dt.date] = {}
    with st.container(horizontal=True, key="plan_dates", vertical_alignment="bottom"):
        for name in chosen:
            words, row = f"{screen.plain(name)}: by", units[name]
            by = st.date_input(words, last, key=f"plan_by_{name}", format=_date_order())
            must[str(row["site"] or ""), str(row["unit"])] = by
    return must


def _usual_day(rows: Sequence[Row]) -> dt.date:
    """The Monday after the day for which the units were worked out last."""
    days = [day for row in rows if (day := _day_of(str(row.get("as_of") or ""))) is not None]
    last = max(days) if days else dt.date.today()
    return last + dt.timedelta(days=7 - last.weekday())


def _day_of(text: str) -> dt.date | None:
    """A date as the table has it; None where it is none."""
    with suppress(ValueError):
        return dt.date.fromisoformat(text)
    return None


def _not_planned(made: CrewPlan) -> None:
    left = results.not_planned_rows(made)
    if left:
        with st.expander(f"Jobs that are not planned ({len(left)})", key="plan_left"):
            rows = [[one["unit"], one["site"], one["jobs"]] for one in left[: results.SHOWN]]
            screen.text_table("", ["", "site", "what to do"], rows)
            if len(left) > results.SHOWN:
                st.caption(f"and {len(left) - results.SHOWN} more; all of them: coiltoll plan --json")


def _downloads(made: CrewPlan, terms: Terms) -> None:
    with st.container(horizontal=True, key="plan_files"):
        table, calendar = results.plan_csv(made), calendar_file(made, terms.first_day)
        st.download_button("Plan as CSV", table, "plan.csv", "text/csv", on_click="ignore")
        st.download_button("Calendar file", calendar, "plan.ics", "text/calendar", on_click="ignore")


def _orders(made: CrewPlan) -> None:
    """Work orders: of all weeks, of one week, of one visit."""
    weeks = results.visits_by_week(made)
    with st.container(horizontal=True, key="plan_orders", vertical_alignment="bottom"):
        names = {ALL_WEEKS: list(made.visits)} | {f"Week of {day}": some for day, some in weeks.items()}
        week = st.selectbox("Work orders of", list(names), key="orders_week") or ALL_WEEKS
        visits = {f"All {len(names[week])} visits": names[week]}
        visits |= {results.visit_words(one): [one] for one in names[week]}
        visit = st.selectbox("Visit", list(visits), key=f"orders_visit_{week}")
        asked = tuple(visits.get(visit or "", names[week]))
        alone = len(asked) == 1
        st.download_button(
            "Work order, PDF" if alone else f"{len(asked)} work orders, ZIP of PDFs",
            partial(orders_file, made, asked),  # made when it is asked for
            "work-order.pdf" if alone else "work-orders.zip",
            "application/pdf" if alone else "application/zip",
            key="orders_file",
            on_click="ignore",
            icon=":material/download:",
        )


def _calendar(made: CrewPlan) -> None:
    """Week after week; on a phone a list of days."""
    st.subheader("The weeks", anchor=False)
    for week in results.calendar_weeks(made):
        days = "".join(_day(day) for day in week)
        st.html(
            f'<section class="ct-week"><h3>Week of {week[0].date.isoformat()}</h3><ol>{days}</ol></section>'
        )


def _day(day: results.PlannedDay) -> str:
    visits = "".join(
        f"<div><b>{escape(one.site or one.lines[0])}</b> <small>{one.crew}</small><ul>"
        f"{''.join(f'<li>{escape(line)}</li>' for line in one.lines)}</ul></div>"
        for one in day.visits
    )
    free = "" if day.visits else ' class="free"'
    return f"<li{free}><span>{day.date:%a} {day.date.day}</span>{visits}</li>"


page()
