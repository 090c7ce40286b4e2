"""Read in a file: a case, a table of visits or of many units, or a log of readings over time."""

from typing import TYPE_CHECKING

import streamlit as st

from calibration.case.errors import CaseError
from calibration.case.file import LARGEST_FILE, parse_case
from calibration.case.keys import keys_of
from calibration.case.units import System
from calibration.files.visit_table import VisitTable, guessed_keys, read_visit_table, visit_entries
from dashboard.web import fleet_page, log_page, screen, session
from dashboard.web.form import editing
from dashboard.web.page_list import EDIT, IMPORT, SHORT, go
from model.properties.moist_air import STANDARD_PRESSURE

if TYPE_CHECKING:
    from streamlit.runtime.uploaded_file_manager import UploadedFile

LEAD = "A file is checked first. Nothing is saved until you confirm."
CASE, TABLE, FLEET, LOG = "A case file", "A table of visits", "A table of units", "A log over time"
KINDS = {
    CASE: ["toml"],
    TABLE: ["csv", "xlsx", "txt", "tsv"],
    FLEET: ["csv", "xlsx", "parquet", "txt", "tsv"],
    LOG: ["csv", "txt", "tsv"],
}
LEFT_OUT = "leave out"
SHOWN_ROWS = 8


def page() -> None:
    """Draw the page."""
    screen.writable_or_stop(IMPORT)
    opened = session.opened()
    screen.head(IMPORT, opened, LEAD)
    kind = st.segmented_control(
        "What is it?", list(KINDS), default=CASE, required=True, key="kind", persist_state="session"
    )
    kind = kind or CASE
    words = f"{kind} ({', '.join(KINDS[kind])})"
    if kind == FLEET:
        _attempt(kind, st.file_uploader(words, KINDS[kind], True, key=f"file_{kind}"), opened)
    else:
        file = st.file_uploader(words, KINDS[kind], key=f"file_{kind}")
        _attempt(kind, [] if file is None else [file], opened)


def _attempt(kind: str, files: "list[UploadedFile]", opened: session.Opened | None) -> None:
    """Read what was uploaded, or say what can be."""
    if not files:
        _words_about(kind)
        return
    file = files[0]
    try:
        if kind == CASE:
            _read_case(file.getvalue())
        elif kind == TABLE:
            _read_table(file.getvalue(), file.name, opened)
        elif kind == FLEET:
            fleet_page.read(files)
        else:
            log_page.read(file, opened)
    except CaseError as error:
        screen.problems("This file cannot be read in", [str(problem) for problem in error.problems])


def _words_about(kind: str) -> None:
    words = {
        CASE: "A file downloaded here or written by hand: one unit with its visits.",
        TABLE: "One visit in each row or column. Columns are matched to readings; matches can be changed.",
        FLEET: "Many units: one visit in each row, with unit, site and nameplate. Each unit becomes a file. "
        "A file of corrected rows is read in together with its table.",
        LOG: "Readings every few seconds. The averages of the longest steady stretch become a visit.",
    }
    st.caption(words[kind])


def _read_case(content: bytes) -> None:
    """A case file, to be saved as a unit of its own."""
    if len(content) > LARGEST_FILE:
        screen.problems(
            "This file cannot be read in", [f"It is longer than the {LARGEST_FILE} bytes of a case file"]
        )
        return
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        screen.problems("This file cannot be read in", [f"It is not text in UTF-8 (byte {error.start + 1})"])
        return
    case = parse_case(text)
    st.write(f"**{screen.plain(case.unit.name)}**: {case.unit.refrigerant}, {len(case.visits)} visits.")
    if st.button("Save as a unit", type="primary", key="keep_case"):
        held = session.workspace().create(case, text)
        session.open_unit(held.name)
        go(SHORT)


def _read_table(content: bytes, name: str, opened: session.Opened | None) -> None:
    """A table of visits: match its columns, look at them, put them into the form."""
    table = read_visit_table(content, name)
    system = session.system(opened.case if opened else None)
    keys = _matched(table)
    ambient = opened.case.unit.ambient_pressure if opened else STANDARD_PRESSURE
    visits = visit_entries(table, keys, system, ambient)
    coil = st.segmented_control(
        "Coil of visits without an entry for it", keys_of("visit")["coil"].choices, default="as found",
        required=True, key="table_coil",
    )  # fmt: skip
    chosen = [name for name in keys if name]
    labels = [keys_of("visit")[key].label(system) for key in chosen]
    rows = [
        [str(place), *(visit.get(key, "") for key in chosen)] for place, visit in enumerate(visits, start=1)
    ]
    screen.text_table(f"{len(visits)} visits, in {system} units", ["", *labels], rows[:SHOWN_ROWS])
    for sentence in _to_look_at(table, keys, system):
        st.caption(screen.plain(sentence))
    where = opened.case.unit.name if opened and not opened.is_demo else "a new unit"
    if st.button(f"Add them to the form of {screen.plain(where)}", type="primary", key="take_table"):
        editing.add_visits([{"coil": coil or "as found"} | visit for visit in visits], opened, system)
        go(EDIT)


def _to_look_at(table: VisitTable, keys: list[str | None], system: System) -> list[str]:
    """What was left out, and how dates were read that can be read in two ways."""
    lines = []
    left = [header for header, key in zip(table.headers, keys, strict=True) if key is None]
    if left:
        lines.append(f"Left out: {', '.join(f'“{header[:60]}”' for header in left)}.")
    if any("/" in row[place] for row in table.rows for place, key in enumerate(keys) if key == "date"):
        lines.append(f"Dates with slashes are read {'day' if system == 'SI' else 'month'} first.")
    return lines


def _matched(table: VisitTable) -> list[str | None]:
    """Chooser of the reading of each column, at first what its header is like."""
    names = {LEFT_OUT: LEFT_OUT} | {key.name: key.words for key in keys_of("visit").values()}
    chosen: list[str | None] = []
    for place, (header, guess) in enumerate(zip(table.headers, guessed_keys(table), strict=True)):
        example = next((row[place] for row in table.rows if row[place]), "")
        if place % 2 == 0:
            columns = st.columns(2, gap="medium")
        with columns[place % 2]:
            name = st.selectbox(
                f"Column “{screen.plain(header[:60])}”, such as {screen.plain(example[:20])}",
                list(names),
                index=list(names).index(guess or LEFT_OUT),
                format_func=lambda name: names[name],
                key=f"column_{place}_{header[:40]}",
            )
        chosen.append(None if name == LEFT_OUT else name)
    return chosen


page()
