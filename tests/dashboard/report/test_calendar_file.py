"""A plan as a calendar: escaped texts, folded lines, the same bytes each time."""

import datetime as dt

import numpy as np

from calibration.fleet.crew_days import Visit
from calibration.fleet.crew_plan import CrewPlan
from calibration.fleet.jobs_to_plan import UnitJob
from calibration.fleet.plan import Crews, Plan
from dashboard.report.calendar_file import LONGEST_LINE, calendar_file

DAY = dt.date(2026, 6, 2)
SITE = "Käse & Brot; north, " + "über " * 20


def made():
    job = UnitJob("unit 1, roof", SITE, "clean", 1.5, 100.0, np.array([200.0]))
    plan = Plan(np.array([0]), 1, 40.0, 40.0)
    visit = Visit(0, DAY, 2, 2.25, SITE, (0,))
    return CrewPlan((job,), Crews(np.array([5])), plan, (visit,), plan, plan, "USD")


def test_lines_are_folded_between_letters_and_texts_escaped():
    content = calendar_file(made(), dt.date(2026, 6, 1))
    lines = content.split(b"\r\n")
    assert content.endswith(b"END:VCALENDAR\r\n")
    assert max(map(len, lines)) <= LONGEST_LINE
    text = content.decode("utf-8").replace("\r\n ", "")
    assert "LOCATION:Käse & Brot\\; north\\, über über" in text
    assert "DESCRIPTION:unit 1\\, roof: clean the condenser coil" in text
    assert "DTSTART:20260602T101500\r\nDTEND:20260602T114500" in text


def test_the_same_plan_gives_the_same_bytes():
    assert calendar_file(made(), DAY) == calendar_file(made(), DAY)
