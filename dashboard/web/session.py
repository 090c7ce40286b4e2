"""What one browser tab has open: the unit and the system of units; kept in its session and its address.

The address carries the unit, so that a page that is loaded again, or a link that is kept, opens it again.
Nothing here is shared between tabs.
"""

from dataclasses import dataclass
from typing import cast

import streamlit as st

from calibration.case.errors import CaseError
from calibration.case.file import fingerprint
from calibration.case.records import Case
from calibration.case.units import SYSTEMS, System
from dashboard.commands.demo import DEMO_CASE
from dashboard.web import cached
from dashboard.workspace import Held, Workspace, workspace_of_session

DEMO = "demo"
"""Name under which the invented demo is open; no file of the workspace can have it."""
UNIT, SYSTEM, NOTICES, PARAMETER = "open_unit", "unit_system", "notices", "unit"
LOOKS = ("Day", "Night", "Sun")
"""Looks of the pages: of every day, dark, and black on white for a screen in the sun."""
LOOK = "look"  # in the session and in the address


@dataclass(frozen=True)
class Opened:
    """The unit that the pages are about.

    Attributes
    ----------
    name : str
        File name in the workspace, or `DEMO`.
    case : Case
        Its content.
    version : str
        Fingerprint of the file.
    """

    name: str
    case: Case
    version: str

    @property
    def is_demo(self) -> bool:
        """Whether it is the invented demo, which cannot be changed."""
        return self.name == DEMO

    @property
    def held(self) -> Held:
        """The same as the workspace takes it."""
        return Held(self.name, self.case, self.version)


def workspace() -> Workspace:
    """Folder of case files of this program."""
    return workspace_of_session()


def open_unit(name: str) -> None:
    """Open a unit of the workspace, or the demo, from now on; its units become those of the screen."""
    st.session_state[UNIT] = name
    st.session_state.pop(SYSTEM, None)


def close_unit() -> None:
    """Open nothing."""
    st.session_state[UNIT] = None


def open_name() -> str | None:
    """Name of what is open; on a first visit what the address names."""
    if UNIT not in st.session_state:
        st.session_state[UNIT] = st.query_params.get(PARAMETER)
    return cast("str | None", st.session_state[UNIT])


def opened() -> Opened | None:
    """The open unit as its file says now; None where none is open or it cannot be read any more."""
    name = open_name()
    if name is None:
        return None
    try:
        if name == DEMO:
            path = DEMO_CASE
        else:
            path = workspace().folder / workspace().checked(name)
        version = fingerprint(path)
        return Opened(name, cached.case_of_file(path, version), version)
    except CaseError as problem:
        notify(f"{name} cannot be opened: {problem.problems[0]}")
    except (ValueError, OSError) as problem:
        notify(f"{name[:80]} cannot be opened: {problem}")
    close_unit()
    return None


def keep_in_address() -> None:
    """Write the open unit into the address of the page."""
    name = st.session_state.get(UNIT)
    if name is None:
        st.query_params.pop(PARAMETER, None)
    elif st.query_params.get(PARAMETER) != name:
        st.query_params[PARAMETER] = name
    if look() and st.query_params.get(LOOK) != look():
        st.query_params[LOOK] = look()


def look() -> str:
    """The look that was chosen, in this tab or by the address; empty for that which the device asks for."""
    if LOOK not in st.session_state:
        st.session_state[LOOK] = st.query_params.get(LOOK)
    chosen = st.session_state[LOOK]
    return chosen if chosen in LOOKS else ""


def date_order(units: System) -> str:
    """Order in which dates are picked and typed."""
    return "MM/DD/YYYY" if units == "US" else "YYYY-MM-DD"


def system(case: Case | None = None) -> System:
    """System of units of the screen; at first that of the case."""
    if st.session_state.get(SYSTEM) not in SYSTEMS:
        st.session_state[SYSTEM] = case.units if case else "US"
    return cast(System, st.session_state[SYSTEM])


def notify(sentence: str) -> None:
    """Store a sentence to show on the next page that is drawn."""
    st.session_state.setdefault(NOTICES, []).append(sentence)


def notices() -> list[str]:
    """Sentences stored for this page, once."""
    return cast("list[str]", st.session_state.pop(NOTICES, []))
