"""Pressures that gauges usually show on a comfort unit, by its refrigerant.

The ranges of saturation temperatures are common practice, no source; the pressures follow from the
refrigerant's own saturation curve.
"""

from __future__ import annotations

from model.properties.refrigerant import refrigerant

EVAPORATING = (264.0, 287.0)
"""Dew points at the suction port of a running comfort unit [K]: 16 to 57 degF."""
CONDENSING = (296.0, 336.0)
"""Bubble points at the liquid port [K]: 73 to 145 degF."""
STANDING = (283.0, 319.0)
"""Air around an idle unit [K]: 50 to 115 degF."""
_SIDES = {
    "suction_pressure": EVAPORATING,
    "liquid_pressure": CONDENSING,
    "liquid_valve_pressure": CONDENSING,
    "discharge_pressure": CONDENSING,
    "standing_pressure": STANDING,
}


def typical_pressure(name: str, refrigerant_name: str) -> tuple[float, float] | None:
    """Lowest and highest usual pressure of one port.

    Parameters
    ----------
    name : str
        Key of the reading.
    refrigerant_name : str
        Refrigerant of the unit.

    Returns
    -------
    (float, float) or None
        [Pa absolute]; None for another reading, or a refrigerant that is not known.
    """
    side = _SIDES.get(name)
    if side is None:
        return None
    try:
        fluid = refrigerant(refrigerant_name)
    except ValueError:
        return None
    saturation = fluid.dew_pressure if name == "suction_pressure" else fluid.bubble_pressure
    return float(saturation(side[0])), float(saturation(side[1]))
