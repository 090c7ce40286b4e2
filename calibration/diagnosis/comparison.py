"""An as-found visit beside the clean unit at the same weather, and the fouling that explains it best.

The fouling is a blocked share of the condenser's face, weighed as `calibration.diagnosis.match` weighs that
fault: the unit's parameters, the day's airflow and the weather are open within what is known of them, and
mild fouling is likelier than grave before a reading is looked at. So a badly known unit gives a wide answer,
and the share and what it takes are those told there. The columns beside it are the fitted unit's, which know
nothing of the visit's readings: what the fouling takes may differ a little from their difference.

Whether the readings are those of a fouled coil at all is `calibration.diagnosis.match`'s question.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from calibration.case.records import Case, Visit
from calibration.clean_fit.baseline import Baseline, baseline_without
from calibration.clean_fit.observation import nothing_to_explain, observation
from calibration.clean_fit.prediction import Prediction
from calibration.diagnosis.evidence import CLAIM, Weighed, chi_square, least_chi_square, weighed
from calibration.diagnosis.hypotheses import FOULED_CONDENSER, Candidate, candidates
from calibration.diagnosis.impact import Span, Toll, found_today
from calibration.diagnosis.reading_rows import ExpectedRow, expected_rows
from calibration.diagnosis.visit_model import Scene, scene
from calibration.diagnosis.visit_prediction import predicted_at_visit
from calibration.measured.performance import MeasuredPerformance, measured_performance
from model.cycle.faults import Faults


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
    rows : tuple of ExpectedRow
        Reading by reading; the first fault is the fouling.
    proof : float
        Probability of a fouled condenser where it and a clean unit are the only explanations [-].
    clean_misfit, fouled_misfit : float
        Sum of squared standardised differences of the readings without and with the fouling, correlations
        taken into account [-].
    """

    visit: Visit
    measured: MeasuredPerformance
    clean: Prediction
    fouled: Prediction
    blocked: Span
    airflow_lost: Span
    toll: Toll
    rows: tuple[ExpectedRow, ...]
    proof: float
    clean_misfit: float
    fouled_misfit: float

    @property
    def proves_fouling(self) -> bool:
        """Whether the readings tell a fouled condenser from a clean unit well enough to claim it."""
        return self.proof >= CLAIM


def compare_visit(case: Case, visit: Visit, baseline: Baseline) -> Comparison:
    """One visit against a fitted clean unit.

    Parameters
    ----------
    case : Case
        For nameplate, meters and the clean visits of the baseline.
    visit : Visit
        As found, or any other; a clean one is held against the other clean ones.
    baseline : Baseline
        `calibration.clean_fit.baseline.baseline_of(case)`.

    Returns
    -------
    Comparison

    Raises
    ------
    ValueError
        Where the visit has no reading that the model could explain.
    """
    if not observation(visit, case.instruments).names:
        raise ValueError(nothing_to_explain(visit.label))
    place = _scene(case, visit, baseline_without(case, visit, baseline))
    clean, blocked = weighed(place, _clean_and_blocked())
    found = found_today(place, blocked)
    (face,) = found.levels
    rows = [row for row in expected_rows(place, clean, (blocked,), None) if not row.derived]
    return Comparison(
        visit=visit,
        measured=measured_performance(visit, case.unit, case.instruments),
        clean=predicted_at_visit(place),
        fouled=predicted_at_visit(place, Faults(condenser_blocked=face.amount.value)),
        blocked=face.amount,
        airflow_lost=face.airflow_lost or Span(0.0, 0.0, 0.0),
        toll=found.toll,
        rows=tuple(rows),
        proof=_proof(clean, blocked),
        clean_misfit=chi_square(place, clean, 0),
        fouled_misfit=least_chi_square(place, blocked),
    )


def _scene(case: Case, visit: Visit, baseline: Baseline) -> Scene:
    """The visit and everything uncertain about it, as in `calibration.diagnosis.match`."""
    clean_visits = [one for one in case.clean_visits if one.label in baseline.visits]
    return scene(baseline, clean_visits, visit, case.instruments)


def _clean_and_blocked() -> tuple[Candidate, Candidate]:
    """Nothing wrong, and a fouled condenser as all that is wrong: a blocked face stands for dust too."""
    explanations = candidates()
    forms = {one.name: one for one in explanations.singles if one.name in FOULED_CONDENSER}
    face = next(one for one in forms.values() if one.faults[0].field == "condenser_blocked")
    return explanations.clean, replace(face, prior=sum(one.prior for one in forms.values()))


def _proof(clean: Weighed, fouled: Weighed) -> float:
    """Probability of the second of two explanations that are all there are (Bayes' rule)."""
    odds = [one.evidence + float(np.log(one.candidate.prior)) for one in (clean, fouled)]
    return float(1.0 / (1.0 + np.exp(np.clip(odds[0] - odds[1], -700.0, 700.0))))
