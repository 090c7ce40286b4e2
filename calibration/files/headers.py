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
    BTU_PER_HOUR,
    CFM,
    FOOT,
    HOUR,
    INCH_OF_MERCURY,
    POUND,
    PSI,
    TEMPERATURE,
    TON,
    Quantity,
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
    "capacity": {
        **dict.fromkeys(("btu/h", "btuh", "btu/hr"), Scale("Btu/h", BTU_PER_HOUR)),
        **dict.fromkeys(("kbtu/h", "kbtuh", "mbh"), Scale("kBtu/h", 1000.0 * BTU_PER_HOUR)),
        **dict.fromkeys(("ton", "tons", "t", "rt"), Scale("tons", TON)),
        "w": Scale("W"),
        "kw": Scale("kW", 1e3),
    },
    "energy efficiency": {
        **dict.fromkeys(("btu/(w h)", "btu/wh", "btu/w-h", "eer"), Scale("Btu/(W h)", BTU_PER_HOUR)),
        **dict.fromkeys(("w/w", "cop"), Scale("W/W")),
    },
    "length": {**dict.fromkeys(("ft", "feet"), Scale("ft", FOOT)), "m": Scale("m")},
    "mass": {
        **dict.fromkeys(("lb", "lbs"), Scale("lb", POUND)),
        "oz": Scale("oz", POUND / 16.0),
        "kg": Scale("kg"),
        "g": Scale("g", 1e-3),
    },
    "energy price": {
        **dict.fromkeys(("per kwh", "/kwh", "usd/kwh", "$/kwh", "eur/kwh", "€/kwh"), Scale("per kWh")),
        **dict.fromkeys(("ct/kwh", "cent/kwh", "cents/kwh", "c/kwh", "¢/kwh"), Scale("ct/kWh", 0.01)),
    },
    "money": dict.fromkeys(("usd", "$", "eur", "€", "gbp", "£"), Scale("money")),
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
    scale, absolute = scale_of(match[2], key.quantity)
    if scale is None:
        known = _SCALES.get(key.quantity.name, {})
        labels = list(dict.fromkeys(scale.label or "fraction" for scale in known.values()))
        expected = " or ".join(labels) or "no unit"
        raise ValueError(f"column {header.strip()!r}: {expected} is expected in the brackets")
    return Column(key, scale, absolute)


def scale_of(unit: str, quantity: Quantity) -> tuple[Scale | None, bool]:
    """The scale of a quantity that a unit means.

    Parameters
    ----------
    unit : str
        As people write it, such as "psig", "°F" or "tons".
    quantity : Quantity
        What it is a unit of.

    Returns
    -------
    (Scale or None, bool)
        None where it is no unit of the quantity; whether a pressure is absolute already.
    """
    plain = unit.strip().lower()
    absolute, gauge = _ABSOLUTE.match(plain), _GAUGE.match(plain)
    stated = absolute or gauge
    if quantity.gauge and stated:
        plain = stated[1]
    return _SCALES.get(quantity.name, {}).get(plain), quantity.gauge and absolute is not None


def is_unit(text: str) -> bool:
    """Whether a text is a unit of some reading, such as one in a line of units under a header.

    Parameters
    ----------
    text : str
        Content of a cell, with or without brackets.

    Returns
    -------
    bool
    """
    plain = text.strip().strip("[]()").strip().lower()
    stated = _ABSOLUTE.match(plain) or _GAUGE.match(plain)
    return any((stated[1] if stated else plain) in scales for scales in _SCALES.values())
