"""A crew's plan as a calendar file that any calendar program opens.

References
----------
RFC 5545, Internet Calendaring and Scheduling Core Object Specification (iCalendar), 2009: lines of at most 75
octets (3.1), escaped texts (3.3.11), one component at least (3.6), a stamp and an identifier in every event
(3.6.1); from memory.
"""

from datetime import date, datetime, time, timedelta
from hashlib import sha256

from calibration.fleet.crew_days import Visit
from calibration.fleet.crew_plan import CrewPlan
from dashboard.results.fleet.plan import work_words

DAY_BEGINS = time(8, 0)
"""When a crew's day begins; common practice, no source."""
LONGEST_LINE = 75
"""Octets of a line."""
NO_EVENT = (
    *("BEGIN:VTIMEZONE", "TZID:UTC", "BEGIN:STANDARD", "DTSTART:19700101T000000"),
    *("TZOFFSETFROM:+0000", "TZOFFSETTO:+0000", "END:STANDARD", "END:VTIMEZONE"),
)
"""What a calendar holds that has no event: something, as it may not be empty."""


def calendar_file(made: CrewPlan, first_day: date) -> bytes:
    """Calendar of all visits, local times.

    Parameters
    ----------
    made : CrewPlan
    first_day : date
        Of the plan, for the stamp: the same plan gives the same bytes.

    Returns
    -------
    bytes
        iCalendar 2.0.
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Coiltoll//plan//EN", "CALSCALE:GREGORIAN"]
    for visit in made.visits:
        lines += _event(made, visit, first_day)
    if not made.visits:
        lines += NO_EVENT
    lines.append("END:VCALENDAR")
    return b"".join(_folded(line) for line in lines)


def _event(made: CrewPlan, visit: Visit, first_day: date) -> list[str]:
    jobs = [made.jobs[place] for place in visit.jobs]
    start = datetime.combine(visit.date, DAY_BEGINS) + timedelta(hours=visit.start)
    end = start + timedelta(hours=sum(job.hours for job in jobs))
    named = "|".join([visit.date.isoformat(), str(visit.crew), visit.site, *(job.unit for job in jobs)])
    what = "\n".join(f"{job.unit}: {work_words(job)}" for job in jobs)
    summary = f"Crew {visit.crew}: {visit.site or 'no site named'}, {len(jobs)} unit{'s' * (len(jobs) != 1)}"
    return [
        "BEGIN:VEVENT",
        f"UID:{sha256(named.encode()).hexdigest()[:32]}@coiltoll",
        f"DTSTAMP:{first_day:%Y%m%d}T000000Z",
        f"DTSTART:{start:%Y%m%dT%H%M%S}",
        f"DTEND:{end:%Y%m%dT%H%M%S}",
        f"SUMMARY:{_escaped(summary)}",
        f"LOCATION:{_escaped(visit.site)}",
        f"DESCRIPTION:{_escaped(what)}",
        "END:VEVENT",
    ]


def _escaped(text: str) -> str:
    plain = "".join(c for c in text.replace("\r", "") if c == "\n" or c.isprintable())
    for mark in ("\\", ";", ","):
        plain = plain.replace(mark, f"\\{mark}")
    return plain.replace("\n", "\\n")


def _folded(line: str) -> bytes:
    """A line with its end, longer ones continued after a space, no letter cut in two."""
    parts: list[bytes] = [b""]
    for letter in line:
        octets = letter.encode("utf-8")
        if len(parts[-1]) + len(octets) > LONGEST_LINE - (len(parts) > 1):
            parts.append(b"")
        parts[-1] += octets
    return b"\r\n ".join(parts) + b"\r\n"
