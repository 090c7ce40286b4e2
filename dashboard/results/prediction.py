"""Predictions as figures, for the command line, the pages and the report alike."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from calibration.case.keys import find_key
from calibration.case.records import Case, Visit
from calibration.case.units import PERCENT, System
from calibration.clean_fit.baseline import Baseline
from calibration.clean_fit.conditions_table import RESULTS
from calibration.clean_fit.observation import HUMIDITIES, conditions, observation
from calibration.clean_fit.prediction import CHANGED, Change, Prediction, predicted_beside_clean
from calibration.estimate import with_error
from dashboard.results.figures import Figure, figure, of_quantity, possible_ends, to_json
from dashboard.texts.translate import tr
from model.cycle.boundary import Conditions
from model.cycle.faults import Faults
from model.cycle.sizing import RATING_OUTDOOR, RATING_RETURN, RATING_RETURN_WET_BULB
from model.cycle.solve import OperatingPoint

CHANGE_WORDS = {
    "net_capacity": "Change of capacity, net of the blower",
    "gross_capacity": "Change of the coil's capacity",
    "outdoor_power": "Change of outdoor unit power",
    "total_power": "Change of total power",
    "eer": "Change of EER",
}


@dataclass(frozen=True)
class ChosenWeather:
    """Where a prediction is made.

    Parameters
    ----------
    words : str
        Whose weather it is.
    settings : mapping of str to float
        Readings that set the operating point, by their keys [SI].
    ambient_pressure : float
        Local barometric pressure [Pa].
    compressor_speed, outdoor_fan_speed : float
        Fractions of full speed [-].
    """

    words: str
    settings: Mapping[str, float]
    ambient_pressure: float
    compressor_speed: float = 1.0
    outdoor_fan_speed: float = 1.0

    @property
    def conditions(self) -> Conditions:
        """The same as the model takes it."""
        return conditions(self.settings, self.ambient_pressure, self.compressor_speed, self.outdoor_fan_speed)


def weather_of(case: Case, visit: Visit | None, typed: Mapping[str, float] | None = None) -> ChosenWeather:
    """Weather, return air and airflow of a visit, with some of them replaced.

    Parameters
    ----------
    case : Case
        For the meters and the altitude.
    visit : Visit or None
        Whose settings to take; None for the rating conditions (AHRI 210/240, A test: 95 / 80 / 67 degF).
    typed : mapping of str to float, optional
        Settings to replace, by their keys [SI]; a humidity replaces any other.

    Returns
    -------
    ChosenWeather
        Where to predict.
    """
    replaced = dict(typed or {})
    if visit is None:
        words = tr("the rating conditions")
        settings = {
            "outdoor_db": RATING_OUTDOOR,
            "return_db": RATING_RETURN,
            "return_wb": RATING_RETURN_WET_BULB,
        }
        ambient, speeds = case.unit.ambient_pressure, (1.0, 1.0)
    else:
        words = tr("the weather of visit {visit}", visit=visit.label)
        settings = dict(observation(visit, case.instruments).settings)
        ambient, speeds = visit.ambient_pressure, (visit.compressor_speed, visit.outdoor_fan_speed)
    if any(name in replaced for name in HUMIDITIES):
        settings = {name: value for name, value in settings.items() if name not in HUMIDITIES}
    if replaced:
        words = tr("{words}, changed", words=words)
    return ChosenWeather(words, settings | replaced, ambient, *speeds)


def setting_figures(weather: ChosenWeather, system: System) -> list[Figure]:
    """Weather, return air and airflow of a prediction as figures."""
    return [figure(name, value, system) for name, value in weather.settings.items()]


def prediction_figures(
    prediction: Prediction, system: System, ambient_pressure: float, index: tuple[int, ...] | int = ()
) -> list[Figure]:
    """Figures of one predicted operating point, with 90 % ranges.

    Parameters
    ----------
    prediction : Prediction
        Points and standard errors.
    system : {"US", "SI"}
        Units to show.
    ambient_pressure : float
        Local barometric pressure [Pa].
    index : tuple of int or int
        Which point of an array.

    Returns
    -------
    list of Figure
        In the order of the columns that `predict --conditions` writes, the state last.
    """
    figures = []
    for key, name in RESULTS.items():
        if key == "capacity":
            key = "net_capacity"
        if name in prediction.standard_errors:
            one = prediction.estimate(name, index)
        elif name == "cop":
            one = prediction.estimate("eer", index)
        else:
            one = with_error(float(np.asarray(getattr(prediction.point, name))[index]), float("nan"))
        interval = possible_ends(key, one.ends) if np.isfinite(one.standard_error) else None
        figures.append(figure(key, one.value, system, interval=interval, ambient_pressure=ambient_pressure))
    row = find_key("state")
    state = str(np.asarray(prediction.point.state_names())[index])
    return [*figures, Figure("state", row.words if row else "State", state)]


def changed_words(name: str) -> str:
    """What changes, in words for the middle of a sentence, as "EER" for `eer`; in English.

    Parameters
    ----------
    name : str
        Of `CHANGE_WORDS`.

    Returns
    -------
    str
    """
    return CHANGE_WORDS[name].removeprefix("Change of ")


def change_figures(change: Change, index: tuple[int, ...] | int = ()) -> list[Figure]:
    """Change by faults, in percent of the clean figure, with 90 % ranges.

    Parameters
    ----------
    change : Change
        Against the clean unit at the same weather.
    index : tuple of int or int
        Which point of an array.

    Returns
    -------
    list of Figure
        Keys end in `_change`.
    """
    figures = []
    for name in CHANGED:
        one = change.estimate(name, index)
        key = f"{name}_change"
        figures.append(of_quantity(key, tr(CHANGE_WORDS[name]), one.value, PERCENT, "SI", interval=one.ends))
    return figures


@dataclass(frozen=True)
class Level:
    """One level of fouling: its heading, figures of the operating point and of the change against clean.

    `clean` and `point` are the operating points themselves, without and with the fouling, for diagrams.
    """

    heading: str
    blocked: float
    figures: list[Figure]
    changes: list[Figure]
    clean: OperatingPoint
    point: OperatingPoint


def fouling_levels(
    baseline: Baseline,
    weather: ChosenWeather,
    shares: Sequence[float],
    system: System,
    others: Mapping[str, float],
) -> list[Level]:
    """Predictions at several blocked shares of the condenser's face, all solved in one call.

    Parameters
    ----------
    baseline : Baseline
        The fitted clean unit.
    weather : ChosenWeather
        Where.
    shares : sequence of float
        Blocked shares [-], in [0, 0.95].
    system : {"US", "SI"}
        Units to show.
    others : mapping of str to float
        Other faults, by the fields of `model.cycle.faults.Faults` [SI], the same at each level.

    Returns
    -------
    list of Level
        One for each share.
    """
    faults = replace(Faults(**others), condenser_blocked=np.asarray(shares, dtype=float))
    outdoor = np.full(len(shares), weather.settings["outdoor_db"])
    places = replace(weather.conditions, outdoor_temperature=outdoor)
    both = predicted_beside_clean(baseline, places, faults)
    return [
        Level(
            f"{100.0 * share:g} %",
            float(share),
            prediction_figures(both.changed, system, weather.ambient_pressure, index),
            change_figures(both.change, index),
            _at(both.clean.point, index),
            _at(both.changed.point, index),
        )
        for index, share in enumerate(shares)
    ]


def _at(points: OperatingPoint, index: int) -> OperatingPoint:
    """One of several operating points."""
    return OperatingPoint(**{name: value[..., index] for name, value in vars(points).items()})


def levels_json(weather: ChosenWeather, levels: Sequence[Level], system: System) -> dict[str, Any]:
    """Predictions at several levels for `--json`.

    Parameters
    ----------
    weather : ChosenWeather
        Where.
    levels : sequence of Level
        From `fouling_levels`.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    dict
        Conditions, and for each level the blocked share, figures and changes.
    """
    return {
        "units": system,
        "conditions": to_json(setting_figures(weather, system)),
        "levels": [
            {
                "condenser_blocked": level.blocked,
                "figures": to_json(level.figures),
                "changes": to_json(level.changes),
            }
            for level in levels
        ],
    }
