"""Which reading of a visit the others do not believe, and what to check on it.

All readings of a visit are held against the model at once: what the unit should show at the weather that was
read, with the errors of every meter, of the settings (weather, return air, airflow), of the model and of the
fitted unit. Then each reading in turn is supposed to be grossly wrong, by some ten of its standard errors,
and the supposition that explains all the others best is the likeliest. Where the visit is of a unit as it
was found, every single fault at every level is tried together with every such supposition, so that a real
fault is not called a bad reading: the sums are weighed over the faults. One doubted reading after another is
set free until what is left is no longer surprising.

References
----------
Cook and Weisberg, Residuals and Influence in Regression, 1982, ch. 2 (mean-shift outlier model; from memory).
Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, ch. 7 (comparison by marginal likelihood; from memory).
The size of a gross error and how often one happens: common practice, no source; `coiltoll study readings`
shows what they lead to.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from calibration.case.records import Case, Visit
from calibration.clean_fit.baseline import Baseline
from calibration.clean_fit.observation import Observation, nothing_to_explain, observation
from calibration.diagnosis.suppositions import KINDS, Reference, Suppositions, reference_for, suppositions

Array = NDArray[np.float64]

GROSS_ERRORS = (6.0, 25.0, 100.0)
"""Standard deviations of gross errors, in standard errors of the reading [-]; each as likely as the other."""
FREE = 1000.0
"""Standard deviation of a reading that is set free, in its standard errors [-]."""
CONVINCING = 5.0
"""A reading is doubted where supposing it wrong makes all readings this many times likelier [-]."""
LARGEST_LOGARITHM = 300.0
"""Supports beyond this logarithm are not told apart: they are overwhelming."""
MOST_CULPRITS = 3
"""No more readings than this are doubted together."""

_GAUGE = "check the gauge's zero open to the air, and that the hose opens the valve core fully"
_PIPE = "check the probe's contact: on bare, clean pipe, strapped tight, insulated and out of the sun"
_LEGS = "check that the meter takes in all legs and has the right ratio: half the power is one leg"
CHECKS: dict[str, str] = {
    "suction_pressure": _GAUGE,
    "liquid_pressure": _GAUGE,
    "discharge_pressure": _GAUGE,
    "suction_temperature": _PIPE,
    "liquid_temperature": _PIPE,
    "discharge_temperature": _PIPE,
    "outdoor_db": "check that the probe is shaded and in the air that enters the condenser, not leaves it",
    "return_db": "check that the probe hangs in mixed return air, away from the duct's wall and from leaks",
    "supply_db": "check the probe: dry, in mixed air, out of sight of the cold coil, with time to settle",
    "condenser_leaving_db": "traverse the fan's outlet: one point of it is not the mean",
    "return_wb": "check the wick: clean, wet with clean water, in brisk air, with time to settle",
    "supply_wb": "check the wick: clean, wet with clean water, left in the air until it stands still",
    "return_rh": "check the probe against a wet bulb, and give it time to take the air's temperature",
    "supply_rh": "check the probe for drops and let it settle: near saturation it reads high for long",
    "return_dewpoint": "check the dew-point probe against a wet bulb in the same air",
    "supply_dewpoint": "check the dew-point probe for drops from the coil and let it settle",
    "indoor_airflow": "repeat the traverse; check the duct's size and the air density that is assumed",
    "indoor_airflow_standard": "repeat the traverse; check the duct's size and that it was standard air",
    "outdoor_power": _LEGS,
    "compressor_power": f"{_LEGS}; and that it is the compressor's circuit alone",
    "outdoor_fan_power": "check that the meter is on the outdoor fan alone",
    "indoor_power": f"{_LEGS}; and that no heater is on the same circuit",
}
"""What to look at on each reading, in plain words: common practice, no source."""


@dataclass(frozen=True)
class Doubt:
    """One reading, supposing that it and no other is grossly wrong.

    Attributes
    ----------
    reading : str
        Key of the case file.
    measured, supported : float
        What was read, and what all other readings support [SI].
    supported_error : float
        Standard error of `supported` [SI].
    accuracy : float
        Standard error of the reading itself [SI].
    gain : float
        By how much the misfit of all readings falls where this one is freed [-]: the square of a standard
        normal variable where nothing is wrong.
    support : float
        How many times likelier all readings are with this one wrong than with none [-].
    share : float
        Chance that it is this reading, if it is one [-].
    """

    reading: str
    measured: float
    supported: float
    supported_error: float
    accuracy: float
    gain: float
    support: float
    share: float

    @property
    def errors(self) -> float:
        """Change that would restore the balance, in the reading's own standard errors [-], with its sign."""
        return (self.supported - self.measured) / self.accuracy

    @property
    def check(self) -> str:
        """What to look at on this reading."""
        return CHECKS[self.reading]


@dataclass(frozen=True)
class Consistency:
    """Whether all readings of one visit can be true together.

    Attributes
    ----------
    visit : str
        Its label.
    doubts : tuple of Doubt
        Every reading, the likeliest culprit first.
    culprits : tuple of Doubt
        Readings to be doubted: none where the visit is sound; several where one does not explain it all.
    misfit : float
        Sum of squared standardised differences with every reading believed and the best fault [-].
    readings : int
        How many differences that sum has.
    fault : str or None
        Fault that goes best with the readings, doubted ones set free, alike ones as one; None for none.
    probability : float
        Of that fault among all single ones and none [-].
    level : float
        Its level [-].
    suppositions : Suppositions
        What was supposed about the unit.
    chances : array (suppositions,)
        Probability of each, doubted readings set free, adding to one [-].
    """

    visit: str
    doubts: tuple[Doubt, ...]
    culprits: tuple[Doubt, ...]
    misfit: float
    readings: int
    fault: str | None
    probability: float
    level: float
    suppositions: Suppositions = field(repr=False, compare=False)
    chances: Array = field(repr=False, compare=False)

    @property
    def sound(self) -> bool:
        """Whether no reading has to be doubted."""
        return not self.culprits

    def believed(self, reading: str) -> bool:
        """Whether a reading is not among the culprits."""
        return all(doubt.reading != reading for doubt in self.culprits)


def consistency_of(case: Case, visit: Visit, baseline: Baseline | None = None) -> Consistency:
    """Whether a visit's readings can be true together; see `doubted_readings`.

    Parameters
    ----------
    case : Case
        For nameplate, meters and the other visits.
    visit : Visit
    baseline : Baseline, optional
        Fit of the case.
    """
    seen = observation(visit, case.instruments)
    return doubted_readings(reference_for(case, visit, baseline), seen, visit.coil == "as found")


def doubted_readings(reference: Reference, seen: Observation, as_found: bool) -> Consistency:
    """Which reading, if any, the others do not believe.

    Parameters
    ----------
    reference : Reference
    seen : Observation
    as_found : bool
        Whether anything may be wrong with the unit; a clean visit is taken to be of a healthy one.

    Returns
    -------
    Consistency

    Raises
    ------
    ValueError
        Where the visit has no reading that the model could explain.
    """
    if not seen.names:
        raise ValueError(nothing_to_explain(seen.label))
    supposed = suppositions(reference, seen, as_found)
    doubts = found = _weighed(supposed, [])
    freed: list[int] = []
    culprits: list[Doubt] = []
    while found and found[0].support > CONVINCING and len(culprits) < MOST_CULPRITS:
        culprits.append(found[0])
        freed.append(supposed.names.index(found[0].reading))
        found = _weighed(supposed, freed)
    misfit, chances = _believing(supposed, freed)
    kinds = [KINDS.get(fault or "", fault) for fault in supposed.faults]
    held = {kind: float(chances[[other == kind for other in kinds]].sum()) for kind in kinds}
    kind = max(held, key=lambda name: held[name])
    own = np.where([other == kind for other in kinds], chances, 0.0)
    return Consistency(
        visit=seen.label,
        doubts=doubts,
        culprits=tuple(culprits),
        misfit=misfit,
        readings=supposed.off.shape[1],
        fault=kind,
        probability=held[kind],
        level=float(own @ supposed.levels / own.sum()),
        suppositions=supposed,
        chances=chances,
    )


def _weighed(supposed: Suppositions, freed: list[int]) -> tuple[Doubt, ...]:
    """Every reading as the next culprit, some already set free; the likeliest first."""
    spread = _with_freed(supposed, freed)
    inverse = np.asarray(np.linalg.inv(spread), dtype=float)
    weighted = inverse @ supposed.directions
    pull = np.einsum("hic,hi->hc", weighted, supposed.off)
    information = np.einsum("hic,hic->hc", weighted, supposed.directions)
    square = _squares(supposed.off, inverse)
    base = np.log(supposed.weights) - 0.5 * (square + np.linalg.slogdet(spread)[1])
    logs = base[:, None] + _gained(pull, information, supposed.accuracy)
    support = np.logaddexp.reduce(logs, axis=0) - np.logaddexp.reduce(base)
    share = np.exp(logs - logs.max(axis=0))
    share = share / share.sum(axis=0)
    error = (share * (pull / information)).sum(axis=0)
    scatter = (share * (1.0 / information + (pull / information - error) ** 2)).sum(axis=0)
    # The gain compares the best supposition with the reading freed to the best with it believed.
    gain = square.min() - (square[:, None] - pull**2 / information).min(axis=0)
    order = [i for i in np.argsort(-support) if i not in freed]
    chances = np.exp(support - support[order[0]]) if order else support
    total = chances[order].sum()
    return tuple(
        Doubt(
            reading=supposed.names[i],
            measured=float(supposed.values[i]),
            supported=float(supposed.values[i] - error[i]),
            supported_error=float(np.sqrt(scatter[i])),
            accuracy=float(supposed.accuracy[i]),
            gain=float(max(gain[i], 0.0)),
            support=float(np.exp(min(support[i], LARGEST_LOGARITHM))),
            share=float(chances[i] / total),
        )
        for i in order
    )


def _gained(pull: Array, information: Array, accuracy: Array) -> Array:
    """Logarithm of how much better all readings are explained with each one grossly wrong in turn.

    An error of unknown size: normal, of one of the spreads of `GROSS_ERRORS`, each as likely as the other.
    """
    parts = []
    for size in GROSS_ERRORS:
        wide = (size * accuracy) ** 2
        parts.append(0.5 * (wide * pull**2 / (1.0 + wide * information) - np.log1p(wide * information)))
    return np.asarray(np.logaddexp.reduce(np.stack(parts), axis=0) - np.log(len(GROSS_ERRORS)))


def _with_freed(supposed: Suppositions, freed: list[int]) -> Array:
    chosen = supposed.directions[:, :, freed] * (FREE * supposed.accuracy[freed])
    return np.asarray(supposed.spread + chosen @ np.swapaxes(chosen, 1, 2))


def _squares(off: Array, inverse: Array) -> Array:
    return np.asarray(np.einsum("hi,hi->h", off, np.einsum("hij,hj->hi", inverse, off)))


def _believing(supposed: Suppositions, freed: list[int]) -> tuple[float, Array]:
    """Smallest misfit with every reading believed, and each supposition's chance with some readings freed."""
    inverse = np.asarray(np.linalg.inv(supposed.spread), dtype=float)
    misfit = float(_squares(supposed.off, inverse).min())
    spread = _with_freed(supposed, freed)
    square = _squares(supposed.off, np.asarray(np.linalg.inv(spread), dtype=float))
    total = np.log(supposed.weights) - 0.5 * (square + np.linalg.slogdet(spread)[1])
    chances = np.exp(total - total.max())
    return misfit, chances / chances.sum()
