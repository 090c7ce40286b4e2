"""Forward physics of an air conditioner and what follows from it: SI units, no files, no screens.

The names below are meant for others and keep their meaning: `from model import nominal_unit, solve`.
Each is read from its module at first use, so that importing the package costs nothing.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from model.components.unit import Unit as Unit
    from model.cycle.boundary import Conditions as Conditions
    from model.cycle.faults import HEALTHY as HEALTHY
    from model.cycle.faults import Faults as Faults
    from model.cycle.operating_point import OperatingPoint as OperatingPoint
    from model.cycle.sizing import nominal_unit as nominal_unit
    from model.cycle.sizing import rating_conditions as rating_conditions
    from model.cycle.solve import solve as solve

HOMES = {
    "Conditions": "model.cycle.boundary",
    "Faults": "model.cycle.faults",
    "HEALTHY": "model.cycle.faults",
    "OperatingPoint": "model.cycle.operating_point",
    "Unit": "model.components.unit",
    "nominal_unit": "model.cycle.sizing",
    "rating_conditions": "model.cycle.sizing",
    "solve": "model.cycle.solve",
}
"""Module of each name."""

__all__ = [
    "Conditions",
    "Faults",
    "HEALTHY",
    "OperatingPoint",
    "Unit",
    "nominal_unit",
    "rating_conditions",
    "solve",
]


def __getattr__(name: str) -> object:
    """The object of a public name, from its module."""
    if name not in HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(HOMES[name]), name)


def __dir__() -> list[str]:
    """The public names."""
    return sorted(__all__)
