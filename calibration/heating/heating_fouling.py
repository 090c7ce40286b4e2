"""Fouling that visits in heating show: the same coil, for growth, today's level and the dates of cleanings.

A visit counts where its readings say how dirty the outdoor coil is: where that is fouled or nothing is wrong,
with a probability of a half or more together, as in cooling. Readings in heating say less of it than those in
cooling; so what was known of the coil before, since its last cleaning, is grown on to the day and the two are
weighed together: levels by their standard errors, the odds that it is fouled at all by how much likelier the
readings are then.

Assumptions: both halves of a level's 90 % range are normal.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping

import numpy as np

from calibration.case.records import Case, Visit
from calibration.clean_fit.baseline import Baseline
from calibration.costs.fouling_shown import FoulingShown, KeptFouling
from calibration.estimate import Estimate
from calibration.heating.heating_fit import HeatingFit, heats
from calibration.heating.heating_match import (
    CLAIMED,
    HEATING_FAULTS,
    NO_FAULT,
    UNEXPLAINED,
    HeatingFinding,
    find_in_heating,
)
from calibration.heating.heating_readings import heating_readings
from model.arrays import Array
from model.maintenance.growth import NORMAL_95

FOULED = "condenser_blocked"
"""Key of a fouled outdoor coil among the faults that are weighed."""
ODDS = HEATING_FAULTS[FOULED] / (1.0 - sum(HEATING_FAULTS.values()) - UNEXPLAINED)
"""Odds of a fouled coil against no fault before any reading in heating [-]."""
SMALLEST_ERROR = 0.01
"""Least standard error of a level [-]."""
SURELY = 1e-4
"""Least probability either way [-], so that later readings can still say otherwise."""
SHOWS = 0.5
"""Probability of a fouled coil or no fault from which on a visit speaks of the coil [-], as in cooling."""


def shown_in_heating(visit: Visit, finding: HeatingFinding) -> KeptFouling:
    """What a visit in heating shows of the outdoor coil.

    Parameters
    ----------
    visit : Visit
    finding : HeatingFinding
        Its own.

    Returns
    -------
    KeptFouling
    """
    fouled = finding.probabilities[FOULED]
    shows = finding.verdict == "no_fault" or fouled + finding.probabilities[NO_FAULT] >= SHOWS
    return KeptFouling(visit, finding.blocked, fouled, finding.claimed == FOULED, shows)


def heating_shown(
    case: Case, baseline: Baseline, fit: HeatingFit | None, today: dt.date
) -> dict[str, FoulingShown]:
    """What the as-found visits in heating until a day show of the outdoor coil, by their labels.

    Parameters
    ----------
    case : Case
    baseline : Baseline
        Fit of its cooling side.
    fit : HeatingFit or None
        Of its heating side; without it nothing is shown.
    today : date
        Visits without a date are of today.

    Returns
    -------
    dict of str to FoulingShown
        Of those that say how dirty the coil is.
    """
    if fit is None or not heats(case.unit):
        return {}
    found: dict[str, FoulingShown] = {}
    for visit in case.heating_visits:
        late = visit.date is not None and visit.date > today
        if visit.coil != "as found" or late or not heating_readings(visit, case.instruments)[0]:
            continue
        shown = shown_in_heating(visit, find_in_heating(case, visit, baseline, fit))
        if shown.shows_condenser:
            found[visit.label] = shown
    return found


def known_together(
    shown: Mapping[str, FoulingShown],
    last: str,
    cleaned: dt.date | None,
    grow: Callable[[Array, dt.date, int], Array],
) -> FoulingShown:
    """What is known of a coil on the day of its last visit: a visit in heating adds to what was known before.

    Parameters
    ----------
    shown : mapping of str to FoulingShown
        Of visits in both modes, by their labels.
    last : str
        Label of the last of them that counts.
    cleaned : date or None
        When the coil was last clean before it.
    grow : callable
        Levels some days after a date, from levels then.

    Returns
    -------
    FoulingShown
        Of the last visit; its own where it is in cooling, or the first since the coil was clean.
    """
    known = shown[last]
    day = known.visit.date
    if known.visit.mode != "heating" or day is None:
        return known
    dated = {
        label: one.visit.date
        for label, one in shown.items()
        if one.visit.date is not None and one.visit.date <= day and label != last and one.shows_condenser
    }
    since = [label for label, date in dated.items() if cleaned is None or date > cleaned]
    if not since:
        return known
    before = max(since, key=lambda label: (dated[label], shown[label].visit.mode == "heating"))
    rest = {label: one for label, one in shown.items() if label != last}
    earlier, date = known_together(rest, before, cleaned, grow), dated[before]
    blocked = earlier.blocked
    levels = grow(np.array([blocked.value, blocked.low, blocked.high]), date, (day - date).days)
    return _weighed(Estimate(*(float(one) for one in levels)), earlier.probability_of_fouling, known)


def _weighed(earlier: Estimate, probability: float, known: FoulingShown) -> KeptFouling:
    """A visit's level and probability with those that were known before it."""
    low, high = (
        1.0 / sum(max(half / NORMAL_95, SMALLEST_ERROR) ** -2 for half in halves) ** 0.5
        for halves in (
            (earlier.value - earlier.low, known.blocked.value - known.blocked.low),
            (earlier.high - earlier.value, known.blocked.high - known.blocked.value),
        )
    )
    both = (earlier, known.blocked)
    weights = [max((one.high - one.low) / (2.0 * NORMAL_95), SMALLEST_ERROR) ** -2 for one in both]
    value = float(np.average([one.value for one in both], weights=weights))
    before, now = (
        float(np.clip(one, SURELY, 1.0 - SURELY)) for one in (probability, known.probability_of_fouling)
    )
    odds = before / (1.0 - before) * now / (1.0 - now) / ODDS
    fouled = odds / (1.0 + odds)
    blocked = Estimate(value, max(value - NORMAL_95 * low, 0.0), min(value + NORMAL_95 * high, 1.0))
    return KeptFouling(known.visit, blocked, fouled, fouled >= CLAIMED, known.shows_condenser)
