"""All stored units: open, duplicate, download, remove, restore."""

from collections.abc import Callable

import streamlit as st

from calibration.case.errors import CaseError
from dashboard.file_names import stem_of_removed
from dashboard.web import cached, fleet_page, screen, session
from dashboard.web.page_list import EDIT, IMPORT, SHORT, UNITS, go, link
from dashboard.workspace import REMOVED, Entry, Titled, Workspace

LEAD = "One file for each unit. Every save keeps the previous version, and a removed unit can be restored."
SHOWN_AT_ONCE = 20
REMOVED_LAST = "removed_last"  # in the session: name among the removed ones


def page() -> None:
    """Draw the page."""
    screen.head(UNITS, None, LEAD)
    workspace = session.workspace()
    titles = cached.titles(workspace.folder, workspace.stamps())
    with st.container(horizontal=True, vertical_alignment="center"):
        if st.button("Enter a new unit", type="primary", key="new_unit"):
            st.session_state["wanted_form"] = "new"
            go(EDIT)
        link(IMPORT, "Read in a file")
    if not titles:
        st.write("There is no stored unit yet.")
    _undo_of_removal(workspace)
    if len(titles) > 1 or (workspace.folder / fleet_page.RESULTS).is_file():
        fleet_page.results_table(workspace)
        st.subheader("Their files", anchor=False)
    for entry in cached.entries_of(workspace.folder, _found(titles)):
        _row(workspace, entry)
    _removed(workspace)
    st.caption(f"Folder: {screen.plain(str(workspace.folder))}")


def _found(titles: tuple[Titled, ...]) -> tuple[Titled, ...]:
    """The units that are listed: all of a few, else those that are looked for."""
    if len(titles) <= SHOWN_AT_ONCE // 2:
        return titles
    asked = st.text_input("Find a unit", key="find_unit", type="search", live=True).strip().lower()
    found = tuple(one for one in titles if asked in one.title.lower() or asked in one.name)
    if len(found) > SHOWN_AT_ONCE:
        st.caption(f"The latest {SHOWN_AT_ONCE} of {len(found)}; type part of a name to find another.")
    return found[:SHOWN_AT_ONCE]


def _row(workspace: Workspace, entry: Entry) -> None:
    """One unit with what can be done to it."""
    with st.container(horizontal=True, key=f"kept_{entry.name}", vertical_alignment="center"):
        with st.container(width="stretch", gap=None):
            st.html(screen.entry_line(entry))
        if entry.readable and st.button("Open", key=f"open_{entry.name}"):
            session.open_unit(entry.name)
            go(SHORT)
        if not workspace.read_only:
            with st.popover("More", key=f"more_{entry.name}"):
                _more(workspace, entry)


def _more(workspace: Workspace, entry: Entry) -> None:
    """Duplicate, download, undo the last save, remove."""
    name = entry.name
    if entry.readable:
        st.button("Duplicate", key=f"copy_{name}", on_click=_duplicate, args=(name,), width="stretch")
    st.download_button(
        "Download the file",
        (workspace.folder / workspace.checked(name)).read_bytes(),
        file_name=name,
        mime="application/toml",
        key=f"load_{name}",
        on_click="ignore",
        width="stretch",
    )
    if workspace.previous(name) is not None:
        st.button(
            "Restore the previous version", key=f"undo_{name}", on_click=_undo, args=(name,), width="stretch"
        )
    st.button("Remove", key=f"remove_{name}", on_click=_remove, args=(name,), width="stretch")


def _duplicate(name: str) -> None:
    _attempt(lambda: f"Duplicated as {session.workspace().duplicate(name).case.unit.name}.")


def _undo(name: str) -> None:
    _attempt(
        lambda: (
            f"{session.workspace().put_previous_back(name).case.unit.name}: the previous version is restored."
        )
    )


def _remove(name: str) -> None:
    def remove() -> str:
        workspace = session.workspace()
        st.session_state[REMOVED_LAST] = workspace.remove(name, workspace.version(name))
        if session.open_name() == name:
            session.close_unit()
        return f"{name} was removed; it can be restored."

    _attempt(remove)


def _undo_of_removal(workspace: Workspace) -> None:
    """At the place of a unit that was just removed, the way back."""
    name = st.session_state.get(REMOVED_LAST)
    if name and (workspace.folder / REMOVED / name).is_file():
        words = f"Undo: bring {screen.plain(stem_of_removed(name))} back"
        st.button(words, key="undo_remove", on_click=_bring_back, args=(name,))


def _bring_back(name: str) -> None:
    _attempt(lambda: f"{session.workspace().bring_back(name).title} is restored.")


def _attempt(action: Callable[[], str]) -> None:
    """Do something to the folder and keep a sentence on how it went."""
    try:
        session.notify(action())
    except CaseError as problem:
        session.notify(str(problem.problems[0]))
    except (OSError, ValueError) as problem:
        session.notify(f"This failed: {problem}")


def _removed(workspace: Workspace) -> None:
    names = workspace.removed()
    if not names:
        return
    with st.expander(f"Removed units ({len(names)})"):
        for name in names[:SHOWN_AT_ONCE]:
            st.button(f"Restore {screen.plain(name)}", key=f"back_{name}", on_click=_bring_back, args=(name,))
        if len(names) > SHOWN_AT_ONCE:
            st.caption(f"The {SHOWN_AT_ONCE} removed last; all of them are in the folder {REMOVED}.")


page()
