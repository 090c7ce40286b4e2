"""Unit and visits: one form for a new unit, and the same fields for a stored unit."""

from dataclasses import replace

import streamlit as st

from calibration.case.errors import CaseError
from calibration.case.units import System
from dashboard.web import screen, session
from dashboard.web.form import at_once, editing
from dashboard.web.form.draft import Draft
from dashboard.web.form.fields import Form, summary, units_of_measure
from dashboard.web.form.unit_form import meters, nameplate, report, season
from dashboard.web.form.visit_form import kept_visits, visit_form
from dashboard.web.page_list import EDIT, SHORT, go

LEAD = (
    "Fill in what you know and leave the rest empty. Each number is checked as you type. Switching between "
    "US and SI converts it."
)
TWO_COLUMNS = (
    "Two visits side by side, like two columns on paper: once with a clean condenser coil, once as found. "
    "One of them is enough. Without a clean one the clean baseline rests on the nameplate, and the 90 % "
    "ranges are wider."
)
SAVED = "saved"  # in the session from a save to the page after it
PARTS = {
    "Visits": kept_visits,
    "Nameplate": nameplate,
    "Meters": meters,
    "Season and prices": season,
    "Report": report,
}


def page() -> None:
    """Draw the page."""
    screen.writable_or_stop(EDIT)
    if st.session_state.pop("wanted_form", "") == "new":
        session.close_unit()
        editing.start_new(session.system())
    opened = session.opened()
    if opened is not None and opened.is_demo:
        screen.head(EDIT, opened)
        _demo_is_fixed(opened)
        return
    screen.head(EDIT, opened, LEAD, "" if opened else "Enter your unit")
    draft = editing.draft_for(opened)
    for other, moment in editing.typed_elsewhere(draft):
        _offer(other, moment)
    _form(draft, session.system(opened.case if opened else None))


def _offer(other: Draft, moment: str) -> None:
    """What is being typed elsewhere for the same unit, to go on with here."""
    words = f"Go on here with what is being typed elsewhere ({moment}, {_count(other.changes(), 'change')})"
    if st.button(words, key=f"take_{other.key}"):
        editing.go_on_with(other, moment)
        st.rerun()


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _demo_is_fixed(opened: session.Opened) -> None:
    st.write("The demo cannot be changed, but a copy of it can.")
    if st.button("Make a copy", type="primary", key="copy_demo"):
        editing.keep_copy(opened.case)
        st.rerun()
    if st.button("Enter your own unit instead", key="own_instead"):
        st.session_state["wanted_form"] = "new"
        st.rerun()


@st.fragment
def _form(draft: Draft, system: System) -> None:
    """Everything that is typed; redrawn without the rest of the page."""
    _after_saving()
    not_kept = editing.keep(draft)
    if not_kept:
        st.warning(screen.plain(not_kept))
    form = Form(draft, system, at_once.checked(draft, system))
    _steps_back(draft, system)
    editing.conflict(draft)
    if draft.base is None:
        form = replace(form, scales=units_of_measure())
        st.subheader("The unit", anchor=False)
        nameplate(form)
        _readings_of_a_new_unit(form)
    else:
        part = st.segmented_control(
            "Part", list(PARTS), default="Visits", required=True, key="part", persist_state="session"
        )
        if part == "Visits":
            form = replace(form, scales=units_of_measure())
        PARTS[part or "Visits"](form)
    summary(form)
    editing.message(draft)
    _save(form)


def _readings_of_a_new_unit(form: Form) -> None:
    """Two columns as long as there is one clean visit and one as found; else one visit at a time."""
    draft = form.draft
    coils = [draft.text(("visit", number, "coil"), form.system) for number in draft.visits]
    if coils == ["clean", "as found"]:
        st.caption(TWO_COLUMNS)
        visit_form(form, tuple(zip(draft.visits, ("coil clean", "as found"), strict=True)))
    else:
        kept_visits(form)


def _steps_back(draft: Draft, system: System) -> None:
    """Undo, and the way to start again: at the head of the form, away from what saves it."""
    if draft.remark:
        st.info(screen.plain(draft.remark))
    changed = draft.changes()
    with st.container(horizontal=True, key="steps_back", horizontal_alignment="right"):
        if draft.steps:
            st.button(f"Undo: {draft.steps[-1].words}", key="undo", on_click=draft.undo)
        elif draft.base and not changed and session.workspace().previous(draft.name) is not None:
            st.button("Undo the last save", key="undo_save", on_click=_undo_save, args=(draft,))
        if changed:
            words = "Discard changes" if draft.base else "Empty the form"
            st.button(words, key="drop", on_click=draft.reset, args=(system,))


def _undo_save(draft: Draft) -> None:
    """Put the version before the last save back."""
    try:
        session.workspace().put_previous_back(draft.name)
        session.notify("The version before the last save is back; the same button undoes that.")
    except CaseError as problem:
        draft.message = problem.problems[0].sentence
    except (OSError, ValueError) as problem:
        draft.message = str(problem)
    st.session_state[SAVED] = "kept"


def _save(form: Form) -> None:
    """Save, and what is not saved yet."""
    draft = form.draft
    changed = draft.changes()
    new = draft.base is None
    with st.container(horizontal=True, key="save_row", vertical_alignment="center"):
        st.button(
            "Save and see the result" if new else "Save",
            type="primary",
            key="save",
            disabled=not new and not changed,
            on_click=_try_to_save,
            args=(draft, form.system),
        )
        if changed:
            st.caption(f"{_count(changed, 'unsaved change')}, kept as a draft.")
        elif not new:
            st.caption("Everything is saved.")


def _try_to_save(draft: Draft, system: System) -> None:
    new = draft.base is None
    if editing.save(draft, system):
        st.session_state[SAVED] = "new" if new else "kept"


def _after_saving() -> None:
    """Turn to the result of a new unit; show a stored one as it is saved."""
    match st.session_state.pop(SAVED, ""):
        case "new":
            go(SHORT)
        case "kept":
            st.rerun()


page()
