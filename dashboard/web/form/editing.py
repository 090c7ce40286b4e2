"""Drafts of one tab: which one is on the screen, how it is kept and saved, and two tabs that save one unit.

A tab that opens the form of a unit goes on with what was typed into it last, unless that is being typed on
another device just now, where it is offered instead.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple, cast

import streamlit as st
from streamlit import runtime
from streamlit.runtime.scriptrunner import get_script_run_ctx

from calibration.case.errors import CaseError, Path
from calibration.case.file import fingerprint
from calibration.case.records import Case
from calibration.case.units import System
from dashboard.web import screen, session
from dashboard.web.form import stored_drafts
from dashboard.web.form.draft import Draft, Typed, draft_of, key_at, new_draft
from dashboard.workspace import Held, copy_title, with_title

DRAFTS = "drafts"
NEW = ""  # under which the draft of a new unit is kept


class _Holder(NamedTuple):
    """Who types a draft: the session of a tab, and the address of its device."""

    session: str
    device: str | None


_HOLDERS: dict[str, _Holder] = {}
"""Holders of drafts in this process, by the drafts' keys."""


def _drafts() -> dict[str, Draft]:
    return cast("dict[str, Draft]", st.session_state.setdefault(DRAFTS, {}))


def start_new(system: System) -> None:
    """An empty form for a new unit, unless one is half filled in."""
    drafts = _drafts()
    if NEW not in drafts or not drafts[NEW].changes():
        drafts[NEW] = _last_typed(NEW) or new_draft(system)


def draft_for(opened: session.Opened | None) -> Draft:
    """The draft of the open unit, or of a new one where none is open.

    Parameters
    ----------
    opened : Opened or None
        The unit as its file says now.

    Returns
    -------
    Draft
        What was typed before in this tab, else what was typed last and not saved; read again where nothing
        was typed and the file is a newer one.
    """
    drafts = _drafts()
    name = opened.name if opened else NEW
    draft = drafts.get(name)
    if draft is None:
        draft = _last_typed(name)
    if opened is None:
        draft = draft or new_draft(session.system())
    elif draft is None or (draft.version != opened.version and _is_in(draft, opened)):
        draft = draft_of(opened.case, opened.name, opened.version)
    drafts[name] = draft
    return draft


def _is_in(draft: Draft, opened: session.Opened) -> bool:
    """Whether a newer version of the unit has all that was typed, as where nothing was."""
    together = merged_draft(draft, draft_of(opened.case, opened.name, opened.version))
    return not draft.changes() or (together is not None and not together.changes())


def _last_typed(name: str) -> Draft | None:
    """What was typed last for a unit and not saved; None for nothing, and where another device types it."""
    me = _holder()
    for found, written in stored_drafts.stored(session.workspace().folder, name):
        holder = _HOLDERS.get(found.key)
        typed_now = holder is not None and _is_there(holder)
        if not typed_now or (holder is not None and holder.device == me.device):
            return _taken(found, f"{written:%Y-%m-%d %H:%M}", copied=typed_now)
    return None


def typed_elsewhere(draft: Draft) -> list[tuple[Draft, str]]:
    """Drafts of the same unit that others type just now, each with the time of its last change."""
    found = stored_drafts.stored(session.workspace().folder, draft.name)
    return [
        (one.draft, f"{one.written:%H:%M}")
        for one in found
        if one.draft.key != draft.key
        and one.draft.entries != draft.entries
        and one.draft.key in _HOLDERS
        and _is_there(_HOLDERS[one.draft.key])
    ]


def go_on_with(draft: Draft, moment: str) -> None:
    """Go on in this tab with a copy of what others type."""
    _drafts()[draft.name] = _taken(draft, moment, copied=True)


def _taken(found: Draft, moment: str, copied: bool) -> Draft:
    """A stored draft as one of this tab."""
    draft = replace(found, key=Draft().key, origin=found.origin) if copied else found
    draft.remark = f"What was typed until {moment} and not saved is here again."
    _HOLDERS[draft.key] = _holder()
    return draft


def _holder() -> _Holder:
    context = get_script_run_ctx()
    return _Holder(context.session_id if context else "", st.context.ip_address)


def _is_there(holder: _Holder) -> bool:
    """Whether a tab is still connected."""
    return runtime.exists() and runtime.get_instance().is_active_session(holder.session) is True


def keep(draft: Draft) -> str:
    """Write what was typed to the disk where it is not there yet.

    Parameters
    ----------
    draft : Draft
        On the screen.

    Returns
    -------
    str
        Why it could not be written; empty where it was, or need not be.
    """
    state = (draft.entries, draft.visits, draft.version)
    kept = st.session_state.setdefault("kept_drafts", {})
    if kept.get(draft.key) == state:
        return ""
    if session.workspace().read_only:
        return "The units are shared for reading only: nothing that is typed here is stored."
    folder = session.workspace().folder
    try:
        if draft.changes():
            stored_drafts.store(folder, draft)
            _HOLDERS[draft.key] = _holder()
        else:
            stored_drafts.forget(folder, draft.key)
    except OSError as error:
        return f"The draft cannot be written to {folder}: {error.strerror or error}"
    kept[draft.key] = (dict(draft.entries), list(draft.visits), draft.version)
    return ""


def add_visits(visits: Sequence[Mapping[str, str]], opened: session.Opened | None, system: System) -> None:
    """Put visits that were read in into the form of the open unit, or of a new one; nothing is saved yet.

    Parameters
    ----------
    visits : sequence of mappings of str to str
        Texts by key.
    opened : Opened or None
        The unit; for the demo, which stays as it is, a new one.
    system : {"US", "SI"}
        System of the texts.
    """
    if opened is None or opened.is_demo:
        session.close_unit()
        draft = draft_for(None)
    else:
        draft = draft_for(opened)
    if draft.base is None:
        for number in list(draft.visits):
            if not draft.typed_in(number):
                draft.drop_visit(number)
    for visit in visits:
        draft.add_visit(visit, system)


def save(draft: Draft, system: System) -> bool:
    """Write a draft to the workspace.

    Parameters
    ----------
    draft : Draft
        What was typed.
    system : {"US", "SI"}
        Units of the screen, in which a new unit is written.

    Returns
    -------
    bool
        Whether it was written; otherwise everything typed is still there, and the page says why.
    """
    draft.tried, draft.message = True, ""
    case = draft.checked(draft.base.units if draft.base else system).case
    if case is None:
        return False
    try:
        if draft.base is None:
            held = session.workspace().create(case)
        else:
            held = session.workspace().save(Held(draft.name, draft.base, draft.version), case)
    except CaseError as error:
        draft.message = error.problems[0].sentence
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        draft.message = f"The folder {session.workspace().folder} cannot be written to: {reason}"
    if draft.message:
        return False
    _take_over(held, draft)
    return True


def _take_over(held: Held, draft: Draft) -> None:
    """The saved version becomes the one on the screen; its fields keep their places."""
    stored_drafts.forget_saved(session.workspace().folder, draft)
    fresh = draft_of(held.case, held.name, held.version)
    if draft.base is None:
        _drafts().pop(NEW, None)
        session.open_unit(held.name)
    _drafts()[held.name] = fresh


def keep_copy(case: Case) -> None:
    """Write a copy of a case to the workspace and open it."""
    workspace = session.workspace()
    titles = {one.title for one in workspace.titles()}
    held = workspace.create(with_title(case, copy_title(case.unit.name, titles)))
    session.open_unit(held.name)


def message(draft: Draft) -> None:
    """Why the last save did not happen, where the entries were not the reason."""
    if draft.message:
        st.error(screen.plain(f"{draft.message}. What you typed is still here."))


def conflict(draft: Draft) -> None:
    """When the file is no longer the one that was opened: who changed what, and the ways out."""
    if draft.base is None:
        return
    workspace = session.workspace()
    if fingerprint(workspace.folder / workspace.checked(draft.name)) == draft.version:
        return
    try:
        theirs = workspace.read(draft.name)
    except (CaseError, ValueError):
        st.warning("This unit was removed, changed or damaged elsewhere. What you typed is still here.")
        _offer_copy(draft)
        return
    newer = draft_of(theirs.case, theirs.name, theirs.version)
    if not workspace.is_same_unit(Held(draft.name, draft.base, draft.version), theirs):
        st.warning(
            f"{screen.plain(draft.name)} holds another unit now. What you typed belongs to the former unit "
            "and is not added to this one."
        )
        with st.container(horizontal=True, key="conflict"):
            _offer_theirs(draft, newer)
            _offer_copy(draft)
        return
    places = _differences(draft_of(draft.base), newer)
    st.warning(
        f"This unit was also saved elsewhere ({', '.join(places[:6]) or 'visits'}"
        f"{' and more' if len(places) > 6 else ''}). That version is not overwritten, and what you "
        "typed is still here."
    )
    with st.container(horizontal=True, key="conflict"):
        together = merged_draft(draft, newer)
        if together is not None and st.button("Add my changes to that version", key="merge"):
            _put_in_place_of(draft, together)
            st.rerun()
        _offer_theirs(draft, newer)
        _offer_copy(draft)


def _offer_theirs(draft: Draft, newer: Draft) -> None:
    if st.button("Use that version, discard mine", key="take_theirs"):
        _put_in_place_of(draft, newer)
        st.rerun()


def _put_in_place_of(draft: Draft, other: Draft) -> None:
    """Another draft of the same unit on the screen; the former one is not needed any more."""
    stored_drafts.forget(session.workspace().folder, draft.key)
    _drafts()[draft.name] = other


def _offer_copy(draft: Draft) -> None:
    if st.button("Save mine as a separate unit", key="keep_mine") and draft.base:
        draft.tried = True
        case = draft.checked(draft.base.units).case
        if case is None:
            draft.message = "Fix the marked fields first"
        else:
            stored_drafts.forget(session.workspace().folder, draft.key)
            _drafts().pop(draft.name, None)
            keep_copy(case)
            st.rerun()


def _differences(older: Draft, newer: Draft) -> list[str]:
    """Words of the fields in which two versions differ."""
    paths = [
        path
        for path in {**older.entries, **newer.entries}
        if older.entries.get(path) != newer.entries.get(path)
    ]
    words = []
    for path in paths:
        key = key_at(path)
        words.append(key.words if key else str(path[-1]))
    return list(dict.fromkeys(words))


def merged_draft(mine: Draft, newer: Draft) -> Draft | None:
    """My changes on top of a newer version.

    Parameters
    ----------
    mine : Draft
        Made on an older version.
    newer : Draft
        The newer version.

    Returns
    -------
    Draft or None
        None where both changed one field, not to the same, or visits were added or removed by the others.
    """
    if mine.base is None:
        return None
    older = draft_of(mine.base)
    if newer.visits != older.visits:
        return None
    changed = _changed(older.entries, mine.entries)
    by_both = changed & _changed(older.entries, newer.entries)
    if any(mine.entries.get(path) != newer.entries.get(path) for path in by_both):
        return None
    together = Draft(dict(newer.entries), list(mine.visits), newer.base, newer.name, newer.version)
    gone = set(newer.visits) - set(mine.visits)
    for path in changed:
        if path in mine.entries:
            together.entries[path] = mine.entries[path]
        else:
            together.entries.pop(path, None)
    together.entries = {p: t for p, t in together.entries.items() if p[0] != "visit" or p[1] not in gone}
    return together


def _changed(older: dict[Path, Typed], newer: dict[Path, Typed]) -> set[Path]:
    return {path for path in {*older, *newer} if older.get(path) != newer.get(path)}
