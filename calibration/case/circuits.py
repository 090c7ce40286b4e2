"""A unit of several circuits as so many cases of one circuit each.

Each circuit is taken as a unit of its own: an equal share of the nameplate, of the air, of the blower, of the
load and of the price of a cleaning, with the visits that were made to it.

Assumptions: the circuits are equal when clean and share load and air equally, as where the lead changes from
one to the other. On a visit pressures, pipe temperatures and the power of the outdoor side are those of the
circuit; airflow and blower power those of the whole unit.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import TypeVar

from calibration.case.records import CapacityRow, Case, UnitDescription, Visit

Record = TypeVar("Record", CapacityRow, UnitDescription, Visit)

SHARED_OF_UNIT = (
    "rated_capacity",
    "rated_indoor_airflow",
    "outdoor_fan_power",
    "indoor_blower_power",
    "rated_heating_capacity",
    "low_heating_capacity",
)
"""Entries of the nameplate that belong to all circuits together; the charge is that of one."""
SHARED_OF_TABLE = ("capacity", "outdoor_power", "indoor_airflow_standard")
"""Entries of a line of the maker's table that do."""
SHARED_OF_VISIT = ("indoor_airflow", "indoor_airflow_standard", "indoor_power", "indoor_amps")
"""Readings that do."""


def circuit_cases(case: Case) -> tuple[Case, ...]:
    """One case for each circuit.

    Parameters
    ----------
    case : Case
        Of one circuit or several.

    Returns
    -------
    tuple of Case
        The case itself for a unit of one circuit.
    """
    count = case.unit.circuits or 1
    if count == 1:
        return (case,)
    return tuple(
        replace(
            case,
            unit=_one_circuit(case.unit, number),
            visits=tuple(_of_circuit(visit, count) for visit in case.visits if visit.circuit == number),
            share=case.share / count,
        )
        for number in range(1, count + 1)
    )


def circuit_of(case: Case, label: str) -> Case:
    """The case of the circuit that a visit was made to.

    Parameters
    ----------
    case : Case
        Of one circuit or several.
    label : str
        Of one of its visits.

    Returns
    -------
    Case
        That has the visit, with the circuit's share of what the unit has in common.

    Raises
    ------
    KeyError
        Where no visit has the label.
    """
    return circuit_cases(case)[(case.visit(label).circuit or 1) - 1]


def last_visits(case: Case, coil: str | None = None) -> tuple[str, ...]:
    """Labels of the last visit to each circuit; empty where one of them has none.

    Parameters
    ----------
    case : Case
        Of several circuits.
    coil : str, optional
        State of the coil that counts: ``"clean"`` or ``"as found"``; left out, either.

    Returns
    -------
    tuple of str
        In the order of the circuits; of visits on one day the last in the file.
    """
    last = []
    for one in circuit_cases(case):
        visits = [visit for visit in one.visits if coil in (None, visit.coil)]
        if not visits:
            return ()
        last.append(max(reversed(visits), key=lambda visit: visit.date or dt.date.min).label)
    return tuple(last)


def _one_circuit(unit: UnitDescription, number: int) -> UnitDescription:
    count = unit.circuits or 1
    table = tuple(_divided(row, SHARED_OF_TABLE, count) for row in unit.capacity_table)
    shared = _divided(unit, SHARED_OF_UNIT, count)
    return replace(shared, name=f"{unit.name}, circuit {number}", circuits=None, capacity_table=table)


def _of_circuit(visit: Visit, count: int) -> Visit:
    return replace(_divided(visit, SHARED_OF_VISIT, count), circuit=None)


def _divided(record: Record, names: tuple[str, ...], count: int) -> Record:
    """A record with some of its entries shared out."""
    values = {name: getattr(record, name) for name in names}
    shares = {name: value / count for name, value in values.items() if value is not None}
    return replace(record, **shares)
