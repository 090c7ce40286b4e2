"""The one reading that is worth taking after a visit, or none: decided here for every screen and table."""

from __future__ import annotations

from typing import NamedTuple

from calibration.diagnosis.finding import Finding

LITTLE = 0.1
"""A reading that would remove less of the uncertainty is not asked for, unless it is suspect [-]; a
choice."""


class FirstReading(NamedTuple):
    """Key of a reading, and whether it was taken already and should be repeated."""

    reading: str
    again: bool


def first_reading(finding: Finding) -> FirstReading | None:
    """The reading to take next.

    Parameters
    ----------
    finding : Finding
        Of one visit.

    Returns
    -------
    FirstReading or None
        Where no fault on the list fits, the reading that is in the way of the nearest, again; else the most
        informative one; None where none would remove much of the uncertainty.
    """
    if finding.verdict == "none_of_these" and finding.in_the_way:
        return FirstReading(finding.in_the_way, True)
    for one in finding.suggestions:
        if finding.suspect(one.reading) is not None or one.share >= LITTLE:
            return FirstReading(one.reading, one.again)
    return None
