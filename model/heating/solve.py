"""The steady heating point at any weather and with any faults, for whole arrays at once.

The three balances of `model.cycle.balances`, solved as in cooling by `model.cycle.batch_newton`; the start
follows the weather. Every point converges, or is held at a pressure limit and named. Frost is another matter:
these points are steady, as in the standard's tests H1 and H3; what frost and defrost take of them is in
`model.heating.frost`.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array
from model.components.condenser import effectiveness
from model.components.expansion import ExpansionKind
from model.components.unit import Unit
from model.cycle.boundary import Surroundings
from model.cycle.faults import HEALTHY, Faults
from model.cycle.solve import Mode, charge_for_subcooling, solved_fields
from model.heating.boundary import HeatingConditions, heating_surroundings, heating_test
from model.heating.heat_pump import DESIGN_EVAPORATING, RATING_OUTDOOR, HeatPump, turned
from model.heating.heating_point import HeatingPoint, heating_point
from model.properties.refrigerant import Refrigerant, refrigerant

EVAPORATING_SLOPE = 0.022
"""Growth of the evaporating temperature's distance from outdoor air with that air's temperature [1/K]; only
where the solver starts."""
USUAL_TRANSFER = 0.75
"""Effectiveness of an outdoor coil at the design [-]; only where the solver starts."""
STARTING_SUPERHEAT = 0.08
"""Third unknown to start from [-]."""


def solve_heating(
    pump: HeatPump,
    conditions: HeatingConditions,
    faults: Faults = HEALTHY,
    start: ArrayLike | None = None,
    *,
    patient: bool = True,
) -> HeatingPoint:
    """Steady heating points of a heat pump.

    Parameters
    ----------
    pump : HeatPump
        May hold arrays; they broadcast with the conditions.
    conditions : HeatingConditions
    faults : Faults
        Of the outdoor coil under the names that they have in cooling.
    start : array (3, ...), optional
        Unknowns to start from; from the design moved to the weather if not given.
    patient : bool
        As for `model.cycle.solve.solve`.

    Returns
    -------
    HeatingPoint
        Every point either converged (residual under 1e-6), held at a pressure limit and named, or named "not
        converged".

    Raises
    ------
    ValueError
        Where an input is out of its range; see `heating_surroundings` and `Faults`.
    """
    fluid = refrigerant(pump.heating.refrigerant)
    return HeatingPoint(**solved_fields(HEATING, (pump, conditions, faults), fluid, start, patient))


def starting_unknowns(unit: Unit, fluid: Refrigerant, given: Surroundings, count: int) -> Array:
    """Unknowns of `model.cycle.balances` to start from in heating.

    Parameters
    ----------
    unit : Unit
        The parts at work.
    fluid : Refrigerant
        Its refrigerant.
    given : Surroundings
        Air streams, charge and faults.
    count : int
        Number of points.

    Returns
    -------
    ndarray, shape (3, count)
        Unknowns.
    """
    air, room = given.evaporator_air, given.condenser_air
    flow = given.compressor_speed * (1.0 - given.leakage)
    # Less heat is drawn from colder air, and more distance is needed for it by a poorer coil.
    capacity = np.clip(1.0 + EVAPORATING_SLOPE * (air.temperature - RATING_OUTDOOR), 0.3, 1.7) * flow
    rate = air.flow * air.heat_capacity
    share = effectiveness(air.conductance, np.asarray(unit.evaporator.boiling_conductance), rate)
    usual = np.asarray(unit.outdoor_fan.airflow) * 1250.0 * USUAL_TRANSFER
    distance = (
        (RATING_OUTDOOR - DESIGN_EVAPORATING) * capacity * np.clip(usual / (rate * share), 0.5, 5.0) ** 0.6
    )
    evaporating = np.clip(air.temperature - distance, 225.0, 295.0)
    less_air = np.asarray(unit.indoor_fan.airflow) * 1180.0 / room.heat_capacity_rate
    lift = np.asarray(unit.start.condensing_approach) * capacity * np.clip(less_air, 0.5, 4.0) ** 0.7
    lift = np.minimum(np.maximum(lift, 4.0), 0.9 * given.limit_approach)
    start = np.empty((3, count))
    start[0] = np.log(fluid.dew_pressure(evaporating))
    rise = np.log(fluid.bubble_pressure(room.temperature + lift) / given.air_bubble_pressure)
    start[1] = np.log(rise / given.limit_rise)
    start[2] = STARTING_SUPERHEAT
    return start


LAST_STARTS = ((1.0, -2.0, -5.0), (6.0, -1.0, -1.0), (0.5, -6.0, 0.0))
"""Where points that find no way begin once more: evaporator [K] below outdoor air, and the other unknowns.
Flooded with little lift, wet, and with no lift: a slow compressor on an open orifice in the cold.
"""
HEATING = Mode(heating_surroundings, starting_unknowns, heating_point, heating_test(), LAST_STARTS)
"""How the solver runs a heat pump in winter."""


def with_working_charge(pump: HeatPump) -> HeatPump:
    """The heat pump with the charge at work that gives the design subcooling at test H1.

    Parameters
    ----------
    pump : HeatPump
        The charge in its `heating` does not matter.

    Returns
    -------
    HeatPump
        The same with another charge there.
    """
    fluid = refrigerant(pump.heating.refrigerant)
    charge = charge_for_subcooling(HEATING, pump, heating_test(), fluid)
    circuit = replace(pump.heating.circuit, charge=charge)
    return replace(pump, heating=replace(pump.heating, circuit=circuit))


def heat_pump(unit: Unit, expansion: ExpansionKind = "TXV", accumulator_volume: ArrayLike = 0.0) -> HeatPump:
    """The heat pump that a cooling unit is.

    Parameters
    ----------
    unit : Unit
        As it cools, from `model.cycle.sizing.nominal_unit` or fitted.
    expansion : str
        Kind of the heating device: "TXV" or "fixed orifice".
    accumulator_volume : array_like
        Liquid that a suction accumulator can hold [m3]; 0 without one.

    Returns
    -------
    HeatPump
        With its working charge.
    """
    return with_working_charge(turned(unit, expansion, np.asarray(accumulator_volume, dtype=float)))
