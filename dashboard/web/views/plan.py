"""Which unit in which week? The crew's plan from the table of all units, as a calendar."""

import datetime as dt
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

import streamlit as st

from calibration.case.errors import CaseError
from calibration.fleet.crew_plan import CrewPlan, Terms
from calibration.fleet.ranking import Row
from dashboard.report.calendar_file import calendar_file
from dashboard.results.fleet import plan as results
from dashboard.results.html_text import escape
from dashboard.web import cached, screen, session
from dashboard.web.fleet_page import RESULTS
from dashboard.web.page_list import PLAN, UNITS, link

LEAD = "Cleanings, readings and other work put into weeks so that running, cleaning and travel cost least."
NOTHING = "There is nothing to plan yet: first work out all units."
MOST_CREWS, MOST_WEEKS = 50, 52


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
    _downloads(made, terms, path)
    _calendar(made)


def _terms(rows: Sequence[Row]) -> Terms:
    """What is asked for: first day, weeks, crews, hours, prices."""
    with st.container(horizontal=True, key="plan_terms", vertical_alignment="bottom"):
        first = st.date_input(
            "From", _usual_day(rows), key="plan_from", format=session.date_order(session.system())
        )
        weeks = st.number_input("Weeks", 1, MOST_WEEKS, 13, key="plan_weeks")
        crews = st.number_input("Crews", 1, MOST_CREWS, 1, key="plan_crews")
        hours = st.number_input("Hours a day", 1.0, 24.0, 8.0, 0.5, key="plan_hours")
        call_out = st.number_input("Price of a call-out", 0.0, 10_000.0, 60.0, 5.0, key="plan_call_out")
        travel = st.number_input("Hours of the way", 0.0, 8.0, 0.5, 0.25, key="plan_travel")
    return Terms(first, int(weeks), int(crews), float(hours), float(travel), float(call_out))


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


def _downloads(made: CrewPlan, terms: Terms, path: Path) -> None:
    with st.container(horizontal=True, key="plan_files"):
        table, calendar = results.plan_csv(made), calendar_file(made, terms.first_day)
        st.download_button("Plan as CSV", table, "plan.csv", "text/csv", on_click="ignore")
        st.download_button("Calendar file", calendar, "plan.ics", "text/calendar", on_click="ignore")
    st.caption(
        "Work orders of each visit, holidays and dates that must be kept: "
        f"coiltoll plan {screen.plain(path.name)} --orders FOLDER --holiday DATE --must SITE/UNIT=DATE"
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
