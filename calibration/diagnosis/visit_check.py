"""Whether a visit's readings are consistent: its heat balance beside what is judged of it.

The loss that all readings together support is the finding's. It is the figure to set beside the loss by each
single route of the heat balance. After a cleaning there is no loss to set beside it: the judgement is enough.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import compress

from calibration.case.records import Case, Visit
from calibration.clean_fit.baseline import Baseline, baseline_without
from calibration.clean_fit.observation import observation
from calibration.diagnosis.finding import Finding, Judgement, judged
from calibration.diagnosis.heat_balance import AIR, REFRIGERANT, HeatBalance, heat_balance_of
from calibration.estimate import Estimate

AIR_SIDE_READINGS = ("supply_", "return_", "indoor_airflow")
"""How the keys of readings begin that the air side's capacity is made of."""
VISITS_AT_A_TIME = 8
"""Visits judged together: enough to hide the cost of a call of the cycle, few enough for a small memory."""
FAR_SMALLER = 0.5
"""The readings together support a far smaller loss where it is less than this share of the air side's [-]."""


@dataclass(frozen=True)
class VisitCheck:
    """Whether one visit's readings are consistent.

    Attributes
    ----------
    balance, supported : HeatBalance
        By the readings as they are, and with every suspect reading in the value that the others support; the
        same where none is suspect.
    finding : Judgement or None
        None where the visit has no reading that the model could explain; of a visit as found the whole
        `Finding`.
    """

    balance: HeatBalance
    supported: HeatBalance
    finding: Judgement | None

    @property
    def supported_loss(self) -> Estimate | None:
        """Loss of the coil's capacity that all readings together support [-]; None after a cleaning."""
        if not isinstance(self.finding, Finding) or self.finding.visit.coil == "clean":
            return None
        return self.finding.loss.coil_share

    @property
    def air_side_overstates(self) -> bool:
        """Whether the air side shows a loss that the other readings support only a small part of.

        Either the two contradict each other, or a reading of the air side is suspect anyway.
        """
        losses = self.balance.losses
        if (
            AIR not in losses
            or REFRIGERANT not in losses
            or self.supported_loss is None
            or self.finding is None
        ):
            return False
        apart = next(d for d in self.balance.differences if (d.first, d.second) == (AIR, REFRIGERANT))
        far = losses[REFRIGERANT].value < FAR_SMALLER * losses[AIR].value
        suspect = any(
            one.is_suspect and one.reading.startswith(AIR_SIDE_READINGS) for one in self.finding.suspects
        )
        return far and apart.errors < 0 and (suspect or not apart.agrees)


def check_visit(
    case: Case, visit: Visit, baseline: Baseline | None = None, finding: Judgement | None = None
) -> VisitCheck:
    """Heat balance of one visit and what is judged of it.

    Parameters
    ----------
    case : Case
    visit : Visit
    baseline : Baseline, optional
        `calibration.clean_fit.baseline.baseline_of(case)`, if it is at hand; the visit itself is always left
        out of it.
    finding : Judgement, optional
        Of this visit, if it is there already; a `Finding` of a visit as found.

    Returns
    -------
    VisitCheck
    """
    others = baseline_without(case, visit, baseline)
    if finding is None and observation(visit, case.instruments).names:
        (finding,) = judged(case, [visit], [others])
    return _check(case, visit, others, finding)


def check_visits(
    case: Case, visits: Sequence[Visit], baseline: Baseline | None = None
) -> Iterator[VisitCheck]:
    """`check_visit` for several visits, `VISITS_AT_A_TIME`: sooner than one after the other.

    Parameters
    ----------
    case : Case
    visits : sequence of Visit
    baseline : Baseline, optional
        As for `check_visit`.

    Yields
    ------
    VisitCheck
        One a visit.
    """
    for first in range(0, len(visits), VISITS_AT_A_TIME):
        part = visits[first : first + VISITS_AT_A_TIME]
        others = [baseline_without(case, visit, baseline) for visit in part]
        known = [bool(observation(visit, case.instruments).names) for visit in part]
        findings = iter(judged(case, list(compress(part, known)), list(compress(others, known))))
        for visit, other, has in zip(part, others, known, strict=True):
            yield _check(case, visit, other, next(findings) if has else None)


def _check(case: Case, visit: Visit, baseline: Baseline, finding: Judgement | None) -> VisitCheck:
    balance = heat_balance_of(case, visit, baseline)
    return VisitCheck(balance, _supported_balance(case, balance, baseline, finding), finding)


def _supported_balance(
    case: Case, balance: HeatBalance, baseline: Baseline, finding: Judgement | None
) -> HeatBalance:
    if finding is None or finding.visit_as_supported == finding.visit:
        return balance
    visit = finding.visit_as_supported
    others = tuple(visit if one == finding.visit else one for one in case.visits)
    return heat_balance_of(replace(case, visits=others), visit, baseline, finding.supported_errors)
