"""Many units on the pages: a table of them read in, and the table of their results."""

from typing import TYPE_CHECKING, Any

import streamlit as st

from calibration.case.file import parse_case
from calibration.fleet.jobs import fleet_of
from calibration.fleet.listed_units import listed_units
from calibration.fleet.ranking import ranked
from calibration.fleet.run import TO_CORRECT, run_fleet, table_to_correct
from calibration.fleet.table import fleet_table
from dashboard.charts import fleet_charts
from dashboard.results.fleet import units as results
from dashboard.results.wording import VERDICTS
from dashboard.web import cached, screen, session
from dashboard.web.page_list import UNITS, go
from dashboard.workspace import MOST_UNITS, Workspace

if TYPE_CHECKING:
    from streamlit.delta_generator import DeltaGenerator
    from streamlit.runtime.uploaded_file_manager import UploadedFile

RESULTS = "results.csv"
"""Table of results of a workspace, beside its units; `coiltoll fleet` writes the same."""
SHOWN_ROWS = 8
ROW_HEIGHT = 35  # of a table that sorts [px]
TABLE_HEIGHT = 420  # [px]


def read(file: "UploadedFile") -> None:
    """Units of a table, to be saved one file each; rows with a fault to be corrected.

    Parameters
    ----------
    file : UploadedFile
        CSV, XLSX or Parquet with a row a visit.

    Raises
    ------
    CaseError
        When the file is no table of units.
    """
    units = listed_units([fleet_table(file.getvalue(), file.name)], session.system(None))
    good = [one for one in units if one.text]
    left = [row for one in units for row in one.left_out]
    visits = sum(one.text.count("[[visit]]") for one in good)
    st.write(f"{len(good)} units with {visits} visits; {len(left)} rows are left out.")
    screen.text_table("Units", ["", "site"], [[one.unit, one.site] for one in good[:SHOWN_ROWS]])
    if left:
        rows = [[str(one.number), one.sentence] for one in left[:SHOWN_ROWS]]
        screen.text_table("Rows that are left out", ["row", "what is wrong"], rows)
        name = f"{file.name.rpartition('.')[0]}{TO_CORRECT}"
        st.download_button(
            "Download them to correct", table_to_correct(left), name, "text/csv", on_click="ignore"
        )
    if good and st.button(f"Save {len(good)} units", type="primary", key="take_fleet"):
        for one in good[:MOST_UNITS]:
            session.workspace().create(parse_case(one.text), one.text)
        session.notify(f"{len(good[:MOST_UNITS])} units were saved.")
        go(UNITS)


def results_table(workspace: Workspace) -> None:
    """Every unit's verdict, cost, due date and last visit, to sort by any of them; the ranking as a chart."""
    path = workspace.folder / RESULTS
    if st.button("Work out all units", key="work_out_all"):
        with st.spinner("Working out all units …"):
            bar = st.progress(0.0)
            run_fleet(fleet_of([workspace.folder]), path, progress=lambda done: _show(bar, done))
            bar.empty()
    if not path.is_file():
        st.caption("Verdict, cost and due date of each unit stand here once all units have been worked out.")
        return
    rows = cached.fleet_rows(path, path.stat().st_mtime_ns)
    height = min(TABLE_HEIGHT, ROW_HEIGHT * (len(rows) + 1) + 2)
    st.dataframe(table_columns(rows), hide_index=True, height=height, key="results_table")
    for sentence in [*results.total_sentences(rows), *results.learnt_sentences(rows)]:
        st.caption(screen.plain(sentence))
    counted = fleet_charts.counted_rows(rows)
    currencies = {str(row["currency"]) for row in counted}
    if len(currencies) == 1:
        screen.draw(fleet_charts.ranking_chart(counted, currencies.pop()), "ranking_chart", 480)


def unit_note(workspace: Workspace, unit: str, site: str) -> None:
    """What the table of all units has for a unit, where that has learnt from others.

    Parameters
    ----------
    workspace : Workspace
        In whose folder the table is.
    unit, site : str
        Names.
    """
    path = workspace.folder / RESULTS
    if not path.is_file():
        return
    for row in cached.fleet_rows(path, path.stat().st_mtime_ns):
        if (row["unit"], row["site"] or "") == (unit, site):
            said = results.unit_sentence(row)
            if said:
                st.caption(screen.plain(said))
            return


def _show(bar: "DeltaGenerator", done: float) -> None:
    bar.progress(done)


def table_columns(rows: list[dict[str, Any]]) -> dict[str, list[Any]]:
    """Columns of the table of results on the page, the most expensive unit first.

    Parameters
    ----------
    rows : list of dict
        Of the table of results.

    Returns
    -------
    dict of str to list
        Numbers as numbers, so that they sort as such.
    """
    shown = ranked(rows)
    return {
        "unit": [row["unit"] for row in shown],
        "site": [row["site"] for row in shown],
        "verdict": [VERDICTS.get(str(row["verdict"]), "") for row in shown],
        "cost a year": [row["money_year"] for row in shown],
        "currency": [row["currency"] for row in shown],
        "only if fouled": ["yes" if row["if_fouled"] else "" for row in shown],
        "what to do": [results.advice_words(row) for row in shown],
        "due": [row["clean_by"] or "" for row in shown],
        "last visit": [row["last_visit"] or "" for row in shown],
        "read next": [results.reading_words(str(row["next_reading"])) for row in shown],
        "problem": [row["problem"] for row in shown],
    }
