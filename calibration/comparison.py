"""An as-found visit beside the clean unit at the same weather, and the fouling that explains it best.

The fouling is a blocked share of the condenser's face, weighed as `calibration.match` weighs that cause: the
unit's parameters, the day's airflow and the weather are open within what is known of them, and mild fouling
is likelier than grave before a reading is looked at. So a badly known unit gives a wide answer, and the share
told here is the share told there, and so is what it takes. The columns beside it are the fitted unit's, which
know nothing of the visit's readings: what the fouling takes may differ a little from their difference.

Whether the readings are those of a fouled coil at all is `calibration.match`'s question.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.baseline import Baseline, linearised_for
from calibration.candidates import candidates
from calibration.case import Case, Visit
from calibration.consequences import Span, Toll, found_today
from calibration.evidence import Weighed, weighed
from calibration.expected import Observation, conditions, observation
from calibration.performance import MeasuredPerformance, measured_performance
from calibration.prediction import Prediction, predicted_beside_clean
from calibration.scene import Scene, scene
from model.causes import Causes

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Row:
    """One reading [SI]: measured, expected clean, expected fouled, standard error of measured less clean."""

    reading: str
    measured: float
    clean: float
    fouled: float
    standard_error: float

    @property
    def standardised(self) -> float:
        """Measured less clean, over its standard error [-]."""
        return (self.measured - self.clean) / self.standard_error


@dataclass(frozen=True)
class Comparison:
    """An as-found visit against the clean unit.

    Attributes
    ----------
    visit : Visit
    measured : MeasuredPerformance
    clean, fouled : Prediction
        The clean unit at the visit's weather, and with the best fouling.
    blocked : Span
        Blocked share of the condenser's face [-].
    airflow_lost : Span
        Share of the condenser's airflow that this costs [-].
    toll : Toll
        What the fouling takes from the clean unit at this weather.
    rows : tuple of Row
        Reading by reading.
    clean_misfit, fouled_misfit : float
        Sum of squared standardised differences without and with the fouling, correlations taken into account
        [-].
    readings : int
        How many readings these sums have.
    """

    visit: Visit
    measured: MeasuredPerformance
    clean: Prediction
    fouled: Prediction
    blocked: Span
    airflow_lost: Span
    toll: Toll
    rows: tuple[Row, ...]
    clean_misfit: float
    fouled_misfit: float
    readings: int


def compare_visit(case: Case, visit: Visit, baseline: Baseline) -> Comparison:
    """One visit against a fitted clean unit.

    Parameters
    ----------
    case : Case
        For nameplate, meters and the clean visits of the baseline.
    visit : Visit
        As found, or any other.
    baseline : Baseline
        `calibration.baseline.baseline_of(case)`.

    Returns
    -------
    Comparison

    Raises
    ------
    ValueError
        Where the visit has no reading that the model could explain.
    """
    seen = observation(visit, case.instruments)
    if not seen.names:
        raise ValueError(
            f"visit {visit.label}: has no pressure, pipe temperature, supply air or power; "
            "at least one is expected"
        )
    place = _scene(case, visit, baseline)
    found = found_today(place, _weighed_blocked(place))
    (face,) = found.severities
    blocked = face.amount
    held = _held_against(baseline, seen, np.array([0.0, blocked.value]))
    weather = conditions(seen.settings, seen.ambient_pressure, seen.compressor_speed, seen.outdoor_fan_speed)
    causes = Causes(condenser_blocked=blocked.value)
    both = predicted_beside_clean(baseline, weather, causes)
    columns = (seen.values, *held.expected, held.spreads[0])
    rows = zip(seen.names, *(map(float, column) for column in columns), strict=True)
    return Comparison(
        visit=visit,
        measured=measured_performance(visit, case.unit, case.instruments),
        clean=both.clean,
        fouled=both.changed,
        blocked=blocked,
        airflow_lost=face.airflow_lost or Span(0.0, 0.0, 0.0),
        toll=found.toll,
        rows=tuple(Row(*row) for row in rows),
        clean_misfit=float(held.squares[0]),
        fouled_misfit=float(held.squares[1]),
        readings=len(seen.names),
    )


def _scene(case: Case, visit: Visit, baseline: Baseline) -> Scene:
    """The visit and everything uncertain about it, as in `calibration.match`."""
    clean_visits = [one for one in case.clean_visits if one.label in baseline.visits]
    return scene(baseline, clean_visits, visit, case.instruments)


def _weighed_blocked(place: Scene) -> Weighed:
    """A blocked face as all that is wrong, weighed as in `calibration.match`."""
    explanations = candidates()
    face = next(one for one in explanations.singles if one.causes[0].field == "condenser_blocked")
    return weighed(place, (explanations.clean, face))[1]


class _Held(NamedTuple):
    """Of each share: squared differences, expected readings, their spreads."""

    squares: Array
    expected: Array
    spreads: Array


def _held_against(baseline: Baseline, seen: Observation, shares: Array) -> _Held:
    causes = Causes(condenser_blocked=shares[:, None])
    lines, _ = linearised_for(baseline.generic, baseline.values, seen, causes)
    spread = lines.noise + lines.slopes @ baseline.covariance @ np.swapaxes(lines.slopes, -1, -2)
    off = (seen.values - lines.expected)[..., None]
    squares = (np.swapaxes(off, -1, -2) @ np.linalg.solve(spread, off))[:, 0, 0]
    return _Held(squares, lines.expected, np.sqrt(np.diagonal(spread, axis1=-2, axis2=-1)))
