"""Whether a visit can be believed: its heat balance, its doubted readings, and the loss that they support.

The loss by all believed readings together is what the faults that go with them take from the clean unit's
capacity at the same weather, each fault and level weighed by its probability. It is the figure to set
beside the loss by each single route of the heat balance.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calibration.case.records import Case, Visit
from calibration.clean_fit.baseline import Baseline
from calibration.clean_fit.observation import Observation, conditions, observation
from calibration.clean_fit.prediction import CHANGE_SPREAD
from calibration.diagnosis.doubted import Consistency, doubted_readings
from calibration.diagnosis.heat_balance import AIR, REFRIGERANT, HeatBalance, heat_balance_of
from calibration.diagnosis.suppositions import (
    LEVELS,
    Reference,
    faults_at,
    filled_in,
    reference_for,
    tried_faults,
)
from calibration.measured.performance import Estimate
from model.cycle.faults import HEALTHY
from model.cycle.solve import solve

Array = NDArray[np.float64]

AIR_SIDE_READINGS = ("supply_", "return_", "indoor_airflow")
"""How the keys of readings begin that the air side's capacity is made of."""
FAR_SMALLER = 0.5
"""The refrigerant side supports a far smaller loss where it is less than this share of the air side's [-]."""


@dataclass(frozen=True)
class VisitCheck:
    """Whether one visit can be believed.

    Attributes
    ----------
    balance : HeatBalance
    consistency : Consistency or None
        None where the visit has no reading that the model could explain.
    supported_loss : Estimate or None
        Loss of the coil's capacity against the clean unit that the believed readings together support [-];
        None for a clean visit and without a consistency.
    """

    balance: HeatBalance
    consistency: Consistency | None
    supported_loss: Estimate | None

    @property
    def air_side_overstates(self) -> bool:
        """Whether the air side shows a loss that the refrigerant side supports only a small part of.

        Either the two contradict each other, or a reading of the air side is doubted anyway.
        """
        losses = self.balance.losses
        if AIR not in losses or REFRIGERANT not in losses or self.supported_loss is None:
            return False
        apart = next(d for d in self.balance.differences if (d.first, d.second) == (AIR, REFRIGERANT))
        far = losses[REFRIGERANT].value < FAR_SMALLER * losses[AIR].value
        culprits = self.consistency.culprits if self.consistency is not None else ()
        doubted = any(doubt.reading.startswith(AIR_SIDE_READINGS) for doubt in culprits)
        return far and apart.errors < 0 and (doubted or not apart.agrees)


def check_visit(case: Case, visit: Visit, baseline: Baseline | None = None) -> VisitCheck:
    """Heat balance, doubted readings and supported loss of one visit.

    Parameters
    ----------
    case : Case
    visit : Visit
    baseline : Baseline, optional
        `calibration.clean_fit.baseline.baseline_of(case)`, if it is at hand; the visit itself is always left
        out of it.

    Returns
    -------
    VisitCheck
    """
    reference = reference_for(case, visit, baseline)
    balance = heat_balance_of(case, visit, reference)
    seen = observation(visit, case.instruments)
    if not seen.names:
        return VisitCheck(balance, None, None)
    as_found = visit.coil == "as found"
    consistency = doubted_readings(reference, seen, as_found)
    loss = supported_loss(reference, seen, consistency) if as_found else None
    return VisitCheck(balance, consistency, loss)


def supported_loss(reference: Reference, seen: Observation, consistency: Consistency) -> Estimate:
    """Loss of the coil's capacity that the believed readings support, over all faults and levels [-].

    Parameters
    ----------
    reference : Reference
    seen : Observation
    consistency : Consistency
        Of the same visit, as found.
    """
    tried = tried_faults(seen)
    weather = conditions(seen.settings, seen.ambient_pressure, seen.compressor_speed, seen.outdoor_fan_speed)
    unit = reference.baseline.unit
    clean = solve(unit, weather, HEALTHY)
    faults = faults_at(tried, np.array(LEVELS))
    found = solve(unit, weather, faults, clean.unknowns.reshape(-1, 1, 1))
    losses = 1.0 - np.asarray(found.gross_capacity)[:, 0] / float(clean.gross_capacity)
    losses = filled_in(np.zeros(1), losses, LEVELS, len(tried))
    mean = float(consistency.chances @ losses)
    variance = float(consistency.chances @ (losses - mean) ** 2)
    return Estimate(mean, float(np.hypot(np.sqrt(variance), CHANGE_SPREAD * mean)))
