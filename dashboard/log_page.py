"""A log on the page: the settled stretch, how still each reading is, and the visit that the averages make."""

from typing import TYPE_CHECKING

import numpy as np
import streamlit as st

from calibration.case import Case, UnitDescription, Visit
from calibration.case_document import document_of
from calibration.keys import find_key, keys_of
from calibration.settling import SettledRecord, Trace
from calibration.units import STANDARD_ATMOSPHERE, System
from dashboard import cached, editing, screen, session, style
from dashboard.chart import Axis, Band, Chart, Curve
from dashboard.draft import text_of
from dashboard.figures import Figure, figure
from dashboard.questions import EDIT, go

if TYPE_CHECKING:
    from streamlit.runtime.uploaded_file_manager import UploadedFile


def read(file: "UploadedFile", opened: session.Opened | None) -> None:
    """Everything that a log says, and the way into the form.

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
    ambient = opened.case.unit.ambient_pressure if opened else STANDARD_ATMOSPHERE
    record = cached.settled(file.getvalue(), file.name, system, ambient)
    if record.settled and record.begin is not None:
        screen.finding(
            [
                f"Settled for {record.minutes:.0f} minutes, from minute {record.begin / 60:.0f} of the log.",
                *_lacking(record),
            ]
        )
    else:
        screen.finding([f"Nothing in this log is settled: {record.reason}.", *_lacking(record)])
    _trace_of_one(record, system)
    _drifts(record, system)
    if record.visit is not None:
        _take(record.visit, opened, system)


def _lacking(record: SettledRecord) -> list[str]:
    names = [row.words if (row := find_key(name, "visit")) else name for name in record.lacking]
    return [f"A visit also needs: {', '.join(names)}; type them into the form."] if names else []


def _trace_of_one(record: SettledRecord, system: System) -> None:
    """One reading over the time of the log."""
    traces = {trace.key: trace for trace in record.traces if find_key(trace.key, "visit")}
    if not traces:
        return
    words = {name: keys_of("visit")[name].words for name in traces}
    name = st.selectbox(
        "Reading over time", list(traces), format_func=lambda one: words[one], key="log_trace"
    )
    screen.draw(log_chart(traces[name], record, system), "log_chart", 320)


def log_chart(trace: Trace, record: SettledRecord, system: System) -> Chart:
    """One reading over time, and the settled stretch.

    Parameters
    ----------
    trace : Trace
        The reading [SI].
    record : SettledRecord
        Of the log it is from.
    system : {"US", "SI"}
        Units of the axis.

    Returns
    -------
    Chart
        Minutes along x; the settled stretch drawn bold.
    """
    key = keys_of("visit")[trace.key]
    minutes = trace.seconds / 60.0
    mean, low, high = (
        values if key.quantity is None else key.quantity.from_si(values, system)
        for values in (trace.mean, trace.low, trace.high)
    )
    layers: list[Band | Curve] = [
        Band(minutes, low, high, style.CLEAN, "lowest to highest"),
        Curve(minutes, mean, style.CLEAN, "mean"),
    ]
    if record.begin is not None and record.end is not None:
        inside = (trace.seconds >= record.begin) & (trace.seconds <= record.end)
        layers.append(Curve(minutes[inside], mean[inside], style.MEASURED, "settled"))
    unit = key.quantity.label(system) if key.quantity else ""
    return Chart(
        title=f"{key.words} over time",
        description=f"{key.words} over {np.ptp(minutes):.0f} minutes of the log.",
        x=Axis("time", "min"),
        y=Axis(key.words.lower(), unit),
        layers=tuple(layers),
    )


def _drifts(record: SettledRecord, system: System) -> None:
    """How still each reading is over the stretch."""
    rows = []
    for drift in record.drifts:
        row = find_key(drift.key, "visit")
        average = record.averages.get(drift.key)
        shown: Figure | None = None
        if average is not None:
            shown = figure(drift.key, average.value, system, interval=average.interval())
        change = abs(drift.change) / drift.allowed_change
        scatter = drift.scatter / drift.allowed_scatter
        rows.append(
            [
                shown.heading if shown else row.words if row else drift.key,
                shown.text if shown else "-",
                f"{100 * change:.0f} %",
                f"{100 * scatter:.0f} %",
                "settled" if drift.settled else "moving",
            ]
        )
    if rows:
        heads = ["", "average", "drift, share of allowed", "scatter, share of allowed", ""]
        screen.text_table("Each reading over the stretch", heads, rows)


def _take(visit: Visit, opened: session.Opened | None, system: System) -> None:
    """Put the averages into the form as a visit."""
    coil = st.segmented_control(
        "Coil at this visit",
        keys_of("visit")["coil"].choices,
        default="as found",
        required=True,
        key="log_coil",
    )
    where = opened.case.unit.name if opened and not opened.is_demo else "a new unit"
    if st.button(f"Put it into the form of {screen.plain(where)}", type="primary", key="take_log"):
        unit = opened.case.unit if opened else UnitDescription("unit", "R410A", "TXV", 10e3)
        table = document_of(Case(system, unit, (visit,)), system)["visit"][0]
        entries = {name: text_of(value) for name, value in table.items()} | {"coil": coil or "as found"}
        editing.add_visits([entries], opened, system)
        go(EDIT)
