"""What the maker prints as evidence: rated capacity and EER, and lines of his capacity table.

A rating says what the machine does at outdoor 95 degF and return air of 80/67 degF, within some per cent: as
far as makers' machines scatter and tests repeat. An EER is printed only for an indoor and an outdoor unit
that were certified together; a capacity without one is that of an outdoor unit, whose indoor coil may be
another. A charge belongs to the coils that it fills: a unit charged as its maker asks has about the usual
subcooling at the rating, whatever their volumes. Bore and charge of a fixed orifice are matched to the
machine: at the rating its superheat is about that of the charging rule.

A table says how capacity and power change with the weather. What this machine is off its maker's print it is
off everywhere: that error is common to the nameplate and all lines of the table. The lines have another one
in common, as tables differ in what they count (capacity with or without the blower's heat), and each has a
small one of its own.

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
TABLE_ACCURACY = 0.02
"""Standard deviation of one line of a table around what its machine does, apart from what is common to all
[-]: makers work tables out from some tests (common practice, no source)."""
TABLE_LEVEL = 0.03
"""Standard deviation of a table's level of capacity, and of power, around the nameplate's [-]: the blower's
heat, left out or not, is 3 to 4 % (common practice, no source)."""
RULE_SUPERHEAT, RULE_ACCURACY = 7.8, 2.5
"""Superheat at the suction port of an orifice unit at the rating, and its standard deviation [K]: what the
sized unit shows (14 degF), 1 degF over the charging rule, (3 wet bulb - 80 - outdoor dry bulb) / 2
[degF]; common practice, no source."""
RULE_SUBCOOLING, SUBCOOLING_ACCURACY = 5.5, 3.0
"""Subcooling at the liquid port of a unit with its right charge at the rating, and its standard deviation
[K]: makers of valve units ask for 8 to 14 degF, within 3 degF as charged; orifice units lie about there.
Common practice, no source."""
CLEARLY = NORMAL_95
"""Standard errors by which visits must lie under the rating to say so [-]: one-sided, 1 in 20 by chance."""


@dataclass(frozen=True)
class RatedFigure:
    """One figure of the nameplate beside the fit.

    Attributes
    ----------
    name : str
        "rated_capacity" [W], "rated_eer" [W/W], "rated_subcooling" or "rated_superheat" [K].
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
        if self.name not in CERTIFIED_ACCURACY:
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
    shares = _accuracies(description)
    printed = {"rated_capacity": description.rated_capacity, "rated_eer": description.rated_eer}
    causes = {"rated_capacity": (1.0, 0.0, 0.0, 0.0), "rated_eer": (0.0, 1.0, 0.0, 0.0)}
    figures = {name: (value, 0.0) for name, value in printed.items() if value is not None}
    common = [np.multiply(causes[name], shares[name] * value) for name, (value, _) in figures.items()]
    figures["rated_subcooling"] = RULE_SUBCOOLING, SUBCOOLING_ACCURACY
    if description.expansion == "fixed orifice":
        figures["rated_superheat"] = RULE_SUPERHEAT, RULE_ACCURACY
    common += [np.zeros(4)] * (len(figures) - len(common))
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
        common=np.array(common),
    )


def _accuracies(description: UnitDescription) -> dict[str, float]:
    return OUTDOOR_UNIT_ACCURACY if description.rated_eer is None else CERTIFIED_ACCURACY


def table_observations(description: UnitDescription) -> list[Observation]:
    """Every line of the maker's capacity table as a visit in its weather, at sea level.

    Parameters
    ----------
    description : UnitDescription
        The nameplate with its table.

    Returns
    -------
    list of Observation
        At a line's own airflow, else the rated one where it is printed, else the unit's own.
    """
    return [_table_observation(description, number) for number in range(len(description.capacity_table))]


def _table_observation(description: UnitDescription, number: int) -> Observation:
    row, shares = description.capacity_table[number], _accuracies(description)
    settings = {
        "outdoor_db": row.outdoor_db,
        "return_db": RATING_RETURN if row.return_db is None else row.return_db,
        "return_wb": row.return_wb,
    }
    airflow = row.indoor_airflow_standard or description.rated_indoor_airflow
    if airflow is not None:
        settings["indoor_airflow_standard"] = airflow
    printed = {"rated_capacity": row.capacity, "rated_outdoor_power": row.outdoor_power}
    figures = {name: value for name, value in printed.items() if value is not None}
    capacity, eer = shares["rated_capacity"], shares.get("rated_eer", shares["rated_capacity"])
    # Power is capacity over EER, and has the errors of both.
    causes = {
        "rated_capacity": (capacity, 0.0, TABLE_LEVEL, 0.0),
        "rated_outdoor_power": (capacity, -eer, 0.0, TABLE_LEVEL),
    }
    return Observation(
        label=f"line {number + 1} of the capacity table",
        settings=settings,
        setting_spreads=dict.fromkeys(settings, 0.0),
        names=tuple(figures),
        values=np.array(list(figures.values())),
        spreads=TABLE_ACCURACY * np.array(list(figures.values())),
        ambient_pressure=STANDARD_PRESSURE,
        compressor_speed=1.0,
        outdoor_fan_speed=1.0,
        common=np.array([np.multiply(causes[name], value) for name, value in figures.items()]),
    )


def rated_figures(
    seen: Observation, expected: Array, slopes: Array, without: tuple[Array, Array]
) -> tuple[RatedFigure, ...]:
    """The nameplate's figures beside the fit, and what the visits say without anything that is printed.

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
    without : (ndarray, ndarray)
        Information of the fit less that of all that is printed, shape (parameters, parameters), and the pull
        of what is printed, shape (parameters,).

    Returns
    -------
    tuple of RatedFigure
        One for each figure printed.
    """
    information, pull = without
    covariance = np.linalg.inv(information)
    step = -covariance @ pull
    alone = expected + slopes @ step
    errors = np.sqrt(np.einsum("ij,jk,ik->i", slopes, covariance, slopes))
    spreads = np.hypot(seen.spreads, 0.0 if seen.common is None else np.linalg.norm(seen.common, axis=1))
    return tuple(
        RatedFigure(name, float(rated), float(spread), float(fitted), with_error(float(value), float(error)))
        for name, rated, spread, fitted, value, error in zip(
            seen.names, seen.values, spreads, expected, alone, errors, strict=True
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
