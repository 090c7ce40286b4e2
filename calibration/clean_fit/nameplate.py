"""The nameplate as evidence: rated capacity and EER are two readings at the rating point.

A rating says what the machine does at outdoor 95 degF and return air of 80/67 degF, within some per
cent: as far
as makers' machines scatter and tests repeat. An EER is printed only for an indoor and an outdoor unit
that were certified together; a capacity without one is that of an outdoor unit, whose indoor coil may be
another. Bore and
charge of a fixed orifice are matched to the machine: at the rating its superheat is about that of the
charging rule.

References
----------
AHRI 210/240 (from memory): a certified unit must show at least 95 % of its rated capacity and EER when
it is tested.
A standard deviation of 4.5 and 5 % around the rating, and twice that for an outdoor unit alone: common
practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from calibration.case.records import UnitDescription
from calibration.clean_fit.observation import Observation
from calibration.estimate import Estimate, with_error
from model.arrays import Array
from model.cycle.sizing import RATING_OUTDOOR, RATING_RETURN, RATING_RETURN_WET_BULB
from model.maintenance.growth import NORMAL_95
from model.properties.moist_air import STANDARD_PRESSURE

CERTIFIED_ACCURACY = {"rated_capacity": 0.045, "rated_eer": 0.05}
"""Standard deviation of a certified pair around its rating [-]."""
OUTDOOR_UNIT_ACCURACY = {"rated_capacity": 0.09}
"""The same of an outdoor unit whose indoor coil is not known [-]."""
RULE_SUPERHEAT, RULE_ACCURACY = 7.8, 2.5
"""Superheat at the suction port of an orifice unit at the rating, and its standard deviation [K]: what the
sized unit shows (14 degF), 1 degF over the charging rule, (3 wet bulb - 80 - outdoor dry bulb) / 2
[degF]; common practice, no source."""
CLEARLY = NORMAL_95
"""Standard errors by which visits must lie under the rating to say so [-]: one-sided, 1 in 20 by chance."""


@dataclass(frozen=True)
class RatedFigure:
    """One figure of the nameplate beside the fit.

    Attributes
    ----------
    name : str
        "rated_capacity" [W], "rated_eer" [W/W] or "rated_superheat" [K].
    rated, accuracy : float
        As printed, and its standard deviation [SI].
    fitted : float
        Of the fitted unit at the rating point [SI].
    visits_alone : Estimate
        What the clean visits would say without the nameplate's figures [SI].
    """

    name: str
    rated: float
    accuracy: float
    fitted: float
    visits_alone: Estimate

    @property
    def shortfall(self) -> float:
        """By how much the visits alone lie under the rating, as a share of it [-]."""
        return 1.0 - self.visits_alone.value / self.rated

    @property
    def lies_under(self) -> bool:
        """Whether capacity or EER do so by more than both errors explain."""
        if self.name == "rated_superheat":
            return False
        error = float(np.hypot(self.accuracy, self.visits_alone.standard_error))
        return self.rated - self.visits_alone.value > CLEARLY * error


def nameplate_observation(description: UnitDescription) -> Observation:
    """The nameplate as a visit in the weather of the rating, at sea level.

    Parameters
    ----------
    description : UnitDescription
        The nameplate.

    Returns
    -------
    Observation
        At the rated airflow where it is printed, at the unit's own otherwise.
    """
    shares = OUTDOOR_UNIT_ACCURACY if description.rated_eer is None else CERTIFIED_ACCURACY
    printed = {"rated_capacity": description.rated_capacity, "rated_eer": description.rated_eer}
    figures = {name: (value, shares[name] * value) for name, value in printed.items() if value is not None}
    if description.expansion == "fixed orifice":
        figures["rated_superheat"] = RULE_SUPERHEAT, RULE_ACCURACY
    settings = {
        "outdoor_db": RATING_OUTDOOR,
        "return_db": RATING_RETURN,
        "return_wb": RATING_RETURN_WET_BULB,
    }
    if description.rated_indoor_airflow is not None:
        settings["indoor_airflow_standard"] = description.rated_indoor_airflow
    return Observation(
        label="nameplate",
        settings=settings,
        setting_spreads=dict.fromkeys(settings, 0.0),
        names=tuple(figures),
        values=np.array([value for value, _ in figures.values()]),
        spreads=np.array([spread for _, spread in figures.values()]),
        ambient_pressure=STANDARD_PRESSURE,
        compressor_speed=1.0,
        outdoor_fan_speed=1.0,
    )


def rated_figures(
    seen: Observation, expected: Array, slopes: Array, information: Array
) -> tuple[RatedFigure, ...]:
    """The nameplate's figures beside the fit, and what the visits say without them.

    Taking readings out of a linear fit has a closed form: the information less theirs, and a step
    against their pull.

    Parameters
    ----------
    seen : Observation
        `nameplate_observation`.
    expected : ndarray, shape (figures,)
        Figures of the fitted unit [SI].
    slopes : ndarray, shape (figures, parameters)
        Their slopes there.
    information : ndarray, shape (parameters, parameters)
        Inverse of the fit's covariance, the nameplate's figures in it.

    Returns
    -------
    tuple of RatedFigure
        One for each figure printed.
    """
    weighted = slopes / seen.spreads[:, None] ** 2
    covariance = np.linalg.inv(information - slopes.T @ weighted)
    step = -covariance @ (weighted.T @ (seen.values - expected))
    alone = expected + slopes @ step
    errors = np.sqrt(np.einsum("ij,jk,ik->i", slopes, covariance, slopes))
    return tuple(
        RatedFigure(name, float(rated), float(spread), float(fitted), with_error(float(value), float(error)))
        for name, rated, spread, fitted, value, error in zip(
            seen.names, seen.values, seen.spreads, expected, alone, errors, strict=True
        )
    )


def as_rated(
    description: UnitDescription, capacity: float, eer: float, draw: np.random.Generator
) -> UnitDescription:
    """The nameplate that a maker would print on an invented unit.

    Parameters
    ----------
    description : UnitDescription
        What else the nameplate says.
    capacity, eer : float
        Of the unit at the rating point [W], [W/W].
    draw : numpy.random.Generator
        Of the rating's errors, `CERTIFIED_ACCURACY` around the unit.

    Returns
    -------
    UnitDescription
        With another capacity and EER.
    """
    off = [np.exp(spread * draw.standard_normal()) for spread in CERTIFIED_ACCURACY.values()]
    return replace(description, rated_capacity=float(capacity * off[0]), rated_eer=float(eer * off[1]))
