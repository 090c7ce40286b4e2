"""Many units on the pages: a table of them read in, and the table of their results."""

from collections.abc import Sequence
from functools import partial
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

import streamlit as st

from calibration.case.document import document_of
from calibration.case.errors import CaseError
from calibration.case.file import parse_case
from calibration.case.records import Case
from calibration.case.units import System
from calibration.fleet.jobs import fleet_of
from calibration.fleet.listed_units import listed_units
from calibration.fleet.ranking import RANKED_BY, By, Order, Row, chosen, in_order, mean_of
from calibration.fleet.run import is_to_correct, next_to_correct, run_fleet, table_to_correct
from calibration.fleet.table import fleet_table
from dashboard.charts import fleet_charts
from dashboard.report.comparison_report import report_content
from dashboard.report.fleet_report import fleet_report
from dashboard.results.fleet import units as results
from dashboard.results.wording import VERDICTS
from dashboard.web import cached, screen, session
from dashboard.web.page_list import PLAN, UNITS, go, link
from dashboard.workspace import MOST_UNITS, Workspace

if TYPE_CHECKING:
    from streamlit.delta_generator import DeltaGenerator
    from streamlit.runtime.uploaded_file_manager import UploadedFile

RESULTS = "results.csv"
"""Table of results of a workspace, beside its units; `coiltoll fleet` writes the same."""
ORDERS: dict[str, str] = {
    "money": "cost of fouling in a year",
    "energy": "electricity that fouling adds",
    "comfort": "unmet-load hours that fouling adds",
    "knowing": "value of a visit that only measures",
    "verdict": "verdict",
    "due": "due date",
    "last visit": "last visit, the longest ago first",
}
FILTERS = {"site": "Sites", "refrigerant": "Refrigerants", "verdict": "Verdicts"}
SHOWN_ROWS = 8
ROW_HEIGHT = 35  # of a table that sorts [px]
TABLE_HEIGHT = 420  # [px]


def read(files: "Sequence[UploadedFile]") -> None:
    """Units of tables, to be saved one file each; rows with a fault to be corrected.

    Parameters
    ----------
    files : sequence of UploadedFile
        CSV, XLSX or Parquet with a row a visit; after a table, the files of its corrected rows.

    Raises
    ------
    CaseError
        When one of them is no table of units.
    """
    files = sorted(files, key=lambda one: (is_to_correct(one.name), len(one.name), one.name))
    system = session.system(None)
    tables = [fleet_table(one.getvalue(), one.name) for one in files]
    like = _like()
    units = listed_units(tables, system, document_of(like, system) if like is not None else None)
    good = [one for one in units if one.text]
    left = [row for one in units for row in one.left_out]
    visits = sum(one.text.count("[[visit]]") for one in good)
    st.write(f"{len(good)} units with {visits} visits; {len(left)} rows are left out.")
    some = f"The first {SHOWN_ROWS} of {len(good)} units" if len(good) > SHOWN_ROWS else "Units"
    screen.text_table(some, ["", "site"], [[one.unit, one.site] for one in good[:SHOWN_ROWS]])
    if left:
        st.write("**Rows that are left out**")
        screen.points([f"{place}: {sentence}" for place, sentence in results.left_out_rows(left)])
        name = next_to_correct(files[0].name.rpartition(".")[0], [one.name for one in files])
        if more := results.more_rows(left, name):
            st.caption(screen.plain(more))
        st.download_button(
            "Download them to correct", table_to_correct(left), name, "text/csv", on_click="ignore"
        )
    if good and st.button(f"Save {len(good)} units", type="primary", key="take_fleet"):
        for one in good[:MOST_UNITS]:
            session.workspace().create(parse_case(one.text), one.text)
        left_out = len(good) - MOST_UNITS
        more = f" {left_out} more are left out: a folder holds {MOST_UNITS}." if left_out > 0 else ""
        session.notify(f"{len(good[:MOST_UNITS])} units were saved.{more}")
        go(UNITS)


def _like() -> Case | None:
    """The stored unit that supplies what the rows leave out, chosen by whoever reads them in."""
    workspace = session.workspace()
    titles = {one.name: one.title for one in cached.titles(workspace.folder, workspace.stamps())}
    if not titles:
        return None
    name = st.selectbox(
        "Season, tariff, cleaning, meters as of",
        ["", *titles],
        format_func=lambda one: titles[one] if one else "no other unit",
        key="fleet_like",
    )
    return workspace.read(name).case if name else None


def results_table(workspace: Workspace) -> None:
    """Every unit's verdict, cost, due date and last visit, in the order that is asked for; then charts."""
    path = workspace.folder / RESULTS
    if st.button("Work out all units", key="work_out_all"):
        with st.spinner("Working out all units …"):
            bar = st.progress(0.0)
            run_fleet(fleet_of([workspace.folder]), path, progress=lambda done: _show(bar, done))
            bar.empty()
    if not path.is_file():
        st.caption("Verdict, cost and due date of each unit stand here once all units have been worked out.")
        return
    link(PLAN, "Put the work into weeks")
    try:
        all_rows = cached.fleet_rows(path, path.stat().st_mtime_ns)
    except CaseError as problem:
        screen.problems("The table of all units cannot be read", [str(one) for one in problem.problems])
        return
    asked = st.selectbox("In order of", list(ORDERS), format_func=lambda one: ORDERS[one], key="fleet_order")
    rows = in_order(_asked_for(all_rows), cast("Order", asked))
    if not rows:
        st.caption("No unit is of this site, refrigerant and verdict.")
        return
    height = min(TABLE_HEIGHT, ROW_HEIGHT * (len(rows) + 1) + 2)
    money = st.column_config.NumberColumn(format="%.0f")
    st.dataframe(
        table_columns(rows),
        hide_index=True,
        height=height,
        key="results_table",
        column_config=dict.fromkeys(("mean cost a year", "from", "to"), money),
    )
    for sentence in [*results.total_sentences(rows), *results.learnt_sentences(rows)]:
        st.caption(screen.plain(sentence))
    _files(path, rows)
    _charts(rows, cast("By", asked) if asked in RANKED_BY else "money")


def _files(path: Path, rows: list[Row]) -> None:
    """The whole table, and the owner's report of the units that are shown."""
    with st.container(horizontal=True, key="fleet_files", vertical_alignment="center"):
        st.download_button("All results as CSV", path.read_bytes(), RESULTS, "text/csv", on_click="ignore")
        pages = st.checkbox("With a page for each unit", key="fleet_unit_pages")
        st.download_button(
            "Report for the owner, PDF",
            partial(owner_report, rows, pages, session.system(None)),  # made when it is asked for
            "all-units.pdf",
            "application/pdf",
            key="fleet_report",
            on_click="ignore",
            icon=":material/download:",
        )


def owner_report(rows: list[Row], unit_pages: bool, system: System) -> bytes:
    """The report of `coiltoll fleet --report` as PDF."""
    made = fleet_report(rows, f"coiltoll {version('coiltoll')}", unit_pages)
    return report_content(made, ".pdf", None, system)


def _asked_for(rows: list[dict[str, Any]]) -> list[Row]:
    """Rows of the sites, refrigerants and verdicts that are chosen; all where none is."""
    picked: dict[str, list[str]] = {}
    with st.container(horizontal=True, key="fleet_filters"):
        for column, words in FILTERS.items():
            there = sorted({str(row[column] or "") for row in rows} - {""})
            picked[column] = st.multiselect(words, there, format_func=_shown, key=f"only_{column}")
    return chosen(rows, picked["site"], picked["refrigerant"], picked["verdict"])


def _shown(name: str) -> str:
    """A site, a refrigerant, or a verdict in words."""
    return VERDICTS.get(name, name)


def _charts(rows: list[Row], by: By) -> None:
    """Ranking, level against cost, and what the first units make up, where prices are in one currency."""
    counted = fleet_charts.counted_rows(rows, by)
    currencies = {str(row["currency"]) for row in counted}
    if len(currencies) != 1:
        return
    (currency,) = currencies
    screen.draw(fleet_charts.ranking_chart(counted, currency, by), "ranking_chart", 480)
    if any(row.get("level") is not None and row.get("money_year") is not None for row in counted):
        screen.draw(fleet_charts.level_chart(counted, currency), "level_chart", 360)
    if fleet_charts.has_savings(counted):
        screen.draw(fleet_charts.savings_chart(counted, currency), "savings_chart", 320)


def unit_note(workspace: Workspace, unit: str, site: str, *, finding_only: bool = False) -> None:
    """What the table of all units has for a unit, where that has learnt from others.

    Parameters
    ----------
    workspace : Workspace
        In whose folder the table is.
    unit, site : str
        Names.
    finding_only : bool
        Whether the page shows a finding or the clean unit, and neither growth nor advice.
    """
    path = workspace.folder / RESULTS
    if not path.is_file():
        return
    try:
        rows = cached.fleet_rows(path, path.stat().st_mtime_ns)
    except CaseError:  # the page of all units says so
        return
    for row in rows:
        if (row["unit"], row["site"] or "") == (unit, site):
            said = results.clean_sentence(row) if finding_only else results.unit_sentence(row)
            if said:
                st.caption(screen.plain(said))
            return


def _show(bar: "DeltaGenerator", done: float) -> None:
    bar.progress(done)


def table_columns(shown: Sequence[Row]) -> dict[str, list[Any]]:
    """Columns of the table of results on the page.

    Parameters
    ----------
    shown : sequence of mapping
        Rows of the table of results, in their order.

    Returns
    -------
    dict of str to list
        Numbers as numbers, so that they sort as such.
    """
    return {
        "unit": [row["unit"] for row in shown],
        "site": [row["site"] for row in shown],
        "verdict": [VERDICTS.get(str(row["verdict"]), "") for row in shown],
        "mean cost a year": [mean_of(row, "money_year") for row in shown],
        "from": [row["money_year_low"] for row in shown],
        "to": [row["money_year_high"] for row in shown],
        "currency": [row["currency"] for row in shown],
        "only if fouled": ["yes" if row["if_fouled"] else "" for row in shown],
        "what to do": [results.advice_words(row) for row in shown],
        "due": [row["clean_by"] or "" for row in shown],
        "last visit": [row["last_visit"] or "" for row in shown],
        "read next": [results.reading_words(str(row["next_reading"])) for row in shown],
        "problem": [row["problem"] for row in shown],
    }
