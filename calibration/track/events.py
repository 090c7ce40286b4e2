"""Changes that begin on a day: cleanings, bursts of dirt, sensors, other faults, weighed on one footing.

Every change is one direction of the readings, from a day on, with a spread of its size. By the determinant
lemma its evidence over "nothing changed" follows from one factor of the normal equations, for every day at
once: with b the change's projection on what is left and g its length after everything else has been fitted,
the gain is (k² b² / (1 + k² g) - ln(1 + k² g)) / 2, as for gross errors of a visit
(`calibration.diagnosis.likelihood`). With the prior rate of each kind these add up to a probability. The
most probable change joins the explanation and all is fitted again, until none is probable enough. Kinds whose
evidence is alike on the same days cannot be told apart, and the event says so.

A cleaning leads back to a clean coil, whatever the level was: its step has no size of its own, so that a
small one needs little evidence where the growth before and after it says the same. Changes that are possible
but not probable enough are kept as `Possible`, for ranges that hold them too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import log_ndtr

from calibration.case.meters import METER_OF_READING
from calibration.track.smoother import CLEAN_LEVEL, CLEAN_SPREAD, DatedChange, Smoothed, forward
from calibration.track.system import AIRFLOW, System
from model.arrays import Array
from model.season.weather_year import DAYS_PER_YEAR

CLAIM, CLAIM_CLEANED = 0.9, 0.5
"""Probability from which on a change counts as found, and a cleaning [-]; choices: a fault or a sensor blamed
wrongly sends somebody out, a cleaning that is not seen makes the growth rate wrong."""
CLEANINGS = ("cleaned", "washed")
MOST_EVENTS = 10
FEWEST_AFTER = 3
"""Days with readings that a change must be seen on [-]."""
WORTH_KEEPING = 0.03
"""Probability from which on a change that is not claimed widens the ranges [-]; a choice."""
OPEN_SIZE = 3.0
"""Spread of a step whose size is given by the level before it [-]: wide enough to say nothing."""
ABOUT = 3
"""Days on either side that count for the day of a change [d]: one day alone is often only the luckiest."""
TIE = 0.1
"""Weight of a day by itself beside the days about it [-]."""
ALIKE = 0.2
"""Probability of a rival kind from which on it is named [-]; a choice."""


@dataclass(frozen=True)
class Kind:
    """One kind of change: key, direction, form, sign (0 for either), spread of its size, rate [1/a].

    Forms: a step, a ramp, or a return to a clean coil. Sizes: of the level; standard accuracies for sensors;
    logarithms for parameters (each a year for ramps). Rates are judgement, no source.
    """

    key: str
    direction: str
    form: str
    sign: int
    size: float
    rate: float


LEVEL_KINDS = (
    Kind("cleaned", "", "return", -1, OPEN_SIZE, 1.0),
    Kind("washed", "", "step", -1, 0.15, 0.1),
    Kind("burst", "", "step", 1, 0.15, 0.2),
    Kind("leak", "charge", "ramp", -1, 0.3, 0.05),
    Kind("charge_added", "charge", "step", 1, 0.15, 0.05),
    Kind("condenser_fan", "condenser_airflow", "step", -1, 0.3, 0.03),
    Kind("low_indoor_airflow", AIRFLOW, "step", -1, 0.25, 0.05),
    Kind("indoor_filter", AIRFLOW, "ramp", -1, 0.4, 0.1),
)
SENSOR_STEP, SENSOR_DRIFT = (10.0, 0.02), (10.0, 0.02)
"""Size in standard accuracies (a year), and rate of each sensor [1/a]."""


@dataclass(frozen=True)
class Found:
    """A change that is probable, and what else it may be.

    Attributes
    ----------
    change : DatedChange
    first, last : float
        90 % range of the day, years since 1970 [a].
    probability : float
        That something changed about then [-].
    kinds : tuple of (str, float)
        Kinds and their probabilities, given that something changed; the most probable first.
    """

    change: DatedChange
    first: float
    last: float
    probability: float
    kinds: tuple[tuple[str, float], ...]


def kinds(system: System) -> tuple[Kind, ...]:
    """Kinds of change that the readings of a log could show.

    Parameters
    ----------
    system : System
        For its readings.

    Returns
    -------
    tuple of Kind
        Level and faults, then two for each sensor.
    """
    sensors = [name for name in system.directions if name in METER_OF_READING]
    return (
        *LEVEL_KINDS,
        *(Kind(f"step:{name}", name, "step", 0, *SENSOR_STEP) for name in sensors),
        *(Kind(f"drift:{name}", name, "ramp", 0, *SENSOR_DRIFT) for name in sensors),
    )


@dataclass(frozen=True)
class Possible:
    """A change with its probability [-], given what is claimed already."""

    change: DatedChange
    probability: float


def most_probable(system: System, answer: Smoothed, there: Sequence[DatedChange] = ()) -> Found | None:
    """The most probable change that is not yet part of the explanation; None where none is probable.

    Parameters
    ----------
    system : System
        As it was solved.
    answer : Smoothed
        Of that system.
    there : sequence of DatedChange
        Changes that are part of it: none of the same direction is asked for on the days about them.

    Returns
    -------
    Found or None
    """
    all_kinds, logs, years = _odds_of_all(system, answer, there)
    evidence = np.logaddexp.reduce(logs, axis=1)
    best = int(np.argmax(evidence))
    total = float(np.logaddexp.reduce(evidence))
    probability = 1.0 / (1.0 + np.exp(-np.clip(total, -700.0, 700.0)))
    if probability < (CLAIM_CLEANED if all_kinds[best].key in CLEANINGS else CLAIM):
        return None
    shares = np.exp(evidence - total)
    order = np.argsort(-shares)
    named = tuple((all_kinds[number].key, float(shares[number])) for number in order[:4])
    return Found(*_most_probable_day(all_kinds[best], logs[best], years), float(probability), named)


def dated_again(system: System, answer: Smoothed, found: Found, there: Sequence[DatedChange]) -> Found:
    """A change on the day that is the most probable, all else being explained.

    Parameters
    ----------
    system : System
        Around levels that follow the change.
    answer : Smoothed
        Of that system without the change.
    found : Found
        The change, on the day found before it was part of the explanation.
    there : sequence of DatedChange
        All other changes.

    Returns
    -------
    Found
        With its day and range; kind and probability stay.
    """
    kind = next(one for one in kinds(system) if one.key == found.change.kind)
    logs, years = _odds_by_day(system, answer, kind, there)
    change, first, last = _most_probable_day(kind, logs, years)
    return replace(found, change=change, first=first, last=last)


def possible_changes(
    system: System, answer: Smoothed, there: Sequence[DatedChange] = ()
) -> tuple[Possible, ...]:
    """What may have changed as well: each kind on the middle day of its own.

    Parameters
    ----------
    system : System
        As it was solved.
    answer : Smoothed
        Of that system.
    there : sequence of DatedChange
        Changes that are part of it.

    Returns
    -------
    tuple of Possible
        Of a probability of `WORTH_KEEPING` or more; that nothing else changed has the rest.
    """
    all_kinds, logs, years = _odds_of_all(system, answer, there)
    evidence = np.logaddexp.reduce(logs, axis=1)
    shares = np.exp(evidence - np.logaddexp.reduce(np.append(evidence, 0.0)))
    found = []
    for number in np.flatnonzero(shares >= WORTH_KEEPING):
        held = np.cumsum(np.exp(logs[number] - evidence[number]))
        place = int(np.searchsorted(held, 0.5).clip(1, len(years) - 1))
        found.append(Possible(_dated(all_kinds[number], years, place), float(shares[number])))
    return tuple(found)


def _most_probable_day(kind: Kind, logs: Array, years: Array) -> tuple[DatedChange, float, float]:
    """A change on the day about which it is the most probable, and the 90 % range of the day [a]."""
    share = np.exp(logs - np.logaddexp.reduce(logs))
    held = np.concatenate([[0.0], np.cumsum(share)])
    reach = (ABOUT + 0.5) / DAYS_PER_YEAR
    ends = np.searchsorted(years, [years - reach, years + reach])
    about = held[ends[1]] - held[ends[0]]
    # among days with the same others about them the most probable itself
    change = _dated(kind, years, int(np.argmax(about + TIE * share)))
    low, high = np.searchsorted(held[1:], [0.05, 0.95]).clip(0, len(years) - 1)
    return change, float(years[max(low - 1, 0)]), float(years[high])


def _dated(kind: Kind, years: Array, place: int) -> DatedChange:
    # the middle of the days on which it may have begun: from the day after the last one without it
    day = np.floor(years[[place - 1, place]] * DAYS_PER_YEAR + 1e-6)
    begin = float(0.5 * (day[0] + 1.0 + day[1]) / DAYS_PER_YEAR)
    form = "step" if kind.form == "return" else kind.form
    return DatedChange(kind.key, kind.direction, form, begin, kind.size)


def _odds_of_all(
    system: System, answer: Smoothed, there: Sequence[DatedChange] = ()
) -> tuple[tuple[Kind, ...], Array, Array]:
    """Every kind, log odds of its beginning on each day (kinds, days), and the days."""
    all_kinds = kinds(system)
    found = [_odds_by_day(system, answer, kind, there) for kind in all_kinds]
    return all_kinds, np.stack([logs for logs, _ in found]), found[0][1]


def _odds_by_day(
    system: System, answer: Smoothed, kind: Kind, there: Sequence[DatedChange]
) -> tuple[Array, Array]:
    """Log odds of a kind's beginning on each day, and the days [a]."""
    _, starts = np.unique(system.node, return_index=True)
    logs = _log_odds(system, answer, kind)[starts]
    logs[0] = -1e3
    logs[len(starts) - FEWEST_AFTER + 1 :] = -1e3
    years = system.years[starts]
    for one in there:
        if one.direction == kind.direction:
            # on the same days the two would be one change told twice
            logs[np.abs(years - one.years) * DAYS_PER_YEAR < FEWEST_AFTER] = -1e3
    return logs, years


def _log_odds(system: System, answer: Smoothed, kind: Kind) -> Array:
    """Logarithm of prior odds and gain of a change that begins with each entry of the system."""
    b, g, fitted = _fitted_change(system, answer, kind)
    wide = kind.size**2
    gain = 0.5 * (wide * b**2 / (1.0 + wide * g) - np.log1p(wide * g))
    if kind.form == "return":
        gain = gain + _return_to_clean(answer, (b, g, fitted), wide)
    elif kind.sign:
        gain = gain + np.log(2.0) + log_ndtr(kind.sign * kind.size * b / np.sqrt(1.0 + wide * g))
    # a change between two days is as probable as the time between them is long
    years = system.years
    width = np.maximum(np.diff(years, prepend=years[0]), 1.0 / DAYS_PER_YEAR)
    return np.asarray(gain + np.log(kind.rate * width))


def _fitted_change(system: System, answer: Smoothed, kind: Kind) -> tuple[Array, Array, Array]:
    """Projection on what is left (n,), length after all else is fitted (n,), what is fitted (unknowns, n)."""
    aimed = system.directions[kind.direction] if kind.direction else system.slope
    years = system.years
    since = years - years[0]
    # towards a limit a step of the level fades from its day on
    faded = (
        np.exp(-answer.fading * since) if not kind.direction and kind.form != "ramp" else np.ones_like(since)
    )
    aimed = aimed * faded[:, None]

    def after(values: Array) -> Array:
        return np.cumsum(values[::-1], axis=0)[::-1]

    pull = np.sum(aimed * answer.residual, axis=1)
    square = np.sum(aimed**2, axis=1)
    on_rest = np.einsum("nr,nrq->nq", aimed, answer.whole)
    on_node = np.zeros((len(years), int(system.node.max()) + 1))
    on_node[np.arange(len(years)), system.node] = np.sum(aimed * system.slope, axis=1)
    crossed = np.concatenate([on_node, on_rest], axis=1)
    if kind.form == "ramp":
        start = since
        b = after(pull * since) - start * after(pull)
        length = after(square * since**2) - 2 * start * after(square * since) + start**2 * after(square)
        crossed = after(crossed * since[:, None]) - start[:, None] * after(crossed)
    else:
        b, length, crossed = after(pull), after(square), after(crossed)
        b, length, crossed = b / faded, length / faded**2, crossed / faded[:, None]
    fitted = forward(answer.factor, int(system.node.max()) + 1, crossed.T)
    return b, np.maximum(length - np.sum(fitted**2, axis=0), 0.0), fitted


def _return_to_clean(answer: Smoothed, change: tuple[Array, Array, Array], wide: float) -> Array:
    """What turns the gain of an open step into that of a return to a clean coil.

    The prior of the step, given base and rate, is where the level becomes that of a coil just cleaned. That
    is an open step, of one density everywhere, and one more reading of the level after it.
    """
    b, g, fitted = change
    wanted = forward(answer.factor, len(answer.factor) - answer.whole.shape[2], answer.smooth.T)
    shared = np.sum(wanted * fitted, axis=0)
    precision = g + 1.0 / wide
    step = b / precision
    level = answer.smooth_level + (1.0 - shared) * step
    variance = np.sum(wanted**2, axis=0) + (1.0 - shared) ** 2 / precision + CLEAN_SPREAD**2
    density = -0.5 * (CLEAN_LEVEL - level) ** 2 / variance - 0.5 * np.log(2.0 * np.pi * variance)
    pulled = (1.0 - shared) / precision / variance
    step = step + pulled * (CLEAN_LEVEL - level)
    spread = np.sqrt(np.maximum(1.0 / precision - pulled * (1.0 - shared) / precision, 1e-12))
    return np.asarray(0.5 * np.log(2.0 * np.pi * wide) + density + log_ndtr(-step / spread))
