"""Measured performance of a visit as figures, for the command line, the pages and the report alike."""

from typing import Any

from calibration.case.keys import find_key
from calibration.case.records import Case, Visit
from calibration.case.units import System
from calibration.measured.performance import MeasuredPerformance
from dashboard.results.figures import Figure, figure, of_estimates, to_json
from dashboard.results.wording import words_of
from dashboard.texts.translate import tr


def reading_figures(visit: Visit, system: System) -> list[Figure]:
    """Readings of a visit as they were taken.

    Parameters
    ----------
    visit : Visit
        Readings [SI].
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    list of Figure
        Those that were taken, in the order of the case file.
    """
    return [
        figure(name, value, system, ambient_pressure=visit.ambient_pressure)
        for name, value in visit.readings().items()
        if find_key(name, "visit") is not None
    ]


def performance_figures(performance: MeasuredPerformance, system: System) -> list[Figure]:
    """Performance from the readings, with 90 % ranges.

    Parameters
    ----------
    performance : MeasuredPerformance
        Figures of one visit [SI].
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    list of Figure
        Those whose readings were taken; a COP beside each EER.
    """
    estimates = performance.estimates()
    for eer, cop in (("eer", "cop"), ("eer_without_blower", "cop_without_blower")):
        if eer in estimates:
            estimates[cop] = estimates[eer]
    return of_estimates(estimates, system)


def missing_sentences(performance: MeasuredPerformance) -> list[str]:
    """What each reading, or set of readings, that was not taken would add.

    Parameters
    ----------
    performance : MeasuredPerformance
        Figures of one visit.

    Returns
    -------
    list of str
        Such as "Blower power would add: Capacity of the coil, Total power"; a reading that would only add
        itself is left out.
    """
    waiting: dict[tuple[str, ...], list[str]] = {}
    for name, readings in performance.missing.items():
        if readings != (name,):
            waiting.setdefault(readings, []).append(words_of(name))
    return [
        tr(
            "{readings} would add: {figures}",
            readings=tr(" and ").join(words_of(reading) for reading in readings),
            figures=", ".join(figures),
        )
        for readings, figures in waiting.items()
    ]


def measured_json(case: Case, performances: list[MeasuredPerformance], system: System) -> dict[str, Any]:
    """Readings and measured performance of every visit for `--json`.

    Parameters
    ----------
    case : Case
        Its visits, in order.
    performances : list of MeasuredPerformance
        One for each visit.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    dict
        Name of the unit, unit system, and for each visit readings, figures and what is missing for others.
    """
    return {
        "unit": case.unit.name,
        "units": system,
        "visits": [
            {
                "label": visit.label,
                "coil": visit.coil,
                "date": visit.date.isoformat() if visit.date else None,
                "readings": to_json(reading_figures(visit, system)),
                "figures": to_json(performance_figures(performance, system)),
                "missing": {name: list(readings) for name, readings in performance.missing.items()},
            }
            for visit, performance in zip(case.visits, performances, strict=True)
        ],
    }
