"""Numbers with a unit behind them, as people type and say them: ``9.1 bar``, ``35 C``, ``3 tons``.

Whatever system a case is in, a number with a unit of its own kind behind it means that unit. The words are
those of gauges, thermometers, nameplates and meters; which of them a quantity takes is decided by its kind.

References
----------
Units and symbols: NIST SP 811, Appendix B; the ton of refrigeration is 12,000 Btu/h by definition.
"""

from __future__ import annotations

import re

from calibration.case import units
from calibration.case.entries import number_of
from calibration.case.units import Quantity, Scale

_PRESSURES = {
    "psi": Scale("psi", units.PSI),
    "kpa": Scale("kPa", 1000.0),
    "bar": Scale("bar", 1e5, decimals=2),
    "mpa": Scale("MPa", 1e6),
}
_POWERS = {"w": Scale("W"), "kw": Scale("kW", 1000.0)}
_FLOWS = {
    "cfm": Scale("cfm", units.CFM),
    "scfm": Scale("scfm", units.CFM),
    "m3/s": Scale("m3/s"),
    "m3/h": Scale("m3/h", 1 / units.HOUR),
    "l/s": Scale("l/s", 1e-3),
}
_CAPACITIES = {
    "btu/h": Scale("Btu/h", units.BTU_PER_HOUR),
    "kbtu/h": Scale("thousand Btu/h", 1000 * units.BTU_PER_HOUR),
    "ton": Scale("tons", units.TON),
    **_POWERS,
}
_UNITS: dict[str, dict[str, Scale]] = {
    "temperature": {
        "f": units.TEMPERATURE.us,
        "c": units.TEMPERATURE.si,
        "k": Scale("K"),
    },
    "gauge pressure": _PRESSURES,
    "pressure difference": _PRESSURES,
    "barometric pressure": {
        **_PRESSURES,
        "hpa": Scale("hPa", 100.0),
        "mbar": Scale("mbar", 100.0),
        "inhg": Scale("inHg", units.INCH_OF_MERCURY),
    },
    "airflow": _FLOWS,
    "airflow of standard air": _FLOWS,
    "capacity": _CAPACITIES,
    "power": _POWERS,
    "mass": {
        "lb": Scale("lb", units.POUND),
        "oz": Scale("oz", units.POUND / 16),
        "kg": Scale("kg"),
        "g": Scale("g", 1e-3),
    },
    "length": {"ft": Scale("ft", units.FOOT), "m": Scale("m")},
    "percent": {"%": Scale("%", 0.01)},
}
"""Units by kind of quantity and by what is typed, in small letters."""
_SAME = {
    "degf": "f",
    "fahrenheit": "f",
    "degc": "c",
    "celsius": "c",
    "psig": "psi",
    "barg": "bar",
    "btuh": "btu/h",
    "btu/hr": "btu/h",
    "kbtu": "kbtu/h",
    "mbh": "kbtu/h",
    "thousandbtu/h": "kbtu/h",
    "tons": "ton",
    "tr": "ton",
    "kilowatts": "kw",
    "watts": "w",
    "lbs": "lb",
    "m³/h": "m3/h",
    "m³/s": "m3/s",
    "feet": "ft",
    "metres": "m",
    "meters": "m",
}
"""Other ways to write them."""
_WITH_UNIT = re.compile(r"([+\-−\d.,\s]*\d[.,]?)\s*([^\W\d_][^\s]*(?: btu/h)?|[°%]\s*\w*)")


def number_with_unit(text: str, quantity: Quantity | None) -> tuple[float, Scale | None]:
    """Number that a person typed, and the unit behind it.

    Parameters
    ----------
    text : str
        Such as ``"9,1 bar"`` or ``"132"``.
    quantity : Quantity or None
        Its kind, which says which units it can have.

    Returns
    -------
    (float, Scale or None)
        The number, in that unit; None where there is no unit behind it.

    Raises
    ------
    ValueError
        When it is no number, or a unit of another kind.
    """
    known = _UNITS.get(quantity.name, {}) if quantity else {}
    found = _WITH_UNIT.fullmatch(text.strip()) if known else None
    if found is None or re.fullmatch(r"[eE]\d+", found[2]):
        return number_of(text), None
    word = re.sub(r"[\s°]", "", found[2]).lower()
    scale = known.get(_SAME.get(word, word))
    if scale is None:
        raise ValueError(f"{text!r} has no unit of a {quantity.name if quantity else 'number'}")
    return number_of(found[1]), scale


def written_units(quantity: Quantity) -> tuple[Scale, ...]:
    """Units that a number of one kind may have behind it.

    Parameters
    ----------
    quantity : Quantity
        Its kind.

    Returns
    -------
    tuple of Scale
        Empty where none is known.
    """
    return tuple(_UNITS.get(quantity.name, {}).values())
