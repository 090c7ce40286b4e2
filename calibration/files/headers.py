"""Headers of tables: which reading a column holds and in which unit.

A header is a key of the case file, alone or followed by a unit in brackets: ``suction_pressure``,
``suction_pressure [psi]``, ``supply_db (degC)``. Without a unit the column is in the system of the case.
Pressures are gauge readings unless the unit says absolute (``psia``, ``kPa abs``).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from calibration.case.keys import Key, find_key
from calibration.case.units import (
    CFM,
    FOOT,
    HOUR,
    INCH_OF_MERCURY,
    PSI,
    TEMPERATURE,
    Scale,
    System,
)
from model.arrays import Array

_HEADER = re.compile(r"^\s*([A-Za-z][A-Za-z0-9 _-]*?)\s*(?:[\[(]\s*([^\])]*?)\s*[\])])?\s*$")
_TEMPERATURES = {
    **dict.fromkeys(("degf", "f", "°f", "deg f", "fahrenheit"), TEMPERATURE.us),
    **dict.fromkeys(("degc", "c", "°c", "deg c", "celsius"), TEMPERATURE.si),
    "k": Scale("K"),
}
_PRESSURES = {
    "psi": Scale("psi", PSI),
    "kpa": Scale("kPa", 1e3),
    "bar": Scale("bar", 1e5),
    "mpa": Scale("MPa", 1e6),
    "pa": Scale("Pa"),
}
_AIR_PRESSURES = {
    **_PRESSURES,
    **dict.fromkeys(("hpa", "mbar"), Scale("hPa", 100.0)),
    **dict.fromkeys(("inhg", "in hg"), Scale("inHg", INCH_OF_MERCURY)),
}
_AIRFLOWS = {
    **dict.fromkeys(("cfm", "scfm", "ft3/min"), Scale("cfm", CFM)),
    **dict.fromkeys(("m3/s", "m³/s"), Scale("m3/s")),
    **dict.fromkeys(("m3/h", "m³/h"), Scale("m3/h", 1 / HOUR)),
    **dict.fromkeys(("l/s",), Scale("L/s", 1e-3)),
    "ft3/s": Scale("ft3/s", FOOT**3),
}
_SCALES: dict[str, dict[str, Scale]] = {
    "temperature": _TEMPERATURES,
    "gauge pressure": _PRESSURES,
    "barometric pressure": _AIR_PRESSURES,
    "airflow": _AIRFLOWS,
    "airflow of standard air": _AIRFLOWS,
    "power": {"w": Scale("W"), "kw": Scale("kW", 1e3)},
    "percent": {
        "%": Scale("%", 0.01),
        "% rh": Scale("%", 0.01),
        "%rh": Scale("%", 0.01),
        "fraction": Scale(""),
    },
    "fraction": {"fraction": Scale(""), "-": Scale(""), "%": Scale("%", 0.01)},
    "voltage": {"v": Scale("V")},
    "current": {"a": Scale("A")},
    "time": {"min": Scale("min")},
}
_ABSOLUTE = re.compile(r"^(psi|kpa|bar|mpa|pa)\s*(?:\(?abs\.?\)?|absolute|a)$")
_GAUGE = re.compile(r"^(psi|kpa|bar|mpa|pa)\s*(?:gauge|gage|g)$")


LONGEST_HEADER = 120
"""Characters from which a header names no reading."""


@dataclass(frozen=True)
class Column:
    """What a column holds.

    Attributes
    ----------
    key : Key
        The reading.
    scale : Scale or None
        Unit of its header; None for the system's own.
    absolute : bool
        True for pressures that are absolute already.
    """

    key: Key
    scale: Scale | None = None
    absolute: bool = False

    def to_si(self, numbers: Array, system: System, ambient_pressure: float) -> Array:
        """SI values of the column's numbers.

        Parameters
        ----------
        numbers : ndarray
            As written.
        system : {"US", "SI"}
            System where the header names no unit.
        ambient_pressure : float
            Local barometric pressure, for gauge readings [Pa].

        Returns
        -------
        ndarray
            In SI.
        """
        quantity = self.key.quantity
        if quantity is None:
            return numbers
        if self.scale is None:
            return quantity.to_si(numbers, system, ambient_pressure)
        value = self.scale.to_si(numbers)
        return value + ambient_pressure if quantity.gauge and not self.absolute else value


def column_of(header: str, section: str | None = "visit") -> Column | None:
    """What a column holds by its header.

    Parameters
    ----------
    header : str
        First line of the column.
    section : str or None
        Section of the table of keys to look in; None for all.

    Returns
    -------
    Column or None
        None where the header names no number of that section.

    Raises
    ------
    ValueError
        When the unit in brackets is not one of the reading.
    """
    match = _HEADER.match(header) if len(header) <= LONGEST_HEADER else None
    key = find_key(re.sub(r"[ -]+", "_", match[1].strip().lower()), section) if match else None
    if match is None or key is None or key.form not in ("number", "whole"):
        return None
    if not match[2] or key.quantity is None:
        return Column(key)
    unit = match[2].strip().lower()
    known = _SCALES.get(key.quantity.name, {})
    absolute, gauge = _ABSOLUTE.match(unit), _GAUGE.match(unit)
    stated = absolute or gauge
    if key.quantity.gauge and stated:
        unit = stated[1]
    if unit not in known:
        labels = list(dict.fromkeys(scale.label or "fraction" for scale in known.values()))
        expected = " or ".join(labels) or "no unit"
        raise ValueError(f"column {header.strip()!r}: {expected} is expected in the brackets")
    return Column(key, known[unit], key.quantity.gauge and absolute is not None)
