"""Which units have the same nameplate: equal in all that the nominal unit is sized from, and in kind.

Numbers count as equal to `DIGITS` significant digits: 3 tons and 36,000 Btu/h are one nameplate, whatever
units somebody typed. Name, site, altitude, charge, limits of pressure and lines of a maker's table do not
count. Parts whose kind nobody named have the usual one, as everywhere.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Any

from calibration.case.records import UnitDescription

DIGITS = 3
"""Significant digits to which numbers of a nameplate are compared [-]."""
SIZING = (
    *("refrigerant", "rated_capacity", "rated_eer", "expansion", "compressor", "indoor_blower"),
    *("outdoor_fan", "coil_type", "rated_indoor_airflow", "indoor_blower_power", "outdoor_fan_power"),
    "compressor_map",
)
"""Entries that `calibration.clean_fit.parameters.generic_unit` sizes the nominal unit from."""
KIND = ("stages", "speed_range", "outdoor_fan_speeds", "blower_speeds", "circuits", "heat_pump")
"""Entries that set models apart besides."""


def nameplate_of(description: UnitDescription) -> str:
    """A nameplate as a text that is the same for equal ones.

    Parameters
    ----------
    description : UnitDescription

    Returns
    -------
    str
    """
    entries = asdict(description)
    return json.dumps([_alike(entries[name]) for name in (*SIZING, *KIND)])


def _alike(value: Any) -> Any:
    """A value with its numbers to `DIGITS` digits."""
    if isinstance(value, float):
        return f"{value:.{DIGITS}g}"
    if isinstance(value, dict):
        return {name: _alike(one) for name, one in value.items()}
    return [_alike(one) for one in value] if isinstance(value, list | tuple) else value
