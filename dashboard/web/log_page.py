"""A log on the page: the steady stretch, how steady each reading is, and the averages as a visit."""

from typing import TYPE_CHECKING

import streamlit as st

from calibration.case.keys import keys_of
from dashboard.results.steady_state import STEADINESS_HEADINGS, Steadiness, steadiness_rows
from dashboard.web import cached, screen, session
from dashboard.web.form import editing
from dashboard.web.form.draft import text_of
from dashboard.web.page_list import EDIT, go
from model.properties.moist_air import STANDARD_PRESSURE

if TYPE_CHECKING:
    from streamlit.runtime.uploaded_file_manager import UploadedFile

LANE_HEIGHT = 54  # of one reading over time [px]


def read(file: "UploadedFile", opened: session.Opened | None) -> None:
    """Results of a log, and the way into the form.

    Parameters
    ----------
    file : UploadedFile
        CSV with a column of times.
    opened : Opened or None
        The unit that the visit would belong to.

    Raises
    ------
    CaseError
        When the file is no log.
    """
    system = session.system(opened.case if opened else None)
    ambient = opened.case.unit.ambient_pressure if opened else STANDARD_PRESSURE
    found = cached.steady_log(file.getvalue(), file.name, system, ambient)
    screen.finding(found.sentences)
    screen.draw(found.chart, "log_chart", 120 + LANE_HEIGHT * max(len(found.chart.y.ticks), 2))
    _table(found.steadiness)
    if found.visit is not None:
        _take({name: text_of(value) for name, value in found.visit.items()}, opened)


def _table(rows: list[Steadiness]) -> None:
    """How steady each reading is over the stretch."""
    if rows:
        screen.text_table(
            "Readings over the stretch",
            STEADINESS_HEADINGS,
            steadiness_rows(rows),
            far=[not row.is_steady for row in rows],
        )


def _take(entries: dict[str, str], opened: session.Opened | None) -> None:
    """Put the averages into the form as a visit."""
    coils = keys_of("visit")["coil"].choices
    coil = st.segmented_control(
        "Coil at this visit", coils, default="as found", required=True, key="log_coil"
    )
    where = opened.case.unit.name if opened and not opened.is_demo else "a new unit"
    if st.button(f"Add it to the form of {screen.plain(where)}", type="primary", key="take_log"):
        system = session.system(opened.case if opened else None)
        editing.add_visits([entries | {"coil": coil or "as found"}], opened, system)
        go(EDIT)
