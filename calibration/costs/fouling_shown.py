"""What costs take from the finding of a visit, so that it can be kept without the finding and used again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from calibration.case.records import Case, Visit
from calibration.estimate import Estimate


class FoulingShown(Protocol):
    """What a visit shows of the condenser: `calibration.diagnosis.finding.Finding`, or what is kept of it."""

    @property
    def visit(self) -> Visit:
        """The visit."""

    @property
    def blocked(self) -> Estimate:
        """Blocked share of the condenser's face, supposing that its coil is fouled [-]."""

    @property
    def probability_of_fouling(self) -> float:
        """Of a fouled condenser coil [-]."""

    @property
    def claims_fouling(self) -> bool:
        """Whether a fouled condenser coil is claimed."""

    @property
    def shows_condenser(self) -> bool:
        """Whether the readings say how dirty the condenser is."""


@dataclass(frozen=True)
class KeptFouling:
    """The same, kept without the rest of the finding."""

    visit: Visit
    blocked: Estimate
    probability_of_fouling: float
    claims_fouling: bool
    shows_condenser: bool


def kept_entry(shown: FoulingShown) -> dict[str, Any]:
    """What is kept of a finding, as an entry that JSON can hold.

    Parameters
    ----------
    shown : FoulingShown

    Returns
    -------
    dict
        With the visit's label in its place.
    """
    blocked = shown.blocked
    return {
        "visit": shown.visit.label,
        "blocked": [blocked.value, blocked.low, blocked.high],
        "probability_of_fouling": shown.probability_of_fouling,
        "claims_fouling": shown.claims_fouling,
        "shows_condenser": shown.shows_condenser,
    }


def kept_fouling(case: Case, entry: Mapping[str, Any]) -> KeptFouling:
    """What was kept of a finding of a case's visit.

    Parameters
    ----------
    case : Case
        The same case.
    entry : mapping
        Of `kept_entry`.

    Returns
    -------
    KeptFouling
    """
    return KeptFouling(
        visit=case.visit(entry["visit"]),
        blocked=Estimate(*entry["blocked"]),
        probability_of_fouling=entry["probability_of_fouling"],
        claims_fouling=entry["claims_fouling"],
        shows_condenser=entry["shows_condenser"],
    )
