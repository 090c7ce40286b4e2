"""Which reading would settle it: what each reading still to take would tell about the faults.

A reading to come has a distribution under each explanation, what is not known yet included; the readings
already taken narrow it. Mixed over the explanations by their probabilities it says how much the reading would
lower the entropy of those probabilities on average: the expected information, in bits. One bit halves two
equally likely faults to one.

References
----------
Lindley, On a measure of the information provided by an experiment, Annals of Mathematical Statistics 27, 1956
(from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.case.keys import words_of
from calibration.diagnosis.evidence import Weighed, reading_covariance
from calibration.diagnosis.hypotheses import in_a_sentence
from calibration.diagnosis.visit_model import STANDING, Scene
from model.properties.moist_air import STANDARD_AIR_DENSITY

Array = NDArray[np.float64]

BETTER = 3.0
"""A reading is repeated with a meter this many times as accurate as the one of the visit [-]."""
GRID = 400
"""Values at which a reading's distributions are compared."""
REACH = 5.0
"""How far the values go beyond the outermost means [standard deviations]."""
NEGLIGIBLE = 2e-3
"""Explanations and levels of less probability are left out [-]."""
LEAST_BITS = 0.02
"""A reading that tells less is not worth a word [bit]."""
MOST = 5

HOW: dict[str, str] = {
    "suction_pressure": "gauge on the suction port, unit running steadily",
    "liquid_pressure": "gauge on the liquid port, unit running steadily",
    "discharge_pressure": "gauge on the discharge port where the unit has one",
    "suction_temperature": "probe on a clean straight stretch of the suction pipe at the port, insulated",
    "liquid_temperature": "probe on the liquid pipe at the port, insulated",
    "discharge_temperature": "probe on the discharge pipe a hand's breadth from the compressor, insulated",
    "supply_db": "dry bulb behind the coil and blower, away from its radiation, averaged over the duct",
    "supply_wb": "wet bulb in the same place, with a wetted wick and moving air, until it no longer falls",
    "supply_rh": "humidity in the same place as the supply air's temperature",
    "supply_dewpoint": "dew point in the same place as the supply air's temperature",
    "condenser_leaving_db": "dry bulb over the fan's outlet, averaged around the ring, out of the sun",
    "outdoor_power": "wattmeter on the outdoor unit, all legs",
    "outdoor_fan_power": "wattmeter on the outdoor fan alone, panel opened by a qualified person only",
    "compressor_power": "wattmeter on the compressor alone, panel opened by a qualified person only",
    "indoor_airflow": "airflow by a traverse, a flow grid or a hood",
    "indoor_airflow_standard": "airflow by a traverse, a flow grid or a hood",
    STANDING: "pressure with the unit off until coil and pipes are as warm as the air around them, with that"
    " temperature",
    "outdoor_db": "dry bulb of the air that enters the condenser, shaded, on every open side",
    "return_db": "dry bulb of the return air before the coil, mixed",
    "return_wb": "wet bulb of the return air, with a wetted wick and moving air, until it no longer falls",
    "return_rh": "humidity of the return air before the coil, mixed",
    "return_dewpoint": "dew point of the return air before the coil, mixed",
}
"""What to do for each reading, in a technician's words. Refrigerant and live-circuit work is for qualified
people only."""


@dataclass(frozen=True)
class Suggestion:
    """One reading to take.

    Attributes
    ----------
    reading : str
        Key of `calibration.case.keys`.
    again : bool
        Whether it was taken already and should be repeated, `BETTER` times as accurately.
    information : float
        Expected [bit].
    share : float
        Of the entropy that is left [-].
    separates : tuple of str
        The two explanations that it would tell apart best.
    values : tuple of float
        What each of these two would make it show [SI].
    how : str
        What to do.
    """

    reading: str
    again: bool
    information: float
    share: float
    separates: tuple[str, str]
    values: tuple[float, float]
    how: str

    @property
    def words(self) -> str:
        """One sentence that a technician can act on."""
        name = words_of(self.reading)
        first, second = (in_a_sentence(name) for name in self.separates)
        act = f"Repeat with a better meter: {name}" if self.again else f"Read: {name}"
        return f"{act} ({self.how}); it would separate {first} from {second}"


def suggestions(
    place: Scene, found: tuple[Weighed, ...], probabilities: Array, most: int = MOST
) -> tuple[Suggestion, ...]:
    """Readings by what they would tell about the faults, the most telling first.

    Parameters
    ----------
    place : Scene
    found : tuple of Weighed
    probabilities : array (explanations,)
        Of each of `found` [-]; need not add to one.
    most : int
        How many to name.

    Returns
    -------
    tuple of Suggestion
        Fewer, or none, where little is open or nothing would tell.
    """
    share = np.asarray(probabilities)[: len(found)]
    keep = np.flatnonzero(share > NEGLIGIBLE)
    if len(keep) < 2:
        return ()
    share = share[keep] / share[keep].sum()
    entropy = -float(np.sum(share * np.log2(share)))
    ahead = [_ahead(place, found[number]) for number in keep]
    names = [found[number].candidate.name for number in keep]
    told = [_suggestion(place, row, ahead, share, names) for row in range(len(place.names))]
    useful = sorted((one for one in told if one.information > LEAST_BITS), key=lambda one: -one.information)
    return tuple(replace(one, share=one.information / entropy) for one in useful[:most])


class _Ahead(NamedTuple):
    """Rows as one explanation expects them, given the readings.

    mean and spread (points, rows), the meter's error left out; weight (points,): probability of each point
    under the explanation.
    """

    mean: Array
    spread: Array
    weight: Array


def _ahead(place: Scene, one: Weighed) -> _Ahead:
    weight = one.posterior
    points = np.flatnonzero(weight > NEGLIGIBLE * weight.max())
    weight = weight[points] / weight[points].sum()
    taken = place.readings
    slopes, expected, own = one.slopes[points], one.expected[points], one.own[points]
    covariance = reading_covariance(place, slopes, own, np.zeros(len(place.names)))
    among = covariance[:, taken[:, None], taken].copy()
    among[:, range(len(taken)), range(len(taken))] += place.meter[taken] ** 2
    across = covariance[:, :, taken]
    off = place.values[taken] - expected[:, taken]
    gain = np.swapaxes(np.linalg.solve(among, np.swapaxes(across, 1, 2)), 1, 2)
    mean = expected + np.einsum("prt,pt->pr", gain, off)
    variance = np.diagonal(covariance, axis1=1, axis2=2) - np.einsum("prt,prt->pr", gain, across)
    return _Ahead(mean, np.sqrt(np.maximum(variance, 0.0)), weight)


def _suggestion(place: Scene, row: int, ahead: list[_Ahead], share: Array, names: list[str]) -> Suggestion:
    again = bool(place.taken[row])
    meter = place.meter[row] / (BETTER if again else 1.0)
    spreads = [np.maximum(np.hypot(one.spread[:, row], meter), 1e-9) for one in ahead]
    means = [one.mean[:, row] for one in ahead]
    low = min(float(np.min(mean - REACH * spread)) for mean, spread in zip(means, spreads, strict=True))
    high = max(float(np.max(mean + REACH * spread)) for mean, spread in zip(means, spreads, strict=True))
    grid = np.linspace(low, high, GRID)
    spreads = [np.maximum(spread, grid[1] - grid[0]) for spread in spreads]  # no narrower than a cell
    density = np.stack(
        [
            _mixture(grid, mean, spread, one.weight)
            for mean, spread, one in zip(means, spreads, ahead, strict=True)
        ]
    )
    density /= density.sum(axis=1, keepdims=True)
    both = share @ density
    gains = np.sum(
        np.where(
            density > 0.0, density * np.log2(np.maximum(density, 1e-300) / np.maximum(both, 1e-300)), 0.0
        ),
        axis=1,
    )
    pair = _best_separated(density, share)
    centres = [float(one.weight @ mean) for one, mean in zip(ahead, means, strict=True)]
    return Suggestion(
        reading=place.names[row],
        again=again,
        information=float(share @ gains),
        share=0.0,
        separates=(names[pair[0]], names[pair[1]]),
        values=(_as_read(place, row, centres[pair[0]]), _as_read(place, row, centres[pair[1]])),
        how=HOW.get(place.names[row], ""),
    )


def _mixture(grid: Array, mean: Array, spread: Array, weight: Array) -> Array:
    score = (grid[:, None] - mean) / spread
    return np.asarray(np.exp(-0.5 * score**2) @ (weight / spread))


def _best_separated(density: Array, share: Array) -> tuple[int, int]:
    """The two explanations between which the reading would settle most, weighed by their share."""
    best, pair = -1.0, (0, 1)
    for first in range(len(share)):
        for second in range(first + 1, len(share)):
            part = share[[first, second]] / (share[first] + share[second])
            both = part @ density[[first, second]]
            ratio = np.maximum(density[[first, second]], 1e-300) / np.maximum(both, 1e-300)
            told = float(part @ np.sum(density[[first, second]] * np.log2(ratio), axis=1))
            told *= share[first] + share[second]
            if told > best:
                order = (first, second) if share[first] >= share[second] else (second, first)
                best, pair = told, order
    return pair


def _as_read(place: Scene, row: int, value: float) -> float:
    """A row's value in the unit of the reading [SI]."""
    if row != place.airflow_row:
        return value
    read = getattr(place.visit, place.names[row])
    if read is not None:
        return float(read * np.exp(value - place.values[row]))
    return float(place.own_airflow * np.exp(value) / STANDARD_AIR_DENSITY)
