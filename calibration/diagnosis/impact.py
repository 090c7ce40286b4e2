"""How grave a fault is, in terms people use, and what it takes today and at design weather.

Level, the unit's parameters, the day's airflow and the weather are drawn together from what the readings
leave open under the fault, and the cycle is solved with and without it for each draw; medians and 90 %
intervals of the differences are what is told. The model's own error in a change
(`calibration.clean_fit.prediction.CHANGE_SPREAD`) is drawn too.

References
----------
McKay, Beckman, Conover, A comparison of three methods for selecting values of input variables, Technometrics
21, 1979 (Latin hypercube, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from statistics import NormalDist
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from calibration.case.records import Case
from calibration.case.units import HOUR
from calibration.clean_fit.parameters import adjusted
from calibration.clean_fit.prediction import CHANGE_SPREAD, CHANGED
from calibration.diagnosis.evidence import Weighed, likeliest_latent, reading_covariance, told_point
from calibration.diagnosis.hypotheses import FOULED_CONDENSER, Candidate, faults_at
from calibration.diagnosis.visit_model import PARAMETERS, STOPPED, Scene, at_latent
from model.components.unit import Unit
from model.cycle.boundary import Conditions
from model.cycle.faults import HEALTHY, Faults
from model.cycle.high_pressure_trip import trip_outdoor_temperature
from model.cycle.sizing import RATING_OUTDOOR, RATING_RETURN, RATING_RETURN_WET_BULB
from model.cycle.solve import OperatingPoint, solve
from model.properties import moist_air
from model.season.tariff import JOULES_PER_KWH

Array = NDArray[np.float64]

DRAWS = 96
"""Draws of level and unit; ends of 90 % intervals scatter by about a tenth of the interval."""
TRIP_DRAWS = slice(None, None, 4)
"""Those of the draws that the outdoor temperature of the trip is found for, a search each."""
RUNNING_HOURS = 100.0
"""Running time that the cost of leaving a fault alone is told for [h]."""


@dataclass(frozen=True)
class Span:
    """Median and the ends of the 90 % interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class FoundLevel:
    """How much there is of one fault.

    Attributes
    ----------
    fault : str
        Its name.
    field : str
        Field of `model.cycle.faults.Faults`, which is a key of `calibration.case.keys` too.
    level : Span
        0 to 1 of `model.cycle.faults.FAULTS` [-].
    amount : Span
        In the unit of the field [SI]; negative for a charge that is short.
    airflow_lost : Span or None
        Share of the airflow, outdoor or indoor, that it costs [-]; None for faults that leave the air alone.
    pressure_drop : Span or None
        Drop across a restriction of the liquid line today [Pa]; None for others.
    """

    fault: str
    field: str
    level: Span
    amount: Span
    airflow_lost: Span | None
    pressure_drop: Span | None


@dataclass(frozen=True)
class Toll:
    """What faults take from the unit at one weather.

    Attributes
    ----------
    outdoor_temperature : float
        [K]
    clean_capacity, clean_power, clean_eer : Span
        Net capacity, total power [W] and their ratio [W/W] with nothing wrong.
    capacity_lost, power_added : Span
        [W]; negative where a fault adds capacity or saves power.
    capacity_share, coil_share, eer_share : Span
        Lost net capacity, capacity of the coil, and EER over the clean unit's [-].
    outdoor_power_share, power_share : Span
        Power added, of the outdoor unit and in all, over the clean unit's [-].
    same_cooling_power : Span
        Extra power for the clean unit's cooling, running longer [W].
    trip_temperature : Span or None
        Outdoor temperature at which the unit with its faults trips on high pressure [K]; an end at an end of
        the range of `model.cycle.high_pressure_trip` lies beyond it. None where it was not asked for, or low
        pressure stops it first.
    """

    outdoor_temperature: float
    clean_capacity: Span
    clean_power: Span
    clean_eer: Span
    capacity_lost: Span
    power_added: Span
    capacity_share: Span
    coil_share: Span
    eer_share: Span
    outdoor_power_share: Span
    power_share: Span
    same_cooling_power: Span
    trip_temperature: Span | None = None


@dataclass(frozen=True)
class Explained:
    """One explanation worked out.

    Attributes
    ----------
    name : str
    probability : float
        [-]
    levels : tuple of FoundSeverity
        One a fault.
    today, design : Toll
        At the visit's weather and at design weather.
    unit : Unit
        The likeliest unit with these faults.
    faults : Faults
        At the level that is told.
    point, clean_point : OperatingPoint
        That unit at the visit's weather with and without them.
    """

    name: str
    probability: float
    levels: tuple[FoundLevel, ...]
    today: Toll
    design: Toll
    unit: Unit
    faults: Faults
    point: OperatingPoint
    clean_point: OperatingPoint


@dataclass(frozen=True)
class Stakes:
    """What it costs to be wrong about the likeliest fault, either way.

    Attributes
    ----------
    needless : float
        Probability that treating it (and its look-alikes) mends nothing [-].
    price : float or None
        Of a cleaning, where that is the treatment and the case names a price [money].
    left_power : Span
        Extra power for the same cooling while it runs, if the fault is there and is left [W].
    left_energy : Span
        The same over `RUNNING_HOURS` of running [kWh].
    left_cost : Span or None
        At the case's energy price [money].
    left_capacity_share : Span
        Cooling that stays missing on a design day [-].
    """

    needless: float
    price: float | None
    left_power: Span
    left_energy: Span
    left_cost: Span | None
    left_capacity_share: Span


def explained(case: Case, place: Scene, weighed: Weighed, probability: float) -> Explained:
    """One explanation with level, toll and fitted unit.

    Parameters
    ----------
    case : Case
        For the design weather.
    place : Scene
    weighed : Weighed
        Of a candidate with at least one fault.
    probability : float
        [-]
    """
    drawn = _drawn(place, weighed)
    found = _found(place, weighed, drawn)
    latent, likeliest = drawn.latent, drawn.likeliest
    design, unit = _design_weather(case, place, latent), adjusted(place.baseline.generic, latent[:PARAMETERS])
    at_design = [solve(unit, design, each, patient=False) for each in (HEALTHY, drawn.faults)]
    return Explained(
        name=weighed.candidate.name,
        probability=probability,
        levels=found.levels,
        today=found.toll,
        design=replace(
            _toll(float(np.asarray(design.outdoor_temperature)), *at_design),
            trip_temperature=_trip_temperature(case, place, weighed.candidate, drawn),
        ),
        unit=adjusted(place.baseline.generic, likeliest.latent[:PARAMETERS]),
        faults=likeliest.faults,
        point=likeliest.point,
        clean_point=likeliest.clean_point,
    )


class FoundToday(NamedTuple):
    """How much there is of each fault of an explanation, and what it takes at the visit's weather."""

    levels: tuple[FoundLevel, ...]
    toll: Toll


def found_today(place: Scene, weighed: Weighed) -> FoundToday:
    """Levels and toll of an explanation at the visit's weather.

    Parameters
    ----------
    place : Scene
        The visit and everything uncertain about it.
    weighed : Weighed
        Of a candidate with at least one fault.

    Returns
    -------
    FoundToday
        As `levels` and `today` of `Explained`.
    """
    return _found(place, weighed, _drawn(place, weighed))


def _found(place: Scene, weighed: Weighed, drawn: _Drawn) -> FoundToday:
    toll = _toll(place.visit.outdoor_db, drawn.clean, drawn.today)
    return FoundToday(_levels(place, weighed, drawn), toll)


class _Likeliest(NamedTuple):
    """Faults at the level that is told, the likeliest latent numbers with them, and both points there."""

    latent: Array
    faults: Faults
    point: OperatingPoint
    clean_point: OperatingPoint


class _Drawn(NamedTuple):
    """Levels, latent numbers and faults drawn, and the visit's points with the faults and without."""

    levels: Array
    latent: Array
    faults: Faults
    today: OperatingPoint
    clean: OperatingPoint
    likeliest: _Likeliest


def _drawn(place: Scene, weighed: Weighed) -> _Drawn:
    told = told_point(weighed)
    at_best = likeliest_latent(place, weighed, told)
    fitted = faults_at(weighed.candidate, weighed.levels[:, told])
    point, clean_point = (at_latent(place, at_best, faults) for faults in (fitted, HEALTHY))
    levels, latent = drawn_states(place, weighed)
    faults = faults_at(weighed.candidate, levels)
    # All draws lie around the likeliest point, which is the best place to start them from.
    today = at_latent(place, latent, faults, point.unknowns[:, None])
    clean = at_latent(place, latent, HEALTHY, clean_point.unknowns[:, None])
    likeliest = _Likeliest(at_best, fitted, point, clean_point)
    return _Drawn(levels, latent, faults, today, clean, likeliest)


def drawn_states(place: Scene, weighed: Weighed, count: int = DRAWS) -> tuple[Array, Array]:
    """Levels and latent numbers drawn from what the readings leave open.

    A latent vector drawn from the prior, with readings drawn for it, is corrected by the difference between
    the readings that were taken and the drawn ones: what comes out is a draw from the posterior (Matheron's
    rule).

    Parameters
    ----------
    place : Scene
        Readings, their meters and the prior.
    weighed : Weighed
        The explanation.
    count : int
        How many draws, 1 or more; always the same ones.

    Returns
    -------
    levels : ndarray, shape (faults, count)
        [-], 0 to 1.
    latent : ndarray, shape (latents, count)
        In the unit of each latent number.

    References
    ----------
    Journel and Huijbregts, Mining Geostatistics, 1978 (the rule, from memory).
    """
    draw = np.random.default_rng(0)
    points = level_points(weighed, count)
    taken, prior = place.readings, place.prior_covariance
    slopes, own, meter = weighed.slopes[points][:, taken], weighed.own[points][:, taken], place.meter[taken]
    root = np.linalg.cholesky(prior + 1e-12 * np.diag(np.diag(prior)))
    moved = (root @ normal_draws(draw, len(prior), count)).T
    errors = np.hypot(own, meter) * normal_draws(draw, own.shape[1], count).T
    covariance = reading_covariance(place, slopes, own, meter)
    off = (
        place.values[taken]
        - weighed.expected[points][:, taken]
        - np.einsum("prl,pl->pr", slopes, moved)
        - errors
    )
    pull = np.linalg.solve(covariance, off[..., None])[..., 0]
    latent = place.prior_mean + moved + np.einsum("pr,prl->pl", pull, slopes @ prior)
    return weighed.levels[:, points], np.ascontiguousarray(latent.T)


def normal_draws(draw: np.random.Generator, rows: int, count: int) -> Array:
    """Standard normal numbers, each row the same evenly probable ones in an order of its own.

    Parameters
    ----------
    draw : numpy.random.Generator
        Decides the orders.
    rows : int
        How many independent quantities.
    count : int
        How many draws of each, 2 or more.

    Returns
    -------
    ndarray, shape (rows, count)
        [-], with mean 0 and standard deviation 1 in every row.

    References
    ----------
    McKay, Beckman, Conover 1979, Technometrics 21, 239-245 (Latin hypercube, from memory).
    """
    scores = np.array([NormalDist().inv_cdf((place + 0.5) / count) for place in range(count)])
    scores /= np.sqrt(np.mean(scores**2))
    return draw.permuted(np.tile(scores, (rows, 1)), axis=1)


class Amount(NamedTuple):
    """How much there is of a fault: level [-], and the amount in the unit of its field [SI]."""

    level: Span
    amount: Span


def level_span(weighed: Weighed, number: int) -> Amount:
    """Level of one of the faults of an explanation.

    Parameters
    ----------
    weighed : Weighed
        The explanation, with at least one fault.
    number : int
        Which of its faults.

    Returns
    -------
    Amount
    """
    level = weighed.levels[number, level_points(weighed)]
    return Amount(span(level), span(weighed.candidate.faults[number].gravest * level))


def level_points(weighed: Weighed, count: int = DRAWS) -> NDArray[np.intp]:
    """Places of levels that stand for what the readings leave open, each for the same probability.

    Parameters
    ----------
    weighed : Weighed
        The explanation.
    count : int
        How many, 1 or more.

    Returns
    -------
    ndarray of int, shape (count,)
        Into the last axis of `weighed.levels`, in rising order.
    """
    held = np.cumsum(weighed.posterior)
    return np.asarray(np.searchsorted(held, (np.arange(count) + 0.5) / count * held[-1]))


def _design_weather(case: Case, place: Scene, latent: Array) -> Conditions:
    """Design outdoor temperature, else the rating's; return air of the rating; the unit's own airflow."""
    season = case.season
    outdoor = (
        season.design_outdoor if season is not None and season.design_outdoor is not None else RATING_OUTDOOR
    )
    pressure = place.visit.ambient_pressure
    return Conditions(
        outdoor_temperature=outdoor,
        return_temperature=RATING_RETURN,
        return_humidity_ratio=moist_air.humidity_ratio_from_wet_bulb(
            RATING_RETURN, RATING_RETURN_WET_BULB, pressure
        ),
        ambient_pressure=pressure,
        indoor_airflow=place.own_airflow * np.exp(latent[PARAMETERS]),
        indoor_power=place.settings.get("indoor_power"),
    )


def _trip_temperature(case: Case, place: Scene, candidate: Candidate, drawn: _Drawn) -> Span | None:
    levels, latent = (each[:, TRIP_DRAWS] for each in (drawn.levels, drawn.latent))
    unit = adjusted(place.baseline.generic, latent[:PARAMETERS])
    weather = _design_weather(case, place, latent)
    found = trip_outdoor_temperature(unit, weather, faults_at(candidate, levels), patient=False)
    told = np.isin(found.ending_names(), ("trips", "never trips", "always trips"))
    return span(found.value[told]) if told.mean() > 0.5 else None


def _levels(place: Scene, weighed: Weighed, drawn: _Drawn) -> tuple[FoundLevel, ...]:
    clean, today = drawn.clean, drawn.today
    lost = {
        "condenser_blocked": 1.0 - today.outdoor_airflow / clean.outdoor_airflow,
        "evaporator_airflow_lost": 1.0 - today.indoor_airflow / clean.indoor_airflow,
    }
    lost |= dict.fromkeys(("condenser_dust", "condenser_fan_slow"), lost["condenser_blocked"])
    unit = place.baseline.generic
    rated = unit.rated_pressure_difference * (today.refrigerant_flow / np.asarray(unit.rated_flow)) ** 2
    found = []
    for number, (fault, level) in enumerate(zip(weighed.candidate.faults, drawn.levels, strict=True)):
        drop = span(fault.gravest * level * rated) if fault.field == "liquid_restriction" else None
        airflow = span(lost[fault.field]) if fault.field in lost else None
        found.append(FoundLevel(fault.name, fault.field, *level_span(weighed, number), airflow, drop))
    return tuple(found)


def _toll(outdoor: float, clean: OperatingPoint, faulty: OperatingPoint) -> Toll:
    running = ~(np.isin(clean.state, STOPPED) | np.isin(faulty.state, STOPPED))
    running = running if np.any(running) else np.ones_like(running)
    scores = normal_draws(np.random.default_rng(1), len(CHANGED), running.size)
    scatter = dict(zip(CHANGED, 1.0 + CHANGE_SPREAD * scores[:, running], strict=True))
    before = {name: getattr(clean, name)[running] for name in CHANGED}
    taken = {name: (before[name] - getattr(faulty, name)[running]) * scatter[name] for name in CHANGED}
    share = {name: taken[name] / before[name] for name in CHANGED}
    power = before["total_power"]
    return Toll(
        outdoor_temperature=outdoor,
        clean_capacity=span(before["net_capacity"]),
        clean_power=span(power),
        clean_eer=span(before["eer"]),
        capacity_lost=span(taken["net_capacity"]),
        power_added=span(-taken["total_power"]),
        capacity_share=span(share["net_capacity"]),
        coil_share=span(share["gross_capacity"]),
        eer_share=span(share["eer"]),
        outdoor_power_share=span(-share["outdoor_power"]),
        power_share=span(-share["total_power"]),
        same_cooling_power=span(power * (1.0 / (1.0 - np.minimum(share["eer"], 0.9)) - 1.0)),
    )


def span(values: ArrayLike) -> Span:
    """Median and 90 % interval of draws.

    Parameters
    ----------
    values : array_like, any shape
        Draws, in any unit.

    Returns
    -------
    Span
        In the same unit.
    """
    low, middle, high = np.quantile(np.asarray(values, dtype=float), [0.05, 0.5, 0.95])
    return Span(float(middle), float(low), float(high))


def stakes(case: Case, first: Explained, group: tuple[str, ...], group_probability: float) -> Stakes:
    """Cost of being wrong about the likeliest fault: of treating it in vain, and of leaving it.

    Parameters
    ----------
    case : Case
        Price of a cleaning and tariff, where it has them.
    first : Explained
        The likeliest fault.
    group : tuple of str
        Faults that look alike, the likeliest with them.
    group_probability : float
        Of all of these together [-].

    Returns
    -------
    Stakes
        Power [W], energy and money over `RUNNING_HOURS` of running.
    """
    coil = case.cleaning is not None and set(FOULED_CONDENSER).issuperset(group)
    tariff = case.season.tariff if case.season is not None else None
    power = first.today.same_cooling_power
    energy = _scaled(power, RUNNING_HOURS * HOUR / JOULES_PER_KWH)
    return Stakes(
        needless=1.0 - group_probability,
        price=case.cleaning.price if coil and case.cleaning is not None else None,
        left_power=power,
        left_energy=energy,
        left_cost=_scaled(energy, tariff.energy_price) if tariff is not None else None,
        left_capacity_share=first.design.capacity_share,
    )


def _scaled(one: Span, factor: float) -> Span:
    return Span(one.value * factor, one.low * factor, one.high * factor)
