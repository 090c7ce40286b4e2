"""How fast does it foul? The level over the months of a log, the weather and the changes under it."""

import hashlib
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import streamlit as st

from calibration.case.errors import CaseError
from calibration.case.records import Case
from calibration.case.units import System
from calibration.track.kept import KeptTrack, kept_track, track_to_keep, with_track
from calibration.track.track import Track
from dashboard.charts.track_chart import days_shown, track_chart, warmth_chart
from dashboard.results import track as results
from dashboard.web import cached, screen, session
from dashboard.web.page_list import GROWTH, links_onward

if TYPE_CHECKING:
    from streamlit.runtime.uploaded_file_manager import UploadedFile

LEAD = "The level of fouling over the months of a trend log, how fast it grows, and when cleaning pays."
NO_LOG = (
    "Give a log of this unit: months of steady running with dates, outdoor temperature and one pressure. "
    "Longer logs than can be uploaded are read by coiltoll track; with --into it keeps the level in the unit."
)
KINDS = ["csv", "txt", "tsv", "parquet"]


def page() -> None:
    """Draw the page."""
    case, system = screen.unit_or_stop(GROWTH, LEAD)
    file = st.file_uploader(f"A trend log ({', '.join(KINDS)})", KINDS, key="trend_log")
    if file is not None:
        _of_a_log(case, system, file)
    else:
        _of_the_case(case, system)
    screen.caution(case.unit.refrigerant)
    links_onward(GROWTH)


def _of_a_log(case: Case, system: System, file: "UploadedFile") -> None:
    """What an uploaded log shows, and the way into the unit."""
    content = file.getvalue()
    try:
        found = cached.tracked(case, content, file.name)
    except CaseError as error:
        screen.problems("This log cannot be followed", [str(problem) for problem in error.problems])
        return
    kept = track_to_keep(found)
    _show(case, system, kept, hashlib.sha256(content).hexdigest())
    _changes(found)
    st.subheader("What this rests on", anchor=False)
    screen.points(results.ground_sentences(found))
    _keep(case, kept)


def _of_the_case(case: Case, system: System) -> None:
    """What the unit keeps of an earlier log."""
    kept = kept_track(case)
    if kept is None:
        st.html(f'<p class="ct-lead">{NO_LOG}</p>')
        return
    _show(case, system, kept, "")
    rows = results.kept_change_rows(kept)
    if rows:
        screen.text_table("Changes", results.KEPT_HEADINGS, rows)
    screen.points([results.CANNOT_SEPARATE])


def _show(case: Case, system: System, kept: KeptTrack, digest: str) -> None:
    """Finding, level and weather; `digest` tells one log from another."""
    costs = cached.track_costs(case, kept, digest)
    screen.finding(results.level_sentences(kept, costs, case.currency))
    first, last = days_shown(kept)
    shown: tuple[date, date] = st.slider(
        "Days shown", first, last, (first, last), format="YYYY-MM-DD", key=f"days_shown_{digest[:12]}"
    )
    screen.draw(track_chart(kept, shown), "track_level", 400)
    screen.draw(warmth_chart(kept, system, shown), "track_weather", 240)


def _changes(found: Track) -> None:
    """Days on which something changed."""
    if found.events:
        screen.text_table("Changes", results.EVENT_HEADINGS, results.event_rows(found))


def _keep(case: Case, kept: KeptTrack) -> None:
    """Store growth and level in the unit."""
    opened = session.opened()
    if opened is None or opened.is_demo or session.workspace().read_only:
        return
    if with_track(case, kept) != case:
        st.button(
            "Keep it in the unit", type="primary", key="keep_track", on_click=_store, args=(opened, kept)
        )


def _store(opened: session.Opened, kept: KeptTrack) -> None:
    try:
        session.workspace().save(opened.held, with_track(replace(opened.case, source=None), kept))
        session.notify("Growth and level are stored in the unit; season and interval use them.")
    except CaseError as problem:
        session.notify(str(problem.problems[0].sentence))
    except (OSError, ValueError) as problem:
        session.notify(f"This failed: {problem}")


page()
