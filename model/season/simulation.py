"""A year of cooling: hours running, power, unmet load and trips.

Entry by entry of a weather year the load is set against the capacity that the unit has at that outdoor
temperature and at that day's fouling. Where the capacity is larger the unit cycles, and loses some of it on
the way; a unit of several speeds chooses among them (`model.season.part_load`). Where it is smaller
the unit runs all hour and part of the load is unmet; in an hourly year the cooling it owes is made up in the
hours that follow, until six in the morning, and what is owed then is lost: the room stayed warm. Where the
unit would be over its high-pressure limit it is off for that hour, its blower runs, and the cooling is owed.

Assumptions: the indoor air is held at the state for which the performance is read (one wet bulb, or one
per entry); the thermostat answers to the total load (the standard's way) or,
on request, to the sensible load. No storage but the cooling owed within a day. A tripped unit comes back by
itself at the next hour.

Sources: AHRI 210/240, cycling and bin method (seen second-hand in open code; Cd 0.20 in 2023, 0.25 before).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from model.arrays import Array, BoolArray
from model.season.load import CoolingLoad
from model.season.metered_draw import HOURLY, draw_seen
from model.season.part_load import Ability, BetweenSpeeds, ability, use
from model.season.performance_table import Performance, PerformanceTable, trip_temperature
from model.season.weather_year import HOURS_PER_DAY, WeatherYear, monthly_peak, monthly_sum

CYCLING_COEFFICIENT = 0.20
"""Cd, the loss of efficiency by cycling at no load [-] (AHRI 210/240-2023 default, 0.25 before)."""
MORNING_HOUR = 6
"""Hour of the day at which cooling still owed is given up [h]; a choice of this package."""
SECONDS_PER_HOUR = 3600.0
"""Seconds in an hour [s/h]."""


@dataclass(frozen=True)
class Running:
    """How the unit is run.

    Attributes
    ----------
    cycling_coefficient : float
        Cd, loss of efficiency by cycling at no load [-], in [0, 1).
    answers_to : "total" or "sensible"
        The part of the load that decides how long the unit runs.
    idle_power : float
        Electrical power while the unit is off: controls, crankcase heater [W].
    makes_up : bool
        Whether cooling owed is made up later the same day (hourly years only).
    between_speeds : "alternates" or "varies"
        What a unit of several speeds does for a load between two of them: it has stages, or a drive.
    blower_always_on : bool
        Whether the blower runs on while the compressor is off, at its speed of the slowest compressor speed:
        its power is drawn in every entry, its heat is load in those with cooling to do.
    """

    cycling_coefficient: float = CYCLING_COEFFICIENT
    answers_to: Literal["total", "sensible"] = "total"
    idle_power: float = 0.0
    makes_up: bool = True
    between_speeds: BetweenSpeeds = "alternates"
    blower_always_on: bool = False

    def __post_init__(self) -> None:
        """Refuse a coefficient or power out of range."""
        if not 0.0 <= self.cycling_coefficient < 1.0:
            raise ValueError(f"cycling_coefficient must lie in [0, 1), got {self.cycling_coefficient:g}")
        if self.answers_to not in ("total", "sensible"):
            raise ValueError(f"answers_to must be 'total' or 'sensible', got {self.answers_to!r}")
        if self.between_speeds not in ("alternates", "varies"):
            raise ValueError(f"between_speeds must be 'alternates' or 'varies', got {self.between_speeds!r}")
        if not (self.idle_power >= 0.0 and np.isfinite(self.idle_power)):
            raise ValueError(f"idle_power must be 0 W or more, got {self.idle_power:g}")


@dataclass(frozen=True)
class HourlySeason:
    """What the unit did in every entry of a year; arrays of shape (samples, entries).

    Attributes
    ----------
    capacity : ndarray
        Cooling that the unit could give [W], of the kind it answers to; 0 where it trips.
    served : ndarray
        Cooling that it gave [W], mean over the entry.
    lost : ndarray
        Cooling given up for good [W], mean over the entry in which it is given up.
    shortfall : ndarray
        Load over what the unit running all the time can give [W].
    run_fraction : ndarray
        Share of the time that the compressor runs [-].
    power : ndarray
        Electrical power, mean over the entry [W].
    tripped : ndarray of bool
        Whether the unit would be over its high-pressure limit, in entries in which it is wanted.
    draw : ndarray
        Highest mean power over an interval of the demand meter [W].
    """

    capacity: Array
    served: Array
    lost: Array
    shortfall: Array
    run_fraction: Array
    power: Array
    tripped: BoolArray
    draw: Array


@dataclass(frozen=True)
class SeasonTotals:
    """A year in figures, one row for each sample.

    Attributes
    ----------
    energy : ndarray, shape (samples, 12)
        Electrical energy of each month [J].
    peak_power : ndarray, shape (samples, 12)
        Highest mean power of an entry in each month [W].
    run_hours, short_hours, trip_hours : ndarray, shape (samples, 12)
        Hours that the compressor runs, that the unit cannot meet the load, that it trips [h].
    cooling, cooling_lost : ndarray, shape (samples, 12)
        Cooling given, and cooling given up for good [J].
    worst_shortfall : ndarray, shape (samples,)
        Largest shortfall [W].
    worst_room_rise : ndarray, shape (samples,)
        What that shortfall comes to as a rise of the room over its setpoint, were it to last [K]; 0 where the
        load does not define (no `gain_coefficient`).
    trip_temperature : ndarray, shape (samples,)
        Outdoor temperature at which the unit trips at full speed with the year's worst fouling [K]; inf above
        the table.
    """

    energy: Array
    peak_power: Array
    run_hours: Array
    short_hours: Array
    trip_hours: Array
    cooling: Array
    cooling_lost: Array
    worst_shortfall: Array
    worst_room_rise: Array
    trip_temperature: Array


def hourly_season(
    table: PerformanceTable,
    year: WeatherYear,
    load: CoolingLoad,
    level: ArrayLike = 0.0,
    wet_bulb: ArrayLike | None = None,
    running: Running = Running(),
    warmer: ArrayLike = 0.0,
    demand_minutes: float = HOURLY,
) -> HourlySeason:
    """What the unit does in every entry of a year.

    Parameters
    ----------
    table : PerformanceTable
        The unit, one sample or many.
    year : WeatherYear
        Outdoor air.
    load : CoolingLoad
        Load of each entry, of shape (entries,) or (samples, entries).
    level : array_like, shape (), (entries,), (samples, 1) or (samples, entries)
        Fouling of each entry [-].
    wet_bulb : array_like, shape () or (entries,), optional
        Indoor wet bulb [K]; left out, the middle of the table.
    running : Running
        Cycling, controls, idle power.
    warmer : array_like, shape () or (samples, 1)
        By how much the outdoor air is warmer than the year's [K]; past the table's end its edge is taken.
    demand_minutes : float
        Interval of the demand meter [min].

    Returns
    -------
    HourlySeason

    Raises
    ------
    ValueError
        Where hours that need cooling are hotter than the table reaches, or shapes do not fit.
    """
    wanted = np.atleast_2d(load.total if running.answers_to == "total" else load.sensible)
    _require_covered(table, year, wanted)
    fouling = np.atleast_2d(np.asarray(level, dtype=float))
    bulb = None if wet_bulb is None else np.atleast_2d(np.asarray(wet_bulb, dtype=float))
    points = table.at_speeds(year.temperature + np.atleast_2d(warmer), fouling, bulb)
    able = ability(points, wanted, running.answers_to, running.between_speeds)
    short = np.maximum(wanted - able.capacity, 0.0)
    if running.makes_up and year.has_whole_days:
        first = int(year.hour[0])
        served, lost = _made_up(np.broadcast_to(wanted, short.shape), able.capacity, short, first)
    else:
        served, lost = wanted - short, short
    run, power, draw = _electricity(points, able, served, running, demand_minutes)
    return HourlySeason(able.capacity, served, lost, short, run, power, able.tripped, draw)


def _require_covered(table: PerformanceTable, year: WeatherYear, wanted: Array) -> None:
    """Raise where the load does not fit the year or is wanted hotter than the table reaches."""
    if wanted.shape[-1] != year.entries:
        raise ValueError(f"load must have one value for each of {year.entries} entries, got {wanted.shape}")
    hot = float(np.max(year.temperature, where=(wanted > 0.0).any(axis=0), initial=0.0))
    if hot > table.outdoor_temperature[-1] + 1e-6:
        raise ValueError(
            f"the performance table ends at {table.outdoor_temperature[-1]:.2f} K outdoors, "
            f"but the year needs cooling at {hot:.2f} K: build a wider table"
        )


def _made_up(wanted: Array, capacity: Array, short: Array, first_hour: int) -> tuple[Array, Array]:
    """Cooling given in each hour, and given up each morning, where a day's debt is paid as capacity allows.

    The debt after an hour is the running sum of load less capacity over its own running minimum (the
    waiting-time recursion of a queue), which needs no loop over hours.
    """
    served, lost = wanted - short, np.zeros_like(capacity)
    if not short.any():
        return served, lost
    samples, hours = capacity.shape
    morning = (MORNING_HOUR - first_hour) % HOURS_PER_DAY
    day_of = (np.arange(hours) - morning) % hours // HOURS_PER_DAY
    in_debt = np.zeros((samples, hours // HOURS_PER_DAY), dtype=bool)
    rows, columns = np.nonzero(short)
    in_debt[rows, day_of[columns]] = True
    sample, day = np.nonzero(in_debt)
    clock = (morning + day[:, None] * HOURS_PER_DAY + np.arange(HOURS_PER_DAY)) % hours
    place = (sample[:, None], clock)
    balance = np.cumsum(wanted[place] - capacity[place], axis=1)
    debt = balance - np.minimum(np.minimum.accumulate(balance, axis=1), 0.0)
    before = np.concatenate([np.zeros((len(day), 1)), debt[:, :-1]], axis=1)
    served[place] = np.maximum(wanted[place] + before - debt, 0.0)
    lost[sample, clock[:, -1]] = debt[:, -1]
    return served, lost


def _electricity(
    points: Sequence[Performance], able: Ability, served: Array, running: Running, demand_minutes: float
) -> tuple[Array, Array, Array]:
    """Share of the time that the compressor runs [-], the unit's mean power and what its meter sees [W]."""
    blower = points[0].indoor_power if running.blower_always_on else np.zeros(1)
    met = use(points, able, served, running.cycling_coefficient, running.between_speeds, blower)
    idle = running.idle_power + blower
    power = met.power + (1.0 - met.run) * idle
    draw = power
    if demand_minutes < HOURLY:
        draw = draw_seen([idle, *(point.total_power for point in points)], met.shares, demand_minutes)
        if running.between_speeds == "varies":
            draw = np.where(served > able.by_speed[0], power, draw)
    if able.tripped.any():
        off = points[-1].indoor_power + running.idle_power
        power, draw = (np.where(able.tripped, off, one) for one in (power, draw))
    return met.run, power, draw


def season_totals(
    hourly: HourlySeason, table: PerformanceTable, year: WeatherYear, load: CoolingLoad, level: ArrayLike
) -> SeasonTotals:
    """The year's figures from its entries.

    Parameters
    ----------
    hourly : HourlySeason
        What the unit did, from `hourly_season` with the same table, year, load and level.
    table, year, load, level
        As for `hourly_season`.

    Returns
    -------
    SeasonTotals
    """
    hours = year.duration
    seconds = hours * SECONDS_PER_HOUR
    worst = np.atleast_2d(np.asarray(level, dtype=float)).max(axis=-1)
    shortfall = hourly.shortfall.max(axis=-1)
    gain = load.gain_coefficient
    return SeasonTotals(
        energy=monthly_sum(year, hourly.power * seconds),
        peak_power=monthly_peak(year, hourly.power),
        run_hours=monthly_sum(year, hourly.run_fraction * hours),
        short_hours=monthly_sum(year, (hourly.shortfall > 0.0) * hours),
        trip_hours=monthly_sum(year, hourly.tripped * hours),
        cooling=monthly_sum(year, hourly.served * seconds),
        cooling_lost=monthly_sum(year, hourly.lost * seconds),
        worst_shortfall=shortfall,
        worst_room_rise=shortfall / gain if gain > 0.0 else np.zeros_like(shortfall),
        trip_temperature=np.broadcast_to(trip_temperature(table, worst), shortfall.shape).copy(),
    )
