"""What a nameplate and the readings of a running unit say about each other: only what cannot be is refused.

A unit runs between its two cut-outs: a suction pressure well below the low-pressure cut-out, or a discharge
pressure well above the high-pressure one, is a wrong limit or a wrong gauge. Power and airflow of a unit
grow with its rated capacity, and neither weather nor any fault moves them by a factor of four. A factor of
ten is a slip of the pen, and the clean-unit fit would search long and in vain for such a unit.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from calibration.case.errors import Problems, in_unit
from calibration.case.keys import find_key
from calibration.case.meters import Instruments, standard_accuracy
from calibration.case.records import UnitDescription, Visit
from calibration.case.units import CFM, TON, System

FARTHEST_FACTOR = 4.0
"""How far a power or an airflow may lie from what the nameplate means, as a factor [-]: low airflow, part
load and mild weather together stay below it (common practice, no source)."""
USUAL_EER = 3.4
"""Rated efficiency where the nameplate gives none [W/W]: EER 11.6, common practice."""
USUAL_AIRFLOW = 400.0 * CFM / TON
"""Indoor airflow over rated capacity [m3/(s W)]: 400 cfm a ton, common practice."""
SLACK = 3.0
"""Standard errors by which a gauge may read beyond a cut-out [-]."""

_Reading = tuple[int, str, float, float]
"""Place of the visit, key, what was read [SI], and over what the nameplate means [-]."""


def note_nameplate_against_readings(
    unit: UnitDescription,
    visits: Sequence[Visit | None],
    meters: tuple[Instruments, System],
    problems: Problems,
) -> None:
    """Note where the nameplate and the readings of visits cannot both be true.

    Parameters
    ----------
    unit : UnitDescription
        The nameplate [SI].
    visits : sequence of Visit or None
        In the order of the document, None for one that cannot be read.
    meters : tuple
        Meters of the case, and the system in which sentences are written.
    problems : Problems
        Where they are noted.
    """
    instruments, system = meters
    taken = [
        (place, visit)
        for place, visit in enumerate(visits)
        if visit is not None and not problems.at(("visit", place))
    ]
    for place, visit in taken:
        _check_cut_out(unit, visit, ("visit", place), (instruments, system, problems))
    readings = [(place, *row) for place, visit in taken for row in _sized_readings(unit, visit)]
    odd = [row for row in readings if not 1.0 / FARTHEST_FACTOR <= row[3] <= FARTHEST_FACTOR]
    if not odd or problems.at(("unit", "rated_capacity")):
        return
    if len(odd) == len(readings) and len({row[3] > 1.0 for row in odd}) == 1:
        capacity = _shown("unit", "rated_capacity", unit.rated_capacity, system)
        sentence = f"is {capacity}; {_beside(odd[0], system)}: another capacity or reading is expected"
        problems.add(("unit", "rated_capacity"), sentence)
        return
    for row in odd:
        sentence = f"is {_shown('visit', row[1], row[2], system)}, {_times(row[3])} what the nameplate means"
        bounds = f"1/{FARTHEST_FACTOR:g} to {FARTHEST_FACTOR:g} times"
        problems.add(("visit", row[0], row[1]), f"{sentence}; {bounds} is expected")


def _check_cut_out(
    unit: UnitDescription,
    visit: Visit,
    path: tuple[str, int],
    desk: tuple[Instruments, System, Problems],
) -> None:
    """Refuse pressures at which a cut-out would have stopped the unit."""
    instruments, system, problems = desk
    for name, limit, side in (
        ("suction_pressure", "low_pressure_limit", -1.0),
        ("liquid_pressure", "high_pressure_limit", 1.0),
        ("discharge_pressure", "high_pressure_limit", 1.0),
    ):
        pressure, bound = getattr(visit, name), getattr(unit, limit)
        if pressure is None or bound is None:
            continue
        beyond = side * (pressure - bound)
        if beyond > SLACK * standard_accuracy(name, pressure, instruments):
            shown = _shown("visit", name, pressure, system, visit.ambient_pressure)
            cut_out = _shown("unit", limit, bound, system, unit.ambient_pressure)
            side_words = "more" if side < 0.0 else "less"
            words = f"{side_words} than {limit}, {cut_out}, is expected of a running unit"
            problems.add((*path, name), f"is {shown}; {words}")


def _sized_readings(unit: UnitDescription, visit: Visit) -> Iterator[tuple[str, float, float]]:
    """Readings that grow with the rated capacity, each over what the nameplate means."""
    power = unit.rated_capacity / (unit.rated_eer or USUAL_EER) * visit.compressor_speed
    power /= unit.circuits or 1
    airflow = unit.rated_indoor_airflow or unit.rated_capacity * USUAL_AIRFLOW
    usual = {
        "outdoor_power": power,
        "compressor_power": power,
        "indoor_airflow": airflow,
        "indoor_airflow_standard": airflow,
    }
    for name, value in visit.readings().items():
        if name in usual:
            yield name, value, value / usual[name]


def _beside(row: _Reading, system: System) -> str:
    """Words about one reading beside the rated capacity."""
    place, name, value, ratio = row
    shown = _shown("visit", name, value, system)
    return f"{name} of visit {place + 1} is {shown}, {_times(ratio)} what it means"


def _times(ratio: float) -> str:
    return f"{ratio:.2g} times"


def _shown(section: str, name: str, value: float, system: System, ambient: float = 0.0) -> str:
    """A value as it was typed, with its unit."""
    key = find_key(name, section)
    assert key is not None
    assert key.quantity is not None
    number = key.quantity.from_si(value, system, ambient)
    return in_unit(float(f"{number:.6g}"), key.quantity, system)
