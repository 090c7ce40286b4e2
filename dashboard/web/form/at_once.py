"""What follows at once from readings that are still being typed: figures, and what cannot be true.

Nothing is worked out here: the typed texts are turned to SI and handed to `calibration`.
"""

from collections.abc import Mapping

import numpy as np

from calibration.case.checks import impossible_so_far
from calibration.case.errors import Path
from calibration.case.records import UnitDescription, ambient_pressure_at
from calibration.case.units import System
from calibration.measured.performance import figures_of_readings, missing_readings
from dashboard.results.figures import Figure, figure
from dashboard.web.form.draft import Checked, Draft, key_at, number_in_system
from dashboard.web.form.fields import MISSING
from model.properties.refrigerant import canonical_name, refrigerant

SHOWN = (
    "evaporating_temperature",
    "superheat",
    "condensing_temperature",
    "subcooling",
    "approach",
    "air_drop",
    "condenser_air_rise",
)
"""Figures that are shown while readings are typed, in this order."""


def checked(draft: Draft, system: System) -> Checked:
    """What a draft comes to, with what cannot be true of readings in visits that are not complete yet.

    Parameters
    ----------
    draft : Draft
        What is typed.
    system : {"US", "SI"}
        Units of the screen.

    Returns
    -------
    Checked
        As of the draft itself, with more sentences while something is missing.
    """
    found = draft.checked(system)
    if found.case is not None:
        return found
    problems = dict(found.problems)
    for number in draft.visits:
        for name, sentence in _impossible(draft, number, problems, system).items():
            path = ("visit", number, name)
            if problems.get(path, MISSING).startswith(MISSING):
                problems[path] = sentence
    return Checked(None, problems, found.others)


def figures_so_far(draft: Draft, number: int, problems: Mapping[Path, str], system: System) -> list[Figure]:
    """Superheat, subcooling and temperature differences of a visit as far as its readings go.

    Parameters
    ----------
    draft : Draft
        What is typed.
    number : int
        Number of the visit.
    problems : mapping
        Sentences by field; readings that are at fault are left out.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    list of Figure
        Those of `SHOWN` whose readings are there.
    """
    unit = _unit(draft, system)
    if unit is None:
        return []
    ambient, readings = _readings(draft, number, problems, system)
    fluid = refrigerant(unit.refrigerant)
    usable = {
        name: value
        for name, value in readings.items()
        if not name.endswith("_pressure") or fluid.minimum_pressure <= value < fluid.critical_pressure
    }
    missing = missing_readings(usable)
    names = [name for name in SHOWN if name not in missing]
    columns = {name: np.array(value) for name, value in usable.items()}
    values = figures_of_readings(columns, ambient, unit.refrigerant, names)
    return [figure(name, float(values[name]), system) for name in names]


def _impossible(draft: Draft, number: int, problems: Mapping[Path, str], system: System) -> dict[str, str]:
    unit = _unit(draft, system)
    if unit is None:
        return {}
    ambient, readings = _readings(draft, number, problems, system)
    return impossible_so_far(readings, (unit, system), ambient)


def _unit(draft: Draft, system: System) -> UnitDescription | None:
    """As much of the unit as readings can be judged by; None without a known refrigerant."""
    try:
        name = canonical_name(draft.text(("unit", "refrigerant"), system))
    except ValueError:
        return None
    return UnitDescription("unit", name, "TXV", 1.0, altitude=_si(draft, ("unit", "altitude")) or 0.0)


def _readings(
    draft: Draft, number: int, problems: Mapping[Path, str], system: System
) -> tuple[float, dict[str, float]]:
    """Local barometric pressure and the numbers of a visit [SI], those at fault left out."""
    unit = _unit(draft, system)
    barometer = _si(draft, ("visit", number, "barometer"))
    ambient = barometer or (unit.ambient_pressure if unit else ambient_pressure_at(0.0))
    found = {}
    for path in draft.entries:
        if path[:2] == ("visit", number) and path not in problems:
            value = _si(draft, path, ambient)
            if value is not None:
                found[str(path[2])] = value
    return ambient, found


def _si(draft: Draft, path: Path, ambient: float | None = None) -> float | None:
    """A number that was typed [SI]; None where there is none."""
    key, typed = key_at(path), draft.entries.get(path)
    if key is None or typed is None or key.form != "number" or key.quantity is None:
        return None
    try:
        number = number_in_system(key, typed)
    except ValueError:
        return None
    known = () if ambient is None else (ambient,)
    return float(key.quantity.to_si(number, typed.system, *known))
