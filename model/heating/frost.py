"""What frost and defrost take of a heat pump's steady capacity and power.

A coil that is colder than freezing and than the dew point of the outdoor air gathers frost; the frost closes
it, and is melted by running the other way round, with heat from the room. Nothing of this is solved in time:
a published figure of the loss is carried over to other weather by how much frost the cycle itself says that
the coil gathers.

* Anchor: the standard's own relation for a unit whose frosting test H2 (35/33 degF) was not made,
  Q(35) = 0.90 [Q(17) + 0.6 (Q(47) - Q(17))] and P(35) = 0.985 [P(17) + 0.6 (P(47) - P(17))]: frost and
  defrost take 10 % of the heat and 1.5 % of the power.
* Weather: the loss goes with the frost gathered for each joule that the coil takes up, over that of the
  clean unit at H2. Dry air frosts nothing, a coil above freezing neither. Below 35 degF the standard draws a
  straight line to 17 degF, where it counts no loss; so does this.
* A fouled coil is colder and gathers more, which the cycle says. That the same frost closes the little that
  is left open sooner, it does not say: no published figure for a fouled outdoor coil was found. A quarter
  less air shortened the time between defrosts by 35 %, without a measurable effect on the mean COP (abstract
  of a laboratory study of a three-row coil). So the loss goes with (airflow of the clean unit over airflow)
  to a power from 0 (no effect) to 1.5 (in proportion to the number of defrosts); the middle is 0.75.

A unit that defrosts on demand has the standard's credit on its season, at most 3 %.

References
----------
AHRI 210/240 and 10 CFR 430 subpart B appendix M: equations of H2 and of the demand-defrost credit
(second-hand and from memory). Frost and defrost performance of a three-row fin-staged heat pump evaporator
(abstract read): airflow and cycle time. ASHRAE Transactions 93(1), 1987, NY-87-16-3 (abstract read): frosting
took 1 to 5 % of a season's energy, defrosting 1 to 3 %.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array
from model.heating.boundary import COLD_OUTDOOR, FROST_OUTDOOR, FROST_WET_BULB, heating_test
from model.heating.heat_pump import HeatPump
from model.heating.heating_point import HeatingPoint
from model.heating.solve import solve_heating
from model.properties.moist_air import ZERO_CELSIUS

CAPACITY_LOSS, POWER_LOSS = 0.10, 0.015
"""Share of steady heat and power that frost and defrost take at test H2 [-] (AHRI 210/240)."""
FREEZING_SPAN = 0.7
"""Surface temperature about freezing over which a coil goes from wet to frosted [K] (common practice, no
source): tubes are colder than fin tips."""
AIRFLOW_POWERS = (0.0, 0.75, 1.5)
"""Power of (clean airflow over airflow) in the loss: least, middle, most [-]; see this module's text."""
MOST_FROST = 3.5
"""Largest loss over that at test H2 [-]: a coil that is closed defrosts again and again, at 35 % of its heat
(common practice, no source)."""
LARGEST_CREDIT, SHORTEST_TIME, LONGEST_TIME = 0.03, 1.5, 12.0
"""Credit for defrost on demand [-], and the times between defrosts that it counts with [h] (AHRI 210/240)."""


class Frosted(NamedTuple):
    """Mean performance over frosting and defrosting; arrays of one shape.

    capacity: heat to the room [W]; power: electrical, of the whole unit [W]; cop [-]; capacity_loss and
    power_loss: shares of the steady ones [-].
    """

    capacity: Array
    power: Array
    cop: Array
    capacity_loss: Array
    power_loss: Array


def frost_anchor(pump: HeatPump) -> Array:
    """Frost that the clean unit gathers at test H2 for each joule that its coil takes up.

    Parameters
    ----------
    pump : HeatPump
        The machine.

    Returns
    -------
    ndarray
        [kg/J], shape of its numbers.
    """
    return gathered(solve_heating(pump, heating_test(FROST_OUTDOOR, FROST_WET_BULB)))


def gathered(point: HeatingPoint) -> Array:
    """Frost gathered for each joule that the outdoor coil takes up.

    Parameters
    ----------
    point : HeatingPoint
        Steady points.

    Returns
    -------
    ndarray
        [kg/J], 0 where the coil is dry or well above freezing, shape of the point.
    """
    above = (point.surface_temperature - ZERO_CELSIUS) / FREEZING_SPAN
    frozen = 1.0 / (1.0 + np.exp(np.clip(above, -60.0, 60.0)))
    return np.asarray(point.deposit * frozen / point.heat_absorbed)


def frosted(
    pump: HeatPump,
    point: HeatingPoint,
    outdoor_temperature: ArrayLike,
    anchor: ArrayLike | None = None,
    airflow_power: ArrayLike = AIRFLOW_POWERS[1],
) -> Frosted:
    """Steady points less what frost and defrost take of them.

    Parameters
    ----------
    pump : HeatPump
        The machine, for its clean airflow.
    point : HeatingPoint
        Its steady points.
    outdoor_temperature : array_like
        Of these points [K].
    anchor : array_like, optional
        `frost_anchor` where it is known already [kg/J].
    airflow_power : array_like
        Power of the airflow in the loss [-], 0 or more; see `AIRFLOW_POWERS`.

    Returns
    -------
    Frosted
        Shapes broadcast.
    """
    usual = frost_anchor(pump) if anchor is None else np.asarray(anchor)
    cold = np.asarray(outdoor_temperature, dtype=float)
    counted = np.clip((cold - COLD_OUTDOOR) / (FROST_OUTDOOR - COLD_OUTDOOR), 0.0, 1.0)
    less_air = np.asarray(pump.heating.outdoor_fan.airflow) / point.outdoor_airflow
    growth = np.maximum(less_air, 1.0) ** np.asarray(airflow_power, dtype=float)
    amount = np.minimum(counted * growth * gathered(point) / np.maximum(usual, 1e-15), MOST_FROST)
    capacity = point.heating_capacity * (1.0 - CAPACITY_LOSS * amount)
    power = point.total_power * (1.0 - POWER_LOSS * amount)
    return Frosted(capacity, power, capacity / power, CAPACITY_LOSS * amount, POWER_LOSS * amount)


def demand_defrost_credit(between: ArrayLike = SHORTEST_TIME, longest: ArrayLike = LONGEST_TIME) -> Array:
    """Factor of the standard on the seasonal efficiency of a unit that defrosts on demand.

    Parameters
    ----------
    between : array_like
        Time between defrosts at test H2 [h]; at least `SHORTEST_TIME` counts.
    longest : array_like
        Longest time that the controls allow [h]; at most `LONGEST_TIME` counts.

    Returns
    -------
    ndarray
        1 to 1.03 [-].
    """
    first = np.maximum(np.asarray(between, dtype=float), SHORTEST_TIME)
    last = np.minimum(np.asarray(longest, dtype=float), LONGEST_TIME)
    return np.asarray(1.0 + LARGEST_CREDIT * (1.0 - (first - SHORTEST_TIME) / (last - SHORTEST_TIME)))
