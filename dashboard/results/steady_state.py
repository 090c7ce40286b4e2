"""Whether a log reached steady state, for the command line and the pages alike: figures, words, a visit.

Changes and scatters are shown in the units of their readings, as differences.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from calibration.case.document import visit_document
from calibration.case.keys import find_key, words_of
from calibration.case.records import Case, Visit
from calibration.case.units import System
from calibration.files.log_file import Log
from calibration.measured.steady_state import GUIDANCE, Drift, SteadyRecord
from dashboard.results.figures import Figure, figure

FINER = 1
"""Digits that an average, its error and a drift show beyond those of a reading."""
STEADINESS_HEADINGS = (
    "",
    "average",
    "standard error",
    "change in 15 min",
    "allowed",
    "scatter",
    "allowed",
    "",
)
"""Over the columns of `steadiness_rows`."""


@dataclass(frozen=True)
class Steadiness:
    """One reading over the steady stretch, or over the last running minutes where there is none.

    Parameters
    ----------
    average, standard_error : Figure
        Mean, and its standard error from the scatter alone; without a value where there is no steady stretch.
    change, allowed_change : Figure
        Change of the fitted line in 15 minutes, and its bound.
    scatter, allowed_scatter : Figure
        Standard deviation about the line, and its bound.
    is_steady : bool
        Whether both are within their bounds.
    """

    average: Figure
    standard_error: Figure
    change: Figure
    allowed_change: Figure
    scatter: Figure
    allowed_scatter: Figure
    is_steady: bool


def steadiness(record: SteadyRecord, log: Log, system: System) -> list[Steadiness]:
    """How steady each tested reading is, the least steady first.

    Parameters
    ----------
    record : SteadyRecord
        What was found [SI].
    log : Log
        The log that it was found in.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    list of Steadiness
        One for each reading that was tested.
    """
    rows = []
    for drift in record.drifts:
        found = record.averages.get(drift.key)
        average = figure(
            drift.key, found.value if found else None, system, ambient_pressure=log.ambient_pressure
        )
        rows.append(
            Steadiness(
                replace(average, decimals=average.decimals + FINER),
                _difference(average, found.standard_error if found else None, system),
                _difference(average, drift.change, system),
                _difference(average, drift.allowed_change, system),
                _difference(average, drift.scatter, system),
                _difference(average, drift.allowed_scatter, system),
                drift.is_steady,
            )
        )
    return rows


def steadiness_rows(rows: Sequence[Steadiness]) -> list[list[str]]:
    """Cells under `STEADINESS_HEADINGS`, one row a reading.

    Parameters
    ----------
    rows : sequence of Steadiness
        `steadiness`.

    Returns
    -------
    list of list of str
        As they are to be read, with their units.
    """
    return [
        [
            row.average.heading,
            row.average.text,
            row.standard_error.text,
            row.change.text,
            row.allowed_change.text,
            row.scatter.text,
            row.allowed_scatter.text,
            "steady" if row.is_steady else "changing",
        ]
        for row in rows
    ]


def _difference(reading: Figure, value: float | None, system: System) -> Figure:
    """Difference of two values of a reading in its unit."""
    key = find_key(reading.key)
    factor = key.quantity.scale(system).factor if key and key.quantity else 1.0
    number = None if value is None else float(f"{value / factor:.9g}")
    return Figure(reading.key, reading.label, number, reading.unit, reading.decimals + FINER)


def sentences(record: SteadyRecord, log: Log, system: System) -> Iterator[str]:
    """What was read, and whether it reached steady state.

    Parameters
    ----------
    record : SteadyRecord
        What was found [SI].
    log : Log
        The log that it was found in.
    system : {"US", "SI"}
        Units to show.

    Yields
    ------
    str
        Whole sentences.
    """
    length = log.seconds[-1] / 60.0
    dated = f", from {log.start:%Y-%m-%d %H:%M:%S} on" if log.start else ""
    yield f"{len(log.seconds)} rows over {length:.1f} min{dated}."
    for remark in log.remarks:
        yield f"{remark[0].upper()}{remark[1:]}."
    if log.left_out:
        yield f"Rows left out, without a time or with too many entries: {log.left_out}."
    missing = [f"{words_of(name)} {count}" for name, count in log.missing.items() if count]
    if missing:
        yield f"Entries that are not a number or out of range: {', '.join(missing)}."
    if log.ignored:
        yield f"Columns that are not a known reading: {', '.join(log.ignored)}."
    if record.begin is None or record.end is None:
        yield f"No steady state: {_reason(record)}."
        rows = zip(record.drifts, steadiness(record, log, system), strict=True)
        yield from (_moving(drift, row) for drift, row in rows if not drift.is_steady)
    else:
        yield (
            f"Steady for {record.minutes:.1f} min, from {record.begin / 60.0:.1f} to "
            f"{record.end / 60.0:.1f} min after the first row."
        )
    if record.lacking:
        names = ", ".join(words_of(name) for name in record.lacking)
        yield f"Not logged, but needed for a visit: {names}."


def _reason(record: SteadyRecord) -> str:
    """Why there is no steady state, with readings in words."""
    head, separator, names = record.reason.partition(": ")
    return head + separator + ", ".join(words_of(name) for name in names.split(", ")) if names else head


def _moving(drift: Drift, row: Steadiness) -> str:
    """How fast one reading is still changing."""
    moves = []
    unit = row.change.unit
    if abs(drift.change) > drift.allowed_change:
        moves.append(
            f"changes by {row.change.text} {unit} in {GUIDANCE / 60:.0f} min, "
            f"{row.allowed_change.text} is allowed"
        )
    if drift.scatter > drift.allowed_scatter:
        moves.append(f"scatters by {row.scatter.text} {unit}, {row.allowed_scatter.text} is allowed")
    return f"{row.average.label} {' and '.join(moves)}."


def rounded_visit(visit: Visit, system: System) -> Visit:
    """The visit with every reading rounded to one digit more than a meter shows, as it is typed.

    Parameters
    ----------
    visit : Visit
        Averages [SI].
    system : {"US", "SI"}
        System of the case file that it is meant for.

    Returns
    -------
    Visit
        In SI.
    """
    changes: dict[str, float] = {}
    for name, value in {**visit.readings(), "settled_minutes": visit.settled_minutes}.items():
        key = find_key(name, "visit")
        if value is None or key is None or key.form != "number" or key.quantity is None:
            continue
        shown = key.quantity.from_si(value, system, visit.ambient_pressure)
        digits = key.quantity.scale(system).decimals + FINER
        changes[name] = float(key.quantity.to_si(round(float(shown), digits), system, visit.ambient_pressure))
    return replace(visit, **changes)  # type: ignore[arg-type]


def with_visit(case: Case, visit: Visit) -> Case:
    """The case with one more visit at its end."""
    return replace(case, visits=(*case.visits, visit))


def visit_table(record: SteadyRecord, log: Log, system: System) -> dict[str, Any] | None:
    """The visit as the table [[visit]] of a case file; None where there is none.

    Parameters
    ----------
    record : SteadyRecord
        What was found [SI].
    log : Log
        The log that it was found in.
    system : {"US", "SI"}
        Units of the numbers.

    Returns
    -------
    dict or None
        Entries in the order in which they are written.
    """
    if record.visit is None:
        return None
    return visit_document(rounded_visit(record.visit, system), log.ambient_pressure, system)


def steady_state_json(record: SteadyRecord, log: Log, system: System) -> dict[str, Any]:
    """The content of the tables, for `--json`.

    Parameters
    ----------
    record : SteadyRecord
        What was found [SI].
    log : Log
        The log that it was found in.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    dict
        The stretch, each reading's average and steadiness, the visit, and what is wrong with the log.
    """
    table = visit_table(record, log, system)
    return {
        "units": system,
        "rows": len(log.seconds),
        "rows_left_out": log.left_out,
        "missing_entries": log.missing,
        "ignored_columns": list(log.ignored),
        "remarks": list(log.remarks),
        "start": log.start.isoformat() if log.start else None,
        "settled": record.is_steady,
        "begin_minutes": None if record.begin is None else record.begin / 60.0,
        "end_minutes": None if record.end is None else record.end / 60.0,
        "reason": record.reason,
        "lacking": list(record.lacking),
        "readings": {
            row.average.key: {
                "value": row.average.value,
                "unit": row.average.unit,
                "standard_error": row.standard_error.value,
                "change_in_15_minutes": row.change.value,
                "allowed_change": row.allowed_change.value,
                "scatter": row.scatter.value,
                "allowed_scatter": row.allowed_scatter.value,
                "settled": row.is_steady,
            }
            for row in steadiness(record, log, system)
        },
        "visit": table and {name: _plain(value) for name, value in table.items()},
    }


def _plain(value: Any) -> Any:
    """An entry of a case file as JSON can hold it."""
    return value.isoformat() if hasattr(value, "isoformat") else value
