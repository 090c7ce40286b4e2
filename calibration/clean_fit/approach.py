"""Approach that one unit should have at its load, beside the trade's rules of thumb.

The approach, condensing temperature over outdoor air, grows with the heat that the condenser has to throw off
over what its coil and air can carry. A rule of thumb by efficiency class knows neither the coil of this unit
nor the load of the day: common practice, no source. The model knows both, so it can say how far a rule is off
and by what: the unit's own coil at the rating conditions, then the weather, the return air and the airflow of
the day, one after the other.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from calibration.case.records import Case, Visit
from calibration.case.units import BTU_PER_HOUR, DEGREE_F
from calibration.clean_fit.baseline import Baseline
from calibration.clean_fit.observation import conditions, observation
from calibration.clean_fit.parameters import rated_standard_airflow
from calibration.clean_fit.prediction import predicted
from calibration.estimate import Estimate, with_error
from calibration.measured.performance import measured_performance
from model.arrays import Array
from model.cycle.boundary import Conditions
from model.cycle.sizing import RATING_OUTDOOR, RATING_RETURN, RATING_RETURN_WET_BULB
from model.cycle.solve import solve
from model.properties import moist_air

EER_OVER_SEER = 0.87
"""Rated EER over seasonal rating of single-speed units [-]: common practice, no source."""
RULES = (
    (6.0, 10.0, 30.0),
    (10.0, 12.0, 25.0),
    (12.0, 14.0, 22.5),
    (14.0, 17.0, 20.0),
    (17.0, 40.0, 15.0),
)
"""Seasonal rating from and to [Btu/(W h)], approach [degF]: common practice, no source. The nameplate's own
charging chart comes before any of them."""
SMALLEST_STEP = 1e-6
"""Reasons that add less than this are left out [K]."""


@dataclass(frozen=True)
class Rule:
    """A rule of thumb.

    Attributes
    ----------
    lowest, highest : float
        Seasonal rating of its class [Btu/(W h)].
    approach : float
        [K]
    """

    lowest: float
    highest: float
    approach: float


RULES_OF_THUMB = tuple(Rule(low, high, degrees * DEGREE_F) for low, high, degrees in RULES)


@dataclass(frozen=True)
class Step:
    """One reason why this unit's approach today is not that of a rule: words, and what it adds [K]."""

    words: str
    adds: float


@dataclass(frozen=True)
class ApproachExpected:
    """Approach of one visit beside what was to be expected.

    Attributes
    ----------
    visit : str
    measured : Estimate or None
        [K]; None without a liquid pressure.
    expected : Estimate
        Of the clean unit at the visit's conditions [K].
    at_rating : float
        Of the clean unit at the rating conditions [K].
    rules : tuple of Rule
        Every rule, in the order of their ratings.
    own_rule : Rule or None
        The class of this unit's nameplate; None where it names no efficiency.
    heat_rejected : float
        Condenser's heat at the visit over that at the rating conditions, clean unit [-].
    steps : tuple of Step
        From the rule of its class (from the rating conditions without one) to the expected approach.
    """

    visit: str
    measured: Estimate | None
    expected: Estimate
    at_rating: float
    rules: tuple[Rule, ...]
    own_rule: Rule | None
    heat_rejected: float
    steps: tuple[Step, ...]

    @property
    def over_expected(self) -> Estimate | None:
        """Measured less expected approach [K]; None without a liquid pressure."""
        if self.measured is None:
            return None
        error = float(np.hypot(self.measured.standard_error, self.expected.standard_error))
        return with_error(self.measured.value - self.expected.value, error)


def rule_of(rated_eer: float | None) -> Rule | None:
    """Rule of thumb of a rated efficiency.

    The nameplate's EER is turned into a seasonal rating by `EER_OVER_SEER`.

    Parameters
    ----------
    rated_eer : float, optional
        Efficiency on the nameplate [W/W]; None where it is not known.

    Returns
    -------
    Rule, optional
        The rule of its class; None where there is none.
    """
    if rated_eer is None:
        return None
    seasonal = rated_eer / BTU_PER_HOUR / EER_OVER_SEER
    for rule in RULES_OF_THUMB:
        if seasonal < rule.highest:
            return rule
    return RULES_OF_THUMB[-1]


def approach_expected(case: Case, visit: Visit, baseline: Baseline) -> ApproachExpected:
    """Approach that the clean unit should have at a visit's conditions, and why it is not the rule's.

    Parameters
    ----------
    case : Case
    visit : Visit
        Clean or as found.
    baseline : Baseline
        `calibration.clean_fit.baseline.baseline_of(case)`.

    Returns
    -------
    ApproachExpected
    """
    seen = observation(visit, case.instruments)
    weather = conditions(seen.settings, seen.ambient_pressure, seen.compressor_speed, seen.outdoor_fan_speed)
    prediction = predicted(baseline, weather)
    condensing = prediction.estimate("condensing_temperature")
    walk = _walk(baseline, weather)
    rule = rule_of(case.unit.rated_eer)
    steps = [Step(words, after - before) for words, before, after in walk.steps]
    if rule is not None:
        own = Step("this unit's own coil and charge at the rating conditions", walk.at_rating - rule.approach)
        steps.insert(0, own)
    return ApproachExpected(
        visit=visit.label,
        measured=measured_performance(visit, case.unit, case.instruments).approach,
        expected=with_error(condensing.value - visit.outdoor_db, condensing.standard_error),
        at_rating=walk.at_rating,
        rules=RULES_OF_THUMB,
        own_rule=rule,
        heat_rejected=walk.heat_rejected,
        steps=tuple(steps),
    )


@dataclass(frozen=True)
class _Walk:
    at_rating: float
    heat_rejected: float
    steps: tuple[tuple[str, float, float], ...]


STAGES = {
    "outdoor air at the visit instead of the rating's": ("outdoor_temperature",),
    "return air at the visit instead of the rating's": ("return_temperature", "return_humidity_ratio"),
    "indoor airflow at the visit instead of the unit's own": ("indoor_airflow",),
    "speeds at the visit instead of full speed": ("compressor_speed", "outdoor_fan_speed"),
}
"""Changes on the way from the rating conditions to a visit's, one after the other, and the fields of
`Conditions` that each moves."""


def _walk(baseline: Baseline, weather: Conditions) -> _Walk:
    """Clean unit from the rating conditions to the visit's, one change after the other, in one call."""
    columns = _columns(baseline, weather)
    point = solve(
        baseline.unit, Conditions(ambient_pressure=float(np.asarray(weather.ambient_pressure)), **columns)
    )
    approach = np.asarray(point.condensing_temperature) - columns["outdoor_temperature"]
    steps = [
        (words, float(approach[place]), float(approach[place + 1]))
        for place, words in enumerate(STAGES)
        if abs(approach[place + 1] - approach[place]) > SMALLEST_STEP
    ]
    heat = np.asarray(point.heat_rejected)
    return _Walk(float(approach[0]), float(heat[-1] / heat[0]), tuple(steps))


def _columns(baseline: Baseline, weather: Conditions) -> dict[str, Array]:
    """Fields of `Conditions` before and after each stage, each of shape (stages + 1,) [SI]."""
    pressure = float(np.asarray(weather.ambient_pressure))
    rated = float(moist_air.humidity_ratio_from_wet_bulb(RATING_RETURN, RATING_RETURN_WET_BULB, pressure))
    rated_flow = rated_standard_airflow(baseline.unit) * moist_air.STANDARD_AIR_DENSITY
    flow = rated_flow if weather.indoor_airflow is None else float(np.asarray(weather.indoor_airflow))
    ends = {
        "outdoor_temperature": (RATING_OUTDOOR, float(np.asarray(weather.outdoor_temperature))),
        "return_temperature": (RATING_RETURN, float(np.asarray(weather.return_temperature))),
        "return_humidity_ratio": (rated, float(np.asarray(weather.return_humidity_ratio))),
        "indoor_airflow": (rated_flow, flow),
        "compressor_speed": (1.0, float(np.asarray(weather.compressor_speed))),
        "outdoor_fan_speed": (1.0, float(np.asarray(weather.outdoor_fan_speed))),
    }
    columns = {}
    for stage, moved in enumerate(STAGES.values(), start=1):
        for name in moved:
            before, after = ends[name]
            columns[name] = np.where(np.arange(len(STAGES) + 1) >= stage, after, before)
    return columns
