"""How large a fault is in terms people use, and what is lost by it today and at design weather.

Level, the unit's parameters, the day's airflow and the weather are drawn together from what the readings
leave open, suspect readings set free, and the cycle is solved with and without the fault for each draw. For
one explanation the medians and 90 % ranges of the differences are given; for the visit as a whole the mean
and the 90 % range over all explanations, each by its probability, no fault among them. The model's own error
in a change is drawn too, and its own idea of a level is part of the level's range.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from calibration.case.records import Case
from calibration.case.units import HOUR
from calibration.clean_fit.parameters import adjusted
from calibration.clean_fit.prediction import CHANGE_SPREAD, CHANGED
from calibration.diagnosis.draws import drawn_states, likeliest_latent, normal_draws
from calibration.diagnosis.evidence import Weighed, median_point
from calibration.diagnosis.hypotheses import TREATMENTS, Hypothesis, faults_at
from calibration.diagnosis.level_grid import joined_faults
from calibration.diagnosis.posterior import Posterior
from calibration.diagnosis.visit_model import BLOWER, PARAMETERS, STOPPED, Scene, at_latent, blower_power
from calibration.estimate import Estimate, of_draws, of_weighted
from model.arrays import Array, IndexArray
from model.components.unit import Unit
from model.cycle.batch_arrays import chosen
from model.cycle.boundary import Conditions
from model.cycle.faults import Faults
from model.cycle.high_pressure_trip import trip_outdoor_temperature
from model.cycle.sizing import RATING_OUTDOOR, RATING_RETURN, RATING_RETURN_WET_BULB
from model.cycle.solve import OperatingPoint, solve
from model.maintenance.growth import NORMAL_95
from model.properties import moist_air
from model.season.tariff import JOULES_PER_KWH

LEVEL_SPREAD = 0.15
"""Standard deviation of the model's own idea of a fault's level, as a share of it [-]. Chosen so that 90 %
ranges contain the level on invented machines of another structure as often as they should (`coiltoll study
coverage`): without it they did in 3 of 4 visits."""
LOSS_SPREAD = {
    "net_capacity": 0.2,
    "gross_capacity": 0.2,
    "eer": 0.2,
    "total_power": 0.3,
    "outdoor_power": 0.3,
}
"""Standard deviation of the model itself in what a fault of any kind costs, as a share of that [-]: more than
the `CHANGE_SPREAD` of a fouled coil. Chosen on the same machines, and before the blower drew what all of its
air takes in the unit without faults: with 0.15 for all, ranges of the power added contained it in 7 of 10
visits."""
TRIP_DRAWS = slice(None, None, 6)
"""Those of the draws that the outdoor temperature of the trip is found for, a search each."""
RUNNING_HOURS = 100.0
"""Running time that the cost of leaving a fault alone is given for [h]."""


@dataclass(frozen=True)
class FoundLevel:
    """How much there is of one fault.

    Attributes
    ----------
    fault : str
        Its key.
    field : str
        Field of `model.cycle.faults.Faults`, which is a key of `calibration.case.keys` too.
    level : Estimate
        0 to 1 of `model.cycle.faults.FAULTS` [-].
    amount : Estimate
        In the unit of the field [SI]; negative for a charge that is short.
    airflow_lost : Estimate or None
        Share of the airflow, outdoor or indoor, that it costs [-]; None for faults that leave the air alone.
    pressure_drop : Estimate or None
        Drop across a restriction of the liquid line today [Pa]; None for others.
    """

    fault: str
    field: str
    level: Estimate
    amount: Estimate
    airflow_lost: Estimate | None
    pressure_drop: Estimate | None


@dataclass(frozen=True)
class Loss:
    """What the unit loses by its faults at one weather.

    Attributes
    ----------
    outdoor_temperature : float
        [K]
    clean_capacity, clean_power, clean_eer : Estimate
        Net capacity, total power [W] and their ratio [W/W] with nothing wrong.
    capacity_lost, power_added : Estimate
        [W]; negative where a fault adds capacity or saves power.
    capacity_share, coil_share, eer_share : Estimate
        Lost net capacity, capacity of the coil, and EER over the clean unit's [-].
    outdoor_power_share, power_share : Estimate
        Power added, of the outdoor unit and in all, over the clean unit's [-].
    same_cooling_power : Estimate
        Extra power for the clean unit's cooling, running longer [W].
    trip_temperature : Estimate or None
        Outdoor temperature at which the unit with its faults trips on high pressure [K]; an end at an end of
        the range of `model.cycle.high_pressure_trip` lies beyond it. None where it was not asked for, or low
        pressure stops it first.
    """

    outdoor_temperature: float
    clean_capacity: Estimate
    clean_power: Estimate
    clean_eer: Estimate
    capacity_lost: Estimate
    power_added: Estimate
    capacity_share: Estimate
    coil_share: Estimate
    eer_share: Estimate
    outdoor_power_share: Estimate
    power_share: Estimate
    same_cooling_power: Estimate
    trip_temperature: Estimate | None = None


@dataclass(frozen=True)
class Explained:
    """One explanation worked out, supposing that it is the right one.

    Attributes
    ----------
    key : str
    probability : float
        [-]
    levels : tuple of FoundLevel
        One a fault.
    today, design : Loss
        At the visit's weather and at design weather.
    unit : Unit
        The likeliest unit with these faults.
    faults : Faults
        At the middle level.
    point, clean_point : OperatingPoint
        That unit at the visit's weather with and without them.
    """

    key: str
    probability: float
    levels: tuple[FoundLevel, ...]
    today: Loss
    design: Loss
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
        Probability that its repair is not needed [-].
    price : float or None
        Of a cleaning, where that is the repair and the case names a price [money].
    left_power : Estimate
        Extra power for the same cooling while it runs, if the fault is there and is left [W].
    left_energy : Estimate
        The same over `RUNNING_HOURS` of running [kWh].
    left_cost : Estimate or None
        At the case's energy price [money].
    left_capacity_share : Estimate
        Cooling that stays missing on a design day [-].
    """

    needless: float
    price: float | None
    left_power: Estimate
    left_energy: Estimate
    left_cost: Estimate | None
    left_capacity_share: Estimate


class Impact(NamedTuple):
    """Explanations worked out, and the loss of the visit with all of them by their probabilities."""

    explained: tuple[Explained, ...]
    today: Loss
    design: Loss


def impact_of(case: Case, found: Posterior, numbers: Sequence[int]) -> Impact:
    """Levels and losses of some explanations, and the loss over all of these.

    Parameters
    ----------
    case : Case
        For the design weather.
    found : Posterior
    numbers : sequence of int
        Places of explanations with at least one fault, the likeliest first.

    Returns
    -------
    Impact
        The loss over all counts no fault as no loss, and leaves out what none of the explanations fits.
    """
    explained, today, design = [], [], []
    all_drawn = _all_drawn(case, found, numbers)
    trips = _trip_temperatures(case, found, numbers, all_drawn)
    for number, drawn, trip in zip(numbers, all_drawn, trips, strict=True):
        place, one, share = found.place, found.explanations[number], float(found.shares[number])
        today.append(_changes(place.visit.outdoor_db, drawn.clean, drawn.today, share))
        design.append(_changes(_design_outdoor(case), drawn.clean_design, drawn.design, share))
        explained.append(
            Explained(
                key=one.hypothesis.key,
                probability=share,
                levels=_levels(place, one, drawn),
                today=_loss([today[-1]]),
                design=replace(_loss([design[-1]]), trip_temperature=trip),
                unit=adjusted(place.baseline.generic, drawn.likeliest.latent[:PARAMETERS]),
                faults=drawn.likeliest.faults,
                point=drawn.likeliest.point,
                clean_point=drawn.likeliest.clean_point,
            )
        )
    healthy = float(found.shares[0])
    over_all = [_loss([*each, _unchanged(each[0], healthy)]) for each in (today, design)]
    return Impact(tuple(explained), *over_all)


class _Likeliest(NamedTuple):
    """Faults at the middle level, the likeliest latent numbers with them, and both points there."""

    latent: Array
    faults: Faults
    point: OperatingPoint
    clean_point: OperatingPoint


class _Drawn(NamedTuple):
    """Levels and latent numbers drawn, and points with the faults and without: of the visit, at design."""

    levels: Array
    latent: Array
    today: OperatingPoint
    clean: OperatingPoint
    design: OperatingPoint
    clean_design: OperatingPoint
    likeliest: _Likeliest


def _all_drawn(case: Case, found: Posterior, numbers: Sequence[int]) -> list[_Drawn]:
    """Draws of each explanation; those of all are solved together."""
    place, explanations = found.place, [found.explanations[number] for number in numbers]
    states = [drawn_states(found, number) for number in numbers]
    likeliest = _likeliest(found, numbers)
    around = [one.point.unknowns for one in likeliest] + [one.clean_point.unknowns for one in likeliest]
    latent = np.concatenate([drawn for _, drawn in states], axis=1)
    faults = _both(found, [one.hypothesis for one in explanations], [levels for levels, _ in states])
    # All draws lie around the likeliest point, which is the best place to start them from.
    start = np.repeat(np.stack(around, axis=1), 2 * latent.shape[1] // len(around), axis=1)
    today = _with_and_without(place, latent, faults, start)
    twice = np.concatenate([latent, latent], axis=1)
    unit = adjusted(place.baseline.generic, twice[:PARAMETERS])
    weather = _design_weather(case, place, twice)
    design = _parts(solve(unit, weather, faults, patient=False), len(around))
    count = len(numbers)
    columns = (states, *(_parts(one, count) for one in today), design[:count], design[count:], likeliest)
    return [_Drawn(*state, *rest) for state, *rest in zip(*columns, strict=True)]


def _likeliest(found: Posterior, numbers: Sequence[int]) -> list[_Likeliest]:
    """The unit of each explanation at the middle level."""
    place, explanations = found.place, [found.explanations[number] for number in numbers]
    middles = [median_point(one) for one in explanations]
    at_best = [likeliest_latent(found, *each) for each in zip(numbers, middles, strict=True)]
    levels = [one.levels[:, [middle]] for one, middle in zip(explanations, middles, strict=True)]
    causes = [one.hypothesis for one in explanations]
    points = _with_and_without(place, np.stack(at_best, axis=1), _both(found, causes, levels))
    return [
        _Likeliest(latent, faults_at(cause, level[:, 0]), *(_chosen(one, number) for one in points))
        for number, (latent, cause, level) in enumerate(zip(at_best, causes, levels, strict=True))
    ]


def _both(found: Posterior, causes: Sequence[Hypothesis], levels: Sequence[Array]) -> Faults:
    """Faults of all explanations, one after the other, then as many units without any."""
    count = sum(level.shape[1] for level in levels)
    nothing = found.explanations[0].hypothesis
    return joined_faults((*causes, nothing), [*levels, np.zeros((0, count))])


def _with_and_without(
    place: Scene, latent: Array, faults: Faults, start: Array | None = None
) -> tuple[OperatingPoint, OperatingPoint]:
    """Points of the visit with faults and without, each of shape (n,); `faults` of shape (2 n,) has both."""
    halves = np.split(np.arange(2 * latent.shape[1]), 2)
    starts = [None if start is None else start[:, half] for half in halves]
    faulty = at_latent(place, latent, chosen(faults, halves[0]), starts[0])
    whole = _with_all_air(place, latent, faulty)
    return faulty, at_latent(place, whole, chosen(faults, halves[1]), starts[1])


def _with_all_air(place: Scene, latent: Array, point: OperatingPoint) -> Array:
    """Latent numbers without the faults: with the air that these took the blower draws another power.

    Its power was read with the faults there; the fan law says what it is without them.
    """
    if BLOWER not in place.setting_names:
        return latent
    generic, pressure = place.baseline.generic, place.visit.ambient_pressure
    flow = place.own_airflow * np.exp(latent[PARAMETERS])
    now = blower_power(generic, pressure, point.indoor_airflow, point.indoor_airflow / flow)
    read, row = place.settings[BLOWER], PARAMETERS + 1 + place.setting_names.index(BLOWER)
    whole = latent.copy()
    whole[row] = (read + latent[row]) * blower_power(generic, pressure, flow) / now - read
    return whole


def _parts(points: OperatingPoint, count: int) -> list[OperatingPoint]:
    """Points in so many parts of equal size, one after the other."""
    return [_chosen(points, part) for part in np.split(np.arange(points.state.size), count)]


def _chosen(points: OperatingPoint, places: IndexArray | int) -> OperatingPoint:
    return OperatingPoint(**{name: np.asarray(value)[..., places] for name, value in vars(points).items()})


def _design_outdoor(case: Case) -> float:
    """Design outdoor temperature, else the rating's [K]."""
    season = case.season
    if season is not None and season.design_outdoor is not None:
        return season.design_outdoor
    return RATING_OUTDOOR


def _design_weather(case: Case, place: Scene, latent: Array) -> Conditions:
    """A design day, the return air of the rating, the unit's own airflow."""
    pressure = place.visit.ambient_pressure
    return Conditions(
        outdoor_temperature=_design_outdoor(case),
        return_temperature=RATING_RETURN,
        return_humidity_ratio=moist_air.humidity_ratio_from_wet_bulb(
            RATING_RETURN, RATING_RETURN_WET_BULB, pressure
        ),
        ambient_pressure=pressure,
        indoor_airflow=place.own_airflow * np.exp(latent[PARAMETERS]),
        indoor_power=place.settings.get("indoor_power"),
    )


def _trip_temperatures(
    case: Case, found: Posterior, numbers: Sequence[int], drawn: Sequence[_Drawn]
) -> list[Estimate | None]:
    """Outdoor temperature at which each explanation trips, from some of its draws; all solved together."""
    place, causes = found.place, tuple(found.explanations[number].hypothesis for number in numbers)
    latent = np.concatenate([one.latent[:, TRIP_DRAWS] for one in drawn], axis=1)
    faults = joined_faults(causes, [one.levels[:, TRIP_DRAWS] for one in drawn])
    unit = adjusted(place.baseline.generic, latent[:PARAMETERS])
    trip = trip_outdoor_temperature(unit, _design_weather(case, place, latent), faults, patient=False)
    told = np.isin(trip.ending_names(), ("trips", "never trips", "always trips"))
    parts = zip(np.split(trip.value, len(drawn)), np.split(told, len(drawn)), strict=True)
    return [of_draws(values[sure]) if sure.mean() > 0.5 else None for values, sure in parts]


def _levels(place: Scene, one: Weighed, drawn: _Drawn) -> tuple[FoundLevel, ...]:
    clean, today = drawn.clean, drawn.today
    lost = {
        "condenser_blocked": 1.0 - today.outdoor_airflow / clean.outdoor_airflow,
        "evaporator_airflow_lost": 1.0 - today.indoor_airflow / clean.indoor_airflow,
    }
    lost |= dict.fromkeys(("condenser_dust", "condenser_fan_slow"), lost["condenser_blocked"])
    unit = place.baseline.generic
    rated = unit.rated_pressure_difference * (today.refrigerant_flow / np.asarray(unit.rated_flow)) ** 2
    found = []
    for fault, level in zip(one.hypothesis.faults, drawn.levels, strict=True):
        drop = of_draws(fault.largest * level * rated) if fault.field == "liquid_restriction" else None
        airflow = of_draws(lost[fault.field]) if fault.field in lost else None
        share = _with_own_error(of_draws(level))
        amount = share.times(fault.largest)
        found.append(FoundLevel(fault.key, fault.field, share, amount, airflow, drop))
    return tuple(found)


def _with_own_error(level: Estimate) -> Estimate:
    """The level with the model's own idea of it, within what a level can be."""
    own = NORMAL_95 * LEVEL_SPREAD * level.value
    low = level.value - float(np.hypot(level.value - level.low, own))
    high = level.value + float(np.hypot(level.high - level.value, own))
    return Estimate(level.value, max(low, 0.0), min(high, 1.0))


class _Changes(NamedTuple):
    """Figures of draws before, and what is taken from them, with the weight of each draw [SI]."""

    outdoor: float
    before: Mapping[str, Array]
    taken: Mapping[str, Array]
    weight: Array


def _changes(outdoor: float, clean: OperatingPoint, faulty: OperatingPoint, share: float) -> _Changes:
    running = ~(np.isin(clean.state, STOPPED) | np.isin(faulty.state, STOPPED))
    running = running if np.any(running) else np.ones_like(running)
    scores = normal_draws(np.random.default_rng(1), len(CHANGED), running.size)
    spreads = np.array([LOSS_SPREAD.get(name, CHANGE_SPREAD) for name in CHANGED])
    scatter = dict(zip(CHANGED, 1.0 + spreads[:, None] * scores[:, running], strict=True))
    before = {name: getattr(clean, name)[running] for name in CHANGED}
    taken = {name: (before[name] - getattr(faulty, name)[running]) * scatter[name] for name in CHANGED}
    return _Changes(outdoor, before, taken, np.full(int(running.sum()), share / running.sum()))


def _unchanged(like: _Changes, share: float) -> _Changes:
    """The same unit with nothing lost."""
    nothing = {name: np.zeros_like(value) for name, value in like.taken.items()}
    return _Changes(like.outdoor, like.before, nothing, np.full(like.weight.size, share / like.weight.size))


def _loss(parts: Sequence[_Changes]) -> Loss:
    """Loss over the draws of several explanations by their weights, or of one by its median."""
    weight = np.concatenate([part.weight for part in parts])
    # Where none of the explanations fits, all of them count alike.
    weight = weight if weight.any() else np.ones_like(weight)
    before = {name: np.concatenate([part.before[name] for part in parts]) for name in CHANGED}
    taken = {name: np.concatenate([part.taken[name] for part in parts]) for name in CHANGED}
    share = {name: taken[name] / before[name] for name in CHANGED}
    power = before["total_power"]

    def of(values: Array) -> Estimate:
        return of_draws(values) if len(parts) == 1 else of_weighted(values, weight)

    return Loss(
        outdoor_temperature=parts[0].outdoor,
        clean_capacity=of(before["net_capacity"]),
        clean_power=of(power),
        clean_eer=of(before["eer"]),
        capacity_lost=of(taken["net_capacity"]),
        power_added=of(-taken["total_power"]),
        capacity_share=of(share["net_capacity"]),
        coil_share=of(share["gross_capacity"]),
        eer_share=of(share["eer"]),
        outdoor_power_share=of(-share["outdoor_power"]),
        power_share=of(-share["total_power"]),
        same_cooling_power=of(power * (1.0 / (1.0 - np.minimum(share["eer"], 0.9)) - 1.0)),
    )


def stakes(case: Case, first: Explained, probability: float) -> Stakes:
    """Cost of being wrong about the likeliest fault: of treating it in vain, and of leaving it.

    Parameters
    ----------
    case : Case
        Price of a cleaning and tariff, where it has them.
    first : Explained
        The likeliest explanation with a fault.
    probability : float
        That what a person would do about it is needed [-].

    Returns
    -------
    Stakes
        Power [W], energy and money over `RUNNING_HOURS` of running.
    """
    coil = case.cleaning is not None and {TREATMENTS[one.fault] for one in first.levels} == {
        "clean_condenser"
    }
    tariff = case.season.tariff if case.season is not None else None
    power = first.today.same_cooling_power
    energy = power.times(RUNNING_HOURS * HOUR / JOULES_PER_KWH)
    return Stakes(
        needless=1.0 - probability,
        price=case.cleaning.price if coil and case.cleaning is not None else None,
        left_power=power,
        left_energy=energy,
        left_cost=energy.times(tariff.energy_price) if tariff is not None else None,
        left_capacity_share=first.design.capacity_share,
    )
