"""Whether the cycle has an answer everywhere a technician can meet a unit, as a table of outcomes.

Points are drawn as a Latin hypercube over weather, altitude, size, airflows and charge, for each refrigerant
and both expansion devices. Each is solved once from the unit's own start. Counted are the states; of every
converged point the balances are closed again from the reported flows of heat, apart from the solver's own
residual. The edges of the envelope are those a unit can be asked to work at; they are common practice, no
source.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields
from typing import NamedTuple

import numpy as np
from scipy.stats import qmc

from calibration.case.units import FOOT, TEMPERATURE, TON
from model.arrays import Array
from model.components.expansion import ExpansionKind
from model.components.unit import Unit
from model.cycle.boundary import Conditions
from model.cycle.faults import Faults
from model.cycle.operating_point import CONVERGED
from model.cycle.sizing import nominal_unit
from model.cycle.solve import STATES, OperatingPoint, solve
from model.properties import moist_air
from model.properties.refrigerant import KNOWN_REFRIGERANTS

REFRIGERANTS = ("R410A", "R454B", "R22")
DEVICES: tuple[ExpansionKind, ...] = ("TXV", "fixed orifice")
POINTS = 100_000
"""Points for each refrigerant and device."""
RANDOM_STATE = 20_261_125
POINTS_AT_A_TIME = 8192
RATED_EER = 3.4
"""Of the units that are drawn [W/W]."""

SHARE_WANTED = 0.999
"""Least share of the points without a limit that should converge [-]."""


class DrawnAxis(NamedTuple):
    """One quantity that is drawn: name, unit, least and largest."""

    name: str
    unit: str
    low: float
    high: float


AXES = (
    DrawnAxis("outdoor dry bulb", "degF", 55.0, 125.0),
    DrawnAxis("return dry bulb", "degF", 60.0, 95.0),
    DrawnAxis("return relative humidity", "-", 0.15, 0.80),
    DrawnAxis("altitude", "ft", 0.0, 10_000.0),
    DrawnAxis("rated capacity", "tons", 1.5, 20.0),
    DrawnAxis("condenser airflow over clean", "-", 0.2, 1.0),
    DrawnAxis("indoor airflow over rated", "-", 0.4, 1.2),
    DrawnAxis("charge over right", "-", 0.6, 1.3),
)


@dataclass(frozen=True)
class EnvelopeOutcomes:
    """What became of the points of one refrigerant and device.

    Attributes
    ----------
    refrigerant, expansion : str
    counts : dict of str to int
        Points in each of `model.cycle.solve.STATES`.
    residual : float
        Largest of what flow, charge and heat balances miss by [-].
    first_law : float
        Largest of what heat rejected and shell loss miss gross capacity, power and suction line's gain by,
        over heat rejected [-]; but for points held at the low-pressure limit, where less enters the
        evaporator than leaves it.
    indoor_air, outdoor_air : float
        Largest of what the heat of the air misses that of the refrigerant by [-]; but for points held at that
        coil's pressure limit, where it is still cooling down or warming.
    not_finite : int
        Points with any number that is not finite.
    """

    refrigerant: str
    expansion: ExpansionKind
    counts: dict[str, int]
    residual: float
    first_law: float
    indoor_air: float
    outdoor_air: float
    not_finite: int

    @property
    def points(self) -> int:
        """All points drawn."""
        return sum(self.counts.values())

    @property
    def not_converged(self) -> int:
        """Points with neither a solution nor a limit."""
        return self.counts["not converged"]

    @property
    def answered(self) -> float:
        """Share of the points that are converged or in a named limit state [-]."""
        return 1.0 - self.not_converged / self.points

    @property
    def converged_without_limit(self) -> float:
        """Share converged of the points that are in no limit state [-]; 1 where there are none."""
        free = self.counts["ok"] + self.not_converged
        return self.counts["ok"] / free if free else 1.0

    @property
    def met(self) -> bool:
        """Whether every point has an answer, every answer numbers, and all balances close."""
        worst = max(self.residual, self.first_law, self.indoor_air, self.outdoor_air)
        return (
            self.not_converged == 0
            and self.not_finite == 0
            and self.converged_without_limit >= SHARE_WANTED
            and worst < CONVERGED
        )


def envelope_study(
    points: int = POINTS,
    refrigerants: Sequence[str] = REFRIGERANTS,
    progress: Callable[[float], None] | None = None,
) -> tuple[EnvelopeOutcomes, ...]:
    """Outcomes of points drawn over the envelope.

    Parameters
    ----------
    points : int
        For each refrigerant and device, at least 1.
    refrigerants : sequence of str
        Of `model.properties.refrigerant.KNOWN_REFRIGERANTS`.
    progress : callable, optional
        Called with the fraction done.

    Returns
    -------
    tuple of EnvelopeOutcomes
        One for each refrigerant and device.

    Raises
    ------
    ValueError
        Where there are no points or a refrigerant is unknown.
    """
    if points < 1:
        raise ValueError(f"points must be at least 1, got {points}")
    for name in refrigerants:
        if name not in KNOWN_REFRIGERANTS:
            raise ValueError(f"refrigerant must be one of {', '.join(KNOWN_REFRIGERANTS)}, got {name}")
    drawn = drawn_points(points)
    kinds = [(name, device) for name in refrigerants for device in DEVICES]
    outcomes = []
    for done, (name, device) in enumerate(kinds):

        def tell(share: float, before: int = done) -> None:
            if progress is not None:
                progress((before + share) / len(kinds))

        outcomes.append(_outcomes(name, device, drawn, tell))
    return tuple(outcomes)


def drawn_points(count: int) -> Array:
    """Latin hypercube over `AXES`.

    Parameters
    ----------
    count : int
        How many points.

    Returns
    -------
    ndarray, shape (axes, count)
        In the units given there.
    """
    sample = qmc.LatinHypercube(len(AXES), rng=np.random.default_rng(RANDOM_STATE)).random(count)
    low, high = [axis.low for axis in AXES], [axis.high for axis in AXES]
    return np.asarray(qmc.scale(sample, low, high).T)


def situations(refrigerant: str, expansion: ExpansionKind, drawn: Array) -> tuple[Unit, Conditions, Faults]:
    """Units, weather and faults of drawn points (axes, n), each of shape (n,).

    Parameters
    ----------
    refrigerant : str
        Its name.
    expansion : ExpansionKind
        Kind of the expansion device.
    drawn : ndarray, shape (axes, n)
        From `drawn_points`.

    Returns
    -------
    (Unit, Conditions, Faults)
        Each of shape (n,).
    """
    outdoor, dry_bulb, humidity, altitude, tons, condenser, indoor, charge = drawn
    unit = nominal_unit(refrigerant, tons * TON, RATED_EER, expansion=expansion)
    pressure = moist_air.standard_pressure(altitude * FOOT)
    returned = TEMPERATURE.to_si(dry_bulb, "US")
    ratio = moist_air.humidity_ratio_from_relative_humidity(returned, humidity, pressure)
    density = 1.0 / moist_air.specific_volume(returned, ratio, pressure)
    conditions = Conditions(
        TEMPERATURE.to_si(outdoor, "US"),
        returned,
        ratio,
        pressure,
        indoor_airflow=unit.indoor_fan.airflow * indoor * density,
    )
    return unit, conditions, Faults(condenser_airflow_lost=1.0 - condenser, charge_change=charge - 1.0)


def _outcomes(
    refrigerant: str, expansion: ExpansionKind, drawn: Array, progress: Callable[[float], None]
) -> EnvelopeOutcomes:
    count = drawn.shape[1]
    states = np.zeros(len(STATES), dtype=int)
    worst, not_finite = np.zeros(4), 0
    for begin in range(0, count, POINTS_AT_A_TIME):
        part = drawn[:, begin : begin + POINTS_AT_A_TIME]
        point = solve(*situations(refrigerant, expansion, part))
        states += np.bincount(point.state, minlength=len(STATES))
        worst = np.maximum(worst, _imbalances(point))
        not_finite += _not_finite(point)
        progress(min(begin + POINTS_AT_A_TIME, count) / count)
    counts = dict(zip(STATES, states.tolist(), strict=True))
    residual, first_law, indoor, outdoor = worst.tolist()
    return EnvelopeOutcomes(refrigerant, expansion, counts, residual, first_law, indoor, outdoor, not_finite)


def _imbalances(point: OperatingPoint) -> Array:
    """Largest residual, first-law, indoor-air and outdoor-air imbalance of converged points [-]."""
    converged = point.residual < CONVERGED
    given = point.gross_capacity + point.compressor_power + point.suction_gain
    first_law = (point.heat_rejected + point.shell_loss - given) / point.heat_rejected
    indoor = point.evaporator_air_heat / point.gross_capacity - 1.0
    outdoor = point.condenser_air_heat / point.heat_rejected - 1.0
    # Held at the low limit, the unknown pressure lies below the one that the point shows.
    held_low = point.unknowns[0] < np.log(point.evaporator_pressure) - 1e-12
    held_high = point.unknowns[1] > 0.0
    parts = (
        (point.residual, converged),
        (first_law, converged & ~held_low),
        (indoor, converged & ~held_low),
        (outdoor, converged & ~held_high),
    )
    return np.array([np.abs(value[where]).max(initial=0.0) for value, where in parts])


def _not_finite(point: OperatingPoint) -> int:
    """Points with any number that is not finite."""
    finite = np.ones(point.state.shape, dtype=bool)
    for field in fields(point):
        values = getattr(point, field.name)
        finite &= np.isfinite(values).reshape(-1, *point.state.shape).all(axis=0)
    return int((~finite).sum())
