"""A visit beside the clean unit at the same weather, with what its finding says of the difference.

Levels, losses and suspect readings are those of the visit's finding (`calibration.diagnosis.finding`):
nothing is weighed again. The columns beside the readings are the fitted unit's, clean and with the fouling
that the finding names, which know nothing of the visit's readings; so their difference may lie a little off
the loss.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calibration.case.records import Case, Visit
from calibration.clean_fit.baseline import Baseline, baseline_without
from calibration.clean_fit.prediction import Prediction, prediction_of
from calibration.diagnosis.finding import Finding, find
from calibration.diagnosis.scene import scene
from calibration.diagnosis.visit_model import Scene, at_latent, latent_steps
from calibration.estimate import Estimate
from calibration.measured.performance import MeasuredPerformance, measured_performance
from model.cycle.faults import HEALTHY, Faults


@dataclass(frozen=True)
class Comparison:
    """A visit against the clean unit.

    Attributes
    ----------
    finding : Finding
        What the visit's readings say.
    measured, supported : MeasuredPerformance
        By the readings as they are, and with every suspect reading in the value that the others support; the
        same where none is suspect.
    clean, fouled : Prediction
        The clean unit at the visit's weather, and with the fouling that the finding names.
    airflow_lost : Estimate
        Share of the condenser's airflow that this fouling costs [-].
    """

    finding: Finding
    measured: MeasuredPerformance
    supported: MeasuredPerformance
    clean: Prediction
    fouled: Prediction
    airflow_lost: Estimate

    @property
    def visit(self) -> Visit:
        """The visit."""
        return self.finding.visit


def compare_visit(case: Case, visit: Visit, baseline: Baseline, finding: Finding | None = None) -> Comparison:
    """One visit against a fitted clean unit.

    Parameters
    ----------
    case : Case
        For nameplate, meters and the clean visits of the baseline.
    visit : Visit
        As found, or any other; one after cleaning is compared with the others after cleaning.
    baseline : Baseline
        `calibration.clean_fit.baseline.baseline_of(case)`.
    finding : Finding, optional
        Of this visit, if it is there already.

    Returns
    -------
    Comparison

    Raises
    ------
    ValueError
        Where the visit has no reading that the model could explain.
    """
    finding = finding or find(case, visit, baseline=baseline)
    without = baseline_without(case, visit, baseline)
    clean_visits = [one for one in case.clean_visits if one.label in without.visits]
    place = scene(without, clean_visits, visit, case.instruments)
    blocked = finding.blocked.value
    return Comparison(
        finding=finding,
        measured=measured_performance(visit, case.unit, case.instruments),
        supported=measured_performance(
            finding.visit_as_supported, case.unit, case.instruments, finding.supported_errors
        ),
        clean=predicted_at_visit(place),
        fouled=predicted_at_visit(place, Faults(condenser_blocked=blocked)),
        airflow_lost=finding.fouling.levels[0].airflow_lost or Estimate(0.0, 0.0, 0.0),
    )


def predicted_at_visit(place: Scene, faults: Faults = HEALTHY) -> Prediction:
    """Operating point of the fitted unit in the visit's weather, with standard errors.

    `calibration.clean_fit.prediction` takes weather and airflow as given. Beside the readings of a visit they
    are readings themselves: the ranges here hold the errors of thermometers and wet bulb, how far the unit
    and its airflow may have moved since the clean visits, and what the fit leaves open.

    Parameters
    ----------
    place : Scene
        The visit and everything uncertain about it; its readings are not looked at.
    faults : Faults
        Plain numbers.

    Returns
    -------
    Prediction
        Of one point.
    """
    steps, count = latent_steps(place), len(place.prior_mean)
    columns = np.repeat(place.prior_mean[:, None], count + 1, axis=1)
    columns[np.arange(count), 1 + np.arange(count)] += steps
    return prediction_of(at_latent(place, columns, faults), steps, place.prior_covariance)
