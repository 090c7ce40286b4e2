"""The circuit that a log is of: a log follows one coil, and a unit may have several."""

from __future__ import annotations

from dataclasses import replace

from calibration.case.circuits import SHARED_OF_VISIT, circuit_cases
from calibration.case.errors import CaseError, Problem
from calibration.case.records import Case
from calibration.track.stretches import Stretches


def circuit_followed(case: Case, number: int | None) -> Case:
    """The case of the circuit that a log is of.

    Parameters
    ----------
    case : Case
        Of one circuit or several.
    number : int or None
        Which circuit, from 1; None for a unit of one.

    Returns
    -------
    Case
        Of one circuit.

    Raises
    ------
    CaseError
        When the unit has several circuits and none is named, or does not have the one that is.
    """
    count = case.unit.circuits or 1
    if number is None and count > 1:
        raise _refused(f"is missing; 1 to {count} is expected of a unit with {count} circuits")
    if number is not None and not 1 <= number <= count:
        raise _refused(
            f"is {number}; {f'1 to {count}' if count > 1 else '1 or none'} is expected of this unit"
        )
    return circuit_cases(case)[(number or 1) - 1]


def _refused(sentence: str) -> CaseError:
    return CaseError([Problem((), "circuit", sentence)])


def stretches_of_circuit(found: Stretches, circuits: int) -> Stretches:
    """Stretches with one circuit's share of what all have in common.

    Parameters
    ----------
    found : Stretches
        Of a log with the pressures of one circuit.
    circuits : int
        How many the unit has.

    Returns
    -------
    Stretches
        Airflow and blower power divided by their number.
    """
    if circuits == 1:
        return found

    def divided(name: str) -> float:
        return float(circuits) if name in SHARED_OF_VISIT else 1.0

    return replace(
        found,
        values={name: series / divided(name) for name, series in found.values.items()},
        scatter={name: series / divided(name) for name, series in found.scatter.items()},
    )
