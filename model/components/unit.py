"""One split air conditioner as numbers: its parts, its limits and where the solver starts.

Sizing a generic unit from a nameplate is `model.cycle.sizing`; fitting one to a clean visit is
`calibration.clean_fit.baseline`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

from model.arrays import Number
from model.components.charge import Circuit
from model.components.compressor import Compressor
from model.components.condenser import Condenser
from model.components.evaporator import Evaporator
from model.components.expansion import Expansion
from model.components.fans import Fan

CompressorKind = Literal["scroll", "reciprocating", "rotary"]
FanKind = Literal["fixed speed", "constant airflow"]
CoilType = Literal["tube and fin", "microchannel"]


class StartingPoint(NamedTuple):
    """Design point: evaporating temperature, condensing approach, decays of superheat and subcooling."""

    evaporating: Number
    condensing_approach: Number
    superheat_decay: Number
    subcooling_decay: Number


@dataclass(frozen=True)
class Unit:
    """One air conditioner; numbers in its parts may be arrays, so that it is also a whole family of units.

    Limits: `high_pressure_limit`, `low_pressure_limit` [Pa absolute], `discharge_limit` [K]. `rated_flow`
    [kg/s] scales the balances, `rated_capacity` [W] is net.
    """

    refrigerant: str
    rated_capacity: Number
    compressor: Compressor
    condenser: Condenser
    evaporator: Evaporator
    outdoor_fan: Fan
    indoor_fan: Fan
    expansion: Expansion
    circuit: Circuit
    rated_flow: Number
    rated_pressure_difference: Number
    high_pressure_limit: Number
    low_pressure_limit: Number
    discharge_limit: Number
    start: StartingPoint
