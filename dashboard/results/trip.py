"""Where the unit trips on high pressure, as figures and sentences, for command line and pages."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from calibration.case.units import TEMPERATURE, System
from calibration.clean_fit.baseline import Baseline
from calibration.clean_fit.trip_prediction import (
    TripPrediction,
    predicted_trip_level,
    predicted_trip_temperature,
)
from dashboard.results.figures import Figure, figure, to_json
from dashboard.results.prediction import ChosenWeather, Level
from dashboard.texts.translate import tr
from model.cycle.faults import Faults
from model.cycle.high_pressure_trip import COOLEST, HOTTEST, largest_level

TEMPERATURE_KEY, SHARE_KEY = "trip_temperature", "trip_blocked"
"""Rows of `calibration.case.keys`."""
NOTHING_FOUND = {"low pressure first": "low pressure first", "not converged": None}
"""What is shown where a search gives no number, by the names of `model.cycle.high_pressure_trip.ENDINGS`."""


@dataclass(frozen=True)
class TripFigures:
    """One place at which the unit trips on high pressure: as a figure, and as a sentence."""

    figure: Figure
    sentence: str


def trip_temperatures(
    baseline: Baseline,
    weather: ChosenWeather,
    shares: Sequence[float],
    system: System,
    others: Mapping[str, float],
) -> list[TripFigures]:
    """Outdoor temperature of the high-pressure trip, at blocked shares of the face.

    Parameters
    ----------
    baseline : Baseline
        The fitted clean unit.
    weather : ChosenWeather
        Whose return air, airflow and speeds; its outdoor air is not used.
    shares : sequence of float
        Blocked shares [-], in [0, 0.95].
    system : {"US", "SI"}
        Units to show.
    others : mapping of str to float
        Other faults, by the fields of `model.cycle.faults.Faults` [SI], the same at each share.

    Returns
    -------
    list of TripFigures
        One for each share.
    """
    blocked = replace(Faults(**others), condenser_blocked=np.asarray(shares, dtype=float))
    found = predicted_trip_temperature(baseline, weather.conditions, blocked)
    lines = []
    for index, share in enumerate(shares):
        place = trip_figure(TEMPERATURE_KEY, found, system, index)
        words = _at_air(place, found.ending_name(index))
        lines.append(
            TripFigures(
                place,
                tr(
                    "With {share} % of the face blocked the unit {what}.",
                    share=f"{100.0 * share:.3g}",
                    what=words,
                ),
            )
        )
    return lines


def trip_share(
    baseline: Baseline, weather: ChosenWeather, system: System, others: Mapping[str, float]
) -> TripFigures:
    """Blocked share of the face at which the unit trips on high pressure in the weather given.

    Parameters
    ----------
    baseline : Baseline
        The fitted clean unit.
    weather : ChosenWeather
        Where.
    system : {"US", "SI"}
        Units to show.
    others : mapping of str to float
        Other faults, by the fields of `model.cycle.faults.Faults` [SI].

    Returns
    -------
    TripFigures
        Its figure in percent.
    """
    found = predicted_trip_level(baseline, weather.conditions, base=Faults(**others))
    share = trip_figure(SHARE_KEY, found, system)
    outdoor = f"{TEMPERATURE.shown(weather.settings['outdoor_db'], system)} {TEMPERATURE.label(system)}"
    return TripFigures(
        share,
        tr(
            "At {outdoor} outdoors it {what}.",
            outdoor=outdoor,
            what=_at_share(share, found.ending_name()),
        ),
    )


def with_trips(levels: Sequence[Level], trips: Sequence[TripFigures]) -> list[Level]:
    """Levels with the outdoor temperature of the trip among their figures, before the state.

    Parameters
    ----------
    levels : sequence of Level
        From `dashboard.results.prediction.fouling_levels`.
    trips : sequence of TripFigures
        From `trip_temperatures` for the same shares.

    Returns
    -------
    list of Level
        In the same order.
    """
    return [
        replace(level, figures=[*level.figures[:-1], trip.figure, level.figures[-1]])
        for level, trip in zip(levels, trips, strict=True)
    ]


def trip_figure(key: str, found: TripPrediction, system: System, index: tuple[int, ...] | int = ()) -> Figure:
    """One place with its 90 % range; the end of the range that was searched where it is beyond.

    Parameters
    ----------
    key : str
        `TEMPERATURE_KEY` or `SHARE_KEY`.
    found : TripPrediction
        Outdoor temperatures [K], or blocked shares [-].
    system : {"US", "SI"}
        Units to show.
    index : tuple of int or int
        Which of an array.

    Returns
    -------
    Figure
        Its value is a number where the unit trips within the range, else words such as `over 140.0`.
    """
    ending, one = found.ending_name(index), found.estimate(index)
    if ending == "trips":
        low, high = one.ends
        if key == SHARE_KEY:
            low, high = max(low, 0.0), min(high, 1.0)
        return figure(key, one.value, system, interval=(low, high))
    if ending in NOTHING_FOUND:
        return replace(figure(key, None, system), value=NOTHING_FOUND[ending])
    limits = (COOLEST, HOTTEST) if key == TEMPERATURE_KEY else (0.0, largest_level("condenser_blocked"))
    return beyond_figure(key, limits[ending == "never trips"], ending == "never trips", system)


def spanned_trip_figure(temperature: float, interval: tuple[float, float], system: System) -> Figure:
    """Outdoor temperature of a trip as median and 90 % range of draws, each held within the range searched.

    Parameters
    ----------
    temperature : float
        Median [K].
    interval : (float, float)
        Its ends [K].
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    Figure
        Its value in words, such as `over 140.0`, where the median is an end of the range.
    """
    if COOLEST < temperature < HOTTEST:
        return figure(TEMPERATURE_KEY, temperature, system, interval=interval)
    return beyond_figure(TEMPERATURE_KEY, temperature, temperature >= HOTTEST, system)


def beyond_figure(key: str, end: float, is_over: bool, system: System) -> Figure:
    """A place beyond the end of the range that was searched.

    Parameters
    ----------
    key : str
        Row of `calibration.case.keys`.
    end : float
        End of the range [SI].
    is_over : bool
        Whether the place is over that end, else under it.
    system : {"US", "SI"}
        Units to show.

    Returns
    -------
    Figure
        Its value in words, such as `over 140.0`.
    """
    shown = figure(key, end, system)
    value = tr("over {end}", end=shown.text) if is_over else tr("under {end}", end=shown.text)
    return replace(shown, value=value)


def _at_air(temperature: Figure, ending: str) -> str:
    """What happens as the outdoor air grows hotter."""
    place = f"{temperature.text} {temperature.unit}"
    return {
        "trips": tr(
            "trips on high pressure at {place} outdoors ({ends})",
            place=place,
            ends=temperature.interval_text,
        ),
        "never trips": tr("does not trip on high pressure up to {place} outdoors", place=_end(temperature)),
        "always trips": tr("trips on high pressure even at {place} outdoors", place=_end(temperature)),
        "low pressure first": tr("trips on low pressure first"),
    }.get(ending, tr("has no converged solution up to its high-pressure limit"))


def _at_share(share: Figure, ending: str) -> str:
    """What happens as more of the face is blocked."""
    place = f"{share.text} {share.unit}"
    return {
        "trips": tr(
            "trips on high pressure with {place} of the face blocked ({ends} %)",
            place=place,
            ends=share.interval_text,
        ),
        "never trips": tr(
            "does not trip on high pressure with up to {place} of the face blocked", place=_end(share)
        ),
        "always trips": tr("trips on high pressure with nothing blocked"),
        "low pressure first": tr("trips on low pressure first"),
    }.get(ending, tr("has no converged solution up to its high-pressure limit"))


def _end(place: Figure) -> str:
    """The number of a place that is over or under it, with its unit."""
    number = re.search(r"-?\d[\d.,]*", place.text)
    return f"{number[0] if number else place.text} {place.unit}"


def trips_json(temperatures: Sequence[TripFigures], share: TripFigures) -> dict[str, Any]:
    """Where the unit trips for `--json`.

    Parameters
    ----------
    temperatures : sequence of TripFigures
        From `trip_temperatures`.
    share : TripFigures
        From `trip_share`.

    Returns
    -------
    dict
        The share, and all sentences; the temperatures are among the figures of `with_trips`.
    """
    return {**to_json([share.figure]), "sentences": [one.sentence for one in (*temperatures, share)]}
